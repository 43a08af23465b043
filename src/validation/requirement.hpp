// SPDX-License-Identifier: Apache-2.0
// What must be shown about a vehicle, as a value: one quantity, one threshold, the ground and the
// condition it holds for, two numbers for the required probability and confidence, and how it is shown.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::validation {

enum class Quantity {
  maximum_gradient,           // rad, up, at the working slip
  maximum_gradient_down,      // rad, positive: steepest descent the brakes hold
  drawbar_pull,               // N at the stated gradient and slip
  pull_coefficient,           // pull over normal load, at the stated slip
  slip,                       // ratio at the stated gradient, no hitch pull
  sinkage,                    // m, deepest wheel, at the stated gradient
  motion_resistance_coefficient,
  torque_per_wheel,           // N m, most loaded drive, at the stated gradient
  energy_per_metre,           // J/m from the battery, at the stated gradient
  speed,                      // m/s, by power and speed limit, at the stated gradient
  nominal_ground_pressure,    // Pa, W / (n b r)
  friction_margin,            // friction at the obstacle named less the least that crosses it
  highest_step,               // m, up, met slowly, at the friction of the zone's ground or the one stated
  widest_gap,                 // m, likewise, without ground within reach
  turning_radius,             // m, smallest steady slow turn on the zone's ground, of the vehicle's centre plane
  gradient_on_heading,        // rad, steepest slope travelled straight on the stated heading, up to the working slip and drift
  tip_angle,                  // rad, working tip limit of the direction that tips first; of the vehicle file alone
  remote_speed,               // m/s, through the campaign's link on the zone's ground
  rough_ground_speed,         // m/s, at which wheels leave the rough ground of the zone or a stated bound is passed
  trip_distance,              // m, how far the drive profile named is driven
  clear_run                   // chance that a run over the rocks named meets none that stops it
};
[[nodiscard]] const char* name(Quantity quantity);            // as typed in requirements.toml
[[nodiscard]] std::optional<Quantity> quantity_by_name(const std::string& text);
[[nodiscard]] const std::vector<std::string>& quantity_names();  // as written in requirements.toml
[[nodiscard]] const char* si_unit(Quantity quantity);         // "rad", "N", ...

[[nodiscard]] bool of_obstacles(Quantity quantity);           // a margin, a step or a gap
[[nodiscard]] bool of_answers(Quantity quantity);             // judged on what the campaign's other questions answer: tip angle to clear run

enum class Sense { at_least, at_most };
enum class Method { test, analysis, inspection, demonstration };
[[nodiscard]] const char* name(Method method);

struct Requirement {
  std::string id;
  std::string text;
  Quantity quantity = Quantity::maximum_gradient;
  Sense sense = Sense::at_least;
  double threshold_si = 0;
  std::string vehicle;        // vehicle id
  std::string zone;           // zone id; empty only for what needs no ground
  std::string condition;      // condition id, may be empty
  std::optional<double> gradient_rad;
  std::optional<double> slip_ratio;
  std::string obstacle;       // id of the campaign's [[obstacle]], of a friction margin
  std::string trip, rocks;    // names of the campaign's [[endurance]] and [[boulders]]
  std::optional<double> heading_rad;     // of a gradient on a heading: left of straight uphill
  std::optional<double> friction_ratio;  // of wheels on the step or gap; the zone's ground gives it where absent
  double probability = 0.9;   // share of next points met that must satisfy the threshold
  double confidence = 0.9;    // in that share
  bool probability_stated = false;
  Method method = Method::analysis;
  base::Place place;          // where it was written
};

}  // namespace hardpan::validation
