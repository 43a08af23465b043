// SPDX-License-Identifier: Apache-2.0
// Results of each vehicle that no soil enters.
#include "campaign/tips_to.hpp"
#include "report/detail/parts.hpp"

#include <algorithm>
#include <numbers>

#include <fmt/core.h>

namespace hardpan::report::detail {
namespace {

using campaign::VehicleResult;

std::string angle_or_never(const Printer& print, double rad) { return rad >= std::numbers::pi / 2 ? "never" : print.value(rad, kAngle); }

void tip_over_table(Sheet& s, const VehicleResult& r) {
  if (r.tips.empty()) return;
  const vehicle::Vehicle* v = s.results.campaign.vehicle_by_id(r.vehicle);
  Grid g{.caption = "Slopes at which it tips over standing, by the direction of the fall line", .columns = {"Downhill side", "Tips at", "To", "Settled on springs and tyres", "Working limit"}, .right = "lrlrr"};
  if (r.tips_doubt) g.columns.push_back("95 %"), g.right += "r";
  const char* kSides[] = {"ahead", "ahead and left", "left", "behind and left", "behind", "behind and right", "right", "ahead and right"};
  for (std::size_t i = 0; i < r.tips.size(); ++i) {
    const performance::TipDirection& t = r.tips[i];
    g.rows.push_back({kSides[i * 8 / r.tips.size()], angle_or_never(s.print, t.still.angle_rad), campaign::tips_to(t.still.about, t.fall_rad, t.body && v ? v->bodies[*t.body].name + " alone" : ""),
                      t.settled.stands_settled ? angle_or_never(s.print, t.settled.tip.angle_rad) : "stands on no slope", angle_or_never(s.print, t.working_rad)});
    if (r.tips_doubt) g.rows.back().push_back(s.print.interval(r.tips_doubt->working_rad[i], kAngle));
  }
  g.note = "Static, for the load in the file, on a hard plane. Working limit: 0.6 of the lower of the two (common practice, no source); bumps, braking, turning and a deeper rut on the low side tip it earlier "
           "('hardpan tipover --rut').";
  g.note += r.tips_doubt ? " 95 %: from how well the file says that centres of gravity are known; the least of all directions " + s.print.interval(r.tips_doubt->least_working_rad, kAngle) + "."
                         : std::string(" No interval: the file does not say how well its centre of gravity is known.");
  if (v && v->bodies.size() > 1) g.note += " Settled: by the joints, as the first body falls; where its wheels have lifted no stop is counted on.";
  s.page.table(g);
}

void clearance_terms(Sheet& s, const VehicleResult& r) {
  const performance::Clearances& c = r.clearances;
  if (!c.belly) {
    s.page.paragraph("The file tells neither a clearance nor an underbody: approach, departure and break-over angles and hang-up cannot be told.", "missing");
    return;
  }
  const auto angle = [&](const std::optional<performance::ClearanceAngle>& a, const char* none) {
    return a ? s.print.value(a->angle_rad, kAngle) + ", touching " + s.print.value(a->at_x_m, kLength) + " ahead of the rearmost axle" : std::string(none);
  };
  std::vector<std::pair<std::string, std::string>> rows{{"Approach angle", angle(c.approach, "no underbody ahead of the front wheels in the file")},
                                                        {"Departure angle", angle(c.departure, "no underbody behind the rear wheels in the file")},
                                                        {"Break-over angle", angle(c.break_over, "nothing between the wheels")},
                                                        {"Belly over hard ground", s.print.value(c.belly->at_z_m, kLength) + (c.settled_m > 0 ? ", " + s.print.value(c.settled_m, kLength) + " lower than unloaded" : "")}};
  for (const campaign::PairResult& p : s.results.pairs) {
    if (p.vehicle != r.vehicle || p.prediction.curve.empty()) continue;
    const performance::SlipPoint* at = nullptr;
    for (const performance::SlipPoint& x : p.prediction.curve) {
      if (!at || std::abs(x.slip_ratio - p.prediction.working_slip) < std::abs(at->slip_ratio - p.prediction.working_slip)) at = &x;
    }
    if (!std::isfinite(at->sinkage_m.value)) continue;
    const double worst = at->sinkage_m.next_point && std::isfinite(at->sinkage_m.next_point->hi) ? at->sinkage_m.next_point->hi : at->sinkage_m.value;
    rows.push_back({"Belly less sinkage, " + zone_name(s.results, p.zone), s.print.value(c.belly->at_z_m - at->sinkage_m.value, kLength) +
                                                                              (at->sinkage_m.next_point ? ", at the deepest of next points " + s.print.value(c.belly->at_z_m - worst, kLength) : "") + fmt::format(" ({:.0f} % slip)", 100 * at->slip_ratio)});
  }
  s.page.terms(rows);
  if (c.articulated) s.page.paragraph("Told with the joints straight: bending in pitch it gets over a sharper break.", "small");
}

// `zone`: of whose soil the climb is told; empty: without a soil.
void weights_table(Sheet& s, const std::string& vehicle, const performance::Trade& trade, const std::string& zone) {
  const vehicle::Vehicle* v = s.results.campaign.vehicle_by_id(vehicle);
  if (!v || trade.rows.size() < 2) return;
  std::vector<double> lengths, loads;
  for (const performance::Placement& p : trade.rows) {
    for (const performance::Placed3& at : p.places) lengths.insert(lengths.end(), {at.x_m, at.y_m, at.z_m});
    loads.insert(loads.end(), p.wheel_load_n.begin(), p.wheel_load_n.end());
  }
  const units::Unit length = s.print.common(lengths, kLength), force = s.print.common(loads, kForce);
  Grid g{.caption = "Where batteries and payload may sit" + (zone.empty() ? std::string() : ", climbing on " + zone_name(s.results, zone)), .columns = {"Placement"}, .right = "l"};
  for (const performance::Placed3& at : trade.rows.front().places) {
    g.columns.push_back(headed(v->payload[at.payload].name + ": ahead, left, high", length));
    g.right += "r";
  }
  g.columns.insert(g.columns.end(), {headed("Least wheel load", force), headed("Largest", force), "Largest over mean", "Tips at"});
  g.right += "rrrr";
  if (!zone.empty()) {
    g.columns.insert(g.columns.end(), {"Climbs", "Stopped by"});
    g.right += "rl";
  }
  const auto same_places = [](const performance::Placement& x, const performance::Placement& y) {
    return std::equal(x.places.begin(), x.places.end(), y.places.begin(), y.places.end(), [](const auto& left, const auto& right) { return left.x_m == right.x_m && left.y_m == right.y_m && left.z_m == right.z_m; });
  };
  for (auto next = trade.rows.begin(); next != trade.rows.end(); ++next) {
    const performance::Placement& p = *next;
    // Between two that are one there is nothing to tell.
    if (p.name.starts_with("between") && std::any_of(trade.rows.begin(), next, [&](const auto& before) { return same_places(before, p); })) continue;
    std::vector<std::string> row{p.name};
    for (const performance::Placed3& at : p.places) {
      row.push_back(Printer::bare(at.x_m, length, kLength) + ", " + Printer::bare(at.y_m, length, kLength) + ", " + Printer::bare(at.z_m, length, kLength));
    }
    const auto [least, largest] = std::minmax_element(p.wheel_load_n.begin(), p.wheel_load_n.end());
    row.insert(row.end(), {Printer::bare(*least, force, kForce, 4), Printer::bare(*largest, force, kForce, 4), fmt::format("{:.3f}", p.largest_share), angle_or_never(s.print, p.tips_rad)});
    if (!zone.empty()) row.insert(row.end(), {p.gradient_rad ? s.print.value(*p.gradient_rad, kGradient) : "-", p.factor == performance::LimitingFactor::none ? "-" : performance::name(p.factor)});
    g.rows.push_back(row);
  }
  g.note = zone.empty() ? "Wheel loads standing level. Secure what was moved and weigh again." : "Straight up at the working slip on the best-estimate soil, no interval.";
  s.page.table(g);
}

}  // namespace

void whole_vehicle_part(Sheet& s) {
  for (const campaign::VehicleResult& v : s.results.vehicles) {
    s.page.heading(3, vehicle_name(s.results, v.vehicle) + " by itself", "vehicle-" + v.vehicle);
    clearance_terms(s, v);
    tip_over_table(s, v);
    weights_table(s, v.vehicle, v.weights, "");
    for (const campaign::PairResult& pair : s.results.pairs) {
      if (pair.vehicle == v.vehicle) weights_table(s, v.vehicle, pair.weights, pair.zone);
    }
  }
}

}  // namespace hardpan::report::detail
