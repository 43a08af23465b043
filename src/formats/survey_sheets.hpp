// SPDX-License-Identifier: Apache-2.0
// Sheets of quick answers and campaigns about the way: surveyed heights, mapped rocks, laws of rock sizes, drive profiles.
// Columns carry units in their headings; what is wrong is refused with its line.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/boulder_field.hpp"
#include "performance/endurance.hpp"
#include "performance/ground_spectrum.hpp"

namespace hardpan::formats {

// Columns x and z as of read_profile (profile_file.hpp), every point kept: for a spectrum.
[[nodiscard]] std::optional<std::vector<performance::ProfilePoint>> read_heights(const std::string& path, const std::string& name_for_messages, base::Problems& problems);

// Columns x, y, diameter and, where measured, height.
[[nodiscard]] std::optional<std::vector<performance::Rock>> read_rocks(const std::string& path, const std::string& name_for_messages, base::Problems& problems);

// Columns diameter and "ground per rock": the area that has one rock of this diameter or more in the mean.
[[nodiscard]] std::optional<std::vector<performance::RockLaw::Row>> read_rock_law(const std::string& path, const std::string& name_for_messages, base::Problems& problems);

// Columns distance, gradient, and where wanted name, speed, halt, ground (text). Row k's ground stands in grounds[k], empty where none.
struct TripSheet {
  std::vector<performance::TripRow> rows;   // ground: not set
  std::vector<std::string> grounds;
  std::vector<std::size_t> lines;
};
[[nodiscard]] std::optional<TripSheet> read_trip(const std::string& path, const std::string& name_for_messages, base::Problems& problems);

}  // namespace hardpan::formats
