// SPDX-License-Identifier: Apache-2.0
// Findings by test or demonstration, and trials that contradict a prediction.
#include <fmt/core.h>

#include <cmath>
#include <numbers>
#include <set>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "units/count.hpp"
#include "validation/detail/judging.hpp"

namespace hardpan::validation::detail {

using math::Interval;

namespace {

constexpr double kMostDrift_rad = 0.1745329;   // 10 deg: of a slope travelled on a heading

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

}  // namespace

void demonstrate(Finding& f, const Requirement& r, std::size_t went, std::size_t failed, const std::string& at, const std::string& where) {
  const std::uint64_t n = went + failed;
  const auto needed = math::trials_needed({r.probability, r.confidence}, failed);
  if (n > 0) {
    f.trials = Finding::Trials{went, n, needed};
    f.confidence = math::demonstrated_confidence(r.probability, n, failed);
    f.probability = static_cast<double>(went) / static_cast<double>(n);
    const double upper = math::clopper_pearson(went, n, 2 * r.confidence - 1).hi;
    if (*f.confidence >= r.confidence) f.verdict = Verdict::met;
    else if (upper < r.probability) f.verdict = Verdict::not_met;
  }
  f.reasons.push_back(fmt::format("{} of {} at {} went; {} of {} are needed for {:.0f} % with {:.0f} % confidence.", went, units::print_count(n, "trial"), where,
                                  needed - failed, needed, 100 * r.probability, 100 * r.confidence));
  if (f.verdict != Verdict::met) f.would_change.push_back(fmt::format("{} at {} without a failure", units::print_count(needed > n ? needed - n : 0, "further trial"), at));
}

void judge_by_trials(Finding& f, const Requirement& r, const Evidence& e) {
  if (of_obstacles(r.quantity)) return judge_by_tries(f, r, e);
  if (r.quantity == Quantity::turning_radius) return judge_by_turns(f, r, e);
  static constexpr double kDeg = 180 / std::numbers::pi;
  const bool down = r.quantity == Quantity::maximum_gradient_down;
  if (r.quantity == Quantity::maximum_gradient || r.quantity == Quantity::gradient_on_heading || down) {
    std::vector<DecidedTrial> decided;
    for (const records::SlopeLimits* s : slopes_of(r, e)) {
      for (const records::TrialReading& t : s->trials) {
        const bool go = t.outcome == records::TrialOutcome::go;
        if (t.bound == records::TrialBound::set_aside || !(go || t.bound == records::TrialBound::below) || !in_condition(r, t.condition)) continue;
        // On a heading a go further aside than is allowed has not held it.
        const bool aside = r.quantity == Quantity::gradient_on_heading && t.drift_rad.value_or(0) > kMostDrift_rad;
        decided.push_back({t.angle_rad, go && !aside, fmt::format("{}:{}", t.file, t.line)});
      }
      f.population = s->population;
    }
    const std::string at = fmt::format("{:.1f} deg", r.threshold_si * kDeg);
    demonstrate_by(f, r, decided, r.threshold_si, at, at + (down ? " or steeper" : " or steeper, or failed below it,"), [](double rad) { return fmt::format("{:.1f} deg", rad * kDeg); });
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

bool at_file_weight(const Evidence& e, double weight_n) {
  constexpr double kClass = 0.05;   // as trials are grouped
  if (!e.vehicle || !(e.gravity_m_s2 > 0)) return true;
  const double file_n = vehicle::mass_kg(*e.vehicle) * e.gravity_m_s2;
  return std::abs(weight_n - file_n) <= kClass * file_n;
}

void contradicted(Finding& f, bool went, const std::string& sentence) {
  f.reasons.push_back(sentence);
  if (f.verdict == (went ? Verdict::not_met : Verdict::met)) f.verdict = Verdict::not_shown;
  f.would_change.insert(f.would_change.begin(), "finding out which is wrong: the trials, the vehicle file (torque, mass, wheels) or the soil");
}

std::vector<const records::SlopeLimits*> slopes_of(const Requirement& r, const Evidence& e) {
  constexpr double kSameHeading_rad = 0.1309;   // 7.5 deg, as trials are grouped
  const bool down = r.quantity == Quantity::maximum_gradient_down, aside = r.quantity == Quantity::gradient_on_heading;
  std::vector<const records::SlopeLimits*> out;
  if (!e.drawbar || (r.quantity != Quantity::maximum_gradient && !down && !aside)) return out;
  for (const records::SlopeLimits& s : e.drawbar->slopes) {
    if (s.vehicle != r.vehicle || s.zone != r.zone || !at_file_weight(e, s.weight_n)) continue;
    const double heading = s.heading_rad.value_or(s.downhill ? std::numbers::pi : 0);
    const bool same = aside ? std::abs(std::remainder(heading - *r.heading_rad, 2 * std::numbers::pi)) <= kSameHeading_rad : !s.heading_rad && s.downhill == down;
    if (same) out.push_back(&s);
  }
  return out;
}

void heed_trials(Finding& f, const Requirement& r, const Evidence& e) {
  constexpr double kDeg = 180 / std::numbers::pi;
  if (std::isnan(f.value.value)) return;
  // Without possible soils the answer itself: a textbook soil is held to the trials too.
  const Interval answer = f.value.next_point.value_or(Interval{f.value.value, f.value.value});
  const char* sure = f.value.next_point ? " (95 %)" : "";
  for (const records::SlopeLimits* s : slopes_of(r, e)) {
    const auto& b = s->bracket;
    const std::optional<double> driven = b.steepest_go_rad ? b.steepest_go_rad : b.go_rad;
    const bool went = driven && *driven > answer.hi, stopped = b.no_go_rad && *b.no_go_rad < answer.lo;
    if (!went && !stopped) continue;
    contradicted(f, went, went ? fmt::format("Contradicted by the trials: {:.1f} deg was driven, the answer reaches {:.1f} deg at most{}.", *driven * kDeg, answer.hi * kDeg, sure)
                             : fmt::format("Contradicted by the trials: stopped at {:.1f} deg, the answer is {:.1f} deg at least{}.", *b.no_go_rad * kDeg, answer.lo * kDeg, sure));
  }
}

}  // namespace hardpan::validation::detail
