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
  while (paths[axle] != kOwnPath) axle = paths[axle];
  return axle;
}

}  // namespace

Paths paths_of(const vehicle::Vehicle& vehicle) {
  HARDPAN_ASSERT(vehicle.axles.size() <= kMaxAxles);
  Paths out;
  out.fill(kOwnPath);
  for (std::size_t i = 0; i < vehicle.axles.size(); ++i) {
    for (std::size_t ahead = i + 1; ahead < vehicle.axles.size() && out[i] == kOwnPath; ++ahead) {
      if (path_overlap(vehicle.axles[i], vehicle.axles[ahead]) >= kSamePathShare) out[i] = ahead;
    }
  }
  return out;
}

const Machine& machine_of(const OnSoil& on, const State& state) {
  return on.sinking && state.axles > 0 && contact::has(state.wheel[0].flags, contact::Flag::slip_sinkage_on) ? *on.sinking : on.plain;
}

void depth_by_pass(const Machine& machine, const State& state, const soil::Reload& reload, const Paths& paths, std::span<PassDepth> out, const std::optional<DisturbedStrength>& disturbed) {
  std::fill(out.begin(), out.end(), PassDepth{});
  if (!state.balanced()) return;
  std::array<double, kMaxAxles> deepest{};  // in the path that begins with this axle, over everything so far; 0: untouched
  for (PassDepth& pass : out) {
    double loaded = 0, after = 0;
    for (std::size_t k = machine.axles; k-- > 0;) {
      contact::Contact c = machine.axle[k].contact;
      double& path = deepest[first_of_path(paths, k)];
      const double stretch = stretch_of(c, state.wheel[k].slip_ratio);
      double floor = 0;
      if (path > 0) {
        const auto law = soil::rut_floor(c.law, path / stretch, reload);
        if (!law) return;
        c.law = *law;
        if (disturbed) disturb(c, *disturbed);
        floor = law->floor_m * stretch;
        c.largest_sinkage_m = std::max(c.largest_sinkage_m - floor, 0.0);
      }
      const contact::WheelAnswer w = contact::wheel_at_load(c, state.wheel[k].load_n, state.wheel[k].slip_ratio);
      if (!w.carried()) return;
      path = std::max(path, floor + w.sinkage_m);
      loaded = std::max(loaded, floor + w.sinkage_m);
    }
    // What the last wheel of each path leaves behind.
    for (std::size_t k = 0; k < machine.axles; ++k) {
      const double path = deepest[first_of_path(paths, k)];
      const double stretch = stretch_of(machine.axle[k].contact, state.wheel[k].slip_ratio);
      if (std::any_of(paths.begin(), paths.begin() + static_cast<std::ptrdiff_t>(k), [&](std::size_t p) { return p == k; })) continue;  // another follows
      const auto law = path > 0 ? soil::rut_floor(machine.axle[k].contact.law, path / stretch, reload) : std::nullopt;
      if (path > 0 && !law) return;
      if (law) after = std::max(after, law->floor_m * stretch);
    }
    pass = {true, loaded, after};
  }
}

}  // namespace hardpan::performance
