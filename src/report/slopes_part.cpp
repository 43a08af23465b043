// SPDX-License-Identifier: Apache-2.0
// Slopes on any heading of each vehicle on each ground: polar picture, table, and whether the ground itself stands.
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/slopes_figure.hpp"

namespace hardpan::report::detail {
namespace {

// Balances hold to 1e-8 of the weight; a drift under 1e-6 rad is none.
std::string drift_words(const Printer& print, double drift_rad) {
  if (!std::isfinite(drift_rad)) return "-";
  return print.value(std::abs(drift_rad) < 1e-6 ? 0 : std::abs(drift_rad), kAngle);
}

namespace p = performance;

std::string shares_words(const p::SlopeSpread& s) {
  std::vector<std::string> parts;
  for (const auto& [factor, share] : p::shares(s)) {
    if (parts.size() < 3) parts.push_back(std::string(p::name(factor)) + fmt::format(" {:.0f} %", 100 * share));
  }
  return joined(parts);
}

void limits_table(Sheet& s, const campaign::PairResult& pair, const p::SlopesOverSoils& o) {
  Grid g{.caption = "Steepest slope by heading, " + pair_name(s.results, pair.vehicle, pair.zone),
         .columns = {"Heading", "Working limit", "95 % next point", "Ended by", "Drift", "Largest, any slip", "95 % next point", "Ended by", "Working tip limit"}, .right = "lrrlrrrlr"};
  for (const p::HeadingSpread& h : o.headings) {
    const auto ended = [&](const p::HeadingReach& r, const p::SlopeSpread& spread) { return spread.draws_rad.empty() ? std::string(p::name(r.factor)) : shares_words(spread); };
    const auto slope = [&](const p::HeadingReach& r) {
      if (r.factor == p::HeadingFactor::not_converged) return std::string("no numerical answer");
      return r.solve.status == base::SolveStatus::no_solution ? std::string("not even level") : s.print.value(r.gradient_rad, kAngle);
    };
    g.rows.push_back({heading_words(h.limit.heading_rad), slope(h.limit.working), s.print.interval(h.working.next_point, kAngle), ended(h.limit.working, h.working),
                      drift_words(s.print, h.limit.working.drift_rad), slope(h.limit.largest), s.print.interval(h.largest.next_point, kAngle),
                      ended(h.limit.largest, h.largest), s.print.value(h.limit.tips_working_rad, kAngle)});
  }
  const vehicle::Vehicle* v = s.results.campaign.vehicle_by_id(pair.vehicle);
  g.note = std::string("Steady and straight, ") + (v && v->bodies.size() > 1 ? "several bodies by their joints, those that yaw held straight or as steered" : "one body") +
           ", every wheel on untouched ground; of without and with slip sinkage the lower. Drift is downhill of the heading. ";
  g.note += o.draws > 0 ? fmt::format("Intervals and shares over the next points of {}, each to 0.5 deg.", plural(o.draws, "possible soil")) : sentence(o.reason_without);
  g.note += " Never turn across a slope near these limits.";
  s.page.table(g);
}

// The ground of the steepest slope told, at rest and by itself.
void stand_words(Sheet& s, const p::GroundStand& g) {
  std::string out = "The ground itself on " + s.print.value(g.slope_rad, kAngle) + ": ";
  if (g.no_steady_climb) {
    out += "it has no cohesion and stands at " + s.print.value(g.friction_rad, kAngle) + " at most. No steady climb exists there: the pull is at most the friction of the ground under the normal load, less the resistance, and the weight "
           "pulls harder. A vehicle that climbs for moments digs; that is outside this model. ";
  } else {
    out += "its angle of friction is " + s.print.value(g.friction_rad, kAngle) + ". ";
  }
  if (g.sheets.empty()) {
    out += "Its factor of safety needs the density, which was not measured.";
  } else {
    std::vector<std::string> parts;
    for (const p::StandingSheet& sheet : g.sheets) parts.push_back(fmt::format("{:.2f}", sheet.safety_factor) + (g.sheets.size() > 1 ? " for a sheet " + s.print.value(sheet.vertical_depth_m, kLength) + " deep" : " at any depth"));
    out += "Factor of safety against sliding: " + joined(parts) + " (vertical depth; long, dry, even slope at rest; a vehicle, water or a cut at the foot lower it)";
    if (g.critical_vertical_depth_m && *g.critical_vertical_depth_m > 0) out += "; sheets deeper than " + s.print.value(*g.critical_vertical_depth_m, kLength) + " slide";
    out += ".";
  }
  s.page.paragraph(out);
}

}  // namespace

Figure slopes_picture(const campaign::Results& r, const campaign::PairResult& pair) {
  const p::SlopesOverSoils& o = *pair.slopes.over_soils;
  Figure f = slopes_figure(o.headings, o.working_slip, o.working_drift_rad, Printer(r.campaign.output_units).units());
  f.id = "slopes-" + slug(pair.vehicle) + "-" + slug(pair.zone);
  f.title = "Steepest slope on every heading, " + pair_name(r, pair.vehicle, pair.zone) + (pair.prediction.textbook ? " (textbook soil, not your ground)" : "");
  f.provenance = small_print(r, "");
  return f;
}

void slopes_part(Sheet& s) {
  if (s.results.pairs.empty()) return;
  s.page.heading(3, "Slopes on any heading", "results-slopes");
  for (const campaign::PairResult& pair : s.results.pairs) {
    if (!pair.slopes.over_soils) {
      s.page.paragraph(pair_name(s.results, pair.vehicle, pair.zone) + ": " + (pair.slopes.missing.empty() ? "slopes on any heading were not computed." : pair.slopes.missing), "missing");
      continue;
    }
    s.page.figure(slopes_picture(s.results, pair));
    limits_table(s, pair, *pair.slopes.over_soils);
    if (pair.slopes.stand) stand_words(s, *pair.slopes.stand);
  }
}

}  // namespace hardpan::report::detail
