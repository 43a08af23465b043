// SPDX-License-Identifier: Apache-2.0
#include "report/slopes_figure.hpp"

#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include <fmt/core.h>

namespace hardpan::report {
namespace {

namespace p = performance;
constexpr double kDegrees = 180 / std::numbers::pi;
constexpr std::size_t kMostMarked = 24;   // headings: marks of 8 px stay apart from 31 px off the centre
constexpr double kMarkHeight_deg = 2.5;   // of slope, on the usual circle of 60 deg in 185 px

// One shape a factor, on either curve: read in grey and without colour.
Marker marker_of(p::HeadingFactor f) {
  switch (f) {
    case p::HeadingFactor::traction: return {Shape::triangle_up, false};
    case p::HeadingFactor::run_away: return {Shape::triangle_down, false};
    case p::HeadingFactor::side_slip: return {Shape::diamond, false};
    case p::HeadingFactor::working_slip: return {Shape::circle, true};
    case p::HeadingFactor::drift: return {Shape::square, true};
    case p::HeadingFactor::torque: return {Shape::cross, false};
    case p::HeadingFactor::steering: return {Shape::plus, false};
    case p::HeadingFactor::carrying: return {Shape::triangle_down, true};
    case p::HeadingFactor::tips_over: return {Shape::square, false};
    case p::HeadingFactor::none:
    case p::HeadingFactor::not_converged: return {Shape::diamond, true};
  }
  return {};
}

}  // namespace

std::string heading_words(double heading_rad) {
  const double d = std::round(std::fmod(heading_rad * kDegrees + 360, 360) * 100) / 100;
  if (d == 0) return "straight uphill";
  if (d == 180) return "straight downhill";
  if (d == 90) return "across, falling to the left";
  if (d == 270) return "across, falling to the right";
  return d < 180 ? fmt::format("{:g} deg left of uphill", d) : fmt::format("{:g} deg right of uphill", 360 - d);
}

Figure slopes_figure(const std::vector<p::HeadingSpread>& headings, double working_slip, double working_drift_rad, units::OutputUnits) {
  Figure f{.caption = fmt::format("Top: the vehicle heads straight uphill; left: it heads across with the slope falling to its left. Distance from the centre: slope of the ground. Working limit: up to {:.0f} % slip of any wheel and {:.0f} deg "
                                  "of drift. Working tip limit: 0.6 of the lower of the static one on hard ground and the one with wheels and springs settled (common practice, no source). Marks name what ends a limit a little steeper.",
                                  100 * working_slip, working_drift_rad * kDegrees)};
  Panel panel{.x = {.label = "Heading", .unit = "deg"}, .y = {.label = "Slope of the ground", .unit = "deg", .from_zero = true}, .polar = true};
  for (const double d : {0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0}) {
    panel.directions.push_back({d, d == 0 ? "straight uphill" : d == 180 ? "straight downhill" : d == 90 ? "across, falling to the left" : d == 270 ? "across, falling to the right" : d < 180 ? fmt::format("{:g} deg left", d) : fmt::format("{:g} deg right", 360 - d)});
  }
  Series next{.kind = Kind::band, .name = "working limit, 95 % next point", .style = 0, .fill = Fill::tint};
  Series working{.kind = Kind::line, .name = "working limit, best estimate", .style = 0, .dash = Dash::solid}, largest{.kind = Kind::line, .name = "largest limit, any slip", .style = 2, .dash = Dash::dotted};
  Series tip_working{.kind = Kind::line, .name = "working tip limit", .style = 4, .dash = Dash::dashed}, tip{.kind = Kind::line, .name = "static tip limit", .style = 5, .dash = Dash::long_dash};
  std::map<p::HeadingFactor, Series> ends;
  for (std::size_t i = 0; i <= headings.size() && !headings.empty(); ++i) {
    const p::HeadingSpread& h = headings[i % headings.size()];
    const double x = i == headings.size() ? 360 + headings.front().limit.heading_rad * kDegrees : h.limit.heading_rad * kDegrees;
    const auto add = [x](Series& s, double rad) { s.x.push_back(x), s.y.push_back(rad * kDegrees); };
    add(working, h.limit.working.gradient_rad);
    add(largest, h.limit.largest.gradient_rad);
    add(tip_working, h.limit.tips_working_rad);
    add(tip, h.limit.tips_rad);
    if (h.working.next_point) {
      next.x.push_back(x);
      next.y_lo.push_back(h.working.next_point->lo * kDegrees);
      next.y_hi.push_back(h.working.next_point->hi * kDegrees);
    }
    if (i == headings.size()) break;
    // Of many headings every k-th is marked; a mark that would fall on its like is left out.
    if (i % ((headings.size() + kMostMarked - 1) / kMostMarked) != 0) continue;
    const bool alike = h.limit.largest.factor == h.limit.working.factor && h.limit.largest.gradient_rad - h.limit.working.gradient_rad < kMarkHeight_deg / kDegrees;
    for (const p::HeadingReach* r : {&h.limit.working, &h.limit.largest}) {
      if (alike && r == &h.limit.largest) continue;
      Series& s = ends[r->factor];
      s.kind = Kind::points;
      s.name = std::string("ended by ") + p::name(r->factor);
      s.style = 0;
      s.marker = marker_of(r->factor);
      add(s, r->gradient_rad);
    }
  }
  if (!next.x.empty()) panel.series.push_back(std::move(next));
  for (Series* s : {&working, &largest, &tip_working, &tip}) panel.series.push_back(std::move(*s));
  for (auto& [factor, s] : ends) panel.series.push_back(std::move(s));
  f.panels.push_back(std::move(panel));
  return f;
}

}  // namespace hardpan::report
