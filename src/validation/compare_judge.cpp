// SPDX-License-Identifier: Apache-2.0
// docs/theory/validation.md, equation (1) and the paragraphs below it.
// Notation: m runs, d_i mean difference of run i, g relative standard deviation of the calibration that all runs share.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "units/count.hpp"
#include "validation/detail/judge_comparison.hpp"

namespace hardpan::validation {
namespace {

using math::Interval;
using ByRun = std::map<std::string, std::vector<double>>;

double upper_normal() { return math::normal_quantile(0.5 + 0.5 * math::kIntervalLevel); }

std::vector<double> run_means(const ByRun& by_run) {
  std::vector<double> means;
  for (const auto& [run, values] : by_run) means.push_back(math::mean(values));
  return means;
}

// (1) Student interval of run means, with what the runs share in quadrature; one run gives none.
math::Estimate over_runs(const ByRun& differences, const ByRun& shared_errors) {
  math::Estimate e = math::estimate_from_points(run_means(differences));
  const double shared = upper_normal() * std::abs(math::mean(run_means(shared_errors)));
  for (auto* interval : {&e.average_ground, &e.next_point}) {
    if (!*interval) continue;
    const double half = std::hypot(0.5 * (*interval)->width(), shared);
    *interval = Interval{e.value - half, e.value + half};
  }
  return e;
}

bool excludes_zero(const math::Estimate& e) {
  return e.average_ground && (e.average_ground->lo > 0 || e.average_ground->hi < 0);
}

double difference(const ComparedReading& r) { return r.measured - r.predicted; }
double shared_error(const ComparedReading& r) { return r.gain_relative_sd * r.measured; }

void find_bias(Comparison& c) {
  ByRun differences, shared;
  for (const ComparedReading& r : c.readings) {
    differences[r.run].push_back(difference(r));
    shared[r.run].push_back(shared_error(r));
  }
  c.runs = differences.size();
  c.bias = over_runs(differences, shared);
  c.bias_claimed = excludes_zero(c.bias);
}

// Clopper and Pearson (1934) with a success count that need not be whole: a run counts by its share of readings inside.
void find_coverage(Comparison& c) {
  ByRun inside;
  for (const ComparedReading& r : c.readings) {
    c.inside += r.inside ? 1 : 0;
    if (r.next_point) inside[r.run].push_back(r.inside ? 1 : 0);
  }
  if (inside.empty()) return;
  const double m = static_cast<double>(inside.size());
  double x = 0;
  for (const double share : run_means(inside)) x += share;
  const double tail = 0.5 * (1 - math::kIntervalLevel), rounding = 1e-9;
  c.coverage = Interval{x < rounding ? 0.0 : math::beta_quantile(tail, x, m - x + 1),
                        x > m - rounding ? 1.0 : math::beta_quantile(1 - tail, x + 1, m - x)};
}

void find_bands(Comparison& c) {
  std::vector<double> slips;
  for (const ComparedReading& r : c.readings) slips.push_back(r.slip_ratio);
  std::sort(slips.begin(), slips.end());
  const std::vector<double> edges{slips.front(), math::quantile(slips, 1.0 / 3), math::quantile(slips, 2.0 / 3), slips.back()};
  for (std::size_t b = 0; b + 1 < edges.size(); ++b) {
    SlipBand band{.lo = edges[b], .hi = edges[b + 1]};
    if (!(band.hi > band.lo)) continue;
    const bool last = b + 2 == edges.size();
    ByRun differences, shared;
    for (const ComparedReading& r : c.readings) {
      if (r.slip_ratio < band.lo || r.slip_ratio > band.hi || (!last && r.slip_ratio == band.hi)) continue;
      differences[r.run].push_back(difference(r));
      shared[r.run].push_back(shared_error(r));
      ++band.readings;
    }
    if (differences.empty()) continue;
    band.runs = differences.size();
    band.difference = over_runs(differences, shared);
    band.claimed = excludes_zero(band.difference);
    c.bands.push_back(band);
  }
}

// High band minus low band of a value within each run that has both, so that a run's own level drops out.
template <class Value>
std::vector<double> contrasts(const Comparison& c, const Value& value) {
  std::map<std::string, std::pair<std::vector<double>, std::vector<double>>> by_run;
  for (std::size_t i = 0; i < c.readings.size(); ++i) {
    auto& [low, high] = by_run[c.readings[i].run];
    if (c.readings[i].slip_ratio <= c.shape.low_band_hi) low.push_back(value(i));
    if (c.readings[i].slip_ratio >= c.shape.high_band_lo) high.push_back(value(i));
  }
  std::vector<double> out;
  for (const auto& [run, bands] : by_run) {
    if (!bands.first.empty() && !bands.second.empty()) out.push_back(math::mean(bands.second) - math::mean(bands.first));
  }
  return out;
}

void find_shape(Comparison& c, const detail::DrawDifferences& by_draw) {
  if (c.readings.size() < 6 || by_draw.empty() || by_draw.front().empty()) return;
  std::vector<double> slips;
  for (const auto& r : c.readings) slips.push_back(r.slip_ratio);
  const double third = math::quantile(slips, 1.0 / 3), two_thirds = math::quantile(slips, 2.0 / 3);
  if (!(two_thirds - third > 0.03)) return;
  ShapeDiscrepancy& s = c.shape;
  s.low_band_hi = third;
  s.high_band_lo = two_thirds;
  const std::vector<double> centre = contrasts(c, [&](std::size_t i) { return difference(c.readings[i]); });
  if (centre.size() < 3) return;
  const double runs = static_cast<double>(centre.size());
  const double student = math::student_t_quantile(0.5 + 0.5 * math::kIntervalLevel, runs - 1) * std::sqrt(math::variance(centre) / runs);
  const double shared = upper_normal() * math::mean(contrasts(c, [&](std::size_t i) { return shared_error(c.readings[i]); }));
  const double half = std::hypot(student, shared);
  std::vector<double> over_draws;
  for (std::size_t k = 0; k < by_draw.front().size(); ++k) {
    over_draws.push_back(math::mean(contrasts(c, [&](std::size_t i) { return by_draw[i][k]; })));
  }
  const auto range = detail::central_interval(over_draws);
  if (!range) return;
  s.difference = math::mean(centre);
  s.over_possible_soils = {range->lo - half, range->hi + half};
  s.shown = s.over_possible_soils.lo > 0 || s.over_possible_soils.hi < 0;
  s.runs = centre.size();
}

std::string readings_are(std::size_t n, const char* one, const char* many) {
  return units::print_count(n, "reading") + " " + (n == 1 ? one : many);
}

units::Dimension dimension_of(const Comparison& c) {
  return c.unit_si == "m" ? units::Dimension::length : c.unit_si == "N m" ? units::Dimension::torque : units::Dimension::none;
}

// A vehicle that is towed or rolls free slips too, a little the other way.
std::string how_free_rolling(const Comparison& c) {
  if (!c.towed_slip) return "; towed or rolling free it lies a little below 0 %";
  const std::string lo = fmt::format("{:.1f}", 100 * c.towed_slip->lo), hi = fmt::format("{:.1f}", 100 * c.towed_slip->hi);
  return fmt::format("; the towed runs of this vehicle here slipped {} %", lo == hi ? lo : lo + " to " + hi);
}

}  // namespace

std::string shape_statement(const Comparison& c, units::OutputUnits units) {
  const ShapeDiscrepancy& s = c.shape;
  if (s.runs == 0) return "";
  const std::string runs = units::print_count(s.runs, "run");
  if (!s.shown) return "No discrepancy of shape between low and high slip is shown by " + runs + ".";
  return fmt::format("Discrepancy of shape: from slips up to {:.0f} % to slips from {:.0f} % the measured {} {} by {} more than the model lets it (95 %: {} over possible soils and {}); "
                     "no soil parameter mends this, the model lacks what causes it.",
                     100 * s.low_band_hi, 100 * s.high_band_lo, c.quantity, s.difference < 0 ? "falls" : "rises", units::print_quantity(std::abs(s.difference), dimension_of(c), units),
                     units::print_interval(s.over_possible_soils.lo, s.over_possible_soils.hi, dimension_of(c), units), runs);
}

std::string statement_of(const Comparison& c, units::OutputUnits units) {
  std::string out;
  if (c.readings.empty()) {
    out = "No reading of this kind to compare with.";
  } else if (c.bias_claimed) {
    out = fmt::format("Bias: the measured {} lies {} {} the prediction (95 % over {}: {}).", c.quantity,
                      units::print_quantity(std::abs(c.bias.value), dimension_of(c), units), c.bias.value < 0 ? "below" : "above", units::print_count(c.runs, "run"),
                      units::print_interval(c.bias.average_ground->lo, c.bias.average_ground->hi, dimension_of(c), units));
  } else {
    out = fmt::format("A bias of the {} is not shown by {}.", c.quantity, units::print_count(c.runs, "run"));
  }
  if (c.coverage) {
    out += fmt::format(" {} of {} {} inside {} 95 % next-point interval (share over runs {:.0f} to {:.0f} %{}).", c.inside,
                       units::print_count(c.readings.size(), "reading"), c.readings.size() == 1 ? "lies" : "lie", c.readings.size() == 1 ? "its" : "their", 100 * c.coverage->lo, 100 * c.coverage->hi,
                       c.coverage->hi >= math::kIntervalLevel ? "" : c.bias_claimed ? ": too few, with this bias" : ": the intervals are too narrow");
  }
  if (c.without_prediction > 0) {
    out += " " + readings_are(c.without_prediction, "has", "have") + " no prediction: the best-estimate soil does not carry the vehicle there.";
  }
  if (c.without_slip > 0) {
    out += fmt::format(" {} {} no slip and {} not compared: add a column slip to the rut sheet, from wheel turns over a taped distance on that pass{}.",
                       units::print_count(c.without_slip, "rut"), c.without_slip == 1 ? "has" : "have", c.without_slip == 1 ? "is" : "are", how_free_rolling(c));
  }
  if (c.set_aside > 0) {
    out += " " + readings_are(c.set_aside, "was", "were") + " set aside: slip over 95 %, or the load cell at its end.";
  }
  if (!c.note.empty() && !c.readings.empty()) out += " " + c.note;
  if (const std::string shape = shape_statement(c, units); !shape.empty()) out += " " + shape;  // last: the report sets it apart
  return out;
}

namespace detail {

std::optional<Interval> central_interval(std::vector<double> values) {
  std::erase_if(values, [](double x) { return std::isnan(x); });
  if (values.size() < 20) return std::nullopt;
  std::sort(values.begin(), values.end());
  const double last = static_cast<double>(values.size() - 1), tail = 0.5 * (1 - math::kIntervalLevel);
  return Interval{values[static_cast<std::size_t>(std::floor(tail * last))],
                  values[static_cast<std::size_t>(std::ceil((1 - tail) * last))]};
}

void judge_comparison(Comparison& c, const DrawDifferences& by_draw) {
  if (c.readings.empty()) {
    c.bias = math::estimate_without_interval(std::numeric_limits<double>::quiet_NaN(), "no readings");
  } else {
    find_bias(c);
    find_coverage(c);
    find_bands(c);
    find_shape(c, by_draw);
  }
  c.shape.statement = shape_statement(c, units::OutputUnits::si);
  c.statement = statement_of(c, units::OutputUnits::si);
}

}  // namespace detail
}  // namespace hardpan::validation
