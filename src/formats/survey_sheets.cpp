// SPDX-License-Identifier: Apache-2.0
#include "formats/survey_sheets.hpp"

#include <cmath>

#include "formats/detail/sheet.hpp"

namespace hardpan::formats {
namespace {

using units::Dimension;

std::optional<detail::Sheet> read(const std::string& path, const std::string& name, std::vector<detail::Role> roles, const std::vector<std::pair<std::string, std::string>>& needed, base::Problems& problems) {
  detail::SheetRequest q{.path = path, .file = name, .roles = std::move(roles), .place = {.file = name}};
  base::Problems found;
  auto sheet = detail::read_sheet(q, found);
  bool good = sheet.has_value();
  for (base::Problem p : found.list()) {
    // A cell set aside unseen would shorten the way or drop a speed: here it is refused.
    if (p.severity == base::Severity::remark && p.what.find("set aside") == std::string::npos) {
      problems.remark(std::move(p));
      continue;
    }
    good = false;
    problems.refuse(std::move(p));
  }
  if (!good) return std::nullopt;
  for (const auto& [role, heading] : needed) {
    if (sheet->number(role)) continue;
    problems.refuse({.place = {.file = name, .line = 1}, .what = "no column " + role, .bound = "a heading such as \"" + heading + "\""});
    good = false;
  }
  if (!good) return std::nullopt;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) {
    for (const auto& [role, heading] : needed) {
      if (std::isfinite(sheet->number(role)->values[i])) continue;
      problems.refuse({.place = {.file = name, .line = sheet->line[i]}, .what = "no number in column " + role, .remedy = "type it, or leave the row out"});
      good = false;
    }
  }
  if (!good) return std::nullopt;
  return sheet;
}

const detail::Role kRemark{.name = "remark", .dimensions = {}, .headings = {"remark", "remarks", "note"}, .may_be_blank = true};

// "point[3]" and the like of `found` become lines of the sheet.
void by_line(const base::Problems& found, const std::string& name, const std::vector<std::size_t>& lines, base::Problems& problems) {
  for (base::Problem p : found.list()) {
    const std::size_t bracket = p.place.key.find('[');
    const std::size_t k = bracket == std::string::npos ? 0 : std::stoul(p.place.key.substr(bracket + 1));
    if (k >= 1 && k <= lines.size()) p.place = {.file = name, .line = lines[k - 1]};
    problems.refuse(std::move(p));
  }
}

std::optional<double> value(const detail::Column* c, std::size_t row) {
  if (!c || !std::isfinite(c->values[row])) return std::nullopt;
  return c->values[row];
}

}  // namespace

std::optional<std::vector<performance::ProfilePoint>> read_heights(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto sheet = read(path, name, {{.name = "x", .dimensions = {Dimension::length}, .headings = {"x", "distance", "chainage", "station"}},
                                       {.name = "z", .dimensions = {Dimension::length}, .headings = {"z", "height", "elevation", "level"}}, kRemark},
                          {{"x", "x (m)"}, {"z", "z (m)"}}, problems);
  if (!sheet) return std::nullopt;
  std::vector<performance::ProfilePoint> out;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) out.push_back({sheet->number("x")->values[i], sheet->number("z")->values[i]});
  base::Problems found;
  const bool good = performance::profile_spectrum(out, {.file = name}, found).has_value();
  by_line(found, name, sheet->line, problems);
  if (!good) return std::nullopt;
  return out;
}

std::optional<std::vector<performance::Rock>> read_rocks(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto sheet = read(path, name, {{.name = "x", .dimensions = {Dimension::length}, .headings = {"x", "easting"}},
                                       {.name = "y", .dimensions = {Dimension::length}, .headings = {"y", "northing"}},
                                       {.name = "diameter", .dimensions = {Dimension::length}, .headings = {"diameter", "size", "width"}},
                                       {.name = "height", .dimensions = {Dimension::length}, .headings = {"height"}, .may_be_blank = true}, kRemark},
                          {{"x", "x (m)"}, {"y", "y (m)"}, {"diameter", "diameter (m)"}}, problems);
  if (!sheet) return std::nullopt;
  std::vector<performance::Rock> out;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) {
    out.push_back({sheet->number("x")->values[i], sheet->number("y")->values[i], sheet->number("diameter")->values[i], value(sheet->number("height"), i)});
  }
  base::Problems found;
  constexpr double kFar = 1e5;
  performance::check_rocks(out, {-kFar, -kFar, kFar, kFar}, {.file = name}, found);
  by_line(found, name, sheet->line, problems);
  if (found.refused()) return std::nullopt;
  return out;
}

std::optional<std::vector<performance::RockLaw::Row>> read_rock_law(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto sheet = read(path, name, {{.name = "diameter", .dimensions = {Dimension::length}, .headings = {"diameter", "size"}},
                                       {.name = "ground per rock", .dimensions = {Dimension::area}, .headings = {"ground per rock", "area per rock"}}, kRemark},
                          {{"diameter", "diameter (m)"}, {"ground per rock", "ground per rock (m^2)"}}, problems);
  if (!sheet) return std::nullopt;
  std::vector<performance::RockLaw::Row> out;
  for (std::size_t i = 0; i < sheet->line.size(); ++i) out.push_back({sheet->number("diameter")->values[i], 1 / sheet->number("ground per rock")->values[i]});
  base::Problems found;
  const bool good = performance::RockLaw::by_table(out, {.file = name}, found).has_value();
  by_line(found, name, sheet->line, problems);
  if (!good) return std::nullopt;
  return out;
}

std::optional<TripSheet> read_trip(const std::string& path, const std::string& name, base::Problems& problems) {
  const auto sheet = read(path, name, {{.name = "distance", .dimensions = {Dimension::length}, .headings = {"distance", "length"}},
                                       {.name = "gradient", .dimensions = {Dimension::angle}, .headings = {"gradient", "slope"}},
                                       {.name = "speed", .dimensions = {Dimension::speed}, .headings = {"speed"}, .may_be_blank = true},
                                       {.name = "halt", .dimensions = {Dimension::time}, .headings = {"halt", "stop", "standing"}, .may_be_blank = true},
                                       {.name = "ground", .dimensions = {}, .headings = {"ground", "zone", "soil"}, .may_be_blank = true},
                                       {.name = "name", .dimensions = {}, .headings = {"name", "row", "stretch"}, .may_be_blank = true}, kRemark},
                          {{"distance", "distance (m)"}, {"gradient", "gradient (deg)"}}, problems);
  if (!sheet) return std::nullopt;
  TripSheet out{.lines = sheet->line};
  for (std::size_t i = 0; i < sheet->line.size(); ++i) {
    out.rows.push_back({.name = sheet->text("name", i), .distance_m = sheet->number("distance")->values[i], .gradient_rad = sheet->number("gradient")->values[i],
                        .speed_m_s = value(sheet->number("speed"), i), .halt_s = value(sheet->number("halt"), i).value_or(0)});
    out.grounds.push_back(sheet->text("ground", i));
  }
  base::Problems found;
  performance::check_trip(out.rows, 1, {.file = name}, found);
  by_line(found, name, sheet->line, problems);
  if (found.refused()) return std::nullopt;
  return out;
}

}  // namespace hardpan::formats
