// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_ways.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "units/count.hpp"

namespace hardpan::validation {
namespace {

namespace p = performance;
using math::Estimate;
using math::Interval;
using units::Dimension;

constexpr double kWeightClass = 0.05;   // as runs are grouped

// Why runs at this weight are held to nothing; empty where they can be.
std::string why_not(const std::string& told, double run_weight_n, double predicted_weight_n) {
  if (!told.empty()) return told;
  if (std::abs(run_weight_n - predicted_weight_n) <= kWeightClass * predicted_weight_n) return "";
  return fmt::format("the runs were driven at {:.0f} % of the weight that is predicted", 100 * run_weight_n / predicted_weight_n);
}

// The mean of the runs where it has an interval, else the run.
Interval measured_of(const Estimate& e) { return e.average_ground.value_or(Interval{e.value, e.value}); }
bool overlap(const Interval& a, const Interval& b) { return a.lo <= b.hi && b.lo <= a.hi; }

std::string with_interval(double value, const std::optional<Interval>& i, Dimension d, units::OutputUnits u) {
  return units::print_quantity(value, d, u) + (i ? " (" + units::print_interval(i->lo, i->hi, d, u) + ")" : "");
}

// "energy 180 kJ (170 to 190 kJ) measured, 175 kJ (160 to 200 kJ) predicted: agrees"
std::string beside(const char* what, const Estimate& measured, const Estimate& predicted, const std::optional<bool>& agrees, Dimension d, units::OutputUnits u) {
  return fmt::format("{} {} measured, {} predicted: {}", what, with_interval(measured.value, measured.average_ground, d, u), with_interval(predicted.value, predicted.next_point, d, u),
                     !agrees ? "not judged, " + predicted.status : *agrees ? "agrees" : "contradicts");
}

std::optional<bool> agree(const std::optional<Estimate>& measured, const Estimate& predicted) {
  if (!measured || !predicted.next_point) return std::nullopt;
  return overlap(measured_of(*measured), *predicted.next_point);
}

TripComparison trip(const records::TripRuns& k, const TripTold& told, units::OutputUnits u) {
  TripComparison c{.vehicle = k.vehicle, .trip = k.trip, .energy_j = k.energy_j, .time_s = k.time_s};
  const std::string measured = k.text + ". ";
  const std::string why = why_not(told.endurance || !told.why_not.empty() ? told.why_not : "the trip was not answered", k.weight_n, told.weight_n);
  if (!why.empty()) {
    c.statement = measured + "Nothing is judged: " + why + ".";
    return c;
  }
  const p::Endurance& e = *told.endurance;
  c.predicted_arrival_ratio = e.arrival_ratio;
  std::string said;
  const auto say = [&](const std::string& sentence) { said += sentence + ". "; };
  // A trip that the best-estimate soil does not finish takes no energy from end to end.
  if (e.centre.arrives()) {
    c.predicted_energy_j = e.energy_j;
    c.predicted_time_s = e.time_s;
    c.energy_agrees = agree(k.energy_j, e.energy_j);
    c.time_agrees = agree(k.time_s, e.time_s);
    if (k.energy_j) say(beside("Energy", *k.energy_j, e.energy_j, c.energy_agrees, Dimension::energy, u));
    if (k.time_s) say(beside("Time", *k.time_s, e.time_s, c.time_agrees, Dimension::time, u));
  } else if (k.energy_j || k.time_s) {
    say("The best-estimate soil does not arrive: there is no energy or time of the whole trip to compare");
  }
  if (k.chance_of_arriving && e.draws > 0) {
    c.arrival_agrees = k.chance_of_arriving->contains(e.arrival_ratio);
    say(fmt::format("{:.0f} % of possible soils arrive, the runs leave {:.0f} to {:.0f} %: {}", 100 * e.arrival_ratio, 100 * k.chance_of_arriving->lo, 100 * k.chance_of_arriving->hi, *c.arrival_agrees ? "agrees" : "contradicts"));
  }
  for (const auto& agrees : {c.energy_agrees, c.time_agrees, c.arrival_agrees}) c.judged = c.judged || agrees.has_value();
  c.consistent = c.judged && c.energy_agrees.value_or(true) && c.time_agrees.value_or(true) && c.arrival_agrees.value_or(true);
  if (!c.judged) said += "Nothing is judged: " + std::string(e.draws == 0 ? "the prediction has no interval" : "no run was decided") + ". ";
  c.statement = measured + said;
  c.statement.pop_back();
  return c;
}

RockComparison rocks(const records::RockRuns& k, const RocksTold& told, units::OutputUnits u) {
  RockComparison c{.vehicle = k.vehicle, .rocks = k.rocks, .distance_m = k.distance_m, .stops = k.stops(), .measured_per_m = k.stops_per_m};
  const std::string measured = k.text + ". ";
  const std::string why = why_not(told.why_not, k.weight_n, told.weight_n);
  if (!why.empty()) {
    c.statement = measured + "Nothing is judged: " + why + ".";
    return c;
  }
  c.predicted_per_m = told.hits_per_m;
  c.judged = true;
  c.consistent = overlap(c.measured_per_m, told.hits_interval_per_m.value_or(Interval{told.hits_per_m, told.hits_per_m}));
  // The distance between stops: the inverse of the rate, its ends turned round.
  const auto between = [&](double per_m) { return units::print_quantity(1 / per_m, Dimension::length, u); };
  const Interval& i = c.measured_per_m;
  c.clear_ratio = {p::clear_run_probability(c.measured_per_m.hi, told.length_m), p::clear_run_probability(c.measured_per_m.lo, told.length_m)};
  c.statement = measured + fmt::format("By the runs one stop in {} (95 %), predicted {}: {}.", i.lo > 0 ? units::print_interval(1 / i.hi, 1 / i.lo, Dimension::length, u) : between(i.hi) + " or more",
                                       told.hits_per_m > 0 ? "one in " + between(told.hits_per_m) : "none", c.consistent ? "agrees" : "contradicts");
  const auto percent = [](double share) { return share > 0 && share < 0.1 ? fmt::format("{:.2g}", 100 * share) : fmt::format("{:.0f}", 100 * share); };
  c.statement += fmt::format(" A clear run of {} has a chance of {} to {} % by the runs, {} % predicted.", units::print_quantity(told.length_m, Dimension::length, u), percent(c.clear_ratio.lo), percent(c.clear_ratio.hi),
                             percent(p::clear_run_probability(told.hits_per_m, told.length_m)));
  if (k.stops() > 0 && told.hits_per_m > 0) {
    c.statement += fmt::format(" {} stopped a wheel and {} touched the body; {:.0f} % are predicted to stop a wheel.", units::print_count(k.by_wheel, "rock"), k.by_body, 100 * told.wheel_hits_per_m / told.hits_per_m);
  }
  return c;
}

// The largest over all grounds of the way.
p::RidePoint hardest_at(const RoughTold& told, double speed_m_s) {
  p::RidePoint out;
  for (const p::RoughGround& ground : told.grounds) {
    const p::RidePoint x = p::ride_at(told.model, ground, told.question, speed_m_s);
    out.peak_m_s2 = std::max(out.peak_m_s2, x.peak_m_s2);
    out.weighted_rms_m_s2 = std::max(out.weighted_rms_m_s2, x.weighted_rms_m_s2);
  }
  return out;
}

// Slowest over all grounds of the way; nothing where it is not passed.
std::optional<double> passed_at(const RoughTold& told, const p::RideQuestion& question, p::RideLimit limit) {
  std::optional<double> least;
  for (const p::RoughGround& ground : told.grounds) {
    for (const p::RideSpeed& s : p::ride_on(told.model, ground, question).speeds) {
      if (s.kind == limit && s.speed_m_s) least = std::min(least.value_or(*s.speed_m_s), *s.speed_m_s);
    }
  }
  return least;
}

// Shaking measured is `ratio` times the computed one: a bound is passed where the computed one passes the bound over the ratio.
std::optional<Estimate> bound_passed_at(const RoughTold& told, const std::optional<Estimate>& ratio, p::RideLimit limit) {
  const auto& bound = limit == p::RideLimit::shock ? told.question.shock_m_s2 : told.question.ride_m_s2;
  if (!bound || !ratio) return std::nullopt;
  const auto at = [&](double times) -> std::optional<double> {
    if (!(times > 0)) return std::nullopt;
    p::RideQuestion q = told.question;
    (limit == p::RideLimit::shock ? q.shock_m_s2 : q.ride_m_s2) = *bound / times;
    return passed_at(told, q, limit);
  };
  const auto middle = at(ratio->value);
  if (!middle) return std::nullopt;
  Estimate out = math::estimate_without_interval(*middle, "one run", ratio->n);
  if (!ratio->next_point) return out;
  // More shaking, less speed. A bound that the gentlest next run does not pass leaves the faster end open.
  const auto slow = at(ratio->next_point->hi), fast = at(ratio->next_point->lo);
  if (!slow) return out;
  out.next_point = Interval{*slow, fast.value_or(std::numeric_limits<double>::infinity())};
  out.status = math::kStatusOk;
  return out;
}

std::string times(const char* what, const Estimate& ratio) {
  return fmt::format(" Over {}, the {} measured is {:.2f} times the computed one{}.", units::print_count(ratio.n, "run"), what, ratio.value,
                     ratio.average_ground ? fmt::format(" (mean {:.2f} to {:.2f}, 95 %)", ratio.average_ground->lo, ratio.average_ground->hi) : "");
}

RoughComparison rough(const records::RoughRuns& k, const RoughTold& told, units::OutputUnits u) {
  RoughComparison c{.vehicle = k.vehicle, .ride = k.ride, .zone = k.zone, .measured_m_per_s = records::where_the_limit_is(k.bracket, records::Harder::larger)};
  const std::string measured = k.text + ". ";
  const std::string why = why_not(told.why_not, k.weight_n, told.weight_n);
  if (!why.empty()) {
    c.statement = measured + "Nothing is judged: " + why + ".";
    return c;
  }
  std::vector<double> peaks, rms;
  for (const records::RoughRun& r : k.runs) {
    const p::RidePoint there = hardest_at(told, r.speed_m_per_s);
    if (r.peak_m_per_s2 && there.peak_m_s2 > 0) peaks.push_back(*r.peak_m_per_s2 / there.peak_m_s2);
    if (r.rms_m_per_s2 && there.weighted_rms_m_s2 > 0) rms.push_back(*r.rms_m_per_s2 / there.weighted_rms_m_s2);
  }
  if (!peaks.empty()) c.peak_ratio = math::estimate_from_points(peaks);
  if (!rms.empty()) c.rms_ratio = math::estimate_from_points(rms);
  for (const records::ShakingAtSpeed& s : k.shaking) {
    const p::RidePoint there = hardest_at(told, s.speed_m_per_s);
    c.shaking.push_back({s.speed_m_per_s, s.peak_m_per_s2, s.rms_m_per_s2, there.peak_m_s2, there.weighted_rms_m_s2});
  }
  c.predicted_m_per_s = passed_at(told, told.question, p::RideLimit::wheels_leave_ground);
  c.shock_speed_m_per_s = bound_passed_at(told, c.peak_ratio, p::RideLimit::shock);
  c.ride_speed_m_per_s = bound_passed_at(told, c.rms_ratio, p::RideLimit::ride);
  const auto speed = [&](double v) { return units::print_quantity(v, Dimension::speed, u); };
  const std::string predicted = c.predicted_m_per_s ? "a wheel lifts at " + speed(*c.predicted_m_per_s) : "no wheel lifts up to " + speed(told.question.fastest_m_s);
  c.judged = std::isfinite(c.measured_m_per_s.lo) || std::isfinite(c.measured_m_per_s.hi);
  const double lifts = c.predicted_m_per_s.value_or(std::numeric_limits<double>::infinity());
  c.consistent = c.judged && c.measured_m_per_s.contains(lifts);
  c.statement = measured + "Computed: " + predicted;
  if (!c.judged) c.statement += "; no run was decided";
  else if (c.consistent) c.statement += ": consistent with the runs";
  else if (lifts > c.measured_m_per_s.hi) c.statement += ": contradicted, wheels lift at less: drive slower than computed";
  else c.statement += ": contradicted, wheels hold the ground at more";
  c.statement += ".";
  if (c.peak_ratio) c.statement += times("largest acceleration", *c.peak_ratio);
  if (c.rms_ratio) c.statement += times("r.m.s. acceleration", *c.rms_ratio);
  for (const auto& [what, at] : {std::pair{"shock", &c.shock_speed_m_per_s}, {"ride", &c.ride_speed_m_per_s}}) {
    if (!*at) continue;
    const auto& next = (*at)->next_point;
    c.statement += fmt::format(" With this factor the {} bound is passed at {}{}.", what, speed((*at)->value),
                               !next ? "" : std::isinf(next->hi) ? fmt::format(" (next run: {} or more)", speed(next->lo)) : fmt::format(" (next run: {})", units::print_interval(next->lo, next->hi, Dimension::speed, u)));
  }
  return c;
}

template <class Out, class In, class Told, class One>
std::vector<Out> each(const std::vector<In>& runs, const Told& told, const One& one, units::OutputUnits units) {
  std::vector<Out> out;
  for (const In& k : runs) out.push_back(one(k, told(k), units));
  return out;
}

}  // namespace

std::vector<TripComparison> compare_trips(const std::vector<records::TripRuns>& runs, const std::function<TripTold(const records::TripRuns&)>& told, units::OutputUnits units) {
  return each<TripComparison>(runs, told, trip, units);
}
std::vector<RockComparison> compare_rocks(const std::vector<records::RockRuns>& runs, const std::function<RocksTold(const records::RockRuns&)>& told, units::OutputUnits units) {
  return each<RockComparison>(runs, told, rocks, units);
}
std::vector<RoughComparison> compare_rough(const std::vector<records::RoughRuns>& runs, const std::function<RoughTold(const records::RoughRuns&)>& told, units::OutputUnits units) {
  return each<RoughComparison>(runs, told, rough, units);
}

}  // namespace hardpan::validation
