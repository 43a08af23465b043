// SPDX-License-Identifier: Apache-2.0
#include "records/instrument.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/core.h>

#include "records/ground.hpp"

namespace hardpan::records {

double Plate::area_m2() const {
  return shape == PlateShape::circle ? std::numbers::pi * radius_m * radius_m : short_side_m * long_side_m;
}

double Plate::width_m() const { return shape == PlateShape::circle ? radius_m : std::min(short_side_m, long_side_m); }

std::vector<std::string> instrument_downgrades(const Instrument& instrument, const std::string& date) {
  std::vector<std::string> out;
  // ISO dates compare as text.
  const std::string day = date.substr(0, 10);
  if (!instrument.calibration_due.empty() && !day.empty() && day > instrument.calibration_due.substr(0, 10)) {
    out.push_back(
        fmt::format("{}: calibration out of date (due {}, used {})", instrument.id, instrument.calibration_due, day));
  }
  for (const SpanCheck& check : instrument.span_checks) {
    const double off = check.read_si / check.applied_si - 1;
    if (!(std::abs(off) <= check.tolerance_relative)) {
      out.push_back(fmt::format("{}: span check {} the work failed ({:+.1f} %, {:.1f} % allowed)", instrument.id,
                                check.after ? "after" : "before", off * 100, check.tolerance_relative * 100));
    }
  }
  return out;
}

}  // namespace hardpan::records
