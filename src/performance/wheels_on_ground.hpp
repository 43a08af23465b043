// SPDX-License-Identifier: Apache-2.0
// Wheels that ask for more than one answer of the wheel model: the slip at which a wheel takes a wanted torque, and the load of a wheel that lies
// with part of its width in a rut. Many at once, each by itself: an answer does not depend on its neighbours in a batch.
//
// Two strips (docs/theory/performance.md, following wheels): the part in the rut and the part beside it stand on floors of their own and share one
// depth of the rim, sinkage and deflection together; both keep the depth law of the whole wheel. The part in the rut carries nothing where the other already carries the load above its floor.
// Accuracy: depths of the strips to 1e-11 of the radius, torque to 1e-10 of load times radius.
//
//   WheelBatch wheels;
//   const StripCase c{.strips = &strips, .load_n = 600, .slip_ratio = 0.2};
//   StripAnswer a; wheels_on_strips({&c, 1}, {&a, 1}, wheels, contact::SimdTarget::best);
//   if (a.wheel.carried()) use(a.wheel.sinkage_m, a.share_in_rut);
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "base/solve.hpp"
#include "contact/wheel_soil.hpp"

namespace hardpan::performance {

// Wheels that roll together; allocates nothing once it has grown.
struct WheelBatch {
  std::vector<contact::Contact> contacts;
  std::vector<double> load_n, slip_ratio, slip_angle_rad, guess_rad;
  std::vector<std::size_t> owner;                // what the caller knows the wheel by
  std::vector<contact::WheelAnswer> answers;     // after roll()

  void clear();
  void add(const contact::Contact& contact, double load, double slip, double guess, std::size_t by);
  void roll(contact::SimdTarget target);
};

// A part of a wheel: that share of its width and of its stiffness, at the same depth law.
[[nodiscard]] contact::Contact strip_of(const contact::Contact& wheel, double share);

struct Strips {
  contact::Contact beside, in_rut;
  double floor_m = 0;            // of in_rut below the floor of `beside`, 0 or more
};
struct StripCase {
  const Strips* strips = nullptr;
  double load_n = 0, slip_ratio = 0;
  double guess_share = 0.5;      // of the load, in the rut; costs rounds, never the answer
};
struct StripAnswer {
  contact::WheelAnswer wheel;    // of both: forces are sums, stresses the larger; sinkage counts from the floor of `beside`
  double share_in_rut = 0;       // of the load
};
void wheels_on_strips(std::span<const StripCase> cases, std::span<StripAnswer> out, WheelBatch& space, contact::SimdTarget target);

// Slip at which a wheel under a load takes the wanted torque (0: towed), on the branch where torque rises with slip.
// Not carried or not bracketed in [-0.95, 0.95]: solve says so.
struct TorqueCase {
  const contact::Contact* contact = nullptr;
  const Strips* strips = nullptr;  // in place of contact
  double load_n = 0, torque_n_m = 0;
  double guess_slip = -0.05;
  double reach = 0.05;             // looked at first: guess - reach to guess + reach
  double guess_share = 0.5;        // as in StripCase
};
struct TorqueSlip {
  contact::WheelAnswer wheel;
  double share_in_rut = 0;
  base::SolveReport solve;         // residual in N m
};
struct TorqueSpace {
  WheelBatch wheels, strips;
  std::vector<StripCase> strip_cases;
  std::vector<StripAnswer> strip_answers;
};
void wheels_at_torque(std::span<const TorqueCase> cases, std::span<TorqueSlip> out, TorqueSpace& space, contact::SimdTarget target);

}  // namespace hardpan::performance
