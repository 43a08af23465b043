// SPDX-License-Identifier: Apache-2.0
// A table of printed values that is wider than a page or a terminal, told in blocks of columns; the first column, the heads of its rows, stands before each block.
//
//   for (const ColumnBlock& b : column_blocks({8, 20, 20, 20}, 60)) say(b.from, b.to);   // 1 to 3, then 3 to 4
#pragma once

#include <cstddef>
#include <vector>

namespace hardpan::units {

inline constexpr std::size_t kReadableWidth = 110;  // characters a line; common practice, no source

struct ColumnBlock {
  std::size_t from = 1, to = 1;  // columns from ... to - 1, without the first
};
// `widths` in characters, of the first column and the others; two are left between columns. As few blocks as fit into `most`, their columns as evenly spread as goes.
// A column that does not fit beside the first one is a block of its own. At least one block where there is a column.
[[nodiscard]] std::vector<ColumnBlock> column_blocks(const std::vector<std::size_t>& widths, std::size_t most = kReadableWidth);

}  // namespace hardpan::units
