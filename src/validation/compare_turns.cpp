// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_turns.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/thread_pool.hpp"
#include "soil/possible_soils.hpp"
#include "validation/detail/at_weight.hpp"
#include "validation/detail/judge_comparison.hpp"

namespace hardpan::validation {
namespace {

namespace p = performance;
using math::Interval;
using records::Harder;
using records::RingPath;
using records::TurnLimits;
using records::TurnOutcome;

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kLevel_rad = std::numbers::pi / 180;  // up to here one heading stands for the ring

double ring_of(const p::Turn& t, RingPath path) {
  switch (path) {
    case RingPath::outer_wheel: return t.outer_wheel_radius_m;
    case RingPath::inner_wheel: return t.inner_wheel_radius_m;
    case RingPath::centre: break;
  }
  return std::abs(t.radius_m);
}

// The ring of a state on soil: every wheel about the turning centre that the ground made.
double ring_of(const p::TurnState& s, RingPath path) {
  if (path == RingPath::centre || s.wheels.empty()) return std::abs(s.radius_m);
  double outer = 0, inner = kInfinity;
  for (const p::WheelInTurn& w : s.wheels) {
    const double r = std::hypot(w.place.x_m - s.centre_x_m, w.place.y_m - s.radius_m);
    outer = std::max(outer, r);
    inner = std::min(inner, r);
  }
  return path == RingPath::outer_wheel ? outer : inner;
}

struct Asked {
  std::vector<double> headings, radii;   // radii of the vehicle, signed
  p::TurnCase turn;
};

// One soil: at each radius whether it goes at every heading (nothing: some heading has no answer), and mean torque and work over the headings.
struct Answer {
  std::vector<std::optional<bool>> goes;
  std::vector<double> torque_n_m, work_j_per_m;
};
Answer answer(const p::TurningMachine& m, const Asked& q) {
  Answer a{.goes = std::vector<std::optional<bool>>(q.radii.size(), true), .torque_n_m = std::vector<double>(q.radii.size(), 0), .work_j_per_m = std::vector<double>(q.radii.size(), 0)};
  if (q.radii.empty()) return a;
  for (const double heading : q.headings) {
    p::TurnCase turn = q.turn;
    turn.heading_rad = heading;
    turn.radius_m = q.radii.front();
    const auto states = p::turns_on_soil(m, turn, q.radii);
    for (std::size_t i = 0; i < states.size(); ++i) {
      const p::TurnState& s = states[i];
      if (s.status == p::TurnStatus::not_converged) a.goes[i].reset();
      else if (a.goes[i]) a.goes[i] = *a.goes[i] && s.goes();
      double sum = s.balanced() ? 0 : kNaN;
      for (const p::WheelInTurn& w : s.wheels) sum += w.torque_n_m;
      a.torque_n_m[i] += sum / static_cast<double>(q.headings.size());
      a.work_j_per_m[i] += s.work_j_per_m / static_cast<double>(q.headings.size());
    }
  }
  return a;
}

std::optional<bool> alike(p::TurnLimit limit, const std::vector<std::pair<TurnOutcome, std::size_t>>& ended) {
  const auto seen = [&](TurnOutcome o) { return std::any_of(ended.begin(), ended.end(), [&](const auto& e) { return e.first == o; }); };
  switch (limit) {
    case p::TurnLimit::torque:
    case p::TurnLimit::power:
    case p::TurnLimit::carrying: return seen(TurnOutcome::stalled);
    case p::TurnLimit::ground: return seen(TurnOutcome::slid);
    case p::TurnLimit::none:
    case p::TurnLimit::steering:
    case p::TurnLimit::follower:
    case p::TurnLimit::tips_over:
    case p::TurnLimit::not_converged: break;
  }
  return std::nullopt;
}

// Nothing is said of a prediction without an interval: it could only agree by chance.
std::optional<bool> agree(const math::Estimate& measured, const std::optional<Interval>& next) {
  if (!next) return std::nullopt;
  const Interval m = measured.average_ground.value_or(Interval{measured.value, measured.value});
  return m.lo <= next->hi && next->lo <= m.hi;
}

class Compare {
 public:
  Compare(const TurnLimits& limits, const vehicle::Vehicle& vehicle, const p::Ground& ground, const p::DrawPlan& plan, units::OutputUnits units)
      : k_(limits), v_(detail::at_weight(vehicle, limits.weight_n, plan.gravity_m_s2)), ground_(ground), plan_(plan), units_(units) {
    c_ = {.vehicle = k_.vehicle, .zone = k_.zone, .path = k_.path, .right = k_.right, .gradient_rad = k_.gradient_rad, .measured_m = records::where_the_limit_is(k_.bracket, Harder::smaller)};
    c_.measured_m.lo = std::max(c_.measured_m.lo, 0.0);
  }

  TurnComparison run() {
    if (!k_.bracket.hardest_passed && !k_.bracket.failed && k_.torque.empty()) return refuse("no turn was decided");
    if (v_.steering.kind == vehicle::SteeringKind::crab) return refuse("crab steering does not turn");
    std::string why;
    const auto centre = machine(ground_.centre, &why);
    if (!centre) return refuse(why);
    ask();
    find_limit(*centre);
    const Answer best = answer(*centre, asked_);
    const std::vector<Answer> others = possible();
    find_shares(others);
    find_torque(best, others);
    std::size_t at = 0;
    if (k_.bracket.hardest_passed) c_.best_goes_at_passed = best.goes[at++];
    if (k_.bracket.failed) c_.best_goes_at_failed = best.goes[at];
    judge();
    c_.statement = words();
    return c_;
  }

 private:
  [[nodiscard]] std::optional<p::TurningMachine> machine(soil::Soil s, std::string* why) const {
    if (!s.slip_exponent) s.slip_exponent = plan_.form.slip_exponent_mean;
    base::Problems problems;
    auto m = p::make_turning_machine(v_, s, plan_.gravity_m_s2, ground_.loose ? ground_.slip_sinkage : soil::SlipSinkage::none, {.key = "turn"}, problems);
    if (!m && why) *why = problems.list().empty() ? "the vehicle cannot be set on this soil" : problems.list().front().what;
    return m;
  }

  TurnComparison refuse(const std::string& why) {
    c_.statement = head() + "nothing is judged: " + why + ".";
    return c_;
  }

  void ask() {
    asked_.headings = std::abs(k_.gradient_rad) > kLevel_rad ? std::vector<double>{0, 0.5 * std::numbers::pi, std::numbers::pi, -0.5 * std::numbers::pi} : std::vector<double>{0};
    asked_.turn = {.radius_m = side() * kInfinity, .gradient_rad = std::abs(k_.gradient_rad) > kLevel_rad ? std::abs(k_.gradient_rad) : 0, .speed_m_s = k_.speed_m_per_s.value_or(0)};
    const auto add = [&](double ring) { asked_.radii.push_back(side() * vehicle_radius_m(v_, k_.path, ring)); };
    if (k_.bracket.hardest_passed) add(*k_.bracket.hardest_passed);
    if (k_.bracket.failed) add(*k_.bracket.failed);
    first_torque_ = asked_.radii.size();
    for (const records::TorqueAtRadius& t : k_.torque) add(t.radius_m);
  }

  void find_limit(const p::TurningMachine& m) {
    Interval all{0, 0};
    for (const double heading : asked_.headings) {
      p::TurnCase turn = asked_.turn;
      turn.heading_rad = heading;
      const p::SmallestTurn s = p::smallest_turn(m, turn);
      if (s.limit == p::TurnLimit::not_converged) return;
      Interval one{0, 0};
      if (s.solve.status == base::SolveStatus::no_solution) {
        one = {kInfinity, kInfinity};
      } else {
        const double ring = ring_of(s.at_limit, k_.path);
        // The ring of the first radius that fails: as much beyond it as at the last that goes.
        one = {std::isnan(s.fails_m) ? 0 : std::max(ring - (std::abs(s.goes_m) - std::abs(s.fails_m)), 0.0), ring};
      }
      if (one.hi >= all.hi) {
        all = one;
        c_.limit = s.limit;
      }
    }
    c_.predicted_m = all;
  }

  [[nodiscard]] std::vector<Answer> possible() const {
    if (!ground_.distribution || asked_.radii.empty()) return {};
    soil::DrawSettings draws{.seed = plan_.seed, .count = kTurnSoils, .stream = ground_.zone, .soil_part = plan_.soil_part, .instrument_part = plan_.instrument_part, .model_form_part = plan_.model_form_part};
    for (const vehicle::Axle& a : v_.axles) draws.widths_in_use_m.push_back(a.wheel.contact_width_m.value_or(a.wheel.width_m));
    const soil::PossibleSoils soils = soil::possible_soils(*ground_.distribution, plan_.form, draws);
    std::vector<std::optional<Answer>> found(soils.next_point.size());
    base::ThreadPool(plan_.threads).for_chunks(found.size(), 4, {}, [&](std::size_t begin, std::size_t end) {
      for (std::size_t i = begin; i < end; ++i) {
        if (const auto m = machine(soils.next_point[i], nullptr)) found[i] = answer(*m, asked_);
      }
    });
    std::vector<Answer> out;
    for (auto& a : found) {
      if (a) out.push_back(std::move(*a));
    }
    return out;
  }

  void find_shares(const std::vector<Answer>& others) {
    std::size_t at = 0;
    for (const bool passed : {true, false}) {
      if (!(passed ? k_.bracket.hardest_passed : k_.bracket.failed)) continue;
      std::size_t answered = 0, as_seen = 0;
      for (const Answer& a : others) {
        if (!a.goes[at]) continue;
        ++answered;
        as_seen += *a.goes[at] == passed;
      }
      if (answered > 0) (passed ? c_.goes_at_passed : c_.fails_at_failed) = static_cast<double>(as_seen) / static_cast<double>(answered);
      c_.soils = std::max(c_.soils, answered);
      ++at;
    }
  }

  void find_torque(const Answer& best, const std::vector<Answer>& others) {
    for (std::size_t i = 0; i < k_.torque.size(); ++i) {
      const records::TorqueAtRadius& t = k_.torque[i];
      const std::size_t at = first_torque_ + i;
      TorqueCompared x{.radius_m = t.radius_m, .vehicle_radius_m = std::abs(asked_.radii[at]), .measured_n_m = t.torque_n_m, .predicted_n_m = best.torque_n_m[at], .predicted_work_j_per_m = best.work_j_per_m[at]};
      std::vector<double> torque, work;
      for (const Answer& a : others) {
        torque.push_back(a.torque_n_m[at]);
        work.push_back(a.work_j_per_m[at]);
      }
      x.next_point_n_m = detail::central_interval(torque);
      x.next_point_work_j_per_m = detail::central_interval(work);
      if (k_.power_at_axles && t.work_j_per_m) {
        // Work is told along the path measured; the computed one along the radius of the vehicle.
        math::Estimate w = *t.work_j_per_m;
        const double share = x.vehicle_radius_m > 0 ? t.radius_m / x.vehicle_radius_m : kNaN;
        w.value *= share;
        for (auto* interval : {&w.average_ground, &w.next_point}) {
          if (*interval) *interval = Interval{(*interval)->lo * share, (*interval)->hi * share};
        }
        x.measured_work_j_per_m = w;
      }
      if (x.measured_n_m && std::isfinite(x.predicted_n_m)) x.consistent = agree(*x.measured_n_m, x.next_point_n_m);
      else if (x.measured_work_j_per_m && std::isfinite(x.measured_work_j_per_m->value) && std::isfinite(x.predicted_work_j_per_m)) x.consistent = agree(*x.measured_work_j_per_m, x.next_point_work_j_per_m);
      c_.torque.push_back(std::move(x));
    }
  }

  void judge() {
    if (!k_.bracket.hardest_passed && !k_.bracket.failed) return;
    if (c_.predicted_m) {
      c_.judged = true;
      c_.consistent = c_.predicted_m->lo <= c_.measured_m.hi && c_.predicted_m->hi >= c_.measured_m.lo;
    } else {
      c_.judged = (!k_.bracket.hardest_passed || c_.best_goes_at_passed) && (!k_.bracket.failed || c_.best_goes_at_failed);
      c_.consistent = c_.judged && c_.best_goes_at_passed.value_or(true) && !c_.best_goes_at_failed.value_or(false);
      if (!c_.judged) return;
    }
    // Some possible soil does what was seen at either end: with forty of them one is the 2.5 % of a tail.
    if (!c_.consistent && c_.soils > 0) c_.consistent = (!k_.bracket.hardest_passed || c_.goes_at_passed.value_or(0) > 0) && (!k_.bracket.failed || c_.fails_at_failed.value_or(0) > 0);
    if (k_.bracket.failed && c_.limit != p::TurnLimit::none) c_.ends_alike = alike(c_.limit, k_.ended);
  }

  [[nodiscard]] double side() const { return k_.right ? -1 : 1; }
  [[nodiscard]] std::string length(double m) const { return units::print_quantity(m, units::Dimension::length, units_); }
  [[nodiscard]] std::string head() const {
    std::string out = fmt::format("Turn to the {}, radius of the {}", k_.right ? "right" : "left", k_.path == RingPath::centre ? "vehicle's centre" : std::string(records::name(k_.path)) + "'s path");
    if (std::abs(k_.gradient_rad) > kLevel_rad) out += ", on " + units::print_quantity(k_.gradient_rad, units::Dimension::angle, units_);
    return out + ": " + (k_.bracket.hardest_passed || k_.bracket.failed ? k_.text + ". " : "");
  }
  [[nodiscard]] std::string words() const {
    std::string out = head();
    if (!c_.predicted_m && !c_.judged) return out + "The prediction has no numerical answer; nothing is judged.";
    if (!c_.predicted_m) {
      out += "The smallest radius predicted was not found; on the best-estimate soil the vehicle ";
      if (c_.best_goes_at_passed) out += fmt::format("{} round {}", *c_.best_goes_at_passed ? "goes" : "does not go", length(*k_.bracket.hardest_passed));
      if (c_.best_goes_at_failed) out += fmt::format("{}{} round {}", c_.best_goes_at_passed ? " and " : "", *c_.best_goes_at_failed ? "goes" : "does not go", length(*k_.bracket.failed));
    } else if (std::isinf(c_.predicted_m->hi)) {
      out += "Predicted on the best-estimate soil: no turn, not even straight travel goes";
    } else if (c_.limit == p::TurnLimit::none) {
      out += "Predicted on the best-estimate soil: any radius";
    } else {
      out += fmt::format("Predicted on the best-estimate soil: down to {} ({})", length(c_.predicted_m->hi), p::name(c_.limit));
    }
    out += !c_.judged ? "." : c_.consistent ? ": consistent with the turns" : ": contradicted by the turns";
    if (c_.judged) out += !k_.bracket.failed || (!k_.bracket.passed && !k_.bracket.overlap) ? ", which bound it from one side only." : ".";
    if (c_.goes_at_passed) out += fmt::format(" Of {} possible soils {:.0f} % go round {}", c_.soils, 100 * *c_.goes_at_passed, length(*k_.bracket.hardest_passed));
    if (c_.fails_at_failed) out += fmt::format("{} {:.0f} % fail at {}", c_.goes_at_passed ? " and" : fmt::format(" Of {} possible soils", c_.soils), 100 * *c_.fails_at_failed, length(*k_.bracket.failed));
    if (c_.goes_at_passed || c_.fails_at_failed) out += ".";
    if (c_.ends_alike && !*c_.ends_alike) out += fmt::format(" The turn was seen to end \"{}\": not as computed.", records::name(k_.ended.front().first));
    std::size_t judged = 0, inside = 0;
    for (const TorqueCompared& t : c_.torque) {
      judged += t.consistent.has_value();
      inside += t.consistent.value_or(false);
    }
    if (judged > 0) out += fmt::format(" Torque or work agrees at {} of {} radii.", inside, judged);
    return out;
  }

  const TurnLimits& k_;
  vehicle::Vehicle v_;
  const p::Ground& ground_;
  const p::DrawPlan& plan_;
  units::OutputUnits units_;
  TurnComparison c_;
  Asked asked_;
  std::size_t first_torque_ = 0;
};

}  // namespace

double vehicle_radius_m(const vehicle::Vehicle& vehicle, RingPath path, double ring_radius_m) {
  if (path == RingPath::centre) return ring_radius_m;
  const auto ring = [&](double radius) { return ring_of(p::turn_at(vehicle, radius), path); };
  double lo = 0, hi = ring_radius_m + 2 * vehicle::wheelbase_m(vehicle) + 10;
  if (path == RingPath::inner_wheel) {  // once the turning centre lies beyond the inner wheels their ring grows with the radius
    for (const vehicle::Axle& a : vehicle.axles) lo = std::max(lo, 0.5 * a.track_width_m);
  }
  if (ring(lo) >= ring_radius_m) return lo;
  for (int i = 0; i < 60; ++i) (ring(0.5 * (lo + hi)) < ring_radius_m ? lo : hi) = 0.5 * (lo + hi);
  return 0.5 * (lo + hi);
}

std::vector<TurnComparison> compare_turns(const std::vector<TurnLimits>& limits, const vehicle::Vehicle& vehicle, const p::Ground& ground,
                                          const p::DrawPlan& plan, units::OutputUnits units) {
  std::vector<TurnComparison> out;
  for (const TurnLimits& k : limits) {
    if (k.vehicle == vehicle.id && k.zone == ground.zone) out.push_back(Compare(k, vehicle, ground, plan, units).run());
  }
  return out;
}

}  // namespace hardpan::validation
