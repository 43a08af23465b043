// SPDX-License-Identifier: Apache-2.0
#include "units/column_blocks.hpp"

namespace hardpan::units {
namespace {

std::vector<ColumnBlock> filled(const std::vector<std::size_t>& widths, std::size_t most, std::size_t most_columns) {
  std::vector<ColumnBlock> out;
  for (std::size_t from = 1; from < widths.size();) {
    std::size_t to = from, width = widths[0];
    while (to < widths.size() && to - from < most_columns && (to == from || width + 2 + widths[to] <= most)) width += 2 + widths[to++];
    out.push_back({from, to});
    from = to;
  }
  return out;
}

}  // namespace

std::vector<ColumnBlock> column_blocks(const std::vector<std::size_t>& widths, std::size_t most) {
  if (widths.empty()) return {};
  const std::size_t columns = widths.size() - 1;
  std::vector<ColumnBlock> out = filled(widths, most, columns);
  if (columns == 0) return {{1, 1}};
  // The fewest columns a block that need no further block.
  for (std::size_t k = (columns + out.size() - 1) / out.size(); k < columns; ++k) {
    std::vector<ColumnBlock> even = filled(widths, most, k);
    if (even.size() == out.size()) return even;
  }
  return out;
}

}  // namespace hardpan::units
