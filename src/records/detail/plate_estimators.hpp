// SPDX-License-Identifier: Apache-2.0
// Every estimator as one function of a set of points, so that leaving a point out is the same call.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "records/detail/plate_joint.hpp"
#include "records/plate_fit.hpp"

namespace hardpan::records::detail {

struct PlateData {
  std::vector<Push> pushes;
  std::vector<std::vector<double>> raw_z, raw_p;  // kept rows of each push, for the classical fits
  std::vector<std::string> points;
  std::vector<double> widths;   // tested, rising
  std::vector<std::string> width_words;  // "radius of a circular plate", "smaller side of a rectangle"
  double b1 = 0, b2 = 0, z0 = 0;
  double from_m = 0, to_m = 0, pressure_from_pa = 0, pressure_to_pa = 0;
  double typical_from_m = 0, typical_to_m = 0;  // medians over pushes of least and largest depth
  std::size_t readings = 0;
  std::size_t paired_points = 0;  // that saw two widths or more
  bool widths_differ = false;     // enough to tell kc from kphi
  std::array<std::size_t, 2> points_with{};  // points that saw b1, b2
  // Every point saw one width only: the widths are compared between points.
  [[nodiscard]] bool unpaired() const { return widths_differ && paired_points == 0; }
  // Points fall into strata by width where they are unpaired and the law tells widths apart; else one stratum.
  [[nodiscard]] std::vector<std::size_t> strata(soil::PressureLaw law) const;
};
// Plates of nearly equal width cannot tell kc from kphi: with b2/b1 = 1.25 a scatter of 10 % in p is
// already 50 % of kphi in kc/b (common practice asks for 2).
inline constexpr double kLeastWidthRatio = 1.25;

[[nodiscard]] PlateData collect(std::span<const PlateCurve* const> curves, const GroundSettings& settings);

// Rows of each push for the classical fits may be narrowed; the joint fit uses the condensed readings.
struct Coordinates {
  double ln_p_first = 0, ln_p_second = 0, n = 0;
};
[[nodiscard]] soil::Bearing to_bearing(soil::PressureLaw law, const PlateData& data, const Coordinates& x);
// The same modulus at a given exponent, for intervals of moduli whose unit must stand still.
[[nodiscard]] soil::Bearing to_bearing_at(soil::PressureLaw law, const PlateData& data, const Coordinates& x, double n);
[[nodiscard]] std::optional<double> ln_pressure(soil::PressureLaw law, const PlateData& data, const Coordinates& x,
                                                double width_m, double depth_m);

// Weighted sums of a straight line of y = ln p over x = ln(z/z0): what (7) and (8) need of a push, however long.
struct LogSums {
  double w = 0, x = 0, y = 0, xx = 0, xy = 0;  // means under the weights, but w the sum of weights
  void add(double weight, double xi, double yi);
  [[nodiscard]] double spread() const { return xx; }             // weighted variance of x
  [[nodiscard]] double slope() const { return xy / xx; }
  [[nodiscard]] double level(double n) const { return y - n * x; }  // ln p at z0 with exponent n
};

class Estimator {
 public:
  Estimator(const PlateData& data, const GroundSettings& settings);
  // Absent when the points in use do not determine the law.
  [[nodiscard]] std::optional<Coordinates> operator()(PlateEstimator kind, soil::PressureLaw law,
                                                      const std::vector<char>& use, JointFit* joint = nullptr) const;
  [[nodiscard]] JointProblem problem(soil::PressureLaw law) const;

 private:
  [[nodiscard]] std::optional<Coordinates> classical(PlateEstimator kind, soil::PressureLaw law,
                                                     const std::vector<char>& use) const;
  [[nodiscard]] double unweighted_level(std::size_t push, double n) const;
  const PlateData& data_;
  const GroundSettings& settings_;
  std::vector<LogSums> plain_, weighted_;
  std::vector<PowerFit> unweighted_;  // empty unless asked for
};

// The estimate from all points and from all but one.
struct Replicates {
  Coordinates all;
  std::vector<Coordinates> without;
  bool complete = false;
};
[[nodiscard]] std::optional<Replicates> leave_one_out(const Estimator& estimator, const PlateData& data,
                                                      PlateEstimator kind, soil::PressureLaw law);

// Deviations of the leave-one-out values, scaled so that their sum of squares (products) is the sampling
// variance (covariance): the jackknife within strata, exact for means of strata.
[[nodiscard]] std::vector<double> jackknife_deviations(std::span<const double> without,
                                                       const std::vector<std::size_t>& strata);

[[nodiscard]] LawChoice choose_law(const Estimator& estimator, const PlateData& data, const GroundSettings& settings);

}  // namespace hardpan::records::detail
