// SPDX-License-Identifier: Apache-2.0
// Results section: what the tests say about another gravity.
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/questions.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using campaign::GravityAnswer;

constexpr Measure kAcceleration{units::Dimension::acceleration};

Figure gravity_figure(const campaign::Results& r, const GravityAnswer& a) {
  const p::GravityOverSoils& g = *a.over_soils;
  Figure f{.id = "gravity-" + slug(a.vehicle) + "-" + slug(a.zone), .title = "Equal-weight test and target, " + pair_name(r, a.vehicle, a.zone)};
  std::vector<double> all;
  for (const p::TransferBand& b : g.over_slip) {
    for (const math::Estimate* e : {&b.as_tested, &b.equal_weight_test, &b.target}) {
      if (Printer::word(e->value, kGradient).empty()) all.push_back(e->value);
    }
  }
  const InUnit y{Printer(r.campaign.output_units).common(all, kGradient)}, x{*units::find_unit("%")};
  Panel panel{.x = {.label = "Slip", .unit = x.spelling(), .from_zero = true}, .y = {.label = "Gradient climbed at this slip", .unit = y.spelling()}};
  BandSeries test, target;
  Series lines[] = {{.kind = Kind::line, .name = "equal-weight test", .style = 0}, {.kind = Kind::line, .name = "target, true mass", .style = 1}, {.kind = Kind::line, .name = "as tested", .style = 2}};
  for (const p::TransferBand& b : g.over_slip) {
    const double at = x(b.slip_ratio);
    test.add(at, b.equal_weight_test.next_point, kGradient, y);
    target.add(at, b.target.next_point, kGradient, y);
    const math::Estimate* values[] = {&b.equal_weight_test, &b.target, &b.as_tested};
    for (int k = 0; k < 3; ++k) {
      if (!Printer::word(values[k]->value, kGradient).empty()) continue;
      lines[k].x.push_back(at);
      lines[k].y.push_back(y(values[k]->value));
    }
  }
  test.series.name = "equal-weight test, 95 % next point";
  test.series.style = 0;
  test.series.fill = Fill::hatch_up;
  target.series.name = "target, 95 % next point";
  target.series.style = 1;
  target.series.fill = Fill::dots;
  for (BandSeries* b : {&test, &target}) {
    if (b->series.x.size() > 1) panel.series.push_back(std::move(b->series));
  }
  for (Series& line : lines) panel.series.push_back(std::move(line));
  panel.references.push_back({Along::x, x(a.working_slip), "working slip"});
  f.panels.push_back(std::move(panel));
  f.caption = "Lines: best-estimate soil. Where the test stands above the target, it flatters.";
  f.provenance = small_print(r, "");
  return f;
}

void carries_table(Sheet& s, const GravityAnswer& a) {
  Grid g{.caption = "What carries over, " + pair_name(s.results, a.vehicle, a.zone), .columns = {"Quantity", "As tested", "There, as heavy", "There, true mass", "Carries over", "Why"}, .right = "lrrrll"};
  for (const p::TransferLine& l : a.over_soils->centre.lines) {
    const Measure m = l.unit == "Hz" ? Measure{units::Dimension::frequency} : l.quantity.starts_with("gradient") || l.quantity.starts_with("largest gradient") ? kGradient : measure_of_unit(l.unit);
    const auto value = [&](double v) { return std::isnan(v) ? std::string(l.quantity.starts_with("height") ? "not stated" : "no numerical answer") : s.print.value(v, m); };
    g.rows.push_back({l.quantity, value(l.as_tested), value(l.equal_weight), value(l.target), l.carries_over ? "yes" : "no", l.why});
  }
  g.note = "There, as heavy: with the payload that makes it weigh there what the vehicle of the file weighs here. An equal-weight vehicle is a load equivalence only.";
  s.page.table(g);
}

void scaling_table(Sheet& s, const GravityAnswer& a) {
  const p::GranularScaling& k = a.scaling;
  Grid g{.caption = "Granular scaling, " + vehicle_name(s.results, a.vehicle), .columns = {"Of the target over as tested", "Ratio"}, .right = "lr"};
  for (const auto& [name, ratio] : {std::pair{"lengths (asked)", a.length_ratio}, {"mass (asked)", a.mass_ratio}, {"speed", k.speed}, {"rotation", k.rotation}, {"time", k.time}, {"force", k.force}, {"torque", k.torque}, {"power", k.power}, {"wheel width needed", k.width},
                                    {"sinkage", k.sinkage}, {"slip", k.slip}, {"cohesion that the ground would need", k.cohesion}, {"shear modulus K that the ground would need", k.shear_modulus}}) {
    g.rows.push_back({name, fmt::format("{:.4g}", ratio)});
  }
  g.note = "Slonaker et al. (2017): the same cohesionless grains under both, slow wheels of one shape. ";
  g.note += a.cohesionless ? "The ground of " + zone_name(s.results, a.zone) + " has no cohesion." : "The ground of " + zone_name(s.results, a.zone) + " has cohesion: the ratios do not hold for it.";
  s.page.table(g);
}

void gravity(Sheet& s, const GravityAnswer& a) {
  s.page.heading(4, pair_name(s.results, a.vehicle, a.zone));
  if (!a.over_soils) {
    s.page.paragraph("Not computed: " + a.why_not + ".", "missing");
    return;
  }
  const p::GravityOverSoils& g = *a.over_soils;
  const p::GravityTransfer& t = g.centre;
  Grid grid{.caption = "Steepest climb up to " + s.print.value(a.working_slip, kShare, 2) + " slip, " + pair_name(s.results, a.vehicle, a.zone), .columns = {"State", "Best-estimate soil", "95 % average ground", "95 % next point"}, .right = "lrrr"};
  const auto row = [&](const std::string& name, const math::Estimate& e, Measure m) {
    const Printed v = s.print.estimate(e, m);
    grid.rows.push_back({name, v.value, v.average_ground, v.next_point});
  };
  row("as tested, " + s.print.value(t.of(p::GravityTrial::as_tested).mass_kg, kMass) + " here", g.as_tested, kGradient);
  row("equal-weight test, " + s.print.value(t.test_mass_kg, kMass) + " here", g.equal_weight_test, kGradient);
  row("target, " + s.print.value(t.of(p::GravityTrial::target).mass_kg, kMass) + " there", g.target, kGradient);
  row("test less target, soil by soil", g.optimism, kAngle);
  grid.note = std::string("Limited by ") + p::name(g.test_factor) + " in the test, " + p::name(g.target_factor) + " at the target. ";
  if (g.optimistic_ratio) grid.note += fmt::format("The test shows the steeper climb on {:.0f} % of {}. ", 100 * *g.optimistic_ratio, plural(g.draws, "possible soil"));
  else grid.note += sentence("no interval: " + g.reason_without) + " ";
  if (g.left_out > 0) grid.note += fmt::format("{} left out: scaled to the target, the ground carries no wheel of this width. ", plural(g.left_out, "possible soil"));
  grid.note += sentence(std::string("ground: ") + p::name(t.there.known));
  s.page.table(grid);
  s.page.paragraph("To weigh there what it weighs here the vehicle would be " + s.print.value(t.equal_weight_mass_kg, kMass) + (t.payload_kg > 0 ? ", which leaves room for " + s.print.value(t.payload_kg, kMass) + " of payload." : ".") + " A test vehicle of " +
                   s.print.value(t.test_mass_kg, kMass) + " here weighs what the target weighs there.");
  s.page.figure(gravity_figure(s.results, a));
  carries_table(s, a);
  scaling_table(s, a);
}

}  // namespace

void gravity_part(Sheet& s) {
  if (s.results.answers.other_gravity.empty()) return;
  s.page.heading(3, "At another gravity", "other-gravity");
  s.page.paragraph("Predictions for ground under " + s.print.value(s.results.answers.other_gravity.front().to_m_s2, kAcceleration) + " from tests under " + s.print.value(s.results.campaign.gravity_m_s2, kAcceleration) +
                   ". Friction, cohesion, exponent and K are held as measured; stiffness that comes from the ground's own weight falls with gravity. Every wheel on untouched ground.");
  for (const GravityAnswer& a : s.results.answers.other_gravity) gravity(s, a);
}

std::vector<Figure> gravity_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (const GravityAnswer& a : r.answers.other_gravity) {
    if (a.over_soils) out.push_back(gravity_figure(r, a));
  }
  return out;
}

io::Table gravity_table(const campaign::Results& r) {
  io::Table t{.name = "other-gravity", .title = "Gradient climbed as tested, in an equal-weight test and at the target", .columns = {{"vehicle", ""}, {"zone", ""}, {"slip ratio", "-"}}};
  for (const char* state : {"as tested", "equal-weight test", "target"}) estimate_columns(t.columns, std::string("gradient ") + state, "deg");
  const RowUnit degree = row_unit("rad");
  for (const GravityAnswer& a : r.answers.other_gravity) {
    if (!a.over_soils) continue;
    for (const p::TransferBand& b : a.over_soils->over_slip) {
      Row row{cell(a.vehicle), cell(a.zone), cell(b.slip_ratio)};
      for (const math::Estimate* e : {&b.as_tested, &b.equal_weight_test, &b.target}) estimate_cells(row, *e, degree);
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

}  // namespace hardpan::report::detail
