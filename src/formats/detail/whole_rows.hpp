// SPDX-License-Identifier: Apache-2.0
// A sheet by itself of which every row counts: one left out unseen would shorten a way or close a gap in a profile.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "formats/detail/sheet.hpp"

namespace hardpan::formats::detail {

// Where cells are refused the other rows are given all the same, so that they are looked at in the same run: `complete` is
// false then, and nobody may answer from them.
struct WholeRows {
  Sheet sheet;
  bool complete = true;
};

// `needed`: a role, and a heading that names it. Nothing where a column or the sheet is refused.
[[nodiscard]] std::optional<WholeRows> read_whole_rows(const std::string& path, const std::string& name_for_messages, std::vector<Role> roles,
                                                       const std::vector<std::pair<std::string, std::string>>& needed, base::Problems& problems);

// What a check of the rows found at "point[3]" and the like, at the line of the row. Of rows that are not complete only that is
// told: that they are too few or end too early may come from what was left out.
void tell_by_line(const base::Problems& found, const std::string& name_for_messages, const WholeRows& rows, base::Problems& problems);

}  // namespace hardpan::formats::detail
