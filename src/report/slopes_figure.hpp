// SPDX-License-Identifier: Apache-2.0
// The polar picture of slopes on any heading: working and largest limit with what ends them, next points, tip limits.
#pragma once

#include <string>
#include <vector>

#include "performance/slopes_over_soils.hpp"
#include "report/figure.hpp"
#include "units/print.hpp"

namespace hardpan::report {

// Headings evenly round, in order; id and title are the caller's. Spreads without an interval draw no band.
[[nodiscard]] Figure slopes_figure(const std::vector<performance::HeadingSpread>& headings, double working_slip, double working_drift_rad, units::OutputUnits units);
// "45 deg left of uphill", "across, falling to the left"
[[nodiscard]] std::string heading_words(double heading_rad);

}  // namespace hardpan::report
