// SPDX-License-Identifier: Apache-2.0
// Differences are measured minus predicted. The best-estimate soil answers each reading at its own slip, gradient and weight. How far each
// possible soil lies from the centre is computed on a grid of slips for each class of gradient (3 degrees; at the class's mean
// gradient) and weight (2 %) and interpolated linearly in slip: the deviation bends far less than the curve itself. At most 200
// draws of each kind enter. docs/theory/validation.md.
#include "validation/compare.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "records/slip.hpp"
#include "validation/detail/judge_comparison.hpp"

namespace hardpan::validation {
namespace {

using math::Interval;
using performance::OnSoil;
using performance::Placed;

enum class Quantity { coefficient, torque, sinkage };

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr std::size_t kDrawsCompared = 200;
constexpr double kMostSlip = 0.95;

struct Reading {
  ComparedReading out;
  double weight_n = 0;
};

// Values of one quantity for every draw at every slip of a grid. Infinite where that soil does not carry the vehicle, NaN where
// it has no numerical answer.
struct Surface {
  std::vector<double> slips;
  std::vector<double> centre;                       // per slip
  std::vector<std::vector<double>> average, next;   // per slip, per draw
};

// On the bad side of every measurement: no pull, sinkage and torque without bound.
double immobilised(Quantity q) { return q == Quantity::coefficient ? -kInfinity : kInfinity; }

double read_state(Quantity q, const OnSoil& on, const performance::State& s, double gradient) {
  using performance::StateStatus;
  if (s.status == StateStatus::not_converged || s.status == StateStatus::beyond_wheel_data || s.status == StateStatus::wheel_spins) return kNaN;
  if (!s.balanced()) return immobilised(q);
  if (q == Quantity::sinkage) return s.deepest_m();
  double sum = 0;
  for (std::size_t k = 0; k < s.axles; ++k) {
    if (q == Quantity::torque && on.plain.axle[k].driven) sum += on.plain.axle[k].wheels * s.wheel[k].torque_n_m;
  }
  return q == Quantity::coefficient ? s.net_force_n / (on.plain.weight_n * std::cos(gradient)) : sum;
}

void scale_weight(OnSoil& on, double factor) {
  on.plain.weight_n *= factor;
  if (on.sinking) on.sinking->weight_n *= factor;
}

Placed with_weight(const Placed& placed, double factor) {
  Placed p{.vehicle = placed.vehicle, .zone = placed.zone, .centre = placed.centre, .reason_without = placed.reason_without,
           .population = placed.population, .redrawn = placed.redrawn, .points = placed.points, .plan = placed.plan};
  const auto take = [&](const std::vector<OnSoil>& from, std::vector<OnSoil>& to) {
    to.assign(from.begin(), from.begin() + static_cast<std::ptrdiff_t>(std::min(from.size(), kDrawsCompared)));
    for (OnSoil& on : to) scale_weight(on, factor);
  };
  take(placed.average, p.average);
  take(placed.next_point, p.next_point);
  scale_weight(p.centre, factor);
  return p;
}

// The best-estimate soil at one slip, gradient and weight.
double on_centre(const Placed& placed, Quantity q, const Reading& r, performance::Workspace& space) {
  OnSoil on = placed.centre;
  scale_weight(on, r.weight_n / placed.centre.plain.weight_n);
  performance::State s;
  performance::states_at_slip({&on, 1}, r.out.slip_ratio, r.out.gradient_rad, {&s, 1}, space);
  return read_state(q, on, s, r.out.gradient_rad);
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

// How far a possible soil lies from the centre at one slip of the grid: infinite where it does not carry the vehicle, NaN where
// that is not known.
double deviation(double draw, double centre) {
  if (!std::isfinite(draw)) return draw;
  return std::isfinite(centre) ? draw - centre : kNaN;
}
// Linear between two known deviations; else the one that is known, else the nearer one.
double between(double a, double b, double t) {
  if (std::isfinite(a) && std::isfinite(b)) return a + t * (b - a);
  if (std::isnan(a)) return b;
  if (std::isnan(b)) return a;
  return t < 0.5 ? a : b;
}

// One class of gradient and weight: the intervals of its readings, and what each possible average soil leaves of them.
void predict_class(const Placed& placed, Quantity q, const std::vector<std::size_t>& members, std::vector<Reading>& readings,
                   detail::DrawDifferences& by_draw) {
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
                            std::max(lo, -kMostSlip), std::min(hi, kMostSlip));
  for (const std::size_t i : members) {
    ComparedReading& r = readings[i].out;
    const Weighting w = place_in(s.slips, r.slip_ratio);
    const auto at = [&](const std::vector<std::vector<double>>& rows, std::size_t draw) {
      return r.predicted + between(deviation(rows[w.j][draw], s.centre[w.j]), deviation(rows[w.j + 1][draw], s.centre[w.j + 1]), w.t);
    };
    std::vector<double> average, next;
    for (std::size_t k = 0; k < s.average[w.j].size(); ++k) {
      average.push_back(at(s.average, k));
      next.push_back(at(s.next, k));
      // A possible soil that does not carry the vehicle where it was driven has no shape to compare.
      by_draw[i].push_back(std::isfinite(average.back()) ? r.measured - average.back() : kNaN);
    }
    if (q == Quantity::coefficient) {  // as elsewhere: no pull at all, as if the resistance were the whole weight
      for (auto* values : {&average, &next}) std::replace(values->begin(), values->end(), -kInfinity, -1.0);
    }
    r.average_ground = detail::central_interval(average);
    r.next_point = detail::central_interval(next);
    // As in estimate_of_outcome: a point lies about its average.
    if (r.next_point && r.average_ground) r.next_point = Interval{std::min(r.next_point->lo, r.average_ground->lo), std::max(r.next_point->hi, r.average_ground->hi)};
  }
}

// The reading's own error widens what it is compared with, in quadrature about the centre.
void widen_and_judge(ComparedReading& r) {
  const double e = 1.96 * r.measured_se;
  for (auto* v : {&r.average_ground, &r.next_point}) {
    if (!*v) continue;
    (*v)->lo = r.predicted - std::hypot(r.predicted - (*v)->lo, e);
    (*v)->hi = r.predicted + std::hypot((*v)->hi - r.predicted, e);
  }
  r.inside = r.next_point && r.next_point->contains(r.measured);
}

void compare(const Placed& placed, Quantity q, std::vector<Reading> readings, Comparison& c) {
  c.vehicle = placed.vehicle;
  c.zone = placed.zone;
  performance::Workspace space;
  space.target = placed.plan.target;
  for (Reading& r : readings) r.out.predicted = on_centre(placed, q, r, space);
  c.without_prediction += static_cast<std::size_t>(
      std::erase_if(readings, [](const Reading& r) { return !std::isfinite(r.out.predicted); }));
  detail::DrawDifferences by_draw(readings.size());
  if (!placed.average.empty()) {
    std::map<std::pair<long, long>, std::vector<std::size_t>> classes;
    for (std::size_t i = 0; i < readings.size(); ++i) {
      const double relative = readings[i].weight_n / placed.centre.plain.weight_n;
      classes[{std::lround(readings[i].out.gradient_rad * 60 / std::numbers::pi), std::lround(std::log(relative) / 0.02)}]
          .push_back(i);
    }
    for (const auto& [key, members] : classes) predict_class(placed, q, members, readings, by_draw);
  }
  for (Reading& r : readings) {
    widen_and_judge(r.out);
    c.readings.push_back(std::move(r.out));
  }
  detail::judge_comparison(c, by_draw);
}

}  // namespace

namespace detail {

// The radius that the model's slip refers to. A tyre without a measured one has its deflected radius, which the state of the wheel
// tells; a level, slowly driven vehicle stands for all.
double model_radius(const Placed& placed) {
  const performance::Machine& m = placed.centre.plain;
  std::size_t k = 0;
  while (k + 1 < m.axles && !m.axle[k].driven) ++k;
  const contact::Contact& wheel = m.axle[k].contact;
  if (wheel.torque_radius_m > 0) return wheel.torque_radius_m;
  performance::Workspace space;
  performance::State s;
  performance::states_at_slip({&placed.centre, 1}, 0.1, 0, {&s, 1}, space);
  return s.balanced() && s.wheel[k].torque_radius_m > 0 ? s.wheel[k].torque_radius_m : wheel.shearing_radius_m;
}

}  // namespace detail

namespace {

using detail::model_radius;

// `accept` says whether a window is a measure of the quantity: yes (values filled), no, or spoilt.
enum class Use { yes, no, spoilt };

template <class Accept>
std::vector<Reading> windows(const Placed& placed, const records::DrawbarResult& drawbar, Comparison& c, const Accept& accept) {
  std::vector<Reading> out;
  const double radius = model_radius(placed);
  for (const records::PullWindow& w : drawbar.windows) {
    if (w.vehicle != placed.vehicle || w.zone != placed.zone || !w.slip_ratio || !(w.weight_n > 0)) continue;
    if (w.kind != records::LogKind::tow) continue;
    Reading r;
    const Use use = accept(w, r.out);
    if (use == Use::no) continue;
    r.out.file = w.file;
    r.out.id = w.id;
    r.out.run = w.run.empty() ? w.id : w.run;
    r.out.line = w.first_line;
    r.out.gradient_rad = w.gradient_rad;
    r.out.slip_ratio =
        w.rolling_radius_m > 0 ? records::slip_with_radius(*w.slip_ratio, w.rolling_radius_m, radius) : *w.slip_ratio;
    r.weight_n = w.weight_n;
    if (use == Use::spoilt || !(std::abs(r.out.slip_ratio) < kMostSlip)) {
      ++c.set_aside;
      continue;
    }
    out.push_back(r);
  }
  return out;
}

}  // namespace

Comparison compare_pull(const Placed& placed, const records::DrawbarResult& drawbar) {
  Comparison c{.quantity = "pull coefficient", .unit_si = ""};
  compare(placed, Quantity::coefficient, windows(placed, drawbar, c, [](const records::PullWindow& w, ComparedReading& r) {
            if (!w.coefficient) return Use::no;
            if (w.saturated > 0) return Use::spoilt;  // the pull was more than the load cell could say
            r.measured = *w.coefficient;
            r.gain_relative_sd = w.gain_relative_sd;
            r.measured_se = std::hypot(w.coefficient_se, w.gain_relative_sd * *w.coefficient);
            return Use::yes;
          }), c);
  return c;
}

Comparison compare_torque(const Placed& placed, const records::DrawbarResult& drawbar) {
  Comparison c{.quantity = "torque of all driven wheels", .unit_si = "N m"};
  compare(placed, Quantity::torque, windows(placed, drawbar, c, [](const records::PullWindow& w, ComparedReading& r) {
            if (!w.torque_n_m || w.efficiency_kind != records::EfficiencyKind::tractive) return Use::no;
            r.measured = *w.torque_n_m;
            // The power is torque times a speed that is known far better.
            if (w.power_in_w && *w.power_in_w > 0) r.measured_se = w.power_in_se_w / *w.power_in_w * std::abs(r.measured);
            return Use::yes;
          }), c);
  return c;
}

Comparison compare_sinkage(const Placed& placed, const records::DrawbarResult& drawbar) {
  Comparison c{.quantity = "sinkage", .unit_si = "m"};
  const auto wanted = [&](const records::SinkagePoint& p) {
    return p.vehicle == placed.vehicle && p.zone == placed.zone && p.pass == 1;
  };
  const auto rebounded = [](const records::SinkagePoint& p) { return p.depth_kind == "after"; };
  // The model tells the depth under the wheel. The empty rut is shallower by the rebound and serves only where there is nothing else.
  const auto& all = drawbar.ruts.sinkage;
  const bool loaded = std::any_of(all.begin(), all.end(), [&](const auto& p) { return wanted(p) && !rebounded(p); });
  std::vector<Reading> readings;
  const double radius = model_radius(placed);
  for (const records::SinkagePoint& p : all) {
    if (!wanted(p) || (loaded && rebounded(p))) continue;
    Reading r;
    r.out = {.file = p.file, .id = p.depth_kind, .run = p.run.empty() ? fmt::format("{}:{}", p.file, p.line) : p.run,
             .line = p.line, .gradient_rad = p.gradient_rad, .measured = p.sinkage_m};
    r.out.slip_ratio = p.rolling_radius_m ? records::slip_with_radius(p.slip_ratio, *p.rolling_radius_m, radius) : p.slip_ratio;
    r.weight_n = p.weight_n > 0 ? p.weight_n : placed.centre.plain.weight_n;
    if (std::abs(r.out.slip_ratio) < kMostSlip) readings.push_back(r);
    else ++c.set_aside;
  }
  for (const records::RutWithoutSlip& r : drawbar.ruts.without_slip) c.without_slip += r.vehicle == placed.vehicle && r.zone == placed.zone && r.pass == 1;
  for (const records::PullWindow& w : drawbar.windows) {
    if (c.without_slip == 0 || w.vehicle != placed.vehicle || w.zone != placed.zone || w.kind != records::LogKind::towed || !w.slip_ratio) continue;
    if (!c.towed_slip) c.towed_slip = Interval{*w.slip_ratio, *w.slip_ratio};
    c.towed_slip->lo = std::min(c.towed_slip->lo, *w.slip_ratio);
    c.towed_slip->hi = std::max(c.towed_slip->hi, *w.slip_ratio);
  }
  if (!loaded) c.note = "Depths were read after rebound: under the wheel they were larger.";
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
    math::Estimate predicted = towed.estimate;
    const double relative = m.weight_n > 0 ? m.weight_n / placed.centre.plain.weight_n : 1;
    if (std::abs(relative - 1) > 0.005) {  // the outcome given is that of the vehicle's own weight
      predicted = performance::towed_resistance_outcome(with_weight(placed, relative)).estimate;
    }
    for (const records::ResistanceRun& run : m.runs) {
      ComparedReading r{.file = run.file, .id = records::name(m.method), .run = run.run, .line = run.first_line,
                        .measured = run.coefficient,
                        .measured_se = std::hypot(run.standard_error, m.gain_relative_sd * run.coefficient),
                        .gain_relative_sd = m.gain_relative_sd, .predicted = predicted.value,
                        .average_ground = predicted.average_ground, .next_point = predicted.next_point};
      if (!std::isfinite(r.predicted)) {
        ++c.without_prediction;
        continue;
      }
      widen_and_judge(r);
      c.readings.push_back(r);
    }
  }
  detail::judge_comparison(c, {});
  return c;
}

}  // namespace hardpan::validation
