// SPDX-License-Identifier: Apache-2.0
#include "performance/at_speed.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "performance/detail/top_speed.hpp"

namespace hardpan::performance {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr int kHalvings = 14;            // 1e-4 of the slip
// Slips looked at, ever more braking: torque has turned long before the last, unless the vehicle tips before.
constexpr std::array<double, 7> kLess{0, -0.02, -0.05, -0.1, -0.2, -0.35, -0.5};

bool holds(const OnSoil& on, const State& s, double speed_m_s) {
  if (!s.balanced() || torque_use(on.plain, s) > 1) return false;
  const TopSpeed top = top_speed(on.plain, s);
  return std::min(top.drives_m_s, top.power_m_s) >= speed_m_s;
}

}  // namespace

void gradients_at_speed(std::span<const OnSoil> on, std::optional<double> slip_ratio, double speed_m_s, std::span<Gradient> out, Workspace& space) {
  if (slip_ratio) gradients_at_slip(on, *slip_ratio, out, space);
  else maximum_gradients(on, out, space);
  struct Search {
    std::size_t lane;
    double lo, hi;
    State held, beyond;
  };
  std::vector<Search> search;
  for (std::size_t i = 0; i < on.size(); ++i) {
    if (!out[i].state.balanced() || out[i].gradient_rad == kNoGradient || holds(on[i], out[i].state, speed_m_s)) continue;
    search.push_back({i, 0, out[i].state.slip_ratio, {}, out[i].state});
  }
  std::vector<OnSoil> soils;
  std::vector<double> slips;
  std::vector<State> states;
  const auto look = [&](auto&& slip_of) {
    soils.clear();
    slips.clear();
    for (const Search& q : search) {
      soils.push_back(on[q.lane]);
      slips.push_back(slip_of(q));
    }
    states.resize(search.size());
    climbs(soils, slips, states, space);
  };
  // Less slip asks less torque and turns the wheels slower: first at no slip, then where the wheels brake.
  for (const double lo : kLess) {
    look([&](const Search& q) { return q.held.balanced() ? q.lo : lo; });
    for (std::size_t n = 0; n < search.size(); ++n) {
      Search& q = search[n];
      if (q.held.balanced() || (lo < 0 && top_speed(on[q.lane].plain, q.beyond).drives_m_s < speed_m_s)) continue;
      if (holds(on[q.lane], states[n], speed_m_s)) q.lo = lo, q.held = states[n];
      else if (states[n].balanced()) q.hi = lo, q.beyond = states[n];
    }
  }
  std::erase_if(search, [&](const Search& q) {
    if (!q.held.balanced()) out[q.lane] = {.factor = LimitingFactor::power, .state = q.beyond};
    return !q.held.balanced();
  });
  for (int k = 0; k < kHalvings && !search.empty(); ++k) {
    look([](const Search& q) { return 0.5 * (q.lo + q.hi); });
    for (std::size_t n = 0; n < search.size(); ++n) {
      Search& q = search[n];
      if (holds(on[q.lane], states[n], speed_m_s)) q.lo = slips[n], q.held = states[n];
      else q.hi = slips[n], q.beyond = states[n].balanced() ? states[n] : q.beyond;
    }
  }
  for (const Search& q : search) out[q.lane] = {.gradient_rad = q.held.gradient_rad, .slip_ratio = q.held.largest_slip(on[q.lane].plain), .factor = LimitingFactor::power, .state = q.held};
}

Outcome gradient_at_speed_outcome(const Placed& placed, std::optional<double> slip_ratio, double speed_m_s) {
  return outcome(placed, [=](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<Gradient> g(on.size());
    gradients_at_speed(on, slip_ratio, speed_m_s, g, space);
    for (std::size_t i = 0; i < on.size(); ++i) out[i] = {g[i].factor == LimitingFactor::not_converged ? std::numeric_limits<double>::quiet_NaN() : g[i].gradient_rad, g[i].factor, g[i].state};
  });
}

Outcome energy_at_speed_outcome(const Placed& placed, std::optional<double> speed_m_s) {
  return outcome(placed, [=](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<Travel> t(on.size());
    travels(on, 0, 0, t, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      out[i] = {kInfinity, t[i].factor, t[i].state};
      if (t[i].factor == LimitingFactor::not_converged) out[i].value = std::numeric_limits<double>::quiet_NaN();
      if (!t[i].goes) continue;
      const double idle_w = on[i].plain.idle_power_w, own = t[i].speed_m_s, speed = speed_m_s.value_or(own);
      if (speed > own) out[i].factor = LimitingFactor::power;
      // Travel counts idle loads at its own speed.
      else out[i].value = t[i].energy_j_per_m - (std::isfinite(own) && own > 0 ? idle_w / own : 0) + (std::isfinite(speed) ? idle_w / speed : 0);
    }
  });
}

std::string speed_limited_by(const Placed& placed, const Outcome& o) {
  if (o.centre_factor != LimitingFactor::power) return name(o.centre_factor);
  const TopSpeed top = top_speed(placed.centre.plain, o.centre_state);
  return top.drives_m_s < top.power_m_s ? "speed of the drives" : name(LimitingFactor::power);
}

bool speed_limits_gradient(const vehicle::Vehicle& v) {
  return std::any_of(v.axles.begin(), v.axles.end(), [](const vehicle::Axle& a) { return a.drive.driven && (a.drive.peak_power_w || a.drive.max_speed_rad_per_s); });
}
bool speed_changes_energy(const vehicle::Vehicle& v) { return v.idle_power_w > 0 || speed_limits_gradient(v); }

}  // namespace hardpan::performance
