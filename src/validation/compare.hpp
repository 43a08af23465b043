// SPDX-License-Identifier: Apache-2.0
// Prediction set against measurement: every pull window, sinkage and torque reading, resistance test
// and bracketed gradient, at its own slip, gradient and weight, the slip converted to the model's radius.
//
// The run is the unit of scatter. A bias is claimed only where its 95 % interval over runs, widened by the calibration
// that all runs share, excludes zero; otherwise "not shown by n runs". A discrepancy of shape is named where the difference between slip
// bands remains for every possible soil: then no soil parameter can mend it. docs/theory/validation.md.
//
//   const Comparison c = compare_pull(placed, drawbar, "dunlin", "foredune");
//   if (c.bias_claimed) say(c.statement);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/prediction.hpp"
#include "records/drawbar.hpp"
#include "units/print.hpp"

namespace hardpan::validation {

struct ComparedReading {
  std::string file, id, run;
  std::size_t line = 0;
  double slip_ratio = 0;                     // told with the model's radius
  double gradient_rad = 0;
  double measured = 0, measured_se = 0;      // se: of the reading, its instrument's calibration included
  double gain_relative_sd = 0;               // of the instrument that all runs share
  double predicted = 0;                      // best-estimate soil
  std::optional<math::Interval> average_ground, next_point;  // of the prediction, measurement error added
  bool inside = false;                       // measured inside next_point
};

struct SlipBand {
  double lo = 0, hi = 0;
  std::size_t readings = 0, runs = 0;
  math::Estimate difference;                 // measured minus predicted, over runs
  bool claimed = false;                      // interval excludes zero
};

struct ShapeDiscrepancy {
  bool shown = false;
  double low_band_hi = 0, high_band_lo = 0;  // slips compared
  double difference = 0;                     // (measured - predicted) at high slip minus at low slip, best-estimate soil
  math::Interval over_possible_soils;        // the same over all possible soils, run scatter added
  std::size_t runs = 0;                      // 0: too little to look for it
  std::string statement;                     // shape_statement, empty without runs
};

struct Comparison {
  std::string quantity, unit_si;             // "pull coefficient", "sinkage", "torque of all driven wheels" ...
  std::string vehicle, zone;
  std::vector<ComparedReading> readings;
  std::size_t runs = 0;
  std::size_t inside = 0;                    // readings inside next_point
  // Limits of the share inside, runs as sample size; a run counts by its own share of readings inside.
  std::optional<math::Interval> coverage;
  std::size_t without_prediction = 0;        // readings at which the best-estimate soil does not carry the vehicle
  std::size_t set_aside = 0;                 // readings that are no measure: slip over 95 %, load cell at its end
  std::size_t without_slip = 0;              // first-pass ruts that no slip was told for: there is no prediction to set beside
  std::optional<math::Interval> towed_slip;  // of the towed runs of this vehicle here, where some rut has none
  math::Estimate bias;                       // measured minus predicted over runs
  bool bias_claimed = false;
  std::vector<SlipBand> bands;
  ShapeDiscrepancy shape;
  std::string note;                          // what the readings are, where the statement must say it
  std::string statement;                     // statement_of(*this, OutputUnits::si)
};

// One or two sentences for the report, values in the units it prints.
[[nodiscard]] std::string statement_of(const Comparison& comparison, units::OutputUnits units);
[[nodiscard]] std::string shape_statement(const Comparison& comparison, units::OutputUnits units);

[[nodiscard]] Comparison compare_pull(const performance::Placed& placed, const records::DrawbarResult& drawbar);
[[nodiscard]] Comparison compare_torque(const performance::Placed& placed, const records::DrawbarResult& drawbar);
[[nodiscard]] Comparison compare_sinkage(const performance::Placed& placed, const records::DrawbarResult& drawbar);
[[nodiscard]] Comparison compare_resistance(const performance::Placed& placed, const performance::Outcome& towed,
                                            const records::DrawbarResult& drawbar);

struct GradientComparison {
  std::string vehicle, zone;
  records::AngleBracket bracket;
  math::Estimate predicted_rad;              // maximum over slip: where a trial stops
  math::Estimate predicted_working_rad;
  bool judged = false;                       // some trial is a bound; false: nothing to compare with
  bool bracketed = false;                    // both a go and a no-go were met
  bool consistent = false;                   // next-point interval and bracket (or bound) overlap
  std::string statement;
};
[[nodiscard]] std::vector<GradientComparison> compare_gradients(const performance::Prediction& prediction,
                                                                const records::DrawbarResult& drawbar);

}  // namespace hardpan::validation
