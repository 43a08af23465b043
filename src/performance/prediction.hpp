// SPDX-License-Identifier: Apache-2.0
// Everything a reviewer wants to see of one vehicle on one ground in straight travel: curves, gradients,
// limiting factors, what the answer is most sensitive to, what lies under the wheels, and sanity values.
//
//   const Prediction p = predict(*placed, vehicle, ground, {});
//   p.gradient_working.estimate.next_point
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/possible_runs.hpp"
#include "performance/sanity.hpp"

namespace hardpan::performance {

struct PredictionSettings {
  double working_slip = 0.2;
  bool working_slip_stated = false;         // false: 0.2, and said so
  std::vector<double> slips{0.02, 0.05, 0.08, 0.12, 0.16, 0.2, 0.25, 0.3, 0.4, 0.5, 0.65, 0.8};
  std::vector<double> gradients_rad{-0.3491, -0.2618, -0.1745, -0.0873, 0, 0.0436, 0.0873, 0.1309,
                                    0.1745, 0.2182, 0.2618, 0.3054, 0.3491, 0.4363};
  std::vector<double> energy_gradients_rad{-0.0873, 0, 0.0873};
  bool headlines_only = false;              // only what judging a requirement asks for: heading, population, used range
};

// One place on a curve over slip, level ground, lower of with and without slip sinkage.
struct SlipPoint {
  double slip_ratio = 0;
  math::Estimate pull_coefficient, sinkage_m, torque_n_m, efficiency;
};

struct GradientPoint {
  double gradient_rad = 0;
  math::Estimate slip_ratio;
  double immobilised_share = 0;             // of next points
};

struct EnergyPoint {
  double gradient_rad = 0;
  math::Estimate energy_j_per_m, speed_m_s, torque_n_m, sinkage_m, slip_ratio;
};

// How much of a headline interval comes from one part when only that part varies.
struct SensitivityBar {
  std::string quantity;                     // "maximum gradient at the working slip" ...
  std::string part;                         // "soil", "instrument", "model form"
  double centre = 0;
  std::optional<math::Interval> next_point;
};

// What the wheels ask of the soil at the working slip on the level, best-estimate soil: for the guard.
struct UsedRange {
  math::Interval pressure_pa, sinkage_m, normal_stress_pa, shear_travel_m, width_m;
  double slip_ratio = 0;
};

struct Prediction {
  std::string vehicle, zone;
  std::string heading;                      // "textbook soil, not your ground", or empty
  std::string population, reason_without;
  bool textbook = false;
  std::size_t draws = 0, redrawn = 0;
  double working_slip = 0.2;
  bool working_slip_stated = false;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::none;  // rule of the pull beside the one without
  std::vector<SlipPoint> curve;
  std::vector<GradientPoint> slip_on_gradient;
  std::vector<EnergyPoint> energy;
  Outcome gradient_20, gradient_working, gradient_maximum, descent;
  Outcome pull_20, towed_resistance;
  std::vector<SensitivityBar> sensitivity;
  UsedRange used;
  std::vector<SanityValue> sanity;
  std::vector<std::string> notes;           // assumptions and flags, one sentence each
};

// "computed without and with slip sinkage by ...; the lower pull counts"
[[nodiscard]] std::string slip_sinkage_words(const Prediction& prediction);

[[nodiscard]] Prediction predict(const Placed& placed, const vehicle::Vehicle& vehicle, const Ground& ground,
                                 const PredictionSettings& settings);

// Maximum gradient and pull with only one part varying at a time.
[[nodiscard]] std::vector<SensitivityBar> sensitivity_bars(const vehicle::Vehicle& vehicle, const Ground& ground,
                                                           const DrawPlan& plan, double working_slip);

}  // namespace hardpan::performance
