// SPDX-License-Identifier: Apache-2.0
// libFuzzer: any bytes as a vehicle file. A refusal must say something; a vehicle that was accepted must be one: it stands with its weight on its wheels, tips
// somewhere, turns, clears and rolls over a profile in numbers that are numbers. Seeds with every key in seeds/vehicle.
#include <sys/mman.h>
#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <numbers>
#include <source_location>
#include <string>

#include "formats/vehicle_file.hpp"
#include "performance/clearance.hpp"
#include "performance/crossing_pose.hpp"
#include "performance/tip_over_joints.hpp"
#include "performance/turning.hpp"

namespace {

using namespace hardpan;
constexpr double kGravity = 9.81;

void require(bool holds, std::source_location at = std::source_location::current()) {
  if (holds) return;
  std::fprintf(stderr, "line %u does not hold\n", static_cast<unsigned>(at.line()));
  std::abort();
}

void drive(const vehicle::Vehicle& v) {
  const vehicle::Body whole = vehicle::loaded_body(v);
  const double weight = whole.mass_kg * kGravity;
  require(weight > 0 && std::isfinite(weight) && std::isfinite(whole.cg_x_m) && std::isfinite(whole.cg_z_m));
  double sum = 0;
  for (const double load : vehicle::level_axle_loads_n(v, kGravity)) {
    require(load >= 0);
    sum += load;
  }
  require(std::abs(sum - weight) <= 1e-6 * weight);

  const performance::Stance stance = performance::stance_of(v, kGravity);
  for (int i = 0; i < 8; ++i) {
    const double fall = 0.25 * std::numbers::pi * i;
    const performance::TipOver tip = performance::tip_over(stance, fall);
    require(tip.angle_rad >= 0 && tip.angle_rad <= 0.5 * std::numbers::pi);
    if (const auto bodies = performance::tip_over_of_bodies(v, kGravity, fall)) require(bodies->tip.angle_rad >= 0 && bodies->body < v.bodies.size());
    if (const auto loads = performance::standing_loads_n(stance, 0.5 * tip.angle_rad, fall)) {
      for (const double load : *loads) require(load >= -1e-9 * weight);
    }
  }
  const performance::Clearances c = performance::clearances(v, kGravity);
  for (const auto& angle : {c.approach, c.departure, c.break_over}) require(!angle || std::isfinite(angle->angle_rad));
  require(!(performance::smallest_radius_m(v) < 0));
  for (const double radius : {20.0, -5.0}) {
    const performance::Turn turn = performance::turn_at(v, radius);
    require(!turn.steerable || v.steering.kind == vehicle::SteeringKind::crab || turn.swept_width_m > 0);
  }
  if (const auto p = performance::profile_vehicle(v, kGravity)) {
    require(std::abs(p->weight_n - weight) <= 1e-9 * weight && p->bodies.size() != 1);
    if (p->bodies.empty()) {
      for (const performance::Pose& pose : performance::resting_poses(*p, performance::Profile::step(0.1), -0.2)) require(std::isfinite(pose.pitch_rad) && std::isfinite(pose.cg.z_m));
    }
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const int memory = ::memfd_create("fuzz", 0);
  require(memory >= 0 && ::ftruncate(memory, 0) == 0);
  require(::pwrite(memory, data, size, 0) == static_cast<ssize_t>(size));
  base::Problems problems;
  const auto v = formats::read_vehicle("/proc/self/fd/" + std::to_string(memory), "fuzz.toml", kGravity, problems);
  for (const base::Problem& p : problems.list()) require(!p.text().empty());
  require(v || problems.refused());
  if (v && !problems.refused()) drive(*v);
  return 0;
}
