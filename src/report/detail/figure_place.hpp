// SPDX-License-Identifier: Apache-2.0
// Finding free ground for labels: what is already drawn in a plot, on cells of 3 px.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace hardpan::report::detail {

struct Box {  // pixels, y downward
  double x = 0;
  double y = 0;
  double w = 0;
  double h = 0;

  [[nodiscard]] double right() const { return x + w; }
  [[nodiscard]] double bottom() const { return y + h; }
  [[nodiscard]] Box grown(double by) const { return {x - by, y - by, w + 2 * by, h + 2 * by}; }
};

// How much is drawn where. Weights: 1 shade edge or band, 4 line, 6 reference, 10 marker, 100 text.
class Clutter {
 public:
  explicit Clutter(Box area);
  void add_box(Box box, int weight);
  void clear(Box box);
  void add_line(double x0, double y0, double x1, double y1, int weight);
  [[nodiscard]] double cost(Box box) const;  // sum of weights below the box; 1000 a cell outside the area
  [[nodiscard]] int worst(Box box) const;    // greatest weight below the part of the box inside the area

 private:
  template <class Change>
  void each(Box box, Change change);

  Box area_;
  int columns_;
  int rows_;
  std::vector<int> cells_;
};

// Upper bound of the width of a text in the fonts of our stack (measured on the widest, DejaVu Sans).
[[nodiscard]] double text_width(const std::string& text, double size_px, bool bold = false);
// Breaks at spaces so that no line is wider than asked, except single words that are.
[[nodiscard]] std::vector<std::string> wrap(const std::string& text, double size_px, double width_px,
                                            bool bold = false);

}  // namespace hardpan::report::detail
