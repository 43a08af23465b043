// SPDX-License-Identifier: Apache-2.0
// What must be said about a plate reduction: basis, what is not identified, odd points, what is left over.
#pragma once

#include <string>

#include "records/detail/plate_estimators.hpp"
#include "records/plate_zone.hpp"

namespace hardpan::records::detail {

[[nodiscard]] std::string basis_of(const PlateData& data, PlateEstimator kind, soil::PressureLaw law, std::size_t tests,
                                   const GroundSettings& settings);
void say_what_is_not_identified(const PlateData& data, units::OutputUnits units, PlateZone& zone);
void flag_points(const PlateData& data, units::OutputUnits units, PlateZone& zone);
void describe_residuals(const PlateData& data, const PlateFit& fit, const Coordinates& x, PlateZone& zone);
void compare_estimators(const PlateData& data, units::OutputUnits units, PlateZone& zone);
[[nodiscard]] std::string law_status(const PlateData& data, const PlateZone& zone, const GroundSettings& settings);

}  // namespace hardpan::records::detail
