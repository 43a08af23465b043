// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/plausible.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace hardpan::formats::detail {
namespace {

constexpr double kAny = std::numeric_limits<double>::infinity();
constexpr double kDegree = std::numbers::pi / 180;

// What a role may hold: outside [least, most] is refused, outside [usual_least, usual_most] remarked on.
struct Bounds {
  const char* role;
  double least, most;
  const char* impossible;
  const char* bound;
  double usual_least = -kAny, usual_most = kAny;
  const char* odd = "";
  bool whole = false;
};

const std::vector<Bounds>& bounds_of(const std::string& kind) {
  static const Bounds slip{.role = "slip", .least = -1, .most = 1, .impossible = "no slip: it lies between -100 % and 100 %", .bound = "-100 % to 100 %"};
  static const Bounds gradient{.role = "gradient", .least = -89 * kDegree, .most = 89 * kDegree, .impossible = "no slope a vehicle stands on",
                               .bound = "under 90 deg", .usual_least = -45 * kDegree, .usual_most = 45 * kDegree,
                               .odd = "steeper than loose ground stands: percent taken for degrees?"};
  static const Bounds rut{.role = "sinkage", .least = 0, .most = 3, .impossible = "no sinkage of a wheel", .bound = "0 to 3 m"};
  static const std::vector<Bounds> plate{{.role = "sinkage", .least = -2, .most = 2, .impossible = "no hand-pushed plate sinks so deep", .bound = "under 2 m",
                                          .usual_least = -0.5, .usual_most = 0.5, .odd = "deep for a plate pushed by hand: is the unit right?"}};
  static const std::vector<Bounds> ring{{.role = "rotation", .least = -200, .most = 200, .impossible = "over 30 turns of the ring", .bound = "one turn or less",
                                         .usual_least = -2 * std::numbers::pi, .usual_most = 2 * std::numbers::pi,
                                         .odd = "the ring goes through more than a full turn: degrees taken for radians?"}};
  static const std::vector<Bounds> shear{{.role = "displacement", .least = -2, .most = 2, .impossible = "no shear test by hand travels so far", .bound = "under 2 m",
                                          .usual_least = -0.3, .usual_most = 0.3, .odd = "long for a shear test by hand: is the unit right?"}};
  static const std::vector<Bounds> cone{{.role = "depth", .least = -10, .most = 10, .impossible = "no cone pushed by hand goes so deep", .bound = "under 10 m",
                                         .usual_least = -2, .usual_most = 2, .odd = "deep for a cone pushed by hand: is the unit right?"},
                                        {.role = "resistance", .least = -100e6, .most = 100e6, .impossible = "no cone pushed by hand meets this", .bound = "under 100 MPa",
                                         .usual_least = -20e6, .usual_most = 20e6, .odd = "high for a cone pushed by hand: is the unit right?"}};
  static const std::vector<Bounds> tow{gradient, rut, {.role = "turns", .least = 0, .most = kAny, .impossible = "turns are counted from 0 up", .bound = "0 or more"},
                                       {.role = "distance", .least = 0, .most = kAny, .impossible = "a distance is not negative", .bound = "0 or more"}};
  static const std::vector<Bounds> trial{gradient, slip, rut,
                                         {.role = "heading", .least = -360.001 * kDegree, .most = 360.001 * kDegree, .impossible = "no heading", .bound = "-180 to 360 deg, 0 straight uphill, 90 across with downhill on the left"},
                                         {.role = "drift", .least = -90 * kDegree, .most = 90 * kDegree, .impossible = "no drift: the vehicle would slide backward", .bound = "0 to 90 deg"},
                                         {.role = "length", .least = 0, .most = kAny, .impossible = "a length is not negative", .bound = "0 or more"}};
  static const std::vector<Bounds> ruts{slip, {.role = "pass", .least = 1, .most = 10000, .impossible = "passes are counted 1, 2, 3", .bound = "a whole number from 1", .whole = true},
                                        {.role = "depth_loaded", .least = 0, .most = 3, .impossible = "no depth of a rut", .bound = "0 to 3 m"},
                                        {.role = "depth_after", .least = 0, .most = 3, .impossible = "no depth of a rut", .bound = "0 to 3 m"}};
  static const std::vector<Bounds> obstacle{{.role = "size", .least = 0, .most = 20, .impossible = "no obstacle for a vehicle", .bound = "above 0 to 20 m", .usual_least = 0.005, .usual_most = 5,
                                             .odd = "no obstacle that is tried by driving: is the unit right?"},
                                            {.role = "friction", .least = 1e-6, .most = 2, .impossible = "no friction coefficient of a wheel on ground", .bound = "above 0 to 2",
                                             .usual_least = 0.05, .usual_most = 1.2, .odd = "hardly any wheel on ground gives this friction"}};
  static const Bounds radius{.role = "radius", .least = 0, .most = 1000, .impossible = "no turning radius", .bound = "0 to 1000 m", .usual_most = 100, .odd = "a wide ring for a taped one: is the unit right?"};
  static const std::vector<Bounds> turn{radius, {.role = "diameter", .least = 0, .most = 2000, .impossible = "no ring of a turn", .bound = "0 to 2000 m", .usual_most = 200, .odd = "a wide ring for a taped one: is the unit right?"},
                                        {.role = "radius_asked", .least = 0, .most = 1000, .impossible = "no turning radius", .bound = "0 to 1000 m", .usual_most = 100, .odd = "a wide turn: is the unit right?"},
                                        {.role = "speed", .least = 0, .most = 50, .impossible = "no speed of a turn on soft ground", .bound = "0 to 50 m/s", .usual_most = 5, .odd = "fast for a turn on soft ground: is the unit right?"},
                                        {.role = "power", .least = -1e7, .most = 1e7, .impossible = "no power of a vehicle", .bound = "under 10 MW"}, gradient};
  static const std::vector<Bounds> remote{{.role = "delay", .least = 0, .most = 7200, .impossible = "no delay that is driven through", .bound = "0 to 2 h", .usual_most = 60, .odd = "long for driving: is the unit right?"},
                                          {.role = "field_of_view", .least = 1e-3, .most = 360.001 * kDegree, .impossible = "no field of view", .bound = "above 0 to 360 deg"},
                                          {.role = "image_interval", .least = 0, .most = 3600, .impossible = "no interval between images", .bound = "0 to 1 h"},
                                          {.role = "practice", .least = 0, .most = 1e5, .impossible = "runs driven before are counted 0, 1, 2", .bound = "a whole number from 0", .whole = true},
                                          {.role = "speed", .least = 0, .most = 50, .impossible = "no speed of remote driving", .bound = "0 to 50 m/s", .usual_most = 10, .odd = "fast for driving from afar: is the unit right?"},
                                          {.role = "largest_error", .least = 0, .most = 1000, .impossible = "no distance from the line", .bound = "0 to 1000 m", .usual_most = 20, .odd = "far from the line: is the unit right?"},
                                          {.role = "corridor", .least = 0.01, .most = 1000, .impossible = "no corridor", .bound = "0.01 to 1000 m"},
                                          {.role = "stops", .least = 0, .most = 1e5, .impossible = "stops are counted 0, 1, 2", .bound = "a whole number from 0", .whole = true}};
  static const Bounds driven{.role = "distance", .least = 0, .most = 1e7, .impossible = "no distance of a run", .bound = "0 to 10,000 km"};
  static const std::vector<Bounds> trip{driven, {.role = "time", .least = 0, .most = 1e8, .impossible = "no time of a run", .bound = "0 to 3 years"},
                                        {.role = "energy", .least = -1e12, .most = 1e12, .impossible = "no energy of a run", .bound = "under 1 TJ"}};
  static const std::vector<Bounds> rocks{driven};
  static const std::vector<Bounds> rough{{.role = "speed", .least = 0, .most = 100, .impossible = "no speed of a run over rough ground", .bound = "above 0 to 100 m/s", .usual_most = 30, .odd = "fast for rough ground: is the unit right?"},
                                         {.role = "peak", .least = 0, .most = 1e4, .impossible = "no acceleration of a vehicle", .bound = "0 to 10,000 m/s^2", .usual_most = 200, .odd = "high for a shock of driving: is the unit right?"},
                                         {.role = "rms", .least = 0, .most = 1e3, .impossible = "no acceleration of a vehicle", .bound = "0 to 1000 m/s^2", .usual_most = 50, .odd = "high for the shaking of driving: is the unit right?"}};
  static const std::vector<Bounds> none;
  if (kind == "plate") return plate;
  if (kind == "shear-ring") return ring;
  if (kind == "shear-plate" || kind == "shear-box") return shear;
  if (kind == "cone") return cone;
  if (kind == "tow" || kind == "towed" || kind == "coast-down") return tow;
  if (kind == "slope-trial") return trial;
  if (kind == "rut") return ruts;
  if (kind == "obstacle-trial") return obstacle;
  if (kind == "turn-trial") return turn;
  if (kind == "remote-run") return remote;
  if (kind == "trip-run") return trip;
  if (kind == "rock-run") return rocks;
  if (kind == "rough-run") return rough;
  return none;
}

// One message for all rows with the same fault: the first line, its value as typed, and how many.
class Seen {
 public:
  void add(std::size_t line, std::string typed) {
    if (count_++ == 0) {
      line_ = line;
      typed_ = std::move(typed);
    }
  }
  [[nodiscard]] base::Problem told(const std::string& file, std::string what, std::string bound, std::string remedy) const {
    return {.place = {.file = file, .line = line_}, .what = std::move(what), .value = typed_, .bound = std::move(bound),
            .remedy = std::move(remedy), .count = count_};
  }
  [[nodiscard]] bool any() const { return count_ > 0; }

 private:
  std::size_t count_ = 0, line_ = 0;
  std::string typed_;
};

// A value in the unit of its column, which it carries.
std::string in_column(double value_si, const Column& c) {
  return fmt::format("{:.6g}{}", units::from_si(value_si, c.unit), c.unit.spelling == "1" ? "" : " " + c.unit.spelling);
}
std::string typed(const Column& c, std::size_t row) { return in_column(c.values[row], c); }

// What can be, in the unit of the column; words where the bounds are no lengths or pressures.
std::string bound_in(const Bounds& b, const Column& c) {
  if (c.dimension != units::Dimension::length && c.dimension != units::Dimension::pressure) return b.bound;
  if (!std::isfinite(b.most)) return b.bound;
  return b.least == -b.most ? "under " + in_column(b.most, c) : fmt::format("{:g} to {}", units::from_si(b.least, c.unit), in_column(b.most, c));
}

}  // namespace

bool check_values(const RecordEntry& entry, const Sheet& sheet, base::Problems& problems) {
  bool ok = true;
  for (const Bounds& b : bounds_of(entry.kind)) {
    const auto columns = sheet.numbers.find(b.role);
    if (columns == sheet.numbers.end()) continue;
    for (const Column& c : columns->second) {
      Seen impossible, odd;
      for (std::size_t r = 0; r < c.values.size(); ++r) {
        const double v = c.values[r];
        if (std::isnan(v)) continue;
        if (!(v >= b.least && v <= b.most) || (b.whole && v != std::round(v))) impossible.add(sheet.line[r], typed(c, r));
        else if (!(v >= b.usual_least && v <= b.usual_most)) odd.add(sheet.line[r], typed(c, r));
      }
      const std::string column = fmt::format("column \"{}\" ({}): ", c.heading, b.role);
      if (impossible.any()) {
        problems.refuse(impossible.told(entry.file, column + b.impossible, bound_in(b, c), "check the value and its unit; correct it in amendments.csv if it was typed so"));
        ok = false;
      }
      if (odd.any()) problems.remark(odd.told(entry.file, column + b.odd, "", "look at the sheet"));
    }
  }
  return ok;
}

void set_aside_beyond_range(const RecordEntry& entry, Sheet& sheet, const char* role, const std::optional<double>& range, base::Problems& problems) {
  const Column* c = sheet.number(role);
  if (!c || !range) return;
  std::vector<char> keep(sheet.line.size(), 1);
  Seen beyond;
  for (std::size_t r = 0; r < keep.size(); ++r) {
    if (!(std::abs(c->values[r]) >= 0.999 * *range)) continue;
    keep[r] = 0;
    beyond.add(sheet.line[r], typed(*c, r));
  }
  if (!beyond.any()) return;
  problems.remark(beyond.told(entry.file, fmt::format("column \"{}\" ({}) is at or above the range of instrument \"{}\"; row set aside", c->heading, role, entry.instrument_id),
                              in_column(*range, *c), "check the range stated in instruments.toml and the unit of the column"));
  sheet.rows_set_aside += static_cast<std::size_t>(std::count(keep.begin(), keep.end(), 0));
  keep_rows(sheet, keep);
}

bool check_once_a_test(const RecordEntry& entry, const Sheet& sheet, const std::vector<std::size_t>& rows, const char* role, base::Problems& problems) {
  const auto refuse = [&](std::size_t row, const std::string& value, const std::string& first) {
    problems.refuse({.place = {.file = entry.file, .line = sheet.line[row]}, .what = fmt::format("the {} changes within one test", role), .value = value,
                     .bound = fmt::format("\"{}\", as in the rows before", first),
                     .remedy = "a test has one: mend the row, or give its rows a test of their own"});
    return false;
  };
  if (const Column* c = sheet.number(role)) {
    const double first = c->values[rows.front()];
    for (const std::size_t r : rows) {
      if (std::isfinite(c->values[r]) && std::isfinite(first) && std::abs(c->values[r] - first) > 0.01 * std::abs(first)) {
        return refuse(r, typed(*c, r), typed(*c, rows.front()));
      }
    }
    return true;
  }
  const auto texts = sheet.texts.find(role);
  if (texts == sheet.texts.end()) return true;
  std::string first;  // a blank cell means "as above"
  for (const std::size_t r : rows) {
    const std::string& text = texts->second[r];
    if (text.empty()) continue;
    if (first.empty()) first = text;
    if (text != first) return refuse(r, text, first);
  }
  return true;
}

void remark_backward(const RecordEntry& entry, const Sheet& sheet, const std::vector<std::size_t>& rows, const char* travel_role,
                     const char* effort_role, base::Problems& problems) {
  const Column* travel = sheet.number(travel_role);
  const Column* effort = effort_role ? sheet.number(effort_role) : nullptr;
  if (sheet.logger || rows.size() < 3 || !travel) return;  // a machine makes no slip of the pen, and its noise goes both ways
  double largest = 0;
  for (const std::size_t r : rows) largest = std::abs(travel->values[r]) > std::abs(largest) ? travel->values[r] : largest;
  const double turned = largest < 0 ? -1 : 1, least = 0.01 * std::abs(largest);  // a hundredth: reading error, not a slip
  Seen back;
  for (std::size_t k = 1; k < rows.size(); ++k) {
    const bool backward = turned * (travel->values[rows[k]] - travel->values[rows[k - 1]]) < -least;
    const bool unloads = effort && std::abs(effort->values[rows[k]]) < std::abs(effort->values[rows[k - 1]]);
    if (backward && !unloads) back.add(sheet.line[rows[k]], typed(*travel, rows[k]));
  }
  if (back.any()) {
    problems.remark(back.told(entry.file, fmt::format("the {} goes backward{}", travel_role, effort ? " while the load does not fall" : ""), "",
                              "check the row and the one above" + std::string(effort ? "" : "; unloading belongs into a test of its own")));
  }
}

void remark_push(const RecordEntry& entry, const records::PlateTest& push, units::OutputUnits u, base::Problems& problems) {
  constexpr double kSoftest = 10e3, kHardest = 1e9;  // [Pa/m]; muskeg and fresh snow lie above the one, concrete below the other
  std::size_t deepest = 0;
  for (std::size_t i = 0; i < push.sinkage_m.size(); ++i) {
    if (std::abs(push.sinkage_m[i]) > std::abs(push.sinkage_m[deepest])) deepest = i;
  }
  if (push.sinkage_m.empty()) return;
  const double sinkage = std::abs(push.sinkage_m[deepest]);
  const double pressure = std::abs(push.load_n[deepest]) / push.plate.area_m2();
  if (!(sinkage > 0) || !(pressure > 0)) return;
  const double ratio = pressure / sinkage;
  if (ratio >= kSoftest && ratio <= kHardest) return;
  problems.remark({.place = {.file = entry.file, .line = push.line[deepest]},
                   .what = fmt::format("push {}: {} at {} is {} than any ground: are load and sinkage exchanged, or a unit wrong?", push.source.id,
                                       units::print_quantity(pressure, units::Dimension::pressure, u), units::print_quantity(sinkage, units::Dimension::length, u), ratio < kSoftest ? "softer" : "harder"),
                   .remedy = "check headings, units and the size of plate \"" + push.plate.id + "\""});
}

void check_pull(const RecordEntry& entry, std::size_t line, double pull_n, double weight_n, units::OutputUnits u, base::Problems& problems) {
  const auto force = [&](double n) { return units::print_quantity(n, units::Dimension::force, u); };
  if (!(weight_n > 0) || !(std::abs(pull_n) > 1.2 * weight_n)) return;  // wheels on firm ground hold about their weight
  base::Problem p{.place = {.file = entry.file, .line = line}, .what = "the pull is above the weight of the vehicle: is the unit right, or the weight?",
                  .value = force(pull_n), .bound = "weight " + force(weight_n), .remedy = "check the unit of the pull and the record's weight"};
  if (std::abs(pull_n) <= 5 * weight_n) return problems.remark(std::move(p));
  p.what = "the pull is over five times the weight of the vehicle";
  problems.refuse(std::move(p));
}

void remark_slips(const RecordEntry& entry, const records::TowLog& log, base::Problems& problems) {
  const auto radius = log.conditions.rolling_radius_m;
  if (!radius || log.wheel_speed_rad_per_s.empty() || log.ground_speed_m_per_s.empty()) return;
  const std::size_t rows = log.ground_speed_m_per_s.size();
  std::vector<double> rim(rows, 0);
  double fastest = 0;
  for (std::size_t i = 0; i < rows; ++i) {
    for (const auto& wheel : log.wheel_speed_rad_per_s) rim[i] += *radius * wheel[i] / static_cast<double>(log.wheel_speed_rad_per_s.size());
    const double larger = std::max(std::abs(rim[i]), std::abs(log.ground_speed_m_per_s[i]));
    if (std::isfinite(larger)) fastest = std::max(fastest, larger);
  }
  std::vector<double> slips;
  for (std::size_t i = 0; i < rows; ++i) {
    const double r = std::abs(rim[i]), v = std::abs(log.ground_speed_m_per_s[i]), larger = std::max(r, v);
    if (larger > 0.2 * fastest) slips.push_back((r - v) / larger);  // starting and stopping say nothing
  }
  if (slips.size() < 20) return;
  const auto quantile = [&](double share) {
    const auto at = slips.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(slips.size() - 1));
    std::nth_element(slips.begin(), at, slips.end());
    return *at;
  };
  const double middle = quantile(0.5), low = quantile(0.05);
  const bool driven = log.kind == records::LogKind::tow;
  const bool too_fast = middle < (driven ? -0.3 : -0.2), too_slow = driven ? low > 0.6 : middle > 0.2;
  if (!too_fast && !too_slow) return;
  problems.remark({.place = {.file = entry.file, .line = log.line.empty() ? 0 : log.line.front()},
                   .what = fmt::format("the vehicle moves {:.2g} times as fast as its {}wheels roll through {} of the log: a unit of speed, the gear ratio or the rolling radius may be wrong",
                                       too_fast ? 1 / (1 + middle) : 1 - (driven ? low : middle), driven ? "" : "undriven ", driven && too_slow ? "nearly all" : "half"),
                   .value = fmt::format("median slip {:.0f} %", 100 * middle), .remedy = "check the headings of both speeds, gear_ratio and rolling_radius"});
}

void check_hand_slip(const RecordEntry& entry, const records::HandPull& pull, double weight_n, double wheel_radius_m, units::OutputUnits u, base::Problems& problems) {
  if (pull.turns_resolution && *pull.turns_resolution > 0) {
    const double steps = pull.wheel_turns / *pull.turns_resolution;
    if (std::abs(steps - std::round(steps)) > 0.02) {
      problems.remark({.place = {.file = entry.file, .line = pull.line}, .what = "turns are read finer than turns_resolution says: are turns and distance exchanged?",
                       .value = fmt::format("{:.6g}", pull.wheel_turns), .bound = fmt::format("multiples of {:g}", *pull.turns_resolution), .remedy = "look at the sheet"});
    }
  }
  const double radius = pull.conditions.rolling_radius_m.value_or(wheel_radius_m);
  const double rolled = 2 * std::numbers::pi * radius * pull.wheel_turns;
  if (!(rolled > 0)) return;
  const auto length = [&](double m) { return units::print_quantity(m, units::Dimension::length, u); };
  const std::string went = fmt::format("{} in {:.4g} turns", length(pull.distance_m), pull.wheel_turns);
  const double ratio = pull.distance_m / rolled;
  base::Problem p{.place = {.file = entry.file, .line = pull.line},
                  .what = fmt::format("the vehicle went {:.3g} times as far as its wheels rolled: distance, turns or rolling radius is wrong", ratio),
                  .value = went, .bound = length(rolled) + " rolled",
                  .remedy = "check the row and the units of its columns; correct it in amendments.csv if it was typed so"};
  if (ratio > 3) problems.refuse(std::move(p));
  else if (ratio > 1.4) problems.remark(std::move(p));
  // Wheels that push the vehicle slip: what they give is the pull and, uphill, a part of the weight. Common practice, no source:
  // 3 % of negative slip may come from the radius.
  const double read_to = pull.distance_resolution_m.value_or(0) + 2 * std::numbers::pi * radius * pull.turns_resolution.value_or(0);
  const bool pushes = pull.pull_n > 0 && pull.pull_n + weight_n * std::sin(pull.conditions.gradient_rad) > 0;
  if (pushes && ratio <= 1.4 && 1 / ratio - 1 < -0.03 && pull.distance_m - rolled > read_to) {
    problems.remark({.place = {.file = entry.file, .line = pull.line},
                     .what = fmt::format("slip {:.0f} % with a pull of {}: a vehicle that tows a load cannot outrun its wheels", 100 * (1 / ratio - 1),
                                         units::print_quantity(pull.pull_n, units::Dimension::force, u)),
                     .value = went + (pull.conditions.rolling_radius_m ? ", rolling radius " : ", wheel radius ") + length(radius), .bound = length(rolled) + " rolled",
                     .remedy = "check the turns, the distance and the radius; correct the row in amendments.csv if it was typed so"});
  }
  if (ratio < 0.2) {
    problems.remark({.place = {.file = entry.file, .line = pull.line}, .what = "the wheels rolled over five times the distance: did the vehicle dig in, or are turns and distance exchanged?",
                     .value = went, .remedy = "look at the sheet"});
  }
}

}  // namespace hardpan::formats::detail
