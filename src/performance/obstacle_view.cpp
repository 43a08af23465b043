// SPDX-License-Identifier: Apache-2.0
#include "performance/obstacle_view.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"

namespace hardpan::performance {
namespace {

double largest_radius_m(const ProfileVehicle& v) {
  double out = 0;
  for (const ProfileAxle& a : v.axles) out = std::max(out, a.radius_m);
  return out;
}

std::size_t nearest(const std::vector<Frame>& frames, double travel_m) {
  std::size_t best = 0;
  for (std::size_t i = 1; i < frames.size(); ++i) {
    if (std::abs(frames[i].pose.travel_m - travel_m) < std::abs(frames[best].pose.travel_m - travel_m)) best = i;
  }
  return best;
}

}  // namespace

Way way_over(const ProfileVehicle& v, const Profile& ground) {
  const auto& p = ground.points();
  const double reach = 0.5 * (v.axles.back().x_m - v.axles.front().x_m) + 1.5 * largest_radius_m(v);
  const bool bends = p.size() > 2;
  return {(bends ? p[1] : p.front()).x_m - reach, (bends ? p[p.size() - 2] : p.back()).x_m + reach};
}

double no_bottom_m(const ProfileVehicle& v) { return 4 * largest_radius_m(v); }

std::vector<NeedOnWay> need_along(const Crossing& c, std::size_t stretches) {
  HARDPAN_ASSERT(stretches > 0);
  std::vector<NeedOnWay> out;
  if (c.frames.empty()) return out;
  const double first = c.frames.front().pose.travel_m, width = std::max((c.frames.back().pose.travel_m - first) / static_cast<double>(stretches), 1e-12);
  std::size_t stretch = stretches + 1;   // of the last entry
  const auto meet = [&](double travel_m, double friction) {
    const auto at = std::min(static_cast<std::size_t>(std::max(travel_m - first, 0.0) / width), stretches);
    if (at != stretch) {
      out.push_back({travel_m, friction});
      stretch = at;
    } else if (!(friction <= out.back().friction) && !std::isnan(out.back().friction)) {
      out.back() = {travel_m, friction};
    }
  };
  for (const Frame& f : c.frames) meet(f.pose.travel_m, f.forces.solve.converged() ? f.forces.friction : std::numeric_limits<double>::quiet_NaN());
  if (std::isfinite(c.least_friction) && std::isfinite(c.critical_m)) {
    const auto after = std::find_if(out.begin(), out.end(), [&](const NeedOnWay& n) { return n.travel_m > c.critical_m; });
    out.insert(after, {c.critical_m, c.least_friction});
  }
  return out;
}

Film film_of(std::vector<Frame> frames, const Crossing& c, const ProfileVehicle& v, const Profile& ground, std::size_t places) {
  HARDPAN_ASSERT(places >= 2);
  Film out;
  if (frames.empty()) return out;
  const Way way = way_over(v, ground);
  const double from = std::max(way.from_m, frames.front().pose.travel_m), to = std::max(std::min(way.to_m, frames.back().pose.travel_m), from);
  std::vector<double> at;
  for (std::size_t i = 0; i < places; ++i) at.push_back(from + (to - from) * static_cast<double>(i) / static_cast<double>(places - 1));
  const bool by_friction = std::isfinite(c.least_friction) && c.least_friction > 0;
  const double hard = by_friction ? c.critical_m : c.stopped_at_m;
  std::size_t taken = places;
  if (std::isfinite(hard)) {
    taken = 0;
    for (std::size_t i = 1; i < places; ++i) {
      if (std::abs(at[i] - hard) < std::abs(at[taken] - hard)) taken = i;
    }
    at[taken] = hard;
  }
  for (std::size_t i = 0; i < places; ++i) {
    const Hardest& h = c.climbing.travel_m == c.critical_m ? c.climbing : c.holding;
    out.frames.push_back(i == taken && by_friction ? Frame{h.pose, h.forces} : frames[nearest(frames, at[i])]);
  }
  out.critical = taken;
  return out;
}

}  // namespace hardpan::performance
