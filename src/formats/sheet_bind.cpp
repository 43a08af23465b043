// SPDX-License-Identifier: Apache-2.0
// Which column of a file is what: headings, unit lines and what the record says, to roles with units.
#include "formats/detail/sheet_bind.hpp"

#include <algorithm>
#include <cmath>

#include "io/csv.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

std::string plain_heading(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (std::isalnum(static_cast<unsigned char>(c)) || (static_cast<unsigned char>(c) & 0x80) != 0) {
      out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (!out.empty() && out.back() != ' ') {
      out += ' ';
    }
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

namespace {

std::string list_of(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& n : names) {
    if (n.empty()) continue;
    out += (out.empty() ? "" : ", ") + n;
  }
  return out;
}

// Columns whose heading is `wanted`: as typed, or its name without unit, case and punctuation aside.
std::vector<std::size_t> find_columns(const Headings& h, const std::string& wanted) {
  std::vector<std::size_t> out;
  for (std::size_t c = 0; c < h.names.size(); ++c) {
    if (h.names[c] == wanted) out.push_back(c);
  }
  if (!out.empty()) return out;
  for (std::size_t c = 0; c < h.names.size(); ++c) {
    if (!h.names[c].empty() && (plain_heading(h.names[c]) == plain_heading(wanted) ||
                                plain_heading(h.read[c].name) == plain_heading(wanted))) {
      out.push_back(c);
    }
  }
  return out;
}

// Where the record says which column, or which unit, a role has.
base::Place said_at(const SheetRequest& q, const std::string& key) {
  const auto it = q.role_places.find(key);
  return it != q.role_places.end() ? it->second : base::Place{.file = q.place.file, .line = q.place.line, .key = q.place.key + "." + key};
}

// "kN, lbf": units that the heading of a role may have, those of the example of a value without their numbers.
std::string units_of(const Role& role) {
  std::string out;
  for (const Dimension d : role.dimensions) {
    if (d == Dimension::none) {
      out += out.empty() ? "%, 1" : ", %, 1";
      continue;
    }
    const std::string text(units::example(d));
    for (std::size_t from = text.find('\''); from != std::string::npos; from = text.find('\'', from + 1)) {
      const std::size_t to = text.find('\'', from + 1);
      const std::size_t unit = std::min(text.find_first_not_of("0123456789./- ", from + 1), to);
      out += (out.empty() ? "" : ", ") + text.substr(unit, to - unit);
      from = to;
    }
  }
  return "a unit such as " + out;
}

// The unit of a column for a role, from the record, the unit line or the heading.
std::optional<units::Unit> unit_of(const SheetRequest& q, const Role& role, const Headings& h, std::size_t column,
                                   Dimension& dimension, base::Problems& problems) {
  const auto stated = q.unit_texts.find(role.name);
  const base::Place place = stated != q.unit_texts.end()
                                ? said_at(q, "units." + role.name)
                                : base::Place{.file = q.file, .line = h.units[column].empty() ? h.name_line : h.unit_line, .column = column + 1};
  std::string typed = stated != q.unit_texts.end() ? stated->second : h.units[column];
  if (role.count) {
    if (typed.empty() && h.read[column].unit_text) typed = *h.read[column].unit_text;
    const units::UnitLookup found = typed.empty() ? units::UnitLookup{} : units::look_up_unit(typed);
    if (typed.empty() || !found.unit || found.unit->dimension == Dimension::none) return units::si(Dimension::none);
    if (found.unit->dimension == Dimension::angle && !found.unit->percent_grade) {
      units::Unit turns = units::si(Dimension::none);  // revolutions
      turns.factor = found.unit->factor / (2 * M_PI);
      return turns;
    }
  }
  std::string last_error, last_remedy;
  bool mass_for_force = false;
  for (const Dimension d : role.dimensions) {
    units::UnitLookup found;
    if (!typed.empty()) {
      found = units::look_up_unit(typed);
      if (found.unit) found = units::accept_unit(*found.unit, d, q.unit_rules);
    } else {
      found = units::accept_heading(h.read[column], d, q.unit_rules);
    }
    if (found.unit) {
      dimension = d;
      return found.unit;
    }
    const std::optional<units::Unit> read = typed.empty() ? h.read[column].unit : units::look_up_unit(typed).unit;
    mass_for_force = mass_for_force || (d == Dimension::force && read && read->dimension == Dimension::mass);
    if (last_error.empty()) {
      last_error = found.error;
      last_remedy = found.remedy;
    }
  }
  if (typed.empty() && h.read[column].unit_text) typed = *h.read[column].unit_text;
  const auto add = [&](const std::string& more) { last_remedy += (last_remedy.empty() ? "" : ", or ") + more; };
  if (typed.empty() && !q.by_itself) {
    const Dimension d = role.dimensions.front();
    add("state it in the record: units = { " + role.name + " = \"" + (d == Dimension::none ? "%" : d == Dimension::angle ? "deg" : std::string(units::si_unit(d))) + "\" }");
  }
  if (mass_for_force) add("set mass_units_are_force = true in the record where the instrument shows force under standard gravity in mass units");
  if (h.guessed_among_several) last_remedy += (last_remedy.empty() ? "" : "; ") + std::string(q.by_itself ? "the file has several heading lines: leave one" : "the file has several heading lines: heading_line and unit_line in the record say which is which");
  problems.refuse({.place = place, .what = "column \"" + h.names[column] + "\" taken as " + role.name + ": " + last_error, .value = typed,
                   .bound = units_of(role), .remedy = last_remedy});
  return std::nullopt;
}

// Whether the column states a unit that the role takes.
bool has_unit_of(const SheetRequest& q, const Role& role, const Headings& h, std::size_t column) {
  return std::any_of(role.dimensions.begin(), role.dimensions.end(), [&](Dimension d) {
    if (h.units[column].empty()) return h.read[column].unit_text && units::accept_heading(h.read[column], d, q.unit_rules).unit;
    const units::UnitLookup found = units::look_up_unit(h.units[column]);
    return found.unit && units::accept_unit(*found.unit, d, q.unit_rules).unit.has_value();
  });
}

}  // namespace

// Which heading line names and which gives units, among several.
Headings heading_lines(const SheetRequest& q, const io::CsvLayout& layout) {
  Headings h;
  const auto& lines = layout.headers;
  h.names.assign(layout.columns, "");
  h.units.assign(layout.columns, "");
  if (!lines.empty()) {
    h.guessed_among_several = lines.size() > 1 && !q.heading_line;
    const std::size_t name_line = std::min(q.heading_line.value_or(1), lines.size()) - (q.heading_line.value_or(1) > 0 ? 1 : 0);
    for (std::size_t c = 0; c < layout.columns && c < lines[name_line].size(); ++c) h.names[c] = lines[name_line][c];
    if (name_line < layout.header_line_numbers.size()) h.name_line = layout.header_line_numbers[name_line];
    std::optional<std::size_t> unit_line;
    if (q.unit_line) {
      if (*q.unit_line >= 1 && *q.unit_line <= lines.size()) unit_line = *q.unit_line - 1;
    } else {
      // A line below the names most of whose cells are units.
      for (std::size_t l = 0; l < lines.size() && !unit_line; ++l) {
        if (l == name_line) continue;
        std::size_t filled = 0, known = 0;
        for (std::string cell : lines[l]) {
          if (cell.size() > 2 && (cell.front() == '[' || cell.front() == '(')) cell = cell.substr(1, cell.size() - 2);
          if (cell.empty()) continue;
          ++filled;
          known += units::find_unit(cell) ? 1 : 0;
        }
        if (filled > 0 && 2 * known > filled) unit_line = l;
      }
    }
    if (unit_line) {
      if (*unit_line < layout.header_line_numbers.size()) h.unit_line = layout.header_line_numbers[*unit_line];
      for (std::size_t c = 0; c < layout.columns && c < lines[*unit_line].size(); ++c) {
        std::string cell = lines[*unit_line][c];
        if (cell.size() > 2 && (cell.front() == '[' || cell.front() == '(')) cell = cell.substr(1, cell.size() - 2);
        h.units[c] = cell;
      }
    }
  }
  for (const std::string& n : h.names) h.read.push_back(units::read_heading(n));
  return h;
}

// Columns and units said of a role that this kind of record does not have.
void refuse_unknown_roles(const SheetRequest& q, base::Problems& problems) {
  std::vector<std::string> names;
  for (const Role& role : q.roles) names.push_back(role.name);
  const auto check = [&](const std::string& table, const std::string& role) {
    if (std::find(names.begin(), names.end(), role) != names.end()) return;
    const auto near = io::nearest_word(role, names);
    problems.refuse({.place = said_at(q, table + "." + role), .what = "this kind of record has no role of this name", .value = role,
                     .bound = list_of(names), .remedy = near ? "did you mean " + *near + "?" : "use one of the list"});
  };
  for (const auto& [role, headings] : q.columns) check("columns", role);
  for (const auto& [role, unit] : q.unit_texts) check("units", role);
}

std::vector<Bound> bind_roles(const SheetRequest& q, const Headings& h, base::Problems& problems) {
  std::vector<Bound> out;
  std::vector<char> taken(h.names.size(), 0);
  const auto bind = [&](const Role& role, std::size_t c) {
    Bound b{.role = &role, .column = c};
    taken[c] = 1;
    if (!role.dimensions.empty()) {
      const auto unit = unit_of(q, role, h, c, b.dimension, problems);
      if (!unit) return;
      b.unit = *unit;
    }
    out.push_back(b);
  };
  for (const Role& role : q.roles) {
    const auto given = q.columns.find(role.name);
    if (given == q.columns.end()) continue;
    for (const std::string& heading : given->second) {
      const auto found = find_columns(h, heading);
      if (found.size() == 1 || (found.size() > 1 && role.many)) {
        for (const std::size_t c : found) bind(role, c);
        continue;
      }
      const auto near = io::nearest_word(heading, h.names);
      problems.refuse({.place = said_at(q, "columns." + role.name),
                       .what = found.empty() ? "no heading of this name in " + q.file : "more than one heading of this name in " + q.file,
                       .value = heading, .bound = list_of(h.names),
                       .remedy = near && found.empty() ? "did you mean \"" + *near + "\"?" : "name the heading as it stands in the file"});
    }
  }
  for (const Role& role : q.roles) {
    if (q.columns.contains(role.name) || q.made.contains(role.name)) continue;
    std::vector<std::size_t> found;
    for (std::size_t c = 0; c < h.names.size(); ++c) {
      if (taken[c] || h.names[c].empty()) continue;
      const std::string name = plain_heading(h.read[c].name), whole = plain_heading(h.names[c]);
      for (const std::string& word : role.headings) {
        const bool prefix = role.many && (name.starts_with(word + " ") || (name.starts_with(word) && name.size() > word.size() &&
                                                                          std::isdigit(static_cast<unsigned char>(name[word.size()]))));
        if (name == word || whole == word || prefix) {
          found.push_back(c);
          break;
        }
      }
    }
    if (found.size() > 1 && !role.many) {
      problems.refuse({.place = {.file = q.file, .line = h.name_line}, .what = "more than one heading may be the " + role.name,
                       .value = h.names[found[0]] + "; " + h.names[found[1]],
                       .remedy = q.by_itself ? "leave one of them out" : "say which in campaign.toml: columns = { " + role.name + " = \"...\" }"});
      continue;
    }
    for (const std::size_t c : found) bind(role, c);
  }
  for (const Role& role : q.roles) {
    const auto bound = [&](const std::string& name) { return std::any_of(out.begin(), out.end(), [&](const Bound& b) { return b.role->name == name; }); };
    const auto told = [&](const std::string& name) { return q.columns.contains(name) || q.made.contains(name) || bound(name); };
    if (!role.by_unit_without || told(role.name) || told(*role.by_unit_without)) continue;
    std::vector<std::size_t> fit;
    for (std::size_t c = 0; c < h.names.size(); ++c) {
      if (!taken[c] && !h.names[c].empty() && has_unit_of(q, role, h, c)) fit.push_back(c);
    }
    if (fit.size() != 1) continue;
    problems.remark({.place = {.file = q.file, .line = h.name_line, .column = fit[0] + 1},
                     .what = "column \"" + h.names[fit[0]] + "\" is taken as " + role.name + ": no heading names one, and no other column has such a unit",
                     .remedy = "if it holds something else, say which column it is in campaign.toml: columns = { " + role.name + " = \"heading\" }"});
    bind(role, fit[0]);
  }
  return out;
}

void remark_unused(const SheetRequest& q, const Headings& h, const std::vector<Bound>& bound, base::Problems& problems) {
  constexpr std::size_t kNamed = 8;
  std::string list;
  std::size_t unused = 0, first = 0;
  for (std::size_t c = 0; c < h.names.size(); ++c) {
    if (h.names[c].empty() || std::any_of(bound.begin(), bound.end(), [&](const Bound& b) { return b.column == c; })) continue;
    if (unused++ == 0) first = c;
    if (unused <= kNamed) list += (unused > 1 ? ", " : "") + h.names[c];
  }
  if (unused == 0) return;
  std::string known;
  for (const Role& role : q.roles) {
    if (std::none_of(bound.begin(), bound.end(), [&](const Bound& b) { return b.role->name == role.name; })) known += (known.empty() ? "" : ", ") + role.name;
  }
  problems.remark({.place = {.file = q.file, .line = h.name_line, .column = first + 1}, .what = unused == 1 ? "a column is not used" : "columns are not used",
                   .value = list + (unused > kNamed ? ", ..." : ""), .remedy = known.empty() ? "" : "if one of them is " + known + (q.by_itself ? ", call it so" : ", say so: columns = { role = \"heading\" }"),
                   .count = unused});
}

// Columns made of others are read as plain numbers and then given their unit.
bool add_made(const SheetRequest& q, const Headings& h, std::vector<Role>& extra_roles, std::vector<Bound>& bound,
              base::Problems& problems) {
  bool ok = true;
  extra_roles.reserve(64);
  for (const auto& [role, recipe] : q.made) {
    for (const auto& [heading, factor] : recipe.sum) {
      const auto found = find_columns(h, heading);
      if (found.size() != 1) {
        const auto near = io::nearest_word(heading, h.names);
        problems.refuse({.place = recipe.place, .what = found.empty() ? "no heading of this name in " + q.file : "more than one heading of this name",
                         .value = heading, .bound = list_of(h.names), .remedy = near ? "did you mean \"" + *near + "\"?" : ""});
        ok = false;
        continue;
      }
      extra_roles.push_back({.name = "made:" + role + ":" + heading, .dimensions = {Dimension::none}});
      bound.push_back({.role = &extra_roles.back(), .column = found[0], .unit = units::si(Dimension::none)});
    }
  }
  return ok;
}

void finish_made(const SheetRequest& q, Sheet& sheet, base::Problems& problems) {
  for (const auto& [role_name, recipe] : q.made) {
    const auto role = std::find_if(q.roles.begin(), q.roles.end(), [&](const Role& r) { return r.name == role_name; });
    if (role == q.roles.end()) {
      problems.refuse({.place = recipe.place, .what = "this kind of record has no role of this name", .value = role_name});
      continue;
    }
    const units::UnitLookup unit = units::look_up_unit(recipe.unit);
    std::optional<Dimension> dimension;
    for (const Dimension d : role->dimensions) {
      if (unit.unit && units::accept_unit(*unit.unit, d, q.unit_rules).unit) dimension = d;
    }
    if (!dimension) {
      problems.refuse({.place = recipe.place, .what = "the unit of this channel does not fit its role", .value = recipe.unit,
                       .bound = role->dimensions.empty() ? "" : std::string(units::example(role->dimensions.front())), .remedy = unit.remedy});
      continue;
    }
    Column made{.heading = role_name, .dimension = *dimension, .unit = *unit.unit};
    made.values.assign(sheet.line.size(), 0);
    for (const auto& [heading, factor] : recipe.sum) {
      const Column* part = sheet.number("made:" + role_name + ":" + heading);
      if (!part) continue;
      for (std::size_t i = 0; i < made.values.size(); ++i) made.values[i] += factor * part->values[i];
    }
    for (double& v : made.values) v = units::to_si(v, *unit.unit);
    sheet.numbers[role_name].push_back(std::move(made));
  }
  std::erase_if(sheet.numbers, [](const auto& entry) { return entry.first.starts_with("made:"); });
}

}  // namespace hardpan::formats::detail
