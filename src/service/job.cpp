// SPDX-License-Identifier: Apache-2.0
#include "service/job.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "base/build_id.hpp"
#include "base/checksum.hpp"
#include "base/version.hpp"
#include "contact/wheel_soil.hpp"
#include "formats/campaign_reader.hpp"
#include "io/files.hpp"
#include "service/pair_slopes.hpp"
#include "service/provenance.hpp"
#include "service/questions.hpp"
#include "service/requirement_evidence.hpp"
#include "service/trials.hpp"
#include "service/whole_vehicle.hpp"

namespace hardpan::service {

using campaign::Campaign;
using campaign::PairResult;
using campaign::Results;
namespace fs = std::filesystem;

const char* name(Step step) {
  switch (step) {
    case Step::check: return "check";
    case Step::ground: return "ground";
    case Step::drawbar: return "drawbar";
    case Step::predict: return "predict";
    case Step::validate: return "validate";
  }
  return "";
}

Campaign check(const std::string& folder, const CheckOptions& options, base::Problems& problems) {
  Campaign c = formats::read_campaign(folder, {.apply_amendments = options.apply_amendments, .only_record = options.only_record}, problems);
  problems.throw_if_refused();
  return c;
}

namespace {

// What prediction takes from a zone: its own soil first, one from elsewhere second, with what is missing.
std::optional<performance::Ground> ground_of(const Results& r, const std::string& zone_id, std::vector<std::string>& missing) {
  const campaign::Zone* zone = r.campaign.zone(zone_id);
  if (!zone) return std::nullopt;
  performance::Ground g;
  g.zone = zone_id;
  g.loose = zone->loose;
  const bool in_rut = r.campaign.following_wheels == campaign::FollowingWheels::rut;
  g.slip_sinkage = zone->slip_sinkage;
  g.disturbed = zone->disturbed;
  for (const records::ZoneGround& z : r.ground.zones) {
    if (z.zone != zone_id || !z.soil || !z.soil->centre.bearing || !z.soil->centre.shear || !z.soil->centre.shear->shear_modulus_m) continue;
    g.distribution = z.soil;
    // The measured reload stiffness serves following wheels; the exit angle of a wheel on untouched ground stays 0
    // unless a soil file states another.
    if (in_rut) g.rut = z.soil->centre.reload;
    g.distribution->centre.reload.reset();
    g.centre = g.distribution->centre;
    g.source = "tests of this campaign";
    if (z.tested.law_starts_below_layer) g.weakest_crust_pa = z.tested.weakest_crust_pa;
    return g;
  }
  if (zone->soil_from_elsewhere) {
    g.centre = zone->soil_from_elsewhere->soil;
    if (in_rut) g.rut = g.centre.reload;
    g.textbook = true;
    g.source = zone->soil_from_elsewhere->source;
    return g;
  }
  std::string why = "no plate and shear tests";
  for (const records::ZoneGround& z : r.ground.zones) {
    if (z.zone == zone_id && !z.reason_without.empty()) why = z.reason_without;
  }
  const std::string sentence = "Zone " + zone_id + ": nothing is predicted, the soil is not complete (" + why + ").";
  if (std::find(missing.begin(), missing.end(), sentence) == missing.end()) missing.push_back(sentence);
  return std::nullopt;
}

// The cone index of the uppermost layer, where the zone was probed by cones of the standard sizes only.
std::optional<double> cone_index_of(const Results& r, const std::string& zone_id) {
  // ASABE S313.3, within 3 % as the cone step remarks on it.
  constexpr double kStandard_m2[] = {323e-6, 130e-6};
  for (const records::ConeProfile& c : r.ground.cone_profiles) {
    if (c.source.zone != zone_id) continue;
    const bool standard = std::any_of(std::begin(kStandard_m2), std::end(kStandard_m2), [&](double a) { return std::abs(c.base_area_m2 - a) <= 0.03 * a; });
    if (!standard) return std::nullopt;
  }
  for (const records::ZoneGround& z : r.ground.zones) {
    if (z.zone != zone_id || z.cones.size() != 1) continue;
    for (const records::ConeZoneLayer& l : z.cones.front().layers) {
      if (l.from_m == 0) return l.cone_index.estimate.value;
    }
  }
  return std::nullopt;
}

// The measured motion resistance of a vehicle in a zone: towed before coast-down before what was read off other tests.
std::optional<performance::MeasuredResistance> measured_resistance_of(const Results& r, const std::string& vehicle_id, const std::string& zone_id) {
  const records::MotionResistance* found = nullptr;
  for (const records::MotionResistance& m : r.drawbar.resistances) {
    if (m.vehicle != vehicle_id || m.zone != zone_id || !std::isfinite(m.coefficient.value)) continue;
    if (!found || m.method < found->method) found = &m;
  }
  if (!found) return std::nullopt;
  return performance::MeasuredResistance{found->coefficient.value, records::name(found->method)};
}

// Vehicle and zone pairs worth a prediction: those of requirements, then those with vehicle tests.
std::vector<std::pair<std::string, std::string>> pairs_of(const Results& r) {
  std::vector<std::pair<std::string, std::string>> out;
  const auto add = [&](const std::string& vehicle, const std::string& zone) {
    if (vehicle.empty() || zone.empty()) return;
    const std::pair<std::string, std::string> p{vehicle, zone};
    if (std::find(out.begin(), out.end(), p) == out.end()) out.push_back(p);
  };
  for (const auto& q : r.campaign.requirements) add(q.vehicle, q.zone);
  for (const auto& w : r.drawbar.windows) add(w.vehicle, w.zone);
  for (const auto& s : r.drawbar.slopes) add(s.vehicle, s.zone);
  for (const auto& g : r.drawbar.ruts.groups) add(g.vehicle, g.zone);
  for (const auto& t : r.trials.reduced.turns) add(t.vehicle, t.zone);
  if (out.empty()) {
    for (const auto& v : r.campaign.vehicles) {
      for (const auto& z : r.ground.zones) add(v.id, z.zone);
      for (const auto& z : r.campaign.zones) {
        if (z.soil_from_elsewhere) add(v.id, z.id);
      }
    }
  }
  return out;
}


units::OutputUnits text_units(const Campaign& c) {
  return c.output_units == campaign::OutputUnits::us ? units::OutputUnits::us : units::OutputUnits::si;
}

records::GroundSettings ground_settings(const Campaign& c, const ComputeOptions& options) {
  records::GroundSettings s;
  s.output_units = text_units(c);
  for (const campaign::Zone& zone : c.zones) s.layer_by_zone[zone.id] = zone.layers;
  if (options.estimator == "log-log") s.estimator = s.beside = records::PlateEstimator::log_log;
  else if (options.estimator == "unweighted") s.estimator = s.beside = records::PlateEstimator::unweighted;
  else if (options.estimator == "two-step") s.estimator = records::PlateEstimator::two_step;
  if (options.estimator == "log-log" || options.estimator == "unweighted") s.cleaning = false;
  return s;
}

records::DrawbarSettings drawbar_settings(const Campaign& c, const ComputeOptions& options) {
  records::DrawbarSettings s;
  s.tow.gravity_m_per_s2 = c.gravity_m_s2;
  s.tow.trace = options.trace;
  s.tow.set_aside_share_max = c.remark_share;
  s.curve.seed = c.seed;
  s.output_units = s.tow.output_units = s.slopes.output_units = s.ruts.output_units = text_units(c);
  return s;
}

struct Work {
  const ComputeOptions& options;
  base::Problems& problems;
  bool headlines_only = false;  // answers of requirements alone
  void say(const std::string& sentence) const {
    if (options.progress) options.progress(sentence);
  }
};

performance::DrawPlan draw_plan(const Results& r, const Work& work) {
  return {.gravity_m_s2 = r.campaign.gravity_m_s2, .seed = r.campaign.seed, .count = r.campaign.draws, .threads = work.options.threads,
          .target = work.options.plain_kernel ? contact::SimdTarget::plain : contact::SimdTarget::best};
}

void predict_pairs(Results& r, std::vector<performance::Placed>& placed, const Work& work) {
  for (const auto& [vehicle_id, zone_id] : pairs_of(r)) {
    if (work.options.stop.stop_requested()) return;
    const vehicle::Vehicle* v = r.campaign.vehicle_by_id(vehicle_id);
    if (!v) continue;
    auto ground = ground_of(r, zone_id, r.missing);
    if (!ground) continue;
    ground->measured_resistance = measured_resistance_of(r, vehicle_id, zone_id);
    ground->cone_index_pa = cone_index_of(r, zone_id);
    work.say("predicting " + v->name + " on " + zone_id);
    const performance::DrawPlan plan = draw_plan(r, work);
    base::Problems refused;
    auto p = performance::place_vehicle(*v, *ground, plan, {.key = "vehicle " + vehicle_id + " on zone " + zone_id}, refused);
    if (!p) {
      std::string why;
      for (const base::Problem& problem : refused.list()) {
        if (why.empty()) why = problem.text();
      }
      r.missing.push_back("Vehicle " + vehicle_id + " on zone " + zone_id + ": nothing is predicted (" + why + ").");
      continue;
    }
    const performance::PredictionSettings settings{.working_slip = v->working_slip.value_or(0.2),
                                                   .working_slip_stated = v->working_slip.has_value(),
                                                   .headlines_only = work.headlines_only};
    PairResult pair{.vehicle = vehicle_id, .zone = zone_id, .prediction = performance::predict(*p, *v, *ground, settings)};
    if (!work.headlines_only) pair.slopes = slopes_of_pair(*v, *p, *ground, settings.working_slip);
    if (!work.headlines_only) {
      base::Problems aside;  // a machine that was refused was told above
      const performance::ClimbOn climb{ground->centre, ground->loose ? ground->slip_sinkage : soil::SlipSinkage::none, settings.working_slip};
      pair.weights = performance::placement_trade(*v, plan.gravity_m_s2, climb, aside);
    }
    r.pairs.push_back(std::move(pair));
    placed.push_back(std::move(*p));
  }
}

void validate_pairs(Results& r, const std::vector<performance::Placed>& placed, const Work& work) {
  for (std::size_t i = 0; i < r.pairs.size(); ++i) {
    if (work.options.stop.stop_requested()) return;
    PairResult& pair = r.pairs[i];
    work.say("comparing " + pair.vehicle + " on " + pair.zone + " with its tests");
    const auto keep = [&](validation::Comparison c) {
      if (c.readings.empty() && c.without_prediction == 0 && c.without_slip == 0) return;
      c.shape.statement = validation::shape_statement(c, text_units(r.campaign));
      c.statement = validation::statement_of(c, text_units(r.campaign));
      pair.comparisons.push_back(std::move(c));
    };
    keep(validation::compare_pull(placed[i], r.drawbar));
    if (!work.headlines_only) {
      keep(validation::compare_torque(placed[i], r.drawbar));
      keep(validation::compare_sinkage(placed[i], r.drawbar));
      keep(validation::compare_resistance(placed[i], pair.prediction.towed_resistance, r.drawbar));
      pair.gradients = validation::compare_gradients(pair.prediction, r.drawbar);
      if (const vehicle::Vehicle* v = r.campaign.vehicle_by_id(pair.vehicle)) pair.headings = validation::compare_headings(*v, placed[i], v->working_slip.value_or(0.2), r.drawbar);
    }
    for (const records::ZoneGround& z : r.ground.zones) {
      if (z.zone != pair.zone) continue;
      std::optional<math::Interval> slips;
      for (const auto& w : r.drawbar.windows) {
        if (w.vehicle != pair.vehicle || w.zone != pair.zone || !w.slip_ratio) continue;
        if (!slips) slips = math::Interval{*w.slip_ratio, *w.slip_ratio};
        slips->lo = std::min(slips->lo, *w.slip_ratio);
        slips->hi = std::max(slips->hi, *w.slip_ratio);
      }
      pair.guard = validation::extrapolation_guard(pair.prediction.used, z.tested, slips);
    }
  }
}

// The pairs of the campaign that vehicle tests updated, in the order of the pairs; empty where none was asked for.
std::vector<validation::Taught> learn_pairs(Results& r, const std::vector<performance::Placed>& placed, const Work& work) {
  std::vector<validation::Taught> out;
  std::vector<validation::TeachingRecord> records;
  for (const std::string& id : r.campaign.learn_from) {
    for (const campaign::RecordSummary& s : r.campaign.record_summaries) {
      if (s.id == id) records.push_back({s.id, s.file});
    }
  }
  if (records.empty()) return out;
  for (std::size_t i = 0; i < r.pairs.size(); ++i) {
    PairResult& pair = r.pairs[i];
    out.emplace_back();
    if (work.options.stop.stop_requested()) continue;
    const auto ground = ground_of(r, pair.zone, r.missing);
    const vehicle::Vehicle* v = r.campaign.vehicle_by_id(pair.vehicle);
    if (!ground || !v) continue;
    work.say("updating " + pair.zone + " by the tests of " + v->name);
    out.back() = validation::learn({.vehicle = v, .ground = &*ground, .before = &placed[i], .drawbar = &r.drawbar,
                                    .gradient_before = &pair.prediction.gradient_working.estimate, .output_units = text_units(r.campaign)}, records);
    if (out.back().learning.status != validation::LearningStatus::nothing_teaches) pair.learning = out.back().learning;
  }
  return out;
}

// Speeds through a delay that the campaign's [remote] answers for this vehicle and zone. The delay of a run's sheet is that of the link: without the driver's reaction.
std::vector<validation::PredictedSpeed> predicted_speeds(const Results& r, const std::string& vehicle, const std::string& zone) {
  std::vector<validation::PredictedSpeed> out;
  if (!r.campaign.questions.remote) return out;
  const double reaction_s = r.campaign.questions.remote->link.delay.reaction_s;
  for (const campaign::RemoteAnswer& a : r.answers.remote) {
    if (a.vehicle != vehicle || a.zone != zone || !a.why_not.empty()) continue;
    for (const driving::DelayPoint& p : a.over_delay_best.empty() ? a.over_delay : a.over_delay_best) {
      if (p.delay_s >= reaction_s) out.push_back({p.delay_s - reaction_s, p.speed.speed_m_s, driving::name(p.speed.limited_by)});
    }
  }
  return out;
}

std::vector<validation::Finding> judge_all(const Results& r, const std::vector<performance::Placed>& placed,
                                           const std::vector<validation::Taught>& taught) {
  std::vector<validation::Finding> out;
  for (const validation::Requirement& q : r.campaign.requirements) {
    validation::Evidence e;
    const auto obstacle = whole_vehicle_evidence(e, r, q);
    e.obstacle = obstacle ? &*obstacle : nullptr;
    const validation::Taught* after = nullptr;
    e.gravity_m_s2 = r.campaign.gravity_m_s2;
    e.output_units = text_units(r.campaign);
    e.vehicle = r.campaign.vehicle_by_id(q.vehicle);
    e.drawbar = &r.drawbar;
    for (const records::ZoneGround& z : r.ground.zones) {
      if (z.zone == q.zone) e.ground = &z;
    }
    for (std::size_t i = 0; i < r.pairs.size(); ++i) {
      if (r.pairs[i].vehicle != q.vehicle || r.pairs[i].zone != q.zone) continue;
      e.placed = &placed[i];
      e.prediction = &r.pairs[i].prediction;
      e.comparisons = &r.pairs[i].comparisons;
      if (i < taught.size() && taught[i].after) after = &taught[i];
      for (const validation::Comparison& c : r.pairs[i].comparisons) {
        if (c.quantity == "pull coefficient") e.pull = &c;
      }
    }
    if (!after) {
      out.push_back(validation::judge(q, e));
      continue;
    }
    validation::Evidence updated = e;
    updated.placed = &*after->after;
    updated.pull = &*after->pull_held_out;
    updated.learning = &after->learning;
    updated.pull_that_taught = e.pull;
    out.push_back(validation::judge_after_learning(q, e, updated));
  }
  return out;
}

void run_steps(Results& r, const Work& work) {
  const ComputeOptions& o = work.options;
  const auto& g = r.campaign.ground;
  if (o.until == Step::check) {
    // What the reductions set aside and refuse belongs to what is wrong with the records; their results are the next steps'.
    static_cast<void>(records::reduce_ground(g, ground_settings(r.campaign, o), work.problems));
    static_cast<void>(records::reduce_drawbar(r.campaign.driving, drawbar_settings(r.campaign, o), work.problems));
    reduce_trials(r, work.problems);
    work.problems.throw_if_refused();
    return;
  }
  if (g.plates.empty() && g.shears.empty() && g.cones.empty() && g.reposes.empty() && g.densities.empty() && g.moistures.empty()) {
    r.missing.push_back("No ground tests: the soil step has nothing to run on.");
  } else {
    work.say("reducing ground records");
    r.ground = records::reduce_ground(g, ground_settings(r.campaign, o), work.problems);
  }
  work.problems.throw_if_refused();
  if (o.until == Step::ground) return;
  const auto& d = r.campaign.driving;
  if (d.logs.empty() && d.hand_pulls.empty() && d.slope_trials.empty() && d.ruts.empty()) {
    const auto& t = r.campaign.trials;
    if (t.obstacles.empty() && t.turns.empty() && t.trips.empty() && t.rocks.empty() && t.rough.empty()) r.missing.push_back("No vehicle tests: predictions are not validated.");
  } else {
    work.say("reducing vehicle records");
    r.drawbar = records::reduce_drawbar(d, drawbar_settings(r.campaign, o), work.problems);
  }
  reduce_trials(r, work.problems);
  work.problems.throw_if_refused();
  if (o.until == Step::drawbar) return;
  if (r.campaign.vehicles.empty()) {
    r.missing.push_back("No vehicle file: nothing is predicted.");
    return;
  }
  const bool tips = std::any_of(r.campaign.requirements.begin(), r.campaign.requirements.end(), [](const auto& q) { return q.quantity == validation::Quantity::tip_angle; });
  if (!work.headlines_only || tips) answer_vehicles(r);
  std::vector<performance::Placed> placed;
  predict_pairs(r, placed, work);
  campaign::Questions all = r.campaign.questions;
  if (work.headlines_only) r.campaign.questions = required_of(all, r.campaign.requirements);
  if (!work.headlines_only || r.campaign.questions.remote || !r.campaign.questions.rides.empty() || !r.campaign.questions.endurance.empty() || !r.campaign.questions.boulders.empty()) {
    answer_questions(r, placed, o, [&](const std::string& zone) { return ground_of(r, zone, r.missing); }, [&](const std::string& what) { work.say(what); });
  }
  r.campaign.questions = std::move(all);
  if (o.until == Step::predict) return;
  validate_pairs(r, placed, work);
  if (!work.headlines_only) {
    compare_trials(r, placed, [&](const std::string& zone) { return ground_of(r, zone, r.missing); }, draw_plan(r, work));
    compare_remote_runs(r, [&](const std::string& vehicle, const std::string& zone) { return predicted_speeds(r, vehicle, zone); });
    compare_way_runs(r);
  }
  const std::vector<validation::Taught> taught = learn_pairs(r, placed, work);
  if (r.campaign.requirements.empty()) r.missing.push_back("No requirements: there is nothing to judge.");
  work.say("judging requirements");
  r.findings = judge_all(r, placed, taught);
}

void add_settings(Results& r, const ComputeOptions& o) {
  auto& s = r.provenance.settings;
  s.emplace_back("possible soils", fmt::format("{}", r.campaign.draws));
  s.emplace_back("seed", fmt::format("{}", r.campaign.seed));
  s.emplace_back("gravity", units::print_quantity(r.campaign.gravity_m_s2, units::Dimension::acceleration, text_units(r.campaign), 4));
  s.emplace_back("following wheels", r.campaign.following_wheels == campaign::FollowingWheels::rut ? "in the rut where unloading was measured" : "on untouched ground");
  s.emplace_back("soil estimator", o.estimator.empty() ? "joint" : o.estimator);
  const soil::ModelForm form;
  s.emplace_back("model form, default spreads (common practice, no source)",
                 fmt::format("c1 sd {:g}, c2 sd {:g}, ln of K wheel over K ring sd {:g}", form.c1_sd, form.c2_sd, form.ln_k_ratio_sd));
  std::string teaching;
  for (const std::string& id : r.campaign.learn_from) teaching += (teaching.empty() ? "" : ", ") + id;
  s.emplace_back("records that update the soil", teaching.empty() ? "none" : teaching);
  s.emplace_back("amendments", r.campaign.amendments.empty() ? "none" : r.campaign.amendments_applied ? "applied" : "not applied");
}

}  // namespace

Results compute(Campaign campaign, const ComputeOptions& options, base::Problems& problems) {
  const Stopwatch watch(options.plain_kernel);
  Results r;
  r.provenance = watch.started();
  r.campaign = std::move(campaign);
  const Work work{options, problems};
  run_steps(r, work);
  if (options.without_amendments && options.until == Step::validate && !r.campaign.amendments.empty() && r.campaign.amendments_applied &&
      !r.campaign.requirements.empty()) {
    work.say("answering once more without the amendments");
    base::Problems aside;
    try {
      ComputeOptions quiet = options;
      quiet.trace = false;
      quiet.progress = nullptr;
      Results bare;
      bare.campaign = formats::read_campaign(r.campaign.folder, {.apply_amendments = false}, aside);
      aside.throw_if_refused();
      run_steps(bare, {quiet, aside, true});
      for (std::size_t i = 0; i < r.findings.size() && i < bare.findings.size(); ++i) {
        r.amendment_effects.push_back({r.findings[i].requirement.id, validation::name(r.findings[i].verdict),
                                       validation::name(bare.findings[i].verdict), r.findings[i].value.value, bare.findings[i].value.value});
      }
    } catch (const base::InputError&) {
      for (const validation::Finding& f : r.findings) {
        r.amendment_effects.push_back({f.requirement.id, validation::name(f.verdict), "refused without the amendments", f.value.value, std::nan("")});
      }
    }
  }
  r.campaign.problems = {};
  for (const base::Problem& p : problems.list()) r.campaign.problems.remark(p);
  add_settings(r, options);
  r.provenance = watch.stop(std::move(r.provenance));
  return r;
}

std::string input_key(const std::string& folder, const ComputeOptions& options) {
  std::vector<std::string> files;
  std::error_code error;
  for (auto it = fs::recursive_directory_iterator(folder, error); it != fs::recursive_directory_iterator(); it.increment(error)) {
    if (error) break;
    const std::string relative = fs::relative(it->path(), folder, error).string();
    const std::string name = it->path().filename().string();
    std::error_code unknown;  // a link to itself is neither folder nor file
    if (it->is_directory(unknown) && (relative == "out" || name.starts_with("."))) {
      it.disable_recursion_pending();
      continue;
    }
    if (it->is_regular_file(unknown) && !name.starts_with(".") && !relative.starts_with("ledger.sqlite") && !relative.ends_with(".zip")) {
      files.push_back(relative);
    }
  }
  std::sort(files.begin(), files.end());
  base::Sha256 sum;
  sum.add(std::string("hardpan ") + base::kVersion + " " + base::build_id() + "\n" + options.estimator + "\n" + (options.plain_kernel ? "plain\n" : "best\n") +
          (options.trace ? "trace\n" : "") + name(options.until) + "\n");
  base::Problems problems;
  for (const std::string& f : files) {
    const auto digest = io::digest_file(folder + "/" + f, problems);
    sum.add(f + " " + (digest ? digest->sha256 : "unreadable") + "\n");
  }
  return sum.finish();
}

}  // namespace hardpan::service
