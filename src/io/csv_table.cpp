// SPDX-License-Identifier: Apache-2.0
#include "io/csv_table.hpp"

#include "io/detail/csv_records.hpp"
#include "io/detail/utf8.hpp"
#include "io/files.hpp"

namespace hardpan::io {
namespace {

void drop_blank_tail(CsvRow& row, std::size_t columns) {
  while (row.cells.size() > columns && row.cells.back().empty()) row.cells.pop_back();
}

}  // namespace

std::optional<CsvTable> read_csv_table_bytes(std::string_view bytes, const std::string& file,
                                             const CsvTableOptions& options, base::Problems& problems) {
  auto layout = sniff_csv_bytes(bytes, true, file, options.given, problems);
  if (!layout) return std::nullopt;
  CsvTable table{.layout = std::move(*layout)};
  const CsvLayout& shape = table.layout;
  // The layout was found from the beginning; a byte that is not UTF-8 may come later.
  const bool latin1 = shape.encoding == CsvEncoding::latin1 || detail::first_bad_utf8(bytes) != std::string_view::npos;
  if (latin1 && shape.encoding != CsvEncoding::latin1) {
    problems.remark({.place = {.file = file}, .what = "the text is not UTF-8 throughout: the rows are read as Windows-1252 (Latin-1)"});
    table.layout.encoding = CsvEncoding::latin1;
  }
  std::size_t at = shape.data_offset;
  std::size_t line = shape.first_data_line;
  detail::Record record;
  while (at < bytes.size()) {
    const std::size_t begin = at;
    std::size_t line_end = at;
    const std::string_view text = detail::read_line(bytes, line_end);
    if (detail::is_comment_line(text, shape.comment_signs, shape.separator)) {
      ++table.comment_lines;
      ++line;
      at = line_end;
      continue;
    }
    detail::read_record(bytes, at, shape.separator, record);
    if (record.unclosed) {
      problems.refuse({.place = {.file = file, .line = line}, .what = "a quote opens in this line and is never closed",
                       .remedy = "close it, or remove it if it is an inch mark or a ditto mark"});
      return std::nullopt;
    }
    if (at - begin > kCsvMaxLineBytes) {
      problems.refuse({.place = {.file = file, .line = line}, .what = "the line is too long for a table",
                       .bound = std::to_string(kCsvMaxLineBytes) + " bytes or fewer a line"});
      return std::nullopt;
    }
    if (record.blank()) {
      ++table.blank_lines;
      line += record.lines;
      continue;
    }
    CsvRow row{.line = line, .cells = record.cells};
    if (latin1) {
      for (std::string& c : row.cells) c = detail::from_windows_1252(c);
    }
    drop_blank_tail(row, shape.columns);
    row.ragged = row.cells.size() != shape.columns;
    if (row.ragged) {
      problems.remark({.place = {.file = file, .line = line},
                       .what = "the row has " + std::to_string(row.cells.size()) + " cells",
                       .bound = std::to_string(shape.columns)});
    }
    if (record.text_behind_quote) {
      problems.remark({.place = {.file = file, .line = line}, .what = "text stands behind a closing quote",
                       .remedy = "double a quote inside a quoted cell"});
    }
    line += record.lines;
    table.rows.push_back(std::move(row));
  }
  return table;
}

std::optional<CsvTable> read_csv_table(const std::string& path, const CsvTableOptions& options,
                                       base::Problems& problems) {
  const auto bytes = read_file(path, problems, options.max_bytes);
  if (!bytes) return std::nullopt;
  return read_csv_table_bytes(*bytes, path, options, problems);
}

}  // namespace hardpan::io
