// SPDX-License-Identifier: Apache-2.0
#include "records/drift.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include <fmt/core.h>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "units/count.hpp"

namespace hardpan::records {
namespace {

constexpr double kShown = 0.05;  // probability of such a trend by chance, two-sided

// Levels of different plates are compared about their own means.
void centre_by_width(std::vector<ReferenceReading>& readings) {
  std::map<double, std::pair<double, double>> sums;
  for (const ReferenceReading& r : readings) {
    sums[r.width_m].first += r.level;
    sums[r.width_m].second += 1;
  }
  for (ReferenceReading& r : readings) r.level -= sums[r.width_m].first / sums[r.width_m].second;
}

struct Split {
  double clock_s = 0, sum_of_squares = 0, step = 0;
};

// The best single step, each part with two visits at least.
Split best_split(const std::vector<ReferenceReading>& sorted) {
  Split best{.sum_of_squares = 1e300};
  for (std::size_t k = 2; k + 2 <= sorted.size(); ++k) {
    if (!(sorted[k].clock_s > sorted[k - 1].clock_s)) continue;
    std::vector<double> before, after;
    for (std::size_t i = 0; i < sorted.size(); ++i) (i < k ? before : after).push_back(sorted[i].level);
    double ss = 0;
    for (const double x : before) ss += (x - math::mean(before)) * (x - math::mean(before));
    for (const double x : after) ss += (x - math::mean(after)) * (x - math::mean(after));
    if (ss < best.sum_of_squares) {
      best = {(sorted[k].clock_s + sorted[k - 1].clock_s) / 2, ss, math::mean(after) - math::mean(before)};
    }
  }
  return best;
}

}  // namespace

const char* name(DriftVerdict verdict) {
  switch (verdict) {
    case DriftVerdict::no_reference: return "no reference point";
    case DriftVerdict::not_judged: return "not judged";
    case DriftVerdict::none_shown: return "none shown";
    case DriftVerdict::trend: return "trend";
    case DriftVerdict::step: return "step";
  }
  return "unknown";
}

Drift find_drift(std::vector<ReferenceReading> readings) {
  Drift out;
  out.readings = readings;
  if (readings.empty()) {
    out.statement =
        "no reference point was repeated: a change of the ground or of an instrument through the day would not be seen";
    return out;
  }
  centre_by_width(readings);
  std::stable_sort(readings.begin(), readings.end(), [](const auto& a, const auto& b) { return a.clock_s < b.clock_s; });
  std::vector<double> clock_h, level;
  std::set<double> times, widths;
  for (const ReferenceReading& r : readings) {
    clock_h.push_back(r.clock_s / 3600);
    level.push_back(r.level);
    times.insert(r.clock_s);
    widths.insert(r.width_m);
  }
  out.middle_clock_s = math::mean(clock_h) * 3600;
  // Each width's own level costs one more degree of freedom.
  const double dof = static_cast<double>(readings.size()) - 1 - static_cast<double>(widths.size());
  if (times.size() < 3 || dof < 1) {
    out.verdict = DriftVerdict::not_judged;
    out.statement = fmt::format(
        "reference point read {} at {}: three times are needed to tell a trend from scatter",
        units::print_count(readings.size(), "time"), times.size() == 1 ? "one time of day" : fmt::format("{} different times", times.size()));
    return out;
  }
  const math::LineFit line = math::fit_line(clock_h, level);
  if (!std::isfinite(line.slope)) {
    out.verdict = DriftVerdict::not_judged;
    out.statement = "reference point: the times do not make a line";
    return out;
  }
  double ss_line = 0, ss_flat = 0;
  for (std::size_t i = 0; i < level.size(); ++i) {
    ss_line += std::pow(level[i] - line.intercept - line.slope * clock_h[i], 2);
    ss_flat += std::pow(level[i] - math::mean(level), 2);
  }
  out.repeat_sd = std::sqrt(ss_line / dof);
  const double error = std::sqrt(line.var_slope * (static_cast<double>(level.size()) - 2) / dof);
  math::Estimate slope;
  slope.value = line.slope;
  slope.n = readings.size();
  const double half = math::student_t_quantile(1 - kShown / 2, dof) * error;
  slope.average_ground = math::Interval{line.slope - half, line.slope + half};
  slope.status = math::kStatusOk;
  out.slope_per_hour = slope;
  const bool trend = std::abs(line.slope) > half && ss_line < ss_flat;
  const Split split = readings.size() >= 4 ? best_split(readings) : Split{.sum_of_squares = 1e300};
  // A step is tried at every gap, so that its F test is held to the number of gaps (Bonferroni).
  if (dof >= 2 && split.sum_of_squares < 0.5 * ss_line) {
    const double f = (ss_flat - split.sum_of_squares) / (split.sum_of_squares / dof);
    const double gaps = static_cast<double>(times.size()) - 1;
    if (1 - math::f_cdf(f, 1, dof) < kShown / gaps) {
      out.verdict = DriftVerdict::step;
      out.split_clock_s = split.clock_s;
      out.statement = fmt::format(
          "reference point: pressure steps by {:+.1f} % after {:.1f} h; the day should be split there: give the two "
          "parts zones of their own",
          std::expm1(split.step) * 100, split.clock_s / 3600);
      return out;
    }
  }
  if (trend) {
    out.verdict = DriftVerdict::trend;
    out.statement = fmt::format(
        "reference point: pressure drifts by {:+.1f} % an hour ({:+.1f} to {:+.1f}), repeats scatter by {:.1f} %",
        line.slope * 100, slope.average_ground->lo * 100, slope.average_ground->hi * 100, out.repeat_sd * 100);
  } else {
    out.verdict = DriftVerdict::none_shown;
    out.statement = fmt::format(
        "reference point: no drift shown ({:+.1f} % an hour, {:+.1f} to {:+.1f}); repeats scatter by {:.1f} %",
        line.slope * 100, slope.average_ground->lo * 100, slope.average_ground->hi * 100, out.repeat_sd * 100);
  }
  return out;
}

std::vector<OperatorPair> compare_operators(const std::vector<OperatorReading>& readings) {
  std::set<std::string> names;
  for (const OperatorReading& r : readings) {
    if (!r.operator_name.empty()) names.insert(r.operator_name);
  }
  std::vector<OperatorPair> out;
  for (auto a = names.begin(); a != names.end(); ++a) {
    for (auto b = std::next(a); b != names.end(); ++b) {
      OperatorPair pair{.first = *a, .second = *b, .pairs = 0, .ratio = std::nullopt, .statement = {}};
      std::map<std::pair<std::string, double>, std::array<std::vector<double>, 2>> cells;
      for (const OperatorReading& r : readings) {
        if (r.operator_name == *a) cells[{r.point, r.width_m}][0].push_back(r.level);
        if (r.operator_name == *b) cells[{r.point, r.width_m}][1].push_back(r.level);
      }
      // Widths of one point are not independent: their differences are averaged there.
      std::map<std::string, std::vector<double>> by_point;
      for (const auto& [where, levels] : cells) {
        if (levels[0].empty() || levels[1].empty()) continue;
        by_point[where.first].push_back(math::mean(levels[1]) - math::mean(levels[0]));
      }
      std::vector<double> differences;
      for (const auto& [point, values] : by_point) differences.push_back(math::mean(values));
      pair.pairs = differences.size();
      if (differences.empty()) {
        pair.statement = fmt::format(
            "operators {} and {} never pushed the same plate at one point: they cannot be compared", *a, *b);
      } else if (differences.size() == 1) {
        pair.statement = fmt::format("operators {} and {}: pressure ratio {:.3f} at one point, no interval", *a, *b,
                                     std::exp(differences[0]));
      } else {
        math::Estimate e = math::estimate_from_points(differences);
        e.value = std::exp(e.value);
        for (auto* interval : {&e.average_ground, &e.next_point}) {
          if (*interval) *interval = math::Interval{std::exp((*interval)->lo), std::exp((*interval)->hi)};
        }
        const bool differ = !e.average_ground->contains(1);
        pair.statement = fmt::format("operators {} and {} {}: pressure ratio {:.3f} ({:.3f} to {:.3f}) over {}",
                                     *a, *b, differ ? "differ" : "are not shown to differ", e.value,
                                     e.average_ground->lo, e.average_ground->hi, units::print_count(pair.pairs, "point"));
        pair.ratio = e;
      }
      out.push_back(std::move(pair));
    }
  }
  return out;
}

}  // namespace hardpan::records
