// SPDX-License-Identifier: Apache-2.0
// Differs from [Kennedy2001] in that the discrepancy of shape is a level and a straight tilt over slip
// instead of a random function: two numbers a reader can check, shared by all runs, so that more runs of
// the same kind do not make the soil look surer than the model allows.
#include "validation/update.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "math/draws.hpp"
#include "math/statistics.hpp"
#include "records/slip.hpp"
#include "units/count.hpp"
#include "validation/detail/vehicle_model.hpp"

namespace hardpan::validation {

const char* name(LearningStatus status) {
  switch (status) {
    case LearningStatus::nothing_teaches: return "nothing teaches";
    case LearningStatus::no_update: return "no update";
    case LearningStatus::updated: return "updated";
  }
  return "";
}

namespace {

using detail::Kind;
using detail::Reading;
using detail::SoilParameters;
using detail::VehicleModel;
using performance::Placed;

constexpr double kDeg = 180 / std::numbers::pi;
// Reading errors where a record states none; common practice, no source.
constexpr double kTapeError_m = 0.002;         // a rut read with a rule
constexpr double kTorqueErrorOfReading = 0.02;
constexpr double kLargestSlip = 0.95;
constexpr const char* kDiscrepancy = "the discrepancy of shape";
constexpr std::size_t kDeviationsTried = 50;
constexpr std::size_t kPriorDraws = 8;          // for one draw wanted: those that leave the possible soils are replaced
constexpr double kReplacedRemarked = 0.2;       // share of draws replaced beyond which the posterior leans on an edge

std::string run_of(const records::PullWindow& w) { return w.run.empty() ? w.id : w.run; }
std::string run_of(const records::SinkagePoint& p) { return p.run.empty() ? fmt::format("{}:{}", p.file, p.line) : p.run; }

// The readings of one vehicle on one zone that teach, and those of runs no reading of which teaches.
struct Split {
  records::DrawbarResult teach, held;
  std::set<std::string> teaching_runs;
  std::vector<std::string> records;
  std::size_t neither = 0;             // readings of teaching runs in records that were not named
};

Split split(const LearnFrom& from, const std::vector<TeachingRecord>& named) {
  const std::string& vehicle = from.before->vehicle;
  const std::string& zone = from.before->zone;
  const auto of_pair = [&](const auto& x) { return x.vehicle == vehicle && x.zone == zone; };
  Split out;
  std::set<std::string> records;
  const auto teaches = [&](const std::string& id, const std::string& file) {
    for (const TeachingRecord& r : named) {
      if (id.empty() ? r.file == file : r.id == id) {
        records.insert(r.id);
        return true;
      }
    }
    return false;
  };
  for (const records::PullWindow& w : from.drawbar->windows) {
    if (!of_pair(w) || w.kind != records::LogKind::tow || !teaches(w.record, w.file)) continue;
    out.teaching_runs.insert(run_of(w));
    out.teach.windows.push_back(w);
  }
  for (const records::SinkagePoint& p : from.drawbar->ruts.sinkage) {
    if (!of_pair(p) || !teaches("", p.file)) continue;
    out.teaching_runs.insert(run_of(p));
    out.teach.ruts.sinkage.push_back(p);
  }
  for (const records::PullWindow& w : from.drawbar->windows) {
    if (!of_pair(w) || w.kind != records::LogKind::tow || teaches(w.record, w.file)) continue;
    if (out.teaching_runs.contains(run_of(w))) ++out.neither;
    else out.held.windows.push_back(w);
  }
  for (const records::SinkagePoint& p : from.drawbar->ruts.sinkage) {
    if (!of_pair(p) || teaches("", p.file)) continue;
    if (out.teaching_runs.contains(run_of(p))) ++out.neither;
    else out.held.ruts.sinkage.push_back(p);
  }
  out.records.assign(records.begin(), records.end());
  return out;
}

double model_radius(const Placed& placed) {
  const performance::Machine& m = placed.centre.plain;
  for (std::size_t k = 0; k < m.axles; ++k) {
    const contact::Contact& c = m.axle[k].contact;
    if (m.axle[k].driven) return c.torque_radius_m > 0 ? c.torque_radius_m : c.shearing_radius_m;
  }
  return m.axle[0].contact.shearing_radius_m;
}

std::vector<Reading> readings_of(const records::DrawbarResult& drawbar, const Placed& placed) {
  std::vector<Reading> out;
  const double radius = model_radius(placed);
  for (const records::PullWindow& w : drawbar.windows) {
    if (!w.slip_ratio || !(w.weight_n > 0)) continue;
    Reading r{.file = w.file, .run = run_of(w), .slip_ratio = *w.slip_ratio, .slip_se = w.slip_se, .gradient_rad = w.gradient_rad, .weight_n = w.weight_n};
    if (w.rolling_radius_m > 0) r.slip_ratio = records::slip_with_radius(*w.slip_ratio, w.rolling_radius_m, radius);
    if (!(std::abs(r.slip_ratio) < kLargestSlip)) continue;
    if (w.coefficient && w.saturated == 0) {
      r.kind = Kind::pull;
      r.value = *w.coefficient;
      r.standard_error = w.coefficient_se;
      r.gain_relative_sd = w.gain_relative_sd;
      out.push_back(r);
    }
    if (w.torque_n_m && w.efficiency_kind == records::EfficiencyKind::tractive) {
      r.kind = Kind::torque;
      r.value = *w.torque_n_m;
      const double relative = w.power_in_w && *w.power_in_w > 0 ? w.power_in_se_w / *w.power_in_w : 0;
      r.standard_error = std::max(relative, kTorqueErrorOfReading) * std::abs(*w.torque_n_m);
      r.gain_relative_sd = 0;
      out.push_back(r);
    }
  }
  for (const records::SinkagePoint& p : drawbar.ruts.sinkage) {
    if (p.pass != 1) continue;
    Reading r{.kind = Kind::sinkage, .file = p.file, .run = run_of(p), .slip_ratio = p.slip_ratio, .gradient_rad = p.gradient_rad,
              .weight_n = p.weight_n > 0 ? p.weight_n : placed.centre.plain.weight_n, .value = p.sinkage_m, .standard_error = kTapeError_m};
    if (p.rolling_radius_m) r.slip_ratio = records::slip_with_radius(p.slip_ratio, *p.rolling_radius_m, radius);
    if (std::abs(r.slip_ratio) < kLargestSlip) out.push_back(r);
  }
  return out;
}

// Places of slips between the lowest and the highest that teach, -1 to 1; all 0 where they hardly differ.
std::vector<double> levers(const std::vector<Reading>& readings) {
  double lo = 2, hi = -2;
  for (const Reading& r : readings) {
    lo = std::min(lo, r.slip_ratio);
    hi = std::max(hi, r.slip_ratio);
  }
  std::vector<double> out;
  for (const Reading& r : readings) out.push_back(hi - lo > 0.02 ? 2 * (r.slip_ratio - lo) / (hi - lo) - 1 : 0);
  return out;
}

// Prior and readings of the posterior, the soil first, then what is no soil: the load cell's gain and the
// level and tilt of a discrepancy of shape.
struct Question {
  Prior prior;
  std::vector<Observation> observations;
  std::vector<std::size_t> kinds;              // Observation::quantity to Kind
  std::vector<double> gain_effect;             // of each reading; empty: no gain
  std::vector<double> pull_lever;              // 0 for other quantities; empty: no discrepancy
  std::vector<double> is_pull;
};

Question question_of(const SoilParameters& soils, const VehicleModel& model, const std::vector<Reading>& readings,
                     double discrepancy_sd) {
  Question q;
  const std::size_t s = soils.size();
  q.prior.parameters = soils.prior().parameters;
  q.prior.between_dof = soils.prior().between_dof;
  std::vector<double> further_sd;
  const auto further = [&](const std::string& words, double sd) {
    q.prior.parameters.push_back({.name = words});
    further_sd.push_back(sd);
  };
  std::vector<double> centre;
  for (const PriorParameter& p : soils.prior().parameters) centre.push_back(p.centre);
  const std::vector<double> slopes = model.slip_slopes(centre), lever = levers(readings);
  std::vector<std::size_t> number(3, 3);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Reading& r = readings[i];
    const auto kind = static_cast<std::size_t>(r.kind);
    if (number[kind] == 3) {
      number[kind] = q.kinds.size();
      q.kinds.push_back(kind);
    }
    q.observations.push_back({.quantity = number[kind], .run = r.run, .lever = lever[i], .value = r.value,
                              .standard_error = std::hypot(r.standard_error, slopes[i] * r.slip_se)});
    q.gain_effect.push_back(r.gain_relative_sd * r.value);
    q.is_pull.push_back(r.kind == Kind::pull ? 1 : 0);
    q.pull_lever.push_back(r.kind == Kind::pull ? lever[i] : 0);
  }
  if (std::any_of(q.gain_effect.begin(), q.gain_effect.end(), [](double g) { return g != 0; })) further("gain of the load cell", 1);
  else q.gain_effect.clear();
  if (discrepancy_sd > 0) {
    further(std::string("level of ") + kDiscrepancy, discrepancy_sd);
    further(std::string("tilt of ") + kDiscrepancy, discrepancy_sd);
  } else {
    q.pull_lever.clear();
  }
  const std::size_t p = q.prior.parameters.size();
  q.prior.covariance.assign(p * p, 0);
  q.prior.between.assign(p * p, 0);
  for (std::size_t j = 0; j < s; ++j) {
    for (std::size_t k = 0; k < s; ++k) {
      q.prior.covariance[j * p + k] = soils.prior().covariance[j * s + k];
      q.prior.between[j * p + k] = soils.prior().between[j * s + k];
    }
  }
  for (std::size_t k = s; k < p; ++k) q.prior.covariance[k * p + k] = further_sd[k - s] * further_sd[k - s];
  return q;
}

Model model_of(const Question& q, const VehicleModel& vehicle, std::size_t soils) {
  return [&q, &vehicle, soils](std::span<const double> theta, bool with_jacobian) {
    const Linearised bare = vehicle(theta, with_jacobian);
    const std::size_t n = bare.values.size(), p = theta.size();
    std::vector<std::vector<double>> further;
    if (!q.gain_effect.empty()) further.push_back(q.gain_effect);
    if (!q.pull_lever.empty()) {
      further.push_back(q.is_pull);
      further.push_back(q.pull_lever);
    }
    Linearised out{.values = bare.values};
    for (std::size_t f = 0; f < further.size(); ++f) {
      for (std::size_t i = 0; i < n; ++i) out.values[i] += theta[soils + f] * further[f][i];
    }
    if (!with_jacobian) return out;
    out.jacobian.resize(n * p);
    for (std::size_t i = 0; i < n; ++i) {
      for (std::size_t k = 0; k < soils; ++k) out.jacobian[i * p + k] = bare.jacobian[i * soils + k];
      for (std::size_t f = 0; f < further.size(); ++f) out.jacobian[i * p + soils + f] = further[f][i];
    }
    return out;
  };
}

// The possible soils before and after, draw by draw. A draw that leaves the possible soils is replaced by a spare one.
struct Draws {
  std::vector<std::vector<double>> before, after;  // average ground, all parameters
  std::vector<performance::OnSoil> average, next_point;
  std::size_t replaced = 0;                        // whole draws
  std::size_t redrawn = 0;                         // those and deviations of next points
  bool complete = false;
};

Draws carry_over(const LearnFrom& from, const SoilParameters& soils, const VehicleModel& model, const Question& q, const Posterior& p) {
  const performance::DrawPlan& plan = from.before->plan;
  const std::size_t wanted = from.before->average.size(), s = soils.size(), all = q.prior.parameters.size();
  soil::DrawSettings settings{.seed = plan.seed, .count = kPriorDraws * wanted, .stream = from.ground->zone, .soil_part = plan.soil_part,
                              .instrument_part = plan.instrument_part, .model_form_part = plan.model_form_part};
  for (const vehicle::Axle& a : from.vehicle->axles) settings.widths_in_use_m.push_back(a.wheel.contact_width_m.value_or(a.wheel.width_m));
  const soil::PossibleSoils possible = soil::possible_soils(*from.ground->distribution, plan.form, settings);
  const math::Stream noise(plan.seed, math::stream_id(from.ground->zone + "/" + from.before->vehicle + "/learning"));
  const math::Stream others(plan.seed, math::stream_id(from.ground->zone + "/" + from.before->vehicle + "/no soil"));
  Draws out;
  std::vector<std::vector<double>> prior, deviation;
  for (std::size_t k = 0; k < possible.average.size(); ++k) {
    std::vector<double> x = soils.of(possible.average[k]), y = soils.of(possible.next_point[k]);
    for (std::size_t j = 0; j < s; ++j) y[j] -= x[j];
    for (std::size_t j = s; j < all; ++j) x.push_back(std::sqrt(q.prior.covariance[j * all + j]) * others.normal(k * 8 + j - s));
    prior.push_back(std::move(x));
    deviation.push_back(std::move(y));
  }
  const auto placed = [&](std::span<const double> x) -> std::optional<performance::OnSoil> {
    const auto soil = soils.soil(x.first(s));
    return soil ? model.place(*soil) : std::nullopt;
  };
  std::size_t spare = wanted;
  for (std::size_t k = 0; k < wanted && k < prior.size(); ++k) {
    std::size_t source = k;
    while (true) {
      const std::vector<double> x = carried_over(p, q.observations, prior[source], noise, source);
      const auto average = placed(x);
      std::optional<performance::OnSoil> next;
      for (std::size_t t = 0; average && !next && t < kDeviationsTried; ++t) {
        const std::vector<double>& d = deviation[(source + t) % deviation.size()];
        std::vector<double> y(x.begin(), x.begin() + static_cast<std::ptrdiff_t>(s));
        for (std::size_t j = 0; j < s; ++j) y[j] += d[j];
        next = placed(y);
        out.redrawn += next ? 0 : 1;
      }
      if (average && next) {
        out.before.push_back(prior[k]);
        out.after.push_back(x);
        out.average.push_back(*average);
        out.next_point.push_back(*next);
        break;
      }
      ++out.redrawn;
      ++out.replaced;
      if (spare == prior.size()) return out;
      source = spare++;
    }
  }
  out.complete = out.after.size() == wanted;
  return out;
}

math::Interval central(std::vector<double> v) { return {math::quantile(v, 0.025), math::quantile(v, 0.975)}; }

std::vector<TaughtParameter> parameter_rows(const SoilParameters& soils, const Question& q, const Posterior& p, const Draws& draws,
                                            const std::vector<double>& centre) {
  std::vector<TaughtParameter> out;
  const std::size_t all = q.prior.parameters.size();
  for (std::size_t k = 0; k < all; ++k) {
    const SoilParameters::Shown shown = k < soils.size() ? soils.shown(k) : SoilParameters::Shown{.name = q.prior.parameters[k].name, .unit_si = "1"};
    const auto value = [&](double x) { return shown.logarithm ? std::exp(x) : x; };
    const double sd = std::sqrt(q.prior.covariance[k * all + k]);
    TaughtParameter row{.name = shown.name, .unit_si = shown.unit_si, .before = value(q.prior.parameters[k].centre), .after = value(p.mode[k])};
    row.at_depth_m = shown.at_depth_m;
    row.at_width_m = shown.at_width_m;
    row.shift_sd = (p.mode[k] - q.prior.parameters[k].centre) / sd;
    row.spread_ratio = std::sqrt(p.covariance[k * all + k]) / sd;
    row.flagged = std::abs(row.shift_sd) > kShiftFlagged;
    std::vector<double> before, after;
    for (std::size_t d = 0; d < draws.after.size(); ++d) {
      before.push_back(value(draws.before[d][k]));
      after.push_back(value(draws.after[d][k]));
    }
    if (before.size() >= math::kFewestDrawsForInterval) {
      row.before_95 = central(std::move(before));
      row.after_95 = central(std::move(after));
    }
    row.at_edge = std::find(p.at_bound.begin(), p.at_bound.end(), k) != p.at_bound.end();
    if (k < soils.size()) row.after = value(centre[k]);
    out.push_back(std::move(row));
  }
  return out;
}

// The most probable soil. Where the tests push a parameter against the edge of what is possible that is a corner, not a centre:
// there the medians of the draws stand for it.
std::vector<double> centre_of(const SoilParameters& soils, const Posterior& p, const Draws& draws) {
  std::vector<double> out(p.mode.begin(), p.mode.begin() + static_cast<std::ptrdiff_t>(soils.size()));
  if (p.at_bound.empty()) return out;
  for (std::size_t k = 0; k < out.size(); ++k) {
    std::vector<double> values;
    for (const auto& x : draws.after) values.push_back(x[k]);
    out[k] = math::median(values);
  }
  return out;
}

double mean_width(const Comparison& c) {
  double sum = 0;
  std::size_t n = 0;
  for (const ComparedReading& r : c.readings) {
    if (!r.next_point) continue;
    sum += r.next_point->width();
    ++n;
  }
  return n > 0 ? sum / static_cast<double>(n) : std::nan("");
}

void hold_out(Taught& out, const Split& parts, const Placed& before) {
  std::set<std::string> runs;
  const auto add = [&](const Comparison& b, const Comparison& a) {
    if (a.readings.empty()) return;
    out.learning.held_out.push_back({.quantity = a.quantity, .unit_si = a.unit_si, .runs = a.runs, .readings = a.readings.size(),
                                     .bias_before = b.bias, .bias_after = a.bias, .bias_claimed_before = b.bias_claimed,
                                     .bias_claimed_after = a.bias_claimed, .inside_before = b.inside, .inside_after = a.inside,
                                     .width_before = mean_width(b), .width_after = mean_width(a),
                                     .coverage_before = b.coverage, .coverage_after = a.coverage});
    for (const ComparedReading& r : a.readings) runs.insert(r.run);
    for (const TaughtQuantity& q : out.learning.quantities) {
      if (q.quantity == a.quantity && a.coverage && a.coverage->hi < math::kIntervalLevel) out.learning.contradicted = true;
    }
  };
  out.pull_held_out = compare_pull(*out.after, parts.held);
  add(compare_pull(before, parts.held), *out.pull_held_out);
  add(compare_torque(before, parts.held), compare_torque(*out.after, parts.held));
  add(compare_sinkage(before, parts.held), compare_sinkage(*out.after, parts.held));
  out.learning.held_out_runs = runs.size();
  out.learning.validated = !runs.empty() && !out.learning.contradicted;
}

std::string degrees(double rad) {
  if (!std::isfinite(rad)) return "no answer";
  return rad <= performance::kNoGradient ? "immobilised" : fmt::format("{:.1f} deg", rad * kDeg);
}
std::string in_degrees(const math::Estimate& e) {
  if (!e.next_point) return degrees(e.value);
  return fmt::format("{} (95 % at the next point: {} to {})", degrees(e.value), degrees(e.next_point->lo), degrees(e.next_point->hi));
}

void say(Learning& l, units::OutputUnits u) {
  l.statement = fmt::format("The soil and the model form were updated by {} ({}, worth {:.1f} independent runs): the maximum gradient at the "
                            "working slip goes from {} to {}.",
                            units::print_count(l.runs, "run"), units::print_count(l.readings, "reading"), l.effective_runs, in_degrees(l.gradient_before),
                            in_degrees(l.gradient_after));
  for (const TaughtParameter& p : l.parameters) {
    if (p.flagged) {
      l.statement += fmt::format(" What was known before and the vehicle tests disagree: {} moved by {:.1f} prior standard deviations{}.",
                                 said_name(p, u), std::abs(p.shift_sd), p.at_edge ? ", to the edge of what is possible" : "");
    }
  }
  if (l.disagreement < kDisagreementFlagged) {
    l.statement += " Taken together the parameters moved further than bench tests and vehicle tests that agree would move them (chance under 1 %): "
                   "find out which of the two is wrong before relying on the update.";
  }
  if (l.shape_carried) {
    l.statement += " The runs that teach show a discrepancy of shape; it was carried as a level and a tilt over slip of its own, so the soil was not moved "
                   "to take it up and its interval is wider for it. It is no part of the prediction";
    for (const TaughtParameter& p : l.parameters) {
      if (p.name.ends_with(kDiscrepancy)) l.statement += fmt::format(", its {} {:.3f}", p.name.substr(0, p.name.find(' ')), p.after);
    }
    l.statement += ".";
  }
  if (l.held_out_runs == 0) {
    l.statement += " Not validated by held-out tests: no run was held out. It is shown and not used.";
    return;
  }
  for (const HeldOut& h : l.held_out) {
    if (h.quantity != detail::name(Kind::pull) && l.held_out.size() > 1) continue;
    const units::Dimension d = h.unit_si == "m" ? units::Dimension::length : h.unit_si == "N m" ? units::Dimension::torque : units::Dimension::none;
    const auto value = [&](double v) { return units::print_quantity(v, d, u); };
    l.statement += fmt::format(" On {} held out, the measured {} less the predicted goes from {} to {}, the readings inside their 95 % interval from {} to {} "
                               "of {}, the mean width of that interval from {} to {}.",
                               units::print_count(h.runs, "run"), h.quantity, value(h.bias_before.value), value(h.bias_after.value), h.inside_before,
                               h.inside_after, h.readings, value(h.width_before), value(h.width_after));
  }
  if (l.contradicted) l.statement += " The held-out tests contradict the update: too few readings lie inside. It is shown and not used.";
}

// Drops readings for which the model has no answer on the best-estimate soil.
void drop_unanswered(std::vector<Reading>& readings, const Linearised& at, std::vector<std::string>& remarks) {
  std::vector<Reading> kept;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    if (std::isfinite(at.values[i])) kept.push_back(readings[i]);
  }
  if (kept.size() < readings.size()) {
    remarks.push_back(fmt::format("{} of {} {} nothing: the model has no answer there on the best-estimate soil.", readings.size() - kept.size(),
                                  units::print_count(readings.size(), "reading"), readings.size() - kept.size() == 1 ? "teaches" : "teach"));
  }
  readings = std::move(kept);
}

}  // namespace

std::string said_name(const TaughtParameter& p, units::OutputUnits u) {
  if (!p.at_depth_m || !p.at_width_m) return p.name;
  const auto length = [&](double m) { return units::print_quantity(m, units::Dimension::length, u); };
  return fmt::format("pressure at {}, width {}", length(*p.at_depth_m), length(*p.at_width_m));
}

Taught learn(const LearnFrom& from, const std::vector<TeachingRecord>& records) {
  const Placed& before = *from.before;
  Taught out;
  Learning& l = out.learning;
  l.vehicle = before.vehicle;
  l.zone = before.zone;
  const Split parts = split(from, records);
  l.records = parts.records;
  std::vector<Reading> readings = readings_of(parts.teach, before);
  const auto without = [&](LearningStatus status, const std::string& why) {
    l.status = status;
    l.statement = "Not updated by vehicle tests: " + why + ".";
    return out;
  };
  if (readings.empty()) return without(LearningStatus::nothing_teaches, "no record named under learn_from holds a usable reading of this vehicle on this zone");
  if (before.average.empty()) return without(LearningStatus::no_update, before.reason_without);

  const SoilParameters soils(*from.ground, before.plan);
  std::vector<double> centre;
  for (const PriorParameter& p : soils.prior().parameters) centre.push_back(p.centre);
  drop_unanswered(readings, VehicleModel(*from.vehicle, *from.ground, before.plan, soils, readings)(centre, false), l.remarks);
  if (readings.empty()) return without(LearningStatus::no_update, "the model has no answer for any reading on the best-estimate soil");
  const VehicleModel model(*from.vehicle, *from.ground, before.plan, soils, readings);

  l.shape = compare_pull(before, parts.teach).shape;
  l.shape_carried = l.shape.shown;
  // Half of what separates low from high slip: that far may the pull be off at each end, and as a whole.
  const Question q = question_of(soils, model, readings, l.shape.shown ? std::abs(l.shape.difference) / 2 : 0);
  const Posterior p = posterior(q.prior, q.observations, model_of(q, model, soils.size()));
  l.report = p.report;
  l.rounds = p.rounds;
  l.readings = readings.size();
  l.runs = parts.teaching_runs.size();
  l.directions_taught = p.directions_taught;
  for (std::size_t k = 0; k < p.scatter.size(); ++k) {
    const Kind kind = static_cast<Kind>(q.kinds[k]);
    l.quantities.push_back({detail::name(kind), detail::unit(kind), p.scatter[k]});
    if (k == 0 || kind == Kind::pull) l.effective_runs = p.scatter[k].effective_runs;
  }
  if (!p.usable()) return without(LearningStatus::no_update, p.reason_without);
  if (!p.scatter_settled) l.remarks.push_back(fmt::format("The scatter of the runs still moved by over 5 % in the last of {} rounds.", p.rounds));
  if (parts.neither > 0) {
    l.remarks.push_back(fmt::format("{} of runs that teach stand in records that were not named: they neither teach nor count as held out.", units::print_count(parts.neither, "reading")));
  }

  Draws draws = carry_over(from, soils, model, q, p);
  const std::vector<double> centre_after = centre_of(soils, p, draws);
  const auto soil_after = soils.soil(centre_after);
  const auto at_centre = soil_after ? model.place(*soil_after) : std::nullopt;
  if (!draws.complete || !at_centre) return without(LearningStatus::no_update, fmt::format("of {} draws carried over, too few are possible soils", kPriorDraws * before.average.size()));
  l.parameters = parameter_rows(soils, q, p, draws, centre_after);
  l.disagreement = p.disagreement;
  l.redrawn = draws.redrawn;
  if (static_cast<double>(draws.replaced) > kReplacedRemarked * static_cast<double>(before.average.size())) {
    l.remarks.push_back(fmt::format("{} draws left the possible soils and were replaced ({} kept): the update leans on an edge of what is possible, its intervals are rough there.",
                                    draws.replaced, before.average.size()));
  }
  out.after = before;
  out.after->centre = *at_centre;
  out.after->average = std::move(draws.average);
  out.after->next_point = std::move(draws.next_point);
  out.after->redrawn = before.redrawn + draws.redrawn;
  l.status = LearningStatus::updated;

  hold_out(out, parts, before);
  const double working = from.vehicle->working_slip.value_or(0.2);
  l.gradient_before = from.gradient_before ? *from.gradient_before : performance::gradient_outcome(before, working).estimate;
  l.gradient_after = performance::gradient_outcome(*out.after, working).estimate;
  say(l, from.output_units);
  return out;
}

}  // namespace hardpan::validation
