// SPDX-License-Identifier: Apache-2.0
// From a converged entry angle to the numbers a user reads; shared by the plain and the vector path.
#pragma once

#include <optional>

#include "contact/detail/load_curve.hpp"

namespace hardpan::contact::detail {

// f under a load; nothing beyond the table, or when the wheel is flat.
std::optional<double> carcass_deflection_m(const Contact& contact, double load_n);
LoadCurve make_curve(const Contact& contact, double slip_ratio, double slip_angle_rad, double deflection_m);
// r_e: slip and torque arm refer to it.
double torque_radius_m(const Contact& contact, double deflection_m);
// The answer from a root, flags included but for the two below.
void conclude(const Contact& contact, const LoadCurve& curve, const Root& root, const Contour<double>& contour,
              double slip_angle_rad, WheelAnswer& out);
// Rigid wheel, contact shorter than K: friction of the surface where it is known.
bool on_hard_ground(const Contact& contact, const WheelAnswer& out);
void treat_hard_ground(const Contact& contact, double slip_angle_rad, WheelAnswer& out);
WheelAnswer started_answer(double load_n, double slip_ratio, double slip_angle_rad);
// wheel_at_load by the scalar search; with target best its scans look at many angles at once, and without a guess
// it starts with one.
WheelAnswer searched_wheel(const Contact& contact, double load_n, double slip_ratio, double slip_angle_rad,
                           double guess_entry_angle_rad, SimdTarget target);
void assert_state(double load_n, double slip_ratio, double slip_angle_rad);

}  // namespace hardpan::contact::detail
