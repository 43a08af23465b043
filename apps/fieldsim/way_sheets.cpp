// SPDX-License-Identifier: Apache-2.0
// Sheets of runs over the ways of the campaign: tries at the tide's cut, the trip to the far nest, straight runs over the shingle, the rutted track at rising
// speed. As in trial_sheets.cpp, what happens is computed with Hardpan's model from the true ground and numbers, and cannot show that the model is right.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include <fmt/format.h>

#include "fieldsim/field.hpp"
#include "formats/vehicle_file.hpp"
#include "performance/boulder_field.hpp"
#include "performance/crossing.hpp"
#include "performance/endurance.hpp"
#include "performance/roughness.hpp"

namespace fieldsim {
namespace {

namespace p = hardpan::performance;
namespace soil = hardpan::soil;
using hardpan::vehicle::Vehicle;

void tries_at_the_cut(Field& field, const Vehicle& v) {
  Dice dice = field.dice("tries at the cut");
  std::string text = std::string(kSaysInvented) + "Try,Obstacle,Approach,Outcome,Friction,Remark\n";
  hardpan::base::Problems problems;
  std::vector<p::ProfilePoint> points;
  for (const auto& [x, z] : kTideCut) points.push_back({x, z});
  const auto profile = p::Profile::from_points(points, {.key = "tide-cut"}, problems);
  const auto side = p::profile_vehicle(v, kGravity);
  if (!profile || !side) throw std::logic_error("the cut has no profile or the vehicle none");
  int number = 0;
  for (int k = 0; k < 4; ++k) {
    const double friction = kCutFriction * std::exp(dice.normal(kCutFriction_sd));
    const p::Crossing c = p::cross(*side, *profile, {.friction = friction, .descents_held = false});
    if (!c.solve.converged()) throw std::logic_error("a try at the cut has no answer");
    text += fmt::format("C{},tide-cut,slow,{},{:.2f},{}\n", ++number, c.passes ? "over" : "stopped", friction + dice.normal(0.015), c.passes ? "" : "front wheels dig at the far side");
  }
  field.add_record("records/tries_cut.csv", text,
                   "id = \"tries-cut\"\nkind = \"obstacle-trial\"\ninstrument = \"tape\"\npoint = \"S1\"\nvehicle = \"dunlin\"\noperator = \"AI\"\n"
                   "time = \"2026-04-17T10:00\"\n");
}

soil::Soil typical(const PlateTruth& plate, const ShearTruth& shear, double factor) {
  soil::Soil s;
  s.bearing = soil::bekker(plate.n, plate.kc_n * factor, plate.kphi_n * factor);
  s.shear = soil::Shear{.cohesion_pa = shear.cohesion_pa, .tan_phi = std::tan(shear.phi_deg * std::numbers::pi / 180), .shear_modulus_m = shear.modulus_m};
  return s;
}

void trips(Field& field, const Vehicle& v) {
  Dice dice = field.dice("trips");
  std::string text = std::string(kSaysInvented) + "Run,Outcome,Distance (m),Energy (Wh),Time taken (min),Remark\n";
  std::vector<p::TripRow> rows;
  for (const Stretch& s : kFarNest) {
    rows.push_back({.name = s.name, .distance_m = s.distance_m, .gradient_rad = s.gradient_deg * std::numbers::pi / 180, .speed_m_s = s.speed_m_s, .halt_s = 60 * s.halt_min,
                    .ground = std::string(s.zone) == "marsh" ? std::size_t{1} : std::size_t{0}});
  }
  rows = p::there_and_back(std::move(rows));
  for (int k = 0; k < 4; ++k) {
    std::vector<p::OnSoil> grounds;
    for (const auto& [plate, shear] : {std::pair{kForedunePlates, kForeduneShear}, std::pair{kMarshPlates, kMarshShear}}) {
      hardpan::base::Problems problems;
      const auto on = p::on_soil(v, typical(plate, shear, std::exp(dice.normal(plate.push_sd))), kGravity, soil::SlipSinkage::stretch, {.key = "trip"}, problems);
      if (!on) throw std::logic_error("the vehicle does not stand on the ground of the trip");
      grounds.push_back(*on);
    }
    const p::Trip trip = p::drive(rows, grounds, v, {.usable_j = kBattery_j * kColdShare, .reserve_ratio = 0.2});
    if (!trip.arrives()) throw std::logic_error("the trip to the far nest does not arrive");
    const double energy_wh = trip.energy_j / 3600 * std::exp(dice.normal(kTripEnergy_sd)), minutes = trip.time_s / 60 * std::exp(0.01 + dice.normal(0.015));
    text += k == 2 ? fmt::format("F{},stopped,{:.0f},,,rain: back by the boardwalk\n", k + 1, rounded(1150 + dice.normal(20), 10)) : fmt::format("F{},arrived,,{:.0f},{:.0f},\n", k + 1, energy_wh, minutes);
  }
  field.add_record("records/trips_far_nest.csv", text,
                   "id = \"trips-far-nest\"\nkind = \"trip-run\"\npoint = \"L0\"\nvehicle = \"dunlin\"\noperator = \"BT\"\ntime = \"2026-04-18T09:00\"\ntrip = \"the far nest and back\"\n");
}

void runs_among_rocks(Field& field, const Vehicle& v) {
  Dice dice = field.dice("runs among rocks");
  constexpr double kLength_m = 50;
  std::string text = std::string(kSaysInvented) + "Run,Outcome,Distance (m),Remark\n";
  const auto side = p::profile_vehicle(v, kGravity);
  const auto law = p::RockLaw::by_coverage(kShingleCoverage);
  if (!side || !law) throw std::logic_error("the shingle has no rocks");
  const p::Swath swath = p::make_swath(v, p::highest_step(*side, {.friction = kShingleFriction, .descents_held = false}, {}).passes_m);
  const double per_m = p::hits_per_metre(*law, swath, {.smallest_m = 0.1});
  for (int k = 0; k < 8; ++k) {
    const double clear_m = -std::log(dice.uniform(1e-9, 1)) / per_m;
    text += clear_m >= kLength_m ? fmt::format("B{},clear,{:g},\n", k + 1, kLength_m) : fmt::format("B{},wheel stopped,{:.1f},backed off and round\n", k + 1, std::max(0.5, rounded(clear_m, 0.5)));
  }
  field.add_record("records/rocks_shingle.csv", text,
                   "id = \"rocks-shingle\"\nkind = \"rock-run\"\ninstrument = \"tape\"\npoint = \"C1\"\nvehicle = \"dunlin\"\noperator = \"AI\"\ntime = \"2026-04-18T13:00\"\nrocks = \"shingle ridge\"\n");
}

void rutted_track(Field& field, const Vehicle& v) {
  Dice dice = field.dice("rutted track");
  std::string text = std::string(kSaysInvented) + "Run,Speed (m/s),Outcome,Peak (m/s2),RMS (m/s2),Remark\n";
  hardpan::base::Problems problems;
  const auto model = p::make_ride_vehicle(v, kGravity, {}, {.key = "track"}, problems);
  if (!model) throw std::logic_error("the vehicle is not driven over the track");
  int number = 0;
  for (const double asked : {0.5, 0.8, 0.8, 1.1, 1.1, 1.4, 1.4, 1.7}) {
    const double speed = rounded(asked + dice.normal(0.03), 0.01);
    double peak = 0, rms = 0, share = 0;
    for (const auto& [length_m, amplitude_m] : kTrackWaves) {
      const p::RidePoint at = p::ride_at(*model, p::Wave{.length_m = length_m, .amplitude_m = amplitude_m}, {}, speed);
      peak = std::max(peak, at.peak_m_s2), rms = std::max(rms, at.weighted_rms_m_s2), share = std::max(share, at.load_share);
    }
    const bool lifted = share * std::exp(dice.normal(0.05)) > 1;
    const double shaken = kTrackShaking * std::exp(dice.normal(kTrackShaking_sd));
    text += fmt::format("T{},{:.2f},{},{:.2f},{:.2f},{}\n", ++number, speed, lifted ? "wheel lifted" : "held", peak * shaken, rms * shaken, lifted ? "front left in the air over the long wave" : "");
  }
  field.add_record("records/rough_track.csv", text,
                   "id = \"rough-track\"\nkind = \"rough-run\"\npoint = \"L0\"\nvehicle = \"dunlin\"\noperator = \"BT\"\ntime = \"2026-04-18T16:00\"\nride = \"rutted track\"\n");
}

}  // namespace

void simulate_ways(Field& field, const std::string& vehicle_path) {
  hardpan::base::Problems problems;
  const auto dunlin = hardpan::formats::read_vehicle(vehicle_path, vehicle_path, kGravity, problems);
  if (!dunlin || problems.refused()) throw std::logic_error("the vehicle is refused: " + vehicle_path);
  tries_at_the_cut(field, *dunlin);
  trips(field, *dunlin);
  runs_among_rocks(field, *dunlin);
  rutted_track(field, *dunlin);
}

}  // namespace fieldsim
