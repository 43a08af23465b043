// SPDX-License-Identifier: Apache-2.0
// All shear runs of one zone to c, tan phi and K with their joint covariance.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "records/shear_curve.hpp"
#include "soil/soil.hpp"

namespace hardpan::records {

struct ShearRun {
  std::string test, point;
  double normal_stress_pa = 0;
  std::vector<ShearRunFit> fits;  // exponential first, then others where the data show a peak
  soil::ShearLaw better = soil::ShearLaw::exponential;
  double strength_pa = 0;         // what enters the strength line
  bool flagged = false;
  std::string reason;
};

// tau = c + sigma tan phi.
struct StrengthLine {
  double cohesion_pa = 0, tan_phi = 0;
  std::array<std::array<double, 2>, 2> covariance{};      // of (c, tan phi), sampling
  std::array<std::array<double, 2>, 2> between_points{};  // of one point about the mean
  std::array<std::array<double, 2>, 2> instrument{};
  double dof = 0;
  bool cohesion_at_zero = false;  // the bound is active
  double stress_from_pa = 0, stress_to_pa = 0;
  std::size_t runs = 0, points = 0;
  double residual_relative = 0;   // scatter of runs about the line, relative to it
  std::string method;             // "lines point by point", "runs pooled, scatter between points" ...
  std::string status;
  [[nodiscard]] bool ok() const { return status == math::kStatusOk; }
};

struct ShearZone {
  std::size_t points = 0;
  std::vector<ShearRun> runs;         // soil on soil
  std::vector<ShearRun> metal_runs;   // smooth metal on soil
  StrengthLine soil_line;
  std::optional<StrengthLine> metal_line;
  soil::ShearLaw law = soil::ShearLaw::exponential;
  std::optional<double> shear_modulus_m;  // pooled K (geometric mean)
  double residual_ratio = 1;
  double ln_k_sampling_var = 0, ln_k_between_var = 0, ln_k_instrument_var = 0, ln_k_dof = 0;
  std::array<double, 2> cov_strength_ln_k{}, between_strength_ln_k{};  // with c and tan phi, where points carry all
  std::vector<Parameter> parameters;      // c, tan phi, phi, K, adhesion, tan delta
  std::vector<std::string> not_identified;
  std::vector<std::string> remarks;
  std::string status;
};

[[nodiscard]] ShearZone reduce_shears(const std::vector<const ShearCurve*>& curves,
                                      const std::vector<Instrument>& instruments, const GroundSettings& settings);

}  // namespace hardpan::records
