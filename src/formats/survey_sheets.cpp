// SPDX-License-Identifier: Apache-2.0
#include "formats/survey_sheets.hpp"

#include <cmath>

#include "formats/detail/whole_rows.hpp"

namespace hardpan::formats {
namespace {

using units::Dimension;

const detail::Role kRemark{.name = "remark", .dimensions = {}, .headings = {"remark", "remarks", "note"}, .may_be_blank = true};

std::optional<double> value(const detail::Column* c, std::size_t row) {
  if (!c || !std::isfinite(c->values[row])) return std::nullopt;
  return c->values[row];
}

}  // namespace

std::optional<std::vector<performance::ProfilePoint>> read_heights(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto rows = detail::read_whole_rows(path, name, {{.name = "x", .dimensions = {Dimension::length}, .headings = {"x", "distance", "chainage", "station"}},
                                       {.name = "z", .dimensions = {Dimension::length}, .headings = {"z", "height", "elevation", "level"}}, kRemark},
                          {{"x", "x (m)"}, {"z", "z (m)"}}, problems);
  if (!rows) return std::nullopt;
  const detail::Sheet* sheet = &rows->sheet;
  std::vector<performance::ProfilePoint> out;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) out.push_back({sheet->number("x")->values[i], sheet->number("z")->values[i]});
  base::Problems found;
  const bool good = performance::profile_spectrum(out, {.file = name}, found).has_value();
  detail::tell_by_line(found, name, *rows, problems);
  if (!good || !rows->complete) return std::nullopt;
  return out;
}

std::optional<std::vector<performance::Rock>> read_rocks(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto rows = detail::read_whole_rows(path, name, {{.name = "x", .dimensions = {Dimension::length}, .headings = {"x", "easting"}},
                                       {.name = "y", .dimensions = {Dimension::length}, .headings = {"y", "northing"}},
                                       {.name = "diameter", .dimensions = {Dimension::length}, .headings = {"diameter", "size", "width"}},
                                       {.name = "height", .dimensions = {Dimension::length}, .headings = {"height"}, .may_be_blank = true}, kRemark},
                          {{"x", "x (m)"}, {"y", "y (m)"}, {"diameter", "diameter (m)"}}, problems);
  if (!rows) return std::nullopt;
  const detail::Sheet* sheet = &rows->sheet;
  std::vector<performance::Rock> out;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) {
    out.push_back({sheet->number("x")->values[i], sheet->number("y")->values[i], sheet->number("diameter")->values[i], value(sheet->number("height"), i)});
  }
  base::Problems found;
  constexpr double kFar = 1e5;
  performance::check_rocks(out, {-kFar, -kFar, kFar, kFar}, {.file = name}, found);
  detail::tell_by_line(found, name, *rows, problems);
  if (found.refused() || !rows->complete) return std::nullopt;
  return out;
}

std::optional<std::vector<performance::RockLaw::Row>> read_rock_law(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto rows = detail::read_whole_rows(path, name, {{.name = "diameter", .dimensions = {Dimension::length}, .headings = {"diameter", "size"}},
                                       {.name = "ground per rock", .dimensions = {Dimension::area}, .headings = {"ground per rock", "area per rock"}}, kRemark},
                          {{"diameter", "diameter (m)"}, {"ground per rock", "ground per rock (m^2)"}}, problems);
  if (!rows) return std::nullopt;
  const detail::Sheet* sheet = &rows->sheet;
  std::vector<performance::RockLaw::Row> out;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) out.push_back({sheet->number("diameter")->values[i], 1 / sheet->number("ground per rock")->values[i]});
  base::Problems found;
  const bool good = performance::RockLaw::by_table(out, {.file = name}, found).has_value();
  detail::tell_by_line(found, name, *rows, problems);
  if (!good || !rows->complete) return std::nullopt;
  return out;
}

std::optional<TripSheet> read_trip(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto rows = detail::read_whole_rows(path, name, {{.name = "distance", .dimensions = {Dimension::length}, .headings = {"distance", "length"}},
                                       {.name = "gradient", .dimensions = {Dimension::angle}, .headings = {"gradient", "slope"}},
                                       {.name = "speed", .dimensions = {Dimension::speed}, .headings = {"speed"}, .may_be_blank = true},
                                       {.name = "halt", .dimensions = {Dimension::time}, .headings = {"halt", "stop", "standing"}, .may_be_blank = true},
                                       {.name = "ground", .dimensions = {}, .headings = {"ground", "zone", "soil"}, .may_be_blank = true},
                                       {.name = "name", .dimensions = {}, .headings = {"name", "row", "stretch"}, .may_be_blank = true}, kRemark},
                          {{"distance", "distance (m)"}, {"gradient", "gradient (deg)"}}, problems);
  if (!rows) return std::nullopt;
  const detail::Sheet* sheet = &rows->sheet;
  TripSheet out{.lines = sheet->line};
  for (std::size_t i = 0; i < sheet->line.size(); ++i) {
    out.rows.push_back({.name = sheet->text("name", i), .distance_m = sheet->number("distance")->values[i], .gradient_rad = sheet->number("gradient")->values[i],
                        .speed_m_s = value(sheet->number("speed"), i), .halt_s = value(sheet->number("halt"), i).value_or(0)});
    out.grounds.push_back(sheet->text("ground", i));
  }
  base::Problems found;
  performance::check_trip(out.rows, 1, {.file = name}, found);
  detail::tell_by_line(found, name, *rows, problems);
  if (found.refused() || !rows->complete) return std::nullopt;
  return out;
}

}  // namespace hardpan::formats
