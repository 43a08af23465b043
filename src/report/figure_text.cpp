// SPDX-License-Identifier: Apache-2.0
// The figure on a terminal: lines in braille dots (2 x 4 a character cell) or ASCII, points as letters of their
// own, shades under the axis, names below. Axes and ranges are those of the SVG.
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <utility>

#include "base/assertion.hpp"
#include "report/detail/figure_axis.hpp"
#include "report/detail/figure_cells.hpp"
#include "report/detail/figure_place.hpp"

namespace hardpan::report {
namespace {

using namespace detail;

std::string utf8(unsigned braille) {  // U+2800 + dots
  const unsigned v = 0x2800 + braille;
  return {static_cast<char>(0xE0 | v >> 12), static_cast<char>(0x80 | (v >> 6 & 63)),
          static_cast<char>(0x80 | (v & 63))};
}

class Canvas {
 public:
  Canvas(std::size_t columns, std::size_t rows, Glyphs glyphs)
      : columns_(static_cast<int>(columns)),
        rows_(static_cast<int>(rows)),
        glyphs_(glyphs),
        dots_(columns * rows, 0),
        cells_(columns * rows) {}

  [[nodiscard]] double width() const { return 2.0 * columns_ - 1; }  // in dots
  [[nodiscard]] double height() const { return 4.0 * rows_ - 1; }

  void put(double x, double y, const std::string& glyph) {  // a whole cell
    if (std::string* c = cell(x, y)) *c = glyph;
  }
  void fill(double x, double y, const std::string& glyph) {  // only where nothing stands yet
    if (std::string* c = cell(x, y); c && c->empty()) *c = glyph;
  }
  void line(double x0, double y0, double x1, double y1, int on, int off, int& phase, char ascii) {
    const int steps = static_cast<int>(std::clamp(std::max(std::abs(x1 - x0), std::abs(y1 - y0)), 1.0, 20000.0));
    for (int i = 0; i <= steps; ++i) {
      const double x = std::round(x0 + (x1 - x0) * i / steps), y = std::round(y0 + (y1 - y0) * i / steps);
      if (phase++ % (on + off) >= on || !inside(x, y)) continue;
      if (glyphs_ == Glyphs::ascii) {
        put(x, y, std::string(1, ascii));
        continue;
      }
      static constexpr std::array<std::array<int, 2>, 4> kBits{
          {{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}};
      dots_[at(x, y)] |= kBits[static_cast<std::size_t>(y) % 4][static_cast<std::size_t>(x) % 2];
    }
  }
  [[nodiscard]] std::string row(std::size_t r) const {
    std::string out;
    for (std::size_t c = 0; c < static_cast<std::size_t>(columns_); ++c) {
      const std::size_t i = r * static_cast<std::size_t>(columns_) + c;
      out += dots_[i] != 0 && !marked(i) ? utf8(static_cast<unsigned>(dots_[i])) : cells_[i].empty() ? " " : cells_[i];
    }
    return out;
  }

 private:
  // Letters of points stand over lines; fills and reference lines stand below them.
  [[nodiscard]] bool marked(std::size_t i) const { return cells_[i].size() == 1 && cells_[i] != ":"; }
  [[nodiscard]] bool inside(double x, double y) const { return x >= 0 && y >= 0 && x <= width() && y <= height(); }
  [[nodiscard]] std::size_t at(double x, double y) const {
    return static_cast<std::size_t>(y / 4) * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(x / 2);
  }
  std::string* cell(double x, double y) {
    x = std::round(x), y = std::round(y);
    return inside(x, y) ? &cells_[at(x, y)] : nullptr;
  }

  int columns_, rows_;
  Glyphs glyphs_;
  std::vector<int> dots_;
  std::vector<std::string> cells_;
};

std::string pad_left(const std::string& s, std::size_t n) {
  const std::size_t have = code_points(s).size();
  return have < n ? std::string(n - have, ' ') + s : s;
}

std::string shortened(const std::string& s, std::size_t n) {
  const auto p = code_points(s);
  std::string out;
  for (std::size_t i = 0; i < p.size() && i < n; ++i) out += p.size() > n && i + 2 >= n ? "." : p[i];
  return out;
}

// Breaks at spaces; a terminal column is one code point.
std::string paragraph(const std::string& s, std::size_t columns) {
  std::string out, line, word;
  const auto flush = [&] {
    if (!line.empty() && code_points(line).size() + 1 + code_points(word).size() > columns)
      out += std::exchange(line, "") + "\n";
    line += (line.empty() || word.empty() ? "" : " ") + word;
    word.clear();
  };
  for (const std::string& p : code_points(s)) p == " " ? flush() : void(word += p);
  flush();
  return line.empty() ? out : out + line + "\n";
}

std::string value_text(const Axis& axis, double v) {
  if (axis.scale != Scale::clock) return fmt::format("{:.3g}", v);
  const int t = static_cast<int>(std::fmod(std::fmod(v, 86400) + 86400, 86400));
  return fmt::format("{:02}:{:02}", t / 3600, t / 60 % 60);
}

char letter(const Series& s, std::size_t order) {
  static constexpr std::string_view kLetters = "ox+*#@";
  if (s.marker && s.marker->shape == Shape::go) return 'Y';
  if (s.marker && s.marker->shape == Shape::no_go) return 'N';
  return kLetters[s.style.value_or(order) % kLetters.size()];
}

// Steps of a map by their rank, marks by a letter like their look.
std::string cell_glyph(const Panel& panel, const Series& s) {
  if (!s.shade) return s.fill == Fill::hatch_up ? "/" : s.fill == Fill::hatch_down ? "\\" : s.fill == Fill::crossed ? "x" : "'";
  std::vector<double> lighter;
  for (const Series& other : panel.series)
    if (other.kind == Kind::cells && other.shade && *other.shade < *s.shade) lighter.push_back(*other.shade);
  std::sort(lighter.begin(), lighter.end());
  lighter.erase(std::unique(lighter.begin(), lighter.end()), lighter.end());
  return fmt::format("{}", std::min<std::size_t>(lighter.size() + 1, 9));
}

std::string panel_text(const Panel& panel, const Extent& ex, const Extent& ey, std::size_t columns, std::size_t rows,
                       Glyphs glyphs) {
  const bool plain = glyphs == Glyphs::ascii;
  const std::string bar_x = plain ? "|" : "\xE2\x94\x82", bar_y = plain ? "-" : "\xE2\x94\x80",
                    corner = plain ? "+" : "\xE2\x94\x94";
  const std::string tick_y = plain ? "+" : "\xE2\x94\xA4", tick_x = plain ? "+" : "\xE2\x94\xB4",
                    shade = plain ? "=" : "\xE2\x94\x81";
  const std::string see_x = plain ? "|" : "\xE2\x94\x86", see_y = plain ? "-" : "\xE2\x94\x84",
                    veil = plain ? ":" : "\xE2\x96\x91";
  static constexpr std::array<std::array<int, 2>, 5> kDashes{{{1, 0}, {4, 3}, {1, 2}, {5, 2}, {8, 3}}};
  static constexpr std::string_view kAsciiLines = ".-~=^";

  std::string below;  // names, and what the marks along the axis mean
  const auto say = [&](const std::string& s) { below += paragraph("  " + s, columns); };
  std::size_t order = 0, rank = 0;
  std::vector<std::size_t> orders;
  for (const Series& s : panel.series) orders.push_back(s.style ? *s.style : order++);
  static constexpr std::array<const char*, 4> kBarsPlain{"#", "=", "%", "~"},
      kBars{"\xE2\x96\x88", "\xE2\x96\x92", "\xE2\x96\x93", "\xE2\x96\x91"};
  std::vector<std::string> bar_glyph;
  for (const Series& s : panel.series)
    bar_glyph.push_back((plain ? kBarsPlain : kBars)[(s.kind == Kind::bars ? rank++ : rank) % 4]);
  const auto dash_of = [&](std::size_t i) { return panel.series[i].dash.value_or(static_cast<Dash>(orders[i] % 5)); };

  const Tally whole = tally(panel, plan_axis(panel.x, ex, 8), plan_axis(panel.y, ey, 8));
  const std::string empty = why_empty(panel, whole);
  for (std::size_t i = 0; empty.empty() && i < panel.series.size(); ++i) {
    const Series& s = panel.series[i];
    if (s.name.empty()) continue;
    int phase = 0;
    Canvas sample(3, 1, glyphs);
    const auto dash = kDashes[static_cast<std::size_t>(dash_of(i))];
    sample.line(0, 1, 5, 1, dash[0], dash[1], phase, kAsciiLines[orders[i] % kAsciiLines.size()]);
    const std::string key = s.kind == Kind::line     ? sample.row(0)
                            : s.kind == Kind::points ? fmt::format(" {} ", letter(s, orders[i]))
                            : s.kind == Kind::band   ? veil + veil + veil
                            : s.kind == Kind::cells  ? fmt::format(" {} ", cell_glyph(panel, s))
                                                     : bar_glyph[i] + bar_glyph[i] + bar_glyph[i];
    say(key + " " + s.name);
  }
  for (const Reference& r : panel.references)
    if (!r.text.empty()) say((r.axis == Along::x ? see_x : see_y) + " " + r.text);
  for (const Shade& s : panel.shades) {
    const Axis& a = s.axis == Along::x ? panel.x : panel.y;
    if (!s.text.empty())
      say(fmt::format("{} {}: {} {} to {} {}", s.axis == Along::x ? shade : "", s.text, a.label, value_text(a, s.lo),
                      value_text(a, s.hi), a.unit));
  }
  for (const Note& n : panel.notes)
    say(fmt::format("at ({}, {}): {}", value_text(panel.x, n.x), value_text(panel.y, n.y), n.text));
  const auto lines_below = static_cast<std::size_t>(std::count(below.begin(), below.end(), '\n'));
  const std::size_t furniture = lines_below + 4 + (panel.heading.empty() ? 0 : 1);
  std::size_t plot_rows = rows > furniture + 5 ? rows - furniture : 5;
  if (panel.y.scale == Scale::category) plot_rows = std::max(plot_rows, panel.y.categories.size());

  const Ticked ty = plan_axis(panel.y, ey, std::clamp(static_cast<int>(plot_rows) / 2, 4, 8));
  std::size_t left = 1;
  for (const Tick& t : ty.ticks) left = std::max(left, code_points(t.label).size());
  left = std::min(left, columns / 3);
  const std::size_t plot_columns = columns - left - 3;
  Ticked tx;
  for (int most = 8; most >= 4; --most) {
    tx = plan_axis(panel.x, ex, most);
    std::size_t room = 0;
    for (const Tick& t : tx.ticks) room += t.label.empty() ? 0 : t.label.size() + 2;
    if (room <= plot_columns) break;
  }
  Canvas canvas(plot_columns, plot_rows, glyphs);
  const bool down = panel.y.reversed != (panel.y.scale == Scale::category);
  // Categories sit in the middle of whole rows.
  const Transform mx =
      transform(tx, panel.x.scale, panel.x.reversed ? canvas.width() : 0, panel.x.reversed ? 0 : canvas.width());
  const Transform my = transform(ty, panel.y.scale, down ? 0 : canvas.height(), down ? canvas.height() : 0);

  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    const Series& s = panel.series[i];
    for (std::size_t k = 0; s.kind == Kind::band && k + 1 < s.x.size(); ++k) {
      bool sound = true;
      for (const std::size_t j : {k, k + 1})
        sound = sound && fate(panel, s.x[j], s.y_lo[j]) == Fate::drawn && fate(panel, s.x[j], s.y_hi[j]) == Fate::drawn;
      if (!sound) continue;
      const double x0 = mx(s.x[k]), x1 = mx(s.x[k + 1]);
      for (double x = std::max(0.0, std::min(x0, x1)); x <= std::min(canvas.width(), std::max(x0, x1)); x += 1) {
        const double t = x1 == x0 ? 0 : (x - x0) / (x1 - x0);
        const double lo = my(s.y_lo[k]) * (1 - t) + my(s.y_lo[k + 1]) * t,
                     hi = my(s.y_hi[k]) * (1 - t) + my(s.y_hi[k + 1]) * t;
        for (double y = std::max(0.0, std::min(lo, hi)); y <= std::min(canvas.height(), std::max(lo, hi)); y += 1)
          canvas.put(x, y, veil);
      }
    }
    for (std::size_t k = 0; s.kind == Kind::bars && k < s.x.size(); ++k) {
      if (fate(panel, s.x[k], s.y[k]) != Fate::drawn) continue;
      const double a = std::clamp(mx(s.base), 0.0, canvas.width()), b = std::clamp(mx(s.x[k]), 0.0, canvas.width());
      for (double x = std::min(a, b); x <= std::max(a, b); x += 1) canvas.put(x, my(s.y[k]), bar_glyph[i]);
    }
  }
  for (const Series& s : panel.series) {
    for (std::size_t k = 0; s.kind == Kind::cells && k < s.x.size(); ++k) {
      if (fate(panel, s.x[k], s.y[k]) != Fate::drawn) continue;
      const std::string glyph = cell_glyph(panel, s);
      if (!s.shade && s.fill != Fill::crossed) {  // a mark leaves the step beside it to be seen
        canvas.put(mx(s.x[k]), my(s.y[k]), glyph);
        continue;
      }
      const auto [x0, x1] = std::minmax({mx(s.x_lo[k]), mx(s.x_hi[k])});
      const auto [y0, y1] = std::minmax({my(s.y_lo[k]), my(s.y_hi[k])});
      for (double x = std::max(0.0, x0); x <= std::min(canvas.width(), x1); x += 1)
        for (double y = std::max(0.0, y0); y <= std::min(canvas.height(), y1); y += 1) canvas.put(x, y, glyph);
    }
  }
  for (const Reference& r : panel.references) {
    if (!std::isfinite(r.value) || !(r.axis == Along::x ? tx : ty).holds(r.value)) continue;
    const auto put = [&](double x, double y, const std::string& glyph) { has_cells(panel) ? canvas.put(x, y, glyph) : canvas.fill(x, y, glyph); };
    for (double v = 0; v <= (r.axis == Along::x ? canvas.height() : canvas.width()); v += 1)
      r.axis == Along::x ? put(mx(r.value), v, see_x) : put(v, my(r.value), see_y);
  }
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    const Series& s = panel.series[i];
    int phase = 0;
    const auto dash = kDashes[static_cast<std::size_t>(dash_of(i))];
    for (std::size_t k = 1; s.kind == Kind::line && k < s.x.size(); ++k)
      if (fate(panel, s.x[k - 1], s.y[k - 1]) == Fate::drawn && fate(panel, s.x[k], s.y[k]) == Fate::drawn) {
        const auto at = [](double v) { return std::clamp(v, -5e3, 5e3); };
        canvas.line(at(mx(s.x[k - 1])), at(my(s.y[k - 1])), at(mx(s.x[k])), at(my(s.y[k])), dash[0], dash[1], phase,
                    kAsciiLines[orders[i] % kAsciiLines.size()]);
      }
  }
  for (std::size_t i = 0; i < panel.series.size(); ++i) {
    const Series& s = panel.series[i];
    for (std::size_t k = 0; s.kind == Kind::points && k < s.x.size(); ++k)
      if (fate(panel, s.x[k], s.y[k]) == Fate::drawn && tx.holds(s.x[k]) && ty.holds(s.y[k]))
        canvas.put(mx(s.x[k]), my(s.y[k]), std::string(1, letter(s, orders[i])));
  }

  std::string out = panel.heading.empty() ? "" : paragraph(panel.heading, columns);
  if (!panel.y.label.empty()) out += shortened(panel.y.text(), columns) + "\n";
  std::vector<std::string> labels(plot_rows);
  for (const Tick& t : ty.ticks)
    if (t.major)
      labels[static_cast<std::size_t>(std::clamp(std::round(my(t.value)), 0.0, canvas.height()) / 4)] =
          shortened(t.label, left);
  for (std::size_t r = 0; r < plot_rows; ++r) {
    std::string row = canvas.row(r);
    if (!empty.empty() && r == plot_rows / 2) row = " " + empty;
    out += pad_left(labels[r], left) + " " + (labels[r].empty() ? bar_x : tick_y) + row;
    out.erase(out.find_last_not_of(' ') + 1);
    out += "\n";
  }
  std::vector<std::string> axis(plot_columns, bar_y);
  for (const Shade& s : panel.shades)
    for (std::size_t c = 0; s.axis == Along::x && c < plot_columns; ++c) {
      const double v = (2.0 * static_cast<double>(c) + 0.5 - mx.a) / mx.b, x = mx.log ? std::pow(10.0, v) : v;
      if (x >= s.lo && x <= s.hi) axis[c] = shade;
    }
  std::string numbers(left + 2, ' ');
  for (const Tick& t : tx.ticks) {
    const auto c = static_cast<std::size_t>(std::clamp(std::round(mx(t.value)), 0.0, canvas.width()) / 2);
    if (!t.major) continue;
    axis[c] = tick_x;
    const std::size_t centre = left + 2 + c, length = code_points(t.label).size();
    std::size_t from = centre > length / 2 ? centre - length / 2 : 0;
    from = std::min(from, columns > length ? columns - length : 0);
    const std::size_t have = code_points(numbers).size();
    if (have <= left + 2 || from > have) numbers += std::string(from > have ? from - have : 0, ' ') + t.label;
  }
  out += std::string(left + 1, ' ') + corner;
  for (const std::string& a : axis) out += a;
  out += "\n" + numbers + "\n";
  const std::string name = shortened(panel.x.text(), columns);
  out += std::string((columns - code_points(name).size()) / 2, ' ') + name + "\n";
  return out + below;
}

// A polar panel over its direction, which its heading explains: round a terminal's cells little can be read off.
Panel over_direction(const Panel& panel) {
  if (!panel.polar) return panel;
  Panel out = panel;
  std::string words;
  for (const Direction& d : panel.directions)
    words += fmt::format("{}{:g} {}: {}", words.empty() ? "" : "; ", d.degrees, panel.x.unit, d.text);
  out.x.min = 0;
  out.x.max = 360;
  out.heading += (out.heading.empty() ? "" : ". ") + words;
  return out;
}

}  // namespace

std::string to_text(const Figure& figure, std::size_t columns, std::size_t rows, Glyphs glyphs) {
  HARDPAN_ASSERT(columns >= 20);
  std::string head = paragraph(figure.title, columns);
  const std::string foot = paragraph(tally(figure).text(), columns) + paragraph(figure.provenance, columns);
  const auto lines = [](const std::string& s) {
    return static_cast<std::size_t>(std::count(s.begin(), s.end(), '\n'));
  };
  if (figure.panels.empty()) return head + "no data: the figure has no panel\n" + foot;
  const std::size_t taken = lines(head) + lines(foot), room = rows > taken ? (rows - taken) / figure.panels.size() : 0;
  const auto xs = extents(figure, Along::x), ys = extents(figure, Along::y);
  for (std::size_t i = 0; i < figure.panels.size(); ++i)
    head += panel_text(over_direction(figure.panels[i]), xs[i], ys[i], columns, room, glyphs);
  return head + foot;
}

}  // namespace hardpan::report
