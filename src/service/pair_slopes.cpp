// SPDX-License-Identifier: Apache-2.0
#include "service/pair_slopes.hpp"

#include <algorithm>
#include <cmath>

#include "service/detail/json_parts.hpp"

namespace hardpan::service {

using detail::number_or_null;
using io::Json;
namespace p = performance;

namespace {

// A campaign asks this of every pair, so not of all its possible soils: 200 on 24 headings take 4 s of one processor (bench/slopes_bench).
constexpr std::size_t kHeadings = 24, kDraws = 64;

Json spread_json(const p::SlopeSpread& s) {
  Json j = Json::object();
  j.set("median_rad", s.median_rad ? Json(*s.median_rad) : Json()).set("next_point_rad", s.next_point ? Json::array({s.next_point->lo, s.next_point->hi}) : Json());
  j.set("without_numerical_answer", s.not_converged);
  Json factors = Json::object();
  for (const auto& [factor, share] : p::shares(s)) factors.set(p::name(factor), share);
  return j.set("limiting_factor_shares", factors);
}

}  // namespace

campaign::SlopesResult slopes_of_pair(const vehicle::Vehicle& v, const p::Placed& placed, const p::Ground& ground, double working_slip) {
  campaign::SlopesResult out;
  if (vehicle::wheel_count(v) < 3) {
    out.missing = "Slopes on any heading need a vehicle that stands by itself, on three or more wheels.";
    return out;
  }
  const p::HeadingQuestion question{.headings_rad = p::evenly_round(kHeadings), .working_slip = working_slip};
  out.over_soils = p::slopes_over_soils(v, placed, question, kDraws);
  double steepest = 0;
  for (const p::HeadingSpread& h : out.over_soils->headings) steepest = std::max(steepest, h.limit.working.gradient_rad);
  if (steepest > 0 && ground.centre.shear) out.stand = p::ground_stand(ground.centre, steepest, placed.plan.gravity_m_s2);
  return out;
}

Json reach_json(const p::HeadingReach& r) {
  Json j = Json::object();
  j.set("gradient_rad", r.gradient_rad).set("limiting_factor", p::name(r.factor)).set("drift_rad", number_or_null(r.drift_rad)).set("largest_slip_ratio", number_or_null(r.largest_slip));
  return j.set("solve", detail::solve_json(r.solve, "rad"));
}

Json slopes_json(const campaign::SlopesResult& s) {
  Json j = Json::object();
  if (!s.over_soils) return j.set("missing", s.missing);
  const p::SlopesOverSoils& o = *s.over_soils;
  j.set("working_slip_ratio", o.working_slip).set("working_drift_rad", o.working_drift_rad).set("possible_soils", o.draws).set("without_interval_because", o.reason_without);
  j.set("limits_of_possible_soils", o.limits).set("searched_by_themselves", o.by_itself);
  Json lines = Json::array();
  for (const p::HeadingSpread& h : o.headings) {
    Json k = Json::object();
    k.set("heading_left_of_uphill_rad", h.limit.heading_rad).set("working", reach_json(h.limit.working).set("over_soils", spread_json(h.working)));
    k.set("largest", reach_json(h.limit.largest).set("over_soils", spread_json(h.largest)));
    k.set("tips_static_rad", h.limit.tips_rad).set("tips_working_rad", h.limit.tips_working_rad).set("tips_about", p::name(h.limit.tips_about));
    lines.push(k);
  }
  j.set("headings", lines);
  if (s.stand) {
    Json k = Json::object();
    k.set("slope_rad", s.stand->slope_rad).set("steady_climb_possible", !s.stand->no_steady_climb).set("friction_angle_rad", s.stand->friction_rad);
    k.set("critical_vertical_depth_m", s.stand->critical_vertical_depth_m ? Json(*s.stand->critical_vertical_depth_m) : Json());
    Json sheets = Json::array();
    for (const p::StandingSheet& sheet : s.stand->sheets) {
      Json one = Json::object();
      sheets.push(one.set("vertical_depth_m", sheet.vertical_depth_m).set("safety_factor_ratio", sheet.safety_factor));
    }
    j.set("ground_itself", k.set("sheets", sheets));
  }
  return j;
}

}  // namespace hardpan::service
