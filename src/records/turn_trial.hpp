// SPDX-License-Identifier: Apache-2.0
// Turn trials to the smallest radius bracketed, and torque against radius with the spread of repeats.
//
// A stall and a slide say that the radius is too small, a turn held says that it is not; a turn broken off decides nothing. Radii are kept as measured, to the path
// they were measured to: only the vehicle's geometry turns them into another, and that belongs to the comparison.
//
//   for (const TurnLimits& t : reduce_turns(turns, {}, problems)) say(t.text);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "math/estimate.hpp"
#include "records/bracket.hpp"
#include "records/trial_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

struct TurnTrialSettings {
  double level = math::kIntervalLevel;
  double weight_class_relative = 0.05;   // turns within this share of weight form one group, as slope trials do
  double gradient_class_rad = 0.0175;    // 1 degree, likewise
  double radius_class_relative = 0.05;   // radii this close are repeats of one: a ring taped by hand is hardly better
  units::OutputUnits output_units = units::OutputUnits::si;
};

struct TurnReading {
  std::string file;
  std::size_t line = 0;
  std::string id, run, remark, condition;
  double radius_m = 0;
  bool radius_measured = false;
  TurnOutcome outcome = TurnOutcome::turned;
  TrialBound bound = TrialBound::either;
  std::optional<double> speed_m_per_s, torque_n_m, power_w;
  std::optional<double> clock_s;
};

// Turns held at one radius; n counts turns.
struct TorqueAtRadius {
  double radius_m = 0;                   // mean
  std::size_t turns = 0;
  std::optional<math::Estimate> torque_n_m, power_w, work_j_per_m;  // work: power over speed, along what the radius is measured to
  std::optional<double> speed_m_per_s;   // mean
};

struct TurnLimits {
  std::string vehicle, zone;
  double weight_n = 0;                   // mean of the group
  double gradient_rad = 0;               // likewise
  RingPath path = RingPath::outer_wheel;
  bool right = false;
  std::vector<TurnReading> turns;        // all of them, with what each was taken for
  std::vector<TestedSize> radii;
  SizeBracket bracket;                   // smaller is harder
  std::string text;
  std::vector<TorqueAtRadius> torque;    // radius rising; turns held that carry a torque or a power
  bool power_at_axles = false;           // every power of the group was measured there
  std::optional<double> speed_m_per_s;   // mean over the turns that tell one
  std::vector<std::pair<TurnOutcome, std::size_t>> ended;  // at the largest radius that failed, the most frequent first
};

// One entry a group (vehicle, zone, weight class, gradient class, side, path measured).
[[nodiscard]] std::vector<TurnLimits> reduce_turns(const std::vector<TurnRun>& turns, const TurnTrialSettings& settings, base::Problems& problems);

}  // namespace hardpan::records
