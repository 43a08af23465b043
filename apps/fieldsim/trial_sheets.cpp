// SPDX-License-Identifier: Apache-2.0
// Sheets of the trials at limits and by remote control: tries at a step, turns, remote runs, and two vehicles in turn. What happens in a try is computed
// with Hardpan's own model from the true ground, friction and driver, which nobody in the field knows: these trials can scatter about a prediction,
// and cannot show that the model is right.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include <fmt/format.h>

#include "driving/remote_speed.hpp"
#include "fieldsim/field.hpp"
#include "formats/vehicle_file.hpp"
#include "performance/boulder_field.hpp"
#include "performance/crossing.hpp"
#include "performance/turn_on_soil.hpp"

namespace fieldsim {
namespace {

namespace p = hardpan::performance;
namespace driving = hardpan::driving;
namespace soil = hardpan::soil;
using hardpan::vehicle::Vehicle;

// The ground of one try at a point: the point's own, times a factor of the spot.
soil::Soil ground_of(const FieldPoint& point, const PlateTruth& plate, const ShearTruth& shear, double factor) {
  soil::Soil s;
  const double level = std::exp(point.level) * factor / std::pow(0.04, point.exponent);
  s.bearing = soil::bekker(plate.n + point.exponent, plate.kc_n * level, plate.kphi_n * level);
  s.shear = soil::Shear{.cohesion_pa = shear.cohesion_pa * point.cohesion, .tan_phi = std::tan(shear.phi_deg * std::numbers::pi / 180) * point.tan_phi,
                        .shear_modulus_m = shear.modulus_m * point.modulus};
  return s;
}

void step_tries(Field& field, const Vehicle& v) {
  Dice dice = field.dice("step tries");
  std::string text = std::string(kSaysInvented) + "Try,Obstacle,Height (mm),Approach,Outcome,Friction,Remark\n";
  const auto profile_vehicle = p::profile_vehicle(v, kGravity);
  if (!profile_vehicle) throw std::logic_error("the vehicle has no profile");
  int number = 0;
  for (const double height : {80, 100, 120, 120, 140, 140, 140, 160, 160, 180}) {
    const double friction = kBoardwalkFriction * std::exp(dice.normal(kBoardwalkFriction_sd));
    const p::Crossing c = p::cross(*profile_vehicle, p::Profile::step(1e-3 * height), {.friction = friction, .descents_held = false});
    if (!c.solve.converged()) throw std::logic_error("a try at the step has no answer");
    const char* outcome = c.passes ? "over" : *c.stopped_by == p::Obstruction::hang_up ? "hung up" : *c.stopped_by == p::Obstruction::tip_over ? "tipped" : "stopped";
    text += fmt::format("K{},step up,{:.0f},slow,{},{:.2f},{}\n", ++number, height, outcome, friction + dice.normal(0.015), c.passes ? "" : "wheels spin at the face; backed off");
  }
  field.add_record("records/steps_boardwalk.csv", text,
                   "id = \"steps-boardwalk\"\nkind = \"obstacle-trial\"\ninstrument = \"tape\"\npoint = \"M0\"\nvehicle = \"dunlin\"\noperator = \"AI\"\n"
                   "time = \"2026-04-15T14:00\"\n");
}

// Of the outermost wheel about the turning centre that the ground makes.
double ring_m(const p::TurnState& s) {
  double ring = 0;
  for (const p::WheelInTurn& w : s.wheels) ring = std::max(ring, std::hypot(w.place.x_m - s.centre_x_m, w.place.y_m - s.radius_m));
  return ring;
}

void turn_runs(Field& field, const Vehicle& v) {
  Dice dice = field.dice("turns");
  std::string text = std::string(kSaysInvented) + "Run,Side,Diameter (m),Radius asked (m),Speed (m/s),Torque (N m),Outcome,Remark\n";
  int number = 0;
  for (const double radius : {8.0, 8.0, 5.0, 5.0, 3.5, 3.5, 2.8, 2.2}) {
    const soil::Soil ground = ground_of(field.point("L0"), kForedunePlates, kForeduneShear, std::exp(dice.normal(kForedunePlates.push_sd)));
    hardpan::base::Problems problems;
    const auto machine = p::make_turning_machine(v, ground, kGravity, soil::SlipSinkage::stretch, {.key = "turn"}, problems);
    if (!machine) throw std::logic_error("the vehicle does not turn on this ground");
    const p::TurnState s = p::turn_on_soil(*machine, {.radius_m = radius});
    double torque = 0;
    for (const p::WheelInTurn& w : s.wheels) torque += w.torque_n_m;
    const double asked = p::turn_at(v, radius).outer_wheel_radius_m;
    const double speed = rounded(0.45 + dice.normal(0.03), 0.01), error = dice.normal(0.03), torque_error = dice.normal(0.03);
    const p::TurnLimit limit = p::limit_of(s);
    const bool stalls = limit == p::TurnLimit::torque || limit == p::TurnLimit::power || limit == p::TurnLimit::carrying;
    text += s.goes() ? fmt::format("R{},{},{:.1f},{:.1f},{:.2f},{:.0f},turned,\n", ++number, radius > 0 ? "left" : "right", 2 * ring_m(s) + error, asked, speed, torque * (1 + torque_error))
                     : fmt::format("R{},{},,{:.1f},{:.2f},,{},{}\n", ++number, radius > 0 ? "left" : "right", asked, speed, stalls ? "stalled" : "slid",
                                   stalls ? "outer wheels dig in" : "runs wide and digs in");
  }
  field.add_record("records/turns_foredune.csv", text,
                   "id = \"turns-foredune\"\nkind = \"turn-trial\"\ninstrument = \"tape\"\npoint = \"L0\"\nvehicle = \"dunlin\"\noperator = \"BT\"\n"
                   "time = \"2026-04-15T16:00\"\nwheel_path = \"outer wheel\"\n");
}

void remote_runs(Field& field, const Vehicle& v) {
  Dice dice = field.dice("remote runs");
  std::string text = std::string(kSaysInvented) + "Run,Operator,Practice,Delay (s),Field of view (deg),Speed (m/s),Largest error (m),Corridor (m),Stops,Outcome,Remark\n";
  constexpr double kCorridor_m = 3;
  const double half_width = 0.5 * (kCorridor_m - p::make_swath(v, 0).width_m()), own_radius = p::smallest_radius_m(v);
  const double top_speed = v.axles.front().drive.max_speed_rad_per_s.value() * v.axles.front().wheel.radius_m;
  struct Run {
    const char* who;
    int practice;
    double delay_s;
  };
  // Delays mixed within and between the two.
  constexpr Run kRuns[] = {{"AI", 0, 1.2}, {"BT", 0, 0.5}, {"AI", 1, 0.5}, {"BT", 1, 2.0}, {"AI", 2, 2.0}, {"BT", 2, 1.2},
                           {"AI", 3, 0.5}, {"BT", 3, 0.5}, {"AI", 4, 1.2}, {"BT", 4, 2.0}, {"AI", 5, 2.0}, {"BT", 5, 1.2}};
  int number = 0;
  for (const Run& run : kRuns) {
    const driving::Situation situation{
        .path = driving::slalom(75, 1, 25),
        .rule = {.look_ahead_m = 4, .smallest_radius_m = std::isfinite(own_radius) ? own_radius : 0,
                 .link = {.delay = {0.5 * run.delay_s, kReaction_s, 0.5 * run.delay_s}, .jitter_s = 0.1, .image_interval_s = 0.2, .image_loss_ratio = 0.02}},
        .corridor = {.half_width_m = half_width, .fastest_m_s = top_speed},
        .sensing_range_m = 10, .gravity_m_s2 = kGravity, .braking_coefficient = std::tan(kForeduneShear.phi_deg * std::numbers::pi / 180), .thinking_s = 4};
    const driving::RemoteSpeed best = driving::remote_speed(situation, field.seed);
    // Nobody drives at the limit: a share of it, nearer with practice.
    const double share = (run.who[0] == 'A' ? kFirstDriverShare : kSecondDriverShare) * (1 + kPracticeGain * std::log1p(run.practice)) * std::exp(dice.normal(kDriver_sd));
    const double error = 0.9 * half_width * std::min(share, 1.0) * std::exp(dice.normal(0.35));
    const bool left = error > half_width;
    const int stops = best.limited_by == driving::SpeedLimit::waiting ? 9 : dice.uniform(0, 1) < 0.3 ? 1 : 0;
    text += left ? fmt::format("D{},{},{},{:g},60,,{:.1f},{:g},{},left the corridor,over the tape in the second bend\n", ++number, run.who, run.practice, run.delay_s, error, kCorridor_m, stops)
                 : fmt::format("D{},{},{},{:g},60,{:.2f},{:.1f},{:g},{},finished,\n", ++number, run.who, run.practice, run.delay_s, share * best.speed_m_s, error, kCorridor_m, stops);
  }
  field.add_record("records/remote_slalom.csv", text,
                   "id = \"remote-slalom\"\nkind = \"remote-run\"\npoint = \"L0\"\nvehicle = \"dunlin\"\ntime = \"2026-04-15T17:00\"\ncourse = \"slalom\"\n");
}

// Two quartets A-B-B-A on one slope, wheels changed in between; the sand dries and slips more from run to run.
void climbs_in_turn(Field& field) {
  Dice dice = field.dice("climbs in turn");
  constexpr double kAngle_deg = 6;
  std::string tyres, lugs;
  const std::string head = std::string(kSaysInvented) + "Trial,Travel,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Start,Length (m),Slip (%),Outcome,Clock,Remark\n";
  int number = 0;
  double hour = 8.5;
  for (const char which : std::string("ABBAABBA")) {
    const PullTruth& truth = which == 'A' ? kTyresForedune : kLugsForedune;
    const double need = std::tan(kAngle_deg * std::numbers::pi / 180), slip = slip_at(truth, std::exp(dice.normal(kInTurn_sd)), need);
    if (slip < 0) throw std::logic_error("a climb in turn is too steep");
    std::string angles;
    for (int k = 0; k < 3; ++k) angles += fmt::format("{:.1f},", rounded(kAngle_deg + dice.normal(0.15), 0.1));
    const int minutes = static_cast<int>(std::lround(60 * hour));
    (which == 'A' ? tyres : lugs) += fmt::format("V{},up,{}standing,12.0,{:.1f},go,{:02}:{:02},\n", ++number, angles, 100 * (slip + kDryingSlip_per_hour * (hour - 8.5)) + dice.normal(0.2),
                                                 minutes / 60, minutes % 60);
    hour += 0.75;
  }
  const auto keys = [](const char* id, const char* vehicle, double radius_m) {
    return fmt::format("id = \"{}\"\nkind = \"slope-trial\"\ninstrument = \"slope-level\"\npoint = \"S1\"\nvehicle = \"{}\"\noperator = \"AI\"\ntime = \"2026-04-17T08:30\"\n"
                       "lane = \"S1\"\nrolling_radius = \"{:g} m\"\nzero_slip = \"towed on hard ground\"\n", id, vehicle, radius_m);
  };
  field.add_record("records/in_turn_dunlin.csv", head + tyres, keys("in-turn-dunlin", "dunlin", kTyresForedune.radius_m));
  field.add_record("records/in_turn_dunlin_lugs.csv", head + lugs, keys("in-turn-dunlin-lugs", "dunlin-lugs", kLugsForedune.radius_m));
}

// Across the face of the foredune, downhill on the left, up to where the spotter calls it off.
void across_trials(Field& field, const Vehicle& v) {
  Dice dice = field.dice("across");
  constexpr double kCalledOff_deg = 21;
  std::string text = std::string(kSaysInvented) + "Trial,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Heading (deg),Drift (deg),Start,Length (m),Outcome,Why stopped,Remark\n";
  int number = 0;
  for (const double slope : {8.0, 11.0, 14.0, 17.0, 19.0, 21.5}) {
    const soil::Soil ground = ground_of(field.point("S1"), kForedunePlates, kForeduneShear, std::exp(dice.normal(kForedunePlates.push_sd)));
    hardpan::base::Problems problems;
    const auto machine = p::make_turning_machine(v, ground, kGravity, soil::SlipSinkage::stretch, {.key = "across"}, problems);
    if (!machine) throw std::logic_error("the vehicle does not drive across this ground");
    const p::TurnState s = p::StraightOnSlopes(*machine, 0.5 * std::numbers::pi).at(slope * std::numbers::pi / 180);
    const double drift = std::abs(s.drift_rad) * 180 / std::numbers::pi, drift_error = dice.normal(0.3);
    std::string angles;
    for (int k = 0; k < 3; ++k) angles += fmt::format("{:.1f},", rounded(slope + dice.normal(0.2), 0.1));
    const bool called_off = slope > kCalledOff_deg;
    text += fmt::format("W{},{}{:.0f},", ++number, angles, rounded(90 + dice.normal(2), 1));
    if (called_off) text += ",standing,0,no-go,tip-over caution,upper rear wheel light\n";
    else if (!s.balanced()) text += ",standing,0.5,no-go,no progress,slides down as it drives\n";
    else if (drift > 10) text += fmt::format("{:.0f},standing,4,no-go,drift,off the flags\n", drift + drift_error);
    else text += fmt::format("{:.1f},standing,15,go,,\n", std::max(0.0, rounded(drift + drift_error, 0.5)));
  }
  field.add_record("records/across_foredune.csv", text,
                   "id = \"across-foredune\"\nkind = \"slope-trial\"\ninstrument = \"slope-level\"\npoint = \"S1\"\nvehicle = \"dunlin\"\noperator = \"BT\"\n"
                   "time = \"2026-04-17T15:00\"\n");
}

}  // namespace

void simulate_trials(Field& field, const std::string& vehicle_path) {
  hardpan::base::Problems problems;
  const auto dunlin = hardpan::formats::read_vehicle(vehicle_path, vehicle_path, kGravity, problems);
  if (!dunlin || problems.refused()) throw std::logic_error("the vehicle is refused: " + vehicle_path);
  step_tries(field, *dunlin);
  turn_runs(field, *dunlin);
  remote_runs(field, *dunlin);
  climbs_in_turn(field);
  across_trials(field, *dunlin);
}

}  // namespace fieldsim
