// SPDX-License-Identifier: Apache-2.0
// A vehicle on an obstacle, to scale in side view: a film strip of a handful of places, or one picture of a series for an animation.
//
// Wheels, underbody, joints and centres of gravity as the vehicle file tells them (no shape is invented), the ground, and the ground's push on each axle at the
// least friction. A wheel that flattens is drawn round and covered by the ground. For a figure with axes use figure.hpp. Self-contained SVG, black and grey.
//
//   io::write_file("step.svg", film_strip(vehicle, ground, film, "A step up of 0.12 m", units));
#pragma once

#include <cstddef>
#include <string>

#include "performance/obstacle_view.hpp"
#include "units/print.hpp"

namespace hardpan::report {

[[nodiscard]] std::string film_strip(const performance::ProfileVehicle& vehicle, const performance::Profile& ground, const performance::Film& film, const std::string& title,
                                     units::OutputUnits units);

// The view stands still where the way is short; beyond four times the vehicle's length it goes with the vehicle. `number` of `count`, from 1.
[[nodiscard]] std::string crossing_frame(const performance::ProfileVehicle& vehicle, const performance::Profile& ground, const performance::Frame& frame, std::size_t number, std::size_t count,
                                         const std::string& title, units::OutputUnits units);

}  // namespace hardpan::report
