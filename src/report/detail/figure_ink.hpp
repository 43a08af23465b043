// SPDX-License-Identifier: Apache-2.0
// Inks, dashes, markers and typography of the SVG. Inks differ in lightness as well as in hue, neighbours in draw
// order by at least 12 of CIE L*, and every ink has its own dash and marker: grey print and colour-blind readers
// lose nothing. All inks stand at least 3:1 against white.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "report/figure.hpp"

namespace hardpan::report::detail {

inline constexpr double kTickSize = 11, kLabelSize = 12, kTitleSize = 14, kSmallSize = 9.5;
inline constexpr const char *kText = "#1f2933", *kQuiet = "#56616b", *kGrid = "#e1e5e9", *kMinorGrid = "#f0f2f4";
inline constexpr const char *kGo = "#12655a", *kNoGo = "#8c1c13", *kShade = "#e6eaee", *kShadeInk = "#aab4bd";

struct Style {
  const char* ink;
  Dash dash;
  Marker marker;
};
inline constexpr std::array<Style, 6> kStyles{{{"#14375e", Dash::solid, {Shape::circle, false}},
                                               {"#c8641e", Dash::dashed, {Shape::square, true}},
                                               {"#12655a", Dash::dotted, {Shape::triangle_up, false}},
                                               {"#a3841f", Dash::dash_dot, {Shape::diamond, true}},
                                               {"#5b2a5e", Dash::long_dash, {Shape::triangle_down, false}},
                                               {"#6f7780", Dash::solid, {Shape::cross, true}}}};

struct Look {  // the resolved style of one series
  const char* ink;
  Dash dash;
  Marker marker;
  Fill fill;
};
[[nodiscard]] std::vector<Look> looks(const Panel& panel);

// The ground of a cell, 0 (lightest) to 1 (darkest) of one ink, evenly spaced in lightness from L* 96 to 33; text on it; the ink of marks.
[[nodiscard]] std::string shade_ink(double shade);
[[nodiscard]] const char* text_on(double shade);
inline constexpr const char* kMarkInk = "#14375e";

[[nodiscard]] std::string num(double v);                      // two decimals at most, never "-0"
[[nodiscard]] std::string escape(const std::string& text);    // for element content and attributes
[[nodiscard]] std::string typeset(const std::string& label);  // true minus, digits grouped from five on
enum class Anchor { start, middle, end };
[[nodiscard]] std::string svg_text(double x, double y, const std::string& text, double size, Anchor anchor = Anchor::start,
                                   const char* fill = kText, bool bold = false);
[[nodiscard]] std::string svg_line(double x0, double y0, double x1, double y1, const char* ink, double width, const char* dash = "");
[[nodiscard]] const char* dash_array(Dash dash);              // empty for solid
[[nodiscard]] std::string marker_path(Shape shape, double x, double y, double r);
[[nodiscard]] std::string marker_attributes(const Marker& marker, const char* ink);

}  // namespace hardpan::report::detail
