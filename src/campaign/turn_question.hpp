// SPDX-License-Identifier: Apache-2.0
// [[turn]]: how tightly vehicles turn on the ground of a zone.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/turn_over_soils.hpp"
#include "performance/turning.hpp"

namespace hardpan::campaign {

struct TurnAsked {
  std::vector<std::string> vehicles, zones;     // empty: all
  performance::TurnQuestion question;           // radii empty: a ladder of wheelbases
  bool to_right = false;
};
struct TurnAnswer {
  std::string vehicle, zone;
  std::string why_not;                          // not empty: no answer, and why
  TurnAsked asked;
  performance::Turn smallest;                   // of the geometry
  std::optional<performance::TurnOverSoils> over_soils;
};

}  // namespace hardpan::campaign
