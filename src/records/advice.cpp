// SPDX-License-Identifier: Apache-2.0
#include "records/advice.hpp"

#include <cmath>
#include <limits>

#include <fmt/core.h>

#include "math/distributions.hpp"
#include "math/estimate.hpp"

namespace hardpan::records {
namespace {

constexpr std::size_t kMostMore = 200;  // nobody is sent out for more

}  // namespace

double half_width(double point_sd, double instrument_sd, std::size_t count, std::size_t lost) {
  if (count <= lost) return std::numeric_limits<double>::infinity();
  const double upper = 0.5 + 0.5 * math::kIntervalLevel;
  const double t = math::student_t_quantile(upper, static_cast<double>(count - lost));
  const double z = math::normal_quantile(upper);
  return std::hypot(t * point_sd / std::sqrt(static_cast<double>(count)), z * instrument_sd);
}

Advice advise(const AdviceInput& input) {
  Advice out{.quantity = input.quantity,
             .have = input.have,
             .unit_of_count = input.unit_of_count,
             .target_relative = input.target_relative};
  const double size = std::abs(input.value);
  const auto relative = [&](std::size_t count) {
    return half_width(input.point_sd, input.instrument_sd, count, input.lost) / size;
  };
  out.half_width_relative = relative(input.have);
  out.floor_relative = math::normal_quantile(0.5 + 0.5 * math::kIntervalLevel) * input.instrument_sd / size;
  for (const std::size_t more : {2u, 4u, 8u, 16u}) out.steps.push_back({more, relative(input.have + more)});
  const std::string now = fmt::format("{}: +/- {:.0f} % from {} {}", input.quantity, out.half_width_relative * 100,
                                      input.have, input.unit_of_count);
  if (out.half_width_relative <= input.target_relative) {
    out.more_for_target = 0;
    out.statement = fmt::format("{}: enough for +/- {:.0f} %", now, input.target_relative * 100);
    return out;
  }
  if (out.floor_relative < input.target_relative) {
    for (std::size_t more = 1; more <= kMostMore && !out.more_for_target; ++more) {
      if (relative(input.have + more) <= input.target_relative) out.more_for_target = more;
    }
  }
  if (out.more_for_target) {
    out.statement =
        fmt::format("{}; {} more would bring +/- {:.0f} %", now, *out.more_for_target, input.target_relative * 100);
  } else if (out.floor_relative >= input.target_relative) {
    out.statement = fmt::format("{}; more {} do not help below +/- {:.1f} %, which is the instrument's calibration",
                                now, input.unit_of_count, out.floor_relative * 100);
  } else {
    out.statement = fmt::format("{}; even {} more would not bring +/- {:.0f} %: split the zone or accept the scatter",
                                now, kMostMore, input.target_relative * 100);
  }
  return out;
}

}  // namespace hardpan::records
