// SPDX-License-Identifier: Apache-2.0
// Hand sheets of runs over ways that the campaign describes, one row a run: drive profiles, ground with rocks, rough ground.
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

const Role kRun{.name = "run", .dimensions = {}, .headings = {"run", "run no", "trial", "no"}};
const Role kOutcome{.name = "outcome", .dimensions = {}, .headings = {"outcome", "result"}};
const Role kDistance{.name = "distance", .dimensions = {Dimension::length}, .headings = {"distance", "distance driven", "driven"}, .may_be_blank = true};

std::vector<Role> roles_of(const std::string& kind) {
  std::vector<Role> r{kRun, kOutcome};
  if (kind == "trip-run") {
    r.push_back({.name = "trip", .dimensions = {}, .headings = {"trip", "drive profile"}});
    r.push_back(kDistance);
    r.push_back({.name = "energy", .dimensions = {Dimension::energy}, .headings = {"energy", "energy used", "energy taken", "battery energy"}, .may_be_blank = true});
    r.push_back({.name = "time", .dimensions = {Dimension::time}, .headings = {"time taken", "duration", "time"}, .may_be_blank = true});
  } else if (kind == "rock-run") {
    r.push_back({.name = "rocks", .dimensions = {}, .headings = {"rocks", "field"}});
    r.push_back(kDistance);
  } else {
    r.push_back({.name = "ride", .dimensions = {}, .headings = {"ride", "rough ground", "course"}});
    r.push_back({.name = "speed", .dimensions = {Dimension::speed}, .headings = {"speed", "mean speed"}, .may_be_blank = true});
    r.push_back({.name = "peak", .dimensions = {Dimension::acceleration}, .headings = {"peak", "shock", "peak acceleration", "largest acceleration"}, .may_be_blank = true});
    r.push_back({.name = "rms", .dimensions = {Dimension::acceleration}, .headings = {"rms", "rms acceleration", "ride value"}, .may_be_blank = true});
  }
  return with_common_roles(std::move(r));
}

// What a sheet says about itself: its entry, its rows and who reads it.
struct Reading {
  const RecordEntry& entry;
  const Sheet& sheet;
  const records::RunConditions& run;
  Surroundings& around;
  base::Problems& problems;
  bool possible;   // its numbers; else the words alone are judged

  [[nodiscard]] base::Place place(std::size_t row) const { return {.file = entry.file, .line = sheet.line[row]}; }
  template <class Run>
  [[nodiscard]] Run started(std::size_t row) const {
    Run t;
    t.source = source_of(entry, sheet, row, fmt::format("line {}", sheet.line[row]), around, problems);
    t.conditions = run;
    t.line = sheet.line[row];
    if (!sheet.text("run", row).empty()) t.conditions.run = sheet.text("run", row);
    return t;
  }
  // What the row or else the record names, spelt as the campaign spells it; refused where the campaign describes nothing of that name.
  [[nodiscard]] std::optional<std::string> way(std::size_t row, const char* role, const std::string& stated, const std::vector<std::string>& names, const char* table) const {
    const std::string typed = sheet.text(role, row).empty() ? stated : sheet.text(role, row);
    std::string list;
    for (const std::string& name : names) {
      if (plain_heading(name) == plain_heading(typed)) return name;
      if (!name.empty()) list += (list.empty() ? "" : ", ") + name;
    }
    const auto near = io::nearest_word(typed, names);
    problems.refuse({.place = place(row), .what = typed.empty() ? fmt::format("which {} was driven is not told", table) : fmt::format("the campaign describes no {} of this name", table), .value = typed, .bound = list,
                     .remedy = near && !near->empty() ? "did you mean " + *near + "?" : fmt::format("give the {} a name in campaign.toml and write it in column {}, or as {} = of the record", table, role, role)});
    return std::nullopt;
  }
  // Above 0; refused otherwise.
  [[nodiscard]] std::optional<double> positive(std::size_t row, const char* role, const char* what, const char* remedy) const {
    const auto v = given(sheet, role, row);
    if (v && *v > 0) return v;
    problems.refuse({.place = place(row), .what = what, .value = v ? fmt::format("{:g}", *v) : "", .bound = "above 0", .remedy = remedy});
    return std::nullopt;
  }
};

void trips(const Reading& in, const std::string& stated) {
  using records::TripOutcome;
  static const std::vector<std::pair<std::string, TripOutcome>> ends{{"arrived", TripOutcome::arrived}, {"ground", TripOutcome::ground}, {"battery", TripOutcome::battery},
                                                                     {"hot drive", TripOutcome::hot_drive}, {"stopped", TripOutcome::stopped}};
  if (!in.possible) return judge_words<TripOutcome>(in.entry, in.sheet, "outcome", ends, std::nullopt, in.problems);
  const campaign::Campaign& c = *in.around.campaign;
  std::vector<std::string> names;
  for (const auto& q : c.questions.endurance) {
    if (q.vehicle == in.entry.vehicle) names.push_back(q.name);
  }
  for (std::size_t r = 0; r < in.sheet.line.size(); ++r) {
    auto t = in.started<records::TripRun>(r);
    const auto outcome = word<TripOutcome>(in.entry, in.sheet, "outcome", r, ends, std::nullopt, in.problems);
    const auto trip = in.way(r, "trip", stated, names, "[[endurance]] of this vehicle");
    if (!outcome || !trip) continue;
    t.trip = *trip;
    t.outcome = *outcome;
    t.energy_j = given(in.sheet, "energy", r);
    t.time_s = given(in.sheet, "time", r);
    double length_m = 0;
    for (const auto& q : c.questions.endurance) {
      if (q.vehicle != in.entry.vehicle || q.name != t.trip) continue;
      for (const performance::TripRow& row : q.rows) length_m += row.distance_m;
    }
    const auto driven = given(in.sheet, "distance", r);
    if (*outcome == TripOutcome::arrived && !driven) {
      t.distance_m = length_m;
    } else {
      const auto d = in.positive(r, "distance", "a run that did not arrive says nothing without how far it went", "write the distance driven");
      if (!d) continue;
      t.distance_m = *d;
    }
    const auto length = [&](double m) { return units::print_quantity(m, Dimension::length, output_units(in.around)); };
    if (*outcome == TripOutcome::arrived && std::abs(t.distance_m - length_m) > 0.1 * length_m) {
      in.problems.remark({.place = in.place(r), .what = "the distance driven is not the length of the trip: was it this way?", .value = length(t.distance_m), .bound = length(length_m), .remedy = "look at the sheet"});
    }
    if (*outcome == TripOutcome::arrived && !t.energy_j && !t.time_s) {
      in.problems.remark({.place = in.place(r), .what = "a run that arrived without energy and time: it is counted and compared with nothing", .remedy = "write what the battery gave, and the time from start to end"});
    }
    in.around.campaign->trials.trips.push_back(std::move(t));
  }
}

void rocks(const Reading& in, const std::string& stated) {
  using records::RockOutcome;
  static const std::vector<std::pair<std::string, RockOutcome>> ends{{"clear", RockOutcome::clear}, {"wheel stopped", RockOutcome::wheel}, {"body touched", RockOutcome::body}, {"stopped", RockOutcome::stopped}};
  if (!in.possible) return judge_words<RockOutcome>(in.entry, in.sheet, "outcome", ends, std::nullopt, in.problems);
  std::vector<std::string> names;
  for (const auto& q : in.around.campaign->questions.boulders) {
    if (q.vehicles.empty() || std::find(q.vehicles.begin(), q.vehicles.end(), in.entry.vehicle) != q.vehicles.end()) names.push_back(q.name);
  }
  for (std::size_t r = 0; r < in.sheet.line.size(); ++r) {
    auto t = in.started<records::RockRun>(r);
    const auto outcome = word<RockOutcome>(in.entry, in.sheet, "outcome", r, ends, std::nullopt, in.problems);
    const auto field = in.way(r, "rocks", stated, names, "[[boulders]] of this vehicle");
    const auto d = in.positive(r, "distance", "a run among rocks has a distance", "write how far it went straight, up to the rock or to its end");
    if (!outcome || !field || !d) continue;
    t.rocks = *field;
    t.outcome = *outcome;
    t.distance_m = *d;
    in.around.campaign->trials.rocks.push_back(std::move(t));
  }
}

void rough(const Reading& in, const std::string& stated) {
  using records::RoughOutcome;
  static const std::vector<std::pair<std::string, RoughOutcome>> ends{{"held", RoughOutcome::held}, {"wheel lifted", RoughOutcome::lifted}, {"stopped", RoughOutcome::stopped}};
  if (!in.possible) return judge_words<RoughOutcome>(in.entry, in.sheet, "outcome", ends, std::nullopt, in.problems);
  std::vector<std::string> names;
  for (const auto& q : in.around.campaign->questions.rides) names.push_back(q.name);
  for (std::size_t r = 0; r < in.sheet.line.size(); ++r) {
    auto t = in.started<records::RoughRun>(r);
    const auto outcome = word<RoughOutcome>(in.entry, in.sheet, "outcome", r, ends, std::nullopt, in.problems);
    const auto ride = in.way(r, "ride", stated, names, "[[ride]]");
    const auto v = in.positive(r, "speed", "a run over rough ground has a speed", "write the speed held over it");
    if (!outcome || !ride || !v) continue;
    t.ride = *ride;
    t.outcome = *outcome;
    t.speed_m_per_s = *v;
    t.peak_m_per_s2 = given(in.sheet, "peak", r);
    t.rms_m_per_s2 = given(in.sheet, "rms", r);
    if (t.peak_m_per_s2 && t.rms_m_per_s2 && *t.peak_m_per_s2 < *t.rms_m_per_s2) {
      in.problems.refuse({.place = in.place(r), .what = "the largest acceleration is below the root mean square of the same", .value = units::print_quantity(*t.peak_m_per_s2, Dimension::acceleration, output_units(in.around)),
                          .bound = "at least " + units::print_quantity(*t.rms_m_per_s2, Dimension::acceleration, output_units(in.around)), .remedy = "look which column is which"});
      continue;
    }
    in.around.campaign->trials.rough.push_back(std::move(t));
  }
}

}  // namespace

bool is_way_run_kind(const std::string& kind) { return kind == "trip-run" || kind == "rock-run" || kind == "rough-run"; }

void read_way_run(const RecordEntry& given_entry, Keys& keys, Surroundings& around, base::Problems& problems) {
  RecordEntry entry = given_entry;
  entry.request.roles = roles_of(entry.kind);
  const std::string stated = keys.text(entry.kind == "trip-run" ? "trip" : entry.kind == "rock-run" ? "rocks" : "ride");
  const auto run = run_keys(entry, keys, around, problems);
  auto sheet = read_sheet(entry.request, problems);
  if (!sheet || !run) return;
  const bool columns = entry.kind == "trip-run"   ? refuse_missing(entry, *sheet, {"outcome"}, problems)
                       : entry.kind == "rock-run" ? refuse_missing(entry, *sheet, {"outcome", "distance"}, problems)
                                                  : refuse_missing(entry, *sheet, {"outcome", "speed"}, problems);
  if (!columns) return;
  const Reading in{entry, *sheet, *run, around, problems, check_values(entry, *sheet, problems)};
  if (entry.kind == "trip-run") trips(in, stated);
  if (entry.kind == "rock-run") rocks(in, stated);
  if (entry.kind == "rough-run") rough(in, stated);
  summarise(entry, *sheet, sheet->line.size(), around, problems);
}

}  // namespace hardpan::formats::detail
