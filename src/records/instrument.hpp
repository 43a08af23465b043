// SPDX-License-Identifier: Apache-2.0
// An instrument as it was taken to the field: geometry, what it can read, how far to trust it.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace hardpan::records {

enum class PlateShape { circle, rectangle };

struct Plate {
  std::string id;                 // "small", "large": what the records call it
  PlateShape shape = PlateShape::circle;
  double radius_m = 0;            // circle
  double short_side_m = 0;        // rectangle
  double long_side_m = 0;
  [[nodiscard]] double area_m2() const;
  // b of the pressure-sinkage relations: radius of a circle, smaller side of a rectangle.
  [[nodiscard]] double width_m() const;
  bool operator==(const Plate&) const = default;
};

// One channel of an instrument (load, depth, torque, angle, speed ...).
struct ChannelTrust {
  std::optional<double> range_si;        // full scale, one sign
  std::optional<double> resolution_si;
  double gain_relative_sd = 0;           // calibration, one standard deviation, shared by all readings
  bool gain_stated = false;              // false: nothing was stated and 0 is used; said in the output
};

struct SpanCheck {                       // a known load put on before or after the work
  bool after = false;
  double applied_si = 0;
  double read_si = 0;
  double tolerance_relative = 0.02;      // beyond it the check has failed
};

struct Instrument {
  std::string id;
  std::string kind;                      // as written in the file: "plate press", "shear ring" ...
  std::vector<Plate> plates;
  std::optional<double> ring_inner_radius_m, ring_outer_radius_m;
  std::optional<double> ring_weight_n;   // own weight, part of the vertical load
  std::optional<double> shear_length_m, shear_width_m;  // rectangular shear plate or box
  std::optional<double> cone_base_area_m2, cone_angle_rad, cone_rate_m_per_s;
  // Drop cone: falling weight, height of fall, weight of the rest that moves.
  std::optional<double> drop_weight_n, drop_height_m, rod_weight_n;
  std::optional<double> frame_stiffness_n_per_m;  // z = z_raw - F / k_frame
  double load_sign = 1, depth_sign = 1;  // multiply the reading by these
  ChannelTrust load, depth, torque, angle;
  std::vector<SpanCheck> span_checks;
  std::string calibrated_on, calibration_due;  // ISO dates, may be empty
};

// What a failed span check and a calibration out of date on `day` (ISO, may be empty) take from the trust in an instrument: the
// error of a failed check joins the standard deviation of the channel it was made on, in quadrature; out of date doubles those that
// are stated (common practice, no source). Returns what was done, in sentences.
std::vector<std::string> widen_for_downgrades(Instrument& instrument, const std::string& day);

}  // namespace hardpan::records
