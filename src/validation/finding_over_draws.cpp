// SPDX-License-Identifier: Apache-2.0
// Findings by analysis: a quantity over the possible soils, and what vehicle tests say against it.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "units/print.hpp"
#include "validation/detail/judging.hpp"

namespace hardpan::validation {

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

namespace detail {

double working_slip(const Requirement& r, const Evidence& e) {
  if (r.slip_ratio) return *r.slip_ratio;
  return e.vehicle->working_slip.value_or(0.2);
}

namespace {

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
    case Quantity::nominal_ground_pressure:
    case Quantity::friction_margin:
    case Quantity::highest_step:
    case Quantity::widest_gap:
    case Quantity::gradient_on_heading:
    case Quantity::tip_angle:
    case Quantity::remote_speed:
    case Quantity::rough_ground_speed:
    case Quantity::trip_distance:
    case Quantity::clear_run:
    case Quantity::turning_radius: break;
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

}  // namespace

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

bool eased_by_pull(Quantity q) {
  return q == Quantity::slip || q == Quantity::sinkage || q == Quantity::energy_per_metre || q == Quantity::speed || q == Quantity::turning_radius ||
         q == Quantity::gradient_on_heading;
}

namespace {

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

}  // namespace

double judge_share(Finding& f, const Requirement& r, const performance::Outcome& o, double threshold, const std::string& reason_without) {
  if (o.next_point.empty()) {
    f.reasons.push_back("No probability: " + reason_without + ".");
    f.would_change.push_back("tests of this ground at several points");
    return o.centre;
  }
  const Shown shown = share_shown(o.average, o.next_point, threshold, r.sense, r.probability);
  f.probability = shown.probability;
  f.confidence = shown.confidence;
  // At the required probability: the quantile of the next point that must still satisfy.
  std::vector<double> sorted = o.next_point;
  std::erase_if(sorted, [](double v) { return std::isnan(v); });
  std::sort(sorted.begin(), sorted.end());
  const double q = r.sense == Sense::at_least ? 1 - r.probability : r.probability;
  const double at = sorted.empty() ? std::nan("") : sorted[static_cast<std::size_t>(std::lround(q * static_cast<double>(sorted.size() - 1)))];
  if (o.not_converged * 20 > o.next_point.size()) {
    f.reasons.push_back(fmt::format("{} of {} possible soils gave no numerical answer.", o.not_converged, o.next_point.size()));
    return at;
  }
  // Contrary: the chance that fewer than the required share satisfy it.
  if (shown.confidence >= r.confidence) f.verdict = Verdict::met;
  else if (1 - shown.confidence >= r.confidence) f.verdict = Verdict::not_met;
  f.reasons.push_back(fmt::format("{:.0f} % of next points satisfy it; that at least {:.0f} % do has a confidence of {:.0f} % ({:.0f} % "
                                  "required).", 100 * shown.probability, 100 * r.probability, 100 * shown.confidence, 100 * r.confidence));
  return at;
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
  const double at = judge_share(f, r, o, r.threshold_si, e.placed->reason_without);
  f.margin_si = (r.sense == Sense::at_least ? 1 : -1) * (at - r.threshold_si);
  f.margin_known = std::isfinite(f.margin_si);
}

}  // namespace detail
}  // namespace hardpan::validation
