// SPDX-License-Identifier: Apache-2.0
// Values to check an answer by: closed forms and rules of the trade that stand beside the model, each with its
// relation and source. They are crude on purpose; where one disagrees with the answer, ask why before trusting either.
// For the answer itself see prediction.hpp.
//
//   const double p = rowland_mean_maximum_pressure_pa({.weight_n = w, .axles = 2, .wheels = 4, .driven_axles = 2,
//                                                      .width_m = 0.3, .diameter_m = 0.9, .deflection_m = 0.05}).value();
//   for (const SanityValue& v : ground_limits(on, soil, 0.2, {rho, "the predicted towed resistance"})) print(v);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/possible_runs.hpp"

namespace hardpan::performance {

struct SanityValue {
  std::string name;
  double value_si = 0;
  std::string unit;                         // SI
  std::string note;                         // relation and source, or "common practice, no source"
};

// W / (n b r), whatever the sinkage; `area` is the sum of b r over the wheels.
[[nodiscard]] double nominal_pressure_pa(double weight_n, double width_radius_area_m2);
// W tan phi + c A.
[[nodiscard]] double soil_strength_n(double weight_n, const soil::Shear& shear, double contact_area_m2);
// The slope a on which W cos a tan phi + c A equals W sin a + rho W cos a; pi/2 at most.
[[nodiscard]] double gradient_bound_rad(double weight_n, const soil::Shear& shear, double contact_area_m2, double resistance_coefficient);

// Rowland 1975, from memory: K W / (2 n b^0.85 d^1.15 sqrt(delta / d)), n axles of two wheels. K by axles and by how many
// of them are driven; nothing for a pair without a K, for anything but two wheels an axle, or without a deflection.
struct TyresOnGround {
  double weight_n = 0;
  std::size_t axles = 0, wheels = 0, driven_axles = 0;
  double width_m = 0, diameter_m = 0, deflection_m = 0;
};
[[nodiscard]] std::optional<double> rowland_k(std::size_t axles, std::size_t driven_axles);
[[nodiscard]] std::optional<double> rowland_mean_maximum_pressure_pa(const TyresOnGround& tyres);

// Coefficient of motion resistance and where it is from, in words that follow "less".
struct ResistanceUsed {
  double coefficient_ratio = 0;
  std::string words;
};
// Nominal pressure, contact pressure, soil strength and gradient bound on one soil at a slip; what cannot be had is left out.
[[nodiscard]] std::vector<SanityValue> ground_limits(const OnSoil& on, const soil::Soil& soil, double slip_ratio,
                                                     const ResistanceUsed& resistance);
// The same for one wheel under a load; no gradient bound without a resistance.
[[nodiscard]] std::vector<SanityValue> wheel_limits(double load_n, const vehicle::Wheel& wheel, const soil::Soil& soil,
                                                    double contact_length_m, const std::optional<ResistanceUsed>& resistance);

struct SanityOfTyres {
  std::vector<SanityValue> values;
  std::vector<std::string> without;         // what is not given, and why, one sentence each
};
// Rowland's pressure and, where a cone index is known, net pull at 20 % slip from it.
[[nodiscard]] SanityOfTyres tyre_values(const Machine& machine, const vehicle::Vehicle& vehicle,
                                        const std::optional<double>& cone_index_pa);

// Ends of the usual ranges of pull coefficient at 20 % slip and of motion resistance coefficient on ground of this kind,
// with where the prediction lies. Common practice, no source, from memory.
[[nodiscard]] std::vector<SanityValue> usual_ranges(bool loose, double predicted_pull, double predicted_resistance);

}  // namespace hardpan::performance
