// SPDX-License-Identifier: Apache-2.0
// The same steps as lay_floors in equilibrium.cpp, with what earlier passes left in the path before the first wheel comes.
#include "performance/passes.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"

namespace hardpan::performance {
namespace {

// Lyasko's factor of sinkage at a slip: the law of a contact holds before it.
double stretch_of(const contact::Contact& c, double slip) {
  return c.slip_sinkage == soil::SlipSinkage::stretch ? (1 + std::abs(slip)) / (1 - 0.5 * std::abs(slip)) : 1;
}

std::size_t first_of_path(const Paths& paths, std::size_t axle) {
  while (paths[axle].axle != kOwnPath) axle = paths[axle].axle;
  return axle;
}

// A wheel, or a part of it, on the floor that something as deep as `path_m` left; untouched ground where that is 0.
struct OnFloor {
  contact::Contact contact;
  double floor_m = 0;
};
std::optional<OnFloor> on_floor(const contact::Contact& wheel, double path_m, double slip, const soil::Reload& reload, const std::optional<DisturbedStrength>& disturbed) {
  OnFloor out{.contact = wheel};
  if (!(path_m > 0)) return out;
  const double stretch = stretch_of(wheel, slip);
  const auto law = soil::rut_floor(wheel.law, path_m / stretch, reload);
  if (!law) return std::nullopt;
  out.contact.law = *law;
  if (disturbed) disturb(out.contact, *disturbed);
  out.floor_m = law->floor_m * stretch;
  out.contact.largest_sinkage_m = std::max(out.contact.largest_sinkage_m - out.floor_m, 0.0);
  return out;
}

}  // namespace

Paths paths_of(const vehicle::Vehicle& vehicle) {
  HARDPAN_ASSERT(vehicle.axles.size() <= kMaxAxles);
  Paths out;
  for (std::size_t i = 0; i < vehicle.axles.size(); ++i) out[i] = path_ahead(vehicle, i);
  return out;
}

const Machine& machine_of(const OnSoil& on, const State& state) {
  return on.sinking && state.axles > 0 && contact::has(state.wheel[0].flags, contact::Flag::slip_sinkage_on) ? *on.sinking : on.plain;
}

void depth_by_pass(const Machine& machine, const State& state, const soil::Reload& reload, const Paths& paths, std::span<PassDepth> out, const std::optional<DisturbedStrength>& disturbed) {
  std::fill(out.begin(), out.end(), PassDepth{});
  if (!state.balanced()) return;
  // Over everything so far, 0: untouched; of the path that begins with this axle, and of what lies beside the path of the axle ahead.
  std::array<double, kMaxAxles> path_depth{}, beside_depth{};
  WheelBatch space;
  for (PassDepth& pass : out) {
    double loaded = 0, after = 0;
    for (std::size_t k = machine.axles; k-- > 0;) {
      const contact::Contact& wheel = machine.axle[k].contact;
      const double slip = state.wheel[k].slip_ratio, load = state.wheel[k].load_n;
      double& path = path_depth[first_of_path(paths, k)];
      const auto in_path = on_floor(wheel, path, slip, reload, disturbed);
      if (!in_path) return;
      double depth = 0;
      if (paths[k].share < 1 && path > 0) {
        const auto beside = on_floor(wheel, beside_depth[k], slip, reload, disturbed);
        if (!beside) return;
        const Strips strips{strip_of(beside->contact, 1 - paths[k].share), strip_of(in_path->contact, paths[k].share), std::max(0.0, in_path->floor_m - beside->floor_m)};
        const StripCase both{.strips = &strips, .load_n = load, .slip_ratio = slip};
        StripAnswer answer;
        wheels_on_strips({&both, 1}, {&answer, 1}, space, contact::SimdTarget::plain);
        if (!answer.wheel.carried()) return;
        depth = beside->floor_m + answer.wheel.sinkage_m;
        beside_depth[k] = std::max(beside_depth[k], depth);
      } else {
        const contact::WheelAnswer w = contact::wheel_at_load(in_path->contact, load, slip);
        if (!w.carried()) return;
        depth = in_path->floor_m + w.sinkage_m;
      }
      path = std::max(path, depth);
      loaded = std::max(loaded, depth);
    }
    // What the last wheel of each path leaves behind.
    for (std::size_t k = 0; k < machine.axles; ++k) {
      if (std::any_of(paths.begin(), paths.begin() + static_cast<std::ptrdiff_t>(k), [&](const PathAhead& p) { return p.axle == k; })) continue;  // another follows
      const auto left = on_floor(machine.axle[k].contact, path_depth[first_of_path(paths, k)], state.wheel[k].slip_ratio, reload, std::nullopt);
      if (!left) return;
      after = std::max(after, left->floor_m);
    }
    pass = {true, loaded, after};
  }
}

}  // namespace hardpan::performance
