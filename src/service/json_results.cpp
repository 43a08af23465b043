// SPDX-License-Identifier: Apache-2.0
#include "service/json_results.hpp"

#include <cmath>
#include <limits>

#include "campaign/no_travel.hpp"
#include "service/pair_slopes.hpp"
#include "service/trials.hpp"
#include "service/whole_vehicle.hpp"
#include "service/questions.hpp"
#include "service/weights.hpp"

namespace hardpan::service {

using io::Json;

namespace {

Json interval(const std::optional<math::Interval>& i) {
  return i ? Json::array({i->lo, i->hi}) : Json();
}

template <class T, class F>
Json list(const std::vector<T>& items, const F& make) {
  Json out = Json::array();
  for (const T& x : items) out.push(make(x));
  return out;
}

Json strings(const std::vector<std::string>& v) {
  return list(v, [](const std::string& s) { return Json(s); });
}

// A value of a quantity whose unit is only known at run time: the unit stands in the key.
std::string keyed(const std::string& what, const std::string& unit) {
  std::string out = what;
  for (const char c : unit) out += std::isalnum(static_cast<unsigned char>(c)) ? static_cast<char>(std::tolower(static_cast<unsigned char>(c))) : '_';
  return out;
}
std::string unit_suffix(const std::string& unit) {
  if (unit.empty() || unit == "1") return "_ratio";
  if (unit == "N m") return "_n_m";
  if (unit == "J/m") return "_j_per_m";
  if (unit == "m/s") return "_m_per_s";
  return keyed("_", unit);
}

Json parameter(const records::Parameter& p) {
  Json j = Json::object();
  j.set("key", p.key).set("meaning", p.meaning).set("unit", p.unit).set("estimate", estimate_json(p.estimate));
  j.set("average_soil_only", interval(p.average_soil_only)).set("bootstrap", interval(p.bootstrap));
  j.set("instrument_sd", p.instrument_sd).set("basis", p.basis);
  return j;
}

Json plate_fit(const records::PlateFit& f) {
  Json j = Json::object();
  j.set("estimator", records::name(f.estimator)).set("relation", soil::name(f.bearing.law)).set("status", f.status);
  j.set("exponent_ratio", f.bearing.n).set("first_modulus_si", f.bearing.first_modulus).set("second_modulus_si", f.bearing.second_modulus);
  if (const auto& below = f.bearing.below) j.set("second_layer_depth_m", below->depth_m).set("second_layer_exponent_ratio", below->n_below);
  return j;
}

Json zone(const records::ZoneGround& z) {
  Json j = Json::object();
  j.set("zone", z.zone).set("dates", z.dates).set("reason_without", z.reason_without);
  Json parameters = Json::array();
  const auto add = [&](const std::vector<records::Parameter>& list_of) {
    for (const auto& p : list_of) parameters.push(parameter(p));
  };
  if (z.plates) add(z.plates->parameters);
  if (z.shear) add(z.shear->parameters);
  if (z.bulk) add(z.bulk->parameters);
  j.set("parameters", parameters);
  if (z.plates) {
    Json p = Json::object();
    p.set("points", z.plates->points).set("tests", z.plates->tests).set("readings", z.plates->readings).set("paired", z.plates->paired);
    p.set("status", z.plates->status).set("fits", list(z.plates->fits, plate_fit));
    p.set("not_identified", strings(z.plates->not_identified)).set("disagreement", strings(z.plates->disagreement));
    p.set("residuals", strings(z.plates->residuals));
    j.set("plates", p);
  }
  if (z.shear) {
    Json s = Json::object();
    s.set("points", z.shear->points).set("runs", z.shear->runs.size()).set("status", z.shear->status);
    s.set("not_identified", strings(z.shear->not_identified)).set("remarks", strings(z.shear->remarks));
    s.set("cohesion_at_zero", z.shear->soil_line.cohesion_at_zero);
    j.set("shear", s);
  }
  j.set("cones", list(z.cones, [](const records::ConeZone& c) {
    Json k = Json::object();
    k.set("population", c.population).set("base_area_m2", c.base_area_m2).set("tests", c.tests).set("points", c.points);
    k.set("layers", list(c.layers, [](const records::ConeZoneLayer& l) {
      Json m = Json::object();
      m.set("from_m", l.from_m).set("to_m", l.to_m).set("cone_index_pa", estimate_json(l.cone_index.estimate));
      if (l.rating_cone_index) m.set("rating_cone_index_pa", estimate_json(l.rating_cone_index->estimate));
      return m;
    }));
    k.set("remarks", strings(c.remarks));
    return k;
  }));
  j.set("operators", list(z.operators, [](const records::OperatorPair& o) { return Json(o.statement); }));
  j.set("advice", list(z.advice, [](const records::Advice& a) { return Json(a.statement); }));
  j.set("downgrades", strings(z.downgrades)).set("remarks", strings(z.remarks));
  return j;
}

Json ground(const records::GroundResult& g) {
  Json j = Json::object();
  j.set("zones", list(g.zones, zone));
  Json drift = Json::object();
  drift.set("verdict", records::name(g.drift.verdict)).set("statement", g.drift.statement).set("corrected", g.drift.corrected);
  j.set("drift", drift).set("cone_consistency", g.cone_consistency.statement);
  return j;
}

Json window(const records::PullWindow& w) {
  Json j = Json::object();
  j.set("file", w.file).set("first_line", w.first_line).set("last_line", w.last_line).set("run", w.run);
  j.set("slip_ratio", w.slip_ratio).set("slip_se_ratio", w.slip_se).set("slip_status", w.slip_status);
  j.set("rolling_radius_m", w.rolling_radius_m).set("zero_slip", vehicle::name(w.zero_slip));
  j.set("gradient_rad", w.gradient_rad).set("gradient_source", records::name(w.gradient_source));
  j.set("weight_n", w.weight_n).set("pull_n", w.pull_n).set("coefficient_ratio", w.coefficient).set("coefficient_se_ratio", w.coefficient_se);
  j.set("efficiency_kind", records::name(w.efficiency_kind)).set("efficiency_ratio", w.efficiency).set("effective_samples", w.n_effective);
  return j;
}

Json drawbar(const records::DrawbarResult& d) {
  Json j = Json::object();
  j.set("groups", list(d.groups, [](const records::DrawbarGroup& g) {
    Json k = Json::object();
    k.set("vehicle", g.vehicle).set("zone", g.zone).set("weight_n", g.weight_n);
    k.set("relation", records::name(g.curve.relation_used)).set("fit", base::name(g.curve.solve.status));
    k.set("runs", g.curve.runs).set("windows", g.curve.points).set("slip_tested_ratio", Json::array({g.curve.slip_lo, g.curve.slip_hi}));
    const auto e = [&](const char* key, const std::optional<math::Estimate>& v) { k.set(key, v ? estimate_json(*v) : Json()); };
    e("pull_coefficient_at_20_percent_ratio", g.curve.at_20_percent);
    e("pull_coefficient_at_working_slip_ratio", g.curve.at_working_slip);
    e("peak_pull_coefficient_ratio", g.curve.peak);
    e("self_propelled_slip_ratio", g.curve.s0);
    e("best_efficiency_ratio", g.efficiency.best);
    k.set("efficiency", g.efficiency.label);
    e("gradeability_first_order_at_20_percent_rad", g.gradeability_at_20_percent_rad);
    k.set("remarks", strings(g.remarks));
    return k;
  }));
  j.set("resistances", list(d.resistances, [](const records::MotionResistance& m) {
    Json k = Json::object();
    k.set("vehicle", m.vehicle).set("zone", m.zone).set("method", records::name(m.method)).set("coefficient_ratio", estimate_json(m.coefficient));
    k.set("runs", list(m.runs, [](const records::ResistanceRun& run) {
      Json q = Json::object();
      q.set("run", run.run).set("file", run.file).set("windows", run.windows).set("coefficient_ratio", run.coefficient).set("standard_error_ratio", run.standard_error);
      return q;
    }));
    return k;
  }));
  j.set("slope_limits", list(d.slopes, [](const records::SlopeLimits& s) {
    Json k = Json::object();
    k.set("vehicle", s.vehicle).set("zone", s.zone).set("downhill", s.downhill).set("trials", s.trials.size());
    k.set("heading_rad", s.heading_rad).set("largest_drift_rad", s.largest_drift_rad);
    k.set("go_rad", s.bracket.go_rad).set("no_go_rad", s.bracket.no_go_rad).set("statement", s.bracket.text);
    k.set("median_rad", s.median_rad ? estimate_json(*s.median_rad) : Json());
    return k;
  }));
  j.set("lanes", list(d.lanes, [](const records::LanePair& l) {
    Json k = Json::object();
    k.set("lane", l.lane).set("gradient_rad", l.gradient_rad).set("gradient_se_rad", l.gradient_se_rad).set("used", l.used).set("note", l.note);
    return k;
  }));
  j.set("windows", list(d.windows, window)).set("conventions", strings(d.conventions));
  return j;
}

// The number that stands for a vehicle that does not travel; none of quantities that have no such.
double no_travel_of(validation::Quantity q) {
  switch (q) {
    case validation::Quantity::maximum_gradient: return performance::kNoGradient;
    case validation::Quantity::maximum_gradient_down: return campaign::kNoDescent;
    case validation::Quantity::pull_coefficient: return campaign::kNoPull;
    default: return std::numeric_limits<double>::quiet_NaN();
  }
}

Json outcome(const performance::Outcome& o, double no_travel) {
  Json j = estimate_json(o.estimate, no_travel);
  j.set("limiting_factor", performance::name(o.centre_factor));
  Json shares = Json::object();
  for (const auto& [factor, share] : performance::factors(o)) shares.put(performance::name(factor), share);
  j.set("limiting_factor_shares_ratio", shares);
  return j;
}

Json prediction(const performance::Prediction& p) {
  Json j = Json::object();
  j.set("vehicle", p.vehicle).set("zone", p.zone).set("heading", p.heading).set("population", p.population).set("reason_without", p.reason_without);
  j.set("draws", p.draws).set("redrawn", p.redrawn).set("working_slip_ratio", p.working_slip).set("working_slip_stated", p.working_slip_stated);
  j.set("slip_sinkage", performance::slip_sinkage_words(p));
  j.set("gradient_at_20_percent_slip_rad", outcome(p.gradient_20, performance::kNoGradient)).set("gradient_at_working_slip_rad", outcome(p.gradient_working, performance::kNoGradient));
  j.set("gradient_maximum_over_slip_rad", outcome(p.gradient_maximum, performance::kNoGradient)).set("descent_rad", outcome(p.descent, campaign::kNoDescent));
  j.set("pull_coefficient_at_20_percent_slip_ratio", outcome(p.pull_20, campaign::kNoPull)).set("towed_resistance_coefficient_ratio", outcome(p.towed_resistance, std::numeric_limits<double>::quiet_NaN()));
  j.set("curve", list(p.curve, [](const performance::SlipPoint& s) {
    Json k = Json::object();
    k.set("slip_ratio", s.slip_ratio).set("pull_coefficient_ratio", estimate_json(s.pull_coefficient, campaign::kNoPull)).set("sinkage_m", estimate_json(s.sinkage_m));
    k.set("torque_n_m", estimate_json(s.torque_n_m)).set("efficiency_ratio", estimate_json(s.efficiency));
    return k;
  }));
  j.set("slip_on_gradient", list(p.slip_on_gradient, [](const performance::GradientPoint& g) {
    Json k = Json::object();
    k.set("gradient_rad", g.gradient_rad).set("slip_ratio", estimate_json(g.slip_ratio, campaign::kSlipOfNoTravel)).set("immobilised_share_ratio", g.immobilised_share);
    return k;
  }));
  j.set("energy", list(p.energy, [](const performance::EnergyPoint& e) {
    Json k = Json::object();
    k.set("gradient_rad", e.gradient_rad).set("energy_j_per_m", estimate_json(e.energy_j_per_m)).set("speed_m_per_s", estimate_json(e.speed_m_s));
    k.set("torque_n_m", estimate_json(e.torque_n_m)).set("sinkage_m", estimate_json(e.sinkage_m)).set("slip_ratio", estimate_json(e.slip_ratio, campaign::kSlipOfNoTravel));
    return k;
  }));
  j.set("sensitivity", list(p.sensitivity, [](const performance::SensitivityBar& b) {
    Json k = Json::object();
    const double no_travel = b.quantity.find("gradient") != std::string::npos ? performance::kNoGradient : campaign::kNoPull;
    const auto told = [no_travel](double v) { return std::abs(v - no_travel) <= campaign::kAtNoTravel ? std::numeric_limits<double>::quiet_NaN() : v; };
    k.set("quantity", b.quantity).set("part", b.part).set("centre_si", told(b.centre)).set("next_point", b.next_point ? Json::array({told(b.next_point->lo), told(b.next_point->hi)}) : Json());
    return k;
  }));
  j.set("sanity", list(p.sanity, [](const performance::SanityValue& s) {
    Json k = Json::object();
    k.set("name", s.name).set("value_si", s.value_si).set("unit", s.unit).set("note", s.note);
    return k;
  }));
  j.set("notes", strings(p.notes));
  return j;
}

Json comparison(const validation::Comparison& c) {
  Json j = Json::object();
  j.set("quantity", c.quantity).set("unit", c.unit_si).set("readings", c.readings.size()).set("runs", c.runs).set("inside", c.inside);
  j.set("readings_without_prediction", c.without_prediction).set("readings_set_aside", c.set_aside).set("ruts_without_slip", c.without_slip);
  j.set("coverage_limits_ratio", interval(c.coverage)).set("bias", estimate_json(c.bias)).set("bias_claimed", c.bias_claimed);
  j.set("bands", list(c.bands, [](const validation::SlipBand& b) {
    Json k = Json::object();
    k.set("slip_ratio", Json::array({b.lo, b.hi})).set("readings", b.readings).set("runs", b.runs).set("difference", estimate_json(b.difference)).set("claimed", b.claimed);
    return k;
  }));
  Json shape = Json::object();
  shape.set("shown", c.shape.shown).set("statement", c.shape.statement);
  j.set("shape", shape).set("statement", c.statement);
  return j;
}

Json solve(const base::SolveReport& r) {
  Json j = Json::object();
  j.set("status", base::name(r.status)).set("residual", r.residual).set("tolerance", r.tolerance).set("residual_unit", r.residual_unit).set("steps", r.steps).set("evaluations", r.evaluations);
  return j;
}

Json learning(const validation::Learning& l) {
  Json j = Json::object();
  j.set("status", validation::name(l.status)).set("records", strings(l.records)).set("readings", l.readings).set("runs", l.runs);
  j.set("effective_runs", l.effective_runs).set("directions_taught", l.directions_taught).set("chance_of_such_a_shift_ratio", l.disagreement);
  j.set("fit", solve(l.report)).set("rounds", static_cast<std::size_t>(l.rounds)).set("redrawn", l.redrawn);
  j.set("parameters", list(l.parameters, [](const validation::TaughtParameter& p) {
    Json k = Json::object();
    k.set("name", p.name).set("unit", p.unit_si).set("before_si", p.before).set("before_95_si", interval(p.before_95)).set("after_si", p.after).set("after_95_si", interval(p.after_95));
    k.set("shift_prior_standard_deviations", p.shift_sd).set("spread_ratio", p.spread_ratio).set("at_edge", p.at_edge).set("flagged", p.flagged);
    return k;
  }));
  j.set("run_scatter", list(l.quantities, [](const validation::TaughtQuantity& q) {
    Json k = Json::object();
    k.set("quantity", q.quantity).set("unit", q.unit_si).set("runs", q.scatter.runs).set("readings", q.scatter.readings).set("level_sd_si", q.scatter.level_sd).set("tilt_sd_si", q.scatter.tilt_sd);
    k.set("window_sd_si", q.scatter.window_sd).set("level_sd_from_ground_si", q.scatter.level_from_ground_sd).set("effective_runs", q.scatter.effective_runs);
    return k;
  }));
  j.set("shape_shown", l.shape.shown).set("shape_carried", l.shape_carried).set("shape_statement", l.shape.statement);
  j.set("held_out", list(l.held_out, [](const validation::HeldOut& h) {
    Json k = Json::object();
    k.set("quantity", h.quantity).set("unit", h.unit_si).set("runs", h.runs).set("readings", h.readings);
    k.set("bias_before", estimate_json(h.bias_before)).set("bias_after", estimate_json(h.bias_after)).set("bias_claimed_before", h.bias_claimed_before).set("bias_claimed_after", h.bias_claimed_after);
    k.set("inside_before", h.inside_before).set("inside_after", h.inside_after).set("width_before_si", h.width_before).set("width_after_si", h.width_after);
    k.set("coverage_limits_before_ratio", interval(h.coverage_before)).set("coverage_limits_after_ratio", interval(h.coverage_after));
    return k;
  }));
  j.set("held_out_runs", l.held_out_runs).set("validated", l.validated).set("contradicted", l.contradicted);
  j.set("gradient_at_working_slip_before_rad", estimate_json(l.gradient_before)).set("gradient_at_working_slip_after_rad", estimate_json(l.gradient_after));
  j.set("remarks", strings(l.remarks)).set("statement", l.statement);
  return j;
}

Json finding(const validation::Finding& f) {
  const validation::Requirement& r = f.requirement;
  const std::string unit = unit_suffix(validation::si_unit(r.quantity));
  Json j = Json::object();
  j.set("id", r.id).set("text", r.text).set("quantity", validation::name(r.quantity)).set("vehicle", r.vehicle).set("zone", r.zone).set("condition", r.condition);
  j.set("sense", r.sense == validation::Sense::at_least ? "at least" : "at most").set("threshold" + unit, r.threshold_si);
  j.set("method", validation::name(r.method)).set("required_probability_ratio", r.probability).set("required_confidence_ratio", r.confidence);
  j.set("verdict", validation::name(f.verdict)).set("value" + unit, estimate_json(f.value, no_travel_of(r.quantity)));
  j.set("value_without_measured_difference" + unit, f.value_without_measured_difference ? estimate_json(*f.value_without_measured_difference, no_travel_of(r.quantity)) : Json());
  j.set("value_before_learning" + unit, f.value_before_learning ? estimate_json(*f.value_before_learning, no_travel_of(r.quantity)) : Json());
  j.set("verdict_before_learning", f.verdict_before_learning ? Json(validation::name(*f.verdict_before_learning)) : Json());
  j.set("margin" + unit, f.margin_known && !campaign::margin_from_no_travel(f) ? Json(f.margin_si) : Json()).set("probability_ratio", f.probability).set("confidence_ratio", f.confidence);
  j.set("trials_compared", f.compared ? Json(f.compared->judged) : Json()).set("trials_that_agree", f.compared ? Json(f.compared->agree) : Json());
  j.set("obstacle", r.obstacle).set("friction_ratio", r.friction_ratio).set("trip", r.trip).set("rocks", r.rocks).set("heading_rad", r.heading_rad);
  j.set("population", f.population).set("rule", f.rule).set("limiting_factor", f.limiting_factor).set("guard", validation::name(f.guard));
  j.set("records", strings(f.records)).set("reasons", strings(f.reasons)).set("would_change", strings(f.would_change));
  return j;
}

}  // namespace

Json estimate_json(const math::Estimate& e) {
  Json j = Json::object();
  j.set("value", e.value).set("average_ground", interval(e.average_ground)).set("next_point", interval(e.next_point));
  j.set("level", e.level).set("n", e.n).set("status", e.status);
  return j;
}

Json estimate_json(const math::Estimate& e, double stands_for_no_travel) {
  const auto told = [&](double v) { return std::abs(v - stands_for_no_travel) <= campaign::kAtNoTravel ? std::numeric_limits<double>::quiet_NaN() : v; };
  math::Estimate out = e;
  out.value = told(e.value);
  if (std::isnan(out.value) && !std::isnan(e.value)) out.status = "immobilised";
  for (auto* i : {&out.average_ground, &out.next_point}) {
    if (*i) *i = math::Interval{told((*i)->lo), told((*i)->hi)};
  }
  return estimate_json(out);
}

Json problems_json(const base::Problems& problems) {
  return list(problems.list(), [](const base::Problem& p) {
    Json j = Json::object();
    j.set("severity", base::name(p.severity)).set("place", p.place.text()).set("file", p.place.file).set("line", p.place.line).set("key", p.place.key);
    j.set("what", p.what).set("value", p.value).set("bound", p.bound).set("remedy", p.remedy).set("count", p.count);
    return j;
  });
}

Json envelope(const std::string& verb, const std::string& status, const base::Problems& problems,
              const campaign::Provenance& provenance, Json result) {
  Json p = Json::object();
  p.set("started", provenance.started).set("finished", provenance.finished).set("seconds", provenance.seconds).set("simd_target", provenance.simd_target);
  p.set("key", provenance.key);
  Json settings = Json::object();
  for (const auto& [name, value] : provenance.settings) settings.put(name, value);
  p.set("settings", settings);
  Json j = Json::object();
  j.set("schema", kSchema).set("version", provenance.version).set("verb", verb).set("status", status);
  j.set("problems", problems_json(problems)).set("provenance", p).set("result", std::move(result));
  return j;
}

Json results_json(const campaign::Results& r, Step until) {
  Json j = Json::object();
  Json c = Json::object();
  c.set("name", r.campaign.name).set("where", r.campaign.where).set("when", r.campaign.when).set("gravity_m_per_s2", r.campaign.gravity_m_s2);
  c.set("records", list(r.campaign.record_summaries, [](const campaign::RecordSummary& s) {
    Json k = Json::object();
    k.set("id", s.id).set("kind", s.kind).set("file", s.file).set("tests", s.tests).set("rows", s.rows).set("rows_set_aside", s.rows_set_aside).set("downgrades", strings(s.downgrades));
    return k;
  }));
  c.set("output_units", r.campaign.output_units == campaign::OutputUnits::us ? "US" : "SI");
  c.set("vehicles", list(r.campaign.vehicles, [&](const vehicle::Vehicle& v) {
    const vehicle::Body loaded = vehicle::loaded_body(v);
    double payload_kg = 0;
    for (const vehicle::Payload& p : v.payload) payload_kg += p.mass_kg;
    Json k = Json::object();
    k.set("id", v.id).set("mass_kg", loaded.mass_kg).set("payload_kg", payload_kg).set("cg_ahead_of_rear_axle_m", loaded.cg_x_m).set("cg_height_m", loaded.cg_z_m);
    Json axles = Json::array();
    const std::vector<double> loads = vehicle::level_axle_loads_n(v, r.campaign.gravity_m_s2);
    for (std::size_t i = 0; i < loads.size(); ++i) axles.push(Json::object().set("name", v.axles[i].name).set("level_load_n", loads[i]));
    return k.set("axles", axles);
  }));
  c.set("inputs", list(r.campaign.inputs, [](const campaign::InputFile& f) {
    Json k = Json::object();
    k.set("path", f.path).set("role", f.role).set("sha256", f.sha256).set("bytes", f.bytes);
    return k;
  }));
  j.set("campaign", c).set("missing", strings(r.missing));
  if (until >= Step::ground) j.set("ground", ground(r.ground));
  if (until >= Step::drawbar) j.set("drawbar", drawbar(r.drawbar)).set("trials", trials_json(r));
  if (until >= Step::predict) j.set("vehicles_alone", list(r.vehicles, [&](const campaign::VehicleResult& v) { return vehicle_alone_json(v, r.campaign); }));
  if (until >= Step::predict) {
    j.set("predictions", list(r.pairs, [&](const campaign::PairResult& p) {
      const vehicle::Vehicle* v = r.campaign.vehicle_by_id(p.vehicle);
      return prediction(p.prediction).set("slopes_on_any_heading", slopes_json(p.slopes)).set("placements", v ? trade_json(p.weights, *v) : Json());
    })).set("questions", questions_json(r.answers));
  }
  if (until >= Step::validate) {
    j.set("validation", list(r.pairs, [](const campaign::PairResult& p) {
      Json k = Json::object();
      k.set("vehicle", p.vehicle).set("zone", p.zone).set("comparisons", list(p.comparisons, comparison));
      k.set("learning", p.learning ? learning(*p.learning) : Json());
      k.set("gradients", list(p.gradients, [](const validation::GradientComparison& g) {
        Json m = Json::object();
        m.set("judged", g.judged).set("bracketed", g.bracketed).set("consistent", g.consistent).set("statement", g.statement);
        return m;
      }));
      k.set("headings", list(p.headings, [](const validation::HeadingComparison& h) {
        Json m = Json::object();
        m.set("heading_rad", h.heading_rad).set("judged", h.judged).set("bracketed", h.bracketed).set("consistent", h.consistent).set("against_working_limit", h.by_drift);
        m.set("predicted_rad", std::isfinite(h.predicted_rad) ? Json(h.predicted_rad) : Json()).set("next_point_rad", interval(h.next_point_rad)).set("limiting_factor", performance::name(h.factor)).set("soils", h.soils);
        m.set("drift_measured_rad", h.drift_measured_rad).set("drift_at_gradient_rad", h.drift_at_rad).set("drift_predicted_rad", h.drift_predicted_rad).set("statement", h.statement);
        return m;
      }));
      k.set("guard", list(p.guard, [](const validation::GuardRow& g) {
        Json m = Json::object();
        m.set("quantity", g.quantity).set("unit", g.unit_si).set("used", Json::array({g.used.lo, g.used.hi})).set("tested", interval(g.tested)).set("level", validation::name(g.level));
        return m;
      }));
      return k;
    }));
    j.set("trials_compared", compared_trials_json(r));
    j.set("findings", list(r.findings, finding));
    j.set("amendment_effects", list(r.amendment_effects, [](const campaign::AmendmentEffect& a) {
      Json k = Json::object();
      k.set("requirement", a.requirement).set("verdict_with", a.verdict_with).set("verdict_without", a.verdict_without);
      k.set("value_with_si", a.value_with_si).set("value_without_si", a.value_without_si);
      return k;
    }));
  }
  return j;
}

}  // namespace hardpan::service
