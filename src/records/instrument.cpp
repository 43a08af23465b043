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

std::vector<std::string> widen_for_downgrades(Instrument& instrument, const std::string& day) {
  std::vector<std::string> out;
  const auto percent = [](double share) { return fmt::format("{:.2g} %", 100 * share); };
  ChannelTrust& checked = instrument.kind == "torque wrench" ? instrument.torque : instrument.kind == "tape" ? instrument.depth : instrument.load;
  double worst = 0;
  for (const SpanCheck& check : instrument.span_checks) {
    const double off = std::abs(check.read_si / check.applied_si - 1);
    if (!(off <= check.tolerance_relative)) worst = std::max(worst, off);
  }
  if (worst > 0) {
    const double wider = std::hypot(checked.gain_relative_sd, worst);
    out.push_back(fmt::format("a span check failed by {}: the standard deviation of its calibration counts as {}, {} is stated", percent(worst), percent(wider),
                              checked.gain_stated ? percent(checked.gain_relative_sd) : std::string("none")));
    checked.gain_relative_sd = wider;
    checked.gain_stated = true;
  }
  const bool late = !instrument.calibration_due.empty() && !day.empty() && day.substr(0, 10) > instrument.calibration_due.substr(0, 10);
  if (!late) return out;
  bool stated = false;
  for (ChannelTrust* c : {&instrument.load, &instrument.depth, &instrument.torque, &instrument.angle}) {
    if (!c->gain_stated) continue;
    c->gain_relative_sd *= 2;
    stated = true;
  }
  out.push_back(stated ? "calibration out of date: the standard deviations of its calibration count twice (common practice, no source)"
                       : "calibration out of date, and no standard deviation of it is stated: no number can be made wider");
  return out;
}

}  // namespace hardpan::records
