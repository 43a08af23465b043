// SPDX-License-Identifier: Apache-2.0
// Differences are measured minus predicted. Per-draw predictions are computed on a grid of slips for
// each class of gradient (3 degrees; at the class's mean gradient) and weight (2 %) and interpolated linearly
// in slip. At most 200 draws of each kind enter.
#include "validation/compare.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "records/slip.hpp"

namespace hardpan::validation {
namespace {

using math::Interval;
using performance::OnSoil;
using performance::Placed;

enum class Quantity { coefficient, torque, sinkage };

struct Reading {
  ComparedReading out;
  double weight_n = 0;
};

// Values of one quantity for every draw at every slip of a grid; row k of a draw.
struct Surface {
  std::vector<double> slips;
  std::vector<double> centre;                       // per slip
  std::vector<std::vector<double>> average, next;   // per slip, per draw
};

double read_state(Quantity q, const OnSoil& on, const performance::State& s, double gradient) {
  if (!s.balanced()) return std::numeric_limits<double>::quiet_NaN();
  double sum = 0;
  for (std::size_t k = 0; k < s.axles; ++k) {
    if (q == Quantity::torque && on.plain.axle[k].driven) sum += on.plain.axle[k].wheels * s.wheel[k].torque_n_m;
    if (q == Quantity::sinkage) sum = std::max(sum, s.wheel[k].sinkage_m);
  }
  return q == Quantity::coefficient ? s.net_force_n / (on.plain.weight_n * std::cos(gradient)) : sum;
}

constexpr std::size_t kDrawsCompared = 200;

Placed with_weight(const Placed& placed, double factor) {
  Placed p = placed;
  if (p.average.size() > kDrawsCompared) p.average.erase(p.average.begin() + kDrawsCompared, p.average.end());
  if (p.next_point.size() > kDrawsCompared) p.next_point.erase(p.next_point.begin() + kDrawsCompared, p.next_point.end());
  const auto scale = [&](OnSoil& on) {
    on.plain.weight_n *= factor;
    if (on.sinking) on.sinking->weight_n *= factor;
  };
  scale(p.centre);
  for (OnSoil& on : p.average) scale(on);
  for (OnSoil& on : p.next_point) scale(on);
  return p;
}

Surface surface(const Placed& placed, Quantity q, double gradient, double lo, double hi) {
  Surface out;
  constexpr int kSlips = 10;
  for (int j = 0; j < kSlips; ++j) {  // denser where the curve bends: spaced in the cube root of slip
    const double a = std::cbrt(lo), b = std::cbrt(hi), t = a + (b - a) * j / (kSlips - 1);
    out.slips.push_back(t * t * t);
    const double slip = out.slips.back();
    const performance::Outcome o = performance::outcome(
        placed, [&](std::span<const OnSoil> on, std::span<performance::DrawAnswer> answers, performance::Workspace& space) {
          std::vector<performance::State> s(on.size());
          performance::states_at_slip(on, slip, gradient, s, space);
          for (std::size_t i = 0; i < on.size(); ++i) answers[i].value = read_state(q, on[i], s[i], gradient);
        });
    out.centre.push_back(o.centre);
    out.average.push_back(o.average);
    out.next.push_back(o.next_point);
  }
  return out;
}

struct Weighting {
  std::size_t j = 0;
  double t = 0;
};
Weighting place_in(const std::vector<double>& slips, double s) {
  std::size_t j = 0;
  while (j + 2 < slips.size() && slips[j + 1] < s) ++j;
  const double width = slips[j + 1] - slips[j];
  return {j, width > 0 ? std::clamp((s - slips[j]) / width, 0.0, 1.0) : 0.0};
}

std::optional<Interval> central(std::vector<double> v) {
  std::erase_if(v, [](double x) { return !std::isfinite(x); });
  if (v.size() < 20) return std::nullopt;
  return Interval{math::quantile(v, 0.025), math::quantile(v, 0.975)};
}

// Student interval of run means; n = 1 gives none.
math::Estimate over_runs(const std::map<std::string, std::vector<double>>& by_run) {
  std::vector<double> means;
  for (const auto& [run, values] : by_run) means.push_back(math::mean(values));
  math::Estimate e = math::estimate_from_points(means);
  return e;
}

bool excludes_zero(const math::Estimate& e) {
  return e.average_ground && (e.average_ground->lo > 0 || e.average_ground->hi < 0);
}

// Reading-by-draw differences for the average soils, [reading][draw].
using DrawDifferences = std::vector<std::vector<double>>;

void name_shape(Comparison& c, const DrawDifferences& by_draw) {
  if (c.readings.size() < 6 || by_draw.empty() || by_draw.front().empty()) return;
  std::vector<double> slips;
  for (const auto& r : c.readings) slips.push_back(r.slip_ratio);
  const double third = math::quantile(slips, 1.0 / 3), two_thirds = math::quantile(slips, 2.0 / 3);
  if (!(two_thirds - third > 0.03)) return;
  // Contrast (high band minus low band) within each run that has both, so that a run's own level drops out.
  const auto contrast_over_runs = [&](const auto& difference) {
    std::map<std::string, std::pair<std::vector<double>, std::vector<double>>> by_run;
    for (std::size_t i = 0; i < c.readings.size(); ++i) {
      auto& [low, high] = by_run[c.readings[i].run];
      if (c.readings[i].slip_ratio <= third) low.push_back(difference(i));
      if (c.readings[i].slip_ratio >= two_thirds) high.push_back(difference(i));
    }
    std::vector<double> contrasts;
    for (const auto& [run, bands] : by_run) {
      if (!bands.first.empty() && !bands.second.empty()) {
        contrasts.push_back(math::mean(bands.second) - math::mean(bands.first));
      }
    }
    return contrasts;
  };
  const std::vector<double> centre = contrast_over_runs(
      [&](std::size_t i) { return c.readings[i].measured - c.readings[i].predicted; });
  if (centre.size() < 3) return;
  const double n = static_cast<double>(centre.size());
  const double se = std::sqrt(math::variance(centre) / n);
  const double half = math::student_t_quantile(0.975, n - 1) * se;
  std::vector<double> over_draws;
  for (std::size_t k = 0; k < by_draw.front().size(); ++k) {
    const std::vector<double> d = contrast_over_runs([&](std::size_t i) { return by_draw[i][k]; });
    const double m = math::mean(d);
    if (std::isfinite(m)) over_draws.push_back(m);
  }
  const auto range = central(over_draws);
  if (!range) return;
  ShapeDiscrepancy& s = c.shape;
  s.low_band_hi = third;
  s.high_band_lo = two_thirds;
  s.difference = math::mean(centre);
  s.over_possible_soils = {range->lo - half, range->hi + half};
  s.shown = s.over_possible_soils.lo > 0 || s.over_possible_soils.hi < 0;
  s.statement = s.shown
      ? fmt::format("Discrepancy of shape: from slips up to {:.0f} % to slips from {:.0f} % the measured {} {} by {:.3f} "
                    "more than the model lets it (95 %: {:.3f} to {:.3f} over possible soils and {} runs); no soil "
                    "parameter mends this, the model lacks what causes it.",
                    100 * third, 100 * two_thirds, c.quantity, s.difference < 0 ? "falls" : "rises",
                    std::abs(s.difference), s.over_possible_soils.lo, s.over_possible_soils.hi, centre.size())
      : fmt::format("No discrepancy of shape between low and high slip is shown by {} runs.", centre.size());
}

void finish(Comparison& c, const DrawDifferences& by_draw) {
  std::map<std::string, std::vector<double>> by_run;
  std::vector<double> slips;
  for (const ComparedReading& r : c.readings) {
    by_run[r.run].push_back(r.measured - r.predicted);
    slips.push_back(r.slip_ratio);
    c.inside += r.inside ? 1 : 0;
  }
  c.runs = by_run.size();
  if (c.readings.empty()) {
    c.statement = "No reading of this kind to compare with.";
    c.bias = math::estimate_without_interval(std::numeric_limits<double>::quiet_NaN(), "no readings");
    return;
  }
  c.bias = over_runs(by_run);
  c.bias_claimed = excludes_zero(c.bias);
  const bool have_intervals = c.readings.front().next_point.has_value();
  if (have_intervals) {
    // The run is the unit: its share of readings inside counts as that share of one trial.
    const double share = static_cast<double>(c.inside) / static_cast<double>(c.readings.size());
    const auto hits = static_cast<std::size_t>(std::lround(share * static_cast<double>(c.runs)));
    c.coverage = math::clopper_pearson(hits, c.runs);
  }
  std::sort(slips.begin(), slips.end());
  const std::vector<double> edges{slips.front(), math::quantile(slips, 1.0 / 3), math::quantile(slips, 2.0 / 3), slips.back()};
  for (std::size_t b = 0; b + 1 < edges.size(); ++b) {
    SlipBand band{.lo = edges[b], .hi = edges[b + 1]};
    if (!(band.hi > band.lo)) continue;
    std::map<std::string, std::vector<double>> in_band;
    for (const ComparedReading& r : c.readings) {
      const bool last = b + 2 == edges.size();
      if (r.slip_ratio < band.lo || r.slip_ratio > band.hi || (!last && r.slip_ratio == band.hi)) continue;
      in_band[r.run].push_back(r.measured - r.predicted);
      ++band.readings;
    }
    if (in_band.empty()) continue;
    band.runs = in_band.size();
    band.difference = over_runs(in_band);
    band.claimed = excludes_zero(band.difference);
    c.bands.push_back(band);
  }
  name_shape(c, by_draw);
  const char* way = c.bias.value < 0 ? "below" : "above";
  c.statement = c.bias_claimed
      ? fmt::format("Bias: the measured {} lies {:.3g} {} {} the prediction (95 % over {} runs: {:.3g} to {:.3g}).", c.quantity,
                    std::abs(c.bias.value), c.unit_si, way, c.runs, c.bias.average_ground->lo, c.bias.average_ground->hi)
      : fmt::format("A bias of the {} is not shown by {} run{}.", c.quantity, c.runs, c.runs == 1 ? "" : "s");
  if (have_intervals) {
    c.statement += fmt::format(" {} of {} readings lie inside their 95 % next-point interval.", c.inside, c.readings.size());
  }
  if (!c.shape.statement.empty()) c.statement += " " + c.shape.statement;
}

void compare(const Placed& placed, Quantity q, std::vector<Reading> readings, Comparison& c) {
  c.vehicle = placed.vehicle;
  c.zone = placed.zone;
  std::map<std::pair<long, long>, std::vector<std::size_t>> classes;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const double relative = readings[i].weight_n / placed.centre.plain.weight_n;
    classes[{std::lround(readings[i].out.gradient_rad * 60 / std::numbers::pi), std::lround(std::log(relative) / 0.02)}]
        .push_back(i);
  }
  DrawDifferences by_draw(readings.size());
  for (const auto& [key, members] : classes) {
    double gradient = 0, weight = 0, lo = 1, hi = -1;
    for (const std::size_t i : members) {
      gradient += readings[i].out.gradient_rad / static_cast<double>(members.size());
      weight += readings[i].weight_n / static_cast<double>(members.size());
      lo = std::min(lo, readings[i].out.slip_ratio);
      hi = std::max(hi, readings[i].out.slip_ratio);
    }
    if (hi - lo < 0.02) {
      lo -= 0.01;
      hi += 0.01;
    }
    const Surface s = surface(with_weight(placed, weight / placed.centre.plain.weight_n), q, gradient,
                              std::max(lo, -0.95), std::min(hi, 0.95));
    for (const std::size_t i : members) {
      ComparedReading& r = readings[i].out;
      const Weighting w = place_in(s.slips, r.slip_ratio);
      const auto at = [&](double a, double b) { return a + w.t * (b - a); };
      r.predicted = at(s.centre[w.j], s.centre[w.j + 1]);
      std::vector<double> average, next;
      const std::size_t draws = s.average[w.j].size();
      for (std::size_t k = 0; k < draws; ++k) {
        average.push_back(at(s.average[w.j][k], s.average[w.j + 1][k]));
        next.push_back(at(s.next[w.j][k], s.next[w.j + 1][k]));
        by_draw[i].push_back(r.measured - average.back());
      }
      r.average_ground = central(average);
      r.next_point = central(next);
      if (r.next_point) {
        // The reading's own error widens what it is compared with, in quadrature about the centre.
        const auto widen = [&](Interval& v) {
          const double e = 1.96 * r.measured_se;
          v.lo = r.predicted - std::hypot(r.predicted - v.lo, e);
          v.hi = r.predicted + std::hypot(v.hi - r.predicted, e);
        };
        widen(*r.next_point);
        if (r.average_ground) widen(*r.average_ground);
        r.inside = r.next_point->contains(r.measured);
      }
      c.readings.push_back(r);
    }
  }
  // readings were regrouped: put the differences in the same order.
  DrawDifferences ordered;
  for (const auto& [key, members] : classes) {
    for (const std::size_t i : members) ordered.push_back(std::move(by_draw[i]));
  }
  // A prediction that does not exist (the soil does not carry the vehicle at that slip) cannot be compared.
  for (std::size_t i = c.readings.size(); i-- > 0;) {
    if (std::isfinite(c.readings[i].predicted)) continue;
    c.readings.erase(c.readings.begin() + static_cast<std::ptrdiff_t>(i));
    ordered.erase(ordered.begin() + static_cast<std::ptrdiff_t>(i));
  }
  finish(c, ordered);
}

double model_radius(const Placed& placed) {
  for (std::size_t k = 0; k < placed.centre.plain.axles; ++k) {
    const auto& a = placed.centre.plain.axle[k];
    if (a.driven) return a.contact.torque_radius_m > 0 ? a.contact.torque_radius_m : a.contact.shearing_radius_m;
  }
  return placed.centre.plain.axle[0].contact.shearing_radius_m;
}

template <class Accept>
std::vector<Reading> windows(const Placed& placed, const records::DrawbarResult& drawbar, const Accept& accept) {
  std::vector<Reading> out;
  for (const records::PullWindow& w : drawbar.windows) {
    if (w.vehicle != placed.vehicle || w.zone != placed.zone || !w.slip_ratio || !(w.weight_n > 0)) continue;
    if (w.kind != records::LogKind::tow) continue;
    Reading r;
    if (!accept(w, r.out)) continue;
    r.out.file = w.file;
    r.out.id = w.id;
    r.out.run = w.run.empty() ? w.id : w.run;
    r.out.line = w.first_line;
    r.out.gradient_rad = w.gradient_rad;
    r.out.slip_ratio = w.rolling_radius_m > 0
                           ? records::slip_with_radius(*w.slip_ratio, w.rolling_radius_m, model_radius(placed))
                           : *w.slip_ratio;
    r.weight_n = w.weight_n;
    if (!(std::abs(r.out.slip_ratio) < 0.95)) continue;
    out.push_back(r);
  }
  return out;
}

}  // namespace

Comparison compare_pull(const Placed& placed, const records::DrawbarResult& drawbar) {
  Comparison c{.quantity = "pull coefficient", .unit_si = ""};
  compare(placed, Quantity::coefficient, windows(placed, drawbar, [](const records::PullWindow& w, ComparedReading& r) {
            if (!w.coefficient) return false;
            r.measured = *w.coefficient;
            r.measured_se = std::hypot(w.coefficient_se, w.gain_relative_sd * *w.coefficient);
            return true;
          }), c);
  return c;
}

Comparison compare_torque(const Placed& placed, const records::DrawbarResult& drawbar) {
  Comparison c{.quantity = "torque", .unit_si = "N m"};
  compare(placed, Quantity::torque, windows(placed, drawbar, [](const records::PullWindow& w, ComparedReading& r) {
            if (!w.torque_n_m || w.efficiency_kind != records::EfficiencyKind::tractive) return false;
            r.measured = *w.torque_n_m;
            return true;
          }), c);
  return c;
}

Comparison compare_sinkage(const Placed& placed, const records::DrawbarResult& drawbar) {
  Comparison c{.quantity = "sinkage", .unit_si = "m"};
  std::vector<Reading> readings;
  for (const records::SinkagePoint& p : drawbar.ruts.sinkage) {
    if (p.vehicle != placed.vehicle || p.zone != placed.zone || p.pass != 1) continue;
    Reading r;
    r.out = {.file = p.file, .id = p.depth_kind, .run = p.run.empty() ? fmt::format("{}:{}", p.file, p.line) : p.run,
             .line = p.line, .gradient_rad = p.gradient_rad, .measured = p.sinkage_m};
    r.out.slip_ratio = p.rolling_radius_m ? records::slip_with_radius(p.slip_ratio, *p.rolling_radius_m, model_radius(placed))
                                          : p.slip_ratio;
    r.weight_n = p.weight_n > 0 ? p.weight_n : placed.centre.plain.weight_n;
    if (std::abs(r.out.slip_ratio) < 0.95) readings.push_back(r);
  }
  compare(placed, Quantity::sinkage, readings, c);
  return c;
}

Comparison compare_resistance(const Placed& placed, const performance::Outcome& towed,
                              const records::DrawbarResult& drawbar) {
  Comparison c{.quantity = "motion resistance coefficient", .unit_si = ""};
  c.vehicle = placed.vehicle;
  c.zone = placed.zone;
  for (const records::MotionResistance& m : drawbar.resistances) {
    if (m.vehicle != placed.vehicle || m.zone != placed.zone || m.method != records::ResistanceMethod::towed) continue;
    ComparedReading r{.id = records::name(m.method), .run = fmt::format("{} {}", records::name(m.method), c.readings.size() + 1),
                      .measured = m.coefficient.value, .predicted = towed.estimate.value,
                      .average_ground = towed.estimate.average_ground, .next_point = towed.estimate.next_point};
    if (!std::isfinite(r.predicted)) continue;
    r.inside = r.next_point && r.next_point->contains(r.measured);
    c.readings.push_back(r);
  }
  finish(c, {});
  return c;
}

std::vector<GradientComparison> compare_gradients(const performance::Prediction& prediction,
                                                  const records::DrawbarResult& drawbar) {
  constexpr double kDeg = 180 / std::numbers::pi;
  std::vector<GradientComparison> out;
  for (const records::SlopeLimits& s : drawbar.slopes) {
    if (s.vehicle != prediction.vehicle || s.zone != prediction.zone || s.downhill) continue;
    GradientComparison g{.vehicle = s.vehicle, .zone = s.zone, .bracket = s.bracket,
                         .predicted_rad = prediction.gradient_maximum.estimate,
                         .predicted_working_rad = prediction.gradient_working.estimate};
    g.bracketed = s.bracket.go_rad && s.bracket.no_go_rad;
    const double lo = s.bracket.go_rad.value_or(-1.5), hi = s.bracket.no_go_rad.value_or(1.5);
    if (g.predicted_rad.next_point) {
      g.consistent = g.predicted_rad.next_point->lo <= hi && g.predicted_rad.next_point->hi >= lo;
      g.statement = fmt::format("{} Predicted largest gradient {:.1f} deg ({:.1f} to {:.1f} at the next point): {}.", s.bracket.text,
                                g.predicted_rad.value * kDeg, g.predicted_rad.next_point->lo * kDeg,
                                g.predicted_rad.next_point->hi * kDeg,
                                g.consistent ? "consistent with the trials" : "contradicted by the trials");
    } else {
      g.consistent = g.predicted_rad.value >= lo && g.predicted_rad.value <= hi;
      g.statement = fmt::format("{} Predicted largest gradient {:.1f} deg, without an interval.", s.bracket.text,
                                g.predicted_rad.value * kDeg);
    }
    out.push_back(g);
  }
  return out;
}

}  // namespace hardpan::validation
