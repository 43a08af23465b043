// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

io::Table findings(const campaign::Results& r) {
  io::Table t{.name = "findings", .title = "Findings against requirements", .columns = {{"requirement", ""}, {"text", ""}, {"vehicle", ""}, {"zone", ""}, {"condition", ""}, {"quantity", ""}, {"sense", ""}, {"unit", ""}, {"threshold", ""}, {"finding", ""}}};
  estimate_columns(t.columns, "value");
  for (const char* c : {"margin", "probability", "confidence", "required probability", "required confidence", "population", "limiting factor", "against what was tested", "records", "reasons", "what would change it"}) t.columns.push_back({c, ""});
  for (const validation::Finding& f : r.findings) {
    const validation::Requirement& q = f.requirement;
    const RowUnit unit = q.quantity == validation::Quantity::maximum_gradient_down ? kDescentUnit : q.quantity == validation::Quantity::pull_coefficient ? kPullUnit : row_unit(validation::si_unit(q.quantity));
    Row row{cell(q.id), cell(q.text), cell(q.vehicle), cell(q.zone), cell(q.condition), cell(quantity_words(q.quantity)), cell(q.sense == validation::Sense::at_least ? "at least" : "at most"), cell(unit.name), cell(q.threshold_si, unit), cell(validation::name(f.verdict))};
    estimate_cells(row, f.value, unit);
    row.push_back(f.margin_known && !campaign::margin_from_no_travel(f) ? cell(f.margin_si * unit.per_si) : io::TableCell{});
    for (io::TableCell c : {cell(f.probability), cell(f.confidence), cell(q.probability), cell(q.confidence), cell(f.population), cell(f.limiting_factor), cell(validation::name(f.guard)),
                            cell(joined(f.records, "; ")), cell(joined(f.reasons, " ")), cell(joined(f.would_change, "; "))}) row.push_back(std::move(c));
    t.rows.push_back(std::move(row));
  }
  return t;
}

io::Table prediction_curve(const campaign::Results& r) {
  io::Table t{.name = "predicted-against-slip", .title = "Predicted on the level against slip", .columns = {{"vehicle", ""}, {"zone", ""}, {"soil", ""}, {"slip ratio", "-"}}};
  estimate_columns(t.columns, "pull coefficient", "-");
  estimate_columns(t.columns, "sinkage", "m");
  estimate_columns(t.columns, "torque per wheel", "N m");
  estimate_columns(t.columns, "tractive efficiency", "-");
  for (const campaign::PairResult& p : r.pairs) {
    for (const performance::SlipPoint& k : p.prediction.curve) {
      Row row{cell(p.vehicle), cell(p.zone), cell(p.prediction.heading), cell(k.slip_ratio)};
      estimate_cells(row, k.pull_coefficient, kPullUnit);
      for (const math::Estimate* e : {&k.sinkage_m, &k.torque_n_m, &k.efficiency}) estimate_cells(row, *e);
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table prediction_gradient(const campaign::Results& r) {
  io::Table t{.name = "predicted-on-gradients", .title = "Predicted slip on gradients without a hitch pull", .columns = {{"vehicle", ""}, {"zone", ""}, {"soil", ""}, {"gradient", "deg"}}};
  estimate_columns(t.columns, "slip ratio", "-");
  t.columns.push_back({"share immobilised", "-"});
  for (const campaign::PairResult& p : r.pairs) {
    for (const performance::GradientPoint& k : p.prediction.slip_on_gradient) {
      Row row{cell(p.vehicle), cell(p.zone), cell(p.prediction.heading), degrees(k.gradient_rad)};
      estimate_cells(row, k.slip_ratio, kTravelSlipUnit);
      row.push_back(cell(k.immobilised_share));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table headlines(const campaign::Results& r) {
  io::Table t{.name = "headline-predictions", .title = "Headline predictions", .columns = {{"vehicle", ""}, {"zone", ""}, {"soil", ""}, {"quantity", ""}, {"unit", ""}}};
  estimate_columns(t.columns, "value");
  t.columns.push_back({"limited by", ""});
  for (const campaign::PairResult& p : r.pairs) {
    const performance::Prediction& q = p.prediction;
    for (const auto& [name, unit, o] : {std::tuple{"maximum gradient up to 20 % slip", "rad", &q.gradient_20}, {"maximum gradient up to the working slip", "rad", &q.gradient_working}, {"maximum gradient over all slips", "rad", &q.gradient_maximum},
                                        {"steepest descent the brakes hold", "rad", &q.descent}, {"pull coefficient at 20 % slip", "1", &q.pull_20}, {"towed motion resistance coefficient", "1", &q.towed_resistance}}) {
      const RowUnit in = o == &q.pull_20 ? kPullUnit : o == &q.descent ? kDescentUnit : row_unit(unit);
      Row row{cell(p.vehicle), cell(p.zone), cell(q.heading), cell(name), cell(in.name)};
      estimate_cells(row, o->estimate, in);
      row.push_back(cell(performance::name(o->centre_factor)));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table compared(const campaign::Results& r) {
  io::Table t{.name = "predicted-measured", .title = "Every reading against its prediction",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"file", ""}, {"line", ""}, {"run", ""}, {"slip ratio", "-"}, {"gradient", "deg"}, {"unit", ""}, {"measured", ""}, {"measured standard error", ""},
                          {"predicted", ""}, {"next point low", ""}, {"next point high", ""}, {"inside", ""}}};
  for (const campaign::PairResult& p : r.pairs) {
    for (const validation::Comparison& c : p.comparisons) {
      const RowUnit unit = row_unit(c.unit_si);
      for (const validation::ComparedReading& x : c.readings) {
        t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(c.quantity), cell(x.file), count(x.line), cell(x.run), cell(x.slip_ratio), degrees(x.gradient_rad), cell(unit.name), cell(x.measured, unit), cell(x.measured_se, unit), cell(x.predicted, unit),
                          low(x.next_point, unit), high(x.next_point, unit), yes(x.inside)});
      }
    }
  }
  return t;
}

io::Table soil_update(const campaign::Results& r) {
  io::Table t{.name = "soil-before-after", .title = "Soil and model form before and after vehicle tests, average ground",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"parameter", ""}, {"unit", ""}, {"before", ""}, {"before low", ""}, {"before high", ""}, {"after", ""}, {"after low", ""},
                          {"after high", ""}, {"moved, in standard deviations before", "-"}, {"standard deviation after over before", "-"}, {"disagrees", ""}, {"at the edge", ""}, {"records that taught", ""}}};
  for (const campaign::PairResult& p : r.pairs) {
    if (!p.learning) continue;
    for (const validation::TaughtParameter& x : p.learning->parameters) {
      const RowUnit unit = row_unit(x.unit_si);
      t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(x.name), cell(unit.name), cell(x.before, unit), low(x.before_95, unit), high(x.before_95, unit), cell(x.after, unit), low(x.after_95, unit), high(x.after_95, unit), cell(x.shift_sd), cell(x.spread_ratio), yes(x.flagged), yes(x.at_edge),
                        cell(joined(p.learning->records, "; "))});
    }
  }
  return t;
}

io::Table held_out(const campaign::Results& r) {
  io::Table t{.name = "held-out-before-after", .title = "Runs that did not teach, against the prediction before and after the update",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"runs", ""}, {"readings", ""}, {"unit", ""}}};
  estimate_columns(t.columns, "difference before");
  estimate_columns(t.columns, "difference after");
  for (const char* c : {"readings inside before", "readings inside after", "mean width before", "mean width after"}) t.columns.push_back({c, ""});
  for (const campaign::PairResult& p : r.pairs) {
    if (!p.learning) continue;
    for (const validation::HeldOut& h : p.learning->held_out) {
      const RowUnit unit = row_unit(h.unit_si);
      Row row{cell(p.vehicle), cell(p.zone), cell(h.quantity), count(h.runs), count(h.readings), cell(unit.name)};
      estimate_cells(row, h.bias_before, unit);
      estimate_cells(row, h.bias_after, unit);
      for (io::TableCell c : {count(h.inside_before), count(h.inside_after), cell(h.width_before, unit), cell(h.width_after, unit)}) row.push_back(std::move(c));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table parts(const campaign::Results& r) {
  io::Table t{.name = "parts-of-uncertainty", .title = "95 % interval at the next point with one part varying", .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"part", ""}, {"unit", ""}, {"best-estimate soil", ""}, {"low", ""}, {"high", ""}}};
  for (const campaign::PairResult& p : r.pairs) {
    for (const performance::SensitivityBar& b : p.prediction.sensitivity) {
      const RowUnit unit = b.quantity.find("gradient") != std::string::npos ? row_unit("rad") : kPullUnit;
      t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(b.quantity), cell(b.part), cell(unit.name), cell(b.centre, unit), low(b.next_point, unit), high(b.next_point, unit)});
    }
  }
  return t;
}

io::Table guard(const campaign::Results& r) {
  io::Table t{.name = "extrapolation-guard", .title = "Under the wheels against what was tested",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"unit", ""}, {"used low", ""}, {"used high", ""}, {"tested low", ""}, {"tested high", ""}, {"verdict", ""}}};
  for (const campaign::PairResult& p : r.pairs) {
    for (const validation::GuardRow& g : p.guard) {
      const RowUnit unit = row_unit(g.unit_si);
      t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(g.quantity), cell(unit.name), cell(g.used.lo, unit), cell(g.used.hi, unit), low(g.tested, unit), high(g.tested, unit), cell(validation::name(g.level))});
    }
  }
  return t;
}

io::Table inputs(const campaign::Results& r) {
  io::Table t{.name = "inputs", .title = "Files read", .columns = {{"file", ""}, {"what", ""}, {"size", "byte"}, {"rows", ""}, {"rows excluded", ""}, {"SHA-256", ""}}};
  for (const campaign::InputFile& f : r.campaign.inputs) t.rows.push_back({cell(f.path), cell(f.role), static_cast<double>(f.bytes), count(f.rows), count(f.rows_set_aside), cell(f.sha256)});
  return t;
}

io::Table remarks(const campaign::Results& r) {
  io::Table t{.name = "remarks", .title = "Remarks of reading and reduction", .columns = {{"where", ""}, {"what", ""}, {"found", ""}, {"accepted", ""}, {"remedy", ""}, {"rows", ""}}};
  for (const base::Problem& p : r.campaign.problems.list()) t.rows.push_back({cell(p.place.text()), cell(p.what), cell(p.value), cell(p.bound), cell(p.remedy), count(p.count)});
  return t;
}

}  // namespace

std::vector<io::Table> judgement_tables(const campaign::Results& r) {
  return {findings(r), headlines(r), prediction_curve(r), prediction_gradient(r), compared(r), soil_update(r), held_out(r), parts(r), guard(r), inputs(r), remarks(r)};
}

}  // namespace hardpan::report::detail
