// SPDX-License-Identifier: Apache-2.0
// One wheel at one slip, slip angle and deflection, as the kernel wants it: plain numbers of the
// number type V (double, or one lane set of a vector), nothing that depends on the entry angle.
#pragma once

#include <array>
#include <cstddef>

#include "contact/wheel_soil.hpp"

namespace hardpan::contact::detail {

// thm / th1 is held at or below this (Wong and Reece 1967 measured up to about 0.75; limit: common
// practice, no source).
inline constexpr double kPeakRatioLimit = 0.8;

template <class V>
struct Frame {
  V radius;        // r of the undeflected wheel
  V grouser;       // rs - r, added to the radius for shear travel
  V deflection;    // f
  V k, n, quadratic;  // p = k z^n + quadratic z^2 with slip sinkage in
  // From break_depth on the same with these, in the depth z + floor; used where Plan::breaks.
  V k_below, n_below, quadratic_below, break_depth, floor;
  V cohesion, tan_phi;
  V other_cohesion, other_tan;  // the second strength line; equal to the first where there is none
  V switch_depth;  // sinkage at which the lines cross; negative: never
  V m0, m1, m2;    // mobilised share of the strength, see Contact
  // Net travel of the rim against the soil in units of rs: driving A = 1, B = 1 - s; braking, scaled
  // by 1 + s, A = 1 + s, B = 1. The scale goes into the modulus, so that a locked wheel is a number.
  V travel_a, travel_b, travel_side;
  V inverse_k;     // 1 / K, or 1 / (K (1 + s)); large for a locked wheel
  V reversal;      // acos(1 + s): where the travel turns back; larger than pi/2 when driving
  V peak_ratio;    // thm / th1
  V exit_ratio;    // -th2 / th1, without rebound
  V rebound_k0, rebound_au;
  V unit_weight;   // rho g, 0: unknown
};

// Which parts of the kernel a wheel needs. Compile-time in the kernel.
enum class Direction {
  forward,   // no slip angle, travel never reverses: shear stress along x
  reversing, // no slip angle, the travel may change sign
  oblique,   // with slip angle
  sliding    // full strength against the sliding velocity: travel_a - travel_b cos th, travel_side
};

// A Gauss-Legendre rule over u in [0, 1] with th = th1 - (th1 - thm) u^3: the pressure goes like u^(3 n) at
// the entry. u^2 would do for n >= 0.5 but needs four nodes more for the same 1e-8 (theory page, table 1).
inline constexpr std::size_t kMostNodes = 32;
struct Rule {
  int count = 0;
  std::array<double, kMostNodes> node{};    // u
  std::array<double, kMostNodes> power{};   // u^3
  std::array<double, kMostNodes> weight{};  // of the integral over u
};
// Even counts from 4 to 32. The nodes are computed once, to rounding.
const Rule& rule_for(int count);

// How much is known of the load as a function of the entry angle (theory page, section 5). Up to kKnownUpTo,
// 1 rad less what the cosine takes:
enum class Shape {
  rises,    // driving, th2 = 0: every term rises with th1
  bounded,  // without the shear stress that pulls the wheel down the load would rise with th1
  unknown
};
inline constexpr double kKnownUpTo = 0.86;  // x tan x = 1

// What one wheel needs, decided from its numbers alone.
struct Plan {
  Direction direction = Direction::forward;
  bool flexible = false;
  bool rebounds = false;
  bool switches = false;     // two strength lines that cross
  bool exit_behind = false;  // th2 < 0
  bool breaks = false;       // the pressure law changes at a depth: two layers, or the floor of a rut
  bool saturating = true;    // m(y) = 1 - exp(-y)
  Shape shape = Shape::unknown;
};

// The frame and the plan of a contact; deflection_m 0 for a rigid wheel.
Frame<double> make_frame(const Contact& contact, double slip_ratio, double slip_angle_rad, double deflection_m);
Plan make_plan(const Contact& contact, double slip_ratio, double slip_angle_rad);

// Sums over the arc per unit width and radius: load = width R sums.load and so on.
template <class T>
struct Sums {
  T load, pull, shear, side;
  T against;                    // the part of load that shear stress takes away, not positive
  T radius, entry, exit, peak;  // R, th1, th2, thm
};

// What is read off the contact besides the forces.
template <class V>
struct Contour {
  V depth, contact_length, largest_pressure, largest_travel;
  V side_wall;  // S of equation (14)
};

}  // namespace hardpan::contact::detail
