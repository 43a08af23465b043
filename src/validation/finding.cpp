// SPDX-License-Identifier: Apache-2.0
#include "validation/finding.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

namespace hardpan::validation {

using math::Interval;

const char* name(Verdict verdict) {
  switch (verdict) {
    case Verdict::met: return "met";
    case Verdict::not_met: return "not met";
    case Verdict::not_shown: return "not shown";
  }
  return "";
}
const char* name(GuardLevel level) {
  switch (level) {
    case GuardLevel::inside: return "inside";
    case GuardLevel::up_to_twice: return "up to 2x outside";
    case GuardLevel::beyond: return "beyond";
    case GuardLevel::not_tested: return "not tested";
  }
  return "";
}

std::vector<GuardRow> extrapolation_guard(const performance::UsedRange& used,
                                          const records::TestedRange& tested,
                                          const std::optional<Interval>& tested_slip) {
  std::vector<GuardRow> rows{
      {"pressure", "Pa", used.pressure_pa, tested.pressure_pa},
      {"sinkage", "m", used.sinkage_m, tested.sinkage_m},
      {"normal stress", "Pa", used.normal_stress_pa, tested.normal_stress_pa},
      {"shear travel", "m", used.shear_travel_m, tested.shear_travel_m},
      {"plate width against wheel width", "m", used.width_m, tested.plate_width_m},
      {"slip", "", {used.slip_ratio, used.slip_ratio}, tested_slip},
  };
  for (GuardRow& r : rows) {
    if (!r.tested) continue;
    if (!std::isfinite(r.used.lo) || !std::isfinite(r.used.hi)) continue;
    // What was tested starts at zero for a push, a turn and a slip: small values are interpolated. Not so where the law was
    // fitted below a crust or a layer only: above its window it is known not to hold.
    const bool plate = r.quantity == "sinkage" || r.quantity == "pressure";
    const bool from_zero = r.quantity == "shear travel" || r.quantity == "slip" || (plate && !tested.law_starts_below_layer);
    const double lo = from_zero ? 0 : r.tested->lo;
    const bool over = r.used.hi > r.tested->hi, under = r.used.lo < lo;
    // A crust that is not broken carries the wheel: no part of the law under it applies, however near its window.
    const bool on_crust = plate && tested.law_starts_below_layer && tested.weakest_crust_pa && used.pressure_pa.hi < *tested.weakest_crust_pa;
    const bool far = r.used.hi > 2 * r.tested->hi || (!from_zero && r.used.lo < 0.5 * r.tested->lo) || on_crust;
    r.level = far ? GuardLevel::beyond : over || under ? GuardLevel::up_to_twice : GuardLevel::inside;
  }
  return rows;
}

GuardLevel worst(const std::vector<GuardRow>& rows) {
  GuardLevel level = GuardLevel::inside;
  for (const GuardRow& r : rows) {
    // The slip of the vehicle's own tests validates; its absence does not make the soil untested.
    if (r.quantity == "slip" && r.level == GuardLevel::not_tested) continue;
    level = std::max(level, r.level);
  }
  return level;
}

Shown share_shown(const std::vector<double>& average, const std::vector<double>& next_point, double threshold,
                  Sense sense, double required_probability) {
  const double sign = sense == Sense::at_least ? 1 : -1;
  std::vector<double> deviation;
  std::size_t good = 0, usable = 0;
  for (std::size_t k = 0; k < next_point.size(); ++k) {
    if (std::isnan(next_point[k]) || std::isnan(average[k])) continue;
    ++usable;
    good += sign * (next_point[k] - threshold) >= 0 ? 1 : 0;
    const double d = next_point[k] - average[k];
    deviation.push_back(std::isnan(d) ? 0 : sign * d);  // both infinite: no difference
  }
  if (usable == 0) return {};
  std::sort(deviation.begin(), deviation.end());
  std::size_t sure = 0;
  for (const double a : average) {
    if (std::isnan(a)) continue;
    // Share of deviations d with a + d on the good side: those not below -(a - threshold).
    const double need = -sign * (a - threshold);
    const auto first = std::lower_bound(deviation.begin(), deviation.end(), need);
    const double share = static_cast<double>(deviation.end() - first) / static_cast<double>(deviation.size());
    sure += share >= required_probability ? 1 : 0;
  }
  return {static_cast<double>(good) / static_cast<double>(usable), static_cast<double>(sure) / static_cast<double>(usable)};
}

namespace {

double working_slip(const Requirement& r, const Evidence& e) {
  if (r.slip_ratio) return *r.slip_ratio;
  return e.vehicle->working_slip.value_or(0.2);
}

performance::Outcome outcome_of(const Requirement& r, const Evidence& e) {
  namespace p = performance;
  const double gradient = r.gradient_rad.value_or(0), slip = working_slip(r, e);
  switch (r.quantity) {
    case Quantity::maximum_gradient: return p::gradient_outcome(*e.placed, slip);
    case Quantity::maximum_gradient_down: return p::descent_outcome(*e.placed);
    case Quantity::drawbar_pull: return p::drawbar_pull_outcome(*e.placed, slip, gradient);
    case Quantity::pull_coefficient: return p::pull_coefficient_outcome(*e.placed, slip, gradient);
    case Quantity::slip: return p::travel_outcome(*e.placed, p::TravelQuantity::slip, gradient);
    case Quantity::sinkage:
      if (r.slip_ratio) return p::sinkage_at_slip_outcome(*e.placed, slip, gradient);
      return p::travel_outcome(*e.placed, p::TravelQuantity::sinkage, gradient);
    case Quantity::motion_resistance_coefficient: return p::towed_resistance_outcome(*e.placed);
    case Quantity::torque_per_wheel:
      if (r.slip_ratio) return p::torque_at_slip_outcome(*e.placed, slip, gradient);
      return p::travel_outcome(*e.placed, p::TravelQuantity::torque, gradient);
    case Quantity::energy_per_metre: return p::travel_outcome(*e.placed, p::TravelQuantity::energy_per_metre, gradient);
    case Quantity::speed: return p::travel_outcome(*e.placed, p::TravelQuantity::speed, gradient);
    case Quantity::nominal_ground_pressure: break;
  }
  return {};
}

bool driven_by_pull(Quantity q) {
  return q == Quantity::maximum_gradient || q == Quantity::drawbar_pull || q == Quantity::pull_coefficient;
}

// A vehicle travels at the slip it needs; only pulls, gradients, sinkage and torque can be asked for at another.
void say_at_which_slip(Finding& f, const Requirement& r, const performance::Outcome& o) {
  const bool travels = r.quantity == Quantity::sinkage || r.quantity == Quantity::torque_per_wheel || r.quantity == Quantity::energy_per_metre || r.quantity == Quantity::speed;
  const bool takes_slip = driven_by_pull(r.quantity) || r.quantity == Quantity::sinkage || r.quantity == Quantity::torque_per_wheel;
  if (r.slip_ratio && !takes_slip) f.reasons.push_back(fmt::format("The slip stated ({:.0f} %) is not used: this quantity is that of the vehicle as it travels.", 100 * *r.slip_ratio));
  else if (r.slip_ratio && travels) f.reasons.push_back(fmt::format("At the slip asked for, {:.0f} %, whatever the vehicle pulls there.", 100 * *r.slip_ratio));
  else if (travels && o.centre_state.balanced()) f.reasons.push_back(fmt::format("As the vehicle travels there without a hitch pull, at {:.1f} % slip on the best-estimate soil.", 100 * o.centre_state.slip_ratio));
}

// The measured difference of pull at the working slip, where it is shown and against the vehicle: of the slips about it, else of all
// slips tested unless those about it deny it.
struct PullDifference {
  double value = 0;
  std::string where;
};
std::optional<PullDifference> unfavourable_difference(const Evidence& e, double slip) {
  if (!e.pull) return std::nullopt;
  std::optional<PullDifference> found;
  bool denied = false;
  for (const SlipBand& b : e.pull->bands) {
    if (!(b.lo <= slip && slip <= b.hi)) continue;
    if (b.claimed) found = {b.difference.value, fmt::format("at slips of {:.0f} to {:.0f} %", 100 * b.lo, 100 * b.hi)};
    const auto& average = b.difference.average_ground;
    denied |= average && !average->contains(e.pull->bias.value);
  }
  if (!found && e.pull->bias_claimed && !denied) found = {e.pull->bias.value, "on average over the slips tested"};
  if (!found || !(found->value < 0)) return std::nullopt;
  return found;
}

// A claimed bias of the required quantity itself, where it goes against the vehicle.
std::optional<math::Estimate> measured_against(const Requirement& r, const Evidence& e) {
  const char* quantity = r.quantity == Quantity::sinkage                         ? "sinkage"
                         : r.quantity == Quantity::torque_per_wheel              ? "torque of all driven wheels"
                         : r.quantity == Quantity::motion_resistance_coefficient ? "motion resistance coefficient"
                                                                                 : nullptr;
  if (!quantity || !e.comparisons) return std::nullopt;
  for (const Comparison& c : *e.comparisons) {
    const bool against = r.sense == Sense::at_most ? c.bias.value > 0 : c.bias.value < 0;
    if (c.quantity != quantity || !c.bias_claimed || !against) continue;
    math::Estimate bias = c.bias;
    if (r.quantity == Quantity::torque_per_wheel) {  // compared as the sum over the driven wheels
      int driven = 0;
      for (const vehicle::Axle& a : e.vehicle->axles) driven += a.drive.driven ? a.wheels : 0;
      bias.value /= std::max(driven, 1);
    }
    return bias;
  }
  return std::nullopt;
}

// Pull decides these too, but not by a difference that could be added: a prediction known to pull too much shows nothing.
bool eased_by_pull(Quantity q) {
  return q == Quantity::slip || q == Quantity::sinkage || q == Quantity::energy_per_metre || q == Quantity::speed;
}

// Adds a difference of the pull coefficient to every draw of a quantity that pull decides.
void add_difference(performance::Outcome& o, const Requirement& r, const Evidence& e, double difference) {
  const double weight = e.placed->centre.plain.weight_n, gradient = r.gradient_rad.value_or(0);
  const auto shift = [&](double v) {
    switch (r.quantity) {
      case Quantity::maximum_gradient: return std::atan(std::tan(v) + difference);
      case Quantity::drawbar_pull: return v + difference * weight * std::cos(gradient);
      default: return v + difference;
    }
  };
  o.centre = shift(o.centre);
  for (double& v : o.average) v = shift(v);
  for (double& v : o.next_point) v = shift(v);
  o.estimate = performance::estimate_of_outcome(o, *e.placed);
}

// Draw by draw the lower of traction with its measured difference and what the drives' torque allows.
void lower_of(performance::Outcome& o, const performance::Outcome& limited, const performance::Placed& placed) {
  if (limited.centre < o.centre) {
    o.centre = limited.centre;
    o.centre_factor = limited.centre_factor;
  }
  for (std::size_t k = 0; k < o.average.size(); ++k) o.average[k] = std::min(o.average[k], limited.average[k]);
  for (std::size_t k = 0; k < o.next_point.size(); ++k) {
    if (!(limited.next_point[k] < o.next_point[k])) continue;
    o.next_point[k] = limited.next_point[k];
    o.next_factor[k] = limited.next_factor[k];
  }
  o.estimate = performance::estimate_of_outcome(o, placed);
}

void judge_over_draws(Finding& f, const Requirement& r, const Evidence& e) {
  performance::Outcome o = outcome_of(r, e);
  f.value = o.estimate;
  f.population = e.placed->population;
  f.limiting_factor = performance::name(o.centre_factor);
  const auto why = performance::factors(o);
  if (!why.empty() && why.front().second > 0.5) f.limiting_factor = performance::name(why.front().first);
  if (f.limiting_factor == performance::name(performance::LimitingFactor::none)) f.limiting_factor = "none";
  say_at_which_slip(f, r, o);
  if (r.quantity == Quantity::speed && std::isinf(o.centre)) {
    f.value = math::estimate_without_interval(std::nan(""), "not limited: the vehicle file states neither a largest speed nor a power");
    f.reasons.push_back("No speed is predicted: the vehicle file states neither max_speed nor peak_power of a drive.");
    f.would_change.push_back("max_speed and peak_power of the drives in the vehicle file");
    return;
  }
  if (const auto d = driven_by_pull(r.quantity) ? unfavourable_difference(e, working_slip(r, e)) : std::nullopt) {
    f.value_without_measured_difference = o.estimate;
    // The difference is one of traction. The drives' torque is a limit beside it, not one it is taken off from.
    const performance::Outcome limited = o;
    const performance::Placed free = performance::without_torque_limit(*e.placed);
    Evidence any_torque = e;
    any_torque.placed = &free;
    o = outcome_of(r, any_torque);
    add_difference(o, r, any_torque, d->value);
    lower_of(o, limited, *e.placed);
    f.value = o.estimate;
    f.limiting_factor = performance::name(o.centre_factor);
    f.reasons.push_back(fmt::format("The tow tests lie {:.3f} below the predicted pull coefficient {}; the answer with that "
                                    "difference added decides.", -d->value, d->where));
  }
  if (const auto d = e.learning ? std::nullopt : measured_against(r, e)) {
    f.value_without_measured_difference = o.estimate;
    o.centre += d->value;
    for (double& v : o.average) v += d->value;
    for (double& v : o.next_point) v += d->value;
    o.estimate = performance::estimate_of_outcome(o, *e.placed);
    f.value = o.estimate;
    const units::Dimension dimension = r.quantity == Quantity::sinkage            ? units::Dimension::length
                                       : r.quantity == Quantity::torque_per_wheel ? units::Dimension::torque
                                                                                  : units::Dimension::none;
    f.reasons.push_back(fmt::format("The tests of this vehicle lie on the bad side of the prediction of this quantity; the answer with the measured difference "
                                    "({}{}) added decides.", d->value < 0 ? "" : "+", units::print_quantity(d->value, dimension, e.output_units)));
  }
  if (o.next_point.empty()) {
    f.reasons.push_back("No probability: " + e.placed->reason_without + ".");
    f.would_change.push_back("tests of this ground at several points");
    f.margin_si = (r.sense == Sense::at_least ? 1 : -1) * (o.centre - r.threshold_si);
    f.margin_known = std::isfinite(f.margin_si);
    return;
  }
  const Shown shown = share_shown(o.average, o.next_point, r.threshold_si, r.sense, r.probability);
  f.probability = shown.probability;
  f.confidence = shown.confidence;
  // Margin at the required probability: the quantile of the next point that must still satisfy.
  std::vector<double> sorted = o.next_point;
  std::erase_if(sorted, [](double v) { return std::isnan(v); });
  std::sort(sorted.begin(), sorted.end());
  const double q = r.sense == Sense::at_least ? 1 - r.probability : r.probability;
  const double at = sorted[static_cast<std::size_t>(std::lround(q * static_cast<double>(sorted.size() - 1)))];
  f.margin_si = (r.sense == Sense::at_least ? 1 : -1) * (at - r.threshold_si);
  f.margin_known = std::isfinite(f.margin_si);
  if (o.not_converged * 20 > o.next_point.size()) {
    f.reasons.push_back(fmt::format("{} of {} possible soils gave no numerical answer.", o.not_converged, o.next_point.size()));
    return;
  }
  // Contrary: the chance that fewer than the required share satisfy it.
  if (shown.confidence >= r.confidence) f.verdict = Verdict::met;
  else if (1 - shown.confidence >= r.confidence) f.verdict = Verdict::not_met;
  f.reasons.push_back(fmt::format("{:.0f} % of next points satisfy it; that at least {:.0f} % do has a confidence of {:.0f} % ({:.0f} % "
                                  "required).", 100 * shown.probability, 100 * r.probability, 100 * shown.confidence, 100 * r.confidence));
}

// The pull coefficient measured at a slip, read off the band of the curve; nothing outside the slips tested.
std::optional<math::Estimate> measured_at(const records::PullSlipCurve& curve, double slip) {
  const auto& band = curve.band;
  if (!curve.usable() || band.size() < 2 || slip < band.front().slip_ratio || slip > band.back().slip_ratio) return std::nullopt;
  std::size_t i = 1;
  while (i + 1 < band.size() && band[i].slip_ratio < slip) ++i;
  const auto& a = band[i - 1];
  const auto& b = band[i];
  const double share = (slip - a.slip_ratio) / (b.slip_ratio - a.slip_ratio);
  const auto between = [&](double x, double y) { return x + share * (y - x); };
  math::Estimate out = a.coefficient;
  out.value = curve.at(slip);
  const auto mix = [&](std::optional<Interval>& to, const std::optional<Interval>& x, const std::optional<Interval>& y) {
    if (x && y) to = Interval{between(x->lo, y->lo), between(x->hi, y->hi)};
    else to.reset();
  };
  mix(out.average_ground, a.coefficient.average_ground, b.coefficient.average_ground);
  mix(out.next_point, a.coefficient.next_point, b.coefficient.next_point);
  return out;
}

// The calibration that all runs share, 1.96 standard deviations, joins both intervals in quadrature.
math::Estimate with_calibration(math::Estimate e, double relative_sd) {
  const double more = 1.959963984540054 * relative_sd * std::abs(e.value);
  for (auto* i : {&e.average_ground, &e.next_point}) {
    if (*i) *i = Interval{e.value - std::hypot(e.value - (*i)->lo, more), e.value + std::hypot((*i)->hi - e.value, more)};
  }
  return e;
}

void judge_by_trials(Finding& f, const Requirement& r, const Evidence& e) {
  constexpr double kDeg = 180 / std::numbers::pi;
  const bool down = r.quantity == Quantity::maximum_gradient_down;
  if (r.quantity == Quantity::maximum_gradient || down) {
    std::size_t go = 0, no_go_below = 0;
    for (const records::SlopeLimits& s : e.drawbar ? e.drawbar->slopes : std::vector<records::SlopeLimits>{}) {
      if (s.vehicle != r.vehicle || s.zone != r.zone || s.downhill != down) continue;
      for (const records::TrialReading& t : s.trials) {
        if (t.bound == records::TrialBound::set_aside) continue;
        const bool carries = (t.outcome == records::TrialOutcome::go && t.angle_rad >= r.threshold_si) ||
                             (t.outcome == records::TrialOutcome::no_go && t.angle_rad <= r.threshold_si);
        if (!carries) continue;
        (t.outcome == records::TrialOutcome::go ? go : no_go_below) += 1;
        f.records.push_back(fmt::format("{}:{}", t.file, t.line));
      }
      f.population = s.population;
    }
    const std::uint64_t n = go + no_go_below;
    const auto needed = math::trials_needed({r.probability, r.confidence}, no_go_below);
    if (n > 0) {
      f.trials = Finding::Trials{go, n, needed};
      f.confidence = math::demonstrated_confidence(r.probability, n, no_go_below);
      f.probability = static_cast<double>(go) / static_cast<double>(n);
      const double upper = math::clopper_pearson(go, n, 2 * r.confidence - 1).hi;
      if (*f.confidence >= r.confidence) f.verdict = Verdict::met;
      else if (upper < r.probability) f.verdict = Verdict::not_met;
    }
    f.reasons.push_back(fmt::format("{} of {} at {:.1f} deg or {} went; {} of {} are needed for {:.0f} % with {:.0f} % confidence.", go, units::print_count(n, "trial"),
                                    r.threshold_si * kDeg, down ? "steeper" : "steeper, or failed below it,",
                                    needed - no_go_below, needed, 100 * r.probability, 100 * r.confidence));
    if (f.verdict != Verdict::met) {
      f.would_change.push_back(fmt::format("{} at {:.1f} deg without a failure", units::print_count(needed > n ? needed - n : 0, "further trial"), r.threshold_si * kDeg));
    }
    return;
  }
  bool found = false;
  std::string why_not;
  f.rule = "the whole 95 % interval of the next run on the good side of the threshold";
  f.limiting_factor = "not told by the tests";
  for (const records::DrawbarGroup& g : e.drawbar ? e.drawbar->groups : std::vector<records::DrawbarGroup>{}) {
    if (g.vehicle != r.vehicle || g.zone != r.zone) continue;
    if (r.quantity != Quantity::pull_coefficient && r.quantity != Quantity::drawbar_pull) continue;
    const double slip = working_slip(r, e);
    const auto measured = measured_at(g.curve, slip);
    if (!measured) {
      if (g.curve.usable()) why_not = fmt::format("Pull was measured at slips of {:.0f} to {:.0f} %, not at {:.0f} %.", 100 * g.curve.slip_lo, 100 * g.curve.slip_hi, 100 * slip);
      continue;
    }
    found = true;
    f.value = with_calibration(*measured, g.curve.gain_relative_sd);
    if (r.quantity == Quantity::drawbar_pull) {
      // On a gradient, from coefficients that were freed of theirs: P = W (mu cos a - sin a).
      const double a = r.gradient_rad.value_or(0);
      const auto pull = [&](double mu) { return g.weight_n * (mu * std::cos(a) - std::sin(a)); };
      f.value.value = pull(f.value.value);
      for (auto* i : {&f.value.average_ground, &f.value.next_point}) {
        if (*i) *i = Interval{pull((*i)->lo), pull((*i)->hi)};
      }
      if (a != 0) f.reasons.push_back("Pull on the gradient is W (mu cos a - sin a) with the pull coefficient measured.");
    }
    f.reasons.push_back(fmt::format("At {:.0f} % slip, the calibration of the load cell in the interval ({:.2g} %, one standard deviation).", 100 * slip, 100 * g.curve.gain_relative_sd));
    std::set<std::string> files;
    for (const std::size_t w : g.windows) files.insert(e.drawbar->windows[w].file);
    f.records.assign(files.begin(), files.end());
  }
  // The deepest rut of this vehicle on this ground, of any pass and wheel path; under the wheel where that was read.
  for (const records::RutGroup& g : e.drawbar && r.quantity == Quantity::sinkage ? e.drawbar->ruts.groups : std::vector<records::RutGroup>{}) {
    const auto& depth = g.depth_loaded_m ? g.depth_loaded_m : g.depth_after_m;
    if (g.vehicle != r.vehicle || g.zone != r.zone || !depth || (found && !(depth->value > f.value.value))) continue;
    found = true;
    f.value = *depth;
    f.records.clear();
    for (const auto& [file, line] : g.places) f.records.push_back(fmt::format("{}:{}", file, line));
  }
  for (const records::MotionResistance& m : e.drawbar ? e.drawbar->resistances : std::vector<records::MotionResistance>{}) {
    if (r.quantity != Quantity::motion_resistance_coefficient || m.vehicle != r.vehicle || m.zone != r.zone) continue;
    found = true;
    f.value = with_calibration(m.coefficient, m.gain_relative_sd);
  }
  if (!found) {
    f.reasons.push_back(why_not.empty() ? "No test of this quantity is in the records." : why_not);
    f.would_change.push_back("a test of it on this ground");
    return;
  }
  if (!f.value.next_point) {
    f.reasons.push_back("The tests give no interval for the next run: " + f.value.status + ".");
    f.would_change.push_back("more runs");
    return;
  }
  const double sign = r.sense == Sense::at_least ? 1 : -1;
  const double bad = r.sense == Sense::at_least ? f.value.next_point->lo : f.value.next_point->hi;
  const double good = r.sense == Sense::at_least ? f.value.next_point->hi : f.value.next_point->lo;
  f.margin_si = sign * (bad - r.threshold_si);
  f.margin_known = true;
  if (f.margin_si >= 0) f.verdict = Verdict::met;
  else if (sign * (good - r.threshold_si) < 0) f.verdict = Verdict::not_met;
  f.population = "runs of this vehicle on this ground";
  if (f.value.n >= 2) {
    // The next run's distribution: Student's t about the mean, its half-width the interval's.
    const double dof = static_cast<double>(f.value.n - 1), half = 0.5 * f.value.next_point->width();
    const double scale = half / math::student_t_quantile(0.5 + f.value.level / 2, dof);
    if (scale > 0) f.probability = math::student_t_cdf(sign * (f.value.value - r.threshold_si) / scale, dof);
  }
  f.reasons.push_back("Judged from the tests by their 95 % interval for the next run.");
}

// A slope that was driven, or that stopped the vehicle, outweighs a prediction whose interval does not reach it.
void heed_trials(Finding& f, const Requirement& r, const Evidence& e) {
  constexpr double kDeg = 180 / std::numbers::pi;
  const bool down = r.quantity == Quantity::maximum_gradient_down;
  if ((r.quantity != Quantity::maximum_gradient && !down) || !e.drawbar || !f.value.next_point) return;
  for (const records::SlopeLimits& s : e.drawbar->slopes) {
    if (s.vehicle != r.vehicle || s.zone != r.zone || s.downhill != down) continue;
    const auto& b = s.bracket;
    const std::optional<double> driven = b.steepest_go_rad ? b.steepest_go_rad : b.go_rad;
    const bool went = driven && *driven > f.value.next_point->hi, stopped = b.no_go_rad && *b.no_go_rad < f.value.next_point->lo;
    if (!went && !stopped) continue;
    f.reasons.push_back(went ? fmt::format("Contradicted by the trials: {:.1f} deg was driven, the answer reaches {:.1f} deg at most (95 %).", *driven * kDeg, f.value.next_point->hi * kDeg)
                             : fmt::format("Contradicted by the trials: stopped at {:.1f} deg, the answer is {:.1f} deg at least (95 %).", *b.no_go_rad * kDeg, f.value.next_point->lo * kDeg));
    if ((went && f.verdict == Verdict::not_met) || (stopped && f.verdict == Verdict::met)) f.verdict = Verdict::not_shown;
    f.would_change.insert(f.would_change.begin(), "finding out which is wrong: the trials, the vehicle file (torque, mass, wheels) or the soil");
  }
}

void judge_by_inspection(Finding& f, const Requirement& r, const Evidence& e) {
  if (r.quantity != Quantity::nominal_ground_pressure) {
    f.reasons.push_back("This quantity cannot be judged by inspection.");
    return;
  }
  double area = 0;
  for (const vehicle::Axle& a : e.vehicle->axles) area += a.wheels * a.wheel.width_m * a.wheel.radius_m;
  f.value = math::estimate_without_interval(vehicle::mass_kg(*e.vehicle) * e.gravity_m_s2 / area, "from the vehicle file");
  f.margin_si = (r.sense == Sense::at_least ? 1 : -1) * (f.value.value - r.threshold_si);
  f.margin_known = true;
  // Scale weights within 3 % of the file are accepted at reading: the guard band of an inspection.
  const double guard = 0.03 * std::abs(f.value.value);
  f.verdict = f.margin_si >= guard ? Verdict::met : f.margin_si <= -guard ? Verdict::not_met : Verdict::not_shown;
  f.guard = GuardLevel::inside;
  f.limiting_factor = "none";
  f.rule = "at least 3 % of the value on the good side of the threshold: scale weights within 3 % of the file are accepted";
  f.population = "this vehicle as its file describes it";
  f.reasons.push_back("W / (n b r) of the vehicle file, with a guard band of 3 % for weight.");
  f.records.push_back("vehicle " + e.vehicle->id);
}

void name_records(Finding& f, const Evidence& e) {
  const auto name_each = [&](const std::vector<std::string>& files, const char* what) {
    for (const std::string& file : files) f.records.push_back(file + what);
  };
  if (e.ground) {
    name_each(e.ground->plate_files, " (plate tests)");
    name_each(e.ground->shear_files, " (shear tests)");
  }
  std::set<std::string> towed, climbed;
  for (const ComparedReading& r : e.pull ? e.pull->readings : std::vector<ComparedReading>{}) towed.insert(r.file);
  const Requirement& q = f.requirement;
  const bool down = q.quantity == Quantity::maximum_gradient_down;
  for (const records::SlopeLimits& s : e.drawbar && (down || q.quantity == Quantity::maximum_gradient) ? e.drawbar->slopes : std::vector<records::SlopeLimits>{}) {
    if (s.vehicle != q.vehicle || s.zone != q.zone || s.downhill != down) continue;
    for (const records::TrialReading& t : s.trials) {
      if (t.bound != records::TrialBound::set_aside) climbed.insert(t.file);
    }
  }
  name_each({towed.begin(), towed.end()}, " (tow tests)");
  name_each({climbed.begin(), climbed.end()}, " (slope trials)");
}

void name_what_would_change(Finding& f, const Evidence& e) {
  if (f.verdict == Verdict::met || !e.prediction) return;
  const performance::SensitivityBar* widest = nullptr;
  for (const auto& b : e.prediction->sensitivity) {
    if (b.quantity != "maximum gradient at the working slip" || !b.next_point) continue;
    if (!widest || b.next_point->width() > widest->next_point->width()) widest = &b;
  }
  if (widest) {
    f.would_change.push_back(widest->part == "model form"   ? (e.pull && !e.pull->readings.empty() && !e.learning
                                                                    ? "some of the tow runs let update the soil ([learning] in campaign.toml, the others held out): the spread of the wheel-soil model widens the interval most"
                                                                    : "tow tests of this vehicle on this ground: the spread of the wheel-soil model widens the interval most")
                             : widest->part == "instrument" ? "a better calibration of the ground instruments: its error widens the interval most"
                                                            : "more test points in this zone: the scatter of the soil widens the interval most");
  }
  if (e.ground && widest && widest->part == "soil") {
    for (const records::Advice& a : e.ground->advice) {
      f.would_change.push_back(a.statement);
      if (f.would_change.size() >= 3) break;
    }
  }
}

}  // namespace

Finding judge(const Requirement& requirement, const Evidence& evidence) {
  Finding f;
  f.requirement = requirement;
  f.rule = fmt::format("share of next points at least {:.0f} % with {:.0f} % confidence", 100 * requirement.probability,
                       100 * requirement.confidence);
  if (!evidence.vehicle) {
    f.reasons.push_back("No vehicle of that name.");
    return f;
  }
  if (requirement.method == Method::inspection || requirement.quantity == Quantity::nominal_ground_pressure) {
    judge_by_inspection(f, requirement, evidence);
    return f;
  }
  if (requirement.method != Method::analysis) {
    judge_by_trials(f, requirement, evidence);
    f.guard = GuardLevel::inside;  // the tests themselves; nothing is extrapolated
    return f;
  }
  if (!evidence.placed || !evidence.prediction) {
    f.reasons.push_back("No soil is known for this zone: nothing could be predicted.");
    f.would_change.push_back("plate and shear tests in this zone");
    return f;
  }
  judge_over_draws(f, requirement, evidence);
  name_records(f, evidence);
  std::optional<Interval> slips;
  const Comparison* towed = evidence.learning ? evidence.pull_that_taught : evidence.pull;
  if (towed && !towed->readings.empty()) {
    slips = Interval{1, 0};
    for (const auto& r : towed->readings) {
      slips->lo = std::min(slips->lo, r.slip_ratio);
      slips->hi = std::max(slips->hi, r.slip_ratio);
    }
  }
  std::vector<GuardRow> guard;
  if (evidence.ground) guard = extrapolation_guard(evidence.prediction->used, evidence.ground->tested, slips);
  f.guard = evidence.ground ? worst(guard) : GuardLevel::not_tested;
  if (f.verdict == Verdict::met && f.guard >= GuardLevel::beyond) {
    f.verdict = Verdict::not_shown;
    std::string quantities;
    for (const GuardRow& row : guard) {
      if (row.level >= GuardLevel::beyond) quantities += (quantities.empty() ? "" : ", ") + row.quantity;
    }
    f.reasons.insert(f.reasons.begin(), (evidence.ground && evidence.ground->tested.law_starts_below_layer ? "Under the wheels the soil is asked for what was not tested, on a crust or above the depth where its law begins: no plain go"
                         : f.guard == GuardLevel::beyond ? "Under the wheels the soil is asked for more than twice what was tested: no plain go"
                                                       : "Part of what the wheels ask of the soil was not tested: no plain go") +
                        (quantities.empty() ? "." : " (" + quantities + ")."));
    f.would_change.push_back("tests that reach what the wheels ask of the soil" + (quantities.empty() ? "" : ": " + quantities));
  }
  heed_trials(f, requirement, evidence);
  const double friction_rad = std::atan(evidence.placed->centre.plain.axle[0].contact.tan_phi);
  if (f.verdict == Verdict::met && requirement.quantity == Quantity::maximum_gradient_down && requirement.threshold_si > friction_rad) {
    f.verdict = Verdict::not_shown;
    f.reasons.insert(f.reasons.begin(), fmt::format("The slope asked for is steeper than the ground's own angle of friction ({:.1f} deg): whether the ground stands there, with the vehicle on it, is not predicted.",
                                                    friction_rad * 180 / std::numbers::pi));
    f.would_change.push_back("the slope at which this ground starts to slide, and its cohesion over the depth of a slide");
  }
  if (f.verdict == Verdict::met && eased_by_pull(requirement.quantity) && !f.value_without_measured_difference &&
      unfavourable_difference(evidence, working_slip(requirement, evidence))) {
    f.verdict = Verdict::not_shown;
    f.reasons.push_back("The tow tests lie below the predicted pull, so the vehicle slips more than predicted; what that does to this quantity was not measured.");
    f.would_change.push_back(std::string("a measurement of the ") + name(requirement.quantity) + " while towing or climbing");
  }
  if (f.verdict == Verdict::met && evidence.learning && measured_against(requirement, evidence)) {
    f.verdict = Verdict::not_shown;
    f.reasons.push_back("Before the soil was updated the tests of this vehicle lay on the bad side of the prediction of this quantity; whether the update mends that was not tested.");
  }
  if (evidence.learning) {
    f.reasons.push_back(evidence.learning->statement);
    // Too few runs may teach to show what all runs together do.
    if (evidence.learning->shape.shown) f.reasons.push_back(evidence.learning->shape.statement);
    else if (towed && towed->shape.shown) f.reasons.push_back("All runs together, not those that taught alone, show it: " + towed->shape.statement);
    for (const std::string& r : evidence.learning->records) f.records.push_back("record " + r + ", which updated the soil");
  } else if (!evidence.pull || evidence.pull->readings.empty()) {
    f.reasons.push_back("Not validated: this vehicle was not towed on this ground, the stated default spreads of the model form apply.");
  }
  if (evidence.pull && evidence.pull->shape.shown) f.reasons.push_back(evidence.pull->shape.statement);
  name_what_would_change(f, evidence);
  return f;
}

Finding judge_after_learning(const Requirement& requirement, const Evidence& before, const Evidence& after) {
  Finding known = judge(requirement, before);
  if (requirement.method != Method::analysis || requirement.quantity == Quantity::nominal_ground_pressure) return known;
  const Learning& l = *after.learning;
  if (!l.validated) {
    known.reasons.push_back(l.contradicted ? "Vehicle tests updated the soil, but held-out runs contradict the update: the answer without it stands."
                                           : "Vehicle tests updated the soil, but the update is not validated by held-out tests: the answer without it stands.");
    known.would_change.push_back(l.contradicted ? "a model that holds what the tow tests show, or tests that tell which of them is wrong" : "tow runs held out from the update");
    return known;
  }
  Finding f = judge(requirement, after);
  f.value_before_learning = known.value;
  f.verdict_before_learning = known.verdict;
  f.reasons.push_back(fmt::format("Before the soil was updated by vehicle tests the finding was {}.", name(known.verdict)));
  return f;
}

}  // namespace hardpan::validation
