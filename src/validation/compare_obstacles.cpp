// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_obstacles.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "validation/detail/at_weight.hpp"

namespace hardpan::validation {
namespace {

namespace p = performance;
using records::Harder;
using records::ObstacleKind;
using records::ObstacleLimits;
using records::ObstacleOutcome;

constexpr double kInfinity = std::numeric_limits<double>::infinity();

double largest_radius(const p::ProfileVehicle& v) {
  double radius = 0;
  for (const p::ProfileAxle& a : v.axles) radius = std::max(radius, a.radius_m);
  return radius;
}
double length(const p::ProfileVehicle& v) { return v.axles.back().x_m - v.axles.front().x_m + 2 * largest_radius(v); }

p::Profile profile_of(const p::ProfileVehicle& v, ObstacleKind kind, double size_m) {
  switch (kind) {
    case ObstacleKind::step_up: return p::Profile::step(size_m);
    case ObstacleKind::step_down: return p::Profile::step(-size_m);
    case ObstacleKind::gap:
    case ObstacleKind::profile: break;   // a profile has no size
  }
  return p::Profile::gap(size_m, 4 * length(v));  // as deep as no wheel reaches the bottom
}

p::CrossingSettings settings_at(std::optional<double> friction) { return {.friction = friction, .descents_held = false}; }

struct Limit {
  double passes_m = 0, fails_m = kInfinity;
  std::optional<p::Obstruction> stopped_by;
  bool solved = false;
};

// The deepest step down, as highest_step looks for the highest up: a ladder from below, then halves.
Limit deepest_step(const p::ProfileVehicle& v, double friction) {
  constexpr int kLadder = 16;
  constexpr double kTolerance_m = 1e-3;
  const double most = 4 * largest_radius(v);
  Limit out;
  const auto fails = [&](double size) -> std::optional<bool> {
    const p::Crossing c = p::cross(v, p::Profile::step(-size), settings_at(friction));
    if (!c.solve.converged()) return std::nullopt;
    if (!c.passes) out.stopped_by = c.stopped_by;
    return !c.passes;
  };
  for (int i = 1; i <= kLadder && std::isinf(out.fails_m); ++i) {
    const auto f = fails(most * i / kLadder);
    if (!f) return out;
    (*f ? out.fails_m : out.passes_m) = most * i / kLadder;
  }
  while (std::isfinite(out.fails_m) && out.fails_m - out.passes_m > kTolerance_m) {
    const double middle = 0.5 * (out.passes_m + out.fails_m);
    const auto f = fails(middle);
    if (!f) return out;
    (*f ? out.fails_m : out.passes_m) = middle;
  }
  out.solved = true;
  return out;
}

Limit limit_at(const p::ProfileVehicle& v, ObstacleKind kind, double friction) {
  if (kind == ObstacleKind::step_down) return deepest_step(v, friction);
  const p::ObstacleLimit l = kind == ObstacleKind::gap ? p::widest_gap(v, settings_at(friction), {}) : p::highest_step(v, settings_at(friction), {});
  if (l.solve.status == base::SolveStatus::out_of_range) return {l.passes_m, kInfinity, std::nullopt, true};
  return {l.passes_m, l.fails_m, l.stopped_by, l.solve.converged()};
}

// Least friction over the whole crossing; infinite where none would do, nothing where it was not solved.
std::optional<double> friction_needed(const p::ProfileVehicle& v, const p::Profile& profile) {
  const p::Crossing c = p::cross(v, profile, settings_at(std::nullopt));
  if (!c.solve.converged()) return std::nullopt;
  return c.passes ? c.least_friction : kInfinity;
}

struct Told {
  units::OutputUnits units;
  [[nodiscard]] std::string size(double m) const { return units::print_quantity(m, units::Dimension::length, units); }
};

std::string friction_text(const ObstacleComparison& c, const ObstacleLimits& k, const Told& told) {
  std::string out;
  const auto least = [](double mu) { return mu < 0.005 ? std::string("no friction") : fmt::format("a friction of at least {:.2f}", mu); };
  if (c.friction_needed_passed && std::isfinite(*c.friction_needed_passed)) {
    out += fmt::format(" By the computation {} takes {}", told.size(*k.bracket.hardest_passed), least(*c.friction_needed_passed));
  }
  // Where outcomes overlap at one size it stands once.
  if (c.friction_needed_failed && (out.empty() || *k.bracket.failed != *k.bracket.hardest_passed)) {
    out += out.empty() ? " By the computation " : " and ";
    out += std::isfinite(*c.friction_needed_failed) ? fmt::format("{} takes {}", told.size(*k.bracket.failed), least(*c.friction_needed_failed))
                                                    : fmt::format("no friction gets the vehicle over {}", told.size(*k.bracket.failed));
  }
  return out.empty() ? out : out + ".";
}

std::string at_friction(const math::Interval& mu) { return mu.lo == mu.hi ? fmt::format("{:.2f}", mu.lo) : fmt::format("{:.2f} to {:.2f}", mu.lo, mu.hi); }

std::string predicted_text(const ObstacleComparison& c, const ObstacleLimits& k, const Told& told) {
  const std::string at = at_friction(*k.friction);
  const double lo = c.predicted_m->lo, hi = c.predicted_m->hi;
  if (std::isinf(hi)) return fmt::format("Predicted on hard ground at the friction measured ({}): over at least {}", at, told.size(lo));
  return fmt::format("Predicted on hard ground at the friction measured ({}): over sizes up to {}", at,
                     hi - lo < 2e-3 ? told.size(lo) : units::print_interval(lo, hi, units::Dimension::length, told.units));
}

std::string measured_text(const ObstacleLimits& k) { return records::group_words(k) + ": " + k.text + ". "; }

// The vehicle as it met the obstacle; nothing, and why.
std::optional<p::ProfileVehicle> as_met(const ObstacleLimits& k, const vehicle::Vehicle* vehicle, double gravity_m_s2, std::string& why_not) {
  std::optional<p::ProfileVehicle> v;
  if (vehicle) v = p::profile_vehicle(detail::at_weight(*vehicle, k.weight_n, gravity_m_s2), gravity_m_s2);
  if (!v || v->axles.size() < 2) {
    why_not = vehicle ? "a vehicle of this many axles is not crossed with" : "the vehicle is not described";
    return std::nullopt;
  }
  return k.backward ? p::mirrored(*v) : *v;
}

constexpr const char* kNoFriction = "the friction of wheel on obstacle was not measured; add a column friction";
constexpr const char* kMetAtSpeed = " Met at speed: the motion helps, and the slow crossing computed is a lower bound.";

// Tries at a profile of the campaign: got over or not, at the friction measured.
ObstacleComparison compare_profile(const ObstacleLimits& k, const vehicle::Vehicle* vehicle, const p::Profile* profile, double gravity_m_s2) {
  ObstacleComparison c{.vehicle = k.vehicle, .zone = k.zone, .obstacle = k.obstacle, .profile = k.profile, .rolling_start = k.rolling_start, .backward = k.backward};
  std::string needs;
  const auto not_judged = [&](const std::string& why) {
    c.statement = measured_text(k) + "Nothing is judged: " + why + "." + needs;
    return c;
  };
  const std::size_t over = k.sizes.empty() ? 0 : k.sizes.front().passed, failed = k.sizes.empty() ? 0 : k.sizes.front().failed;
  if (over + failed == 0) return not_judged("no try was decided");
  if (!profile) return not_judged("its profile is not described");
  std::string why_not;
  const auto v = as_met(k, vehicle, gravity_m_s2, why_not);
  if (!v) return not_judged(why_not);
  const auto needed = friction_needed(*v, *profile);
  if (!needed) return not_judged("the crossing has no numerical answer");
  needs = std::isinf(*needed) ? " By the computation no friction gets the vehicle over it." : fmt::format(" By the computation it takes a friction of at least {:.2f}.", *needed);
  if (over > 0) c.friction_needed_passed = needed;
  if (failed > 0) c.friction_needed_failed = needed;
  if (!k.friction) return not_judged(kNoFriction);
  c.judged = true;
  c.consistent = (over == 0 || k.rolling_start || *needed <= k.friction->hi) && (failed == 0 || *needed >= k.friction->lo);
  const p::Crossing there = p::cross(*v, *profile, settings_at(k.friction->lo));
  if (there.solve.converged() && !there.passes) c.predicted_end = there.stopped_by;
  const bool always = *needed <= k.friction->lo, never = *needed > k.friction->hi;
  c.statement = measured_text(k) + fmt::format("Predicted on hard ground at the friction measured ({}): {}: {} the tries.", at_friction(*k.friction),
                                               always ? "over" : never ? "not over" : "over at the higher friction, not at the lower", c.consistent ? "consistent with" : "contradicted by");
  if (k.rolling_start) c.statement += kMetAtSpeed;
  if (failed > 0 && c.predicted_end) {
    c.ends_alike = std::any_of(k.ended.begin(), k.ended.end(), [&](const auto& e) { return ends_as(*c.predicted_end, e.first); });
    c.statement += fmt::format(" The computation is stopped by {}; the try was seen to end \"{}\"{}.", p::name(*c.predicted_end), records::name(k.ended.front().first), *c.ends_alike ? "" : ": not as computed");
  }
  c.statement += needs;
  return c;
}

ObstacleComparison compare_one(const ObstacleLimits& k, const vehicle::Vehicle* vehicle, double gravity_m_s2, const Told& told) {
  ObstacleComparison c{.vehicle = k.vehicle, .zone = k.zone, .obstacle = k.obstacle, .rolling_start = k.rolling_start, .backward = k.backward,
                       .measured_m = records::where_the_limit_is(k.bracket, Harder::larger)};
  const std::string measured = measured_text(k);
  const auto not_judged = [&](const std::string& why) {
    c.statement = measured + "Nothing is judged: " + why + "." + friction_text(c, k, told);
    return c;
  };
  if (!k.bracket.hardest_passed && !k.bracket.failed) return not_judged("no try was decided");
  std::string why_not;
  const auto v = as_met(k, vehicle, gravity_m_s2, why_not);
  if (!v) return not_judged(why_not);
  if (k.bracket.hardest_passed) c.friction_needed_passed = friction_needed(*v, profile_of(*v, k.obstacle, *k.bracket.hardest_passed));
  if (k.bracket.failed) c.friction_needed_failed = friction_needed(*v, profile_of(*v, k.obstacle, *k.bracket.failed));
  if (!k.friction) return not_judged(kNoFriction);
  const Limit least = limit_at(*v, k.obstacle, k.friction->lo);
  const Limit most = k.friction->hi > k.friction->lo ? limit_at(*v, k.obstacle, k.friction->hi) : least;
  if (!least.solved || !most.solved) return not_judged("the crossing has no numerical answer");
  c.predicted_m = math::Interval{least.passes_m, most.fails_m};
  c.predicted_end = least.stopped_by;
  c.judged = true;
  // Motion helps: what was crossed at speed beyond the computed limit contradicts nothing.
  c.consistent = c.predicted_m->lo <= c.measured_m.hi && (k.rolling_start || c.predicted_m->hi >= c.measured_m.lo);
  if (k.bracket.failed) {
    const p::Crossing there = p::cross(*v, profile_of(*v, k.obstacle, *k.bracket.failed), settings_at(k.friction->lo));
    if (there.solve.converged() && !there.passes && there.stopped_by && !k.ended.empty()) {
      c.ends_alike = std::any_of(k.ended.begin(), k.ended.end(), [&](const auto& e) { return ends_as(*there.stopped_by, e.first); });
      c.predicted_end = there.stopped_by;
    }
  }
  c.statement = measured + predicted_text(c, k, told) + ": " + (c.consistent ? "consistent with the tries" : "contradicted by the tries");
  if (!k.bracket.failed || (!k.bracket.passed && !k.bracket.overlap)) c.statement += ", which bound it from one side only";
  c.statement += ".";
  if (k.rolling_start) c.statement += kMetAtSpeed;
  if (c.ends_alike) {
    c.statement += fmt::format(" At {} the computation is stopped by {}; the try was seen to end \"{}\"{}.", told.size(*k.bracket.failed), p::name(*c.predicted_end),
                               records::name(k.ended.front().first), *c.ends_alike ? "" : ": not as computed");
  }
  c.statement += friction_text(c, k, told);
  return c;
}

}  // namespace

bool ends_as(p::Obstruction computed, ObstacleOutcome seen) {
  switch (computed) {
    case p::Obstruction::friction:
    case p::Obstruction::torque: return seen == ObstacleOutcome::stopped;
    case p::Obstruction::hang_up: return seen == ObstacleOutcome::hung_up;
    case p::Obstruction::tip_over: return seen == ObstacleOutcome::tipped;
    case p::Obstruction::no_ground: return seen == ObstacleOutcome::stopped || seen == ObstacleOutcome::hung_up;
  }
  return false;
}

std::vector<ObstacleComparison> compare_obstacles(const std::vector<ObstacleLimits>& limits, const std::vector<vehicle::Vehicle>& vehicles,
                                                  const std::map<std::string, p::Profile>& profiles, double gravity_m_s2, units::OutputUnits units) {
  std::vector<ObstacleComparison> out;
  for (const ObstacleLimits& k : limits) {
    const auto v = std::find_if(vehicles.begin(), vehicles.end(), [&](const vehicle::Vehicle& x) { return x.id == k.vehicle; });
    const vehicle::Vehicle* vehicle = v == vehicles.end() ? nullptr : &*v;
    const auto profile = profiles.find(k.profile);
    out.push_back(k.obstacle == ObstacleKind::profile ? compare_profile(k, vehicle, profile == profiles.end() ? nullptr : &profile->second, gravity_m_s2)
                                                      : compare_one(k, vehicle, gravity_m_s2, {units}));
  }
  return out;
}

}  // namespace hardpan::validation
