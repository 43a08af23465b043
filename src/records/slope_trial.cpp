// SPDX-License-Identifier: Apache-2.0
// Chance of a go at angle x: F(z + b (t - x)), where t is the angle with chance F(z), b = 1 / sigma. For fixed t the log
// likelihood is concave in b >= 0, and its profile over b has one hump in t, so golden sections and bisection are safe.
// Profile likelihood interval: 2 (max - profile) <= chi-square(level, 1) ([Meeker1998] section 8.3; from memory).
// b exists only if some go lies steeper than some no-go: otherwise the data are separated and b grows without end
// ([Albert1984]); the bracket is then all there is.
#include "records/slope_trial.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>

#include <fmt/format.h>

#include "math/distributions.hpp"
#include "math/statistics.hpp"
#include "units/count.hpp"

namespace hardpan::records {
namespace {

constexpr double kDegree = std::numbers::pi / 180;

double log_chance(ChanceCurve curve, double x) {
  if (curve == ChanceCurve::logistic) return x > 0 ? -std::log1p(std::exp(-x)) : x - std::log1p(std::exp(x));
  if (x < -30) return -0.5 * x * x - std::log(-x * std::sqrt(2 * std::numbers::pi));  // leading term of the tail, 1e-3 there
  return std::log(0.5 * std::erfc(-x / std::numbers::sqrt2));
}

double quantile(ChanceCurve curve, double chance) {
  return curve == ChanceCurve::logistic ? std::log(chance / (1 - chance)) : math::normal_quantile(chance);
}

struct Decided {
  double angle = 0;
  bool go = false;
};

double golden_max(double a, double b, const std::function<double(double)>& f, double tolerance, double& best) {
  constexpr double kGolden = std::numbers::phi - 1;
  double x1 = b - kGolden * (b - a), x2 = a + kGolden * (b - a), f1 = f(x1), f2 = f(x2);
  for (int i = 0; i < 200 && b - a > tolerance; ++i) {
    if (f1 >= f2) b = x2, x2 = x1, f2 = f1, x1 = b - kGolden * (b - a), f1 = f(x1);
    else a = x1, x1 = x2, f1 = f2, x2 = a + kGolden * (b - a), f2 = f(x2);
  }
  best = std::max(f1, f2);
  return 0.5 * (a + b);
}

class Profile {
 public:
  Profile(ChanceCurve curve, std::vector<Decided> trials, double z) : curve_(curve), trials_(std::move(trials)), z_(z) {
    for (const Decided& d : trials_) lo_ = std::min(lo_, d.angle), hi_ = std::max(hi_, d.angle);
  }
  [[nodiscard]] double likelihood(double t, double b) const {
    double sum = 0;
    for (const Decided& d : trials_) {
      const double x = z_ + b * (t - d.angle);
      sum += log_chance(curve_, d.go ? x : -x);
    }
    return sum;
  }
  // Largest over b in [0, 1 / 0.01 degree]; searched in b / (1 + b / b0), which keeps small b resolved.
  [[nodiscard]] double at(double t, double* b_best = nullptr) const {
    const double b0 = 1 / (5 * kDegree), top = 100 / kDegree;
    double best = 0;
    const double u = golden_max(
        0, top / (1 + top / b0), [&](double v) { return likelihood(t, v / (1 - v / b0)); }, 1e-10 * b0, best);
    if (b_best) *b_best = u / (1 - u / b0);
    return best;
  }
  struct Result {
    double t = 0, b = 0, likelihood = 0;
    std::optional<double> lo, hi;  // of the interval; absent where it has no end within 45 degrees of the trials
    bool inside = false;
  };
  [[nodiscard]] Result solve(double level) const {
    Result out;
    const double a = lo_ - 45 * kDegree, c = hi_ + 45 * kDegree;
    out.t = golden_max(
        a, c, [&](double t) { return at(t); }, 1e-7, out.likelihood);
    out.likelihood = at(out.t, &out.b);
    out.inside = out.t > a + 1e-4 && out.t < c - 1e-4;
    const double floor = out.likelihood - 0.5 * math::chi_square_quantile(level, 1);
    const auto edge = [&](double far) -> std::optional<double> {
      if (at(far) > floor) return std::nullopt;
      double in = out.t, beyond = far;
      for (int i = 0; i < 60; ++i) {
        const double middle = 0.5 * (in + beyond);
        (at(middle) > floor ? in : beyond) = middle;
      }
      return 0.5 * (in + beyond);
    };
    out.lo = edge(a), out.hi = edge(c);
    return out;
  }

 private:
  ChanceCurve curve_;
  std::vector<Decided> trials_;
  double z_;
  double lo_ = HUGE_VAL, hi_ = -HUGE_VAL;
};

bool overlap(const std::vector<Decided>& trials) {
  double steepest_go = -HUGE_VAL, least_no_go = HUGE_VAL;
  for (const Decided& d : trials) {
    if (d.go) steepest_go = std::max(steepest_go, d.angle);
    else least_no_go = std::min(least_no_go, d.angle);
  }
  return steepest_go > least_no_go;
}

math::Estimate as_estimate(const Profile::Result& r, std::size_t n, double level) {
  math::Estimate out{.value = r.t, .level = level, .n = n, .status = math::kStatusOk};
  if (r.lo && r.hi) out.average_ground = math::Interval{*r.lo, *r.hi};
  else
    out.status = fmt::format("no interval: the trials do not bound it {}", !r.lo && !r.hi ? "on either side"
                                                                           : r.lo         ? "above"
                                                                                          : "below");
  return out;
}

TrialReading read_trial(const SlopeTrial& trial, base::Problems& problems) {
  TrialReading out{.file = trial.source.file, .line = trial.line, .id = trial.source.id, .run = trial.conditions.run, .condition = trial.source.condition};
  const base::Place place{.file = trial.source.file, .line = trial.line, .key = trial.line ? "" : trial.source.id};
  out.outcome = trial.outcome;
  out.heading_rad = trial.heading_rad, out.drift_rad = trial.drift_rad;
  out.slip_ratio = trial.slip_ratio, out.sinkage_m = trial.sinkage_m, out.length_climbed_m = trial.length_climbed_m;
  std::vector<double> angle;
  for (const double a : trial.angle_rad) {
    if (std::isfinite(a) && std::abs(a) < 1.5) angle.push_back(std::abs(a));
  }
  if (angle.size() < trial.angle_rad.size()) {
    problems.remark({.place = place,
                     .what = "angles set aside: not a slope",
                     .bound = "within +/- 86 deg",
                     .count = trial.angle_rad.size() - angle.size()});
  }
  if (angle.empty() && trial.conditions.gradient_stated) angle.push_back(std::abs(trial.conditions.gradient_rad));
  out.places = angle.size();
  if (angle.empty()) {
    out.bound = TrialBound::set_aside;
    out.why = "no angle";
    problems.remark({.place = place,
                     .what = "slope trial without an angle is set aside",
                     .value = trial.source.id,
                     .remedy = "measure the angle at three or more places along the climb"});
    return out;
  }
  out.angle_rad = math::mean(angle);
  out.steepest_rad = *std::max_element(angle.begin(), angle.end());
  if (angle.size() >= 2) out.angle_sd_rad = std::sqrt(math::variance(angle));
  if (angle.size() < 3) {
    problems.remark({.place = place,
                     .what = "slope trial with fewer than three angles",
                     .value = fmt::format("{}", angle.size()),
                     .bound = "3 places or more",
                     .remedy = "measure at bottom, middle and top of the climb"});
  }
  out.why = trial.why_stopped;
  if (trial.assisted) {
    out.bound = TrialBound::set_aside;
    out.why = "assisted" + (trial.why_stopped.empty() ? "" : ": " + trial.why_stopped);
    problems.remark({.place = place,
                     .what = "assisted slope trial is set aside",
                     .value = trial.source.id,
                     .bound = "the vehicle climbs on its own"});
    return out;
  }
  switch (trial.outcome) {
    case TrialOutcome::go: out.bound = TrialBound::at_least; break;
    case TrialOutcome::no_go:
      out.bound = TrialBound::below;
      if (trial.heading_rad && heading_end(trial.why_stopped) == HeadingEnd::tip_over) out.bound = trial.length_climbed_m && *trial.length_climbed_m > 0 ? TrialBound::at_least : TrialBound::either;
      break;
    case TrialOutcome::sled_limited:
      out.bound = TrialBound::at_least;
      out.why = "stopped by the sled, not by the slope" + (trial.why_stopped.empty() ? "" : ": " + trial.why_stopped);
      break;
    case TrialOutcome::aborted:
      out.bound = trial.length_climbed_m && *trial.length_climbed_m > 0 ? TrialBound::at_least : TrialBound::either;
      out.why = "aborted" + (trial.why_stopped.empty() ? "" : ": " + trial.why_stopped);
      break;
  }
  return out;
}

// Nothing within the class of straight up or down.
std::optional<double> aside(const SlopeTrial& t, double class_rad) {
  if (!t.heading_rad) return std::nullopt;
  const double size = std::abs(*t.heading_rad);
  return size <= class_rad || size >= std::numbers::pi - class_rad ? std::nullopt : t.heading_rad;
}

void make_headings(SlopeLimits& group) {
  std::vector<double> headings;
  std::map<HeadingEnd, std::size_t> ended;
  for (const TrialReading& t : group.trials) {
    headings.push_back(*t.heading_rad);
    if (t.bound == TrialBound::set_aside) continue;
    if (t.outcome == TrialOutcome::no_go) ++ended[heading_end(t.why)];
    if (t.outcome == TrialOutcome::go && t.drift_rad) group.largest_drift_rad = std::max(group.largest_drift_rad.value_or(0), *t.drift_rad);
  }
  group.heading_rad = math::mean(headings);
  group.ended.assign(ended.begin(), ended.end());
}

void make_bracket(SlopeLimits& group) {
  AngleBracket& b = group.bracket;
  const auto raise = [](std::optional<double>& x, double v) { x = x ? std::max(*x, v) : v; };
  for (const TrialReading& t : group.trials) {
    if (t.bound == TrialBound::below) b.no_go_rad = b.no_go_rad ? std::min(*b.no_go_rad, t.angle_rad) : t.angle_rad;
  }
  for (const TrialReading& t : group.trials) {
    if (t.bound != TrialBound::at_least) continue;
    if (t.outcome != TrialOutcome::go) {
      raise(b.at_least_rad, t.angle_rad);
      continue;
    }
    raise(b.steepest_go_rad, t.angle_rad);
    if (!b.no_go_rad || t.angle_rad < *b.no_go_rad) raise(b.go_rad, t.angle_rad);
  }
  b.overlap = b.steepest_go_rad && b.no_go_rad && *b.steepest_go_rad >= *b.no_go_rad;
  const auto degrees = [](double rad) { return fmt::format("{:.1f} degrees", rad / kDegree); };
  if (b.overlap)
    b.text = fmt::format("outcomes overlap: no-go already at {}, go still at {}", degrees(*b.no_go_rad),
                         degrees(*b.steepest_go_rad));
  else if (b.go_rad && b.no_go_rad)
    b.text = fmt::format("between {} (go) and {} (no-go)", degrees(*b.go_rad), degrees(*b.no_go_rad));
  else if (b.go_rad) b.text = fmt::format("at least {}: no trial failed", degrees(*b.go_rad));
  else if (b.no_go_rad) b.text = fmt::format("below {}: no trial passed", degrees(*b.no_go_rad));
  else b.text = "no trial passed or failed";
  if (b.at_least_rad && group.heading_rad) b.text += fmt::format("; runs broken off for another reason than the ground had been driven on {}", degrees(*b.at_least_rad));
  else if (b.at_least_rad) b.text += fmt::format("; runs that were aborted, or stopped by the sled and not by the slope, had climbed {}", degrees(*b.at_least_rad));
}

void make_angles(SlopeLimits& group, const SlopeTrialSettings& settings) {
  std::vector<const TrialReading*> sorted;
  for (const TrialReading& t : group.trials) {
    if (t.bound != TrialBound::set_aside) sorted.push_back(&t);
  }
  std::stable_sort(sorted.begin(), sorted.end(), [](const auto* a, const auto* b) { return a->angle_rad < b->angle_rad; });
  for (std::size_t i = 0; i < sorted.size();) {
    TestedAngle at;
    std::size_t j = i;
    double sum = 0;
    for (; j < sorted.size() && sorted[j]->angle_rad - sorted[i]->angle_rad <= settings.angle_class_rad; ++j) {
      sum += sorted[j]->angle_rad;
      switch (sorted[j]->outcome) {
        case TrialOutcome::go: ++at.go; break;
        case TrialOutcome::no_go: ++(sorted[j]->bound == TrialBound::below ? at.no_go : at.aborted); break;
        case TrialOutcome::aborted: ++at.aborted; break;
        case TrialOutcome::sled_limited: ++at.sled_limited; break;
      }
    }
    at.angle_rad = sum / static_cast<double>(j - i);
    if (const std::size_t n = at.go + at.no_go; n > 0) {
      at.chance_of_go = math::clopper_pearson(at.go, n, settings.level);
      at.demonstrated_reliability = math::demonstrated_reliability(settings.confidence, n, at.no_go);
    }
    group.angles.push_back(at);
    i = j;
  }
}

void make_curve(SlopeLimits& group, const SlopeTrialSettings& settings) {
  std::vector<Decided> decided, undecided;
  std::size_t no_go = 0;
  for (const TrialReading& t : group.trials) {
    if (t.bound == TrialBound::set_aside) continue;
    if (t.outcome == TrialOutcome::aborted || (t.outcome == TrialOutcome::no_go && t.bound != TrialBound::below)) {
      undecided.push_back({t.angle_rad, false});
      continue;
    }
    decided.push_back({t.angle_rad, t.outcome != TrialOutcome::no_go});
    no_go += t.outcome == TrialOutcome::no_go;
  }
  group.solve.status = base::SolveStatus::no_solution;
  if (!overlap(decided)) {
    group.curve_note = decided.empty() ? "no probability curve: no trial was decided"
                       : no_go == 0 || no_go == decided.size()
                           ? fmt::format("no probability curve: all trials that count ended in a {}", no_go == 0 ? "go" : "no-go")
                           : "no probability curve: every go lies below every no-go, so how sharply the probability falls is "
                             "not known; repeat trials at angles inside the bracket";
    return;
  }
  const Profile median(settings.curve, decided, 0);
  const Profile::Result m = median.solve(settings.level);
  // One chance for all angles is the model without a slope; a curve that is no likelier says nothing about angles.
  const double n = static_cast<double>(decided.size()), share = static_cast<double>(no_go) / n;
  const double flat = n * (share * std::log(share) + (1 - share) * std::log(1 - share));
  const bool found = m.inside && m.likelihood > flat + 1e-6;
  group.curve_used = settings.curve;
  group.solve = {.status = found ? base::SolveStatus::converged : base::SolveStatus::out_of_range,
                 .residual = 1e-7,
                 .tolerance = 1e-7,
                 .residual_unit = "rad"};
  if (!found) {
    group.curve_note = "no probability curve: in these trials a go is no rarer on the steeper slopes";
    group.curve_used.reset();
    return;
  }
  group.median_rad = as_estimate(m, decided.size(), settings.level);
  group.sigma_rad = 1 / m.b;
  const Profile high(settings.curve, decided, quantile(settings.curve, settings.high_chance));
  group.high_chance_rad = as_estimate(high.solve(settings.level), decided.size(), settings.level);
  group.curve_note =
      units::print_count(decided.size(), "trial") + "; with fewer than about 20 the interval (asymptotic) comes out too narrow";
  if (undecided.empty()) return;
  std::vector<double> both;
  for (const bool as_go : {true, false}) {
    std::vector<Decided> all = decided;
    for (Decided d : undecided) {
      d.go = as_go;
      all.push_back(d);
    }
    const Profile::Result r = Profile(settings.curve, all, 0).solve(settings.level);
    if (r.inside) both.push_back(r.t);
  }
  if (both.size() == 2)
    group.median_if_undecided_rad = math::Interval{std::min(both[0], both[1]), std::max(both[0], both[1])};
}

}  // namespace

std::vector<SlopeLimits> reduce_slope_trials(const std::vector<SlopeTrial>& trials, const SlopeTrialSettings& settings,
                                             base::Problems& problems) {
  std::vector<SlopeLimits> out;
  std::vector<std::vector<double>> weights;
  for (const SlopeTrial& trial : trials) {
    if (!(trial.conditions.weight_n > 0) || !std::isfinite(trial.conditions.weight_n)) {
      problems.refuse({.place = {.file = trial.source.file, .line = trial.line, .key = trial.line ? "" : trial.source.id},
                       .what = "weight of the vehicle as tested is missing or impossible",
                       .value = fmt::format("{}", trial.conditions.weight_n),
                       .bound = "over 0 N",
                       .remedy = "weigh the vehicle as tested and give its weight or mass"});
      continue;
    }
    const auto heading = aside(trial, settings.heading_class_rad);
    const bool downhill = trial.heading_rad ? std::abs(*trial.heading_rad) > 0.5 * std::numbers::pi : trial.downhill;
    const auto same = [&](const SlopeLimits& g) {
      if (g.heading_rad.has_value() != heading.has_value() || (heading && std::abs(*heading - *g.heading_rad) > settings.heading_class_rad)) return false;
      return g.vehicle == trial.conditions.vehicle && g.zone == trial.source.zone && (heading || g.downhill == downhill) &&
             g.rolling_start == trial.rolling_start &&
             std::abs(trial.conditions.weight_n - g.weight_n) <= settings.weight_class_relative * g.weight_n;
    };
    auto group = std::find_if(out.begin(), out.end(), same);
    if (group == out.end()) {
      out.push_back({.vehicle = trial.conditions.vehicle,
                     .zone = trial.source.zone,
                     .weight_n = trial.conditions.weight_n,
                     .downhill = !heading && downhill,
                     .rolling_start = trial.rolling_start,
                     .heading_rad = heading});
      weights.emplace_back();
      group = out.end() - 1;
    }
    weights[static_cast<std::size_t>(group - out.begin())].push_back(trial.conditions.weight_n);
    group->trials.push_back(read_trial(trial, problems));
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    SlopeLimits& g = out[i];
    g.weight_n = math::mean(weights[i]);
    if (g.heading_rad) make_headings(g);
    g.population = fmt::format("trials of {} in zone {} like these: {}, {} start, weight {}", g.vehicle,
                               g.zone.empty() ? "(not named)" : g.zone, g.heading_rad ? heading_words(*g.heading_rad) : g.downhill ? "downhill" : "uphill",
                               g.rolling_start ? "rolling" : "standing",
                               units::print_quantity(g.weight_n, units::Dimension::force, settings.output_units, 4));
    make_bracket(g);
    make_angles(g, settings);
    make_curve(g, settings);
  }
  return out;
}

const char* name(ChanceCurve curve) { return curve == ChanceCurve::probit ? "probit" : "logistic"; }

HeadingEnd heading_end(const std::string& why) {
  std::string plain;   // in any capitals, hyphens and blanks aside
  for (const char c : why) {
    if (c != '-' && c != ' ') plain += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  for (const auto& [words, end] : {std::pair{"noprogress", HeadingEnd::no_progress}, {"drift", HeadingEnd::drift}, {"tipover", HeadingEnd::tip_over}}) {
    if (plain.starts_with(words)) return end;
  }
  return HeadingEnd::not_told;
}

const char* name(HeadingEnd end) {
  switch (end) {
    case HeadingEnd::not_told: return "not told";
    case HeadingEnd::no_progress: return "no progress";
    case HeadingEnd::drift: return "drift";
    case HeadingEnd::tip_over: return "tip-over caution";
  }
  return "";
}

std::string heading_words(double heading_rad) {
  const double size = std::abs(heading_rad) / kDegree;
  const char* side = heading_rad > 0 ? "left" : "right";
  if (std::abs(size - 90) <= 5) return fmt::format("across, downhill on the {}", side);
  return fmt::format("{:.0f} deg {} of straight uphill", size, side);
}

const char* name(TrialBound bound) {
  switch (bound) {
    case TrialBound::at_least: return "limit at least this";
    case TrialBound::below: return "limit below this";
    case TrialBound::either: return "no bound";
    case TrialBound::set_aside: return "set aside";
  }
  return "";
}

const char* name(TrialOutcome outcome) {
  switch (outcome) {
    case TrialOutcome::go: return "go";
    case TrialOutcome::no_go: return "no-go";
    case TrialOutcome::aborted: return "aborted";
    case TrialOutcome::sled_limited: return "sled-limited";
  }
  return "";
}

}  // namespace hardpan::records
