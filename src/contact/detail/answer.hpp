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

}  // namespace hardpan::contact::detail
