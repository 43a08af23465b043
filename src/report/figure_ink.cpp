// SPDX-License-Identifier: Apache-2.0
#include "report/detail/figure_ink.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <initializer_list>
#include <utility>

#include "report/detail/figure_axis.hpp"

namespace hardpan::report::detail {

std::string num(double v) {
  std::string s = fmt::format("{:.2f}", v);
  s.erase(s.find_last_not_of('0') + 1);
  if (s.back() == '.') s.pop_back();
  return s == "-0" ? "0" : s;
}

std::string escape(const std::string& text) {
  std::string out;
  for (const std::string& p : code_points(text))
    out += p == "&" ? "&amp;" : p == "<" ? "&lt;" : p == ">" ? "&gt;" : p == "\"" ? "&quot;" : p == "'" ? "&#39;" : p;
  return out;
}

// Typography of tick labels: true minus, digits grouped from five on.
std::string typeset(const std::string& label) {
  const std::size_t from = !label.empty() && label[0] == '-' ? 1 : 0;
  const std::size_t point = std::min(label.find_first_not_of("0123456789", from), label.size());
  if (point == from || (point < label.size() && label[point] != '.')) return label;  // a name, a clock time, 1e+09
  std::string out = from ? "\xE2\x88\x92" : "";
  for (std::size_t i = from; i < label.size(); ++i) {
    if (i > from && i < point && point - from >= 5 && (point - i) % 3 == 0) out += "\xE2\x80\x89";
    out += label[i];
  }
  return out;
}

namespace {

// Whole powers raised, as "ft/s^2"; others stay as they are.
std::string raised(const std::string& text) {
  static constexpr std::array<const char*, 10> kDigits{"\xE2\x81\xB0", "\xC2\xB9", "\xC2\xB2", "\xC2\xB3", "\xE2\x81\xB4", "\xE2\x81\xB5", "\xE2\x81\xB6", "\xE2\x81\xB7", "\xE2\x81\xB8", "\xE2\x81\xB9"};
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    std::size_t end = i + 1;
    if (text[i] == '^' && end < text.size() && text[end] == '-') ++end;
    const std::size_t digits = end;
    while (text[i] == '^' && end < text.size() && text[end] >= '0' && text[end] <= '9') ++end;
    const bool power = end > digits && (end == text.size() || text[end] != '.');
    if (!power) {
      out += text[i++];
      continue;
    }
    if (digits == i + 2) out += "\xE2\x81\xBB";
    for (std::size_t k = digits; k < end; ++k) out += kDigits[static_cast<std::size_t>(text[k] - '0')];
    i = end;
  }
  return out;
}

}  // namespace

std::string svg_text(double x, double y, const std::string& s, double size, Anchor anchor, const char* fill, bool bold) {
  static constexpr std::array<const char*, 3> kAnchor{"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
  return fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\"{}{} fill=\"{}\">{}</text>\n", num(x), num(y), num(size),
                     kAnchor[static_cast<std::size_t>(anchor)], bold ? " font-weight=\"600\"" : "", fill, escape(raised(s)));
}

std::string svg_line(double x0, double y0, double x1, double y1, const char* ink, double width, const char* dash) {
  return fmt::format("<path d=\"M{} {}L{} {}\" stroke=\"{}\" stroke-width=\"{}\"{}/>\n", num(x0), num(y0), num(x1), num(y1), ink, num(width),
                     *dash ? fmt::format(" stroke-dasharray=\"{}\"", dash) : "");
}

const char* dash_array(Dash d) {
  switch (d) {
    case Dash::solid:
      return "";
    case Dash::dashed:
      return "7 3.5";
    case Dash::dotted:
      return "1.6 3";
    case Dash::dash_dot:
      return "8 3 1.6 3";
    case Dash::long_dash:
      return "14 4";
  }
  return "";
}

// Path of one marker; open ones are the same path, filled white.
std::string marker_path(Shape shape, double x, double y, double r) {
  const auto poly = [&](std::initializer_list<std::pair<double, double>> corners) {
    std::string d;
    for (const auto& [dx, dy] : corners)
      d += fmt::format("{}{} {}", d.empty() ? "M" : "L", num(x + r * dx), num(y + r * dy));
    return d + "Z";
  };
  const auto disc = [&](double k) {
    return fmt::format("M{} {}a{} {} 0 1 0 {} 0a{} {} 0 1 0 {} 0Z", num(x - k * r), num(y), num(k * r), num(k * r),
                       num(2 * k * r), num(k * r), num(k * r), num(-2 * k * r));
  };
  const auto stroke = [&](double ax, double ay, double bx, double by) {
    return fmt::format("M{} {}L{} {}", num(x + r * ax), num(y + r * ay), num(x + r * bx), num(y + r * by));
  };
  switch (shape) {
    case Shape::circle:
      return disc(1);
    case Shape::square:
      return poly({{-.9, -.9}, {.9, -.9}, {.9, .9}, {-.9, .9}});
    case Shape::triangle_up:
      return poly({{0, -1.2}, {1.1, .8}, {-1.1, .8}});
    case Shape::triangle_down:
      return poly({{0, 1.2}, {1.1, -.8}, {-1.1, -.8}});
    case Shape::diamond:
      return poly({{0, -1.3}, {1.2, 0}, {0, 1.3}, {-1.2, 0}});
    case Shape::cross:
      return stroke(-1, -1, 1, 1) + stroke(-1, 1, 1, -1);
    case Shape::plus:
      return stroke(-1.2, 0, 1.2, 0) + stroke(0, -1.2, 0, 1.2);
    case Shape::go:
      return disc(1.5) + stroke(-.75, 0, -.15, .65) + stroke(-.15, .65, .8, -.65);
    case Shape::no_go:
      return poly({{-1.4, -1.4}, {1.4, -1.4}, {1.4, 1.4}, {-1.4, 1.4}}) + stroke(-.8, -.8, .8, .8) +
             stroke(-.8, .8, .8, -.8);
  }
  return {};
}

std::string marker_attributes(const Marker& m, const char* ink) {
  if (m.shape == Shape::go) return fmt::format("fill=\"#fff\" stroke=\"{}\" stroke-width=\"1.6\"", kGo);
  if (m.shape == Shape::no_go) return fmt::format("fill=\"#f3c9c4\" stroke=\"{}\" stroke-width=\"1.8\"", kNoGo);
  const bool strokes = m.shape == Shape::cross || m.shape == Shape::plus;
  return fmt::format("fill=\"{}\" stroke=\"{}\" stroke-width=\"{}\"",
                     strokes  ? "none"
                     : m.open ? "#fff"
                              : ink,
                     ink, strokes || m.open ? "1.5" : "1");
}

std::string shade_ink(double shade) {
  static constexpr std::array<double, 3> kLight{0xf1, 0xf5, 0xf9}, kDark{0x28, 0x4e, 0x7a};
  std::string out = "#";
  for (std::size_t i = 0; i < 3; ++i) out += fmt::format("{:02x}", std::lround(kLight[i] + std::clamp(shade, 0.0, 1.0) * (kDark[i] - kLight[i])));
  return out;
}

const char* text_on(double shade) { return shade > 0.72 ? "#fff" : "#000"; }

std::vector<Look> looks(const Panel& panel) {
  std::vector<Look> list;
  std::size_t next = 0, fills = 0;
  for (const Series& s : panel.series) {
    const std::size_t slot = s.style ? *s.style : next++;
    const Style& style = kStyles[slot % kStyles.size()];
    const bool filled = s.kind == Kind::band || s.kind == Kind::bars;
    Marker m = s.marker.value_or(style.marker);
    if (!s.marker && slot / kStyles.size() % 2 == 1) m.open = !m.open;
    list.push_back({style.ink, s.dash.value_or(style.dash), m, s.fill.value_or(s.kind == Kind::cells ? Fill::tint : static_cast<Fill>(fills % 4))});
    if (filled && !s.fill) ++fills;
  }
  return list;
}

}  // namespace hardpan::report::detail
