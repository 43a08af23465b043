// SPDX-License-Identifier: Apache-2.0
#include "performance/machine.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <limits>
#include <utility>
#include <vector>

#include "performance/tip_over_joints.hpp"

namespace hardpan::performance {

double path_overlap(const vehicle::Axle& behind, const vehicle::Axle& ahead) {
  double least = 1;
  for (const double y : vehicle::wheel_offsets_m(behind)) {
    double best = 0;
    for (const double other : vehicle::wheel_offsets_m(ahead)) {
      const double low = std::max(y - 0.5 * behind.wheel.width_m, other - 0.5 * ahead.wheel.width_m);
      const double high = std::min(y + 0.5 * behind.wheel.width_m, other + 0.5 * ahead.wheel.width_m);
      best = std::max(best, (high - low) / behind.wheel.width_m);
    }
    least = std::min(least, best);
  }
  return least;
}

PathAhead path_ahead(const vehicle::Vehicle& vehicle, std::size_t axle) {
  PathAhead out{.share = 1 - kWholeWheel};
  for (std::size_t ahead = axle + 1; ahead < vehicle.axles.size(); ++ahead) {
    const double share = path_overlap(vehicle.axles[axle], vehicle.axles[ahead]);
    if (share > out.share + 1e-9) out = {ahead, share};
  }
  if (out.axle == kOwnPath || out.share >= kWholeWheel) out.share = 1;
  return out;
}

namespace {

// The vehicle on its tyres and springs on hard level ground, their compliance that of the level load.
vehicle::ChainShare level_stand(const vehicle::Vehicle& vehicle, const Machine& m, double gravity_m_s2) {
  constexpr double kRigid_m_per_n = 1e-12;
  const auto loads = vehicle::level_axle_loads_n(vehicle, gravity_m_s2);
  vehicle::ChainForce force;
  for (std::size_t b = 0; b < m.chain.bodies; ++b) force.add_force(m.chain, b, m.part[b].cg_x_m, m.part[b].cg_z_m, 0, m.part[b].weight_n);
  std::array<vehicle::ChainSupport, kMaxAxles> support{};
  for (std::size_t k = 0; k < m.axles; ++k) {
    const vehicle::Axle& a = vehicle.axles[k];
    const double load = loads[k] / a.wheels, spring = a.suspension_n_per_m ? 1 / *a.suspension_n_per_m : 0;
    const double flat = a.wheel.flex ? vehicle::deflection_m(*a.wheel.flex, load).value_or(0) : 0;
    const double settlement = flat + load * spring;
    support[k] = {.x_m = a.position_x_m, .body = a.body, .load_n = loads[k], .settlement_m = settlement,
                  .compliance_m_per_n = std::max(load > 0 ? settlement / loads[k] : 0, kRigid_m_per_n)};
  }
  return vehicle::share_along(m.chain, force, {support.data(), m.axles});
}

// What decides how a vehicle tips.
std::vector<double> tipping_key(const Stance& s) {
  std::vector<double> key{s.weight_n, s.cg_x_m, s.cg_y_m, s.cg_z_m};
  for (const Support& p : s.supports) key.insert(key.end(), {p.x_m, p.y_m, p.stiffness_n_per_m, static_cast<double>(p.body), p.driven ? 1.0 : 0.0, p.braked ? 1.0 : 0.0});
  for (const StandingBody& b : s.bodies) key.insert(key.end(), {b.weight_ratio, b.cg_x_m, b.cg_y_m, b.cg_z_m});
  for (const StandingJoint& j : s.joints) {
    key.insert(key.end(), {j.x_m, j.y_m, j.z_m});
    for (const vehicle::JointAxis* a : {&j.pitch, &j.roll}) key.insert(key.end(), {static_cast<double>(a->freedom), a->stiffness_n_m_per_rad, a->lowest_rad.value_or(-9), a->highest_rad.value_or(9)});
  }
  return key;
}

// The soil has no part in it: the answer for the last vehicle is kept, as hundreds of possible soils are placed under one.
void tell_tipping(const vehicle::Vehicle& v, double gravity_m_s2, Machine& m) {
  struct Last {
    std::vector<double> key;
    double up_rad = 0, down_rad = 0;
  };
  thread_local Last last;
  const Stance stance = stance_of(v, gravity_m_s2);
  std::vector<double> key = tipping_key(stance);
  if (key != last.key) {
    // Parked or driving, whichever tips it first, as tip-over has it: what stops on a slope must stand there.
    const bool either = holds_otherwise_driving(stance);
    const auto tips = [&](double fall) {
      const double parked = tips_as_held_rad(v, gravity_m_s2, fall, Holding::brakes);
      return either ? std::min(parked, tips_as_held_rad(v, gravity_m_s2, fall, Holding::drives)) : parked;
    };
    last = {std::move(key), tips(kFallBehind), tips(kFallAhead)};
  }
  m.tips_up_rad = last.up_rad;
  m.tips_down_rad = last.down_rad;
}

}  // namespace

std::optional<Machine> make_machine(const vehicle::Vehicle& vehicle, const soil::Soil& soil,
                                    double gravity_m_s2, soil::SlipSinkage slip_sinkage,
                                    const base::Place& place, base::Problems& problems, const std::optional<soil::Reload>& rut) {
  constexpr double kNoLimit = std::numeric_limits<double>::infinity();
  if (vehicle.axles.empty() || vehicle.axles.size() > kMaxAxles) {
    problems.refuse({.place = place, .what = "number of axles", .value = fmt::format("{}", vehicle.axles.size()),
                     .bound = fmt::format("1 to {}", kMaxAxles), .remedy = "describe the axles of the vehicle"});
    return std::nullopt;
  }
  Machine m;
  const vehicle::Body body = vehicle::loaded_body(vehicle);
  m.axles = vehicle.axles.size();
  m.control = vehicle.control;
  m.weight_n = body.mass_kg * gravity_m_s2;
  m.cg_x_m = body.cg_x_m;
  m.cg_z_m = body.cg_z_m;
  m.chain = vehicle::chain_of(vehicle);
  for (std::size_t b = 0; b < vehicle.bodies.size(); ++b) {
    const vehicle::Body part = vehicle::loaded_body(vehicle, b);
    m.part[b] = {part.mass_kg * gravity_m_s2, part.cg_x_m, part.cg_z_m};
  }
  if (vehicle.hitch) {
    m.hitch_x_m = vehicle.hitch->x_m;
    m.hitch_height_m = vehicle.hitch->height_m;
  }
  m.clearance_m = body.clearance_m.value_or(kNoLimit);
  m.idle_power_w = vehicle.idle_power_w;
  if (soil.bearing && !soil.bearing->below) m.rut = rut;  // under a second layer the floor of a rut is not computed
  bool driven = false, complete = true;
  for (std::size_t i = 0; i < m.axles; ++i) {
    const vehicle::Axle& a = vehicle.axles[i];
    base::Place at = place;
    at.key += (at.key.empty() ? "" : ".") + fmt::format("axle[{}]", i + 1);
    const contact::ContactOptions options{.slip_sinkage = slip_sinkage, .gravity_m_s2 = gravity_m_s2,
                                          .belly_clearance_m = body.clearance_m};
    const auto contact = contact::make_contact(a.wheel, soil, options, at, problems);
    if (!contact) {
      complete = false;
      continue;
    }
    AxleOnSoil& out = m.axle[i];
    out.contact = *contact;
    out.wheels = a.wheels;
    out.body = a.body;
    out.x_m = a.position_x_m;
    out.arm_m = a.wheel.radius_m;
    out.compliance_m_per_n = a.suspension_n_per_m ? 1 / *a.suspension_n_per_m : 0;
    out.driven = a.drive.driven;
    out.brake = a.drive.brake;
    out.peak_torque_n_m = a.drive.peak_torque_n_m.value_or(kNoLimit);
    out.continuous_torque_n_m = a.drive.continuous_torque_n_m.value_or(kNoLimit);
    out.peak_power_w = a.drive.peak_power_w.value_or(kNoLimit);
    out.max_speed_rad_per_s = a.drive.max_speed_rad_per_s.value_or(kNoLimit);
    out.efficiency = a.drive.efficiency;
    out.regeneration = a.drive.regeneration;
    if (m.rut) {
      const PathAhead path = path_ahead(vehicle, i);
      out.path_of = path.axle;
      out.path_share = path.share;
    }
    driven = driven || a.drive.driven;
  }
  if (!driven) {
    problems.refuse({.place = place, .what = "no axle is driven", .remedy = "set driven = true in [axle.drive]"});
    complete = false;
  }
  if (!complete) return std::nullopt;
  const vehicle::ChainShare level = level_stand(vehicle, m, gravity_m_s2);
  for (std::size_t b = 0; level.stands && b < m.chain.bodies; ++b) m.part[b].level_pitch_rad = level.pitch_rad[b];
  for (std::size_t j = 0; j + 1 < m.chain.bodies; ++j) m.level_on_stop[j] = level.on_stop[j];
  const bool side_by_side = std::any_of(vehicle.axles.begin(), vehicle.axles.end(), [](const vehicle::Axle& a) { return a.wheels > 1; });
  if (m.axles > 1 && side_by_side && level.stands && vehicle::wheel_count(vehicle) >= 3 && vehicle::level_share(vehicle, gravity_m_s2).stands) tell_tipping(vehicle, gravity_m_s2, m);
  return m;
}

}  // namespace hardpan::performance
