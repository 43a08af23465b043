// SPDX-License-Identifier: Apache-2.0
// Tow logs, hand tow sheets, towed and coast-down runs, slope trials, rut and spin sheets to typed records.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "formats/detail/plausible.hpp"
#include "formats/detail/record_entry.hpp"
#include "formats/detail/run_keys.hpp"
#include "formats/detail/words.hpp"
#include "records/tow.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

namespace {

std::vector<Role> roles_of(const std::string& kind) {
  const Role gradient{.name = "gradient", .dimensions = {Dimension::angle}, .headings = {"gradient", "slope", "slope angle", "angle", "grade"}, .many = true, .may_be_blank = true};
  const Role slip{.name = "slip", .dimensions = {Dimension::none}, .headings = {"slip", "wheel slip", "slip ratio"}, .may_be_blank = true};
  const Role sinkage{.name = "sinkage", .dimensions = {Dimension::length}, .headings = {"sinkage", "rut depth", "rut"}, .may_be_blank = true};
  const Role pull{.name = "pull", .dimensions = {Dimension::force}, .headings = {"drawbar pull", "pull", "drawbar force", "tow force", "drawbar", "line pull", "load cell"}};
  const Role run{.name = "run", .dimensions = {}, .headings = {"run", "run no", "trial", "pull no", "no"}};
  const Role direction{.name = "direction", .dimensions = {}, .headings = {"direction", "way"}};
  std::vector<Role> r;
  if (kind == "tow" || kind == "towed" || kind == "coast-down") {
    r = {{.name = "time", .dimensions = {Dimension::time}, .headings = {"time", "t", "elapsed time", "zeit"}},
         pull,
         {.name = "wheel_speed", .dimensions = {Dimension::angular_speed, Dimension::speed},
          .headings = {"wheel speed", "wheel", "axle speed", "motor speed", "omega", "vel"}, .many = true},
         {.name = "ground_speed", .dimensions = {Dimension::speed}, .headings = {"ground speed", "travel speed", "vehicle speed", "fifth wheel", "cable speed", "gnss speed", "speed over ground"}},
         {.name = "position_x", .dimensions = {Dimension::length}, .headings = {"position x", "x position"}},
         {.name = "position_y", .dimensions = {Dimension::length}, .headings = {"position y", "y position"}},
         {.name = "torque", .dimensions = {Dimension::torque}, .headings = {"torque", "axle torque", "drive torque", "wheel torque"}},
         {.name = "current", .dimensions = {Dimension::current}, .headings = {"current", "motor current", "battery current"}, .many = true},
         {.name = "voltage", .dimensions = {Dimension::voltage}, .headings = {"voltage", "battery voltage"}},
         {.name = "pitch", .dimensions = {Dimension::angle}, .headings = {"pitch", "pitch angle", "inclination"}},
         {.name = "turns", .dimensions = {Dimension::none}, .headings = {"turns", "wheel turns", "revolutions", "revs"}, .count = true},
         {.name = "distance", .dimensions = {Dimension::length}, .headings = {"distance", "taped distance", "tape"}},
         {.name = "gradient", .dimensions = {Dimension::angle}, .headings = {"gradient", "slope", "grade"}, .may_be_blank = true},
         run, direction, sinkage};
  } else if (kind == "slope-trial") {
    r = {gradient, slip, sinkage, run,
         // "Heading" without a unit holds "up" and "down": travel.
         {.name = "heading", .dimensions = {Dimension::angle}, .headings = {"heading deg", "heading rad", "heading angle", "heading from uphill"}, .may_be_blank = true},
         {.name = "drift", .dimensions = {Dimension::angle}, .headings = {"drift", "drift angle"}, .may_be_blank = true},
         {.name = "outcome", .dimensions = {}, .headings = {"outcome", "result", "go no go"}},
         {.name = "start", .dimensions = {}, .headings = {"start"}},
         {.name = "travel", .dimensions = {}, .headings = {"travel", "up or down", "heading"}},
         {.name = "length", .dimensions = {Dimension::length}, .headings = {"length", "length climbed", "distance", "climbed"}, .may_be_blank = true},
         {.name = "why", .dimensions = {}, .headings = {"why", "why stopped", "reason"}},
         {.name = "assisted", .dimensions = {}, .headings = {"assisted", "helped"}}};
  } else if (kind == "rut") {
    r = {slip, run,
         {.name = "wheel_path", .dimensions = {}, .headings = {"wheel path", "path", "side"}},
         {.name = "pass", .dimensions = {Dimension::none}, .headings = {"pass", "pass no", "passes"}, .count = true},
         {.name = "depth_loaded", .dimensions = {Dimension::length}, .headings = {"depth loaded", "loaded depth", "depth under wheel"}, .may_be_blank = true},
         {.name = "depth_after", .dimensions = {Dimension::length}, .headings = {"depth after", "depth after rebound", "rut depth", "depth"}, .may_be_blank = true}};
  } else if (kind == "spin") {
    r = {{.name = "current", .dimensions = {Dimension::current}, .headings = {"current", "motor current"}},
         {.name = "torque", .dimensions = {Dimension::torque}, .headings = {"torque", "axle torque"}},
         {.name = "wheel_speed", .dimensions = {Dimension::angular_speed}, .headings = {"wheel speed", "speed"}}};
  }
  return with_common_roles(std::move(r));
}

double at(const Sheet& sheet, const char* role, std::size_t row) {
  const Column* c = sheet.number(role);
  return c ? c->values[row] : std::nan("");
}
}  // namespace

std::optional<double> given(const Sheet& sheet, const char* role, std::size_t row) {
  const double v = at(sheet, role, row);
  return std::isnan(v) ? std::nullopt : std::optional(v);
}

bool refuse_missing(const RecordEntry& entry, const Sheet& sheet, std::initializer_list<const char*> roles, base::Problems& problems) {
  bool ok = true;
  std::string headings;
  for (const std::string& h : sheet.headings) headings += (headings.empty() ? "" : ", ") + h;
  for (const char* role : roles) {
    if (sheet.has(role)) continue;
    problems.refuse({.place = {.file = entry.file, .line = 1}, .what = fmt::format("{} {} record needs a column for {}", entry.kind.starts_with("o") ? "an" : "a", entry.kind, role), .value = headings,
                     .remedy = fmt::format("map it in campaign.toml: columns = {{ {} = \"heading\" }}", role)});
    ok = false;
  }
  return ok;
}

std::optional<records::RunConditions> run_keys(const RecordEntry& entry, Keys& keys, const Surroundings& around, base::Problems& problems) {
  records::RunConditions r;
  r.vehicle = entry.vehicle;
  const vehicle::Vehicle* v = around.campaign->vehicle_by_id(entry.vehicle);
  if (!v) {
    std::vector<std::string> ids;
    for (const auto& x : around.campaign->vehicles) ids.push_back(x.id);
    const auto near = io::nearest_word(entry.vehicle, ids);
    problems.refuse({.place = {.file = entry.place.file, .line = entry.place.line, .key = entry.place.key + ".vehicle"},
                     .what = "no vehicle of this id under vehicles/", .value = entry.vehicle, .remedy = near ? "did you mean " + *near + "?" : "name a vehicle"});
    return std::nullopt;
  }
  r.weight_n = keys.positive("weight", Dimension::force, entry.request.unit_rules).value_or(vehicle::mass_kg(*v) * around.campaign->gravity_m_s2);
  if (const auto g = keys.quantity("gradient", Dimension::angle)) {
    r.gradient_rad = *g;
    r.gradient_stated = true;
    if (!(std::abs(*g) < 89 * M_PI / 180)) keys.table().refuse("gradient", "no slope a vehicle stands on", "under 90 deg", "check the unit: 25 % is not 25 deg");
  }
  r.rolling_radius_m = keys.positive("rolling_radius", Dimension::length);
  r.zero_slip = keys.choice("zero_slip", vehicle::ZeroSlip::not_stated, zero_slip_words());
  if (r.rolling_radius_m && r.zero_slip == vehicle::ZeroSlip::not_stated) {
    problems.remark({.place = keys.place("zero_slip"), .what = "rolling_radius is given without zero_slip: slips found with another zero-slip condition differ",
                     .remedy = "say how the radius was found, such as zero_slip = \"towed on hard ground\""});
  }
  if (r.rolling_radius_m) {
    double least = std::numeric_limits<double>::infinity(), most = 0;
    for (const vehicle::Axle& a : v->axles) {
      least = std::min(least, a.wheel.radius_m);
      most = std::max(most, a.wheel.radius_m + a.wheel.grouser_height_m);
    }
    if (least > 0 && most > 0 && (*r.rolling_radius_m > 1.5 * most || *r.rolling_radius_m < 0.5 * least)) {
      keys.table().refuse("rolling_radius", "not the rolling radius of this vehicle's wheels", "near " + units::print_quantity(least, Dimension::length, output_units(around)) + ", the wheel radius", "check value and unit");
    }
  }
  if (!r.rolling_radius_m) {
    // The vehicle file's own, with its condition, of the first driven axle.
    for (const vehicle::Axle& a : v->axles) {
      if (a.drive.driven && a.wheel.rolling_radius_m) {
        r.rolling_radius_m = a.wheel.rolling_radius_m;
        r.zero_slip = a.wheel.rolling_radius_condition;
        break;
      }
    }
  }
  r.hitch_height_m = keys.positive("hitch_height", Dimension::length);
  r.line_angle_rad = keys.quantity("line_angle", Dimension::angle);
  r.lane = keys.text("lane");
  r.direction = keys.text("direction");
  r.run = keys.text("run");
  return r;
}

namespace {

// What the record says of its log; read before the file is, for the range of the load cell serves while reading.
struct LogKeys {
  std::vector<std::string> zero;
  std::optional<double> lag_s, cell_range_n, gain_sd;
  std::string torque_source;
  double gear = 1;
};

LogKeys log_keys(const RecordEntry& entry, Keys& keys) {
  LogKeys k;
  k.zero = keys.texts("zero_stretch");
  k.lag_s = keys.quantity("lag", Dimension::time);
  k.torque_source = keys.text("torque_source", "axle");
  const auto range = keys.positive("load_cell_range", Dimension::force, entry.request.unit_rules);
  k.gain_sd = keys.not_negative("load_cell_gain", Dimension::none);
  k.gear = keys.number("gear_ratio").value_or(1);
  if (!(k.gear > 0)) keys.table().refuse("gear_ratio", "not positive", "motor turns per wheel turn, above 0");
  if (k.torque_source != "axle" && k.torque_source != "motor current") keys.table().refuse("torque_source", "not one of the words", "\"axle\", \"motor current\"");
  k.cell_range_n = range ? range : entry.instrument ? entry.instrument->load.range_si : std::nullopt;
  return k;
}

LogRules log_rules(const LogKeys& k) {
  LogRules rules{.needed = {{"pull", ""}, {"wheel_speed", ""}, {"ground_speed", ""}, {"position_x", "ground_speed"}, {"position_y", "ground_speed"}},
                 .own_cells = {"torque", "current", "voltage", "pitch"}};
  if (k.cell_range_n) rules.range_by_role["pull"] = *k.cell_range_n;
  return rules;
}

void logs(const RecordEntry& entry, Keys& keys, const LogKeys& k, const LogRules& rules, Sheet& sheet, const records::RunConditions& run,
          Surroundings& around, base::Problems& problems) {
  const std::vector<std::string>& zero = k.zero;
  const double gear = k.gear;
  const records::TowSettings needs;  // as reduce_tow_log has them unless told otherwise
  const double wanted_s = 1 / (20 * needs.cut_off_hz);   // the lag is looked for at 20 readings a period of the cut-off
  const double slowest_s = needs.sweep_bin_min_s / 2;    // two readings in the shortest bin; the filter alone needs less
  if (!check_signals(sheet, entry.file, rules.range_by_role, entry.request.remark_share, problems)) return;
  if (!check_averaging(sheet, entry.file, rules, entry.request.remark_share, slowest_s, wanted_s, problems)) return;
  if (sheet.line.size() < 2) {
    problems.refuse({.place = {.file = entry.file}, .what = "fewer than two rows with a time", .remedy = "this is not a log"});
    return;
  }
  records::TowLog log;
  log.source = source_of(entry, sheet, 0, "", around, problems);
  log.conditions = run;
  if (log.conditions.run.empty()) log.conditions.run = entry.id;
  log.kind = entry.kind == "tow" ? records::LogKind::tow : entry.kind == "towed" ? records::LogKind::towed : records::LogKind::coast_down;
  log.line = sheet.line;
  if (sheet.averaged) {
    log.readings_per_row = sheet.averaged->averaged;
    if (k.cell_range_n) log.at_range_end = sheet.averaged->at_range_end;
  }
  const auto take = [&](const char* role) { return sheet.number(role) ? sheet.number(role)->values : std::vector<double>{}; };
  log.time_s = take("time");
  log.pull_n = take("pull");
  if (entry.instrument) {
    for (double& v : log.pull_n) v *= entry.instrument->load_sign;
  }
  if (const auto it = sheet.numbers.find("wheel_speed"); it != sheet.numbers.end()) {
    for (const Column& c : it->second) {
      std::vector<double> w = c.values;
      double scale = 1 / gear;
      if (c.dimension == Dimension::speed) {
        // Speed of the wheel's rim: needs the radius the logger used, taken to be the stated one.
        if (!run.rolling_radius_m) {
          problems.refuse({.place = {.file = entry.file, .line = 1}, .what = "wheel speed \"" + c.heading + "\" is a rim speed; the rolling radius it was made with is not stated",
                           .remedy = "set rolling_radius in the record"});
          continue;
        }
        scale /= *run.rolling_radius_m;
      }
      for (double& v : w) v *= scale;
      log.wheel_speed_rad_per_s.push_back(std::move(w));
      log.wheel_name.push_back(c.heading);
    }
  }
  log.ground_speed_m_per_s = take("ground_speed");
  if (log.ground_speed_m_per_s.empty() && sheet.number("position_x")) {
    // Speed from positions: central differences over the path walked.
    const auto x = take("position_x"), y = sheet.number("position_y") ? take("position_y") : std::vector<double>(x.size(), 0);
    for (std::size_t i = 0; i < x.size(); ++i) {
      const std::size_t a = i == 0 ? 0 : i - 1, b = std::min(i + 1, x.size() - 1);
      log.ground_speed_m_per_s.push_back(std::hypot(x[b] - x[a], y[b] - y[a]) / (log.time_s[b] - log.time_s[a]));
    }
  }
  log.torque_n_m = take("torque");
  log.torque_is_axle_torque = k.torque_source == "axle";
  if (const auto it = sheet.numbers.find("current"); it != sheet.numbers.end()) {
    log.current_a.assign(sheet.line.size(), 0);
    for (const Column& c : it->second) {
      for (std::size_t i = 0; i < c.values.size(); ++i) log.current_a[i] += c.values[i];
    }
  }
  log.voltage_v = take("voltage");
  log.pitch_rad = take("pitch");
  if (zero.size() == 2) {
    const auto a = units::parse_quantity(zero[0], Dimension::time), b = units::parse_quantity(zero[1], Dimension::time);
    if (a.ok() && b.ok() && b.si > a.si) {
      log.zero_from_s = a.si;
      log.zero_to_s = b.si;
    } else {
      keys.table().refuse("zero_stretch", a.ok() ? (b.ok() ? "the stretch ends before it begins" : b.error) : a.error, "[\"0 s\", \"4 s\"]");
    }
  } else if (!zero.empty()) {
    keys.table().refuse("zero_stretch", "two times are expected", "[\"0 s\", \"4 s\"]");
  }
  if (!check_values(entry, sheet, problems)) return;
  const auto strongest = std::max_element(log.pull_n.begin(), log.pull_n.end(), [](double a, double b) { return std::isnan(a) || std::abs(a) < std::abs(b); });
  if (strongest != log.pull_n.end()) check_pull(entry, log.line[static_cast<std::size_t>(strongest - log.pull_n.begin())], *strongest, run.weight_n, output_units(around), problems);
  remark_slips(entry, log, problems);
  log.lag_s = k.lag_s;
  log.load_cell_range_n = k.cell_range_n;
  log.load_cell_gain_relative_sd = k.gain_sd.value_or(entry.instrument ? entry.instrument->load.gain_relative_sd : 0);
  around.campaign->driving.logs.push_back(std::move(log));
  summarise(entry, sheet, 1, around, problems);
}

void hand_pulls(const RecordEntry& entry, Keys& keys, const std::optional<double>& cell_range_n, Sheet& sheet, const records::RunConditions& run,
                Surroundings& around, base::Problems& problems) {
  const auto turns_resolution = keys.number("turns_resolution");
  const auto distance_resolution = keys.positive("distance_resolution", Dimension::length);
  const auto pull_resolution = keys.positive("pull_resolution", Dimension::force, entry.request.unit_rules);
  if (!refuse_missing(entry, sheet, {"turns", "distance", "pull"}, problems)) return;
  set_aside_beyond_range(entry, sheet, "pull", cell_range_n, problems);
  if (!share_kept(sheet, entry.file, entry.request.remark_share, problems) || !check_values(entry, sheet, problems)) return;
  double largest_radius = 0;  // over the grousers
  if (const vehicle::Vehicle* v = around.campaign->vehicle_by_id(entry.vehicle)) {
    for (const vehicle::Axle& a : v->axles) largest_radius = std::max(largest_radius, a.wheel.radius_m + a.wheel.grouser_height_m);
  }
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::HandPull p;
    p.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    p.conditions = run;
    p.line = sheet.line[r];
    p.wheel_turns = at(sheet, "turns", r);
    p.distance_m = at(sheet, "distance", r);
    p.pull_n = at(sheet, "pull", r);
    if (!(p.wheel_turns > 0) || !(p.distance_m >= 0) || std::isnan(p.pull_n)) {
      problems.remark({.place = {.file = entry.file, .line = p.line}, .what = "a pull needs turns, distance and pull; row set aside"});
      ++sheet.rows_set_aside;
      continue;
    }
    if (const auto g = given(sheet, "gradient", r)) {
      p.conditions.gradient_rad = *g;
      p.conditions.gradient_stated = true;
    }
    if (!sheet.text("run", r).empty()) p.conditions.run = sheet.text("run", r);
    if (p.conditions.run.empty()) p.conditions.run = fmt::format("{} line {}", entry.id, p.line);
    if (!sheet.text("direction", r).empty()) p.conditions.direction = sheet.text("direction", r);
    p.turns_resolution = turns_resolution;
    p.distance_resolution_m = distance_resolution;
    p.pull_resolution_n = pull_resolution ? pull_resolution : entry.instrument ? entry.instrument->load.resolution_si : std::nullopt;
    p.sinkage_m = given(sheet, "sinkage", r);
    check_pull(entry, p.line, p.pull_n, run.weight_n, output_units(around), problems);
    check_hand_slip(entry, p, run.weight_n, largest_radius, output_units(around), problems);
    around.campaign->driving.hand_pulls.push_back(std::move(p));
  }
  static_cast<void>(share_kept(sheet, entry.file, entry.request.remark_share, problems));
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

void slope_trials(const RecordEntry& entry, const Sheet& sheet, const records::RunConditions& run, Surroundings& around, base::Problems& problems) {
  if (!refuse_missing(entry, sheet, {"gradient", "outcome"}, problems) || !check_values(entry, sheet, problems)) return;
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::SlopeTrial t;
    t.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    t.conditions = run;
    t.line = sheet.line[r];
    for (const Column& c : sheet.numbers.at("gradient")) {
      if (!std::isnan(c.values[r])) t.angle_rad.push_back(c.values[r]);
    }
    const std::string outcome = sheet.text("outcome", r);
    const std::vector<std::pair<std::string, records::TrialOutcome>> words{{"go", records::TrialOutcome::go}, {"no-go", records::TrialOutcome::no_go},
        {"no go", records::TrialOutcome::no_go}, {"aborted", records::TrialOutcome::aborted}, {"sled-limited", records::TrialOutcome::sled_limited}};
    const auto word = std::find_if(words.begin(), words.end(), [&](const auto& w) { return w.first == plain_heading(outcome) || w.first == outcome; });
    if (t.angle_rad.empty() || word == words.end()) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = t.angle_rad.empty() ? "no slope angle" : "outcome of the trial is not one of the words",
                       .value = outcome, .bound = "go, no-go, aborted, sled-limited"});
      continue;
    }
    t.outcome = word->second;
    t.rolling_start = sheet.text("start", r) == "rolling";
    const std::string travel = plain_heading(sheet.text("travel", r));
    if (!travel.empty() && travel != "up" && travel != "down") {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "travel is up or down", .value = sheet.text("travel", r), .bound = "up, down, or blank for up",
                       .remedy = "a column of headings from straight uphill says its unit: \"Heading (deg)\""});
      continue;
    }
    t.downhill = travel == "down";
    if (sheet.has("heading") && travel.empty() && !given(sheet, "heading", r)) {
      problems.remark({.place = {.file = entry.file, .line = t.line}, .what = "no heading is told in this row of a sheet with headings: taken as straight up", .remedy = "write 0 for straight up, or the heading"});
    }
    if (t.outcome == records::TrialOutcome::go && given(sheet, "length", r).value_or(1) == 0) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "a go over no length", .value = "0", .bound = "above 0", .remedy = "write the length climbed; what did not move is a no-go"});
      continue;
    }
    if (const auto heading = given(sheet, "heading", r)) {
      const double turned = std::remainder(*heading, 2 * M_PI);
      t.heading_rad = turned <= -M_PI ? M_PI : turned;
    }
    if (const auto drift = given(sheet, "drift", r)) t.drift_rad = std::abs(*drift);
    if (t.heading_rad && !sheet.text("travel", r).empty() && t.downhill != (std::abs(*t.heading_rad) > 0.5 * M_PI)) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "travel and heading contradict each other", .value = fmt::format("{}, {:g} deg", sheet.text("travel", r), *t.heading_rad * 180 / M_PI),
                       .bound = "up: under 90 deg from straight uphill, down: over 90 deg", .remedy = "leave travel blank where a heading is told"});
      continue;
    }
    t.length_climbed_m = given(sheet, "length", r);
    t.slip_ratio = given(sheet, "slip", r);
    t.sinkage_m = given(sheet, "sinkage", r);
    t.why_stopped = sheet.text("why", r);
    const std::string assisted = plain_heading(sheet.text("assisted", r));
    t.assisted = assisted == "yes" || assisted == "y" || assisted == "true";
    if (t.conditions.run.empty()) t.conditions.run = sheet.text("run", r);
    around.campaign->driving.slope_trials.push_back(std::move(t));
  }
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

void ruts(const RecordEntry& entry, Sheet& sheet, const records::RunConditions& run, Surroundings& around, base::Problems& problems) {
  if (!sheet.has("depth_loaded") && !refuse_missing(entry, sheet, {"depth_after"}, problems)) return;
  if (!check_values(entry, sheet, problems)) return;
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::RutReading t;
    t.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    t.conditions = run;
    t.line = sheet.line[r];
    t.wheel_path = plain_heading(sheet.text("wheel_path", r));  // groups the readings: "Left" and "left" are one
    static const std::vector<std::string> paths{"left", "right", "centre", "center"};
    if (const auto near = io::nearest_word(t.wheel_path, paths); near && std::find(paths.begin(), paths.end(), t.wheel_path) == paths.end()) {
      problems.refuse({.place = {.file = entry.file, .line = t.line}, .what = "the wheel path looks misspelt, and would be a path of its own", .value = sheet.text("wheel_path", r),
                       .remedy = "did you mean " + *near + "?"});
      continue;
    }
    const double pass = at(sheet, "pass", r);
    t.pass = std::isnan(pass) ? 1 : static_cast<int>(std::lround(pass));
    t.depth_loaded_m = given(sheet, "depth_loaded", r);
    t.depth_after_m = given(sheet, "depth_after", r);
    t.slip_ratio = given(sheet, "slip", r);
    if (!sheet.text("run", r).empty()) t.conditions.run = sheet.text("run", r);
    if (!t.depth_loaded_m && !t.depth_after_m) {
      problems.remark({.place = {.file = entry.file, .line = t.line}, .what = "no rut depth; row set aside"});
      ++sheet.rows_set_aside;
      continue;
    }
    around.campaign->driving.ruts.push_back(std::move(t));
  }
  static_cast<void>(share_kept(sheet, entry.file, entry.request.remark_share, problems));
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

void spins(const RecordEntry& entry, Sheet& sheet, Surroundings& around, base::Problems& problems) {
  if (!refuse_missing(entry, sheet, {"current", "torque"}, problems)) return;
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::SpinReading s;
    s.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    s.line = sheet.line[r];
    s.current_a = at(sheet, "current", r);
    s.torque_n_m = at(sheet, "torque", r);
    s.speed_rad_per_s = given(sheet, "wheel_speed", r);
    if (std::isnan(s.current_a) || std::isnan(s.torque_n_m)) {
      problems.remark({.place = {.file = entry.file, .line = s.line}, .what = "a reading needs current and torque; row set aside"});
      ++sheet.rows_set_aside;
      continue;
    }
    around.campaign->driving.spins.push_back(s);
  }
  static_cast<void>(share_kept(sheet, entry.file, entry.request.remark_share, problems));
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

}  // namespace

void read_vehicle_record(const RecordEntry& given_entry, Keys& keys, Surroundings& around, base::Problems& problems) {
  if (is_trial_kind(given_entry.kind)) return read_trial_record(given_entry, keys, around, problems);
  RecordEntry entry = given_entry;
  entry.request.roles = roles_of(entry.kind);
  const auto run = run_keys(entry, keys, around, problems);
  const bool log_kind = entry.kind == "tow" || entry.kind == "towed" || entry.kind == "coast-down";
  const LogKeys said = log_kind ? log_keys(entry, keys) : LogKeys{};
  const LogRules rules = log_rules(said);
  auto sheet = read_sheet(entry.request, problems, log_kind ? &rules : nullptr);
  if (!sheet || !run) return;
  if (entry.kind == "slope-trial") return slope_trials(entry, *sheet, *run, around, problems);
  if (entry.kind == "rut") return ruts(entry, *sheet, *run, around, problems);
  if (entry.kind == "spin") return spins(entry, *sheet, around, problems);
  if (entry.kind == "tow" && !sheet->number("time")) return hand_pulls(entry, keys, said.cell_range_n, *sheet, *run, around, problems);
  if (!refuse_missing(entry, *sheet, {"time"}, problems)) return;
  logs(entry, keys, said, rules, *sheet, *run, around, problems);
}

}  // namespace hardpan::formats::detail
