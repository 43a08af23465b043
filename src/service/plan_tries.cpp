// SPDX-License-Identifier: Apache-2.0
#include "service/detail/plan_tries.hpp"

#include <fmt/core.h>

#include <cmath>
#include <numbers>

#include "math/distributions.hpp"
#include "performance/turning.hpp"
#include "records/slope_trial.hpp"
#include "records/trials.hpp"
#include "service/new_campaign.hpp"
#include "service/requirement_evidence.hpp"
#include "service/turning.hpp"
#include "units/count.hpp"
#include "units/print.hpp"
#include "validation/finding.hpp"

namespace hardpan::service::detail {
namespace {

using validation::Quantity;

struct Tries {
  const char *test, *one, *many, *sheet;   // of the row, one of them and several, kind of the blank sheet
  std::string setting;
};

Tries tries_for(const validation::Requirement& r, const vehicle::Vehicle& v, const validation::WayRuns* runs, units::OutputUnits u) {
  if (r.quantity == Quantity::trip_distance) return {"trip runs", "run", "runs", "trip-run", "trip " + r.trip + " for " + runs->at + " or further, reserve kept, a way back at hand"};
  if (r.quantity == Quantity::clear_run) return {"rock runs", "run", "runs", "rock-run", "straight among the rocks " + r.rocks + " for " + runs->at + ", each over ground not yet driven, none picked"};
  if (r.quantity == Quantity::rough_ground_speed) return {"rough runs", "run", "runs", "rough-run", "over the rough ground at " + runs->at + " or faster; slower runs first"};
  const auto length = [&](double m) { return units::print_quantity(m, units::Dimension::length, u); };
  const std::string size = length(r.threshold_si);
  if (r.quantity == Quantity::highest_step) return {"step tries", "try", "tries", "obstacle-trial", "step up of " + size + " or higher, met slowly, forward; lower steps first"};
  if (r.quantity == Quantity::widest_gap) return {"gap tries", "try", "tries", "obstacle-trial", "gap of " + size + " or wider, met slowly, forward; narrower gaps first"};
  const auto degrees = [](double rad) { return fmt::format("{:.1f} deg", rad * 180 / std::numbers::pi); };
  if (r.quantity == Quantity::maximum_gradient) return {"slope trials", "trial", "trials", "slope-trial", "slope of " + degrees(r.threshold_si) + " or steeper, straight up from the bottom, its angle at three places; gentler slopes first"};
  if (r.quantity == Quantity::maximum_gradient_down) return {"slope trials down", "trial", "trials", "slope-trial", "slope of " + degrees(r.threshold_si) + " or steeper, held by the brakes; gentler slopes first"};
  if (r.quantity == Quantity::gradient_on_heading) {
    return {"slope trials on a heading", "trial", "trials", "slope-trial", "slope of " + degrees(r.threshold_si) + " or steeper, heading " + degrees(*r.heading_rad) + " from straight uphill, left positive; gentler slopes first"};
  }
  std::string setting = "radius of " + size + " or less of the vehicle's centre plane";
  if (why_no_turn(v).empty()) setting += ", " + length(performance::turn_at(v, r.threshold_si).outer_wheel_radius_m) + " of its outer wheel";
  if (r.gradient_rad && *r.gradient_rad != 0) setting += fmt::format(", on a gradient of {:.1f} deg", std::abs(*r.gradient_rad) * 180 / std::numbers::pi);
  return {"turns", "turn", "turns", "turn-trial", setting + "; wider turns first"};
}

}  // namespace

void plan_tries(const campaign::Campaign& c, Plan& out) {
  const units::OutputUnits u = c.output_units == campaign::OutputUnits::us ? units::OutputUnits::us : units::OutputUnits::si;
  base::Problems told;  // the same as the check of the campaign has told
  records::TrialResult reduced;
  reduced.obstacles = records::reduce_obstacle_tries(c.trials.obstacles, {}, told);
  reduced.turns = records::reduce_turns(c.trials.turns, {}, told);
  reduced.trips = records::reduce_trip_runs(c.trials.trips, {}, told);
  reduced.rocks = records::reduce_rock_runs(c.trials.rocks, {}, told);
  reduced.rough = records::reduce_rough_runs(c.trials.rough, {}, told);
  records::DrawbarResult slopes;
  slopes.slopes = records::reduce_slope_trials(c.driving.slope_trials, {}, told);
  for (const validation::Requirement& r : c.requirements) {
    const bool sloping = r.quantity == Quantity::maximum_gradient || r.quantity == Quantity::maximum_gradient_down || r.quantity == Quantity::gradient_on_heading;
    const bool by_tries = r.method == validation::Method::demonstration || r.method == validation::Method::test;
    const vehicle::Vehicle* v = c.vehicle_by_id(r.vehicle);
    const auto runs = way_runs(c, reduced, r);
    if (!by_tries || !v || !(validation::of_obstacles(r.quantity) || r.quantity == Quantity::turning_radius || sloping || runs)) continue;
    const std::string ground = r.zone.empty() ? "Any ground" : "Zone " + r.zone + (r.condition.empty() ? "" : ", condition " + r.condition);
    const validation::Finding f = validation::judge(r, {.vehicle = v, .drawbar = &slopes, .trials = &reduced, .runs = runs, .gravity_m_s2 = c.gravity_m_s2, .output_units = u});
    if (r.quantity == Quantity::friction_margin) {
      std::string why;
      for (const std::string& reason : f.reasons) why += " " + reason;
      out.not_tested.push_back(fmt::format("{}: requirement {} -{}", ground, r.id, why));
      continue;
    }
    const std::uint64_t made = f.trials ? f.trials->made : 0, failed = made - (f.trials ? f.trials->went : 0);
    const std::uint64_t needed = f.trials ? f.trials->needed : math::trials_needed({runs ? runs->share : r.probability, r.confidence}, 0), still = needed > made ? needed - made : 0;
    const Tries t = tries_for(r, *v, runs ? &*runs : nullptr, u);
    out.rows.push_back({.zone = r.zone, .condition = r.condition, .test = t.test, .setting = t.setting,
                        .why = fmt::format("{}, {}: {} of {} must go for the stated probability and confidence; the records have {} that {}{}, {} still to do. {} Blank sheet {}.csv: hardpan new DIR --sheets.", r.id, v->name, needed - failed, needed,
                                           units::print_count(made, t.one, t.many), made == 1 ? "counts" : "count", failed > 0 ? fmt::format(" ({} failed)", failed) : "", still, caution_of_sheet(t.sheet), t.sheet),
                        .points = 1, .repeats = static_cast<std::size_t>(needed), .recorded = made, .still_needed = still});
    if (made == 0) out.not_tested.push_back(fmt::format("{}: {} ({}) - not tested.", ground, t.test, r.id));
  }
}

}  // namespace hardpan::service::detail
