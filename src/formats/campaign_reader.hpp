// SPDX-License-Identifier: Apache-2.0
// A campaign folder to a campaign value. Everything wrong is found in one pass: the result carries all
// remarks; refusals are appended to `problems` and then the value must not be used.
//
//   base::Problems problems;
//   campaign::Campaign c = read_campaign("tern-spit", {}, problems);
//   problems.throw_if_refused();
#pragma once

#include <string>

#include "base/problems.hpp"
#include "campaign/campaign.hpp"

namespace hardpan::formats {

struct ReadSettings {
  bool apply_amendments = true;
  std::string only_record;      // not empty: read this record alone (one sheet checked in the field)
};

// What the head of a campaign may state; read_campaign and whoever lays one out ask the same.
[[nodiscard]] bool gravity_possible(double gravity_m_s2);
[[nodiscard]] bool date_exists(const std::string& text);  // ISO date with or without time, or a clock time

[[nodiscard]] campaign::Campaign read_campaign(const std::string& folder, const ReadSettings& settings,
                                               base::Problems& problems);

}  // namespace hardpan::formats
