// SPDX-License-Identifier: Apache-2.0
// Cells of a map in pixels: steps of shade, marks over them, and the texts that have room.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "report/detail/figure_plot.hpp"

namespace hardpan::report::detail {

[[nodiscard]] bool has_cells(const Panel& panel);
// Height [px] below which the rows of a map cannot be read; 0 without cells.
[[nodiscard]] double cells_height(const Panel& panel);
[[nodiscard]] Box cell_box(const Plot& p, const Series& s, std::size_t i);

struct CellText {
  std::vector<std::string> lines;
  Box box;
  const char* ink;
  std::string back;  // ground below the text
};
// What is written, clear of markers and reference lines: a text that no place in its cell keeps clear is left out.
[[nodiscard]] std::vector<CellText> cell_texts(const Plot& p);

// `pattern` gives the id of the pattern of a mark.
[[nodiscard]] std::string cells_svg(const Plot& p, const Series& s, const Look& look, const std::function<std::string(Fill)>& pattern);
[[nodiscard]] std::string cell_texts_svg(const Plot& p);
[[nodiscard]] std::string cells_sample(const Entry& e, double x, double y, const std::function<std::string(Fill)>& pattern);
// Marks are drawn dark beside white: seen on every shade.
[[nodiscard]] std::string mark_definition(const std::string& id, Fill fill);

}  // namespace hardpan::report::detail
