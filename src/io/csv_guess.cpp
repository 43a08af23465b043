// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <array>
#include <map>

#include "io/csv_number.hpp"
#include "io/detail/csv_guess.hpp"
#include "io/detail/decimal.hpp"

namespace hardpan::io::detail {
namespace {

// Shares below which a separator is not believed: a hand sheet has title lines and ragged rows, but
// more than two lines in five that disagree are not a table.
constexpr double kStrongShare = 0.6;
constexpr double kWeakShare = 0.8;
// Rarer decimal signs up to this share are slips of the pen, named cell by cell later.
constexpr double kSlipShare = 0.1;
constexpr std::size_t kMaxRecords = 2000;

bool looks_like_slashed_date(std::string_view s) {
  std::size_t slashes = 0;
  for (const char c : s) {
    if (c == '/') ++slashes;
    else if (!is_digit(c) && c != ' ' && c != ':' && c != '.' && c != ',') return false;
  }
  return slashes == 2 && is_digit(s.front());
}

bool is_integer_cell(Look look) { return look == Look::integer; }

const CutRecord* first_content(const Cut& cut) {
  for (const CutRecord& r : cut.records) {
    if (!r.comment) return &r;
  }
  return nullptr;
}

std::size_t content_count(const Cut& cut) {
  return static_cast<std::size_t>(
      std::count_if(cut.records.begin(), cut.records.end(), [](const CutRecord& r) { return !r.comment; }));
}

}  // namespace

Look look_of(std::string_view cell) {
  std::string_view s = trim_blanks(cell);
  if (s.empty()) return Look::blank;
  const NumberCell point = parse_number_cell(s, '.');
  if (point.status == CellStatus::missing) return Look::blank;  // no-break spaces
  if (point.status == CellStatus::non_finite) return Look::word;
  const bool is_point = point.status == CellStatus::number || point.status == CellStatus::out_of_range;
  if (is_point) return s.find('.') == std::string_view::npos ? Look::integer : Look::point;
  const NumberCell comma = parse_number_cell(s, ',');
  if (comma.status == CellStatus::number || comma.status == CellStatus::out_of_range) return Look::comma;
  if (parse_clock_cell(s, '.').status == CellStatus::number || parse_clock_cell(s, ',').status == CellStatus::number ||
      parse_date_time_cell(s, '.').status == CellStatus::number ||
      parse_date_time_cell(s, ',').status == CellStatus::number || looks_like_slashed_date(s)) {
    return Look::time;
  }
  if (s[0] == '-' || s[0] == '+') s.remove_prefix(1);
  if (s.empty() || !is_digit(s.front()) || !is_digit(s.back())) return Look::text;
  for (std::size_t i = 0; i < s.size(); ++i) {
    const bool sign = s[i] == '.' || s[i] == ',';
    if (!sign && !is_digit(s[i])) return Look::text;
    if (sign && !is_digit(s[i + 1])) return Look::text;
  }
  return Look::grouped;
}

std::size_t CutRecord::filled() const {
  return static_cast<std::size_t>(
      std::count_if(looks.begin(), looks.end(), [](Look look) { return look != Look::blank; }));
}

std::size_t CutRecord::effective() const {
  std::size_t n = looks.size();
  while (n > 0 && looks[n - 1] == Look::blank) --n;
  return n;
}

std::string active_comment_signs(std::string_view bytes, std::size_t max_lines) {
  constexpr std::string_view kSigns = "#%/";
  // Lines that start with the sign above the first that does not are comments in any case.
  std::array<std::size_t, 3> hits{}, lines{};
  std::size_t seen = 0;
  for (std::size_t at = 0; at < bytes.size() && seen < max_lines;) {
    const std::string_view line = read_line(bytes, at);
    if (trim_blanks(line).empty()) continue;
    ++seen;
    for (std::size_t i = 0; i < kSigns.size(); ++i) {
      const bool hit = is_comment(line, kSigns.substr(i, 1));
      if (hit && lines[i] == 0) continue;
      ++lines[i];
      hits[i] += hit ? 1 : 0;
    }
  }
  std::string signs;
  for (std::size_t i = 0; i < kSigns.size(); ++i) {
    if (2 * hits[i] < lines[i] || lines[i] == 0) signs += kSigns[i];
  }
  return signs;
}

Cut cut_with(std::string_view bytes, std::size_t first_line, CsvSeparator separator, std::string_view signs,
             std::size_t max_records) {
  Cut cut{.separator = separator};
  std::map<std::size_t, std::size_t> counts;
  std::size_t line = first_line, cells = 0;
  Record record;
  for (std::size_t at = 0; at < bytes.size() && cut.records.size() < max_records;) {
    const std::size_t offset = at;
    std::size_t line_end = at;
    const std::string_view text = read_line(bytes, line_end);
    if (is_comment_line(text, signs, separator)) {
      cut.records.push_back({.cells = {std::string(text)}, .looks = {Look::text}, .line = line, .offset = offset, .comment = true});
      at = line_end;
      ++line;
      continue;
    }
    read_record(bytes, at, separator, record);
    if (!record.blank()) {
      CutRecord r{.cells = record.cells, .line = line, .offset = offset, .quoted = record.quoted};
      for (const std::string& c : r.cells) r.looks.push_back(look_of(c));
      cut.quoted = cut.quoted || record.quoted;
      ++counts[r.cells.size()];
      cells += r.filled();
      cut.numbers += static_cast<std::size_t>(std::count_if(r.looks.begin(), r.looks.end(), like_number));
      cut.records.push_back(std::move(r));
    }
    line += record.lines;
  }
  std::size_t most = 0;
  for (const auto& [count, times] : counts) {
    if (times >= most) {
      most = times;
      cut.columns = count;
    }
  }
  const std::size_t content = content_count(cut);
  if (content > 0) cut.same_share = static_cast<double>(most) / static_cast<double>(content);
  if (cells > 0) cut.number_share = static_cast<double>(cut.numbers) / static_cast<double>(cells);
  // Trailing separators: columns without a single filled cell at the right.
  std::size_t used = 0;
  for (const CutRecord& r : cut.records) {
    if (!r.comment && r.cells.size() <= cut.columns) used = std::max(used, r.effective());
  }
  cut.columns = std::min(cut.columns, std::max<std::size_t>(used, 1));
  return cut;
}

std::optional<Cut> choose_separator(std::string_view bytes, std::size_t first_line, const std::string& signs,
                                    const std::string& file, const CsvGiven& given,
                                    std::vector<std::string>& reasons, base::Problems& problems) {
  const auto cut = [&](CsvSeparator s) { return cut_with(bytes, first_line, s, signs, kMaxRecords); };
  if (given.separator) {
    reasons.push_back(std::string("separator ") + name(*given.separator) + ": stated");
    return cut(*given.separator);
  }
  std::vector<Cut> strong;
  for (const CsvSeparator s : {CsvSeparator::semicolon, CsvSeparator::tab, CsvSeparator::bar}) {
    Cut c = cut(s);
    if (c.columns >= 2 && c.same_share >= kStrongShare) strong.push_back(std::move(c));
  }
  const bool comma_free = !given.decimal || *given.decimal != ',';
  Cut comma = cut(CsvSeparator::comma);
  const CutRecord* first = first_content(comma);
  // A remark with a semicolon in every row must not win over the commas that part the numbers. Cutting
  // at decimal commas never yields more number cells than cutting at the separator between them.
  const bool comma_parts_more_numbers =
      comma_free && first != nullptr && first->cells.size() >= 2 && comma.same_share >= kStrongShare &&
      std::all_of(strong.begin(), strong.end(), [&](const Cut& c) { return comma.numbers > c.numbers; });
  if (!strong.empty() && !comma_parts_more_numbers) {
    std::sort(strong.begin(), strong.end(), [](const Cut& a, const Cut& b) { return a.numbers > b.numbers; });
    if (strong.size() > 1 && strong[0].numbers == strong[1].numbers) {
      problems.refuse({.place = {.file = file}, .what = "the separator is not clear",
                       .value = std::string(name(strong[0].separator)) + " or " + name(strong[1].separator),
                       .remedy = "state the separator for this record"});
      return std::nullopt;
    }
    reasons.push_back(std::string("separator ") + name(strong[0].separator) + ": cuts " +
                      std::to_string(static_cast<int>(strong[0].same_share * 100)) + " % of the lines into " +
                      std::to_string(strong[0].columns) + " cells and never stands inside a number");
    return std::move(strong[0]);
  }
  Cut blanks = cut(CsvSeparator::blanks);
  const bool comma_ok = comma_free && comma.columns >= 2 && comma.same_share >= kStrongShare;
  const bool blanks_ok = blanks.columns >= 2 && blanks.same_share >= kWeakShare && blanks.number_share >= 0.5;
  if (comma_ok && (!blanks_ok || comma.number_share >= blanks.number_share)) {
    bool integers = true;
    std::size_t data = 0;
    for (const CutRecord& r : comma.records) {
      if (r.comment || &r == first) continue;
      ++data;
      integers = integers && r.cells.size() == 2 && std::all_of(r.looks.begin(), r.looks.end(), is_integer_cell);
    }
    const bool first_integers = std::all_of(first->looks.begin(), first->looks.end(), is_integer_cell);
    if (comma.columns == 2 && integers && data + (first_integers ? 1 : 0) > 0 && !given.decimal) {
      if (first->effective() == 1 && !first_integers) {
        reasons.push_back("one column with decimal comma: every line holds one comma between digits, the heading none");
        Cut none = cut(CsvSeparator::none);
        return none;
      }
      if (first_integers) {
        problems.refuse({.place = {.file = file, .line = first->line},
                         .what = "two columns of whole numbers or one column with decimal comma",
                         .value = first->cells[0] + "," + (first->cells.size() > 1 ? first->cells[1] : ""),
                         .remedy = "add a heading line, or state the separator and the decimal sign for this record"});
        return std::nullopt;
      }
    }
    const std::size_t headings = first->effective();
    const bool heading_is_text = std::none_of(first->looks.begin(), first->looks.end(), like_number);
    if (heading_is_text && headings >= 2 && comma.columns == 2 * headings && !comma.quoted) {
      problems.refuse({.place = {.file = file, .line = first->line},
                       .what = "the comma is both separator and decimal sign: the headings have " +
                               std::to_string(headings) + " cells, the rows " + std::to_string(comma.columns),
                       .remedy = "export again with semicolons or with a decimal point"});
      return std::nullopt;
    }
    reasons.push_back("separator comma: cuts " + std::to_string(static_cast<int>(comma.same_share * 100)) +
                      " % of the lines into " + std::to_string(comma.columns) + " cells");
    return comma;
  }
  if (blanks_ok) {
    reasons.push_back("separator blanks: cuts " + std::to_string(static_cast<int>(blanks.same_share * 100)) +
                      " % of the lines into " + std::to_string(blanks.columns) + " cells, mostly numbers");
    return blanks;
  }
  reasons.push_back("one column: no separator cuts the lines into the same number of cells");
  return cut(CsvSeparator::none);
}

std::optional<char> choose_decimal(const Cut& cut, const std::string& file, const CsvGiven& given,
                                   std::vector<std::string>& reasons, base::Problems& problems) {
  if (given.decimal && separator_char(cut.separator) == *given.decimal && !cut.quoted) {
    problems.refuse({.place = {.file = file}, .what = "separator and decimal sign cannot both be a comma unless cells are quoted",
                     .remedy = "state another separator, or export again with semicolons"});
    return std::nullopt;
  }
  if (given.decimal) {
    reasons.push_back(std::string("decimal sign '") + *given.decimal + "': stated");
    return *given.decimal;
  }
  std::size_t points = 0, commas = 0, thousands_like = 0;
  const CutRecord *point_at = nullptr, *comma_at = nullptr;
  std::string point_cell, comma_cell;
  for (const CutRecord& r : cut.records) {
    for (std::size_t i = 0; i < r.cells.size() && !r.comment; ++i) {
      if (r.looks[i] == Look::point) {
        if (points++ == 0) point_at = &r, point_cell = r.cells[i];
      } else if (r.looks[i] == Look::comma) {
        if (commas++ == 0) comma_at = &r, comma_cell = r.cells[i];
        std::string_view s = r.cells[i];
        if (s[0] == '-' || s[0] == '+') s.remove_prefix(1);
        const std::size_t sign = s.find(',');
        thousands_like += sign >= 1 && sign <= 3 && s[0] != '0' && s.size() == sign + 4 &&
                          std::all_of(s.begin() + static_cast<std::ptrdiff_t>(sign) + 1, s.end(), is_digit);
      }
    }
  }
  const auto rarer = static_cast<double>(std::min(points, commas));
  if (rarer > kSlipShare * static_cast<double>(points + commas)) {
    problems.refuse({.place = {.file = file, .line = std::max(point_at->line, comma_at->line)},
                     .what = "decimal points and decimal commas are mixed: \"" + point_cell + "\" in line " +
                             std::to_string(point_at->line) + ", \"" + comma_cell + "\" in line " +
                             std::to_string(comma_at->line),
                     .remedy = "use one decimal sign throughout, or state it for this record"});
    return std::nullopt;
  }
  if (commas > points && thousands_like == commas) {
    problems.refuse({.place = {.file = file, .line = comma_at->line},
                     .what = "every comma stands before exactly three digits: decimal sign or thousands separator",
                     .value = comma_cell, .remedy = "state the decimal sign for this record"});
    return std::nullopt;
  }
  if (points + commas == 0) {
    reasons.push_back("decimal sign '.': no number here has a fraction");
    return '.';
  }
  const char decimal = commas > points ? ',' : '.';
  reasons.push_back(std::string("decimal sign '") + decimal + "': in " + std::to_string(std::max(points, commas)) +
                    " of " + std::to_string(points + commas) + " numbers with a fraction");
  return decimal;
}

Head find_head(const Cut& cut, const CsvGiven& given) {
  Head head;
  std::vector<std::size_t> content;
  for (std::size_t i = 0; i < cut.records.size(); ++i) {
    if (!cut.records[i].comment) content.push_back(i);
  }
  // Columns that hold numbers in the later half, where headings no longer disturb.
  std::vector<bool> numeric(cut.columns, false);
  for (std::size_t c = 0; c < cut.columns; ++c) {
    std::size_t numbers = 0, filled = 0;
    for (std::size_t k = content.size() / 2; k < content.size(); ++k) {
      const CutRecord& r = cut.records[content[k]];
      if (c >= r.looks.size() || r.looks[c] == Look::blank) continue;
      ++filled;
      numbers += like_number(r.looks[c]) ? 1 : 0;
    }
    numeric[c] = numbers > 0 && 10 * numbers >= 6 * filled;
  }
  const bool any_numeric = std::find(numeric.begin(), numeric.end(), true) != numeric.end();
  const std::size_t half = (cut.columns + 1) / 2;

  // The leading run: titles, and records with text where the body holds numbers. The headings end at
  // the last record of the run that holds no number there; what follows it is data with a bad cell.
  std::vector<std::size_t> run;
  std::vector<bool> run_has_numbers;
  std::size_t k = 0;
  std::size_t run_end = 0;
  for (; k < content.size(); ++k) {
    const CutRecord& r = cut.records[content[k]];
    std::size_t texts = 0, numbers = 0;
    for (std::size_t c = 0; c < std::min(cut.columns, r.looks.size()); ++c) {
      if (!numeric[c]) continue;
      texts += r.looks[c] == Look::text ? 1 : 0;
      numbers += like_number(r.looks[c]) ? 1 : 0;
    }
    const bool title = r.filled() < half && numbers == 0;
    if (any_numeric ? texts == 0 && !(title && run_end == 0) : run_end > 0) break;
    run.push_back(content[k]);
    run_has_numbers.push_back(numbers > 0);
    if (numbers == 0 && !title) run_end = run.size();
  }
  k -= run.size() - run_end;
  run.resize(run_end);
  run_has_numbers.resize(run_end);
  std::size_t header_begin = 0;
  if (given.header_lines) {
    const std::size_t wanted = std::min(*given.header_lines, content.size());
    if (run.size() < wanted || wanted == 0) {
      run.assign(content.begin(), content.begin() + static_cast<std::ptrdiff_t>(wanted));
      k = wanted;
    }
    header_begin = run.size() - wanted;
  } else {
    for (std::size_t i = 0; i < run.size(); ++i) {
      const bool later_without =
          std::find(run_has_numbers.begin() + static_cast<std::ptrdiff_t>(i), run_has_numbers.end(), false) != run_has_numbers.end();
      if (run_has_numbers[i] && later_without) header_begin = i + 1;
    }
    while (header_begin < run.size() && cut.records[run[header_begin]].filled() < half) ++header_begin;
  }
  head.preamble.assign(run.begin(), run.begin() + static_cast<std::ptrdiff_t>(header_begin));
  head.headers.assign(run.begin() + static_cast<std::ptrdiff_t>(header_begin), run.end());
  head.first_data = k < content.size() ? content[k] : cut.records.size();
  for (std::size_t i = 0; i < head.first_data; ++i) {
    if (cut.records[i].comment) head.comments.push_back(i);
  }
  if (head.headers.empty() && !given.header_lines && !head.comments.empty() && head.first_data < cut.records.size() &&
      head.comments.back() + 1 == head.first_data) {
    head.commented_heading = head.comments.back();
  }
  return head;
}

}  // namespace hardpan::io::detail
