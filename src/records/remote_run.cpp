// SPDX-License-Identifier: Apache-2.0
// Completion time that grows with moves times delay: [Ferrell1965]; practice as a power of the number of trials, near its start like a logarithm: [Newell1981] (both from memory).
#include "records/remote_run.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "records/not_negative.hpp"
#include "units/count.hpp"

namespace hardpan::records {
namespace {

// Values that lie within a class width of the least of their class, rising.
struct Classes {
  std::vector<double> least;
  Classes(std::vector<double> values, double absolute, double relative) {
    std::sort(values.begin(), values.end());
    for (const double v : values) {
      if (least.empty() || v - least.back() > std::max(absolute, relative * std::abs(least.back()))) least.push_back(v);
    }
  }
  [[nodiscard]] std::size_t of(double v) const {
    std::size_t k = 0;
    while (k + 1 < least.size() && least[k + 1] <= v) ++k;
    return k;
  }
};

struct Course {
  RemoteCourse out;
  const RemoteRunSettings& settings;
  Classes delays;
};

double pace(const RemoteReading& r) { return 1 / *r.speed_m_per_s; }
double log_practice(const RemoteReading& r) { return std::log1p(*r.practice); }

std::vector<std::string> operators_of(const RemoteCourse& c) {
  std::vector<std::string> out;
  for (const RemoteReading& r : c.runs) {
    if (r.in_speed && std::find(out.begin(), out.end(), r.operator_name) == out.end()) out.push_back(r.operator_name);
  }
  std::sort(out.begin(), out.end());
  return out;
}

void find_tables(Course& c) {
  RemoteCourse& o = c.out;
  std::map<std::pair<std::string, std::size_t>, std::vector<const RemoteReading*>> cells;
  std::map<std::size_t, std::vector<const RemoteReading*>> at;
  for (const RemoteReading& r : o.runs) {
    cells[{r.operator_name, c.delays.of(r.delay_s)}].push_back(&r);
    at[c.delays.of(r.delay_s)].push_back(&r);
  }
  for (const auto& [key, runs] : cells) {
    OperatorAtDelay k{.operator_name = key.first, .runs = runs.size()};
    std::vector<double> speed, error, practice;
    for (const RemoteReading* r : runs) {
      k.delay_s += r->delay_s / static_cast<double>(runs.size());
      k.finished += r->outcome == RemoteOutcome::finished;
      if (r->in_speed) speed.push_back(*r->speed_m_per_s);
      if (r->largest_error_m && r->outcome == RemoteOutcome::finished) error.push_back(*r->largest_error_m);
      if (r->practice) practice.push_back(*r->practice);
    }
    if (!speed.empty()) k.speed_m_per_s = not_negative(math::estimate_from_points(speed, c.settings.level));
    if (!error.empty()) k.largest_error_m = not_negative(math::estimate_from_points(error, c.settings.level));
    if (!practice.empty()) k.mean_practice = math::mean(practice);
    o.by_operator.push_back(std::move(k));
  }
  for (const auto& [delay, runs] : at) {
    AtDelay k{.runs = runs.size()};
    for (const RemoteReading* r : runs) {
      k.delay_s += r->delay_s / static_cast<double>(runs.size());
      k.finished += r->outcome == RemoteOutcome::finished;
      k.left_corridor += r->outcome == RemoteOutcome::left_corridor;
      k.struck += r->outcome == RemoteOutcome::struck;
      k.stopped += r->outcome == RemoteOutcome::stopped;
      if (r->largest_error_m) k.largest_error_m = std::max(k.largest_error_m.value_or(0), *r->largest_error_m);
    }
    const std::size_t decided = k.finished + k.left_corridor + k.struck;
    k.chance_of_finishing = decided > 0 ? math::clopper_pearson(k.finished, decided, c.settings.level) : math::Interval{0, 1};
    o.by_delay.push_back(k);
  }
}

math::Estimate coefficient(const math::LinearFit& fit, std::size_t k, std::size_t n, double level) {
  const double v = fit.coefficients[k];
  if (fit.standard_errors.empty() || !(fit.standard_errors[k] > 0)) return math::estimate_without_interval(v, "as many numbers as runs, or runs without scatter", n);
  const double half = math::student_t_quantile(0.5 + 0.5 * level, static_cast<double>(fit.degrees_of_freedom)) * fit.standard_errors[k];
  return {.value = v, .average_ground = math::Interval{v - half, v + half}, .level = level, .n = n, .status = math::kStatusOk};
}

// Pearson's correlation of two lists after each operator's own mean is taken out; nothing where one does not vary.
std::optional<double> within_operators(const std::vector<std::string>& who, std::vector<double> x, std::vector<double> y) {
  for (auto* values : {&x, &y}) {
    std::map<std::string, std::pair<double, double>> sums;
    for (std::size_t i = 0; i < who.size(); ++i) sums[who[i]].first += (*values)[i], sums[who[i]].second += 1;
    for (std::size_t i = 0; i < who.size(); ++i) (*values)[i] -= sums[who[i]].first / sums[who[i]].second;
  }
  double xx = 0, yy = 0, xy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) xx += x[i] * x[i], yy += y[i] * y[i], xy += x[i] * y[i];
  if (!(xx > 1e-18) || !(yy > 1e-18)) return std::nullopt;
  return xy / std::sqrt(xx * yy);
}

void find_line(Course& c) {
  PaceLine& line = c.out.pace;
  const auto operators = operators_of(c.out);
  std::vector<const RemoteReading*> runs;
  bool all_practised = true;
  for (const RemoteReading& r : c.out.runs) {
    if (!r.in_speed) continue;
    runs.push_back(&r);
    all_practised = all_practised && r.practice.has_value();
  }
  line.runs = runs.size();
  std::vector<std::string> who;
  std::vector<double> delay, skill, y;
  for (const RemoteReading* r : runs) {
    who.push_back(r->operator_name);
    delay.push_back(r->delay_s);
    skill.push_back(all_practised ? log_practice(*r) : 0);
    y.push_back(pace(*r));
  }
  const auto varies = [](const std::vector<double>& x) { return !x.empty() && *std::max_element(x.begin(), x.end()) - *std::min_element(x.begin(), x.end()) > 1e-9; };
  if (!varies(delay)) {
    line.status = runs.empty() ? "no run finished" : "all runs had one delay";
    return;
  }
  const bool with_practice = all_practised && varies(skill);
  line.correlation = with_practice ? within_operators(who, delay, skill) : std::nullopt;
  line.confounded = line.correlation && std::abs(*line.correlation) >= c.settings.confounded_correlation;
  line.mean_log_practice = with_practice ? math::mean(skill) : 0;
  const auto fit = [&](bool practice) {
    const std::size_t columns = operators.size() + 1 + (practice ? 1 : 0);
    std::vector<double> design;
    for (std::size_t i = 0; i < runs.size(); ++i) {
      for (const std::string& o : operators) design.push_back(who[i] == o ? 1 : 0);
      design.push_back(delay[i]);
      if (practice) design.push_back(skill[i]);
    }
    return runs.size() < columns ? math::LinearFit{.status = "fewer runs than numbers looked for"} : math::linear_regression(design, columns, y);
  };
  const math::LinearFit alone = fit(false);
  const bool told_apart = with_practice && !line.confounded;
  const math::LinearFit best = told_apart ? fit(true) : alone;
  if (alone.coefficients.size() == operators.size() + 1) line.delay_alone = coefficient(alone, operators.size(), runs.size(), c.settings.level);
  if (best.coefficients.empty()) {
    line.status = best.status;
    return;
  }
  line.status = math::kStatusOk;
  line.degrees_of_freedom = best.degrees_of_freedom;
  line.residual_sd_s_per_m = best.residual_sd;
  line.delay = coefficient(best, operators.size(), runs.size(), c.settings.level);
  if (told_apart) line.practice = coefficient(best, operators.size() + 1, runs.size(), c.settings.level);
  for (std::size_t k = 0; k < operators.size(); ++k) line.level_s_per_m.emplace_back(operators[k], best.coefficients[k]);
  if (!all_practised) c.out.remarks.push_back("practice is not told of every run: what it gained is in the effect of the delay");
  else if (!with_practice) c.out.remarks.push_back("practice did not change: its effect is not told");
  else if (line.confounded) c.out.remarks.push_back(fmt::format("practice and delay went together (correlation {:.2f} within operators): their effects cannot be told apart; mix the order of delays", *line.correlation));
}

// Second less first within every operator and delay that has both, averaged by operator.
template <class GroupOf>
void compare(Course& c, const std::string& what, const std::string& first, const std::string& second, const GroupOf& group_of) {
  struct Cell {
    std::vector<double> speed[2], equal[2], practice[2];
  };
  std::map<std::pair<std::string, std::size_t>, Cell> cells;
  const PaceLine& line = c.out.pace;
  for (const RemoteReading& r : c.out.runs) {
    const std::optional<int> g = r.in_speed ? group_of(r) : std::nullopt;
    if (!g) continue;
    Cell& cell = cells[{r.operator_name, c.delays.of(r.delay_s)}];
    cell.speed[*g].push_back(*r.speed_m_per_s);
    if (r.practice) cell.practice[*g].push_back(*r.practice);
    if (line.practice && r.practice) {
      const double p = pace(r) - line.practice->value * (log_practice(r) - line.mean_log_practice);
      if (p > 0) cell.equal[*g].push_back(1 / p);
    }
  }
  std::map<std::string, std::vector<double>> raw, equal;
  std::vector<double> practice;
  GroupDifference d{.what = what, .first = first, .second = second};
  for (const auto& [key, cell] : cells) {
    if (cell.speed[0].empty() || cell.speed[1].empty()) continue;
    ++d.cells;
    raw[key.first].push_back(math::mean(cell.speed[1]) - math::mean(cell.speed[0]));
    if (!cell.equal[0].empty() && !cell.equal[1].empty()) equal[key.first].push_back(math::mean(cell.equal[1]) - math::mean(cell.equal[0]));
    if (!cell.practice[0].empty() && !cell.practice[1].empty()) practice.push_back(math::mean(cell.practice[1]) - math::mean(cell.practice[0]));
  }
  if (d.cells == 0) return;
  const auto over = [&](const std::map<std::string, std::vector<double>>& by_operator) {
    std::vector<double> means;
    for (const auto& [who, values] : by_operator) means.push_back(math::mean(values));
    return math::estimate_from_points(means, c.settings.level);
  };
  d.operators = raw.size();
  d.speed_m_per_s = over(raw);
  if (what != "practice" && equal.size() == raw.size()) d.speed_equal_practice_m_per_s = over(equal);
  if (!practice.empty()) d.practice_difference = math::mean(practice);
  c.out.differences.push_back(std::move(d));
}

void find_differences(Course& c) {
  const auto by_size = [&](const char* what, std::optional<double> RemoteReading::*member, units::Dimension dimension) {
    std::vector<double> values;
    for (const RemoteReading& r : c.out.runs) {
      if (r.in_speed && r.*member) values.push_back(*(r.*member));
    }
    const Classes classes(values, 0, c.settings.class_relative);
    for (std::size_t k = 1; k < classes.least.size(); ++k) {
      const auto print = [&](double v) { return units::print_quantity(v, dimension, c.settings.output_units); };
      compare(c, what, print(classes.least[k - 1]), print(classes.least[k]), [&](const RemoteReading& r) -> std::optional<int> {
        if (!(r.*member)) return std::nullopt;
        const std::size_t at = classes.of(*(r.*member));
        return at == k - 1 ? std::optional(0) : at == k ? std::optional(1) : std::nullopt;
      });
    }
  };
  by_size("field of view", &RemoteReading::field_of_view_rad, units::Dimension::angle);
  by_size("image interval", &RemoteReading::image_interval_s, units::Dimension::time);
  // Earlier and later half of the runs that an operator drove at one delay, the middle one left out.
  std::map<std::pair<std::string, std::size_t>, std::vector<double>> practice;
  for (const RemoteReading& r : c.out.runs) {
    if (r.in_speed && r.practice) practice[{r.operator_name, c.delays.of(r.delay_s)}].push_back(*r.practice);
  }
  compare(c, "practice", "earlier runs", "later runs", [&](const RemoteReading& r) -> std::optional<int> {
    if (!r.practice) return std::nullopt;
    const double middle = math::median(practice[{r.operator_name, c.delays.of(r.delay_s)}]);
    return *r.practice < middle ? std::optional(0) : *r.practice > middle ? std::optional(1) : std::nullopt;
  });
}

}  // namespace

std::optional<double> PaceLine::speed_m_per_s(double delay_s, double practice_runs) const {
  if (!delay || level_s_per_m.empty()) return std::nullopt;
  double level = 0;
  for (const auto& [who, a] : level_s_per_m) level += a / static_cast<double>(level_s_per_m.size());
  const double pace = level + delay->value * delay_s + (practice ? practice->value * std::log1p(practice_runs) : 0);
  return pace > 0 ? std::optional(1 / pace) : std::nullopt;
}

std::vector<RemoteCourse> reduce_remote_runs(const std::vector<RemoteRun>& runs, const RemoteRunSettings& settings, base::Problems& problems) {
  std::vector<RemoteCourse> courses;
  for (const RemoteRun& r : runs) {
    const base::Place place{.file = r.source.file, .line = r.line, .key = r.line ? "" : r.source.id};
    if (!(r.delay_s >= 0) || !std::isfinite(r.delay_s)) {
      problems.remark({.place = place, .what = "remote run without a delay set aside", .value = fmt::format("{}", r.delay_s), .bound = "0 s or more"});
      continue;
    }
    const auto same = [&](const RemoteCourse& c) { return c.vehicle == r.conditions.vehicle && c.zone == r.source.zone && c.course == r.course; };
    auto course = std::find_if(courses.begin(), courses.end(), same);
    if (course == courses.end()) course = courses.insert(courses.end(), {.vehicle = r.conditions.vehicle, .zone = r.source.zone, .course = r.course});
    RemoteReading x{.file = r.source.file, .line = r.line, .id = r.source.id, .operator_name = r.source.operator_name, .remark = r.source.remark, .delay_s = r.delay_s,
                    .field_of_view_rad = r.field_of_view_rad, .image_interval_s = r.image_interval_s, .practice = r.practice, .speed_m_per_s = r.speed_m_per_s,
                    .largest_error_m = r.largest_error_m, .corridor_m = r.corridor_m, .stops = r.stops, .clock_s = r.source.clock_s, .outcome = r.outcome};
    x.in_speed = r.outcome == RemoteOutcome::finished && r.speed_m_per_s && *r.speed_m_per_s > 0 && std::isfinite(*r.speed_m_per_s);
    if (x.operator_name.empty()) {
      x.in_speed = false;
      problems.remark({.place = place, .what = "remote run without an operator: it is counted and enters no speed", .remedy = "name the operator: initials will do"});
    }
    if (r.corridor_m) course->corridor_m = std::min(course->corridor_m.value_or(*r.corridor_m), *r.corridor_m);
    course->runs.push_back(std::move(x));
  }
  for (RemoteCourse& k : courses) {
    std::vector<double> delays;
    for (const RemoteReading& r : k.runs) delays.push_back(r.delay_s);
    Course c{std::move(k), settings, Classes(delays, settings.delay_class_s, 0)};
    find_tables(c);
    find_line(c);
    find_differences(c);
    k = std::move(c.out);
  }
  return courses;
}

const char* name(RemoteOutcome outcome) {
  switch (outcome) {
    case RemoteOutcome::finished: return "finished";
    case RemoteOutcome::left_corridor: return "left the corridor";
    case RemoteOutcome::struck: return "struck something";
    case RemoteOutcome::stopped: return "stopped";
  }
  return "";
}

}  // namespace hardpan::records
