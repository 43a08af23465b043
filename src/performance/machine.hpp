// SPDX-License-Identifier: Apache-2.0
// One vehicle prepared on one soil: the numbers that the equilibrium of straight travel needs.
//
// Built once a possible soil; plain, copyable, no allocation inside. Left and right wheels carry the
// same (no cross slope yet). With a measured reload stiffness a following wheel runs on the floor of the rut that the
// wheels ahead leave in its path (soil::rut_floor); without one every wheel meets untouched ground, and outputs say which.
#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <optional>

#include "base/problems.hpp"
#include "contact/wheel_soil.hpp"
#include "soil/soil.hpp"
#include "vehicle/chain.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

inline constexpr std::size_t kMaxAxles = 8;
inline constexpr std::size_t kOwnPath = kMaxAxles;
// A wheel lies in a path or beside it as a whole from this share of its width on (chosen by us: narrower strips change no answer).
inline constexpr double kWholeWheel = 0.99;

struct AxleOnSoil {
  contact::Contact contact;
  double wheels = 2;
  std::size_t body = 0;
  double x_m = 0;                    // ahead of the rearmost axle
  double arm_m = 0;                  // height of the axle: arm of the pull about the ground plane
  double compliance_m_per_n = 0;     // suspension of one wheel; the wheel's own lies in contact
  bool driven = true;
  bool brake = true;
  double peak_torque_n_m = 0;        // per wheel; infinite where not stated
  double continuous_torque_n_m = 0;  // likewise
  double peak_power_w = 0;           // likewise
  double max_speed_rad_per_s = 0;    // likewise
  double efficiency = 1;
  double regeneration = 0;
  std::size_t path_of = kOwnPath;    // the axle ahead in whose paths most of these wheels lies, the nearest of like ones
  double path_share = 1;             // of their width; the rest is on untouched ground
  std::optional<double> path_cohesion_pa, path_tan_phi, path_shear_modulus_m;   // of that part, where it differs from contact
};

struct Machine {
  std::array<AxleOnSoil, kMaxAxles> axle;
  std::size_t axles = 0;
  vehicle::DriveControl control = vehicle::DriveControl::common_speed;
  double weight_n = 0;               // m g
  double cg_x_m = 0, cg_z_m = 0;
  vehicle::Chain chain;              // more than one body: loads are shared along it
  struct Part {
    double weight_n = 0, cg_x_m = 0, cg_z_m = 0;
    double level_pitch_rad = 0;      // nose down, of tyres and springs on hard level ground, where the centre of gravity is told
  };
  std::array<Part, vehicle::kMostBodies> part{};
  std::array<bool, vehicle::kMostBodies> level_on_stop{};   // joints that rest on a stop on hard level ground
  // Slopes that tip it nose up and nose down, parked or driving, still or settled, the lowest (tip_over_joints.hpp); infinite of wheels in one line.
  double tips_up_rad = std::numeric_limits<double>::infinity(), tips_down_rad = std::numeric_limits<double>::infinity();
  double hitch_x_m = 0, hitch_height_m = 0;
  double clearance_m = 0;            // infinite where not stated
  double idle_power_w = 0;
  std::optional<soil::Reload> rut;   // present: following wheels run in the rut

  [[nodiscard]] double last_x_m() const { return axle[axles - 1].x_m; }
};

// The vehicle on the soil. Appends what contact::make_contact refuses, and vehicles without a driven
// axle or with more than kMaxAxles; then nothing is returned.
[[nodiscard]] std::optional<Machine> make_machine(const vehicle::Vehicle& vehicle, const soil::Soil& soil,
                                                  double gravity_m_s2, soil::SlipSinkage slip_sinkage,
                                                  const base::Place& place, base::Problems& problems,
                                                  const std::optional<soil::Reload>& rut = std::nullopt);

// Share of the width of the wheels of `behind` that lies in the paths of `ahead`, 0 to 1, the least over its wheels.
[[nodiscard]] double path_overlap(const vehicle::Axle& behind, const vehicle::Axle& ahead);

// In whose paths an axle runs, by the vehicle's geometry, whether or not a machine uses it.
struct PathAhead {
  std::size_t axle = kOwnPath;
  double share = 1;
};
[[nodiscard]] PathAhead path_ahead(const vehicle::Vehicle& vehicle, std::size_t axle);

}  // namespace hardpan::performance
