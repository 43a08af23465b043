// SPDX-License-Identifier: Apache-2.0
// One record file as columns by role, in SI, whatever its layout: the common ground of hand sheets and
// logger files. What a column holds is called its role; roles.cpp lists them with the headings that name them.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "formats/detail/keys.hpp"
#include "formats/detail/signal_check.hpp"
#include "formats/detail/thinner.hpp"
#include "io/csv.hpp"
#include "units/unit_text.hpp"

namespace hardpan::formats::detail {

// A role takes numbers of one of some dimensions, or text.
struct Role {
  std::string name;
  std::vector<units::Dimension> dimensions;   // empty: text
  std::vector<std::string> headings;          // lower-case names that stand for it, words separated by one blank
  bool many = false;                          // several columns may have it
  bool count = false;                         // a counted number: needs no unit; turns may be given as an angle
  bool may_be_blank = false;                  // a cell left empty is no fault
  // Where no heading names this role, nor the one given here, the only column left with a unit of its dimension is taken, with
  // a remark.
  std::optional<std::string> by_unit_without = std::nullopt;
};

// A column made of several: sum of column times factor, in `unit`.
struct MadeColumn {
  std::vector<std::pair<std::string, double>> sum;
  std::string unit;
  base::Place place;
};

// What the record's entry in campaign.toml says about the file.
struct SheetRequest {
  std::string path;                 // to open
  std::string file;                 // for messages
  std::vector<Role> roles;
  std::map<std::string, std::vector<std::string>> columns;  // role -> headings
  std::map<std::string, std::string> unit_texts;            // role -> unit
  std::map<std::string, MadeColumn> made;                   // role -> recipe
  std::map<std::string, base::Place> role_places;           // "columns.pull" -> where the record says it
  io::CsvGiven given;
  std::optional<std::size_t> heading_line, unit_line;       // among the heading lines, from 1; unit_line 0: none
  units::UnitRules unit_rules;
  base::Place place;                // of the record, for refusals about roles
  double remark_share = 0.2;
  const std::vector<std::string>* points = nullptr;  // known; looked up also where the sheet is refused for something else
  // No [[record]] speaks for the file, and every row of it counts: a cell that must be there and holds no number is refused.
  bool by_itself = false;
};

struct Column {
  std::string heading;
  units::Dimension dimension = units::Dimension::none;
  units::Unit unit;                 // as typed
  std::vector<double> values;       // SI; NaN where absent or set aside
};

// How a log is cleaned and thinned while it is read; see thinner.hpp.
struct LogRules {
  std::map<std::string, double> range_by_role;                  // of the instrument, SI
  std::vector<std::pair<std::string, std::string>> needed;      // role, and the role beside which it is not needed ("" for none)
  std::vector<std::string> own_cells;                           // roles averaged over their own cells
  std::size_t whole_rows = 1'000'000;                           // kept as they are up to here
  std::size_t block_rows = 16384;                               // read at a time; changes no result
};

struct Sheet {
  std::vector<std::size_t> line;                    // of each row
  std::map<std::string, std::vector<Column>> numbers;  // by role
  std::map<std::string, std::vector<std::string>> texts;
  std::size_t rows = 0, rows_set_aside = 0;
  std::vector<std::string> headings;                // all of the file, for messages
  bool logger = false;                              // read as a logger file: numbers only
  bool cells_refused = false;                       // of a sheet by itself: some values are NaN, and told of
  std::shared_ptr<SignalCheck> checked;             // the time channel and those beside it, once looked at
  std::optional<ThinRows> averaged;                 // how, where rows are averages; its columns stand in numbers

  [[nodiscard]] bool has(const std::string& role) const { return numbers.contains(role) || texts.contains(role); }
  // First column of a role; nullptr when there is none.
  [[nodiscard]] const Column* number(const std::string& role) const;
  [[nodiscard]] std::string text(const std::string& role, std::size_t row) const;  // "" when there is none
};

// Appends refusals (unreadable, unknown heading, no or wrong unit, cells that are no number) and remarks
// (cells not finite or missing, ragged rows), all with lines. Nothing when refused, but for cells of a sheet by itself, so
// that its other rows can be looked at. With rules, a large file that has a
// time channel is checked and, beyond rules->whole_rows, averaged while it is read, in bounded memory.
[[nodiscard]] std::optional<Sheet> read_sheet(const SheetRequest& request, base::Problems& problems, const LogRules* rules = nullptr);

// Remarks on a time channel and the channels beside it: repeated or backward time (rows removed),
// gaps, channels stuck or at the end of their range. Returns false when more rows than the share fell.
bool check_signals(Sheet& sheet, const std::string& file, const std::map<std::string, double>& range_by_role,
                   double remark_share, base::Problems& problems);

// Remarks on what averaging did to a sheet, counts rows and leaves out side channels that lacked too many numbers; refuses
// a record of which too little is left. `slowest_s`: sampling slower than this is refused; `wanted_s`: remarked on.
bool check_averaging(Sheet& sheet, const std::string& file, const LogRules& rules, double remark_share, double slowest_s,
                     double wanted_s, base::Problems& problems);

// Channels beside the time, as SignalCheck takes them, and the sheet's rows in the same order.
[[nodiscard]] std::vector<SignalChannel> signal_channels(const Sheet& sheet, const std::map<std::string, double>& range_by_role);
[[nodiscard]] SignalRows signal_rows(const Sheet& sheet);

// Refuses a sheet of which more rows than the share had to be set aside; false then.
bool share_kept(const Sheet& sheet, const std::string& file, double remark_share, base::Problems& problems);

// Refuses a point that is not on the list.
void refuse_point(const base::Place& place, const std::string& point, const std::vector<std::string>& known, base::Problems& problems);

// Removes the rows where keep is false from every column.
void keep_rows(Sheet& sheet, const std::vector<char>& keep);

// "Ground speed_[km/h]" -> "ground speed": lower case, words by one blank.
[[nodiscard]] std::string plain_heading(const std::string& text);

}  // namespace hardpan::formats::detail
