// SPDX-License-Identifier: Apache-2.0
// What a user may choose in the reduction of ground records, and the parameter every table prints.
//
//   GroundSettings settings{.estimator = PlateEstimator::log_log, .cleaning = false};
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "soil/soil.hpp"
#include "units/print.hpp"

namespace hardpan::records {

enum class PlateEstimator {
  joint,       // all plates and points at once, relative error in p, robust weights, points as blocks
  two_step,    // per-plate log-log fit weighted with p^2, common n, moduli refitted (Wong 1980)
  log_log,     // ordinary least squares on logarithms: what a spreadsheet's trend line gives
  unweighted   // least squares on pressure itself
};
[[nodiscard]] const char* name(PlateEstimator estimator);

// Which part of a layered push the zone's soil describes.
enum class LayerChoice {
  weaker,  // below a broken crust, or above a firm layer: the part that lets a wheel in deeper
  both,    // a break of slope: the law above it and the exponent below; a crust: as weaker
  refuse   // no soil where a break is found
};
[[nodiscard]] const char* name(LayerChoice choice);

struct GroundSettings {
  PlateEstimator estimator = PlateEstimator::joint;  // whose numbers become the zone's soil
  // The estimator printed beside `joint` and `two_step` in every zone.
  PlateEstimator beside = PlateEstimator::log_log;
  bool cleaning = true;  // false: rows as they stand, no contact search, no loops set apart, no frame correction
  std::optional<soil::PressureLaw> law;  // empty: chosen by leaving one point out
  // Fit window on sinkage after correction, both ends included. Empty: all that is kept.
  std::optional<double> window_from_m, window_to_m;
  // Error of one reading: variance = (relative p)^2 + absolute^2.
  double relative_error = 0.05;
  std::optional<double> absolute_error_pa;  // empty: noise of the zero stretch of each push, printed
  // Contact offset of a push, one standard deviation; 0 switches the offset off. 0.3 mm is about a
  // grain of coarse sand. The offset is fitted where the shallowest kept reading would move by
  // more than 2 % of its pressure.
  double contact_offset_sd_m = 0.0003;
  LayerChoice layer = LayerChoice::weaker;
  std::map<std::string, LayerChoice> layer_by_zone;  // where it differs
  std::optional<double> shear_window_to_m;  // largest shear displacement used; empty: all
  // Edges of the cone layers, rising: 6 inch layers rounded to metric.
  std::vector<double> cone_layer_edges_m = {0.0, 0.15, 0.30, 0.45};
  std::uint64_t seed = 1;
  std::size_t bootstrap_count = 1999;
  // Where a trend is shown at the reference point, pushes of its zone are brought to the middle of the day.
  bool correct_drift = true;
  // Half-width of an interval, relative to the value, that the advice aims at.
  double advice_target_relative = 0.10;
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values inside statements; results are SI
};

// One printed number with everything that must stand beside it.
struct Parameter {
  std::string key;      // "n", "kc", "kphi", "c", "tan_phi", "K", "p"
  std::string meaning;  // "pressure at 50 mm on b = 75 mm"
  std::string unit;     // SI: "Pa", "N/m^(n+2) with n = 0.912", "1"
  math::Estimate estimate;  // soil scatter and instrument together
  std::optional<math::Interval> average_soil_only;  // scatter between points alone
  std::optional<math::Interval> bootstrap;          // average ground, wild bootstrap over points
  std::optional<double> instrument_sd;              // in the unit; does not shrink with more points
  std::optional<double> at_depth_m, at_width_m;     // of a pressure
  // Estimator, window, width convention and counts in words.
  std::string basis;
};

}  // namespace hardpan::records
