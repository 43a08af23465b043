// SPDX-License-Identifier: Apache-2.0
#include "formats/profile_file.hpp"

#include <cmath>

#include "formats/detail/sheet.hpp"

namespace hardpan::formats {

std::optional<performance::Profile> read_profile(const std::string& path, const std::string& name_for_messages, base::Problems& problems) {
  detail::SheetRequest q{.path = path, .file = name_for_messages, .place = {.file = name_for_messages}};
  q.roles = {{.name = "x", .dimensions = {units::Dimension::length}, .headings = {"x", "distance", "chainage", "station"}},
             {.name = "z", .dimensions = {units::Dimension::length}, .headings = {"z", "height", "elevation", "level"}},
             {.name = "remark", .dimensions = {}, .headings = {"remark", "remarks", "note"}}};
  const auto sheet = detail::read_sheet(q, problems);
  if (!sheet) return std::nullopt;
  const detail::Column* x = sheet->number("x");
  const detail::Column* z = sheet->number("z");
  if (!x || !z) {
    problems.refuse({.place = {.file = name_for_messages, .line = 1}, .what = "a profile needs a column x and a column z", .bound = "\"x (m)\" and \"z (m)\""});
    return std::nullopt;
  }
  std::vector<performance::ProfilePoint> points;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) points.push_back({x->values[i], z->values[i]});
  base::Problems found;
  auto profile = performance::Profile::from_points(points, {.file = name_for_messages}, found);
  for (base::Problem p : found.list()) {
    // "point[k]" counts rows; the reader of the message looks for a line.
    const std::size_t bracket = p.place.key.find('[');
    const std::size_t k = bracket == std::string::npos ? 0 : std::stoul(p.place.key.substr(bracket + 1));
    if (k >= 1 && k <= sheet->line.size()) p.place = {.file = name_for_messages, .line = sheet->line[k - 1]};
    problems.refuse(std::move(p));
  }
  return profile;
}

}  // namespace hardpan::formats
