// SPDX-License-Identifier: Apache-2.0
// Remote runs against the speeds predicted through a delay (driving/remote_speed.hpp, as the campaign's [remote] asks for them).
//
// A predicted speed is an upper bound for one cause: no operator should be faster, and how much slower they are calibrates it. At each delay the mean over operators, its interval over
// operators, is set beside the prediction, linear between the delays it was computed at and absent beyond them. Runs that left the corridor say at which speeds it was not held.
//
//   const RemoteComparison c = compare_remote(course, predicted, units::OutputUnits::si);
//   if (c.judged) say(c.statement);
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "records/remote_run.hpp"
#include "units/print.hpp"

namespace hardpan::validation {

struct PredictedSpeed {
  double delay_s = 0, speed_m_s = 0;
  std::string limited_by;                  // "stopping", "steering" ...
};

struct SpeedCompared {
  double delay_s = 0;
  math::Estimate measured_m_per_s;         // mean of the operators' means; average_ground over operators
  std::optional<double> predicted_m_per_s; // absent: beyond the delays computed
  std::string limited_by;                  // at the nearer of the delays computed
  std::optional<bool> within;              // the interval of the measured mean (its value, without one) reaches down to the prediction or lies below
  std::size_t operators = 0, left_corridor = 0;
};

struct RemoteComparison {
  std::string vehicle, zone, course;
  std::vector<SpeedCompared> delays;       // rising
  bool judged = false, consistent = false; // consistent: nowhere faster than predicted
  std::optional<double> least_share, most_share;  // measured over predicted
  std::string statement;
};

// `predicted` with delays rising.
[[nodiscard]] RemoteComparison compare_remote(const records::RemoteCourse& course, std::span<const PredictedSpeed> predicted, units::OutputUnits units);

}  // namespace hardpan::validation
