// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/sheet.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>

#include "io/files.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

const Column* Sheet::number(const std::string& role) const {
  const auto it = numbers.find(role);
  return it == numbers.end() || it->second.empty() ? nullptr : &it->second.front();
}
std::string Sheet::text(const std::string& role, std::size_t row) const {
  const auto it = texts.find(role);
  return it == texts.end() ? std::string() : it->second[row];
}

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

constexpr std::uintmax_t kTextLimitBytes = 2u << 20;  // larger files without text roles are read as numbers only

struct Headings {
  std::vector<std::string> names;         // as typed
  std::vector<std::string> units;         // from a unit line; empty where there is none
  std::vector<units::Heading> read;       // name and unit of the name line
};

// Which heading line names and which gives units, among several.
Headings heading_lines(const SheetRequest& q, const io::CsvLayout& layout) {
  Headings h;
  const auto& lines = layout.headers;
  h.names.assign(layout.columns, "");
  h.units.assign(layout.columns, "");
  if (!lines.empty()) {
    const std::size_t name_line = std::min(q.heading_line.value_or(1), lines.size()) - (q.heading_line.value_or(1) > 0 ? 1 : 0);
    for (std::size_t c = 0; c < layout.columns && c < lines[name_line].size(); ++c) h.names[c] = lines[name_line][c];
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

// The unit of a column for a role, from the record, the unit line or the heading.
std::optional<units::Unit> unit_of(const SheetRequest& q, const Role& role, const Headings& h, std::size_t column,
                                   std::size_t header_line, Dimension& dimension, base::Problems& problems) {
  const auto stated = q.unit_texts.find(role.name);
  const base::Place place = stated != q.unit_texts.end()
                                ? said_at(q, "units." + role.name)
                                : base::Place{.file = q.file, .line = header_line, .column = column + 1};
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
    if (last_error.empty()) {
      last_error = found.error;
      last_remedy = found.remedy;
    }
  }
  if (typed.empty() && h.read[column].unit_text) typed = *h.read[column].unit_text;
  problems.refuse({.place = place, .what = "column \"" + h.names[column] + "\" taken as " + role.name + ": " + last_error, .value = typed,
                   .bound = std::string(units::example(role.dimensions.front())), .remedy = last_remedy});
  return std::nullopt;
}

struct Bound {              // a role tied to a column of the file
  const Role* role = nullptr;
  std::size_t column = 0;
  units::Unit unit;
  Dimension dimension = Dimension::none;
};

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

std::vector<Bound> bind_roles(const SheetRequest& q, const Headings& h, std::size_t header_line, base::Problems& problems) {
  std::vector<Bound> out;
  std::vector<char> taken(h.names.size(), 0);
  const auto bind = [&](const Role& role, std::size_t c) {
    Bound b{.role = &role, .column = c};
    taken[c] = 1;
    if (!role.dimensions.empty()) {
      const auto unit = unit_of(q, role, h, c, header_line, b.dimension, problems);
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
      problems.refuse({.place = {.file = q.file, .line = header_line}, .what = "more than one heading may be the " + role.name,
                       .value = h.names[found[0]] + "; " + h.names[found[1]],
                       .remedy = "say which in campaign.toml: columns = { " + role.name + " = \"...\" }"});
      continue;
    }
    for (const std::size_t c : found) bind(role, c);
  }
  return out;
}

// Counts faulty cells of one column and names the first lines.
class CellFaults {
 public:
  void add(std::size_t line, const std::string& typed) {
    if (count_++ == 0) {
      first_ = line;
      typed_ = typed;
    }
    if (count_ <= 4) lines_ += (lines_.empty() ? "" : ", ") + std::to_string(line);
  }
  void report(const SheetRequest& q, const std::string& heading, const char* what, base::Problems& problems) const {
    if (count_ == 0) return;
    problems.remark({.place = {.file = q.file, .line = first_},
                     .what = fmt::format("column \"{}\": {} (line {}{}), set aside", heading, what, lines_, count_ > 4 ? " ..." : ""),
                     .value = typed_, .count = count_});
  }
  [[nodiscard]] std::size_t count() const { return count_; }

 private:
  std::size_t count_ = 0, first_ = 0;
  std::string lines_, typed_;
};

void fill_from_table(const SheetRequest& q, const io::CsvTable& table, const Headings& h, const std::vector<Bound>& bound,
                     Sheet& sheet, base::Problems& problems) {
  const units::DecimalSign sign = table.layout.decimal == ',' ? units::DecimalSign::comma : units::DecimalSign::either;
  std::size_t refusals = 0;
  for (const io::CsvRow& row : table.rows) {
    sheet.line.push_back(row.line);
  }
  for (const Bound& b : bound) {
    if (b.role->dimensions.empty()) {
      auto& column = sheet.texts[b.role->name];
      column.clear();
      for (const io::CsvRow& row : table.rows) column.push_back(b.column < row.cells.size() ? row.cells[b.column] : "");
      continue;
    }
    Column column{.heading = h.names[b.column], .dimension = b.dimension};
    CellFaults missing, not_finite;
    for (const io::CsvRow& row : table.rows) {
      double value = std::numeric_limits<double>::quiet_NaN();
      const std::string cell = b.column < row.cells.size() ? row.cells[b.column] : "";
      const units::NumberText n = units::parse_number(cell, sign);
      switch (n.kind) {
        case units::NumberKind::number: value = units::to_si(n.value, b.unit); break;
        case units::NumberKind::absent: missing.add(row.line, cell); break;
        case units::NumberKind::not_finite: not_finite.add(row.line, cell); break;
        case units::NumberKind::refused: {
          // A cell may carry its own unit: "3 1/4 in" in a column of millimetres.
          const units::QuantityText whole = units::parse_quantity(cell, b.dimension, q.unit_rules);
          if (whole.ok()) {
            value = whole.si;
          } else if (++refusals <= 20) {
            problems.refuse({.place = {.file = q.file, .line = row.line, .column = b.column + 1},
                             .what = "column \"" + h.names[b.column] + "\": " + n.error, .value = cell, .remedy = n.remedy});
          }
          break;
        }
      }
      column.values.push_back(value);
    }
    if (!b.role->may_be_blank && missing.count() < table.rows.size()) missing.report(q, h.names[b.column], "no value", problems);
    not_finite.report(q, h.names[b.column], "not a finite number", problems);
    sheet.numbers[b.role->name].push_back(std::move(column));
  }
  if (refusals > 20) {
    problems.refuse({.place = {.file = q.file}, .what = "more cells that are no number",
                     .remedy = "check separator and decimal sign of the file", .count = refusals - 20});
  }
}

void fill_from_columns(const SheetRequest& q, const io::CsvLayout& layout, const Headings& h, const std::vector<Bound>& bound,
                       Sheet& sheet, base::Problems& problems) {
  std::vector<io::WantedColumn> wanted;
  for (const Bound& b : bound) wanted.push_back({.index = b.column});
  io::CsvColumns data = io::read_csv_columns(q.path, layout, wanted, {}, problems);
  if (problems.refused() || !data.summary.complete) return;  // the refusal tells why
  io::report_csv_faults(q.file, layout, wanted, data.summary, problems);
  sheet.logger = true;
  sheet.line.resize(data.summary.rows);
  for (std::size_t k = 0; k < data.summary.rows; ++k) sheet.line[k] = data.lines.line_of(k);
  for (std::size_t i = 0; i < bound.size(); ++i) {
    Column column{.heading = h.names[bound[i].column], .dimension = bound[i].dimension};
    column.values = std::move(data.columns[i].values);
    if (bound[i].unit.factor != 1 || bound[i].unit.offset != 0 || bound[i].unit.percent_grade) {
      for (double& v : column.values) v = units::to_si(v, bound[i].unit);
    }
    sheet.numbers[bound[i].role->name].push_back(std::move(column));
  }
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
    Column made{.heading = role_name, .dimension = *dimension};
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

}  // namespace

std::optional<Sheet> read_sheet(const SheetRequest& q, base::Problems& problems) {
  base::Problems found;  // file names inside are paths: told with the campaign's name below
  std::error_code error;
  const auto bytes = std::filesystem::file_size(q.path, error);
  if (error) {
    problems.refuse({.place = q.place, .what = "the file cannot be opened", .value = q.file, .remedy = "check its name under records/"});
    return std::nullopt;
  }
  const auto retell = [&](const base::Problems& from) {
    for (base::Problem p : from.list()) {
      if (p.place.file == q.path) p.place.file = q.file;
      if (p.severity == base::Severity::refusal) problems.refuse(p); else problems.remark(p);
    }
  };
  const auto layout = io::sniff_csv(q.path, q.given, found);
  if (!layout || found.refused()) {
    retell(found);
    return std::nullopt;
  }
  Sheet sheet;
  const Headings h = heading_lines(q, *layout);
  sheet.headings = h.names;
  const std::size_t header_line = layout->header_line_numbers.empty() ? 1 : layout->header_line_numbers.front();
  if (layout->headers.empty()) {
    found.refuse({.place = {.file = q.file, .line = 1}, .what = "the file has no heading line",
                  .remedy = "add one line of headings with units, such as \"Sinkage (mm);Load (N)\""});
  }
  if (layout->first_data_line == 0) {
    found.refuse({.place = {.file = q.file}, .what = "the file has headings but no rows", .remedy = "add the readings or remove the record"});
  }
  refuse_unknown_roles(q, found);
  std::vector<Bound> bound = bind_roles(q, h, header_line, found);
  std::vector<Role> extra;
  const bool made_ok = add_made(q, h, extra, bound, found);
  if (found.refused() || !made_ok) {
    retell(found);
    return std::nullopt;
  }
  const bool any_text = std::any_of(bound.begin(), bound.end(), [](const Bound& b) { return b.role->dimensions.empty(); });
  if (bytes > kTextLimitBytes && !any_text) {
    fill_from_columns(q, *layout, h, bound, sheet, found);
  } else {
    const auto table = io::read_csv_table(q.path, {.given = q.given}, found);
    if (table) fill_from_table(q, *table, h, bound, sheet, found);
  }
  if (!found.refused()) finish_made(q, sheet, found);
  retell(found);
  if (found.refused()) return std::nullopt;
  sheet.rows = sheet.line.size();
  return sheet;
}

bool share_kept(const Sheet& sheet, const std::string& file, double remark_share, base::Problems& problems) {
  if (static_cast<double>(sheet.rows_set_aside) <= remark_share * static_cast<double>(sheet.rows)) return true;
  problems.refuse({.place = {.file = file}, .what = fmt::format("{} of {} rows had to be set aside", sheet.rows_set_aside, sheet.rows),
                   .bound = fmt::format("at most {:.0f} %", 100 * remark_share),
                   .remedy = "mend or leave out the record; remark_share in campaign.toml sets the bound"});
  return false;
}

void keep_rows(Sheet& sheet, const std::vector<char>& keep) {
  const auto filter = [&](auto& values) {
    std::size_t to = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (keep[i]) {
        if (to != i) values[to] = std::move(values[i]);
        ++to;
      }
    }
    values.resize(to);
  };
  for (auto& [role, columns] : sheet.numbers) {
    for (Column& c : columns) filter(c.values);
  }
  for (auto& [role, values] : sheet.texts) filter(values);
  filter(sheet.line);
}

}  // namespace hardpan::formats::detail
