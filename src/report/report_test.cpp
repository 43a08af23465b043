// SPDX-License-Identifier: Apache-2.0
// The document from results built by hand: nothing, a ring alone, and a small campaign with everything. What is
// asserted is what a reader must find, and that no value that is not a number reaches the page.
#include "report/document.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include "report/detail/page.hpp"
#include "report/detail/table_rows.hpp"
#include "report/detail/values.hpp"

namespace hardpan::report {
namespace {

using campaign::Results;
using ::testing::HasSubstr;
using ::testing::Not;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN(), kInf = std::numeric_limits<double>::infinity();
const char* const kSlots[] = {"pressure-sinkage", "shear-strength", "cone-index", "reference-point", "tow-strip", "pull-slip", "sinkage-slip", "slip-gradient", "predicted-measured", "sensitivity"};

math::Estimate known(double value, double half) {
  math::Estimate e{.value = value, .n = 6, .status = math::kStatusOk};
  e.average_ground = math::Interval{value - half, value + half};
  e.next_point = math::Interval{value - 2 * half, value + 2 * half};
  return e;
}

records::ShearZone ring_zone() {
  records::ShearZone z;
  z.points = 2;
  for (const double s : {5e3, 10e3, 20e3}) z.runs.push_back({.test = "ring/1", .point = "P1", .normal_stress_pa = s, .strength_pa = 1500 + 0.6 * s});
  z.soil_line = {.cohesion_pa = 1500, .tan_phi = 0.6, .dof = 1, .stress_from_pa = 5e3, .stress_to_pa = 20e3, .runs = 3, .points = 2, .method = "runs pooled", .status = math::kStatusOk};
  z.soil_line.covariance = {{{1e4, -0.5}, {-0.5, 1e-4}}};
  z.shear_modulus_m = 0.012;
  z.status = math::kStatusOk;
  z.parameters.push_back({.key = "c", .meaning = "cohesion", .unit = "Pa", .estimate = known(1500, 100), .basis = "exponential (Janosi-Hanamoto), 3 runs"});
  z.parameters.push_back({.key = "K", .meaning = "shear displacement modulus", .unit = "m", .estimate = math::estimate_without_interval(0.012, "one point")});
  return z;
}

records::ShearCurve ring_curve(double normal_stress_pa) {
  records::ShearCurve c;
  c.source = {.id = "ring/1", .file = "ring.csv", .point = "P1", .zone = "bar"};
  c.normal_stress_pa = normal_stress_pa;
  for (int i = 0; i < 20; ++i) {
    const double j = 0.002 * i;
    c.displacement_m.push_back(j);
    c.stress_pa.push_back((1500 + 0.6 * normal_stress_pa) * (1 - std::exp(-j / 0.012)));
    c.mark.push_back(records::ShearMark::kept);
    c.line.push_back(static_cast<std::size_t>(i) + 2);
  }
  return c;
}

Results only_a_ring() {
  Results r;
  r.campaign.name = "Ring alone";
  records::ZoneGround z;
  z.zone = "bar";
  z.shear = ring_zone();
  z.reason_without = "no plate test";
  r.ground.zones.push_back(std::move(z));
  r.ground.shear_curves = {ring_curve(5e3), ring_curve(20e3)};
  return r;
}

void add_plates_and_cones(Results& r) {
  records::PlateZone z;
  z.points = z.tests = 2;
  z.widths_m = {0.05, 0.1};
  z.chosen = {.bearing = soil::bekker(0.9, 4e3, 9e5), .first_width_m = 0.05, .second_width_m = 0.1, .reference_depth_m = 0.03, .n = 0.9, .window_from_m = 0.004, .window_to_m = 0.08,
              .points = 2, .tests = 2, .readings = 30, .rms_pa = 900, .basis = "joint robust weighted fit, b is the radius of a circular plate", .status = math::kStatusOk};
  z.fits = {z.chosen};
  z.status = math::kStatusOk;
  z.parameters = {{.key = "n", .meaning = "exponent", .unit = "1", .estimate = known(0.9, 0.03), .basis = z.chosen.basis},
                  {.key = "kphi", .meaning = "frictional modulus at n = 0.900", .unit = "N/m^2.900", .estimate = known(9e5, 4e4), .instrument_sd = 1e4, .basis = z.chosen.basis}};
  z.not_identified = {"nothing below 80 mm was tested"};
  r.ground.zones[0].plates = z;
  for (const double b : z.widths_m) {
    records::PlateCurve c;
    c.source = {.id = "plate/1", .file = "plate.csv", .point = "P1", .zone = "bar", .time = "2026-04-12T09:30", .clock_s = 600.0};
    c.plate = {.id = "p", .radius_m = b};
    for (int i = 1; i <= 15; ++i) {
      const double d = 0.005 * i;
      c.depth_m.push_back(i == 15 ? kNan : d);
      c.pressure_pa.push_back((4e3 / b + 9e5) * std::pow(d, 0.9));
      c.mark.push_back(i == 15 ? records::Mark::not_finite : records::Mark::kept);
      c.line.push_back(static_cast<std::size_t>(i) + 1);
    }
    r.ground.plate_curves.push_back(c);
  }
  r.campaign.ground.plates.push_back({.source = r.ground.plate_curves[0].source});
  r.ground.drift = {.verdict = records::DriftVerdict::trend, .readings = {{"plate/1", 600, std::log(5e4), 0.05}, {"plate/9", 9600, std::log(5.5e4), 0.05}}, .slope_per_hour = known(0.04, 0.02), .middle_clock_s = 5000, .statement = "a trend is shown"};
  records::ConeProfile cone;
  cone.source = {.id = "cone/1", .point = "P1", .zone = "bar"};
  cone.base_area_m2 = 323e-6;
  for (int i = 0; i < 10; ++i) {
    cone.depth_m.push_back(0.02 * i);
    cone.resistance_pa.push_back(2e5 + 1e4 * i);
    cone.mark.push_back(records::ConeMark::kept);
    cone.line.push_back(static_cast<std::size_t>(i) + 2);
  }
  cone.layers = {{.from_m = 0, .to_m = 0.15, .readings = 8, .cone_index_pa = 2.4e5}};
  r.ground.cone_profiles.push_back(cone);
  r.ground.zones[0].cones.push_back({.tests = 1, .points = 1, .layers = {{.from_m = 0, .to_m = 0.15, .cone_index = {.key = "CI", .meaning = "cone index", .unit = "Pa", .estimate = known(2.4e5, 2e4)}}}});
}

void add_vehicle_tests(Results& r) {
  vehicle::Vehicle v{.id = "dunlin", .name = "Dunlin", .bodies = {{.mass_kg = 420, .cg_x_m = 0.6, .cg_z_m = 0.5, .clearance_m = 0.2}}, .axles = {{.name = "rear"}, {.name = "front", .position_x_m = 1.2}}};
  for (auto& a : v.axles) {
    a.track_width_m = 0.9;
    a.wheel = {.radius_m = 0.25, .width_m = 0.18};
  }
  v.scales.push_back({.axle = "front", .load_n = 2010});
  r.campaign.vehicles.push_back(v);
  records::PullWindow w{.file = "tow.csv", .id = "tow/1", .record = "tow", .zone = "bar", .vehicle = "dunlin", .run = "1"};
  w.from_s = 2;
  w.to_s = 6;
  w.slip_ratio = 0.18;
  w.slip_se = 0.01;
  w.slip_status = "ok";
  w.rolling_radius_m = 0.24;
  w.pull_n = 900;
  w.pull_se_n = 20;
  w.weight_n = w.normal_load_n = 4120;
  w.coefficient = 0.22;
  w.coefficient_se = 0.01;
  w.efficiency = 0.5;
  r.drawbar.windows = {w};
  r.drawbar.logs.push_back({.id = "tow/1", .file = "tow.csv", .vehicle = "dunlin", .run = "1", .rows = 50, .slip_status = "ok", .status = "ok"});
  r.drawbar.logs[0].radius.radius_m = 0.24;
  records::TowLog log;
  log.source = {.id = "tow/1", .file = "tow.csv", .zone = "bar"};
  log.conditions.vehicle = "dunlin";
  for (int i = 0; i < 50; ++i) {
    log.time_s.push_back(0.2 * i);
    log.pull_n.push_back(i == 7 ? kNan : 900 + 30 * std::sin(i));
    log.ground_speed_m_per_s.push_back(0.8);
  }
  log.wheel_speed_rad_per_s = {std::vector<double>(50, 4.0)};
  r.campaign.driving.logs.push_back(log);
  r.drawbar.groups.push_back({.vehicle = "dunlin", .zone = "bar", .weight_n = 4120});  // no curve: too few windows
  records::SlopeLimits s{.vehicle = "dunlin", .zone = "bar"};
  s.trials = {{.file = "slope.csv", .line = 2, .angle_rad = 0.2, .outcome = records::TrialOutcome::go, .bound = records::TrialBound::at_least, .slip_ratio = 0.3},
              {.file = "slope.csv", .line = 3, .angle_rad = 0.26, .outcome = records::TrialOutcome::no_go, .bound = records::TrialBound::below},
              {.file = "slope.csv", .line = 4, .angle_rad = 0.22, .outcome = records::TrialOutcome::aborted, .bound = records::TrialBound::either}};
  s.bracket = {.go_rad = 0.2, .no_go_rad = 0.26, .text = "Go at 11.5 deg, no-go at 14.9 deg."};
  s.angles = {{.angle_rad = 0.2, .go = 1, .chance_of_go = math::Interval{0.025, 1}}};
  r.drawbar.slopes.push_back(s);
  r.drawbar.ruts.sinkage.push_back({.vehicle = "dunlin", .zone = "bar", .slip_ratio = 0.2, .sinkage_m = 0.04, .depth_kind = "loaded"});
}

void add_pair(Results& r) {
  campaign::PairResult pair{.vehicle = "dunlin", .zone = "bar"};
  performance::Prediction& p = pair.prediction;
  p.vehicle = "dunlin";
  p.zone = "bar";
  p.population = "points of zone bar";
  p.draws = 400;
  for (const double s : {0.05, 0.1, 0.2, 0.4, 0.8}) {
    performance::SlipPoint k{s, known(0.3 * (1 - std::exp(-s / 0.1)), 0.03), known(0.03 + 0.05 * s, 0.005), known(60, 5), known(0.4, 0.05)};
    if (s == 0.8) {  // digs in on some soils
      k.sinkage_m.value = kInf;
      k.sinkage_m.next_point = math::Interval{0.05, kInf};
      k.pull_coefficient.next_point = math::Interval{-1, 0.3};
    }
    p.curve.push_back(k);
  }
  for (const double g : {-0.1, 0.0, 0.1, 0.2, 0.3}) p.slip_on_gradient.push_back({g, g < 0.3 ? known(0.05 + g, 0.02) : known(1, 0), g < 0.3 ? 0.0 : 1.0});
  performance::EnergyPoint e{.gradient_rad = 0, .energy_j_per_m = known(900, 50), .speed_m_s = known(kInf, 0), .torque_n_m = known(60, 5), .sinkage_m = known(0.03, 0.004), .slip_ratio = known(0.05, 0.01)};
  e.speed_m_s.average_ground = e.speed_m_s.next_point = math::Interval{kInf, kInf};
  p.energy = {e};
  for (performance::Outcome* o : {&p.gradient_20, &p.gradient_working, &p.gradient_maximum, &p.descent}) o->estimate = known(0.22, 0.02), o->centre = 0.22;
  p.pull_20.estimate = known(0.26, 0.02);
  p.pull_20.centre = 0.26;
  p.towed_resistance.estimate = math::estimate_without_interval(kNan, "bogs down");
  p.sensitivity = {{"maximum gradient at the working slip", "soil", 0.22, math::Interval{0.2, 0.24}}, {"maximum gradient at the working slip", "model form", 0.22, math::Interval{0.17, 0.27}}};
  p.used.pressure_pa = {3e4, 5e4};
  p.sanity = {{"gradient bound", 0.45, "rad", "atan(tan phi - rho)"}, {"nominal ground pressure", 2.3e4, "Pa", "W / (n b r)"}};
  p.notes = {"Following wheels are computed on untouched ground."};
  pair.guard = {{"pressure", "Pa", {3e4, 5e4}, math::Interval{1e3, 8e4}, validation::GuardLevel::inside}, {"sinkage", "m", {kNan, kNan}, std::nullopt, validation::GuardLevel::not_tested}};
  validation::Comparison c{.quantity = "pull coefficient", .vehicle = "dunlin", .zone = "bar"};
  c.readings = {{.file = "tow.csv", .id = "tow/1", .run = "1", .slip_ratio = 0.18, .measured = 0.22, .measured_se = 0.01, .predicted = 0.25, .next_point = math::Interval{0.2, 0.3}, .inside = true}};
  c.runs = 1;
  c.inside = 1;
  c.bias = math::estimate_without_interval(-0.03, "one run");
  c.statement = "A bias is not shown by 1 run.";
  pair.comparisons = {c};
  pair.gradients = {{.vehicle = "dunlin", .zone = "bar", .bracket = r.drawbar.slopes[0].bracket, .predicted_rad = known(0.22, 0.02), .bracketed = true, .consistent = true, .statement = "They agree."}};
  validation::Learning l{.vehicle = "dunlin", .zone = "bar", .status = validation::LearningStatus::updated, .records = {"tow-a", "tow-b"}, .readings = 12, .runs = 2, .effective_runs = 1.8, .directions_taught = 1.4};
  l.report = {.status = base::SolveStatus::converged, .residual = 1e-4, .tolerance = 1e-3, .residual_unit = "standard errors", .steps = 5};
  l.rounds = 3;
  l.parameters = {{.name = "cohesion c", .unit_si = "Pa", .before = 1200, .after = 900, .before_95 = math::Interval{800, 1600}, .after_95 = math::Interval{700, 1100}, .shift_sd = -2.4, .spread_ratio = 0.6, .flagged = true},
                  {.name = "c1, place of the largest stress", .unit_si = "1", .before = 0.18, .after = 0.05, .shift_sd = -2, .spread_ratio = 0.9, .at_edge = true}};
  l.shape = {.shown = true, .statement = "Discrepancy of shape: among the runs that teach."};
  l.shape_carried = true;
  l.held_out = {{.quantity = "pull coefficient", .runs = 1, .readings = 6, .bias_before = math::estimate_without_interval(-0.05, "one run"), .bias_after = math::estimate_without_interval(-0.01, "one run"), .inside_before = 3, .inside_after = 5, .width_before = 0.2, .width_after = 0.1}};
  l.held_out_runs = 1;
  l.validated = true;
  l.remarks = {"3 readings stand in records that were not named"};
  l.statement = "The soil was updated by 2 runs.";
  pair.learning = l;
  r.pairs.push_back(pair);
}

validation::Finding finding(const std::string& id, validation::Verdict verdict, validation::Quantity quantity, double threshold_si, const math::Estimate& value) {
  validation::Finding f;
  f.requirement = {.id = id, .text = "Text of " + id, .quantity = quantity, .threshold_si = threshold_si, .vehicle = "dunlin", .zone = "bar"};
  f.verdict = verdict;
  f.value = value;
  f.margin_si = 0.01;
  f.margin_known = true;
  f.probability = 0.93;
  f.confidence = 0.91;
  f.population = "points of zone bar";
  f.rule = "share of next points at least 90 % with 90 % confidence";
  f.limiting_factor = "traction";
  f.records = {"plate tests of zone bar"};
  f.reasons = {"93 % of next points satisfy it"};
  f.would_change = {"tow tests"};
  return f;
}

Results full() {
  Results r = only_a_ring();
  r.campaign.name = "Small <campaign> & \"more\"";
  r.campaign.where = "A beach";
  r.campaign.gravity_m_s2 = 9.81;
  r.campaign.reference_point = "P1";
  r.campaign.zones.push_back({.id = "bar", .description = "shingle bar"});
  r.campaign.points.push_back({.id = "P1", .zone = "bar", .moisture_5cm_ratio = 0.04});
  r.campaign.inputs.push_back({"records/plate.csv", "0123abcd", 812, "record", 30, 1});
  r.campaign.problems.remark({.place = {.file = "records/plate.csv", .line = 16}, .what = "a cell is not a number", .value = "<NaN>"});
  r.campaign.amendments.push_back({.file = "records/plate.csv", .column = "load", .action = "correct", .old_value = "1", .new_value = "2", .initials = "AB", .reason = "slip of the pen", .target_line = 5});
  r.campaign.record_summaries.push_back({.id = "plate", .kind = "plate", .file = "records/plate.csv", .downgrades = {"calibration out of date"}});
  add_plates_and_cones(r);
  add_vehicle_tests(r);
  add_pair(r);
  using validation::Quantity;
  using validation::Verdict;
  r.findings = {finding("R1", Verdict::met, Quantity::maximum_gradient, 0.2, known(0.22, 0.005)), finding("R2", Verdict::not_met, Quantity::sinkage, 0.03, math::estimate_without_interval(kInf, "bogs down")),
                finding("R3", Verdict::not_shown, Quantity::drawbar_pull, 900, math::Estimate{})};
  for (const auto& f : r.findings) r.campaign.requirements.push_back(f.requirement);
  r.amendment_effects = {{"R1", "met", "not shown", 0.22, kNan}};
  r.missing = {"No coast-down test: resistance is predicted only."};
  r.provenance = {.version = "0.0", .simd_target = "plain", .started = "2026-04-12T10:00:00", .finished = "2026-04-12T10:00:05", .seconds = 5, .key = "feed", .settings = {{"seed", "1"}}};
  return r;
}

std::string without_style(std::string page) {
  const std::size_t from = page.find("<style>"), to = page.find("</style>");
  return page.erase(from, to - from);
}

// Words of the whole document, attributes included: a "nan" in a path is as wrong as one in a sentence.
std::set<std::string> words(const std::string& page) {
  std::set<std::string> out;
  std::string word;
  for (const char c : without_style(page) + " ") {
    if (std::isalpha(static_cast<unsigned char>(c))) {
      word += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (!word.empty()) {
      out.insert(word);
      word.clear();
    }
  }
  return out;
}

// Elements closed in order, ids used once. Returns the first fault, empty when there is none.
std::string structure_fault(const std::string& page) {
  static const std::set<std::string> kVoid{"wbr", "meta", "br", "hr", "img", "link", "input"};
  std::vector<std::string> open;
  std::set<std::string> ids;
  for (std::size_t at = page.find('<'); at != std::string::npos; at = page.find('<', at + 1)) {
    const std::size_t end = page.find('>', at);
    if (end == std::string::npos) return "an element never ends";
    std::string tag = page.substr(at + 1, end - at - 1);
    if (tag.starts_with("!")) continue;
    const std::size_t id = tag.find(" id=\"");
    if (id != std::string::npos) {
      const std::string value = tag.substr(id + 5, tag.find('"', id + 5) - id - 5);
      if (!ids.insert(value).second) return "id used twice: " + value;
    }
    const bool closing = tag.starts_with("/"), single = tag.ends_with("/");
    const std::string name = tag.substr(closing ? 1 : 0, tag.find_first_of(" \n/>", closing ? 1 : 0) - (closing ? 1 : 0));
    if (closing) {
      if (open.empty() || open.back() != name) return "closes " + name + " inside " + (open.empty() ? "nothing" : open.back());
      open.pop_back();
    } else if (!single && !kVoid.contains(name)) {
      open.push_back(name);
    }
    if (name == "style" && !closing) at = page.find("</style>", at) - 1;
  }
  return open.empty() ? "" : "never closed: " + open.back();
}

class EveryReport : public ::testing::TestWithParam<int> {
 protected:
  Results results = GetParam() == 0 ? Results{} : GetParam() == 1 ? only_a_ring() : full();
  std::string page = html(results);
};

TEST(Report, ShowsTheSoilBeforeAndAfterVehicleTestsAndTheRunsHeldOut) {
  Results r = full();
  r.findings[0].value_before_learning = known(0.18, 0.01);
  r.findings[0].verdict_before_learning = validation::Verdict::not_shown;
  const std::string page = html(r);
  for (const char* text : {"Soil updated by vehicle tests", "The soil was updated by 2 runs.", "-2.4: disagrees", "cohesion c", "(edge)", "12 readings of tow-a, tow-b", "60 %", "Discrepancy of shape: among the runs that teach.",
                           "Runs that did not teach", "3 of 6", "5 of 6", "Before vehicle tests updated the soil"}) {
    EXPECT_THAT(page, HasSubstr(detail::rich(text))) << text;
  }
  r.pairs[0].learning.reset();
  EXPECT_THAT(html(r), Not(HasSubstr("Soil updated by vehicle tests")));
}

TEST_P(EveryReport, HasEverySectionAndEveryFigureOrItsSentence) {
  for (const char* id : {"findings", "item", "ground", "method", "results", "validation", "uncertainty", "limits", "cautions", "annexes"}) {
    EXPECT_THAT(page, HasSubstr("<section id=\"" + std::string(id) + "\"")) << id;
  }
  for (const std::string slot : kSlots) {
    const std::size_t at = page.find("id=\"slot-" + slot + "\"");
    ASSERT_NE(at, std::string::npos) << slot;
    const std::string inside = page.substr(at, page.find("</div>", at) - at);
    EXPECT_TRUE(inside.find("<svg") != std::string::npos || inside.find("not drawn.") != std::string::npos) << slot << ": " << inside;
  }
}

TEST_P(EveryReport, HoldsNoValueThatIsNoNumber) {
  // The remark of the full campaign quotes what stood in the file.
  const std::string quoted = "&lt;NaN&gt;";
  for (std::size_t at = page.find(quoted); at != std::string::npos; at = page.find(quoted)) page.erase(at, quoted.size());
  const auto all = words(page);
  for (const char* bad : {"nan", "inf", "infinity"}) EXPECT_FALSE(all.contains(bad)) << bad;
}

TEST_P(EveryReport, PrintsAllCautions) {
  for (const std::string& c : campaign::cautions()) EXPECT_THAT(page, HasSubstr(c));
}

TEST_P(EveryReport, IsWellFormedAndReachesOutToNothing) {
  EXPECT_EQ(structure_fault(page), "");
  EXPECT_TRUE(page.starts_with("<!DOCTYPE html>"));
  for (const char* outside : {"<script", "src=", "@import", "<link", "<iframe"}) EXPECT_EQ(page.find(outside), std::string::npos) << outside;
  // Patterns and clips of the page itself, and the name of the SVG language: nothing else is addressed.
  for (std::size_t at = page.find("url("); at != std::string::npos; at = page.find("url(", at + 1)) EXPECT_EQ(page[at + 4], '#') << page.substr(at, 60);
  const std::string svg = "http://www.w3.org/2000/svg\"";
  for (std::size_t at = page.find("http"); at != std::string::npos; at = page.find("http", at + 1)) EXPECT_EQ(page.compare(at, svg.size(), svg), 0) << page.substr(at, 60);
}

TEST_P(EveryReport, IsTheSameBytesAgainButForTheTimesOfTheRun) {
  EXPECT_EQ(page, html(results));
  Results now = results, later = results;
  now.provenance.finished = "2026-01-01T00:00:00";
  later.provenance.finished = "2027-06-30T11:22:33";
  std::string other = html(later);
  for (const auto& [from, to] : {std::pair{"2027-06-30", "2026-01-01"}, {"11:22:33", "00:00:00"}}) {
    for (std::size_t at = other.find(from); at != std::string::npos; at = other.find(from)) other.replace(at, std::string(from).size(), to);
  }
  EXPECT_EQ(html(now), other);
}

INSTANTIATE_TEST_SUITE_P(EmptyRingFull, EveryReport, ::testing::Values(0, 1, 2));

TEST(Report, PutsEveryRequirementOnTheFirstPageWithItsVerdictInWords) {
  const Results r = full();
  const std::string page = html(r);
  const std::size_t first = page.find("id=\"findings\""), item = page.find("id=\"item\"");
  for (const validation::Finding& f : r.findings) {
    const std::size_t at = page.find("id=\"finding-" + f.requirement.id + "\"");
    ASSERT_NE(at, std::string::npos) << f.requirement.id;
    EXPECT_LT(first, at);
    EXPECT_LT(at, item);
    const std::string card = page.substr(at, page.find("</article>", at) - at);
    EXPECT_THAT(card, HasSubstr(std::string("</svg>") + validation::name(f.verdict) + "</span>"));
    for (const char* part : {"Requirement", "Probability asked", "Value", "Margin", "Probability", "Over", "Limiting factor", "Against what was tested", "Based on records", "Decision rule", "What would change it"}) {
      EXPECT_THAT(card, HasSubstr(part)) << f.requirement.id;
    }
  }
  EXPECT_THAT(page, HasSubstr("immobilised"));
}

TEST(Report, DrawsAllTenFiguresOfAFullCampaign) {
  const auto all = figures(full());
  for (const std::string slot : kSlots) {
    EXPECT_TRUE(std::any_of(all.begin(), all.end(), [&](const auto& f) { return f.first.starts_with(slot); })) << slot;
  }
  std::set<std::string> ids;
  for (const auto& [id, figure] : all) {
    EXPECT_TRUE(ids.insert(id).second) << id;
    EXPECT_EQ(id, figure.id);
    EXPECT_GT(tally(figure).drawn, 0u) << id;
    EXPECT_EQ(tally(figure).not_finite, 0u) << id;
  }
}

TEST(Report, SaysWhyAFigureIsMissingWhereOnlyARingWasTurned) {
  const auto all = figures(only_a_ring());
  ASSERT_EQ(all.size(), 1u);
  EXPECT_EQ(all[0].first, "shear-strength-bar");
  const std::string page = html(only_a_ring());
  EXPECT_THAT(page, HasSubstr("There is no plate test in this campaign."));
  EXPECT_THAT(page, HasSubstr("No soil for predictions: no plate test."));
}

TEST(Report, EscapesWhatTheUserWrote) {
  const std::string page = html(full());
  EXPECT_THAT(page, HasSubstr("Small &lt;campaign&gt; &amp; "));
  EXPECT_THAT(page, Not(HasSubstr("<campaign>")));
  EXPECT_THAT(page, HasSubstr("&lt;NaN&gt;"));
}

TEST(Report, HeadsEveryAnswerOnATextbookSoil) {
  Results r = full();
  r.pairs[0].prediction.textbook = true;
  r.pairs[0].prediction.heading = "textbook soil, not your ground";
  const std::string page = html(r);
  for (const validation::Finding& f : r.findings) {
    const std::size_t at = page.find("id=\"finding-" + f.requirement.id + "\"");
    EXPECT_THAT(page.substr(at, page.find("</article>", at) - at), HasSubstr("textbook soil, not your ground"));
  }
}

TEST(Report, PrintsInTheUnitsTheCampaignAsksFor) {
  Results r = full();
  EXPECT_THAT(html(r), HasSubstr("kPa"));
  r.campaign.output_units = campaign::OutputUnits::us;
  const std::string page = html(r);
  EXPECT_THAT(page, HasSubstr("psi"));
  EXPECT_THAT(page, HasSubstr("lbf"));
  EXPECT_THAT(page, Not(HasSubstr("kPa")));
}

TEST(Report, TellsTheAnswerWithAndWithoutAmendments) {
  const std::string page = html(full());
  const std::size_t at = page.find("The answer with and without the amendments");
  ASSERT_NE(at, std::string::npos);
  const std::string table = page.substr(at, page.find("</table>", at) - at);
  EXPECT_THAT(table, HasSubstr("R1"));
  EXPECT_THAT(table, HasSubstr("not shown"));
}

TEST(Tables, CarryAUnitWhereverTheyCarryAQuantity) {
  const std::set<std::string> counts{"first line", "last line", "samples", "effective samples", "points", "tests", "readings", "line", "rows", "rows excluded", "places", "pass", "runs",
                                     "probability", "confidence", "required probability", "required confidence", "readings inside before", "readings inside after"};
  const auto all = tables(full());
  std::set<std::string> names;
  for (const io::Table& t : all) {
    EXPECT_TRUE(names.insert(t.name).second) << t.name;
    for (const auto& row : t.rows) {
      ASSERT_EQ(row.size(), t.columns.size()) << t.name;
      for (std::size_t k = 0; k < row.size(); ++k) {
        if (const double* v = std::get_if<double>(&row[k])) {
          EXPECT_TRUE(std::isfinite(*v)) << t.name << " " << t.columns[k].heading;
          const bool unit_before = std::any_of(t.columns.begin(), t.columns.begin() + static_cast<std::ptrdiff_t>(k), [](const io::TableColumn& c) { return c.heading.starts_with("unit"); });
          EXPECT_TRUE(!t.columns[k].unit.empty() || unit_before || counts.contains(t.columns[k].heading)) << t.name << ": " << t.columns[k].heading;
          EXPECT_NE(t.columns[k].unit, "rad") << t.name << ": " << t.columns[k].heading;
        }
      }
    }
  }
  for (const char* needed : {"findings", "soil-parameters", "pull-windows", "slope-trials", "predicted-against-slip", "predicted-measured", "soil-before-after", "held-out-before-after", "inputs", "remarks"}) {
    EXPECT_TRUE(names.contains(needed)) << needed;
  }
  EXPECT_TRUE(tables(Results{}).empty());
}

// Field engineers open these files in a spreadsheet: no radians, no 1.4000000000000001, "-" for the unit of a ratio.
TEST(Tables, TellAnglesInDegreesAndNumbersToSixDigits) {
  EXPECT_EQ(detail::rounded(0.1 + 1.3), 1.4);
  EXPECT_EQ(detail::rounded(-123456.7), -123457.0);
  EXPECT_EQ(detail::rounded(0.0), 0.0);
  EXPECT_EQ(std::get<double>(detail::degrees(0.1)), 5.72958);
  EXPECT_EQ(detail::row_unit("rad").name, "deg");
  EXPECT_EQ(detail::row_unit("").name, "-");
  EXPECT_EQ(std::get<std::string>(detail::cell(-1.5707963267948966, detail::row_unit("rad"))), "immobilised");
  for (const io::Table& t : tables(full())) {
    if (t.name != "headline-predictions") continue;
    ASSERT_FALSE(t.rows.empty());
    EXPECT_EQ(t.columns[4].text(), "unit");
    EXPECT_EQ(t.columns[5].text(), "value");
    EXPECT_EQ(std::get<std::string>(t.rows[0][4]), "deg");
    EXPECT_NEAR(std::get<double>(t.rows[0][5]), 0.22 * 180 / std::numbers::pi, 1e-4);
  }
}

TEST(Values, PrintAValueAndItsIntervalsInOneUnit) {
  const detail::Printer print(campaign::OutputUnits::si);
  const auto p = print.estimate(known(0.2, 0.01), detail::kAngle);  // 11.459 deg +/- 0.573
  EXPECT_EQ(p.value, "11.46 deg");
  EXPECT_EQ(p.average_ground, "10.89 to 12.03 deg");
  EXPECT_EQ(p.next_point, "10.31 to 12.61 deg");
  EXPECT_EQ(print.interval(0.02, kInf, detail::kSinkage), "20.0 mm to immobilised");
  EXPECT_EQ(print.value(kNan, detail::kForce), "no value");
  EXPECT_EQ(print.value(kInf, detail::kTravelSpeed), "not limited");
  EXPECT_EQ(print.value(-1.5707963267948966, detail::kGradient), "immobilised");
  EXPECT_EQ(print.value(0.184, detail::kShare), "18.4 %");
}

TEST(Values, PrintAnIntervalWithoutWidthByItsDigits) {
  const detail::Printer print(campaign::OutputUnits::si);
  EXPECT_EQ(print.estimate(known(0.0045, 1e-12), detail::kLength).value, "4.50 mm");
  EXPECT_EQ(print.interval(0.0045, 0.0045, detail::kLength), "4.50 mm");
}

TEST(Values, SayOnceWhatHoldsForManyTests) {
  EXPECT_THAT(detail::merged({"Zone bar: cone/P1-1: span check failed", "Zone bar: cone/P1-2: span check failed", "Zone bar: cone/P2-1: span check failed", "Zone bar: other"}),
              ::testing::ElementsAre("Zone bar: 3 tests, cone/P1-1 to cone/P2-1: span check failed", "Zone bar: other"));
  EXPECT_THAT(detail::merged({"records/a.csv is long", "records/a.csv is long"}), ::testing::SizeIs(2));
}

TEST(Values, MakeIdsThatDoNotMeet) {
  EXPECT_EQ(detail::slug("bar"), "bar");
  EXPECT_NE(detail::slug("back marsh"), detail::slug("back-marsh"));
  EXPECT_NE(detail::slug("a/b"), detail::slug("a b"));
}

}  // namespace
}  // namespace hardpan::report
