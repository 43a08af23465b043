// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "io/csv_number.hpp"
#include "io/detail/csv_records.hpp"

namespace hardpan::io::detail {
namespace {

bool is_line_end(char c) { return c == '\n' || c == '\r'; }

// at stands on a line end: moves behind LF, CR or CRLF.
void skip_line_end(std::string_view s, std::size_t& at) {
  if (s[at] == '\r' && at + 1 < s.size() && s[at + 1] == '\n') ++at;
  ++at;
}

// Whether the quote at `at` is a ditto mark: followed by a separator or line end, not closed on its line.
bool is_ditto(std::string_view s, std::size_t at, char separator) {
  const std::size_t next = at + 1;
  if (next < s.size() && s[next] != separator && !is_line_end(s[next])) return false;
  for (std::size_t i = next; i < s.size() && !is_line_end(s[i]); ++i) {
    if (s[i] == '"') return false;
  }
  return true;
}

// at stands on the opening quote; moves behind the closing one (or to the end).
void read_quoted(std::string_view s, std::size_t& at, Record& record, std::string& cell) {
  record.quoted = true;
  for (++at; at < s.size(); ++at) {
    if (s[at] == '"') {
      if (at + 1 >= s.size() || s[at + 1] != '"') {
        ++at;
        return;
      }
      ++at;
    }
    if (s[at] == '\n' || (s[at] == '\r' && (at + 1 >= s.size() || s[at + 1] != '\n'))) ++record.lines;
    cell += s[at];
  }
  record.unclosed = true;
}

}  // namespace

bool Record::blank() const {
  return std::all_of(cells.begin(), cells.end(), [](const std::string& c) { return c.empty(); });
}

char separator_char(CsvSeparator separator) {
  switch (separator) {
    case CsvSeparator::comma: return ',';
    case CsvSeparator::semicolon: return ';';
    case CsvSeparator::tab: return '\t';
    case CsvSeparator::bar: return '|';
    case CsvSeparator::blanks:
    case CsvSeparator::none: return '\0';
  }
  return '\0';
}

std::string_view trim_blanks(std::string_view s) {
  while (!s.empty() && (s.front() == ' ' || s.front() == '\t')) s.remove_prefix(1);
  while (!s.empty() && (s.back() == ' ' || s.back() == '\t')) s.remove_suffix(1);
  return s;
}

std::string_view read_line(std::string_view bytes, std::size_t& at) {
  const std::size_t begin = at;
  while (at < bytes.size() && !is_line_end(bytes[at])) ++at;
  const std::string_view line = bytes.substr(begin, at - begin);
  if (at < bytes.size()) skip_line_end(bytes, at);
  return line;
}

bool is_comment(std::string_view line, std::string_view signs) {
  line = trim_blanks(line);
  if (line.empty()) return false;
  const char c = line[0];
  if (signs.find(c) == std::string_view::npos) return false;
  if (c == '/') return line.size() > 1 && line[1] == '/';
  if (c != '#') return c == '%';
  for (const std::string_view word : {"#N/A", "#DIV/0!", "#VALUE!", "#REF!", "#NUM!", "#NAME?", "#NULL!"}) {
    if (line.starts_with(word)) return false;
  }
  return true;
}

bool is_comment_line(std::string_view line, std::string_view signs, CsvSeparator separator) {
  if (!is_comment(line, signs)) return false;
  const char sep = separator_char(separator);
  if (sep == '\0') return true;
  const std::size_t end = line.find(sep);
  return end == std::string_view::npos || trim_blanks(line.substr(0, end)).size() > 1 ||
         trim_blanks(line)[0] == '/';
}

void read_record(std::string_view s, std::size_t& at, CsvSeparator separator, Record& record) {
  record.cells.clear();
  record.lines = 1;
  record.quoted = record.unclosed = record.text_behind_quote = false;
  const bool blanks = separator == CsvSeparator::blanks;
  const char sep = separator_char(separator);
  const auto is_blank = [&](char c) { return c == ' ' || (c == '\t' && sep != '\t'); };
  const auto ends_cell = [&](char c) { return is_line_end(c) || (blanks ? is_blank(c) : sep != '\0' && c == sep); };

  while (true) {
    while (at < s.size() && is_blank(s[at])) ++at;
    // With blanks as separator, blanks before the first and behind the last cell part nothing.
    if (blanks && (at >= s.size() || is_line_end(s[at])) && !record.cells.empty()) break;
    std::string cell;
    if (at < s.size() && s[at] == '"' && !is_ditto(s, at, sep)) {
      read_quoted(s, at, record, cell);
      const std::size_t behind = at;
      while (at < s.size() && !ends_cell(s[at])) ++at;
      const std::string_view rest = trim_blanks(s.substr(behind, at - behind));
      if (!rest.empty()) {
        record.text_behind_quote = true;
        cell += rest;
      }
    } else {
      const std::size_t begin = at;
      while (at < s.size() && !ends_cell(s[at])) ++at;
      cell = trim_blanks(s.substr(begin, at - begin));
    }
    record.cells.push_back(std::move(cell));
    if (at >= s.size() || is_line_end(s[at])) break;
    if (!blanks) ++at;  // the separator
  }
  if (at < s.size()) skip_line_end(s, at);
}

}  // namespace hardpan::io::detail
