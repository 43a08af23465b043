// SPDX-License-Identifier: Apache-2.0
// Hand sheets of vehicle trials beyond towing, slopes and ruts: obstacles, turns and remote runs, one row a try, to typed records.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "formats/detail/plausible.hpp"
#include "formats/detail/record_entry.hpp"
#include "formats/detail/run_keys.hpp"
#include "formats/detail/sheet_words.hpp"
#include "records/trial_records.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

namespace {

constexpr double kTaping = 0.02;   // radius and diameter of one ring, both taped, agree to this share (common practice, no source)

std::vector<Role> roles_of(const std::string& kind) {
  const Role run{.name = "run", .dimensions = {}, .headings = {"run", "run no", "trial", "try", "try no", "no"}};
  const Role outcome{.name = "outcome", .dimensions = {}, .headings = {"outcome", "result"}};
  const Role start{.name = "start", .dimensions = {}, .headings = {"start", "approach"}};
  const Role travel{.name = "travel", .dimensions = {}, .headings = {"travel", "forward or backward", "driven"}};
  const Role assisted{.name = "assisted", .dimensions = {}, .headings = {"assisted", "helped"}};
  std::vector<Role> r;
  if (kind == "obstacle-trial") {
    r = {{.name = "obstacle", .dimensions = {}, .headings = {"obstacle", "kind of obstacle"}},
         {.name = "size", .dimensions = {Dimension::length}, .headings = {"size", "height", "width", "step height", "gap width", "obstacle size"}, .may_be_blank = true},
         {.name = "friction", .dimensions = {Dimension::none}, .headings = {"friction", "friction coefficient"}, .count = true, .may_be_blank = true},
         {.name = "axle", .dimensions = {}, .headings = {"axle", "which axle", "axle that stopped"}}, outcome, start, travel, run, assisted};
  } else if (kind == "turn-trial") {
    r = {{.name = "radius", .dimensions = {Dimension::length}, .headings = {"radius", "ring radius", "radius measured"}, .may_be_blank = true},
         {.name = "diameter", .dimensions = {Dimension::length}, .headings = {"diameter", "ring diameter", "diameter measured"}, .may_be_blank = true},
         {.name = "radius_asked", .dimensions = {Dimension::length}, .headings = {"radius asked", "asked radius"}, .may_be_blank = true},
         {.name = "wheel_path", .dimensions = {}, .headings = {"wheel path", "path", "measured to"}},
         {.name = "side", .dimensions = {}, .headings = {"side", "to"}},
         {.name = "speed", .dimensions = {Dimension::speed}, .headings = {"speed", "mean speed"}, .may_be_blank = true},
         {.name = "torque", .dimensions = {Dimension::torque}, .headings = {"torque", "mean torque", "torque of all wheels"}, .may_be_blank = true},
         {.name = "power", .dimensions = {Dimension::power}, .headings = {"power", "mean power"}, .may_be_blank = true},
         {.name = "gradient", .dimensions = {Dimension::angle}, .headings = {"gradient", "slope"}, .may_be_blank = true}, outcome, run};
  } else if (kind == "remote-run") {
    r = {{.name = "course", .dimensions = {}, .headings = {"course"}},
         {.name = "delay", .dimensions = {Dimension::time}, .headings = {"delay", "whole delay"}},
         {.name = "field_of_view", .dimensions = {Dimension::angle}, .headings = {"field of view", "view"}, .may_be_blank = true},
         {.name = "image_interval", .dimensions = {Dimension::time}, .headings = {"image interval", "frame interval"}, .may_be_blank = true},
         {.name = "practice", .dimensions = {Dimension::none}, .headings = {"practice", "runs before"}, .count = true, .may_be_blank = true},
         {.name = "speed", .dimensions = {Dimension::speed}, .headings = {"speed", "mean speed"}, .may_be_blank = true},
         {.name = "largest_error", .dimensions = {Dimension::length}, .headings = {"largest error", "largest sideways error", "sideways error"}, .may_be_blank = true},
         {.name = "corridor", .dimensions = {Dimension::length}, .headings = {"corridor", "corridor width"}, .may_be_blank = true},
         {.name = "stops", .dimensions = {Dimension::none}, .headings = {"stops"}, .count = true, .may_be_blank = true}, outcome, run};
  }
  return with_common_roles(std::move(r));
}

bool yes(const std::string& cell) {
  const std::string text = plain_heading(cell);
  return text == "yes" || text == "y" || text == "true";
}

// The axle that stopped a try: by the name it has in the vehicle file, or by its number from the rear.
void know_axle(const RecordEntry& entry, const std::string& axle, std::size_t line, const vehicle::Vehicle& v, base::Problems& problems) {
  const std::string typed = plain_heading(axle);
  std::string names;
  for (std::size_t k = 0; k < v.axles.size(); ++k) {
    if (typed == plain_heading(v.axles[k].name) || typed == std::to_string(k + 1)) return;
    names += (k == 0 ? "" : ", ") + (v.axles[k].name.empty() ? std::to_string(k + 1) : v.axles[k].name);
  }
  problems.refuse({.place = {.file = entry.file, .line = line, .key = "axle"}, .what = "the vehicle has no such axle", .value = axle, .bound = names + fmt::format(", or 1 to {} from the rear", v.axles.size()),
                   .remedy = "name it as vehicles/ does"});
}

// What a cell of the column obstacle may name: a kind, or an [[obstacle]] of the campaign with its size.
struct Met {
  records::ObstacleKind kind = records::ObstacleKind::step_up;
  std::optional<double> size_m;
  const campaign::ObstacleQuestion* of = nullptr;
};
std::vector<std::pair<std::string, Met>> obstacles_known(const campaign::Campaign& c) {
  using records::ObstacleKind;
  std::vector<std::pair<std::string, Met>> out{{"step up", {.kind = ObstacleKind::step_up}}, {"step down", {.kind = ObstacleKind::step_down}}, {"gap", {.kind = ObstacleKind::gap}}};
  for (const campaign::ObstacleQuestion& o : c.questions.obstacles) {
    Met m{.kind = ObstacleKind::profile, .of = &o};
    if (o.step_m) m = {.kind = *o.step_m > 0 ? ObstacleKind::step_up : ObstacleKind::step_down, .size_m = std::abs(*o.step_m), .of = &o};
    if (o.gap_m) m = {.kind = ObstacleKind::gap, .size_m = o.gap_m, .of = &o};
    out.emplace_back(o.id, m);
  }
  return out;
}

void obstacle_tries(const RecordEntry& entry, const Sheet& sheet, const records::RunConditions& run, Surroundings& around, base::Problems& problems) {
  using records::ObstacleKind;
  using records::ObstacleOutcome;
  const std::vector<std::pair<std::string, Met>> kinds = obstacles_known(*around.campaign);
  // Where every try is at an obstacle of the campaign, no size need be told.
  bool all_named = sheet.has("obstacle");
  for (std::size_t r = 0; r < sheet.line.size() && all_named; ++r) {
    const std::string typed = plain_heading(sheet.text("obstacle", r));
    all_named = std::any_of(kinds.begin(), kinds.end(), [&](const auto& k) { return k.second.of && plain_heading(k.first) == typed; });
  }
  if (!(all_named ? refuse_missing(entry, sheet, {"outcome"}, problems) : refuse_missing(entry, sheet, {"obstacle", "size", "outcome"}, problems))) return;
  static const std::vector<std::pair<std::string, ObstacleOutcome>> ends{{"over", ObstacleOutcome::over}, {"stopped", ObstacleOutcome::stopped}, {"hung up", ObstacleOutcome::hung_up},
                                                                         {"tipped", ObstacleOutcome::tipped}, {"stopped by the driver", ObstacleOutcome::by_driver}};
  static const std::vector<std::pair<std::string, bool>> starts{{"slow", false}, {"rolling", true}}, ways{{"forward", false}, {"backward", true}};
  if (!check_values(entry, sheet, problems)) {
    judge_words<Met>(entry, sheet, "obstacle", kinds, std::nullopt, problems);
    judge_words<ObstacleOutcome>(entry, sheet, "outcome", ends, std::nullopt, problems);
    judge_words<bool>(entry, sheet, "start", starts, false, problems);
    judge_words<bool>(entry, sheet, "travel", ways, false, problems);
    return;
  }
  const vehicle::Vehicle* v = around.campaign->vehicle_by_id(entry.vehicle);
  double largest_radius_m = 0;
  for (std::size_t k = 0; v && k < v->axles.size(); ++k) largest_radius_m = std::max(largest_radius_m, v->axles[k].wheel.radius_m + v->axles[k].wheel.grouser_height_m);
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::ObstacleTry t;
    t.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    t.conditions = run;
    t.line = sheet.line[r];
    const auto met = word<Met>(entry, sheet, "obstacle", r, kinds, std::nullopt, problems);
    const auto outcome = word<ObstacleOutcome>(entry, sheet, "outcome", r, ends, std::nullopt, problems);
    const auto rolling = word<bool>(entry, sheet, "start", r, starts, false, problems), backward = word<bool>(entry, sheet, "travel", r, ways, false, problems);
    const auto measured = given(sheet, "size", r);
    const auto size = measured || !met ? measured : met->size_m;
    const bool profile = met && met->kind == ObstacleKind::profile;
    if (profile && measured) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "a profile has no size", .value = units::print_quantity(*measured, Dimension::length, output_units(around)), .remedy = "leave the size of " + sheet.text("obstacle", r) + " blank, or name the step or gap that was tried"});
      continue;
    }
    if (!profile && (!size || !(*size > 0))) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "an obstacle has a size", .value = size ? units::print_quantity(*size, Dimension::length, output_units(around)) : "", .bound = "above 0",
                       .remedy = "measure the height of the step or the clear width of the gap"});
      continue;
    }
    if (!met || !outcome || !rolling || !backward) continue;
    t.obstacle = met->kind;
    if (met->of) t.named = met->of->id;
    t.size_m = size.value_or(0);
    t.outcome = *outcome;
    t.rolling_start = *rolling;
    t.backward = *backward;
    t.axle = sheet.text("axle", r);
    if (v && !t.axle.empty()) know_axle(entry, t.axle, t.line, *v, problems);
    t.friction_ratio = given(sheet, "friction", r);
    t.assisted = yes(sheet.text("assisted", r));
    if (!sheet.text("run", r).empty()) t.conditions.run = sheet.text("run", r);
    if (t.obstacle == ObstacleKind::step_up && *outcome == ObstacleOutcome::over && largest_radius_m > 0 && t.size_m > 2 * largest_radius_m) {
      problems.remark({.place = {.file = entry.file, .line = t.line}, .what = "a step higher than the vehicle's wheels was crossed: is the unit right?",
                       .value = units::print_quantity(t.size_m, Dimension::length, output_units(around)), .bound = units::print_quantity(2 * largest_radius_m, Dimension::length, output_units(around)) + ", the wheel diameter",
                       .remedy = "look at the sheet"});
    }
    around.campaign->trials.obstacles.push_back(std::move(t));
  }
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

void turns(const RecordEntry& entry, Keys& keys, const Sheet& sheet, const records::RunConditions& run, Surroundings& around, base::Problems& problems) {
  using records::RingPath;
  using records::TurnOutcome;
  static const std::vector<std::pair<std::string, RingPath>> paths{{"outer wheel", RingPath::outer_wheel}, {"inner wheel", RingPath::inner_wheel}, {"centre", RingPath::centre}};
  static const std::vector<std::pair<std::string, TurnOutcome>> ends{{"turned", TurnOutcome::turned}, {"stalled", TurnOutcome::stalled}, {"slid", TurnOutcome::slid}, {"stopped", TurnOutcome::stopped}};
  static const std::vector<std::pair<std::string, bool>> sides{{"left", false}, {"right", true}};
  const bool one_path = keys.table().has("wheel_path");
  const RingPath stated = keys.choice("wheel_path", RingPath::outer_wheel, paths);
  const bool power_told = keys.table().has("power_at");
  const bool at_axles = keys.choice("power_at", false, std::vector<std::pair<std::string, bool>>{{"axles", true}, {"battery", false}});
  if (!sheet.has("radius") && !sheet.has("diameter") && !refuse_missing(entry, sheet, {"radius_asked"}, problems)) return;
  if (!refuse_missing(entry, sheet, {"outcome", "side"}, problems)) return;
  if (!check_values(entry, sheet, problems)) {
    judge_words<TurnOutcome>(entry, sheet, "outcome", ends, std::nullopt, problems);
    judge_words<bool>(entry, sheet, "side", sides, std::nullopt, problems);
    return;
  }
  if (!one_path && !sheet.has("wheel_path")) {
    problems.refuse({.place = {.file = entry.place.file, .line = entry.place.line, .key = entry.place.key + ".wheel_path"}, .what = "a turning radius says nothing without what it is measured to",
                     .bound = "outer wheel, inner wheel, centre", .remedy = "set wheel_path = \"outer wheel\", or map a column to it"});
    return;
  }
  if (sheet.has("power") && !power_told) {
    problems.remark({.place = {.file = entry.place.file, .line = entry.place.line, .key = entry.place.key + ".power_at"}, .what = "where the power was measured is not stated: it is reduced and not compared with a prediction",
                     .remedy = "set power_at = \"axles\" or \"battery\""});
  }
  const vehicle::Vehicle* v = around.campaign->vehicle_by_id(entry.vehicle);
  double widest_m = 0;
  for (std::size_t k = 0; v && k < v->axles.size(); ++k) widest_m = std::max(widest_m, v->axles[k].track_width_m);
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::TurnRun t;
    t.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    t.conditions = run;
    t.line = sheet.line[r];
    const auto outcome = word<TurnOutcome>(entry, sheet, "outcome", r, ends, std::nullopt, problems);
    const auto right = word<bool>(entry, sheet, "side", r, sides, std::nullopt, problems);
    const auto path = word<RingPath>(entry, sheet, "wheel_path", r, paths, one_path ? std::optional(stated) : std::nullopt, problems);
    const auto radius = given(sheet, "radius", r), diameter = given(sheet, "diameter", r), asked = given(sheet, "radius_asked", r);
    if (!radius && !diameter && !asked) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "a turn has a radius", .remedy = "tape the ring, or write the radius that was asked for"});
      continue;
    }
    if (radius && diameter && std::abs(*diameter - 2 * *radius) > kTaping * *diameter) {
      const auto length = [&](double m) { return units::print_quantity(m, Dimension::length, output_units(around)); };
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "radius and diameter of one ring contradict each other", .value = length(*radius) + " and " + length(*diameter), .bound = fmt::format("the radius is half the diameter, to {:.0f} %", 100 * kTaping),
                       .remedy = "leave the wrong one blank"});
      continue;
    }
    if (!outcome || !right || !path) continue;
    t.radius_measured = radius || diameter;
    t.radius_m = radius ? *radius : diameter ? *diameter / 2 : *asked;
    t.path = *path;
    t.right = *right;
    t.outcome = *outcome;
    t.speed_m_per_s = given(sheet, "speed", r);
    t.torque_n_m = given(sheet, "torque", r);
    t.power_w = given(sheet, "power", r);
    t.power_at_axles = at_axles;
    if (!sheet.text("run", r).empty()) t.conditions.run = sheet.text("run", r);
    if (const auto g = given(sheet, "gradient", r)) {
      t.conditions.gradient_rad = *g;
      t.conditions.gradient_stated = true;
    }
    if (t.radius_measured && *path == RingPath::outer_wheel && t.radius_m < 0.5 * widest_m) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "the outer wheel leaves no ring so small: it is wider than half the track even on the spot",
                       .value = units::print_quantity(t.radius_m, Dimension::length, output_units(around)), .bound = "over " + units::print_quantity(0.5 * widest_m, Dimension::length, output_units(around)),
                       .remedy = "check the unit, and what the radius is measured to"});
      continue;
    }
    around.campaign->trials.turns.push_back(std::move(t));
  }
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

void remote_runs(const RecordEntry& entry, Keys& keys, const Sheet& sheet, const records::RunConditions& run, Surroundings& around, base::Problems& problems) {
  using records::RemoteOutcome;
  static const std::vector<std::pair<std::string, RemoteOutcome>> ends{{"finished", RemoteOutcome::finished}, {"left the corridor", RemoteOutcome::left_corridor},
                                                                       {"struck something", RemoteOutcome::struck}, {"stopped", RemoteOutcome::stopped}};
  const std::string course = keys.text("course");
  if (!refuse_missing(entry, sheet, {"delay", "outcome"}, problems)) return;
  if (!check_values(entry, sheet, problems)) return judge_words<RemoteOutcome>(entry, sheet, "outcome", ends, std::nullopt, problems);
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::RemoteRun t;
    t.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    t.conditions = run;
    t.line = sheet.line[r];
    const auto outcome = word<RemoteOutcome>(entry, sheet, "outcome", r, ends, std::nullopt, problems);
    const auto delay = given(sheet, "delay", r);
    const base::Place place{.file = entry.file, .line = t.line};
    if (!delay) {
      problems.refuse({.place = place, .what = "a remote run has a delay", .bound = "0 s or more", .remedy = "write the whole delay, from a thing in view to the command at the wheels; 0 where there was none"});
      continue;
    }
    if (!outcome) continue;
    t.course = sheet.text("course", r).empty() ? course : sheet.text("course", r);
    t.delay_s = *delay;
    t.outcome = *outcome;
    t.field_of_view_rad = given(sheet, "field_of_view", r);
    t.image_interval_s = given(sheet, "image_interval", r);
    t.practice = given(sheet, "practice", r);
    t.speed_m_per_s = given(sheet, "speed", r);
    t.largest_error_m = given(sheet, "largest_error", r);
    t.corridor_m = given(sheet, "corridor", r);
    t.stops = given(sheet, "stops", r);
    if (!sheet.text("run", r).empty()) t.conditions.run = sheet.text("run", r);
    const auto length = [&](double m) { return units::print_quantity(m, Dimension::length, output_units(around)); };
    if (*outcome == RemoteOutcome::finished && !(t.speed_m_per_s.value_or(0) > 0)) {
      problems.remark({.place = place, .what = "a run that finished without a speed: it counts, and enters no speed", .remedy = "write the length of the course over its time"});
    }
    if (*outcome == RemoteOutcome::finished && t.largest_error_m && t.corridor_m && *t.largest_error_m > 0.5 * *t.corridor_m) {
      problems.remark({.place = place, .what = "the run finished although it went further aside than half the corridor", .value = length(*t.largest_error_m), .bound = length(0.5 * *t.corridor_m),
                       .remedy = "look at the sheet: was the corridor left?"});
    }
    around.campaign->trials.remote.push_back(std::move(t));
  }
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

}  // namespace

bool is_trial_kind(const std::string& kind) { return kind == "obstacle-trial" || kind == "turn-trial" || kind == "remote-run" || is_way_run_kind(kind); }

void read_trial_record(const RecordEntry& given_entry, Keys& keys, Surroundings& around, base::Problems& problems) {
  if (is_way_run_kind(given_entry.kind)) return read_way_run(given_entry, keys, around, problems);
  RecordEntry entry = given_entry;
  entry.request.roles = roles_of(entry.kind);
  const auto run = run_keys(entry, keys, around, problems);
  auto sheet = read_sheet(entry.request, problems);
  if (!sheet || !run) return;
  if (entry.kind == "obstacle-trial") obstacle_tries(entry, *sheet, *run, around, problems);
  if (entry.kind == "turn-trial") turns(entry, keys, *sheet, *run, around, problems);
  if (entry.kind == "remote-run") remote_runs(entry, keys, *sheet, *run, around, problems);
}

}  // namespace hardpan::formats::detail
