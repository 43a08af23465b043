// SPDX-License-Identifier: Apache-2.0
// Figures of the vehicle trials: torque against turning radius, rut depth by pass, remote speed against delay.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/trials.hpp"

namespace hardpan::report::detail {
namespace {

// A mean with its interval as a bar; a mean of one has none.
void add(Series& s, double x, const math::Estimate& e, const InUnit& y) {
  if (!std::isfinite(e.value)) return;
  const math::Interval i = e.average_ground.value_or(math::Interval{e.value, e.value});
  s.x.push_back(x);
  s.y.push_back(y(e.value));
  s.x_lo.push_back(x);
  s.x_hi.push_back(x);
  s.y_lo.push_back(y(i.lo));
  s.y_hi.push_back(y(i.hi));
}

std::string id_of(const char* what, const std::string& vehicle, const std::string& zone, const std::string& more) {
  return std::string(what) + "-" + slug(vehicle.empty() ? "vehicle" : vehicle) + "-" + slug(zone.empty() ? "ground" : zone) + (more.empty() ? "" : "-" + slug(more));
}

}  // namespace

std::optional<Figure> remote_figure(const campaign::Results& r, const records::RemoteCourse& c) {
  const Printer print(r.campaign.output_units);
  std::vector<double> speeds;
  double longest = 0;
  for (const records::OperatorAtDelay& k : c.by_operator) {
    if (!k.speed_m_per_s) continue;
    speeds.push_back(k.speed_m_per_s->value);
    longest = std::max(longest, k.delay_s);
  }
  if (speeds.size() < 2 || !(longest > 0)) return std::nullopt;
  const InUnit y{print.common(speeds, kSpeed)};
  Figure f{.id = id_of("remote-speed", c.vehicle, c.zone, c.course),
           .title = "Speed through a delay, " + pair_name(r, c.vehicle, c.zone) + (c.course.empty() ? "" : ", course " + c.course)};
  Panel p{.x = {.label = "Delay", .unit = "s", .min = 0, .max = 1.05 * longest}, .y = {.label = "Mean speed of runs that finished", .unit = y.spelling(), .from_zero = true}};
  std::vector<std::string> operators;
  for (const records::OperatorAtDelay& k : c.by_operator) {
    if (std::find(operators.begin(), operators.end(), k.operator_name) == operators.end()) operators.push_back(k.operator_name);
  }
  for (std::size_t i = 0; i < operators.size(); ++i) {
    const double aside = 0.012 * (static_cast<double>(i) - 0.5 * static_cast<double>(operators.size() - 1));
    Series s{.kind = Kind::points, .name = "operator " + operators[i], .style = i};
    for (const records::OperatorAtDelay& k : c.by_operator) {
      if (k.operator_name == operators[i] && k.speed_m_per_s) add(s, k.delay_s + aside * longest, *k.speed_m_per_s, y);
    }
    if (!s.x.empty()) p.series.push_back(std::move(s));
  }
  Series line{.kind = Kind::line, .name = "line through all, at the mean practice", .style = operators.size(), .dash = Dash::dashed};
  const double practice = std::expm1(c.pace.mean_log_practice);
  for (const double d : even_steps(0, longest, 41)) {
    const auto v = c.pace.speed_m_per_s(d, practice);
    if (!v) continue;
    line.x.push_back(d);
    line.y.push_back(y(*v));
  }
  if (line.x.size() > 1) p.series.push_back(std::move(line));
  for (const validation::RemoteComparison& k : r.trials.remote) {
    if (k.vehicle != c.vehicle || k.zone != c.zone || k.course != c.course) continue;
    Series bound{.kind = Kind::line, .name = "predicted at most", .style = operators.size() + 1, .dash = Dash::solid};
    for (const validation::SpeedCompared& d : k.delays) {
      if (!d.predicted_m_per_s) continue;
      bound.x.push_back(d.delay_s);
      bound.y.push_back(y(*d.predicted_m_per_s));
    }
    if (bound.x.size() > 1) p.series.push_back(std::move(bound));
  }
  f.caption = "Bars: 95 % interval of the mean of an operator's runs at that delay; one run has none. Operators at one delay stand side by side.";
  f.panels.push_back(std::move(p));
  f.provenance = small_print(r, plural(c.runs.size(), "remote run"));
  return f;
}

std::optional<Figure> turn_figure(const campaign::Results& r, const records::TurnLimits& k) {
  const validation::TurnComparison* compared = compared_turn(r, k);
  const Printer print(r.campaign.output_units);
  std::vector<double> torques, radii;
  for (const records::TorqueAtRadius& t : k.torque) {
    if (!t.torque_n_m) continue;
    torques.push_back(t.torque_n_m->value);
    radii.push_back(t.radius_m);
  }
  if (radii.size() < 2) return std::nullopt;
  const InUnit x{print.common(radii, kLength)}, y{print.common(torques, kTorque)};
  Figure f{.id = id_of("turn-torque", k.vehicle, k.zone, std::string(k.right ? "right" : "left") + "-" + records::name(k.path)),
           .title = "Torque in turns to the " + std::string(k.right ? "right" : "left") + ", " + pair_name(r, k.vehicle, k.zone)};
  Panel p{.x = {.label = fmt::format("Radius to the {}", records::name(k.path)), .unit = x.spelling()}, .y = {.label = "Torque of all driven wheels", .unit = y.spelling(), .from_zero = true}};
  if (compared) {
    BandSeries next;
    next.series.name = "95 % next point";
    next.series.style = 0;
    next.series.fill = Fill::dots;
    Series line{.kind = Kind::line, .name = "predicted, best-estimate soil", .style = 0};
    for (const validation::TorqueCompared& t : compared->torque) {
      next.add(x(t.radius_m), t.next_point_n_m, kTorque, y);
      if (!std::isfinite(t.predicted_n_m)) continue;
      line.x.push_back(x(t.radius_m));
      line.y.push_back(y(t.predicted_n_m));
    }
    if (next.series.x.size() > 1) p.series.push_back(std::move(next.series));
    if (!line.x.empty()) p.series.push_back(std::move(line));
    if (compared->predicted_m && std::isfinite(compared->predicted_m->hi) && compared->predicted_m->hi > 0) {
      p.references.push_back({Along::x, x(compared->predicted_m->hi), "smallest predicted"});
    }
  }
  Series measured{.kind = Kind::points, .name = "measured, mean of repeats", .style = 1, .marker = Marker{Shape::square, true}};
  for (const records::TorqueAtRadius& t : k.torque) {
    if (t.torque_n_m) add(measured, x(t.radius_m), *t.torque_n_m, y);
  }
  p.series.push_back(std::move(measured));
  f.caption = "Bars: 95 % interval of the mean of repeats; one turn has none.";
  f.panels.push_back(std::move(p));
  f.provenance = small_print(r, plural(k.turns.size(), "turn"));
  return f;
}

std::optional<Figure> rut_figure(const campaign::Results& r, const validation::RutByPass& k) {
  if (k.passes.size() < 2 || k.judged == 0) return std::nullopt;
  const Printer print(r.campaign.output_units);
  const bool loaded = std::any_of(k.passes.begin(), k.passes.end(), [](const validation::RutPass& p) { return p.measured_loaded_m.has_value(); });
  std::vector<double> depths;
  for (const validation::RutPass& q : k.passes) {
    depths.push_back((loaded ? q.predicted_loaded_m : q.predicted_after_m).value);
    if (const auto& m = loaded ? q.measured_loaded_m : q.measured_after_m) depths.push_back(m->value);
  }
  std::erase_if(depths, [](double v) { return !std::isfinite(v); });
  const InUnit y{print.common(depths, kLength)};
  Figure f{.id = id_of("rut-passes", k.vehicle, k.zone, k.wheel_path), .title = "Rut depth by pass, " + pair_name(r, k.vehicle, k.zone) + (k.wheel_path.empty() ? "" : ", " + k.wheel_path + " path")};
  Panel p{.x = {.label = "Pass", .min = 0, .max = k.passes.back().pass + 1}, .y = {.label = loaded ? "Depth under the wheel" : "Depth after the wheel", .unit = y.spelling(), .from_zero = true, .reversed = true}};
  BandSeries next;
  next.series.name = "95 % next point";
  next.series.style = 0;
  next.series.fill = Fill::dots;
  Series line{.kind = Kind::line, .name = "predicted, best-estimate soil", .style = 0};
  Series measured{.kind = Kind::points, .name = "measured, mean", .style = 1, .marker = Marker{Shape::square, true}};
  for (const validation::RutPass& q : k.passes) {
    const math::Estimate& e = loaded ? q.predicted_loaded_m : q.predicted_after_m;
    next.add(q.pass, e.next_point, kSinkage, y);
    if (std::isfinite(e.value)) {
      line.x.push_back(q.pass);
      line.y.push_back(y(e.value));
    }
    if (const auto& m = loaded ? q.measured_loaded_m : q.measured_after_m) add(measured, q.pass, *m, y);
  }
  if (next.series.x.size() > 1) p.series.push_back(std::move(next.series));
  if (!line.x.empty()) p.series.push_back(std::move(line));
  p.series.push_back(std::move(measured));
  f.caption = "Bars: 95 % interval of the mean over runs. How much a rut grows with passes hangs on the unloading stiffness that plates measured.";
  f.panels.push_back(std::move(p));
  f.provenance = small_print(r, "Rut sheets");
  return f;
}

std::vector<Figure> trial_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  const auto keep = [&](std::optional<Figure> f) {
    if (f) out.push_back(std::move(*f));
  };
  for (const records::TurnLimits& k : r.trials.reduced.turns) keep(turn_figure(r, k));
  for (const records::RemoteCourse& c : r.trials.reduced.remote) keep(remote_figure(r, c));
  for (const records::RoughRuns& k : r.trials.reduced.rough) keep(rough_figure(r, k));
  for (const validation::RutByPass& k : r.trials.ruts) keep(rut_figure(r, k));
  return out;
}

const validation::TurnComparison* compared_turn(const campaign::Results& r, const records::TurnLimits& k) {
  for (const validation::TurnComparison& c : r.trials.turns) {
    if (c.vehicle == k.vehicle && c.zone == k.zone && c.path == k.path && c.right == k.right && c.gradient_rad == k.gradient_rad) return &c;
  }
  return nullptr;
}

}  // namespace hardpan::report::detail
