// SPDX-License-Identifier: Apache-2.0
// A vehicle drawn to scale from the numbers of its file, side view over plan, so that a wrong number is seen: wheels, underbody, joints, hitch, masses,
// centre of gravity, axle loads from the file beside those from the scales, clearances.
//
// Only what the file tells is drawn: a body is its underbody line and its centre of gravity, no shape is invented. One scale for both views. The
// vehicle must have passed check_vehicle. Self-contained SVG, black and grey.
//
//   io::write_file("dunlin.svg", vehicle_drawing(vehicle, 9.81, campaign.output_units));
#pragma once

#include <string>

#include "campaign/campaign.hpp"

namespace hardpan::report {

[[nodiscard]] std::string vehicle_drawing(const vehicle::Vehicle& vehicle, double gravity_m_s2, campaign::OutputUnits units);

}  // namespace hardpan::report
