// SPDX-License-Identifier: Apache-2.0
// The HTML of the report, built front to back. All text given is plain and is escaped here.
#pragma once

#include <string>
#include <vector>

#include "report/figure.hpp"

namespace hardpan::report::detail {

// Escaped, with true minus signs, plus-minus and raised exponents: "kN/m^2.1", "+/- 0.4", "-3 deg".
[[nodiscard]] std::string rich(const std::string& plain);

enum class Align { left, right };

// A table for reading; every row has one cell a column.
struct Grid {
  std::string caption;
  std::vector<std::string> columns;
  std::string right;  // one letter a column, 'r' right and 'l' left; shorter: left
  std::vector<std::vector<std::string>> rows;
  std::string note;   // small print below
  bool row_heads = true;  // the first cell of a row is its heading
  bool in_blocks = false; // like columns: a table wider than a page is told in blocks of columns, the first column before each
};

class Page {
 public:
  void raw(const std::string& html) { out_ += html; }
  void open(const std::string& id, const std::string& heading);  // a section with its h2
  void close();
  void heading(int level, const std::string& text, const std::string& id = "");
  void paragraph(const std::string& text, const std::string& css_class = "");
  void list(const std::vector<std::string>& items, const std::string& css_class = "");
  void terms(const std::vector<std::pair<std::string, std::string>>& items);  // definition list; empty texts are left out
  void table(const Grid& grid);   // nothing for a table without rows
  void figure(const Figure& figure);
  [[nodiscard]] std::string take() { return std::move(out_); }

 private:
  // Columns from ... to - 1 and the first one.
  void block(const Grid& grid, std::size_t from, std::size_t to, const std::string& id, const std::string& caption);

  std::string out_;
  std::size_t tables_ = 0, figures_ = 0;
};

[[nodiscard]] const char* style_sheet();

}  // namespace hardpan::report::detail
