// SPDX-License-Identifier: Apache-2.0
// Predicted against measured, and what the answers hang on.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"

namespace hardpan::report::detail {
namespace {

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::optional<Panel> compared_panel(const validation::Comparison& c, const Printer& print) {
  const Measure m = measure_of_unit(c.unit_si);
  std::vector<double> all;
  for (const auto& x : c.readings) {
    all.push_back(x.measured);
    all.push_back(x.predicted);
  }
  const InUnit unit{print.common(all, m)};
  Panel p{.heading = capital(c.quantity), .x = {.label = "Measured", .unit = unit.spelling()}, .y = {.label = "Predicted", .unit = unit.spelling()},
          .same_range = true};
  Series inside{.kind = Kind::points, .name = "measured inside the interval", .style = 0};
  Series outside{.kind = Kind::points, .name = "outside", .style = 1};
  double lo = 1e300, hi = -1e300;
  for (const validation::ComparedReading& x : c.readings) {
    if (!std::isfinite(x.measured) || !std::isfinite(x.predicted)) continue;
    const math::Interval i = x.next_point && std::isfinite(x.next_point->lo) && std::isfinite(x.next_point->hi)
                                 ? *x.next_point : math::Interval{x.predicted, x.predicted};
    const double half = std::isfinite(x.measured_se) ? 1.959964 * x.measured_se : 0;
    Series& s = x.inside ? inside : outside;
    s.x.push_back(unit(x.measured));
    s.x_lo.push_back(unit(x.measured - half));
    s.x_hi.push_back(unit(x.measured + half));
    s.y.push_back(unit(x.predicted));
    s.y_lo.push_back(unit(i.lo));
    s.y_hi.push_back(unit(i.hi));
    for (const double v : {x.measured, x.predicted}) {
      lo = std::min(lo, unit(v));
      hi = std::max(hi, unit(v));
    }
  }
  if (inside.x.empty() && outside.x.empty()) return std::nullopt;
  p.series.push_back({.kind = Kind::line, .name = "equal", .x = {lo, hi}, .y = {lo, hi}, .style = 5});
  for (Series* s : {&inside, &outside}) {
    if (!s->x.empty()) p.series.push_back(std::move(*s));
  }
  return p;
}

}  // namespace

Slot validation_slot(const campaign::Results& r) {
  Slot slot{"predicted-measured", "Predicted against measured", {}, ""};
  const Printer print(r.campaign.output_units);
  for (const campaign::PairResult& pair : r.pairs) {
    std::vector<std::pair<Panel, std::size_t>> panels;
    for (const validation::Comparison& c : pair.comparisons) {
      if (auto p = compared_panel(c, print)) panels.emplace_back(std::move(*p), c.readings.size());
    }
    // Two beside each other: more would be too narrow to read a value from.
    for (std::size_t k = 0; k < panels.size(); k += 2) {
      Figure f{.id = "predicted-measured-" + slug(pair.vehicle.empty() ? "vehicle" : pair.vehicle) + "-" + slug(pair.zone.empty() ? "ground" : pair.zone) + (k == 0 ? "" : fmt::format("-{}", k / 2 + 1)),
               .title = "Predicted against measured, " + pair_name(r, pair.vehicle, pair.zone), .arrangement = Arrangement::beside};
      std::size_t readings = 0;
      for (std::size_t j = k; j < std::min(k + 2, panels.size()); ++j) {
        f.panels.push_back(panels[j].first);
        readings += panels[j].second;
      }
      f.caption = "Each reading at its own slip, gradient and weight. Bars up and down: 95 % interval of the prediction at the next point with the "
                  "error of the reading; bars to the sides: 95 % of the reading's own error.";
      if (pair.prediction.textbook) f.caption += " Textbook soil, not your ground.";
      f.provenance = small_print(r, plural(readings, "reading"));
      slot.figures.push_back(std::move(f));
    }
  }
  if (slot.figures.empty()) {
    slot.missing = r.pairs.empty() ? "Nothing was predicted, so there is nothing to set against measurements."
                                   : "No vehicle test on this ground can be set against the prediction: it is not validated.";
  }
  return slot;
}

Slot sensitivity_slot(const campaign::Results& r) {
  Slot slot{"sensitivity", "Sensitivity: which uncertainty matters", {}, ""};
  const Printer print(r.campaign.output_units);
  for (const campaign::PairResult& pair : r.pairs) {
    const performance::Prediction& pr = pair.prediction;
    std::vector<std::string> quantities;
    for (const auto& b : pr.sensitivity) {
      if (std::find(quantities.begin(), quantities.end(), b.quantity) == quantities.end()) quantities.push_back(b.quantity);
    }
    Figure f{.id = "sensitivity-" + slug(pair.vehicle.empty() ? "vehicle" : pair.vehicle) + "-" + slug(pair.zone.empty() ? "ground" : pair.zone),
             .title = "Sensitivity: which uncertainty matters, " + pair_name(r, pair.vehicle, pair.zone), .arrangement = Arrangement::beside};
    for (const std::string& quantity : quantities) {
      const bool gradient = quantity.find("gradient") != std::string::npos;
      const Measure m = gradient ? kGradient : kPullCoefficient;
      std::vector<performance::SensitivityBar> bars;
      for (const auto& b : pr.sensitivity) {
        if (b.quantity == quantity) bars.push_back(b);
      }
      const performance::Outcome* whole = gradient ? &pr.gradient_working : pr.working_slip == 0.2 ? &pr.pull_20 : nullptr;
      if (whole && whole->estimate.next_point) bars.push_back({quantity, "all together", whole->centre, whole->estimate.next_point});
      const InUnit unit{print.unit(0.2, m)};
      Panel p{.heading = capital(quantity), .x = {.label = gradient ? "Gradient" : "Pull coefficient", .unit = unit.spelling()}, .y = {.scale = Scale::category}};
      Series low{.kind = Kind::bars, .name = "lower end", .style = 0}, high{.kind = Kind::bars, .name = "upper end", .style = 1};
      for (const auto& b : bars) {
        if (!b.next_point || !Printer::word(b.next_point->lo, m).empty() || !Printer::word(b.next_point->hi, m).empty() || !std::isfinite(b.centre)) continue;
        const double at = static_cast<double>(p.y.categories.size());
        p.y.categories.push_back(b.part);
        low.base = high.base = unit(b.centre);
        for (auto [s, v] : {std::pair{&low, b.next_point->lo}, {&high, b.next_point->hi}}) {
          s->x.push_back(unit(v));
          s->y.push_back(at);
          s->text.push_back(Printer::bare(v, unit.unit, m));
        }
      }
      if (p.y.categories.empty()) continue;
      p.series = {low, high};
      f.panels.push_back(std::move(p));
    }
    if (f.panels.empty()) continue;
    for (std::size_t k = 1; k < f.panels.size(); ++k) f.panels[k].legend = false;
    f.caption = "95 % interval at the next point when only one part varies, and with all of them. Instrument and model form do not shrink with more points.";
    f.provenance = small_print(r, plural(pr.draws, "possible soil"));
    slot.figures.push_back(std::move(f));
  }
  if (slot.figures.empty()) {
    bool textbook = false, any = false;
    for (const auto& pair : r.pairs) {
      textbook = textbook || pair.prediction.textbook;
      any = true;
    }
    slot.missing = !any ? "Nothing was predicted." : textbook ? "A textbook soil has no scatter: no part of the uncertainty can be drawn apart."
                                                             : "The soil has no scatter to draw from (one point or one instrument): no part of the uncertainty can be drawn apart.";
  }
  return slot;
}

}  // namespace hardpan::report::detail
