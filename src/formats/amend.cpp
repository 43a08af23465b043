// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/amend.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "formats/detail/keys.hpp"
#include "formats/detail/sheet.hpp"
#include "io/csv.hpp"
#include "io/files.hpp"
#include "io/toml.hpp"

namespace hardpan::formats::detail {

namespace fs = std::filesystem;

std::optional<std::string> AmendedFiles::path_of(const std::string& file) const {
  const auto it = paths_.find(file);
  return it == paths_.end() ? std::nullopt : std::optional(it->second);
}

std::vector<campaign::Amendment> read_amendments(const std::string& folder, base::Problems& problems) {
  std::vector<campaign::Amendment> out;
  base::Problems found;
  const std::string path = folder + "/amendments.csv";
  // The heading line alone is the usual state: nothing has been amended.
  const auto bytes = io::read_file(path, problems);
  if (!bytes) return out;
  const std::size_t heading_end = bytes->find('\n');
  if (heading_end == std::string::npos || bytes->find_first_not_of(" \t\r\n", heading_end) == std::string::npos) return out;
  const auto table = io::read_csv_table(path, {.given = {.separator = io::CsvSeparator::comma, .decimal = '.', .header_lines = 1}}, found);
  for (base::Problem p : found.list()) {
    if (p.place.file == path) p.place.file = "amendments.csv";
    if (p.severity == base::Severity::refusal) problems.refuse(p); else problems.remark(p);
  }
  if (!table || table->layout.headers.empty()) return out;
  const std::vector<std::string> wanted{"file", "line", "column", "action", "old", "new", "initials", "time", "reason"};
  std::vector<std::size_t> at;
  for (const std::string& w : wanted) {
    const auto& h = table->layout.headers.front();
    const auto it = std::find_if(h.begin(), h.end(), [&](const std::string& x) { return plain_heading(x) == w; });
    if (it == h.end()) {
      problems.refuse({.place = {.file = "amendments.csv", .line = 1}, .what = "the heading line lacks \"" + w + "\"",
                       .bound = "file,line,column,action,old,new,initials,time,reason"});
      return out;
    }
    at.push_back(static_cast<std::size_t>(it - h.begin()));
  }
  for (const io::CsvRow& row : table->rows) {
    const auto cell = [&](std::size_t i) { return at[i] < row.cells.size() ? row.cells[at[i]] : std::string(); };
    campaign::Amendment a{.file = cell(0), .column = cell(2), .action = cell(3), .old_value = cell(4), .new_value = cell(5),
                          .initials = cell(6), .time = cell(7), .reason = cell(8), .line = row.line};
    const base::Place place{.file = "amendments.csv", .line = row.line};
    const std::string number = cell(1);
    const auto read = std::from_chars(number.data(), number.data() + number.size(), a.target_line);
    if (read.ec != std::errc{} || read.ptr != number.data() + number.size()) a.target_line = 0;
    if (a.target_line == 0) problems.refuse({.place = place, .what = "the line amended is not a number", .value = cell(1), .bound = "1 or more"});
    if (a.action != "exclude" && a.action != "correct") problems.refuse({.place = place, .what = "not an action", .value = a.action, .bound = "exclude, correct"});
    if (!a.time.empty() && !is_date_or_clock(a.time)) {
      problems.refuse({.place = place, .what = "not a date or time that exists", .value = a.time, .bound = "2026-04-12, 2026-04-12T09:40 or 09:40", .remedy = "write year, month and day in this order"});
    }
    if (a.initials.empty() || a.reason.empty()) problems.refuse({.place = place, .what = "an amendment needs initials and a reason", .remedy = "who changed it, and why"});
    out.push_back(a);
  }
  return out;
}

AmendedFiles apply_amendments(const std::string& folder, const std::vector<campaign::Amendment>& amendments, base::Problems& problems) {
  AmendedFiles out;
  std::map<std::string, std::vector<const campaign::Amendment*>> by_file;
  for (const auto& a : amendments) by_file[a.file].push_back(&a);
  if (by_file.empty()) return out;
  std::error_code no_folder;
  const fs::path temporary = fs::temp_directory_path(no_folder);
  std::string pattern = (temporary / "hardpan-amended-XXXXXX").string();
  if (no_folder || !mkdtemp(pattern.data())) {
    throw base::EnvironmentError("cannot make a folder for amended copies in the temporary folder " + temporary.string() + ": check TMPDIR and the room left");
  }
  out.keep(std::shared_ptr<void>(new std::string(pattern), [](void* p) {
    auto* path = static_cast<std::string*>(p);
    std::error_code ignore;
    fs::remove_all(*path, ignore);
    delete path;
  }));
  std::size_t number = 0;
  for (const auto& [file, list] : by_file) {
    const base::Place first{.file = "amendments.csv", .line = list.front()->line};
    std::error_code error;
    if (file.empty() || file.find("..") != std::string::npos || !fs::is_regular_file(folder + "/" + file, error)) {
      problems.refuse({.place = first, .what = "the file amended is not in the campaign", .value = file});
      continue;
    }
    const auto bytes = io::read_file(folder + "/" + file, problems);
    base::Problems ignore;
    const auto layout = io::sniff_csv(folder + "/" + file, {}, ignore);
    if (!bytes || !layout || layout->headers.empty()) continue;  // read_sheet names what is wrong with it
    std::vector<std::string> lines;
    std::string line;
    for (const char ch : *bytes) {
      line += ch;
      if (ch == '\n') {
        lines.push_back(line);
        line.clear();
      }
    }
    if (!line.empty()) lines.push_back(line);
    const char separator = layout->separator == io::CsvSeparator::semicolon ? ';' : layout->separator == io::CsvSeparator::tab ? '\t'
                           : layout->separator == io::CsvSeparator::bar ? '|' : ',';
    for (const campaign::Amendment* a : list) {
      const base::Place place{.file = "amendments.csv", .line = a->line};
      if (a->target_line > lines.size() || a->target_line < layout->first_data_line) {
        problems.refuse({.place = place, .what = "this line of " + file + " is not a data line", .value = std::to_string(a->target_line),
                         .bound = fmt::format("{} to {}", layout->first_data_line, lines.size())});
        continue;
      }
      std::string& target = lines[a->target_line - 1];
      if (a->action == "exclude" && a->column.empty()) {
        target = "\n";  // a blank line keeps the numbers of the others
        continue;
      }
      const auto& h = layout->headers.front();
      const auto it = std::find_if(h.begin(), h.end(), [&](const std::string& x) { return x == a->column || plain_heading(x) == plain_heading(a->column); });
      std::vector<std::string> cells;
      std::string cell;
      for (const char ch : target) {
        if (ch == separator) {
          cells.push_back(cell);
          cell.clear();
        } else if (ch != '\n' && ch != '\r') {
          cell += ch;
        }
      }
      cells.push_back(cell);
      const auto column = static_cast<std::size_t>(it - h.begin());
      if (it == h.end() || column >= cells.size()) {
        std::string headings;
        for (const std::string& x : h) headings += (headings.empty() || x.empty() ? "" : ", ") + x;
        const auto near = io::nearest_word(a->column, h);
        problems.refuse({.place = place, .what = it == h.end() ? "no heading of this name in " + file : fmt::format("line {} of {} has no cell in this column", a->target_line, file), .value = a->column,
                         .bound = headings, .remedy = near && it == h.end() ? "did you mean \"" + *near + "\"?" : "name the heading as it stands in the file"});
        continue;
      }
      std::string& old = cells[column];
      if (old != a->old_value) {
        problems.refuse({.place = place, .what = "the old value does not stand there", .value = a->old_value, .bound = "\"" + old + "\" in " + file + fmt::format(":{}", a->target_line),
                         .remedy = "amend the value as it stands in the record"});
        continue;
      }
      old = a->action == "exclude" ? "" : a->new_value;
      target.clear();
      for (std::size_t i = 0; i < cells.size(); ++i) target += (i ? std::string(1, separator) : "") + cells[i];
      target += "\n";
    }
    const std::string copy = pattern + fmt::format("/{}.csv", number++);
    std::ofstream stream(copy, std::ios::binary);
    for (const std::string& l : lines) stream << l;
    stream.close();
    if (!stream) throw base::EnvironmentError("cannot write an amended copy to " + pattern + ": is the disk full?");
    out.set(file, copy);
  }
  return out;
}

}  // namespace hardpan::formats::detail
