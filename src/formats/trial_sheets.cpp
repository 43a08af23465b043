// SPDX-License-Identifier: Apache-2.0
// Hand sheets of vehicle trials beyond towing, slopes and ruts: obstacles, turns and remote runs, one row a try, to typed records.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "formats/detail/plausible.hpp"
#include "formats/detail/record_entry.hpp"
#include "formats/detail/run_keys.hpp"
#include "records/trial_records.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

namespace {

std::vector<Role> roles_of(const std::string& kind) {
  const Role run{.name = "run", .dimensions = {}, .headings = {"run", "run no", "trial", "try", "try no", "no"}};
  const Role outcome{.name = "outcome", .dimensions = {}, .headings = {"outcome", "result"}};
  const Role start{.name = "start", .dimensions = {}, .headings = {"start", "approach"}};
  const Role travel{.name = "travel", .dimensions = {}, .headings = {"travel", "forward or backward", "driven"}};
  const Role assisted{.name = "assisted", .dimensions = {}, .headings = {"assisted"}};
  std::vector<Role> r;
  if (kind == "obstacle-trial") {
    r = {{.name = "obstacle", .dimensions = {}, .headings = {"obstacle", "kind of obstacle"}},
         {.name = "size", .dimensions = {Dimension::length}, .headings = {"size", "height", "width", "step height", "gap width", "obstacle size"}},
         {.name = "friction", .dimensions = {Dimension::none}, .headings = {"friction", "friction coefficient"}, .count = true, .may_be_blank = true},
         {.name = "axle", .dimensions = {}, .headings = {"axle", "which axle", "axle that stopped"}}, outcome, start, travel, run, assisted};
  }
  return with_common_roles(std::move(r));
}

// One of the words a cell may hold, or a refusal that lists them; a blank cell is `blank`, where there is one.
template <class T>
std::optional<T> word(const RecordEntry& entry, const Sheet& sheet, const char* role, std::size_t row, const std::vector<std::pair<std::string, T>>& words,
                      std::optional<T> blank, base::Problems& problems) {
  const std::string typed = plain_heading(sheet.text(role, row));
  if (typed.empty() && blank) return blank;
  std::string list;
  std::vector<std::string> known;
  for (const auto& [text, value] : words) {
    if (plain_heading(text) == typed) return value;
    list += (list.empty() ? "" : ", ") + text;
    known.push_back(text);
  }
  const auto near = io::nearest_word(typed, known);
  problems.refuse({.place = {.file = entry.file, .line = sheet.line[row]}, .what = fmt::format("{} is not one of the words", role), .value = sheet.text(role, row), .bound = list,
                   .remedy = near ? "did you mean " + *near + "?" : "use one of them"});
  return std::nullopt;
}

bool yes(const std::string& cell) {
  const std::string text = plain_heading(cell);
  return text == "yes" || text == "y" || text == "true";
}

void obstacle_tries(const RecordEntry& entry, const Sheet& sheet, const records::RunConditions& run, Surroundings& around, base::Problems& problems) {
  using records::ObstacleKind;
  using records::ObstacleOutcome;
  if (!refuse_missing(entry, sheet, {"obstacle", "size", "outcome"}, problems) || !check_values(entry, sheet, problems)) return;
  static const std::vector<std::pair<std::string, ObstacleKind>> kinds{{"step up", ObstacleKind::step_up}, {"step down", ObstacleKind::step_down}, {"gap", ObstacleKind::gap}};
  static const std::vector<std::pair<std::string, ObstacleOutcome>> ends{{"over", ObstacleOutcome::over}, {"stopped", ObstacleOutcome::stopped}, {"hung up", ObstacleOutcome::hung_up},
                                                                         {"tipped", ObstacleOutcome::tipped}, {"stopped by the driver", ObstacleOutcome::by_driver}};
  static const std::vector<std::pair<std::string, bool>> starts{{"slow", false}, {"rolling", true}}, ways{{"forward", false}, {"backward", true}};
  const vehicle::Vehicle* v = around.campaign->vehicle_by_id(entry.vehicle);
  double largest_radius_m = 0;
  for (std::size_t k = 0; v && k < v->axles.size(); ++k) largest_radius_m = std::max(largest_radius_m, v->axles[k].wheel.radius_m + v->axles[k].wheel.grouser_height_m);
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::ObstacleTry t;
    t.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    t.conditions = run;
    t.line = sheet.line[r];
    const auto kind = word<ObstacleKind>(entry, sheet, "obstacle", r, kinds, std::nullopt, problems);
    const auto outcome = word<ObstacleOutcome>(entry, sheet, "outcome", r, ends, std::nullopt, problems);
    const auto rolling = word<bool>(entry, sheet, "start", r, starts, false, problems), backward = word<bool>(entry, sheet, "travel", r, ways, false, problems);
    const auto size = given(sheet, "size", r);
    if (!size || !(*size > 0)) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "an obstacle has a size", .value = size ? fmt::format("{:g} m", *size) : "", .bound = "above 0 m",
                       .remedy = "measure the height of the step or the clear width of the gap"});
      continue;
    }
    if (!kind || !outcome || !rolling || !backward) continue;
    t.obstacle = *kind;
    t.size_m = *size;
    t.outcome = *outcome;
    t.rolling_start = *rolling;
    t.backward = *backward;
    t.axle = sheet.text("axle", r);
    t.friction_ratio = given(sheet, "friction", r);
    t.assisted = yes(sheet.text("assisted", r));
    if (!sheet.text("run", r).empty()) t.conditions.run = sheet.text("run", r);
    if (*kind == ObstacleKind::step_up && *outcome == ObstacleOutcome::over && largest_radius_m > 0 && *size > 2 * largest_radius_m) {
      problems.remark({.place = {.file = entry.file, .line = t.line}, .what = "a step higher than the vehicle's wheels was crossed: is the unit right?",
                       .value = units::print_quantity(*size, Dimension::length, output_units(around)), .bound = units::print_quantity(2 * largest_radius_m, Dimension::length, output_units(around)) + ", the wheel diameter",
                       .remedy = "look at the sheet"});
    }
    around.campaign->trials.obstacles.push_back(std::move(t));
  }
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

}  // namespace

bool is_trial_kind(const std::string& kind) { return kind == "obstacle-trial" || kind == "turn-trial" || kind == "remote-run"; }

void read_trial_record(const RecordEntry& given_entry, Keys& keys, Surroundings& around, base::Problems& problems) {
  RecordEntry entry = given_entry;
  entry.request.roles = roles_of(entry.kind);
  const auto run = run_keys(entry, keys, around, problems);
  auto sheet = read_sheet(entry.request, problems);
  if (!sheet || !run) return;
  if (entry.kind == "obstacle-trial") obstacle_tries(entry, *sheet, *run, around, problems);
}

}  // namespace hardpan::formats::detail
