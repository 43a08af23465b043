// SPDX-License-Identifier: Apache-2.0
// Logger files of any length, by blocks: a block is a part of the sheet that is given its units and made channels, checked
// by SignalCheck and handed to a Thinner.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "formats/detail/sheet_bind.hpp"
#include "records/tow.hpp"

namespace hardpan::formats::detail {
namespace {

// The sheet of one block, in SI. `part` is used again and again, so that its memory is.
void fill_part(const SheetRequest& q, const Headings& h, const std::vector<Bound>& bound, const io::CsvBlock& block, Sheet& part,
               base::Problems& problems) {
  part.line.resize(block.rows);
  std::size_t run_end = 0;
  for (std::size_t k = 0; k < block.rows; ++k) {
    // Lines are looked up once a run: most blocks are one.
    if (k == run_end) {
      const std::size_t first = block.lines.line_of(block.first_row + k);
      std::size_t length = block.rows - k;
      while (length > 1 && block.lines.line_of(block.first_row + k + length - 1) != first + length - 1) length /= 2;
      for (std::size_t i = 0; i < length; ++i) part.line[k + i] = first + i;
      run_end = k + length;
    }
  }
  for (const auto& [role, recipe] : q.made) part.numbers.erase(role);
  std::map<std::string, std::size_t> next;  // column of the role
  for (std::size_t i = 0; i < bound.size(); ++i) {
    std::vector<Column>& columns = part.numbers[bound[i].role->name];
    const std::size_t at = next[bound[i].role->name]++;
    if (at == columns.size()) columns.push_back({.heading = h.names[bound[i].column], .dimension = bound[i].dimension, .unit = bound[i].unit});
    std::vector<double>& values = columns[at].values;
    values.assign(block.columns[i].values.begin(), block.columns[i].values.end());
    if (bound[i].unit.factor != 1 || bound[i].unit.offset != 0 || bound[i].unit.percent_grade) {
      for (double& v : values) v = units::to_si(v, bound[i].unit);
    }
  }
  finish_made(q, part, problems);
}

std::vector<ThinChannel> thin_channels(const Sheet& part, const LogRules& rules) {
  std::vector<ThinChannel> out;
  for (const SignalChannel& c : signal_channels(part, rules.range_by_role)) {
    const auto needed = std::find_if(rules.needed.begin(), rules.needed.end(), [&](const auto& n) { return n.first == c.role; });
    const bool own = std::find(rules.own_cells.begin(), rules.own_cells.end(), c.role) != rules.own_cells.end();
    const bool is_needed = needed != rules.needed.end() && (needed->second.empty() || !part.number(needed->second));
    out.push_back({.averaging = is_needed ? Averaging::needed : own ? Averaging::own_cells : Averaging::every_cell, .range = c.range});
  }
  return out;
}

}  // namespace

void fill_log(const SheetRequest& q, const LogRules& rules, const io::CsvLayout& layout, const Headings& h,
              const std::vector<Bound>& bound, Sheet& sheet, base::Problems& problems) {
  std::vector<io::WantedColumn> wanted;
  for (const Bound& b : bound) wanted.push_back({.index = b.column});
  // An empty block shows which channels there will be, and refuses what cannot be made, before gigabytes are read.
  Sheet part;
  fill_part(q, h, bound, {.columns = std::vector<io::CsvColumn>(wanted.size())}, part, problems);
  if (problems.refused()) return;
  const auto check = std::make_shared<SignalCheck>(signal_channels(part, rules.range_by_role));
  std::error_code unknown;
  const auto bytes = std::filesystem::file_size(q.path, unknown);
  const std::size_t least_row_bytes = 2 * std::max<std::size_t>(1, layout.columns);  // a digit and a separator a cell
  Thinner thinner(thin_channels(part, rules), {.limit = rules.whole_rows, .gap_steps = records::TowSettings{}.gap_samples,
                                                .expected = unknown ? 0 : static_cast<std::size_t>(bytes / least_row_bytes)});
  std::vector<char> keep;
  const io::CsvSummary summary = io::for_csv_blocks(q.path, layout, wanted, rules.block_rows, {}, problems, [&](const io::CsvBlock& block) {
    fill_part(q, h, bound, block, part, problems);
    const SignalRows rows = signal_rows(part);
    keep.assign(block.rows, 1);
    check->add(rows, keep);
    thinner.add(rows.line, rows.time, rows.channels, keep);
  });
  if (problems.refused() || !summary.complete) return;  // the refusal tells why
  io::report_csv_faults(q.file, layout, wanted, summary, problems);
  check->finish();
  ThinRows kept = thinner.finish();
  sheet.numbers = std::move(part.numbers);
  sheet.line = std::move(kept.line);
  sheet.numbers.at("time").front().values = std::move(kept.time_s);
  std::size_t next = 0;
  for (auto& [role, columns] : sheet.numbers) {
    if (role == "time") continue;
    for (Column& c : columns) c.values = std::move(kept.channels[next++]);
  }
  sheet.logger = true;
  sheet.rows = summary.rows;
  sheet.rows_set_aside = check->set_aside();
  sheet.checked = check;
  if (kept.averaged > 1) sheet.averaged = std::move(kept);
}

bool check_averaging(Sheet& sheet, const std::string& file, const LogRules& rules, double remark_share, double slowest_s,
                     double wanted_s, base::Problems& problems) {
  if (!sheet.averaged) return true;
  const ThinRows& a = *sheet.averaged;
  if (a.without_needed > 0) {
    std::string lines;
    for (const std::size_t line : a.lines_without_needed) lines += (lines.empty() ? "" : ", ") + std::to_string(line);
    problems.remark({.place = {.file = file, .line = a.lines_without_needed.front()},
                     .what = "rows set aside: a cell is not a finite number", .value = "lines " + lines + (a.without_needed > a.lines_without_needed.size() ? " ..." : ""),
                     .count = a.without_needed});
    sheet.rows_set_aside += a.without_needed;
  }
  std::vector<std::string> left_out;
  std::size_t channel = 0;
  for (const auto& [role, columns] : sheet.numbers) {
    if (role == "time") continue;
    for (const Column& c : columns) {
      const std::size_t without = a.without_number[channel++];
      const bool side = std::find(rules.own_cells.begin(), rules.own_cells.end(), role) != rules.own_cells.end();
      if (!side || static_cast<double>(without) <= remark_share * static_cast<double>(sheet.rows)) continue;
      problems.remark({.place = {.file = file}, .what = fmt::format("channel \"{}\" ({}) is left out: too many cells are not numbers", c.heading, role),
                       .value = fmt::format("{} of {}", without, sheet.rows), .bound = fmt::format("at most {:.0f} %", 100 * remark_share),
                       .count = without});
      left_out.push_back(role);
    }
  }
  for (const std::string& role : left_out) sheet.numbers.erase(role);
  if (!share_kept(sheet, file, remark_share, problems)) return false;
  if (!(a.row_interval_s > 0)) return true;  // fewer than two good rows among the first: told by whoever wants a log
  const double interval = a.row_interval_s * static_cast<double>(a.averaged);
  const base::Place place{.file = file, .line = sheet.line.empty() ? 0 : sheet.line.front()};
  const std::string remedy = "split the file into its runs, one record each, to use every reading";
  if (!(interval <= slowest_s)) {
    problems.refuse({.place = place, .what = fmt::format("the log is too long for one record: averaged {} into one, {:.3g} readings a second would remain", a.averaged, 1 / interval),
                     .value = fmt::format("{} rows", sheet.rows), .bound = fmt::format("{:.3g} a second, for the filter and the shortest window", 1 / slowest_s), .remedy = remedy});
    return false;
  }
  problems.remark({.place = place,
                   .what = fmt::format("long log: {} consecutive rows are averaged into one, {:.4g} readings a second remain of {:.4g}; a lag or a gap shows to about "
                                       "{:.2g} s, and a power is that of the mean channels", a.averaged, 1 / interval, 1 / a.row_interval_s, interval),
                   .value = fmt::format("{} rows", sheet.rows), .bound = fmt::format("{} rows are kept as they are", rules.whole_rows), .remedy = remedy});
  if (interval > wanted_s * (1 + 1e-9)) {
    problems.remark({.place = place, .what = "so few readings a second remain that the lag and the edges of windows are found less sharply than the filter allows",
                     .value = fmt::format("{:.3g} a second", 1 / interval), .bound = fmt::format("{:.3g} a second", 1 / wanted_s), .remedy = remedy});
  }
  if (a.gap_raised) {
    problems.remark({.place = place, .what = fmt::format("time steps so unevenly that rows up to {:.3g} s apart were averaged", a.gap_s),
                     .value = fmt::format("{:.3g} s, the median step of the first {} rows", a.row_interval_s, rules.whole_rows), .remedy = remedy});
  }
  return true;
}

}  // namespace hardpan::formats::detail
