// SPDX-License-Identifier: Apache-2.0
// Words of the data dictionary: what stands in each column and in each table.
#pragma once

#include <map>
#include <string>
#include <vector>

namespace hardpan::service::detail {

// Where the heading carries no unit, `unit` says what the cells are.
struct ColumnWords {
  const char* unit;
  const char* meaning;
};
struct TableWords {
  const char* name;
  const char* meaning;
};

// Of the answers to a campaign's questions; by heading, "table/heading" where a heading means something else there.
[[nodiscard]] const std::map<std::string, ColumnWords>& question_columns();
[[nodiscard]] const std::vector<TableWords>& question_table_words();

}  // namespace hardpan::service::detail
