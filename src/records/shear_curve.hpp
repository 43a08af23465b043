// SPDX-License-Identifier: Apache-2.0
// One shear run made ready: torque or force to shear stress, turn to shear displacement.
//
// Ring: tau = 3 T / (2 pi (ro^3 - ri^3)); j = angle x (3/4)(ro^4 - ri^4)/(ro^3 - ri^3), the
// torque-weighted radius. Plate and box: force over the area at the start, for both stresses, so that
// their ratio is right while a box's overlap shrinks.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/solve.hpp"
#include "records/ground_records.hpp"
#include "records/ground_settings.hpp"
#include "records/plate_curve.hpp"

namespace hardpan::records {

[[nodiscard]] double ring_stress_pa(double torque_n_m, double inner_radius_m, double outer_radius_m);
[[nodiscard]] double ring_area_m2(double inner_radius_m, double outer_radius_m);
[[nodiscard]] double ring_shear_radius_m(double inner_radius_m, double outer_radius_m);  // torque-weighted
// Torque of an exponential law integrated over the ring, for tau_max = 1 Pa.
[[nodiscard]] double ring_unit_torque_m3(double angle_rad, double k_m, double inner_radius_m,
                                         double outer_radius_m);

enum class ShearMark { kept, before_contact, reversed, not_finite, outside_window };
[[nodiscard]] const char* name(ShearMark mark);

struct ShearCurve {
  TestSource source;
  ShearTool tool = ShearTool::ring;
  bool smooth_metal = false;
  double normal_stress_pa = 0;
  double inner_radius_m = 0, outer_radius_m = 0;  // ring only
  std::vector<double> displacement_m, stress_pa;  // all rows
  std::vector<ShearMark> mark;
  std::vector<std::size_t> line;
  std::vector<SetAside> set_aside;
  std::string geometry;  // how stress and displacement were computed, in words
  std::string status;    // "ok" or why the run cannot be used
};
[[nodiscard]] ShearCurve clean_shear(const ShearTest& test, const Instrument* instrument,
                                     const GroundSettings& settings);

struct ShearRunFit {
  soil::ShearLaw law = soil::ShearLaw::exponential;
  double tau_max_pa = 0;       // strength; for peak_residual the parameter of the law
  double shear_modulus_m = 0;  // K or Kw
  double residual_ratio = 1;   // Kr
  double peak_pa = 0, peak_displacement_m = 0;  // true peak of the law (peak_residual, hump)
  double largest_reading_pa = 0;
  double rms_pa = 0;
  bool integrated_torque = false;  // ri/ro < 0.7: the torque itself was fitted
  bool k_not_bracketed = false;    // the record ends before the curve levels off, or rises at once
  std::size_t readings = 0;
  double from_m = 0, to_m = 0;
  base::SolveReport report;
  std::string status;
  [[nodiscard]] bool ok() const { return status == math::kStatusOk; }
};
[[nodiscard]] ShearRunFit fit_exponential(const ShearCurve& curve);
// Does the stress fall behind its largest value by more than its own scatter?
[[nodiscard]] bool shows_a_peak(const ShearCurve& curve);
[[nodiscard]] ShearRunFit fit_peak_residual(const ShearCurve& curve);
[[nodiscard]] ShearRunFit fit_hump(const ShearCurve& curve);

}  // namespace hardpan::records
