// SPDX-License-Identifier: Apache-2.0
#include "formats/profile_file.hpp"

#include "formats/detail/whole_rows.hpp"

namespace hardpan::formats {

std::optional<performance::Profile> read_profile(const std::string& path, const std::string& name_for_messages, base::Problems& problems) {
  const auto rows = detail::read_whole_rows(path, name_for_messages,
                                            {{.name = "x", .dimensions = {units::Dimension::length}, .headings = {"x", "distance", "chainage", "station"}},
                                             {.name = "z", .dimensions = {units::Dimension::length}, .headings = {"z", "height", "elevation", "level"}},
                                             {.name = "remark", .dimensions = {}, .headings = {"remark", "remarks", "note"}, .may_be_blank = true}},
                                            {{"x", "x (m)"}, {"z", "z (m)"}}, problems);
  if (!rows) return std::nullopt;
  const detail::Column *x = rows->sheet.number("x"), *z = rows->sheet.number("z");
  std::vector<performance::ProfilePoint> points;
  for (std::size_t i = 0; i < x->values.size(); ++i) points.push_back({x->values[i], z->values[i]});
  if (!rows->complete && points.size() < 2) return std::nullopt;  // too few only for what was refused
  base::Problems found;
  auto profile = performance::Profile::from_points(points, {.file = name_for_messages}, found);
  detail::tell_by_line(found, name_for_messages, *rows, problems);
  if (!rows->complete) return std::nullopt;
  return profile;
}

}  // namespace hardpan::formats
