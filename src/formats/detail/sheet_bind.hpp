// SPDX-License-Identifier: Apache-2.0
// Which column of a file is what: headings, unit lines and what the record says, to roles with units.
// For the readers of sheet.hpp alone.
#pragma once

#include <string>
#include <vector>

#include "formats/detail/sheet.hpp"
#include "units/heading.hpp"

namespace hardpan::formats::detail {

struct Headings {
  std::vector<std::string> names;         // as typed
  std::vector<std::string> units;         // from a unit line; empty where there is none
  std::vector<units::Heading> read;       // name and unit of the name line
  std::size_t name_line = 1, unit_line = 0;  // in the file; unit_line 0: none
  bool guessed_among_several = false;     // more than one heading line, and the record does not say which names
};

struct Bound {              // a role tied to a column of the file
  const Role* role = nullptr;
  std::size_t column = 0;
  units::Unit unit;
  units::Dimension dimension = units::Dimension::none;
};

[[nodiscard]] Headings heading_lines(const SheetRequest& request, const io::CsvLayout& layout);

// Refuses columns and units said of a role that this kind of record does not have.
void refuse_unknown_roles(const SheetRequest& request, base::Problems& problems);

// Ties every role to its columns: as the record says, else by the headings that name it.
[[nodiscard]] std::vector<Bound> bind_roles(const SheetRequest& request, const Headings& headings, base::Problems& problems);

// Remarks on headings that no role took: a point or an operator may stand there unread.
void remark_unused(const SheetRequest& request, const Headings& headings, const std::vector<Bound>& bound, base::Problems& problems);

// Columns that others are made of are read as plain numbers, under roles kept in extra_roles; false when refused.
[[nodiscard]] bool add_made(const SheetRequest& request, const Headings& headings, std::vector<Role>& extra_roles,
                            std::vector<Bound>& bound, base::Problems& problems);

// Makes those channels, in SI, and removes what they were made of. Sees rows one by one, so a part of a file may be given.
void finish_made(const SheetRequest& request, Sheet& sheet, base::Problems& problems);

// A logger file with a time channel, by blocks: each is cleaned, made whole and averaged on its way (log_sheet.cpp).
void fill_log(const SheetRequest& request, const LogRules& rules, const io::CsvLayout& layout, const Headings& headings,
              const std::vector<Bound>& bound, Sheet& sheet, base::Problems& problems);

}  // namespace hardpan::formats::detail
