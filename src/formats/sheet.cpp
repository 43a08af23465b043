// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/sheet.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>

#include "formats/detail/sheet_bind.hpp"
#include "io/files.hpp"
#include "io/toml.hpp"
#include "units/count.hpp"

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

namespace {

constexpr std::uintmax_t kTextLimitBytes = 2u << 20;  // larger files without text roles are read as numbers only

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
                     .what = fmt::format("column \"{}\": {} (line {}{})", heading, what, lines_, count_ > 4 ? " ..." : ""),
                     .value = typed_, .count = count_});
  }
  // Of a sheet by itself; tells whether there was one.
  bool refuse(const SheetRequest& q, const std::string& heading, const char* what, const char* remedy, base::Problems& problems) const {
    if (count_ == 0) return false;
    problems.refuse({.place = {.file = q.file, .line = first_}, .what = fmt::format("column \"{}\": {}{}", heading, what, count_ == 1 ? "" : fmt::format(" (lines {}{})", lines_, count_ > 4 ? " ..." : "")),
                     .value = typed_, .remedy = remedy, .count = count_});
    return true;
  }
  [[nodiscard]] std::size_t count() const { return count_; }

 private:
  std::size_t count_ = 0, first_ = 0;
  std::string lines_, typed_;
};

// "7,5" in a file whose separator is the comma leaves its decimals in the column behind, which is a remark's or has no name.
void refuse_split_decimals(const SheetRequest& q, const io::CsvTable& table, const Headings& h, const std::vector<Bound>& bound, base::Problems& problems) {
  if (table.layout.separator != io::CsvSeparator::comma) return;
  for (std::size_t c = 1; c < h.names.size(); ++c) {
    const auto role = std::find_if(bound.begin(), bound.end(), [&](const Bound& b) { return b.column == c; });
    if (!h.names[c].empty() && (role == bound.end() || role->role->name != "remark")) continue;
    std::size_t digits = 0, filled = 0, first = 0;
    std::string before;
    for (const io::CsvRow& row : table.rows) {
      const std::string cell = c < row.cells.size() ? row.cells[c] : "";
      if (cell.empty()) continue;
      ++filled;
      const bool bare = cell.size() <= 3 && std::all_of(cell.begin(), cell.end(), [](unsigned char ch) { return std::isdigit(ch); });
      if (bare && digits++ == 0) {
        first = row.line;
        before = row.cells[c - 1] + "," + cell;
      }
    }
    if (filled < 3 || digits != filled || 2 * filled < table.rows.size()) continue;
    problems.refuse({.place = {.file = q.file, .line = first, .column = c + 1},
                     .what = "the column behind \"" + h.names[c - 1] + "\" holds nothing but one to three digits: a decimal comma in a file separated by commas?", .value = before,
                     .remedy = std::string("export with semicolons or decimal points") + (q.by_itself ? "" : "; if the digits are remarks, map another column: columns = { remark = \"...\" }"), .count = digits});
  }
}

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
    Column column{.heading = h.names[b.column], .dimension = b.dimension, .unit = b.unit};
    CellFaults missing, not_finite, commas;
    for (const io::CsvRow& row : table.rows) {
      double value = std::numeric_limits<double>::quiet_NaN();
      const std::string cell = b.column < row.cells.size() ? row.cells[b.column] : "";
      const units::NumberText n = units::parse_number(cell, sign);
      switch (n.kind) {
        case units::NumberKind::number:
          value = units::to_si(n.value, b.unit);
          if (table.layout.separator == io::CsvSeparator::comma && cell.find(',') != std::string::npos) commas.add(row.line, cell);
          break;
        case units::NumberKind::absent: missing.add(row.line, cell); break;
        case units::NumberKind::not_finite: not_finite.add(row.line, cell); break;
        case units::NumberKind::refused: {
          // A cell may carry its own unit: "3 1/4 in" in a column of millimetres.
          const units::QuantityText whole = units::parse_quantity(cell, b.dimension, q.unit_rules);
          if (whole.ok()) {
            value = whole.si;
          } else if (++refusals <= 20) {
            // Where every row counts, an empty cell is no way out.
            const bool needed = q.by_itself && !b.role->may_be_blank && n.remedy.find("leave the cell empty") != std::string::npos;
            problems.refuse({.place = {.file = q.file, .line = row.line, .column = b.column + 1},
                             .what = "column \"" + h.names[b.column] + "\": " + n.error, .value = cell, .remedy = needed ? "write one number, or leave the row out" : n.remedy});
          }
          break;
        }
      }
      column.values.push_back(value);
    }
    if (q.by_itself) {
      if (!b.role->may_be_blank) sheet.cells_refused |= missing.refuse(q, h.names[b.column], "no value", "type it, or leave the row out", problems);
      sheet.cells_refused |= not_finite.refuse(q, h.names[b.column], "not a finite number", b.role->may_be_blank ? "type it, or leave the cell empty" : "type it, or leave the row out", problems);
    } else {
      if (!b.role->may_be_blank && missing.count() < table.rows.size()) missing.report(q, h.names[b.column], "no value, set aside", problems);
      not_finite.report(q, h.names[b.column], "not a finite number, set aside", problems);
    }
    commas.report(q, h.names[b.column], "written with a decimal comma, read as one", problems);
    sheet.numbers[b.role->name].push_back(std::move(column));
  }
  sheet.cells_refused |= q.by_itself && refusals > 0;
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
    Column column{.heading = h.names[bound[i].column], .dimension = bound[i].dimension, .unit = bound[i].unit};
    column.values = std::move(data.columns[i].values);
    if (bound[i].unit.factor != 1 || bound[i].unit.offset != 0 || bound[i].unit.percent_grade) {
      for (double& v : column.values) v = units::to_si(v, bound[i].unit);
    }
    sheet.numbers[bound[i].role->name].push_back(std::move(column));
  }
}

}  // namespace

std::optional<Sheet> read_sheet(const SheetRequest& q, base::Problems& problems, const LogRules* rules) {
  base::Problems found;  // file names inside are paths: told with the campaign's name below
  std::error_code error;
  const auto bytes = std::filesystem::file_size(q.path, error);
  if (error) {
    problems.refuse({.place = q.place, .what = "the file cannot be opened", .value = q.file, .remedy = q.by_itself ? "check its name and folder" : "check its name under records/"});
    return std::nullopt;
  }
  const auto layout = io::sniff_csv(q.path, q.given, found);
  const auto retell = [&](const base::Problems& from) {
    for (base::Problem p : from.list()) {
      if (p.place.file == q.path) p.place.file = q.file;
      // Without rows the cause may be what the record says of the headings.
      if (p.severity == base::Severity::refusal && !layout && q.given.header_lines) {
        p.remedy += (p.remedy.empty() ? "" : "; ") + fmt::format("the record says header_lines = {}", *q.given.header_lines);
      }
      if (q.by_itself && p.remedy.find("this record") != std::string::npos) p.remedy = "save it with one separator, best semicolons, and decimal points";
      if (p.severity == base::Severity::refusal) problems.refuse(p); else problems.remark(p);
    }
  };
  if (!layout || found.refused()) {
    retell(found);
    return std::nullopt;
  }
  Sheet sheet;
  const Headings h = heading_lines(q, *layout);
  sheet.headings = h.names;
  if (layout->headers.empty()) {
    found.refuse({.place = {.file = q.file, .line = 1}, .what = "the file has no heading line",
                  .remedy = "add one line of headings with units, such as \"Sinkage (mm);Load (N)\""});
  }
  if (layout->first_data_line == 0) {
    found.refuse({.place = {.file = q.file}, .what = "the file has headings but no rows", .remedy = "add the readings or remove the record"});
  }
  refuse_unknown_roles(q, found);
  std::vector<Bound> bound = bind_roles(q, h, found);
  std::vector<Role> extra;
  const bool made_ok = add_made(q, h, extra, bound, found);
  if (found.refused() || !made_ok) {
    const auto point = std::find_if(bound.begin(), bound.end(), [](const Bound& b) { return b.role->name == "point"; });
    base::Problems unread;  // the refusal of the columns stands for it
    if (q.points && point != bound.end() && bytes <= kTextLimitBytes) {
      const auto table = io::read_csv_table(q.path, {.given = q.given}, unread);
      for (const io::CsvRow& row : table ? table->rows : std::vector<io::CsvRow>{}) {
        const std::string cell = point->column < row.cells.size() ? row.cells[point->column] : "";
        if (!cell.empty() && std::find(q.points->begin(), q.points->end(), cell) == q.points->end()) refuse_point({.file = q.file, .line = row.line}, cell, *q.points, found);
      }
    }
    retell(found);
    return std::nullopt;
  }
  remark_unused(q, h, bound, found);
  const auto is_text = [](const Bound& b) { return b.role->dimensions.empty(); };
  const bool timed = rules && (q.made.contains("time") || std::any_of(bound.begin(), bound.end(), [](const Bound& b) { return b.role->name == "time"; }));
  if (timed && bytes > io::CsvTableOptions{}.max_bytes) {
    for (const Bound& b : bound) {
      if (!is_text(b)) continue;
      found.remark({.place = {.file = q.file, .line = h.name_line, .column = b.column + 1},
                    .what = "text is not read from a log of this size: column \"" + h.names[b.column] + "\" (" + b.role->name + ") is passed over",
                    .bound = fmt::format("{} MiB or fewer", io::CsvTableOptions{}.max_bytes >> 20),
                    .remedy = "say what holds for the whole log in its [[record]]"});
    }
    std::erase_if(bound, is_text);
  }
  const bool any_text = std::any_of(bound.begin(), bound.end(), is_text);
  const bool by_blocks = timed && bytes > kTextLimitBytes && !any_text;
  if (by_blocks) {
    fill_log(q, *rules, *layout, h, bound, sheet, found);
  } else if (bytes > kTextLimitBytes && !any_text) {
    fill_from_columns(q, *layout, h, bound, sheet, found);
  } else {
    const auto table = io::read_csv_table(q.path, {.given = q.given}, found);
    if (table) refuse_split_decimals(q, *table, h, bound, found);
    if (table) fill_from_table(q, *table, h, bound, sheet, found);
  }
  if (!found.refused() && !by_blocks) finish_made(q, sheet, found);
  retell(found);
  if (found.refused() && !sheet.cells_refused) return std::nullopt;
  if (!by_blocks) sheet.rows = sheet.line.size();
  return sheet;
}

bool share_kept(const Sheet& sheet, const std::string& file, double remark_share, base::Problems& problems) {
  if (static_cast<double>(sheet.rows_set_aside) <= remark_share * static_cast<double>(sheet.rows)) return true;
  problems.refuse({.place = {.file = file}, .what = fmt::format("{} of {} had to be set aside", sheet.rows_set_aside, units::print_count(sheet.rows, "row")),
                   .bound = fmt::format("at most {:.0f} %", 100 * remark_share),
                   .remedy = "mend or leave out the record; remark_share in campaign.toml sets the bound"});
  return false;
}

void refuse_point(const base::Place& place, const std::string& point, const std::vector<std::string>& known, base::Problems& problems) {
  const auto near = io::nearest_word(point, known);
  problems.refuse({.place = place, .what = "no point of this name in campaign.toml", .value = point, .bound = units::print_count(known.size(), "point is listed", "points are listed"),
                   .remedy = near ? "did you mean " + *near + "?" : "add a [[point]]"});
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
