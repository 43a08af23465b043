// SPDX-License-Identifier: Apache-2.0
// Power laws through plate pushes: one push alone, and all pushes of a zone at once.
//
// For one push the three classical answers differ on the same numbers and carry different units;
// a modulus is never compared between two n. See docs/theory/ground.md, equations (7) to (15).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/solve.hpp"
#include "records/ground_settings.hpp"
#include "records/plate_curve.hpp"

namespace hardpan::records {

// p = k z^n of one push. k in Pa/m^n.
struct PowerFit {
  double k = 0, n = 0;
  double rms_pa = 0;        // of the residuals in pressure
  std::size_t readings = 0;
  base::SolveReport report;
  std::string status;       // "ok" or why there is no fit
  [[nodiscard]] bool ok() const { return status == math::kStatusOk; }
};
// All need positive depths; the logarithmic ones use positive pressures only.
[[nodiscard]] PowerFit fit_log_log(std::span<const double> depth_m, std::span<const double> pressure_pa);
[[nodiscard]] PowerFit fit_log_log_weighted(std::span<const double> depth_m,
                                            std::span<const double> pressure_pa);  // weights p^2
[[nodiscard]] PowerFit fit_unweighted(std::span<const double> depth_m, std::span<const double> pressure_pa);
// The modulus alone at a given n, weights p^2 on logarithms.
[[nodiscard]] PowerFit refit_modulus(std::span<const double> depth_m, std::span<const double> pressure_pa,
                                     double n);

// A law through every push of a zone.
struct PlateFit {
  PlateEstimator estimator = PlateEstimator::joint;
  soil::PressureLaw law = soil::PressureLaw::bekker;
  soil::Bearing bearing;
  double first_width_m = 0, second_width_m = 0;  // equal when one width was tested
  double reference_depth_m = 0;
  double ln_p_first = 0, ln_p_second = 0;        // at the reference depth
  double n = 0;
  double window_from_m = 0, window_to_m = 0;     // depths of the readings used
  double pressure_from_pa = 0, pressure_to_pa = 0;
  std::size_t points = 0, tests = 0, readings = 0;
  double rms_ln_p = 0;       // of ln(p / fit), about each point's own level for `joint`
  double rms_pa = 0;         // of p - fit
  base::SolveReport report;
  std::string basis;         // estimator, window, width convention, counts, in words
  std::string status;        // "ok" or why not
  [[nodiscard]] bool ok() const { return status == math::kStatusOk; }
};

// One relation left out one point at a time.
struct LawScore {
  soil::PressureLaw law = soil::PressureLaw::bekker;
  bool offered = false;
  std::string reason_without;   // why it was not offered
  double rms_ln_p = 0;          // error of prediction at the point left out, root of the mean over points
  double worse_than_best = 0;   // difference of mean squares, and its standard error over points
  double standard_error = 0;
};
struct LawChoice {
  soil::PressureLaw law = soil::PressureLaw::bekker;
  std::vector<LawScore> scores;
  std::string statement;        // how it was chosen, or why no choice was offered
};

}  // namespace hardpan::records
