// SPDX-License-Identifier: Apache-2.0
// Quick answer: at which slope a vehicle tips, all round, static, settled and the working limit.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "io/json.hpp"
#include "performance/tip_over_joints.hpp"

namespace hardpan::service {

struct TipOverRequest {
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  double low_side_rut_m = 0;
  std::optional<double> hitch_pull_n;        // needs a hitch in the file
  double line_angle_rad = 0;
  int directions = 8;                        // of the fall line, evenly, from nose down to the left round
  std::optional<double> needed_rad;          // of the working limit, all round
};
struct TipOverResult {
  std::string vehicle;
  performance::Stance stance;
  std::vector<performance::TipDirection> lines;
  std::vector<std::string> bodies;           // names, where there are several
  std::optional<performance::TipDoubt> doubt;  // absent: the file does not say how well centres of gravity are known
  std::size_t lowest = 0;                    // index of the line with the least working limit
  base::Problems remarks;                    // of the files read
};
[[nodiscard]] TipOverResult tip_over(const TipOverRequest& request);
[[nodiscard]] io::Json tip_over_json(const TipOverRequest& request, const TipOverResult& result);

}  // namespace hardpan::service
