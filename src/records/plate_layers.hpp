// SPDX-License-Identifier: Apache-2.0
// Crusts, mats and firm layers seen in one push: drops of pressure and breaks of the log slope.
// One power law is not fitted across a break.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "records/ground_settings.hpp"
#include "records/plate_curve.hpp"
#include "units/print.hpp"

namespace hardpan::records {

struct Crust {
  double depth_m = 0;          // of the peak
  double strength_pa = 0;      // pressure at the peak
  double residual_pa = 0;      // least pressure after it
  double lowest_depth_m = 0;   // where that stands
  double recovered_depth_m = 0;  // where the pressure of the peak is reached again; end of record if never
};

struct SlopeBreak {
  double depth_m = 0;
  double slope_above = 0, slope_below = 0;  // d ln p / d ln z
  double misfit_one = 0, misfit_two = 0;    // rms of ln p with one line and with two
  [[nodiscard]] bool firmer_below() const { return slope_below > slope_above; }
};

struct PushLayers {
  std::optional<Crust> crust;
  std::optional<SlopeBreak> slope_break;
};

[[nodiscard]] PushLayers find_layers(const PlateCurve& curve);

// What the pushes of one zone say together.
struct ZoneLayers {
  std::size_t pushes = 0, with_crust = 0, with_break = 0;
  bool crust = false;        // at least half of the pushes and of the points show one
  bool layered = false;      // the same for breaks of slope
  bool firmer_below = false;
  std::optional<math::Estimate> crust_strength_pa, crust_depth_m, break_depth_m, exponent_below;
  std::optional<double> window_from_m, window_to_m;  // the part one law may describe
  std::optional<soil::SecondLayer> below;            // LayerChoice::both
  std::string statement;     // in words; empty when nothing was found
};
[[nodiscard]] ZoneLayers zone_layers(const std::vector<const PlateCurve*>& curves,
                                     const std::vector<PushLayers>& layers, LayerChoice choice = LayerChoice::weaker,
                                     units::OutputUnits units = units::OutputUnits::si);

}  // namespace hardpan::records
