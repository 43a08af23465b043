// SPDX-License-Identifier: Apache-2.0
// The parts of check_vehicle that look at bodies, joints and loads on them, and at the scales they were weighed on.
#pragma once

#include "vehicle/detail/checker.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::vehicle::detail {

void check_bodies(const Vehicle& vehicle, const Checker& check);
// Joints hold the bodies up; needs possible numbers. False: refused.
bool check_chain(const Vehicle& vehicle, double gravity_m_s2, const Checker& check);
void check_scale_entries(const Vehicle& vehicle, const Checker& check);
// Scales within 3 % of the file; needs a vehicle that stands.
void check_scales(const Vehicle& vehicle, double gravity_m_s2, const Checker& check);

}  // namespace hardpan::vehicle::detail
