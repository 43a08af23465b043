// SPDX-License-Identifier: Apache-2.0
// Rings at the ticks, a spoke at each named direction with its words outside the rim, series over them, legend beside the circle or below it,
// whichever leaves the larger circle.
#include "report/detail/figure_polar.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "base/assertion.hpp"

namespace hardpan::report::detail {
namespace {

constexpr double kSmallestRadius = 75;  // px; smaller ones cannot be read (chosen by us)
constexpr double kWordWidth = 96;       // px, of a line of words at the rim
constexpr double kLine = 13;

struct Round {
  double x = 0, y = 0, radius = 0;      // centre, rim
  double top = 0;                       // of the panel below its headings
  double legend_x = 0, legend_y = 0, legend_w = 0;
  bool column = false;
};

double sideways(double degrees) { return -std::sin(degrees * std::numbers::pi / 180); }  // of the page, right positive
double downward(double degrees) { return -std::cos(degrees * std::numbers::pi / 180); }

double rows_height(const std::vector<Entry>& list, double width) {
  double at = 0, height = list.empty() ? 0 : 16;
  for (const Entry& e : list) {
    if (at > 0 && at + e.width > width) at = 0, height += 16;
    at += e.width + 14;
  }
  return height;
}

Round round_of(const Plot& p) {
  const Panel& panel = *p.panel;
  double words = 0, above = 6, below = 6;
  for (const Direction& d : panel.directions) {
    const auto lines = wrap(d.text, kTickSize, kWordWidth);
    double widest = 0;
    for (const std::string& l : lines) widest = std::max(widest, text_width(l, kTickSize));
    const double high = kLine * static_cast<double>(lines.size()) + 6;
    // What a word takes beyond the rim: all of it at the sides, half beside the top and the bottom.
    words = std::max(words, std::abs(sideways(d.degrees)) > 0.2 ? widest + 8 - 0.0 : 0.5 * widest);
    if (downward(d.degrees) < -0.9) above = std::max(above, high);
    if (downward(d.degrees) > 0.9) below = std::max(below, high);
  }
  Round out{.top = p.outer.y + 16 * static_cast<double>(p.heading.size()) + 15 * static_cast<double>(p.y_label.size()) + 4};
  const double bottom = p.outer.bottom() - 4;
  const auto list = entries(p);
  double widest = 0;
  for (const Entry& e : list) widest = std::max(widest, e.width);
  const auto radius = [&](double w, double h) { return std::min(0.5 * w - words, 0.5 * (h - above - below)); };
  const double beside = radius(p.outer.w - widest - 12, bottom - out.top), rows = rows_height(list, p.outer.w);
  const double over = radius(p.outer.w, bottom - out.top - rows - 6);
  out.column = !list.empty() && beside >= over && 16 * static_cast<double>(list.size()) <= bottom - out.top;
  out.radius = out.column ? beside : over;
  const double width = out.column ? p.outer.w - widest - 12 : p.outer.w, low = out.column ? bottom : bottom - rows - 6;
  out.x = p.outer.x + 0.5 * width;
  out.y = out.top + above + 0.5 * (low - out.top - above - below);
  out.legend_x = out.column ? p.outer.x + width + 12 : p.outer.x + 2;
  out.legend_y = out.column ? out.top + 8 : low + 6;
  out.legend_w = out.column ? widest : p.outer.w;
  return out;
}

class PolarDrawing {
 public:
  PolarDrawing(const Plot& p, const std::function<std::string(const Look&)>& fill) : p_(p), panel_(*p.panel), fill_(fill), at_(round_of(p)), scale_(at_.radius / p.y.hi) {
    HARDPAN_ASSERT(panel_.shades.empty() && panel_.references.empty() && panel_.notes.empty() && panel_.y.scale == Scale::linear && p.y.lo == 0);
  }

  std::string run(std::size_t index) {
    out_ = fmt::format("<g class=\"panel\" data-panel=\"{}\" data-polar=\"{} {} {:.9g}\">\n", index, num(at_.x), num(at_.y), scale_);
    frame();
    if (p_.empty.empty()) {
      const auto all = looks(panel_);
      for (const Kind kind : {Kind::band, Kind::line, Kind::points}) {
        for (std::size_t i = 0; i < all.size(); ++i) {
          const Series& s = panel_.series[i];
          HARDPAN_ASSERT(s.kind != Kind::bars && s.kind != Kind::cells);
          if (s.kind != kind) continue;
          if (kind == Kind::band) band(s, all[i]);
          else if (kind == Kind::line) line(s, all[i]);
          else points(s, all[i]);
        }
      }
      ring_numbers();
      legend();
    } else {
      double y = at_.y - 8;
      for (const std::string& l : wrap(p_.empty, kLabelSize, 2 * at_.radius - 8)) out_ += svg_text(at_.x, std::exchange(y, y + 16), l, kLabelSize, Anchor::middle, kQuiet);
    }
    return out_ + "</g>\n";
  }

 private:
  [[nodiscard]] Pixel pixel(double degrees, double value) const { return {at_.x + scale_ * value * sideways(degrees), at_.y + scale_ * value * downward(degrees)}; }

  void frame() {
    double y = p_.outer.y + 12;
    for (const std::string& l : p_.heading) out_ += svg_text(p_.outer.x + 2, std::exchange(y, y + 16), l, kLabelSize, Anchor::start, kText, true);
    for (const std::string& l : p_.y_label) out_ += svg_text(p_.outer.x + 2, std::exchange(y, y + 15), l, kLabelSize);
    const auto ring = [&](double r, const char* ink) {
      out_ += fmt::format("<circle class=\"ring\" cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1\"/>\n", num(at_.x), num(at_.y), num(r), ink);
    };
    if (p_.empty.empty()) {
      for (const Tick& t : p_.y.ticks) {
        if (t.value > 0 && t.value < p_.y.hi) ring(scale_ * t.value, t.major ? kGrid : kMinorGrid);
      }
    }
    for (const Direction& d : panel_.directions) {
      const double dx = sideways(d.degrees), dy = downward(d.degrees);
      out_ += svg_line(at_.x, at_.y, at_.x + at_.radius * dx, at_.y + at_.radius * dy, kGrid, 1);
      const auto lines = wrap(d.text, kTickSize, kWordWidth);
      const double high = kLine * static_cast<double>(lines.size()), x = at_.x + (at_.radius + 5) * dx;
      // The block of words hangs below the rim at the bottom, stands on it at the top, is centred on the spoke at the sides.
      double base = at_.y + (at_.radius + 5) * dy - 0.5 * high * (1 - dy) + 10;
      const Anchor anchor = std::abs(dx) < 0.2 ? Anchor::middle : dx > 0 ? Anchor::start : Anchor::end;
      for (const std::string& l : lines) out_ += svg_text(x, std::exchange(base, base + kLine), l, kTickSize, anchor);
    }
    ring(at_.radius, kQuiet);
  }

  // Along a direction between the top and the first spoke to its right, not half way, where a heading may have its marks.
  void ring_numbers() {
    double gap = 90;
    for (const Direction& d : panel_.directions) {
      const double right = std::fmod(720 - d.degrees, 360);
      if (right > 0) gap = std::min(gap, right);
    }
    for (const Tick& t : p_.y.ticks) {
      if (!t.major || !(t.value > 0)) continue;
      const auto [x, y] = pixel(-0.25 * gap, t.value);
      const bool last = &t == &p_.y.ticks.back();
      const std::string text = typeset(t.label) + (last && !panel_.y.unit.empty() ? " " + panel_.y.unit : "");
      const double w = text_width(text, kSmallSize) + 2;
      out_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"11\" fill=\"#fff\" fill-opacity=\"0.8\"/>\n", num(x - 0.5 * w), num(y - 5.5), num(w));
      out_ += svg_text(x, y + 3.4, text, kSmallSize, Anchor::middle, kText);
    }
  }

  [[nodiscard]] bool drawable(double degrees, double value) const { return fate(panel_, degrees, value) == Fate::drawn && value >= 0; }

  // Between neighbours that can be drawn: inner edge out, outer edge back.
  void band(const Series& s, const Look& look) {
    std::string d;
    const auto good = [&](std::size_t i) { return drawable(s.x[i], s.y_lo[i]) && drawable(s.x[i], s.y_hi[i]); };
    for (std::size_t i = 0; i < s.x.size();) {
      std::size_t end = i;
      while (end < s.x.size() && good(end)) ++end;
      if (end - i > 1) {
        for (std::size_t k = i; k < end; ++k) d += corner(k == i ? "M" : "L", s.x[k], s.y_hi[k]);
        for (std::size_t k = end; k-- > i;) d += corner("L", s.x[k], s.y_lo[k]);
        d += "Z";
      }
      i = std::max(end, i + 1);
    }
    out_ += fmt::format("<path class=\"band\" data-name=\"{}\" d=\"{}\" fill-rule=\"evenodd\" {}/>\n", escape(s.name), d, fill_(look));
  }

  void line(const Series& s, const Look& look) {
    std::string d;
    bool on = false;
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      const bool good = drawable(s.x[i], s.y[i]);
      if (good) d += corner(on ? "L" : "M", s.x[i], s.y[i]);
      on = good;
    }
    out_ += fmt::format("<path class=\"line\" data-name=\"{}\" d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.8\" stroke-linejoin=\"round\"{}/>\n", escape(s.name), d, look.ink,
                        *dash_array(look.dash) ? fmt::format(" stroke-dasharray=\"{}\"", dash_array(look.dash)) : "");
  }

  void points(const Series& s, const Look& look) {
    std::string marks;
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      if (!drawable(s.x[i], s.y[i])) continue;
      const auto [x, y] = pixel(s.x[i], s.y[i]);
      marks += marker_path(look.marker.shape, x, y, 3.8);
    }
    out_ += fmt::format("<path class=\"points\" data-name=\"{}\" d=\"{}\" {}/>\n", escape(s.name), marks, marker_attributes(look.marker, look.ink));
  }

  [[nodiscard]] std::string corner(const char* command, double degrees, double value) const {
    const auto [x, y] = pixel(degrees, value);
    return fmt::format("{}{} {}", command, num(x), num(y));
  }

  void legend() {
    double x = at_.legend_x, y = at_.legend_y;
    for (const Entry& e : entries(p_)) {
      if (x > at_.legend_x && (at_.column || x + e.width > at_.legend_x + at_.legend_w)) x = at_.legend_x, y += 16;
      out_ += legend_entry(e, x, y + 8, e.series->kind == Kind::band ? fill_(e.look) : "");
      x += e.width + 14;
    }
  }

  const Plot& p_;
  const Panel& panel_;
  const std::function<std::string(const Look&)>& fill_;
  Round at_;
  double scale_;
  std::string out_;
};

}  // namespace

std::string polar_panel(const Plot& p, std::size_t index, const std::function<std::string(const Look&)>& fill) { return PolarDrawing(p, fill).run(index); }

double polar_lacking(const Plot& p) { return std::max(0.0, 2 * (kSmallestRadius - round_of(p).radius)); }

}  // namespace hardpan::report::detail
