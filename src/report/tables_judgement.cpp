// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

io::Table findings(const campaign::Results& r) {
  io::Table t{.name = "findings", .title = "Findings against requirements", .columns = {{"requirement", ""}, {"text", ""}, {"vehicle", ""}, {"zone", ""}, {"condition", ""}, {"quantity", ""}, {"sense", ""}, {"threshold", "unit of the row"}, {"finding", ""}}};
  estimate_columns(t.columns, "value", "unit of the row");
  for (const char* c : {"margin"}) t.columns.push_back({c, "unit of the row"});
  for (const char* c : {"unit", "probability", "confidence", "required probability", "required confidence", "population", "limiting factor", "against what was tested", "records", "reasons", "what would change it"}) t.columns.push_back({c, ""});
  for (const validation::Finding& f : r.findings) {
    const validation::Requirement& q = f.requirement;
    const std::string unit = validation::si_unit(q.quantity);
    Row row{cell(q.id), cell(q.text), cell(q.vehicle), cell(q.zone), cell(q.condition), cell(quantity_words(q.quantity)), cell(q.sense == validation::Sense::at_least ? "at least" : "at most"), cell(q.threshold_si), cell(validation::name(f.verdict))};
    estimate_cells(row, f.value);
    row.push_back(f.margin_known ? cell(f.margin_si) : io::TableCell{});
    for (io::TableCell c : {cell(unit.empty() ? "1" : unit), cell(f.probability), cell(f.confidence), cell(q.probability), cell(q.confidence), cell(f.population), cell(f.limiting_factor), cell(validation::name(f.guard)),
                            cell(joined(f.records, "; ")), cell(joined(f.reasons, " ")), cell(joined(f.would_change, "; "))}) row.push_back(std::move(c));
    t.rows.push_back(std::move(row));
  }
  return t;
}

io::Table prediction_curve(const campaign::Results& r) {
  io::Table t{.name = "predicted-against-slip", .title = "Predicted on the level against slip", .columns = {{"vehicle", ""}, {"zone", ""}, {"soil", ""}, {"slip", "1"}}};
  estimate_columns(t.columns, "pull coefficient", "1");
  estimate_columns(t.columns, "sinkage", "m");
  estimate_columns(t.columns, "torque per wheel", "N m");
  estimate_columns(t.columns, "tractive efficiency", "1");
  for (const campaign::PairResult& p : r.pairs) {
    for (const performance::SlipPoint& k : p.prediction.curve) {
      Row row{cell(p.vehicle), cell(p.zone), cell(p.prediction.heading), cell(k.slip_ratio)};
      for (const math::Estimate* e : {&k.pull_coefficient, &k.sinkage_m, &k.torque_n_m, &k.efficiency}) estimate_cells(row, *e);
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table prediction_gradient(const campaign::Results& r) {
  io::Table t{.name = "predicted-on-gradients", .title = "Predicted slip on gradients without a hitch pull; slip 1 stands for immobilised", .columns = {{"vehicle", ""}, {"zone", ""}, {"soil", ""}, {"gradient", "rad"}}};
  estimate_columns(t.columns, "slip", "1");
  t.columns.push_back({"share immobilised", "1"});
  for (const campaign::PairResult& p : r.pairs) {
    for (const performance::GradientPoint& k : p.prediction.slip_on_gradient) {
      Row row{cell(p.vehicle), cell(p.zone), cell(p.prediction.heading), cell(k.gradient_rad)};
      estimate_cells(row, k.slip_ratio);
      row.push_back(cell(k.immobilised_share));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table headlines(const campaign::Results& r) {
  io::Table t{.name = "headline-predictions", .title = "Headline predictions", .columns = {{"vehicle", ""}, {"zone", ""}, {"soil", ""}, {"quantity", ""}, {"unit", ""}}};
  estimate_columns(t.columns, "value", "unit of the row");
  t.columns.push_back({"limited by", ""});
  for (const campaign::PairResult& p : r.pairs) {
    const performance::Prediction& q = p.prediction;
    for (const auto& [name, unit, o] : {std::tuple{"maximum gradient up to 20 % slip", "rad", &q.gradient_20}, {"maximum gradient up to the working slip", "rad", &q.gradient_working}, {"maximum gradient over all slips", "rad", &q.gradient_maximum},
                                        {"steepest descent the brakes hold", "rad", &q.descent}, {"pull coefficient at 20 % slip", "1", &q.pull_20}, {"towed motion resistance coefficient", "1", &q.towed_resistance}}) {
      Row row{cell(p.vehicle), cell(p.zone), cell(q.heading), cell(name), cell(unit)};
      estimate_cells(row, o->estimate);
      row.push_back(cell(performance::name(o->centre_factor)));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table compared(const campaign::Results& r) {
  io::Table t{.name = "predicted-measured", .title = "Every reading against its prediction",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"unit", ""}, {"file", ""}, {"line", ""}, {"run", ""}, {"slip", "1"}, {"gradient", "rad"}, {"measured", "unit of the row"}, {"measured standard error", "unit of the row"},
                          {"predicted", "unit of the row"}, {"next point low", "unit of the row"}, {"next point high", "unit of the row"}, {"inside", ""}}};
  for (const campaign::PairResult& p : r.pairs) {
    for (const validation::Comparison& c : p.comparisons) {
      for (const validation::ComparedReading& x : c.readings) {
        t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(c.quantity), cell(c.unit_si.empty() ? "1" : c.unit_si), cell(x.file), count(x.line), cell(x.run), cell(x.slip_ratio), cell(x.gradient_rad), cell(x.measured), cell(x.measured_se), cell(x.predicted),
                          x.next_point ? cell(x.next_point->lo) : io::TableCell{}, x.next_point ? cell(x.next_point->hi) : io::TableCell{}, yes(x.inside)});
      }
    }
  }
  return t;
}

io::Table soil_update(const campaign::Results& r) {
  io::Table t{.name = "soil-before-after", .title = "Soil and model form before and after vehicle tests, average ground",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"parameter", ""}, {"unit", ""}, {"before", "unit of the row"}, {"before low", "unit of the row"}, {"before high", "unit of the row"}, {"after", "unit of the row"}, {"after low", "unit of the row"},
                          {"after high", "unit of the row"}, {"moved, prior standard deviations", "1"}, {"standard deviation after over before", "1"}, {"disagrees", ""}, {"at the edge", ""}, {"records that taught", ""}}};
  for (const campaign::PairResult& p : r.pairs) {
    if (!p.learning) continue;
    for (const validation::TaughtParameter& x : p.learning->parameters) {
      const auto lo = [](const std::optional<math::Interval>& i) { return i ? cell(i->lo) : io::TableCell{}; };
      const auto hi = [](const std::optional<math::Interval>& i) { return i ? cell(i->hi) : io::TableCell{}; };
      t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(x.name), cell(x.unit_si), cell(x.before), lo(x.before_95), hi(x.before_95), cell(x.after), lo(x.after_95), hi(x.after_95), cell(x.shift_sd), cell(x.spread_ratio), yes(x.flagged), yes(x.at_edge),
                        cell(joined(p.learning->records, "; "))});
    }
  }
  return t;
}

io::Table held_out(const campaign::Results& r) {
  io::Table t{.name = "held-out-before-after", .title = "Runs that did not teach, against the prediction before and after the update",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"unit", ""}, {"runs", ""}, {"readings", ""}}};
  estimate_columns(t.columns, "difference before", "unit of the row");
  estimate_columns(t.columns, "difference after", "unit of the row");
  for (const char* c : {"inside before", "inside after"}) t.columns.push_back({c, "readings"});
  for (const char* c : {"mean width before", "mean width after"}) t.columns.push_back({c, "unit of the row"});
  for (const campaign::PairResult& p : r.pairs) {
    if (!p.learning) continue;
    for (const validation::HeldOut& h : p.learning->held_out) {
      Row row{cell(p.vehicle), cell(p.zone), cell(h.quantity), cell(h.unit_si.empty() ? "1" : h.unit_si), count(h.runs), count(h.readings)};
      estimate_cells(row, h.bias_before);
      estimate_cells(row, h.bias_after);
      for (io::TableCell c : {count(h.inside_before), count(h.inside_after), cell(h.width_before), cell(h.width_after)}) row.push_back(std::move(c));
      t.rows.push_back(std::move(row));
    }
  }
  return t;
}

io::Table parts(const campaign::Results& r) {
  io::Table t{.name = "parts-of-uncertainty", .title = "95 % interval at the next point with one part varying", .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"part", ""}, {"centre", "SI"}, {"low", "SI"}, {"high", "SI"}}};
  for (const campaign::PairResult& p : r.pairs) {
    for (const performance::SensitivityBar& b : p.prediction.sensitivity) {
      t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(b.quantity), cell(b.part), cell(b.centre), b.next_point ? cell(b.next_point->lo) : io::TableCell{}, b.next_point ? cell(b.next_point->hi) : io::TableCell{}});
    }
  }
  return t;
}

io::Table guard(const campaign::Results& r) {
  io::Table t{.name = "extrapolation-guard", .title = "Under the wheels against what was tested",
              .columns = {{"vehicle", ""}, {"zone", ""}, {"quantity", ""}, {"unit", ""}, {"used low", "unit of the row"}, {"used high", "unit of the row"}, {"tested low", "unit of the row"}, {"tested high", "unit of the row"}, {"verdict", ""}}};
  for (const campaign::PairResult& p : r.pairs) {
    for (const validation::GuardRow& g : p.guard) {
      t.rows.push_back({cell(p.vehicle), cell(p.zone), cell(g.quantity), cell(g.unit_si.empty() ? "1" : g.unit_si), cell(g.used.lo), cell(g.used.hi), g.tested ? cell(g.tested->lo) : io::TableCell{}, g.tested ? cell(g.tested->hi) : io::TableCell{}, cell(validation::name(g.level))});
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
