// SPDX-License-Identifier: Apache-2.0
// Pull coefficient and efficiency against slip, sinkage against slip, slip against gradient: what was predicted
// with its band, and what was measured.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"

namespace hardpan::report::detail {
namespace {

using campaign::PairResult;
constexpr double kTwoSided = 1.959964;  // 95 % of a normal reading error

const validation::Comparison* comparison(const PairResult* pair, const std::string& quantity) {
  if (!pair) return nullptr;
  for (const validation::Comparison& c : pair->comparisons) {
    if (c.quantity == quantity) return &c;
  }
  return nullptr;
}

std::vector<std::pair<std::string, std::string>> keys(const campaign::Results& r) {
  std::vector<std::pair<std::string, std::string>> out;
  const auto add = [&](const std::string& vehicle, const std::string& zone) {
    if (std::find(out.begin(), out.end(), std::pair{vehicle, zone}) == out.end()) out.emplace_back(vehicle, zone);
  };
  for (const PairResult& p : r.pairs) add(p.vehicle, p.zone);
  for (const auto& g : r.drawbar.groups) add(g.vehicle, g.zone);
  for (const auto& w : r.drawbar.windows) add(w.vehicle, w.zone);
  for (const auto& s : r.drawbar.slopes) add(s.vehicle, s.zone);
  for (const auto& s : r.drawbar.ruts.sinkage) add(s.vehicle, s.zone);
  return out;
}

std::string heading(const campaign::Results& r, const PairResult* pair, const std::string& what, const std::string& vehicle, const std::string& zone) {
  return what + ", " + pair_name(r, vehicle, zone) + (pair && pair->prediction.textbook ? " (textbook soil, not your ground)" : "");
}

std::string pair_id(const std::string& slot, const std::string& vehicle, const std::string& zone) {
  return slot + "-" + slug(vehicle.empty() ? "vehicle" : vehicle) + "-" + slug(zone.empty() ? "ground" : zone);
}

// Line and both bands of a predicted quantity over x; the next point's band lies behind.
struct Curve {
  BandSeries average, next;
  Series line{.kind = Kind::line, .name = "predicted, best-estimate soil", .style = 0};
  Curve() {
    average.series.name = "95 % average ground";
    average.series.style = 0;
    average.series.fill = Fill::tint;
    next.series.name = "95 % next point";
    next.series.style = 0;
    next.series.fill = Fill::dots;
  }
  void add(double x, const math::Estimate& e, Measure m, const InUnit& y) {
    next.add(x, e.next_point, m, y);
    average.add(x, e.average_ground, m, y);
    if (!Printer::word(e.value, m).empty()) return;
    line.x.push_back(x);
    line.y.push_back(y(e.value));
  }
  void into(Panel& p) {
    if (next.series.x.size() > 1) p.series.push_back(std::move(next.series));
    if (average.series.x.size() > 1) p.series.push_back(std::move(average.series));
    if (!line.x.empty()) p.series.push_back(std::move(line));
  }
  [[nodiscard]] std::string cut() const {
    return next.cut + average.cut == 0 ? "" : " Where a band ends, some of the possible soils immobilise the vehicle.";
  }
};

Series measured(const std::string& name, Shape shape = Shape::square, bool open = true) {
  return {.kind = Kind::points, .name = name, .style = 1, .marker = Marker{shape, open}};
}

void add_point(Series& s, double x, double y, double half_x, double half_y) {
  if (!std::isfinite(x) || !std::isfinite(y)) return;
  if (!std::isfinite(half_x)) half_x = 0;
  if (!std::isfinite(half_y)) half_y = 0;
  s.x.push_back(x);
  s.y.push_back(y);
  s.x_lo.push_back(x - half_x);
  s.x_hi.push_back(x + half_x);
  s.y_lo.push_back(y - half_y);
  s.y_hi.push_back(y + half_y);
}

// Slip of a window as the prediction tells it, where the two were compared.
double slip_of(const records::PullWindow& w, const validation::Comparison* c) {
  if (!c) return *w.slip_ratio;
  for (const validation::ComparedReading& x : c->readings) {
    if (x.file == w.file && x.id == w.id && x.line == w.first_line) return x.slip_ratio;
  }
  return *w.slip_ratio;
}

const records::DrawbarGroup* group_of(const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  for (const records::DrawbarGroup& g : r.drawbar.groups) {
    if (g.vehicle == vehicle && g.zone == zone) return &g;
  }
  return nullptr;
}

// Ends of the coefficient axis on whole tenths: its round ticks alone would leave half the picture empty.
void in_tenths(Panel& p) {
  double lo = 0, hi = 0;
  for (const Series& s : p.series) {
    for (const auto* values : {&s.y, &s.y_lo, &s.y_hi}) {
      for (const double v : *values) {
        lo = std::min(lo, v);
        hi = std::max(hi, v);
      }
    }
  }
  p.y.min = std::floor(lo * 10 - 1e-9) / 10;
  p.y.max = std::ceil(hi * 10 + 1e-9) / 10;
}

const InUnit kPlain{units::Unit{}};
const InUnit kPercent{units::Unit{.factor = 0.01, .spelling = "%"}};

double working_slip(const campaign::Results& r, const PairResult* pair, const std::string& vehicle) {
  if (pair) return pair->prediction.working_slip;
  const vehicle::Vehicle* v = r.campaign.vehicle_by_id(vehicle);
  return v && v->working_slip ? *v->working_slip : 0.2;
}

std::optional<Figure> pull_slip_figure(const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  const PairResult* pair = pair_of(r, vehicle, zone);
  const validation::Comparison* pull = comparison(pair, "pull coefficient");
  const records::DrawbarGroup* group = group_of(r, vehicle, zone);
  Panel p{.x = {.label = "Slip", .unit = "%"}, .y = {.label = "Pull coefficient, pull over normal load"}, .share = 1.7};
  Panel e{.x = p.x, .y = {.label = "Efficiency", .unit = "%", .min = 0}};
  Figure f{.id = pair_id("pull-slip", vehicle, zone), .title = heading(r, pair, "Pull coefficient and efficiency against slip", vehicle, zone), .shared_x = true};
  std::string caption;
  if (pair) {
    Curve c, eta;
    for (const performance::SlipPoint& s : pair->prediction.curve) {
      c.add(100 * s.slip_ratio, s.pull_coefficient, kPullCoefficient, kPlain);
      if (s.efficiency.value >= 0) eta.add(100 * s.slip_ratio, s.efficiency, kNumber, kPercent);
    }
    caption = "Predicted on level ground, " + performance::slip_sinkage_words(pair->prediction) + "." + c.cut();
    c.into(p);
    eta.line.name = "predicted tractive efficiency";
    eta.average.series.name = eta.next.series.name = "";
    eta.into(e);
  }
  Series windows = measured("measured window"), hand = measured("measured by hand", Shape::triangle_up), efficiency = measured("");
  std::size_t drawn = 0;
  for (const records::PullWindow& w : r.drawbar.windows) {
    if (w.vehicle != vehicle || w.zone != zone || !w.slip_ratio || w.kind != records::LogKind::tow) continue;
    const double slip = slip_of(w, pull);
    if (w.coefficient) {
      add_point(w.by_hand ? hand : windows, 100 * slip, *w.coefficient, 100 * kTwoSided * w.slip_se, kTwoSided * w.coefficient_se);
      ++drawn;
    }
    if (w.efficiency) add_point(efficiency, 100 * slip, 100 * *w.efficiency, 100 * kTwoSided * w.slip_se, 100 * kTwoSided * w.efficiency_se);
  }
  if (!pull && group && group->curve.usable()) {
    BandSeries band;
    band.series.name = "measured curve, 95 % mean of runs";
    band.series.style = 1;
    Series line{.kind = Kind::line, .name = "measured curve", .style = 1};
    for (const records::BandPoint& b : group->curve.band) {
      band.add(100 * b.slip_ratio, b.coefficient.average_ground, kNumber, kPlain);
      if (!std::isfinite(b.coefficient.value)) continue;
      line.x.push_back(100 * b.slip_ratio);
      line.y.push_back(b.coefficient.value);
    }
    if (band.series.x.size() > 1) p.series.push_back(std::move(band.series));
    if (!line.x.empty()) p.series.push_back(std::move(line));
  }
  if (!windows.x.empty()) p.series.push_back(std::move(windows));
  if (!hand.x.empty()) p.series.push_back(std::move(hand));
  if (!efficiency.x.empty()) {
    efficiency.name = "measured " + (group && !group->efficiency.label.empty() ? group->efficiency.label : std::string("efficiency"));
    e.series.push_back(std::move(efficiency));
  }
  if (p.series.empty()) return std::nullopt;
  in_tenths(p);
  const double slip = working_slip(r, pair, vehicle);
  p.references = {{Along::x, 100 * slip, fmt::format("working slip {:.0f} %", 100 * slip)}, {Along::y, 0, ""}};
  e.references = {{Along::x, 100 * slip, ""}};
  f.panels.push_back(std::move(p));
  if (!e.series.empty()) f.panels.push_back(std::move(e));
  if (drawn > 0) {
    caption += " Measured: on the gradient of each window, bars are 95 % of the window's own error";
    caption += pull ? "; slips computed with the rolling radius of the prediction." : ".";
    if (group && group->radius.radius_m > 0 && !pull) {
      caption += fmt::format(" Rolling radius {}, {}.", Printer(r.campaign.output_units).value(group->radius.radius_m, kLength), vehicle::name(group->radius.condition));
    }
  }
  f.caption = caption;
  f.provenance = small_print(r, drawn > 0 ? plural(drawn, "window") : "no vehicle test here");
  return f;
}

std::optional<Figure> sinkage_figure(const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  const Printer print(r.campaign.output_units);
  const PairResult* pair = pair_of(r, vehicle, zone);
  const validation::Comparison* compared = comparison(pair, "sinkage");
  std::vector<double> all;
  for (const auto& s : pair ? pair->prediction.curve : std::vector<performance::SlipPoint>{}) all.push_back(s.sinkage_m.value);
  for (const auto& s : r.drawbar.ruts.sinkage) {
    if (s.vehicle == vehicle && s.zone == zone) all.push_back(s.sinkage_m);
  }
  const InUnit depth{print.common(all, kSinkage)};
  Panel p{.x = {.label = "Slip", .unit = "%"}, .y = {.label = "Sinkage", .unit = depth.spelling(), .from_zero = true}};
  std::string caption;
  if (pair) {
    Curve c;
    for (const performance::SlipPoint& s : pair->prediction.curve) c.add(100 * s.slip_ratio, s.sinkage_m, kSinkage, depth);
    caption = "Predicted sinkage of the deepest wheel on the level." + c.cut();
    c.into(p);
  }
  std::size_t drawn = 0;
  if (compared) {
    Series s = measured("measured");
    for (const auto& x : compared->readings) add_point(s, 100 * x.slip_ratio, depth(x.measured), 0, depth(kTwoSided * x.measured_se));
    drawn = s.x.size();
    if (drawn > 0) p.series.push_back(std::move(s));
    caption += " Slips of measurements computed with the rolling radius of the prediction.";
  } else {
    for (const auto& [kind, shape] : {std::pair{"loaded", Shape::square}, {"after", Shape::triangle_up}, {"hand tow sheet", Shape::diamond}}) {
      Series s = measured(std::string(kind) == "loaded" ? "rut under the wheel" : std::string(kind) == "after" ? "rut after the wheel" : "hand tow sheet", shape);
      for (const auto& x : r.drawbar.ruts.sinkage) {
        if (x.vehicle == vehicle && x.zone == zone && x.depth_kind == kind) add_point(s, 100 * x.slip_ratio, depth(x.sinkage_m), 0, 0);
      }
      drawn += s.x.size();
      if (!s.x.empty()) p.series.push_back(std::move(s));
    }
  }
  if (p.series.empty()) return std::nullopt;
  const vehicle::Vehicle* v = r.campaign.vehicle_by_id(vehicle);
  const std::optional<double> clearance = v ? vehicle::loaded_body(*v).clearance_m : std::nullopt;
  if (clearance) p.references.push_back({Along::y, depth(*clearance), "ground clearance " + print.value(*clearance, kLength)});
  const double slip = working_slip(r, pair, vehicle);
  p.references.push_back({Along::x, 100 * slip, "working slip"});
  return Figure{.id = pair_id("sinkage-slip", vehicle, zone), .title = heading(r, pair, "Sinkage against slip", vehicle, zone), .caption = caption,
                .panels = {p}, .provenance = small_print(r, drawn > 0 ? plural(drawn, "reading") + " of sinkage" : "no sinkage was measured here")};
}

void add_trials(Panel& p, const records::SlopeLimits& limits, const InUnit& angle, std::vector<std::string>& remarks) {
  struct Outcome {
    records::TrialOutcome outcome;
    const char* name;
    Marker marker;
    double without_slip;  // where a trial whose slip was not read is put
  };
  static const Outcome kinds[] = {{records::TrialOutcome::go, "go", {Shape::go, false}, 0},
                                  {records::TrialOutcome::no_go, "no-go", {Shape::no_go, false}, 100},
                                  {records::TrialOutcome::aborted, "aborted: a bound", {Shape::diamond, true}, 0},
                                  {records::TrialOutcome::sled_limited, "stopped by the sled: a lower bound", {Shape::triangle_up, true}, 0}};
  for (const Outcome& k : kinds) {
    Series s{.kind = Kind::points, .name = k.name, .style = 1, .marker = k.marker};
    for (const Series& earlier : p.series) {
      if (earlier.name == s.name) s.name.clear();
    }
    for (const records::TrialReading& t : limits.trials) {
      if (t.outcome != k.outcome || t.bound == records::TrialBound::set_aside || !std::isfinite(t.angle_rad)) continue;
      if (!t.slip_ratio && remarks.empty()) remarks.push_back("Trials without a reading of slip stand at 0 %, no-goes at 100 %.");
      s.x.push_back(angle(t.angle_rad));
      s.y.push_back(t.slip_ratio ? 100 * *t.slip_ratio : k.without_slip);
    }
    if (!s.x.empty()) p.series.push_back(std::move(s));
  }
}

std::optional<Figure> gradient_figure(const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  const Printer print(r.campaign.output_units);
  const PairResult* pair = pair_of(r, vehicle, zone);
  const InUnit angle{print.unit(0.2, kAngle)};
  Panel p{.x = {.label = "Gradient, uphill", .unit = angle.spelling(), .min = 0}, .y = {.label = "Slip", .unit = "%", .min = 0, .max = 100}};
  std::string caption;
  if (pair) {
    Curve c;
    bool stopped = false;
    for (const performance::GradientPoint& g : pair->prediction.slip_on_gradient) {
      if (g.gradient_rad < 0) continue;
      // Immobilised counts as slip 1 in the interval: the band reaches the top of the figure.
      c.next.add(angle(g.gradient_rad), g.slip_ratio.next_point, kNumber, kPercent);
      c.average.add(angle(g.gradient_rad), g.slip_ratio.average_ground, kNumber, kPercent);
      if (stopped || !std::isfinite(g.slip_ratio.value)) continue;
      stopped = g.slip_ratio.value >= 1 - 1e-9;
      if (stopped) continue;
      c.line.x.push_back(angle(g.gradient_rad));
      c.line.y.push_back(100 * g.slip_ratio.value);
    }
    c.into(p);
    caption = "Predicted for steady travel without a hitch pull; 100 % stands for immobilised.";
    for (const performance::SanityValue& s : pair->prediction.sanity) {
      if (s.name == "gradient bound" && std::isfinite(s.value_si)) p.references.push_back({Along::x, angle(s.value_si), "friction bound " + print.value(s.value_si, kAngle)});
    }
  }
  std::vector<std::string> remarks;
  std::size_t trials = 0;
  for (const records::SlopeLimits& s : r.drawbar.slopes) {
    if (s.vehicle != vehicle || s.zone != zone || s.downhill || s.heading_rad) continue;
    add_trials(p, s, angle, remarks);
    trials += s.trials.size();
    if (s.bracket.go_rad && s.bracket.no_go_rad && *s.bracket.no_go_rad > *s.bracket.go_rad) {
      p.shades.push_back({Along::x, angle(*s.bracket.go_rad), angle(*s.bracket.no_go_rad), "bracket", Fill::tint});
    }
    if (!s.bracket.text.empty()) caption += " " + sentence(s.bracket.text);
  }
  if (p.series.empty()) return std::nullopt;
  for (const validation::Requirement& q : r.campaign.requirements) {
    if (q.quantity == validation::Quantity::maximum_gradient && q.vehicle == vehicle && q.zone == zone && std::isfinite(q.threshold_si)) {
      p.references.push_back({Along::x, angle(q.threshold_si), "required " + print.value(q.threshold_si, kAngle)});
    }
  }
  p.references.push_back({Along::y, 100 * working_slip(r, pair, vehicle), "working slip"});
  return Figure{.id = pair_id("slip-gradient", vehicle, zone), .title = heading(r, pair, "Slip against gradient", vehicle, zone),
                .caption = caption + (remarks.empty() ? "" : " " + remarks.front()), .panels = {p},
                .provenance = small_print(r, trials > 0 ? plural(trials, "slope trial") : "no slope trial here")};
}

template <class Make>
Slot for_pairs(const campaign::Results& r, std::string id, std::string title, std::string missing, const Make& make) {
  Slot slot{std::move(id), std::move(title), {}, ""};
  for (const auto& [vehicle, zone] : keys(r)) {
    if (auto f = make(r, vehicle, zone)) slot.figures.push_back(std::move(*f));
  }
  if (slot.figures.empty()) slot.missing = std::move(missing);
  return slot;
}

}  // namespace

Slot pull_slip_slot(const campaign::Results& r) {
  return for_pairs(r, "pull-slip", "Pull coefficient and efficiency against slip",
                   "Nothing was predicted, and no vehicle test gave a pull at a known slip.", pull_slip_figure);
}
Slot sinkage_slip_slot(const campaign::Results& r) {
  return for_pairs(r, "sinkage-slip", "Sinkage against slip", "Nothing was predicted, and no sinkage was measured at a known slip.", sinkage_figure);
}
Slot slip_gradient_slot(const campaign::Results& r) {
  return for_pairs(r, "slip-gradient", "Slip against gradient", "Nothing was predicted, and no slope trial was recorded.", gradient_figure);
}

}  // namespace hardpan::report::detail
