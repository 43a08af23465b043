// SPDX-License-Identifier: Apache-2.0
// One record of delimited text cut into cells: the plain reader that hand sheets and the layout
// search use, and the reference for the fast decoder.
//
// Quotes after RFC 4180 (2005): a cell that begins with '"' ends at the next single '"', '""' stands
// for one. A '"' inside an unquoted cell (inch mark) is plain text. A lone '"' directly followed by
// a separator or line end that no other quote on its line closes is the ditto mark of a hand sheet and kept
// as text. CR, LF and CRLF end a line outside quotes.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "io/csv_layout.hpp"

namespace hardpan::io::detail {

struct Record {
  std::vector<std::string> cells;  // trimmed, unquoted, bytes as in the file
  std::size_t lines = 1;           // lines of the file it spans
  bool quoted = false;
  bool unclosed = false;           // a quote was open at the end of the bytes
  bool text_behind_quote = false;
  [[nodiscard]] bool blank() const;  // every cell is empty
};

[[nodiscard]] char separator_char(CsvSeparator separator);  // 0 for blanks and none

// Reads the record at `at` and moves `at` behind its line end. at < bytes.size().
void read_record(std::string_view bytes, std::size_t& at, CsvSeparator separator, Record& record);

// The line at `at` without its line end; moves `at` behind it.
[[nodiscard]] std::string_view read_line(std::string_view bytes, std::size_t& at);

[[nodiscard]] std::string_view trim_blanks(std::string_view text);

// Whether a line is a comment under the active signs ("#%/"; '/' stands for "//"). Error words of
// spreadsheets (#N/A and the like) are not.
[[nodiscard]] bool is_comment(std::string_view line, std::string_view signs);
// As above, with the separator known: a first cell that is the bare sign ("#;load", "%;kN") is a
// heading or a unit, not a comment.
[[nodiscard]] bool is_comment_line(std::string_view line, std::string_view signs, CsvSeparator separator);

}  // namespace hardpan::io::detail
