// SPDX-License-Identifier: Apache-2.0
// The load a wheel carries as a function of its entry angle, and the search for the angle at which it
// carries a given load. Shared by the plain path and the tests.
#pragma once

#include "contact/detail/wheel_frame.hpp"

namespace hardpan::contact::detail {

// Of the load: a hundredth of the 1e-8 asked of the answer.
inline constexpr double kLoadTolerance = 1e-10;
// Between a bound below which there can be no root and the root itself, the load is looked at in this many
// places, up to this share of the way.
inline constexpr int kNearPoints = 3;
inline constexpr double kNearShare = 0.75;

struct LoadAndRate {
  double load_n = 0;
  double rate_n_per_rad = 0;
};

// Everything one wheel at one slip needs; built once, evaluated often.
struct LoadCurve {
  Frame<double> frame;
  Plan plan;
  double width_m = 0;
  double largest_angle = 0;  // of the undeflected wheel: axle height or belly

  [[nodiscard]] double load_n(double undeflected, const Rule& rule) const;
  [[nodiscard]] LoadAndRate load_and_rate(double undeflected, const Rule& rule) const;
  [[nodiscard]] Sums<double> sums(double undeflected, const Rule& rule) const;
};

// The number of nodes that keeps the integrals within 1e-8 (see rule_count in load_curve.cpp), for an
// entry angle up to the one given.
int rule_count(const LoadCurve& curve, double undeflected);
// The same before the root is known. Both paths start from it, so that they end with the same rule.
int starting_rule_count(const LoadCurve& curve, double guess);

struct Root {
  double undeflected = kNoNumber;  // angle
  base::SolveReport report;        // residual in newtons
  Sums<double> sums{};             // at the root, by the full rule
  double largest_load_n = kNoNumber;  // where there is no root
  double angle_at_largest = kNoNumber;
};
// The smallest angle at which the load rises through load_n; no_solution when the curve stays below. With target best
// the scans for a smaller root or a largest load look at many angles side by side.
Root find_root(const LoadCurve& curve, double load_n, double guess, SimdTarget target);

// A yes or no that turns on a load comparison: few nodes do, the same few on every path.
inline constexpr int kYieldNodes = 10;
inline constexpr int kWallNodes = 24;
// Flexible wheel: does the ground yield before the carcass (theory page, section 3)?
bool soil_yields_first(const LoadCurve& curve, double load_n);

Contour<double> contour_of(const LoadCurve& curve, double undeflected);

// The circle in use at an angle of the undeflected wheel.
struct Circle {
  double radius_m, entry_rad, exit_rad, peak_rad;
};
Circle circle_of(const LoadCurve& curve, double undeflected);

}  // namespace hardpan::contact::detail
