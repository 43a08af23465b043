// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cstring>
#include <limits>

#include "base/assertion.hpp"
#include "io/detail/csv_decode.hpp"
#include "io/detail/decimal.hpp"
#include "io/detail/utf8.hpp"

namespace hardpan::io::detail {
namespace {

constexpr std::size_t kExampleBytes = 40;
constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

bool is_line_end(char c) { return c == '\n' || c == '\r'; }

std::string example_text(std::string_view text) {
  std::string out(text.substr(0, kExampleBytes));
  // Do not end inside a UTF-8 sequence.
  if (text.size() > kExampleBytes) {
    while (!out.empty() && first_bad_utf8(out) != std::string_view::npos && first_bad_utf8(out) + 4 > out.size()) out.pop_back();
    out += "...";
  }
  return first_bad_utf8(out) == std::string_view::npos ? out : from_windows_1252(out);
}

std::size_t count_examples(const std::vector<CsvRowExample>& list, RowFault fault) {
  return static_cast<std::size_t>(std::count_if(list.begin(), list.end(), [&](const auto& e) { return e.fault == fault; }));
}

// Position behind the last line end in bytes[begin, end), or npos. A CR at the very end may be half
// of a CRLF unless nothing follows.
std::size_t behind_last_line_end(std::string_view bytes, std::size_t begin, std::size_t end, bool at_end) {
  if (begin >= end) return std::string_view::npos;
  const char* const base = bytes.data();
  if (const void* lf = ::memrchr(base + begin, '\n', end - begin)) {
    begin = static_cast<std::size_t>(static_cast<const char*>(lf) - base) + 1;
    if (begin == end) return begin;
    const std::size_t later = behind_last_line_end(bytes, begin, end, at_end);
    return later != std::string_view::npos ? later : begin;
  }
  std::size_t usable = end;
  if (usable == bytes.size() && !at_end && bytes[usable - 1] == '\r') --usable;
  if (usable <= begin) return std::string_view::npos;
  const void* cr = ::memrchr(base + begin, '\r', usable - begin);
  return cr != nullptr ? static_cast<std::size_t>(static_cast<const char*>(cr) - base) + 1 : std::string_view::npos;
}

}  // namespace

void DecodedPiece::clear() {
  rows = lines = 0;
  cell_faults.clear();
  runs.clear();
  found = {};
  fault = PieceFault::none;
  error_number = 0;
}

struct Decoder::RowState {
  DecodedPiece& piece;
  std::size_t capacity = 0;        // rows the value vectors hold
  std::vector<double*> out = {};   // where column k's values start
  std::size_t row = 0;
  std::size_t line = 0;            // of the row's first line
  std::size_t row_lines = 1;
  std::size_t cells = 0;
  bool extra_text = false;
  std::size_t faults_before = 0;   // size of cell_faults at the row's start
  std::vector<std::string> fault_texts = {};  // of this row, kept until the row stands
  Record record = {};

  void grow(std::size_t rows) {
    capacity = rows;
    for (std::size_t k = 0; k < out.size(); ++k) {
      if (piece.values[k].size() < rows) piece.values[k].resize(rows);
      out[k] = piece.values[k].data();
    }
  }
};

Decoder::Decoder(const CsvLayout& layout, const std::vector<WantedColumn>& wanted, std::size_t examples)
    : layout_(layout), wanted_(wanted), examples_(examples), separator_(separator_char(layout.separator)),
      fast_decimal_(separator_ == layout.decimal ? '\0' : layout.decimal),
      slot_of_(layout.columns, -1), same_column_(wanted.size(), -1) {
  ends_cell_[static_cast<unsigned char>('\n')] = ends_cell_[static_cast<unsigned char>('\r')] = true;
  if (separator_ != '\0') ends_cell_[static_cast<unsigned char>(separator_)] = true;
  if (layout.separator == CsvSeparator::blanks) {
    ends_cell_[static_cast<unsigned char>(' ')] = ends_cell_[static_cast<unsigned char>('\t')] = true;
  }
  for (std::size_t k = wanted.size(); k-- > 0;) {
    int& slot = slot_of_.at(wanted[k].index);
    same_column_[k] = slot;
    slot = static_cast<int>(k);
  }
}

void Decoder::put_text(int first_slot, std::string_view text, RowState& s) const {
  std::string utf8;
  if (layout_.encoding == CsvEncoding::latin1 && !is_ascii(text)) text = utf8 = from_windows_1252(text);
  for (int slot = first_slot; slot >= 0; slot = same_column_[static_cast<std::size_t>(slot)]) {
    const auto k = static_cast<std::size_t>(slot);
    NumberCell cell;
    switch (wanted_[k].kind) {
      case CellKind::number: cell = parse_number_cell(text, layout_.decimal); break;
      case CellKind::clock: cell = parse_clock_cell(text, layout_.decimal); break;
      case CellKind::date_time: cell = parse_date_time_cell(text, layout_.decimal); break;
    }
    s.out[k][s.row] = cell.value;
    if (cell.status == CellStatus::number) continue;
    s.piece.cell_faults.push_back({static_cast<std::uint32_t>(s.row), static_cast<std::uint16_t>(k), cell.status});
    const auto& counts = s.piece.found.cells[k];
    if (counts[static_cast<std::size_t>(cell.status)] < examples_) s.fault_texts.push_back(example_text(trim_blanks(text)));
    else s.fault_texts.emplace_back();
  }
}

void Decoder::set_aside(RowState& s, RowFault fault, std::size_t cells) const {
  s.piece.cell_faults.resize(s.faults_before);
  for (std::size_t k = 0; k < wanted_.size(); ++k) {
    s.out[k][s.row] = kNaN;
    s.piece.cell_faults.push_back({static_cast<std::uint32_t>(s.row), static_cast<std::uint16_t>(k), CellStatus::set_aside});
  }
  CsvSummary& found = s.piece.found;
  if (count_examples(found.row_examples, fault) < examples_) found.row_examples.push_back({s.line, fault, cells});
  switch (fault) {
    case RowFault::too_few_cells: ++found.short_rows; break;
    case RowFault::too_many_cells: ++found.long_rows; break;
    case RowFault::nul_bytes: ++found.nul_rows; break;
  }
}

// Decides whether the row stands, then counts its cells.
void Decoder::finish_row(RowState& s, std::string_view row_bytes) const {
  const bool nul = !row_bytes.empty() && row_bytes.find('\0') != std::string_view::npos;
  if (nul) set_aside(s, RowFault::nul_bytes, s.cells);
  else if (s.cells < layout_.columns) set_aside(s, RowFault::too_few_cells, s.cells);
  else if (s.extra_text) set_aside(s, RowFault::too_many_cells, s.cells);

  CsvSummary& found = s.piece.found;
  for (std::size_t i = s.faults_before; i < s.piece.cell_faults.size(); ++i) {
    const auto& f = s.piece.cell_faults[i];
    std::size_t& count = found.cells[f.wanted][static_cast<std::size_t>(f.status)];
    if (count++ < examples_ && f.status != CellStatus::set_aside) {
      found.cell_examples.push_back({s.line, f.wanted, f.status, s.fault_texts[i - s.faults_before]});
    }
  }
  auto& runs = s.piece.runs;
  if (runs.empty() || s.line - runs.back().line != s.row - runs.back().row) runs.push_back({s.row, s.line});
  ++s.row;
}

// The row at p from its first non-blank cell on. False, with p unchanged, when it has a quoted cell.
template <bool kBlanks>
bool Decoder::fast_row(const char*& p_row, RowState& s) const {
  const char* p = p_row;
  const bool tab_is_blank = separator_ != '\t';
  const std::size_t columns = layout_.columns;
  std::size_t cells = 0;
  while (true) {
    while (*p == ' ' || (*p == '\t' && tab_is_blank)) ++p;
    if (*p == '"') return false;
    if (kBlanks && is_line_end(*p) && cells > 0) break;
    const int slot = cells < columns ? slot_of_[cells] : -2;
    if (slot >= 0) {
      const auto k = static_cast<std::size_t>(slot);
      double value = 0;
      const char* q = fast_decimal(p, fast_decimal_, value);
      if (q != nullptr && !kBlanks) {
        while (*q == ' ' || (*q == '\t' && tab_is_blank)) ++q;
      }
      if (q != nullptr && ends_cell_[static_cast<unsigned char>(*q)] && wanted_[k].kind == CellKind::number &&
          same_column_[k] < 0) {
        s.out[k][s.row] = value;
        p = q;
      } else {
        const char* const begin = p;
        while (!ends_cell_[static_cast<unsigned char>(*p)]) ++p;
        put_text(slot, {begin, static_cast<std::size_t>(p - begin)}, s);
      }
    } else {
      s.extra_text = s.extra_text || (slot == -2 && !ends_cell_[static_cast<unsigned char>(*p)]);
      while (!ends_cell_[static_cast<unsigned char>(*p)]) ++p;
    }
    ++cells;
    if (is_line_end(*p)) break;
    ++p;
  }
  s.cells = cells;
  p_row = p;
  return true;
}

void Decoder::slow_row(std::string_view bytes, std::size_t& at, RowState& s) const {
  s.piece.cell_faults.resize(s.faults_before);
  s.fault_texts.clear();
  s.extra_text = false;
  read_record(bytes, at, layout_.separator, s.record);
  s.row_lines = s.record.lines;
  s.cells = s.record.cells.size();
  for (std::size_t c = 0; c < s.cells; ++c) {
    if (c >= layout_.columns) s.extra_text = s.extra_text || !s.record.cells[c].empty();
    else if (slot_of_[c] >= 0) put_text(slot_of_[c], s.record.cells[c], s);
  }
}

template <bool kBlanks>
void Decoder::decode_as(std::string_view bytes, DecodedPiece& piece) const {
  piece.clear();
  piece.values.resize(wanted_.size());
  piece.found.cells.resize(wanted_.size());
  RowState s{.piece = piece, .out = std::vector<double*>(wanted_.size())};
  s.grow(std::max<std::size_t>(64, piece.values.empty() ? 0 : piece.values[0].size()));
  const bool has_nul = bytes.find('\0') != std::string_view::npos;
  const char* const begin = bytes.data();
  const char* const end = begin + bytes.size();
  const char* p = begin;
  while (p < end) {
    if (s.row == s.capacity) s.grow(2 * s.capacity);
    const char* const row_begin = p;
    while (*p == ' ' || (*p == '\t' && separator_ != '\t')) ++p;
    s.row_lines = 1;
    bool is_row = false;
    if (is_line_end(*p)) {
      ++piece.found.blank_lines;
    } else if ((*p == '#' || *p == '%' || *p == '/') && !layout_.comment_signs.empty()) {
      std::size_t line_end = static_cast<std::size_t>(row_begin - begin);
      const std::string_view line = read_line(bytes, line_end);
      if (is_comment_line(line, layout_.comment_signs, layout_.separator)) {
        if (piece.found.comment_lines++ < examples_) piece.found.comment_examples.push_back(s.line);
        p = row_begin + line.size();
      } else {
        is_row = true;
      }
    } else {
      is_row = true;
    }
    if (is_row) {
      p = row_begin;
      s.faults_before = piece.cell_faults.size();
      s.fault_texts.clear();
      s.extra_text = false;
      if (!fast_row<kBlanks>(p, s)) {
        std::size_t at = static_cast<std::size_t>(row_begin - begin);
        slow_row(bytes, at, s);
        p = begin + at;
        if (s.record.unclosed) {
          piece.cell_faults.resize(s.faults_before);
          piece.fault = PieceFault::quote_unclosed;
          break;
        }
        // finish below expects p on the line end.
        p -= (p - begin >= 2 && p[-1] == '\n' && p[-2] == '\r') ? 2 : 1;
      }
      const std::string_view row_bytes(row_begin, static_cast<std::size_t>(p - row_begin));
      const bool nul = has_nul && row_bytes.find('\0') != std::string_view::npos;
      if (row_bytes.size() > kCsvMaxLineBytes && !nul) {
        piece.cell_faults.resize(s.faults_before);
        piece.fault = PieceFault::line_too_long;
        break;
      }
      finish_row(s, nul ? row_bytes : std::string_view{});
    }
    // p stands on the line end.
    p += (*p == '\r' && p + 1 < end && p[1] == '\n') ? 2 : 1;
    s.line += s.row_lines;
  }
  piece.rows = s.row;
  piece.lines = s.line;
}

void Decoder::decode(std::string_view bytes, DecodedPiece& piece) const {
  HARDPAN_ASSERT(!bytes.empty() && is_line_end(bytes.back()));
  if (layout_.separator == CsvSeparator::blanks) decode_as<true>(bytes, piece);
  else decode_as<false>(bytes, piece);
}

std::size_t whole_records(std::string_view bytes, const CsvLayout& layout, bool at_end) {
  constexpr std::size_t kNone = std::string_view::npos;
  const char sep = separator_char(layout.separator);
  const bool blanks = layout.separator == CsvSeparator::blanks;
  std::size_t behind = 0;  // behind the last line end that is outside quotes
  std::size_t at = 0;      // looked at so far, outside quotes
  const auto outside = [&](std::size_t upto) {
    const std::size_t b = behind_last_line_end(bytes, at, upto, at_end);
    if (b != kNone) behind = b;
  };
  while (true) {
    const std::size_t quote = bytes.find('"', at);
    if (quote == kNone) {
      outside(bytes.size());
      return behind;
    }
    outside(quote);
    // The whole line is needed to tell what the quote is.
    const std::size_t line_end = bytes.find_first_of("\r\n", quote);
    if (line_end == kNone && !at_end) return behind;
    if (is_comment_line(bytes.substr(behind, std::min(line_end, bytes.size()) - behind), layout.comment_signs, layout.separator) &&
        std::max(behind, at) == behind) {
      if (line_end == kNone) return behind;
      at = line_end;
      continue;
    }
    std::size_t before = quote;
    while (before > 0 && (bytes[before - 1] == ' ' || (bytes[before - 1] == '\t' && sep != '\t'))) --before;
    const bool starts_cell = before == 0 || before == behind || is_line_end(bytes[before - 1]) ||
                             (sep != '\0' && bytes[before - 1] == sep) || (blanks && before < quote);
    bool opens = starts_cell;
    if (opens) {  // ditto mark: see read_record
      const bool bare = quote + 1 >= bytes.size() || bytes[quote + 1] == sep || is_line_end(bytes[quote + 1]);
      const std::size_t next = bytes.find('"', quote + 1);
      if (bare && (next == kNone || next > std::min(line_end, bytes.size()))) opens = false;
    }
    at = quote + 1;
    if (!opens) continue;
    while (true) {
      const std::size_t closing = bytes.find('"', at);
      if (closing == kNone) return behind;
      if (closing + 1 >= bytes.size() && !at_end) return behind;  // may be doubled
      if (closing + 1 < bytes.size() && bytes[closing + 1] == '"') {
        at = closing + 2;
        continue;
      }
      at = closing + 1;
      break;
    }
    // What stands behind the closing quote up to the end of the cell is text of that cell: quotes in
    // it open nothing, because no separator stands before them.
  }
}

}  // namespace hardpan::io::detail
