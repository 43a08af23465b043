// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/record_entry.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cstdio>

#include "records/ground.hpp"

namespace hardpan::formats::detail {

const std::vector<std::string>& record_kinds() {
  static const std::vector<std::string> kinds{"plate", "shear-ring", "shear-plate", "shear-box", "cone", "repose", "density", "moisture",
                                              "tow", "towed", "coast-down", "slope-trial", "rut", "spin", "obstacle-trial", "turn-trial", "remote-run",
                                              "trip-run", "rock-run", "rough-run"};
  return kinds;
}

bool is_ground_kind(const std::string& kind) {
  const auto& all = record_kinds();
  const auto it = std::find(all.begin(), all.end(), kind);
  return it != all.end() && it - all.begin() < 8;
}

void know_keys(const io::TomlTable& record) {
  static const std::vector<std::pair<std::string, std::vector<const char*>>> kKeys{
      {"plate", {"plate", "rate", "tilt", "order", "zeroed"}},
      {"shear", {"vertical_load", "normal_stress", "smooth_metal"}},
      {"cone", {"remoulding_index", "population", "rate"}},
      {"repose", {"repose"}},
      {"density", {"sample_depth"}},
      {"moisture", {"sample_depth"}},
      {"tow", {"zero_stretch", "lag", "torque_source", "load_cell_range", "load_cell_gain", "gear_ratio", "turns_resolution", "distance_resolution", "pull_resolution"}},
      {"coast-down", {"zero_stretch", "lag", "torque_source", "load_cell_range", "load_cell_gain", "gear_ratio"}},
      {"turn-trial", {"wheel_path", "power_at"}},
      {"remote-run", {"course"}},
      {"trip-run", {"trip"}},
      {"rock-run", {"rocks"}},
      {"rough-run", {"ride"}}};
  static const std::vector<const char*> kRunKeys{"weight", "gradient", "rolling_radius", "zero_slip", "hitch_height", "line_angle", "lane", "direction", "run"};
  const auto kind_text = record.value("kind");
  const std::string kind = kind_text ? kind_text->text().value_or("") : "";
  const auto& all = record_kinds();
  const bool known = std::find(all.begin(), all.end(), kind) != all.end();
  for (const auto& [start, keys] : kKeys) {
    if (known && !kind.starts_with(start)) continue;  // of an unknown kind: the keys of any
    for (const char* key : keys) static_cast<void>(record.has(key));
  }
  if (known && is_ground_kind(kind)) return;
  for (const char* key : kRunKeys) static_cast<void>(record.has(key));
}

std::vector<Role> with_common_roles(std::vector<Role> roles) {
  roles.push_back({.name = "test", .dimensions = {}, .headings = {"test", "push", "run no", "test no", "test id", "turn", "pull no"}});
  roles.push_back({.name = "point", .dimensions = {}, .headings = {"point", "point id", "point no", "location", "pt", "station", "spot"}});
  roles.push_back({.name = "operator", .dimensions = {}, .headings = {"operator", "initials", "by"}});
  roles.push_back({.name = "remark", .dimensions = {}, .headings = {"remark", "remarks", "note", "notes", "comment"}});
  roles.push_back({.name = "time_of_day", .dimensions = {}, .headings = {"time of day", "clock", "clock time"}});
  roles.push_back({.name = "condition", .dimensions = {}, .headings = {"condition"}});
  return roles;
}

std::vector<std::pair<std::string, std::vector<std::size_t>>> rows_by_test(const Sheet& sheet) {
  std::vector<std::pair<std::string, std::vector<std::size_t>>> out;
  const auto tests = sheet.texts.find("test");
  for (std::size_t i = 0; i < sheet.line.size(); ++i) {
    const std::string id = tests == sheet.texts.end() ? "" : tests->second[i];
    auto it = std::find_if(out.begin(), out.end(), [&](const auto& g) { return g.first == id; });
    if (it == out.end()) {
      out.push_back({id, {}});
      it = out.end() - 1;
    }
    it->second.push_back(i);
  }
  return out;
}

namespace {

// Seconds since 1970 of "2026-04-12T09:40" or with seconds; nothing for other text.
std::optional<double> clock_seconds(const std::string& iso) {
  int y = 0, mo = 0, d = 0, h = 0, mi = 0;
  double s = 0;
  const int got = std::sscanf(iso.c_str(), "%d-%d-%d%*[T ]%d:%d:%lf", &y, &mo, &d, &h, &mi, &s);
  if (got < 5) return std::nullopt;
  const std::chrono::year_month_day day{std::chrono::year{y}, std::chrono::month{static_cast<unsigned>(mo)},
                                        std::chrono::day{static_cast<unsigned>(d)}};
  if (!day.ok()) return std::nullopt;
  const auto days = std::chrono::sys_days(day).time_since_epoch().count();
  return static_cast<double>(days) * 86400.0 + h * 3600.0 + mi * 60.0 + (got == 6 ? s : 0);
}

}  // namespace

records::TestSource source_of(const RecordEntry& entry, const Sheet& sheet, std::size_t row, const std::string& test,
                              Surroundings& around, base::Problems& problems) {
  const campaign::Campaign& c = *around.campaign;
  records::TestSource s;
  s.id = test.empty() ? entry.id : entry.id + "/" + test;
  s.file = entry.file;
  s.record = entry.id;
  s.point = sheet.text("point", row);
  const base::Place place = s.point.empty() ? base::Place{.file = entry.place.file, .line = entry.place.line, .key = entry.place.key + ".point"}
                                            : base::Place{.file = entry.file, .line = sheet.line[row]};
  if (s.point.empty()) s.point = entry.point;
  s.instrument = entry.instrument_id;
  s.operator_name = sheet.text("operator", row);
  if (s.operator_name.empty()) s.operator_name = entry.operator_name;
  s.remark = sheet.text("remark", row);
  s.condition = sheet.text("condition", row);
  if (!s.condition.empty() && std::none_of(c.conditions.begin(), c.conditions.end(), [&](const auto& k) { return k.id == s.condition; })) {
    std::vector<std::string> ids;
    for (const auto& k : c.conditions) ids.push_back(k.id);
    const auto near = io::nearest_word(s.condition, ids);
    problems.remark({.place = {.file = entry.file, .line = sheet.line[row]}, .what = "no condition of this id in campaign.toml: the trial counts for no requirement that asks for one", .value = s.condition,
                     .remedy = near ? "did you mean " + *near + "?" : "add the [[condition]], or correct the word"});
  }
  s.time = sheet.text("time_of_day", row);
  if (s.time.empty()) s.time = entry.time;
  if (!s.point.empty()) {
    const auto it = std::find_if(c.points.begin(), c.points.end(), [&](const campaign::Point& p) { return p.id == s.point; });
    if (it == c.points.end()) {
      refuse_point(place, s.point, *entry.request.points, problems);
    } else {
      s.zone = it->zone;
      if (s.time.empty()) s.time = it->time;
    }
  }
  // A clock time alone ("10:40") takes its day from its point, else from the campaign.
  const auto at_point = std::find_if(c.points.begin(), c.points.end(), [&](const campaign::Point& p) { return p.id == s.point; });
  const std::string day = at_point != c.points.end() && at_point->time.size() >= 10 ? at_point->time.substr(0, 10)
                          : c.when.size() >= 10 ? c.when.substr(0, 10) : "";
  if (s.time.size() >= 4 && s.time.size() <= 8 && s.time.find(':') != std::string::npos && !day.empty()) {
    s.time = day + "T" + (s.time.find(':') == 1 ? "0" : "") + s.time;
  }
  s.clock_s = clock_seconds(s.time);
  if (entry.instrument) s.downgrades = records::instrument_downgrades(*entry.instrument, s.time.substr(0, 10).empty() ? c.when : s.time.substr(0, 10));
  for (const std::string& d : s.downgrades) {
    if (std::find(around.downgrades.begin(), around.downgrades.end(), d) == around.downgrades.end()) around.downgrades.push_back(d);
  }
  return s;
}

units::OutputUnits output_units(const Surroundings& around) {
  return around.campaign->output_units == campaign::OutputUnits::us ? units::OutputUnits::us : units::OutputUnits::si;
}

void summarise(const RecordEntry& entry, const Sheet& sheet, std::size_t tests, Surroundings& around, base::Problems& problems) {
  const auto points = sheet.texts.find("point");
  const bool blank = points == sheet.texts.end() || std::all_of(points->second.begin(), points->second.end(), [](const std::string& p) { return p.empty(); });
  if (blank && entry.point.empty()) {
    problems.remark({.place = {.file = entry.place.file, .line = entry.place.line, .key = entry.place.key + ".point"}, .what = "no point is named for this record: what it measures belongs to no zone",
                     .remedy = "set point = \"...\", or map the column that holds it: columns = { point = \"heading\" }"});
  }
  // Trials are counted: one written twice would count twice.
  if (const auto runs = sheet.texts.find("run"); runs != sheet.texts.end() && (entry.kind.ends_with("-trial") || entry.kind.ends_with("-run"))) {
    for (std::size_t r = 0; r < runs->second.size(); ++r) {
      const std::string& id = runs->second[r];
      const auto first = static_cast<std::size_t>(std::find(runs->second.begin(), runs->second.end(), id) - runs->second.begin());
      if (id.empty() || first == r) continue;
      problems.remark({.place = {.file = entry.file, .line = sheet.line[r]}, .what = fmt::format("run {} stands in line {} already, and counts again", id, sheet.line[first]), .remedy = "exclude one of the lines in amendments.csv if it is the same run"});
    }
  }
  for (const std::string& d : around.downgrades) problems.remark({.place = {.file = entry.file}, .what = "limited trust: " + d});
  around.campaign->record_summaries.push_back({.id = entry.id, .kind = entry.kind, .file = entry.file, .instrument = entry.instrument_id,
                                               .point = entry.point, .vehicle = entry.vehicle, .rows = sheet.rows,
                                               .rows_set_aside = sheet.rows_set_aside, .tests = tests,
                                               .downgrades = std::move(around.downgrades)});
  around.downgrades.clear();
}

}  // namespace hardpan::formats::detail
