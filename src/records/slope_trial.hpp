// SPDX-License-Identifier: Apache-2.0
// Slope trials to a bracketed limit: every trial says where the limit cannot be, none says where it is.
//
// A go at 18 degrees and a no-go at 20 bracket the limit; repeats that disagree give a curve of the
// chance of a go. Aborted and sled-limited runs stay in as bounds; assisted ones are set aside by name.
// The angle is that of the slope along the travel, positive also for trials driven downhill.
//
// Trials with a heading across or oblique to the fall line form groups of their own, by heading; there the angle is that of the ground on its fall
// line. A trial that a heading of 7.5 degrees or less parts from straight up or down is one of those. A run stopped for fear of tipping bounds nothing
// above: caution stopped it, not the ground.
//
//   SlopeLimits up = reduce_slope_trials(trials, {}, problems).front();
//   if (up.bracket.no_go_rad) say(up.bracket.go_rad, *up.bracket.no_go_rad);
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/problems.hpp"
#include "base/solve.hpp"
#include "math/estimate.hpp"
#include "records/vehicle_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

enum class ChanceCurve { probit, logistic };
[[nodiscard]] const char* name(ChanceCurve curve);

struct SlopeTrialSettings {
  ChanceCurve curve = ChanceCurve::probit;
  double level = math::kIntervalLevel;
  double weight_class_relative = 0.05;  // trials within this share of weight form one group
  double heading_class_rad = 0.1309;    // 7.5 degrees: headings this close to the first of a group, or to straight up or down, count as one
  double angle_class_rad = 0.0175;      // 1 degree: trials this close count as one tested angle
  double high_chance = 0.9;             // "the angle climbed 9 times of 10"
  double confidence = 0.9;              // for the demonstrated reliability
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values inside statements; results are SI
};

// How a trial across or oblique ended, told by the first words of its reason.
enum class HeadingEnd { not_told, no_progress, drift, tip_over };
[[nodiscard]] const char* name(HeadingEnd end);
[[nodiscard]] HeadingEnd heading_end(const std::string& why);  // "no progress", "drift", "tip-over caution"

// What one trial says about the limit of its own condition: at_least and below are bounds; either says nothing
// beyond having happened (aborted before anything was climbed) and stays listed; set_aside is not used, and says why.
// A run aborted after climbing some length is at_least for the bracket only: in the probability curve it is undecided,
// because a driver may stop a run that is about to fail.
enum class TrialBound { at_least, below, either, set_aside };
[[nodiscard]] const char* name(TrialBound bound);

struct TrialReading {
  std::string file;
  std::size_t line = 0;
  std::string id, run, condition;
  double angle_rad = 0;                 // mean over the places measured
  std::optional<double> angle_sd_rad;   // over the places; absent for one place
  double steepest_rad = 0;
  std::size_t places = 0;
  TrialOutcome outcome = TrialOutcome::go;
  TrialBound bound = TrialBound::either;
  std::string why;                      // "assisted", "aborted: driver", reason of a no-go
  std::optional<double> slip_ratio, sinkage_m, length_climbed_m;
  std::optional<double> heading_rad, drift_rad;
};

// Trials at one tested angle (within the class width).
struct TestedAngle {
  double angle_rad = 0;
  std::size_t go = 0, no_go = 0, sled_limited = 0, aborted = 0;
  std::optional<math::Interval> chance_of_go;        // Clopper and Pearson, of go + no_go
  std::optional<double> demonstrated_reliability;    // at the stated confidence, no abort counted as go
};

struct AngleBracket {
  std::optional<double> go_rad;         // steepest angle up to which no trial failed
  std::optional<double> no_go_rad;      // least angle with a no-go
  std::optional<double> steepest_go_rad;  // may lie above no_go_rad: then the outcomes overlap
  std::optional<double> at_least_rad;   // steepest lower bound of aborted and sled-limited runs
  bool overlap = false;
  std::string text;                     // one sentence for the report
};

struct SlopeLimits {
  std::string vehicle, zone;
  double weight_n = 0;                  // mean of the group
  bool downhill = false, rolling_start = false;
  std::optional<double> heading_rad;    // mean of the group; absent: straight up or down
  std::vector<std::pair<HeadingEnd, std::size_t>> ended;  // of no-goes of such a group
  std::optional<double> largest_drift_rad;                // of its goes that tell one
  std::vector<TrialReading> trials;     // all of them, with what each was taken for
  std::vector<TestedAngle> angles;
  AngleBracket bracket;
  std::string population;               // what a probability here is taken over
  // Chance of a go = F((m - angle) / sigma). Absent where outcomes do not overlap (sigma is not identified).
  std::optional<ChanceCurve> curve_used;
  base::SolveReport solve;
  std::optional<math::Estimate> median_rad;          // m, profile likelihood interval in average_ground
  std::optional<math::Estimate> high_chance_rad;     // angle with the stated high chance
  std::optional<double> sigma_rad;
  // The same m with every undecided run counted as a go, then as a no-go.
  std::optional<math::Interval> median_if_undecided_rad;
  std::string curve_note;               // why there is no curve, or what limits it
};

// "32 deg left of straight uphill", "across, downhill on the left"
[[nodiscard]] std::string heading_words(double heading_rad);

// One entry a group (vehicle, zone, weight class, uphill or downhill or heading, standing or rolling start).
[[nodiscard]] std::vector<SlopeLimits> reduce_slope_trials(const std::vector<SlopeTrial>& trials,
                                                           const SlopeTrialSettings& settings,
                                                           base::Problems& problems);

}  // namespace hardpan::records
