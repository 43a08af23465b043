// SPDX-License-Identifier: Apache-2.0
// Soil and model form of one vehicle on one zone updated by its own tests: the bench tests are the prior, the
// records the user names teach, every other vehicle record is held out and alone may confirm the result.
//
// What is updated: the coordinates of a possible soil (soil/possible_soils.hpp), c1, c2, K of the wheel over K
// of the ring and, where the zone sinks by the exponent rule, n1. Each draw of the possible soils is carried over to
// the posterior, so draw k after is draw k before seen again, joint in soil and model form. A run of which any reading teaches
// is never held out. A discrepancy of shape among the teaching runs is given a level and a tilt of its
// own, so that it widens the posterior instead of moving the soil. docs/theory/validation.md, "Learning".
//
//   const Taught t = learn({.vehicle = &v, .ground = &ground, .before = &placed, .drawbar = &drawbar}, {{"tow-03", "tow_03.csv"}});
//   if (t.after) predict_again(*t.after); say(t.learning.statement);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/solve.hpp"
#include "math/estimate.hpp"
#include "performance/possible_runs.hpp"
#include "records/drawbar.hpp"
#include "validation/compare.hpp"
#include "validation/posterior.hpp"

namespace hardpan::validation {

inline constexpr double kShiftFlagged = 2;   // prior standard deviations: beyond it prior and tests disagree
inline constexpr double kDisagreementFlagged = 0.01;  // chance of as large a joint shift where they agree

// A record that teaches; readings that carry no id are known by their file.
struct TeachingRecord {
  std::string id, file;
};

struct TaughtParameter {
  std::string name;                         // lengths in SI, as the tables have them; said_name() in any unit
  std::string unit_si;                      // "1" for a bare number
  double before = 0, after = 0;             // centres: of the prior, most probable (see at_edge)
  std::optional<math::Interval> before_95, after_95;  // average ground, from the draws
  double shift_sd = 0;                      // (after - before) / standard deviation of the prior
  double spread_ratio = 1;                  // standard deviation after over before
  bool at_edge = false;                     // the tests push it beyond what is possible: `after` is the draws' median
  bool flagged = false;                     // |shift_sd| above kShiftFlagged
  std::optional<double> at_depth_m, at_width_m;  // of a pressure
};
// "pressure at 3.71 in, width 2.95 in"
[[nodiscard]] std::string said_name(const TaughtParameter& parameter, units::OutputUnits units);

// Scatter of the teaching runs of one quantity about the model.
struct TaughtQuantity {
  std::string quantity, unit_si;
  RunScatter scatter;
};

// One quantity on runs that did not teach, by the prior and by the posterior.
struct HeldOut {
  std::string quantity, unit_si;
  std::size_t runs = 0, readings = 0;
  math::Estimate bias_before, bias_after;   // measured minus predicted, over runs
  bool bias_claimed_before = false, bias_claimed_after = false;
  std::size_t inside_before = 0, inside_after = 0;       // readings inside their next-point interval
  double width_before = 0, width_after = 0;              // mean width of that interval
  std::optional<math::Interval> coverage_before, coverage_after;
};

enum class LearningStatus {
  nothing_teaches,   // none of the records named has a usable reading of this vehicle on this zone
  no_update,         // it was tried and gave no numerical answer, or there are no possible soils
  updated
};
[[nodiscard]] const char* name(LearningStatus status);

struct Learning {
  std::string vehicle, zone;
  LearningStatus status = LearningStatus::nothing_teaches;
  std::vector<std::string> records;         // that teach here
  base::SolveReport report;
  int rounds = 0;
  std::size_t readings = 0, runs = 0;       // that teach
  double effective_runs = 0;                // of the pull, or of the first quantity there is
  double directions_taught = 0;
  double disagreement = 1;                  // Posterior::disagreement
  std::size_t redrawn = 0;                  // draws that left the possible soils and were replaced
  std::vector<TaughtParameter> parameters;
  std::vector<TaughtQuantity> quantities;
  ShapeDiscrepancy shape;                   // of the teaching runs against the prior
  bool shape_carried = false;               // it was given a level and a tilt of its own
  std::vector<HeldOut> held_out;
  std::size_t held_out_runs = 0;
  bool validated = false;                   // held-out runs exist and do not contradict the update
  bool contradicted = false;                // their bias is claimed, or too few lie inside
  math::Estimate gradient_before, gradient_after;  // maximum gradient at the working slip [rad]
  std::vector<std::string> remarks;
  std::string statement;                    // one to four sentences for the report
};

struct Taught {
  Learning learning;
  std::optional<performance::Placed> after;      // to predict from; when updated
  std::optional<Comparison> pull_held_out;       // held-out runs against the updated prediction
};

struct LearnFrom {
  const vehicle::Vehicle* vehicle = nullptr;
  const performance::Ground* ground = nullptr;
  const performance::Placed* before = nullptr;
  const records::DrawbarResult* drawbar = nullptr;
  const math::Estimate* gradient_before = nullptr;  // maximum gradient at the working slip; null: computed
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values in the statement
};

[[nodiscard]] Taught learn(const LearnFrom& from, const std::vector<TeachingRecord>& records);

}  // namespace hardpan::validation
