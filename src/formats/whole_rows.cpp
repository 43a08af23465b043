// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/whole_rows.hpp"

#include <cmath>

namespace hardpan::formats::detail {

std::optional<WholeRows> read_whole_rows(const std::string& path, const std::string& name, std::vector<Role> roles, const std::vector<std::pair<std::string, std::string>>& needed,
                                         base::Problems& problems) {
  SheetRequest q{.path = path, .file = name, .roles = std::move(roles), .place = {.file = name}, .by_itself = true};
  auto sheet = read_sheet(q, problems);
  if (!sheet) return std::nullopt;
  WholeRows out{std::move(*sheet)};
  out.complete = !out.sheet.cells_refused;
  bool named = true;
  for (const auto& [role, heading] : needed) {
    if (out.sheet.number(role)) continue;
    problems.refuse({.place = {.file = name, .line = 1}, .what = "no column " + role, .bound = "a heading such as \"" + heading + "\""});
    named = false;
  }
  if (!named) return std::nullopt;
  std::vector<char> keep(out.sheet.line.size(), 1);
  for (std::size_t i = 0; i < keep.size(); ++i) {
    for (const auto& [role, heading] : needed) {
      if (std::isfinite(out.sheet.number(role)->values[i])) continue;
      // A large file is read without telling its cells one by one.
      if (!out.sheet.cells_refused && keep[i]) problems.refuse({.place = {.file = name, .line = out.sheet.line[i]}, .what = "no number in column " + role, .remedy = "type it, or leave the row out"});
      keep[i] = 0;
      out.complete = false;
    }
  }
  keep_rows(out.sheet, keep);
  return out;
}

void tell_by_line(const base::Problems& found, const std::string& name, const WholeRows& rows, base::Problems& problems) {
  for (base::Problem p : found.list()) {
    const std::size_t bracket = p.place.key.find('[');
    const std::size_t k = bracket == std::string::npos ? 0 : std::stoul(p.place.key.substr(bracket + 1));
    const bool at_row = k >= 1 && k <= rows.sheet.line.size();
    if (!at_row && !rows.complete) continue;
    if (at_row) p.place = {.file = name, .line = rows.sheet.line[k - 1]};
    problems.refuse(std::move(p));
  }
}

}  // namespace hardpan::formats::detail
