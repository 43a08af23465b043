// SPDX-License-Identifier: Apache-2.0
// How a delimited text file is laid out, found from its first 256 KiB by stated rules.
//
// A guess that could change a number is not made: where two readings of the same bytes are
// possible the file is refused by name and the remedy says which option settles it. What the
// rules decided, and why, stands in `reasons`.
//
// Rules, in this order
//  1. Encoding: UTF-16/32 marks, NUL bytes and known binary signatures are refused. Text that is
//     not UTF-8 is read as Windows-1252 (Latin-1), with a remark.
//  2. A first line "sep=X" gives the separator. Lines that start with #, % or // are comments,
//     unless at least half of the lines below the first other line do (then the sign labels rows), or
//     the first cell is the bare sign ("#;load", "%;kN").
//  3. Separator: semicolon, tab and bar never stand inside a number, so they win over comma and
//     blanks where they cut at least 60 % of the lines into the same number (two or more) of cells,
//     unless commas do so too and part more numbers (a remark with a semicolon in every row). Two of them
//     doing so: the one with more number cells, refused if equal. Otherwise comma
//     against blanks: the larger share of number cells, comma if equal.
//  4. A comma that cuts every line into exactly two integers, without a heading line that is cut
//     the same way, may be a decimal sign: refused. If the headings have half as many cells as
//     the rows, comma is both separator and decimal sign: refused.
//  5. Decimal sign: from the cells. Both signs in use, the rarer in more than 10 % of such cells:
//     refused. Comma only, always followed by exactly three digits and never preceded by a bare 0
//     or by more than three digits: may separate thousands, refused.
//  6. Heading lines: the leading lines hold text where the body holds numbers; headings end at the last
//     of them without any number there. Above them, lines with numbers and lines with fewer than half of the
//     cells filled are preamble. A comment line directly above the data with as many cells is a heading line
//     if there is no other.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/problems.hpp"

namespace hardpan::io {

enum class CsvSeparator { comma, semicolon, tab, bar, blanks, none };
enum class CsvLineEnd { lf, crlf, cr, mixed, none };
enum class CsvEncoding { ascii, utf8, latin1 };
[[nodiscard]] const char* name(CsvSeparator separator);
[[nodiscard]] const char* name(CsvLineEnd line_end);
[[nodiscard]] const char* name(CsvEncoding encoding);

// A line longer than this is refused by every reader here.
inline constexpr std::size_t kCsvMaxLineBytes = 1u << 20;

// What the user has stated; anything set here is not guessed.
struct CsvGiven {
  std::optional<CsvSeparator> separator;
  std::optional<char> decimal;              // '.' or ','
  std::optional<std::size_t> header_lines;  // lines between comments or preamble and data
};

struct CsvLayout {
  CsvSeparator separator = CsvSeparator::none;
  char decimal = '.';
  bool bom = false;     // UTF-8 byte order mark
  bool quotes = false;  // a quoted cell was seen
  CsvLineEnd line_end = CsvLineEnd::none;
  CsvEncoding encoding = CsvEncoding::ascii;
  std::string comment_signs = "#%/";  // active signs at the start of a line; '/' stands for "//"
  std::vector<std::string> comments;  // comment lines before the data, signs kept, UTF-8
  std::vector<std::string> preamble;  // lines before the headings that are neither, UTF-8
  std::vector<std::vector<std::string>> headers;  // one vector of `columns` cells a heading line, UTF-8
  std::vector<std::size_t> header_line_numbers;   // same size as headers
  std::size_t columns = 0;
  std::size_t first_data_line = 0;  // 1-based line in the file; 0 = no data line
  std::size_t data_offset = 0;      // byte where that line starts
  std::vector<std::string> reasons; // one sentence a decision
};

// Appends refusals and remarks; nullopt when refused.
[[nodiscard]] std::optional<CsvLayout> sniff_csv(const std::string& path, const CsvGiven& given,
                                                 base::Problems& problems);
// bytes: the whole file, or its beginning (whole = false; then the last, cut line is left out).
// file: the name for messages.
[[nodiscard]] std::optional<CsvLayout> sniff_csv_bytes(std::string_view bytes, bool whole,
                                                       const std::string& file, const CsvGiven& given,
                                                       base::Problems& problems);

}  // namespace hardpan::io
