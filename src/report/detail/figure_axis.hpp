// SPDX-License-Identifier: Apache-2.0
// Ranges and ticks, shared by the SVG and the terminal renderer.
#pragma once

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "report/figure.hpp"

namespace hardpan::report::detail {

struct Tick {
  double value = 0;
  std::string label;  // plain ASCII; empty on minor ticks
  bool major = true;
};

struct Ticked {
  double lo = 0;
  double hi = 1;
  std::vector<Tick> ticks;  // ascending

  [[nodiscard]] bool holds(double v) const { return v >= lo && v <= hi; }
};

// At most `most` (4 to 8) ticks at multiples of 1, 2 or 5 times a power of ten. A fixed end stays; a free end moves
// outward to a tick, or with five ticks or fewer to a half (of 5: a fifth) of the step where that saves paper. With
// both ends free and most >= 5 there are at least three ticks.
[[nodiscard]] Ticked linear_ticks(double lo, double hi, int most, bool free_lo, bool free_hi);
// Free ends move outward to 1, 2 or 5 times a power of ten. Labels at the decades; where these are fewer than three,
// at the first of 1-2-5, 1-3, 1-5, 1 to 9 a decade that gives three labels or more, else at round linear values.
// Minor ticks at 2 to 9.
[[nodiscard]] Ticked log_ticks(double lo, double hi, int most, bool free_lo, bool free_hi);
[[nodiscard]] Ticked clock_ticks(double lo, double hi, int most, bool free_lo, bool free_hi);

struct Extent {
  double lo = std::numeric_limits<double>::infinity();
  double hi = -std::numeric_limits<double>::infinity();
  std::size_t values = 0;  // data values, without references, shades and notes

  [[nodiscard]] bool any() const { return lo <= hi; }
};
[[nodiscard]] Extent extent(const Panel& panel, Along axis);
// shared_x already merged; `most` as for linear_ticks
[[nodiscard]] Ticked plan_axis(const Axis& axis, const Extent& data, int most);
// The extents of every panel, x merged over the panels where the figure shares it.
[[nodiscard]] std::vector<Extent> extents(const Figure& figure, Along axis);

enum class Fate { drawn, not_finite, not_positive };
[[nodiscard]] Fate fate(const Panel& panel, double x, double y);
[[nodiscard]] Tally tally(const Panel& panel, const Ticked& x, const Ticked& y);
// Why nothing can be drawn in the panel; empty when something can.
[[nodiscard]] std::string why_empty(const Panel& panel, const Tally& tally);

// pixel = a + b * value, or a + b * log10(value)
struct Transform {
  double a = 0;
  double b = 0;
  bool log = false;

  [[nodiscard]] double operator()(double v) const { return a + b * (log ? std::log10(v) : v); }
};
[[nodiscard]] Transform transform(const Ticked& ticked, Scale scale, double at_lo, double at_hi);

// UTF-8 text without control characters and broken sequences ('?' instead), as code points.
[[nodiscard]] std::vector<std::string> code_points(const std::string& text);

}  // namespace hardpan::report::detail
