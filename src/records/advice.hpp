// SPDX-License-Identifier: Apache-2.0
// How many more points would bring which interval to what.
//
// The soil part of an average-ground half-width scales with t(G - 1) / sqrt(G); the instrument part
// does not shrink. docs/theory/ground.md, equations (27) and (28).
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace hardpan::records {

struct AdviceInput {
  std::string quantity;       // "pressure at 50 mm on b = 75 mm"
  double value = 0;
  double point_sd = 0;        // scatter of one point (or run) about the mean
  double instrument_sd = 0;
  std::size_t have = 0;       // points (or runs) there are
  std::size_t lost = 1;       // degrees of freedom used: 1 for a mean, 2 for a line
  double target_relative = 0.10;
  std::string unit_of_count = "points";
};

struct AdviceStep {
  std::size_t more = 0;
  double half_width_relative = 0;
};

struct Advice {
  std::string quantity;
  std::size_t have = 0;
  std::string unit_of_count;
  double half_width_relative = 0;             // now
  double floor_relative = 0;                  // however many points
  double target_relative = 0;
  std::optional<std::size_t> more_for_target; // absent: the instrument floor is above the target, or > 200
  std::vector<AdviceStep> steps;              // 2, 4, 8 and 16 more
  std::string statement;
};
[[nodiscard]] double half_width(double point_sd, double instrument_sd, std::size_t count, std::size_t lost);
[[nodiscard]] Advice advise(const AdviceInput& input);

}  // namespace hardpan::records
