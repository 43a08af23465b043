// SPDX-License-Identifier: Apache-2.0
// The figure as SVG: measure the margins, find free ground for the labels and the legend, then write from the
// back to the front: shades, grid, bands, references, series, axes, labels, legend. The look: thin light grid,
// ticks outside, the y label level above its axis; inks differ in lightness as well as hue, and every ink has its
// own dash and marker, so that grey print and colour-blind readers lose nothing.
#include "base/assertion.hpp"
#include "report/detail/figure_axis.hpp"
#include "report/detail/figure_place.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <map>
#include <utility>

namespace hardpan::report {
namespace {

using namespace detail;

constexpr double kTickSize = 11, kLabelSize = 12, kTitleSize = 14, kSmallSize = 9.5;
constexpr const char *kText = "#1f2933", *kQuiet = "#56616b", *kGrid = "#e1e5e9", *kMinorGrid = "#f0f2f4";
constexpr const char *kGo = "#12655a", *kNoGo = "#8c1c13", *kShade = "#e6eaee", *kShadeInk = "#aab4bd";

struct Style {
  const char* ink;
  Dash dash;
  Marker marker;
};
constexpr std::array<Style, 6> kStyles{{{"#14375e", Dash::solid, {Shape::circle, false}},
                                        {"#c8641e", Dash::dashed, {Shape::square, true}},
                                        {"#12655a", Dash::dotted, {Shape::triangle_up, false}},
                                        {"#a3841f", Dash::dash_dot, {Shape::diamond, true}},
                                        {"#5b2a5e", Dash::long_dash, {Shape::triangle_down, false}},
                                        {"#6f7780", Dash::solid, {Shape::cross, true}}}};

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

const char* dash_array(Dash d) {
  switch (d) {
    case Dash::solid: return "";
    case Dash::dashed: return "7 3.5";
    case Dash::dotted: return "1.6 3";
    case Dash::dash_dot: return "8 3 1.6 3";
    case Dash::long_dash: return "14 4";
  }
  return "";
}

// Path of one marker; open ones are the same path, filled white.
std::string marker_path(Shape shape, double x, double y, double r) {
  const auto poly = [&](std::initializer_list<std::pair<double, double>> corners) {
    std::string d;
    for (const auto& [dx, dy] : corners) d += fmt::format("{}{} {}", d.empty() ? "M" : "L", num(x + r * dx), num(y + r * dy));
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
    case Shape::circle: return disc(1);
    case Shape::square: return poly({{-.9, -.9}, {.9, -.9}, {.9, .9}, {-.9, .9}});
    case Shape::triangle_up: return poly({{0, -1.2}, {1.1, .8}, {-1.1, .8}});
    case Shape::triangle_down: return poly({{0, 1.2}, {1.1, -.8}, {-1.1, -.8}});
    case Shape::diamond: return poly({{0, -1.3}, {1.2, 0}, {0, 1.3}, {-1.2, 0}});
    case Shape::cross: return stroke(-1, -1, 1, 1) + stroke(-1, 1, 1, -1);
    case Shape::plus: return stroke(-1.2, 0, 1.2, 0) + stroke(0, -1.2, 0, 1.2);
    case Shape::go: return disc(1.5) + stroke(-.75, 0, -.15, .65) + stroke(-.15, .65, .8, -.65);
    case Shape::no_go: return poly({{-1.4, -1.4}, {1.4, -1.4}, {1.4, 1.4}, {-1.4, 1.4}}) + stroke(-.8, -.8, .8, .8) + stroke(-.8, .8, .8, -.8);
  }
  return {};
}

std::string marker_attributes(const Marker& m, const char* ink) {
  if (m.shape == Shape::go) return fmt::format("fill=\"#fff\" stroke=\"{}\" stroke-width=\"1.6\"", kGo);
  if (m.shape == Shape::no_go) return fmt::format("fill=\"#f3c9c4\" stroke=\"{}\" stroke-width=\"1.8\"", kNoGo);
  const bool strokes = m.shape == Shape::cross || m.shape == Shape::plus;
  return fmt::format("fill=\"{}\" stroke=\"{}\" stroke-width=\"{}\"", strokes ? "none" : m.open ? "#fff" : ink, ink,
                     strokes || m.open ? "1.5" : "1");
}

struct Look {  // a series' resolved style
  const char* ink;
  Dash dash;
  Marker marker;
  Fill fill;
};

std::vector<Look> looks(const Panel& panel) {
  std::vector<Look> list;
  std::size_t next = 0, fills = 0;
  for (const Series& s : panel.series) {
    const std::size_t slot = s.style ? *s.style : next++;
    const Style& style = kStyles[slot % kStyles.size()];
    const bool filled = s.kind == Kind::band || s.kind == Kind::bars;
    Marker m = s.marker.value_or(style.marker);
    if (!s.marker && slot / kStyles.size() % 2 == 1) m.open = !m.open;
    list.push_back({style.ink, s.dash.value_or(style.dash), m, s.fill.value_or(static_cast<Fill>(fills % 4))});
    if (filled && !s.fill) ++fills;
  }
  return list;
}

enum class Anchor { start, middle, end };

struct Plot {  // one panel laid out
  const Panel* panel = nullptr;
  Box outer, box;
  Ticked x, y;
  Transform tx, ty;
  Tally tally;
  std::string empty;
  bool show_x = true;     // tick labels and label of the x axis
  bool legend_above = false;
  double top = 0, right = 0, bottom = 0, left = 0;
  std::vector<std::string> heading, y_label, x_label;
  std::vector<std::vector<std::string>> x_names, y_names;  // wrapped category names
};

class Drawing {
 public:
  Drawing(const Figure& figure, const SvgOptions& options) : figure_(figure), width_(options.width_px), height_(options.height_px) {
    HARDPAN_ASSERT(width_ >= 200 && height_ >= 120 && width_ <= 1e4 && height_ <= 1e4);
    beside_ = figure.arrangement == Arrangement::beside && width_ >= 480;
    if (figure.arrangement == Arrangement::beside && !beside_ && figure.panels.size() > 1)
      height_ *= 0.8 * static_cast<double>(figure.panels.size());
    for (const char c : figure.id) key_ += std::isalnum(static_cast<unsigned char>(c)) || c == '-' || c == '_' ? c : '-';
    key_ = fmt::format("{}-{}", key_.empty() ? "figure" : key_, num(width_));
  }

  std::string run() {
    const double bottom = furniture();
    layout(bottom);
    for (std::size_t i = 0; i < plots_.size(); ++i) draw(plots_[i], i);
    return head() + body_ + "</svg>\n";
  }

 private:
  // --- text ---
  void text(double x, double y, const std::string& s, double size, Anchor anchor = Anchor::start,
            const char* fill = kText, bool bold = false) {
    static constexpr std::array<const char*, 3> kAnchor{"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
    body_ += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\"{}{} fill=\"{}\">{}</text>\n", num(x), num(y), num(size),
                         kAnchor[static_cast<std::size_t>(anchor)], bold ? " font-weight=\"600\"" : "", fill, escape(s));
  }

  void line(double x0, double y0, double x1, double y1, const char* ink, double width, const char* dash = "") {
    body_ += fmt::format("<path d=\"M{} {}L{} {}\" stroke=\"{}\" stroke-width=\"{}\"{}/>\n", num(x0), num(y0), num(x1), num(y1),
                         ink, num(width), *dash ? fmt::format(" stroke-dasharray=\"{}\"", dash) : "");
  }

  // Title, provenance, what was not drawn, and the panels' share of the page. Returns the bottom of the panels.
  double furniture() {
    double y = 10;
    for (const std::string& l : wrap(figure_.title, kTitleSize, width_ - 24, true)) {
      text(12, y + 12, l, kTitleSize, Anchor::start, kText, true);
      y += 18;
    }
    top_ = y + 4;
    std::vector<std::string> foot = wrap(report::tally(figure_).text(), kSmallSize, width_ - 24);
    for (const std::string& l : wrap(figure_.provenance, kSmallSize, width_ - 24)) foot.push_back(l);
    double f = height_ - 8 - 12 * (static_cast<double>(foot.size()) - 1);
    const double bottom = foot.empty() ? height_ - 8 : f - 14;
    for (const std::string& l : foot) text(12, std::exchange(f, f + 12), l, kSmallSize, Anchor::start, kQuiet);
    if (figure_.panels.empty()) text(width_ / 2, height_ / 2, "no data: the figure has no panel", kLabelSize, Anchor::middle, kQuiet);
    return bottom;
  }

  void layout(double bottom) {
    const std::size_t n = figure_.panels.size();
    plots_.resize(n);
    if (n == 0) return;
    double shares = 0;
    for (const Panel& p : figure_.panels) shares += p.share;
    const double gap = beside_ ? 14 : 8, room = (beside_ ? width_ - 20 : bottom - top_) - gap * static_cast<double>(n - 1);
    double at = beside_ ? 10 : top_;
    for (std::size_t i = 0; i < n; ++i) {
      Plot& p = plots_[i];
      p.panel = &figure_.panels[i];
      const double size = room * p.panel->share / shares;
      p.outer = beside_ ? Box{at, top_, size, bottom - top_} : Box{10, at, width_ - 20, size};
      at += size + gap;
      p.show_x = beside_ || !figure_.shared_x || i + 1 == n;
    }
    for (std::size_t pass = 0; pass <= n; ++pass) {  // each pass can only move legends out of plots
      measure();
      bool moved = false;
      for (Plot& p : plots_) {
        if (p.legend_above || entries(p).empty()) continue;
        Clutter clutter = ground(p);
        std::string rehearsal = body_;
        labels(p, clutter);
        body_ = rehearsal;
        if (!legend_spot(p, clutter)) p.legend_above = moved = true;
      }
      if (!moved) return;
    }
  }

  void measure() {
    const auto xs = extents(figure_, Along::x), ys = extents(figure_, Along::y);
    double left = 0, right = 0, top = 0, low = 0;
    for (std::size_t i = 0; i < plots_.size(); ++i) {
      Plot& p = plots_[i];
      const Panel& panel = *p.panel;
      const double w = p.outer.w;
      p.heading = wrap(panel.heading, kLabelSize, w - 4, true);
      p.y_label = wrap(panel.y.text(), kLabelSize, w - 4);
      p.x_label = p.show_x ? wrap(panel.x.text(), kLabelSize, w - 4) : std::vector<std::string>{};
      p.top = 16 * static_cast<double>(p.heading.size()) + 15 * static_cast<double>(p.y_label.size()) + 9;
      if (p.legend_above) p.top += legend(p, p.outer.x, 0, w, false) + 3;
      p.bottom = (p.show_x ? 24 : 8) + 15 * static_cast<double>(p.x_label.size());
      const double h = p.outer.h - p.top - p.bottom;
      p.y = plan_axis(panel.y, ys[i], std::clamp(static_cast<int>(h / 32), 4, 8));
      p.left = 8;
      p.y_names.clear();
      for (const Tick& t : p.y.ticks) {
        p.y_names.push_back(panel.y.scale == Scale::category ? wrap(t.label, kTickSize, 0.38 * w) : std::vector{typeset(t.label)});
        for (const std::string& l : p.y_names.back()) p.left = std::max(p.left, text_width(l, kTickSize) + 10);
      }
      for (int most = 8; most >= 4; --most) {  // as many labels as stand apart from each other
        p.x = plan_axis(panel.x, xs[i], most);
        double widest = 0;
        std::size_t labelled = 0;
        for (const Tick& t : p.x.ticks) {
          widest = std::max(widest, text_width(t.label, kTickSize));
          labelled += t.label.empty() ? 0 : 1;
        }
        p.right = panel.x.scale == Scale::category ? 6 : std::max(8.0, widest / 2);
        if (static_cast<double>(labelled) * (widest + 12) < w - p.left - p.right || panel.x.scale == Scale::category) break;
      }
      p.x_names.clear();
      if (panel.x.scale == Scale::category && p.show_x) {
        std::size_t lines = 1;
        for (const Tick& t : p.x.ticks) {
          p.x_names.push_back(wrap(t.label, kTickSize, (w - p.left) / static_cast<double>(p.x.ticks.size()) - 6));
          lines = std::max(lines, p.x_names.back().size());
        }
        p.bottom += 12 * static_cast<double>(lines - 1);
      }
      p.tally = detail::tally(panel, p.x, p.y);
      p.empty = why_empty(panel, p.tally);
      left = std::max(left, p.left), right = std::max(right, p.right);
      top = std::max(top, p.top), low = std::max(low, p.bottom);
    }
    for (Plot& p : plots_) {  // stacked plots share their sides, plots beside each other their top and bottom
      if (beside_) p.top = top, p.bottom = low;
      else p.left = left, p.right = right;
      p.box = {p.outer.x + p.left, p.outer.y + p.top, std::max(40.0, p.outer.w - p.left - p.right),
               std::max(30.0, p.outer.h - p.top - p.bottom)};
      const bool down = p.panel->y.reversed != (p.panel->y.scale == Scale::category);
      p.tx = transform(p.x, p.panel->x.scale, p.panel->x.reversed ? p.box.right() : p.box.x, p.panel->x.reversed ? p.box.x : p.box.right());
      p.ty = transform(p.y, p.panel->y.scale, down ? p.box.y : p.box.bottom(), down ? p.box.bottom() : p.box.y);
    }
  }

  // --- what is in the way of labels ---
  using Pixel = std::pair<double, double>;

  // The drawable stretches of a line, thinned to first, least, greatest and last of each run in a pixel column.
  static std::vector<std::vector<Pixel>> stretches(const Plot& p, const std::vector<double>& xs, const std::vector<double>& ys, bool& thinned) {
    std::vector<std::vector<Pixel>> list;
    bool open = false;
    for (std::size_t i = 0; i < xs.size(); ++i) {
      if (fate(*p.panel, xs[i], ys[i]) != Fate::drawn) {
        open = false;
        continue;
      }
      if (!std::exchange(open, true)) list.emplace_back();
      // Far beyond the frame a place only gives a direction; SVG readers fail on huge numbers.
      list.back().push_back({std::clamp(p.tx(xs[i]), -1e5, 1e5), std::clamp(p.ty(ys[i]), -1e5, 1e5)});
    }
    if (static_cast<double>(xs.size()) <= 4 * p.box.w) return list;
    thinned = true;
    for (auto& stretch : list) {
      std::vector<Pixel> kept;
      for (std::size_t i = 0; i < stretch.size();) {
        std::size_t end = i, least = i, greatest = i;
        while (end < stretch.size() && std::floor(stretch[end].first) == std::floor(stretch[i].first)) {
          if (stretch[end].second < stretch[least].second) least = end;
          if (stretch[end].second > stretch[greatest].second) greatest = end;
          ++end;
        }
        std::array<std::size_t, 4> keep{i, std::min(least, greatest), std::max(least, greatest), end - 1};
        for (std::size_t k = 0; k < 4; ++k)
          if (k == 0 || keep[k] != keep[k - 1]) kept.push_back(stretch[keep[k]]);
        i = end;
      }
      stretch = std::move(kept);
    }
    return list;
  }

  // Indices of the points to draw: all, or of a dense cloud the column extremes and one point a 3 px cell.
  static std::vector<std::size_t> visible(const Plot& p, const Series& s, bool& thinned) {
    std::vector<std::size_t> all;
    for (std::size_t i = 0; i < s.x.size(); ++i)
      if (fate(*p.panel, s.x[i], s.y[i]) == Fate::drawn && p.x.holds(s.x[i]) && p.y.holds(s.y[i])) all.push_back(i);
    if (all.size() <= 1500) return all;
    thinned = true;
    std::map<int, std::pair<std::size_t, std::size_t>> extremes;
    std::map<std::pair<int, int>, std::size_t> cells;
    for (const std::size_t i : all) {
      const int column = static_cast<int>(std::floor(p.tx(s.x[i])));
      auto& [least, greatest] = extremes.try_emplace(column, i, i).first->second;
      if (s.y[i] < s.y[least]) least = i;
      if (s.y[i] > s.y[greatest]) greatest = i;
      cells.try_emplace({column / 3, static_cast<int>(p.ty(s.y[i]) / 3)}, i);
    }
    std::vector<std::size_t> kept;
    for (const auto& [c, e] : extremes) kept.push_back(e.first), kept.push_back(e.second);
    for (const auto& [c, i] : cells) kept.push_back(i);
    std::sort(kept.begin(), kept.end());
    kept.erase(std::unique(kept.begin(), kept.end()), kept.end());
    return kept;
  }

  static double marker_size(std::size_t n) { return n > 600 ? 1.6 : n > 150 ? 2.4 : 3.4; }

  struct Bar {
    Box box;
    double end;
    bool leftward;
  };
  static Bar bar(const Plot& p, const Series& s, std::size_t i) {
    std::size_t n = 0, mine = 0;
    for (const Series& other : p.panel->series) {
      if (&other == &s) mine = n;
      if (other.kind == Kind::bars) ++n;
    }
    const double slot = std::abs(p.ty(1) - p.ty(0)), height = std::min(13.0, 0.72 * slot / static_cast<double>(n));
    const double from = std::clamp(p.tx(s.base), p.box.x, p.box.right()), to = std::clamp(p.tx(s.x[i]), p.box.x, p.box.right());
    const double y = p.ty(s.y[i]) + height * (static_cast<double>(mine) - 0.5 * static_cast<double>(n));
    return {{std::min(from, to), y, std::abs(to - from), height - 1}, to, to < from};
  }

  Clutter ground(const Plot& p) const {
    Clutter c(p.box);
    bool ignored = false;
    for (const Shade& s : p.panel->shades) {
      const Box b = shade_box(p, s);
      if (s.axis == Along::x) c.add_line(b.x, b.y, b.x, b.bottom(), 1), c.add_line(b.right(), b.y, b.right(), b.bottom(), 1);
      else c.add_line(b.x, b.y, b.right(), b.y, 1), c.add_line(b.x, b.bottom(), b.right(), b.bottom(), 1);
    }
    for (const Series& s : p.panel->series) {
      if (s.kind == Kind::line)
        for (const auto& l : stretches(p, s.x, s.y, ignored))
          for (std::size_t i = 1; i < l.size(); ++i) c.add_line(l[i - 1].first, l[i - 1].second, l[i].first, l[i].second, 4);
      if (s.kind == Kind::band) {
        const auto lo = stretches(p, s.x, s.y_lo, ignored), hi = stretches(p, s.x, s.y_hi, ignored);
        for (const auto* edge : {&lo, &hi})
          for (const auto& l : *edge)
            for (std::size_t i = 1; i < l.size(); ++i) c.add_line(l[i - 1].first, l[i - 1].second, l[i].first, l[i].second, 2);
        for (double x = p.box.x; x < p.box.right(); x += 3) band_column(p, s, x, c);
      }
      if (s.kind == Kind::points)
        for (const std::size_t i : visible(p, s, ignored)) {
          const double x = p.tx(s.x[i]), y = p.ty(s.y[i]);
          c.add_box(Box{x, y, 0, 0}.grown(5), 10);
          if (!s.y_lo.empty() && fate(*p.panel, s.x[i], s.y_lo[i]) == Fate::drawn) c.add_line(x, y, x, p.ty(s.y_lo[i]), 4);
          if (!s.y_hi.empty() && fate(*p.panel, s.x[i], s.y_hi[i]) == Fate::drawn) c.add_line(x, y, x, p.ty(s.y_hi[i]), 4);
          if (!s.x_lo.empty() && fate(*p.panel, s.x_lo[i], s.y[i]) == Fate::drawn) c.add_line(x, y, p.tx(s.x_lo[i]), y, 4);
          if (!s.x_hi.empty() && fate(*p.panel, s.x_hi[i], s.y[i]) == Fate::drawn) c.add_line(x, y, p.tx(s.x_hi[i]), y, 4);
        }
      if (s.kind == Kind::bars)
        for (std::size_t i = 0; i < s.x.size(); ++i)
          if (fate(*p.panel, s.x[i], s.y[i]) == Fate::drawn) {
            c.add_box(bar(p, s, i).box, 10);
            if (!s.text.empty()) c.add_box(bar_text(p, s, i), 100);
          }
    }
    for (const Reference& r : p.panel->references)
      if (reference_shown(p, r)) {
        if (r.axis == Along::x) c.add_line(p.tx(r.value), p.box.y, p.tx(r.value), p.box.bottom(), 6);
        else c.add_line(p.box.x, p.ty(r.value), p.box.right(), p.ty(r.value), 6);
      }
    return c;
  }

  static void band_column(const Plot& p, const Series& s, double px, Clutter& c) {
    for (std::size_t i = 1; i < s.x.size(); ++i) {
      const double x0 = p.tx(s.x[i - 1]), x1 = p.tx(s.x[i]);
      if (!(px >= std::min(x0, x1) && px <= std::max(x0, x1)) || x0 == x1) continue;
      if (fate(*p.panel, s.x[i], s.y_lo[i]) != Fate::drawn || fate(*p.panel, s.x[i - 1], s.y_hi[i - 1]) != Fate::drawn) continue;
      const double t = (px - x0) / (x1 - x0);
      const double lo = p.ty(s.y_lo[i - 1]) * (1 - t) + p.ty(s.y_lo[i]) * t, hi = p.ty(s.y_hi[i - 1]) * (1 - t) + p.ty(s.y_hi[i]) * t;
      if (std::isfinite(lo) && std::isfinite(hi)) c.add_line(px, lo, px, hi, 2);
      return;
    }
  }

  static bool reference_shown(const Plot& p, const Reference& r) {
    return std::isfinite(r.value) && (r.axis == Along::x ? p.x : p.y).holds(r.value);
  }

  static Box shade_box(const Plot& p, const Shade& s) {
    const Ticked& axis = s.axis == Along::x ? p.x : p.y;
    HARDPAN_ASSERT(s.lo <= s.hi);
    if (!(s.lo <= axis.hi && s.hi >= axis.lo)) return {p.box.x, p.box.y, 0, 0};
    const Transform& t = s.axis == Along::x ? p.tx : p.ty;
    const double u = t(std::max(s.lo, axis.lo)), v = t(std::min(s.hi, axis.hi));
    return s.axis == Along::x ? Box{std::min(u, v), p.box.y, std::abs(u - v), p.box.h}
                              : Box{p.box.x, std::min(u, v), p.box.w, std::abs(u - v)};
  }

  static Box bar_text(const Plot& p, const Series& s, std::size_t i) {
    const Bar b = bar(p, s, i);
    const double w = text_width(s.text[i], kSmallSize + 0.5);
    return {b.leftward ? std::max(p.box.x, b.end - 4 - w) : std::min(b.end + 4, p.box.right() - w), b.box.y, w, b.box.h};
  }

  // --- labels inside the plot: the cheapest of many candidate places ---
  struct Candidate {
    double x, y;  // anchor point, y of the top of the text box
    Anchor anchor;
    double penalty;
  };

  Box place(const std::vector<std::string>& lines, const std::vector<Candidate>& candidates, Clutter& clutter, const char* ink) {
    double w = 0;
    for (const std::string& l : lines) w = std::max(w, text_width(l, kTickSize));
    const double h = 13 * static_cast<double>(lines.size());
    const auto box_of = [&](const Candidate& c) {
      return Box{c.anchor == Anchor::start ? c.x : c.anchor == Anchor::end ? c.x - w : c.x - w / 2, c.y, w, h};
    };
    const Candidate* best = nullptr;
    double least = 0, collision = 0;
    for (const Candidate& c : candidates) {
      const double hit = clutter.cost(box_of(c)), cost = hit + c.penalty;
      if (!best || cost < least) best = &c, least = cost, collision = hit;
    }
    const Box b = box_of(*best);
    if (collision > 8) body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"#fff\" fill-opacity=\"0.8\"/>\n", num(b.x), num(b.y), num(b.w), num(b.h));
    for (std::size_t i = 0; i < lines.size(); ++i) text(best->x, b.y + 10 + 13 * static_cast<double>(i), lines[i], kTickSize, best->anchor, ink);
    clutter.add_box(b, 100);
    return b;
  }

  void labels(const Plot& p, Clutter& clutter) {
    const double widest = std::min(p.box.w - 8, std::max(110.0, 0.36 * p.box.w));
    for (const Shade& s : p.panel->shades) {
      const Box b = shade_box(p, s);
      if (s.text.empty() || !(b.w > 0 && b.h > 0)) continue;
      std::vector<Candidate> c;
      const auto lines = wrap(s.text, kTickSize, s.axis == Along::x ? std::max(b.w - 6, 64.0) : widest);
      const double h = 13 * static_cast<double>(lines.size());
      if (s.axis == Along::x) {
        for (double y = p.box.y + 4; y + h < p.box.bottom(); y += 7)
          for (const auto& [x, a] : {std::pair{b.x + b.w / 2, Anchor::middle}, {b.x + 4, Anchor::start}, {b.right() - 4, Anchor::end}})
            c.push_back({x, y, a, 0.05 * (y - p.box.y) + (a == Anchor::middle ? 0 : 2)});
      } else {
        for (double x = p.box.right() - 4; x > p.box.x + 30; x -= 12)
          for (const double y : {b.y + 3, b.bottom() - h - 3, b.y - h - 2, b.bottom() + 2})
            c.push_back({x, y, Anchor::end, 0.03 * (p.box.right() - x) + (y < b.y || y + h > b.bottom() ? 6 : 0)});
      }
      place(lines, c, clutter, kQuiet);
    }
    for (const Reference& r : p.panel->references) {
      if (r.text.empty() || !reference_shown(p, r)) continue;
      const auto lines = wrap(r.text, kTickSize, widest);
      const double h = 13 * static_cast<double>(lines.size());
      std::vector<Candidate> c;
      if (r.axis == Along::x) {
        const double x = p.tx(r.value);
        for (double y = p.box.y + 3; y + h < p.box.bottom(); y += 7)
          for (const auto& [dx, a] : {std::pair{5.0, Anchor::start}, {-5.0, Anchor::end}})
            c.push_back({x + dx, y, a, 0.05 * (y - p.box.y) + (dx < 0 ? 1 : 0)});
      } else {
        const double y = p.ty(r.value);
        for (double x = p.box.right() - 4; x > p.box.x + 30; x -= 12)
          for (const double dy : {-h - 2, 4.0}) c.push_back({x, y + dy, Anchor::end, 0.03 * (p.box.right() - x) + (dy > 0 ? 1 : 0)});
      }
      if (!c.empty()) place(lines, c, clutter, kText);
    }
    for (const Note& n : p.panel->notes) {
      if (fate(*p.panel, n.x, n.y) != Fate::drawn || !p.x.holds(n.x) || !p.y.holds(n.y)) continue;
      const auto lines = wrap(n.text, kTickSize, widest);
      const double x = p.tx(n.x), y = p.ty(n.y), h = 13 * static_cast<double>(lines.size());
      std::vector<Candidate> c;
      for (const double r : {8.0, 20.0, 36.0, 56.0})
        for (const double dy : {-0.7, 0.0, 0.7})
          for (const auto& [dx, a] : {std::pair{1.0, Anchor::start}, {-1.0, Anchor::end}})
            c.push_back({x + dx * r * (dy == 0 ? 1 : 0.7), y + r * dy - (dy < 0 ? h : dy > 0 ? 0 : h / 2), a, 0.2 * r});
      const Box b = place(lines, c, clutter, kText);
      const double nx = std::clamp(x, b.x, b.right()), ny = std::clamp(y, b.y, b.bottom());
      if (std::hypot(nx - x, ny - y) > 12) line(x, y, nx < x ? nx + 2 : nx - 2, ny, kQuiet, 0.8);
    }
  }

  // --- legend ---
  struct Entry {
    const Series* series;
    Look look;
    double width;
  };

  static std::vector<Entry> entries(const Plot& p) {
    std::vector<Entry> list;
    const auto all = looks(*p.panel);
    for (std::size_t i = 0; p.panel->legend && p.empty.empty() && i < all.size(); ++i)
      if (const Series& s = p.panel->series[i]; !s.name.empty()) list.push_back({&s, all[i], 34 + text_width(s.name, kTickSize)});
    return list;
  }

  // The corner or edge of the plot where the legend covers nothing; the roomiest first.
  std::optional<Box> legend_spot(const Plot& p, const Clutter& clutter) const {
    Box b{.h = 4};
    for (const Entry& e : entries(p)) b.w = std::max(b.w, e.width + 6), b.h += 16;
    if (b.w > 0.62 * p.box.w || b.h > 0.75 * p.box.h) return std::nullopt;
    const double r = p.box.right() - b.w - 5, d = p.box.bottom() - b.h - 5, u = p.box.y + 4, l = p.box.x + 6;
    for (const double margin : {12.0, 5.0, 0.0})
      for (const auto& [x, y] : {std::pair{r, u}, {l, u}, {r, d}, {l, d}, {(l + r) / 2, u}, {(l + r) / 2, d}, {r, (u + d) / 2}, {l, (u + d) / 2}}) {
        const Box want = Box{x, y, b.w, b.h}.grown(margin);
        const double x0 = std::max(want.x, p.box.x), y0 = std::max(want.y, p.box.y);
        const Box seen{x0, y0, std::min(want.right(), p.box.right() - 3) - x0, std::min(want.bottom(), p.box.bottom() - 3) - y0};
        const double edges = seen.w / 3 + seen.h / 3;  // edges of shades may run below a legend
        if (clutter.cost(seen) <= (margin == 0 ? 2 * edges : 0)) return Box{x, y, b.w, b.h};
      }
    return std::nullopt;
  }

  // A legend in rows from (x, y), or measured only. Returns its height.
  double legend(const Plot& p, double x, double y, double width, bool really, bool column = false) {
    double at = x, row = y;
    for (const Entry& e : entries(p)) {
      if (at > x && (column || at + e.width > x + width)) at = x, row += 16;
      if (really) sample(e, at, row + 8);
      at += e.width + 14;
    }
    return row - y + 16;
  }

  void sample(const Entry& e, double x, double y) {
    const Series& s = *e.series;
    if (s.kind == Kind::band || s.kind == Kind::bars)
      body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"24\" height=\"10\" {}/>\n", num(x), num(y - 5), fill_attributes(e.look));
    if (s.kind == Kind::line) line(x, y, x + 24, y, e.look.ink, 1.8, dash_array(e.look.dash));
    if (s.kind == Kind::points) {
      if (!s.y_lo.empty() || !s.y_hi.empty()) line(x + 12, y - 7, x + 12, y + 7, e.look.ink, 1);
      else if (!s.x_lo.empty() || !s.x_hi.empty()) line(x + 3, y, x + 21, y, e.look.ink, 1);
      body_ += fmt::format("<path d=\"{}\" {}/>\n", marker_path(e.look.marker.shape, x + 12, y, 3.4), marker_attributes(e.look.marker, e.look.ink));
    }
    text(x + 30, y + 4, s.name, kTickSize);
  }

  // --- fills ---
  std::string fill_attributes(const Look& look) {
    if (look.fill == Fill::tint) return fmt::format("fill=\"{}\" fill-opacity=\"0.2\" stroke=\"{}\" stroke-width=\"0.8\"", look.ink, look.ink);
    return fmt::format("fill=\"url(#{})\" stroke=\"{}\" stroke-width=\"0.8\"", pattern(look.fill, look.ink, false), look.ink);
  }

  std::string pattern(Fill fill, const char* ink, bool shade) {
    const std::string id = fmt::format("{}-fill-{}-{}", key_, static_cast<int>(fill), ink + 1);
    const std::string back = shade ? "" : fmt::format("<rect width=\"6\" height=\"6\" fill=\"{}\" fill-opacity=\"0.1\"/>", ink);
    const std::string mark = fill == Fill::dots ? fmt::format("<circle cx=\"1.5\" cy=\"1.5\" r=\"0.9\" fill=\"{0}\"/><circle cx=\"4.5\" cy=\"4.5\" r=\"0.9\" fill=\"{0}\"/>", ink)
                                                : fmt::format("<path d=\"M0 0H6\" stroke=\"{}\" stroke-width=\"1.8\"/>", ink);
    patterns_[id] = fmt::format("<pattern id=\"{}\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"{}>{}{}</pattern>\n", id,
                                fill == Fill::hatch_up ? " patternTransform=\"rotate(-45)\"" : fill == Fill::hatch_down ? " patternTransform=\"rotate(45)\"" : "", back, mark);
    return id;
  }

  // --- one panel, back to front ---
  void draw(Plot& p, std::size_t index) {
    const Panel& panel = *p.panel;
    const auto data = [](const char* axis, const Transform& t, Scale s, const Ticked& k) {
      static constexpr std::array<const char*, 4> kNames{"linear", "log10", "clock", "category"};
      return fmt::format(" data-{0}-scale=\"{1}\" data-{0}-a=\"{2:.9g}\" data-{0}-b=\"{3:.9g}\" data-{0}-lo=\"{4:.9g}\" data-{0}-hi=\"{5:.9g}\"", axis,
                         kNames[static_cast<std::size_t>(s)], t.a, t.b, k.lo, k.hi);
    };
    body_ += fmt::format("<g class=\"panel\" data-panel=\"{}\" data-plot=\"{} {} {} {}\"{}{}>\n", index, num(p.box.x), num(p.box.y), num(p.box.w), num(p.box.h),
                         data("x", p.tx, panel.x.scale, p.x), data("y", p.ty, panel.y.scale, p.y));
    clips_ += fmt::format("<clipPath id=\"{}-clip-{}\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>\n", key_, index, num(p.box.x), num(p.box.y), num(p.box.w), num(p.box.h));
    std::size_t order = 0;
    for (const Shade& s : panel.shades) {
      const Fill fill = s.fill.value_or(static_cast<Fill>(order++ % 4));
      const Box b = shade_box(p, s);
      if (!(b.w > 0 && b.h > 0)) continue;
      body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" class=\"shade\"/>\n", num(b.x), num(b.y), num(b.w), num(b.h),
                           fill == Fill::tint ? kShade : fmt::format("url(#{})", pattern(fill, "#d3dae0", true)));
      if (s.axis == Along::x) line(b.x, b.y, b.x, b.bottom(), kShadeInk, 0.8), line(b.right(), b.y, b.right(), b.bottom(), kShadeInk, 0.8);
      else line(b.x, b.y, b.right(), b.y, kShadeInk, 0.8), line(b.x, b.bottom(), b.right(), b.bottom(), kShadeInk, 0.8);
    }
    axes(p);
    if (p.empty.empty()) {
      body_ += fmt::format("<g clip-path=\"url(#{}-clip-{})\" fill=\"none\">\n", key_, index);
      const auto all = looks(panel);
      for (std::size_t i = 0; i < all.size(); ++i) if (panel.series[i].kind == Kind::band) band(p, panel.series[i], all[i]);
      for (const Reference& r : panel.references) {
        if (!reference_shown(p, r)) continue;
        if (r.axis == Along::x) line(p.tx(r.value), p.box.y, p.tx(r.value), p.box.bottom(), kText, 1.1, "5 2 1 2");
        else line(p.box.x, p.ty(r.value), p.box.right(), p.ty(r.value), kText, 1.1, "5 2 1 2");
      }
      for (std::size_t i = 0; i < all.size(); ++i) if (panel.series[i].kind == Kind::line) polyline(panel.series[i], all[i], p);
      body_ += "</g>\n";
      for (std::size_t i = 0; i < all.size(); ++i) {
        if (panel.series[i].kind == Kind::bars) bars(p, panel.series[i], all[i]);
        if (panel.series[i].kind == Kind::points) points(p, panel.series[i], all[i], index);
      }
    }
    Clutter clutter = ground(p);
    const auto why = p.empty.empty() ? std::vector<std::string>{} : wrap(p.empty, kLabelSize, p.box.w - 16);
    double y = p.box.y + p.box.h / 2 - 8 * static_cast<double>(why.size()) + 12;
    for (const std::string& l : why) {
      text(p.box.x + p.box.w / 2, std::exchange(y, y + 16), l, kLabelSize, Anchor::middle, kQuiet);
      clutter.add_box({p.box.x, y - 28, p.box.w, 16}, 100);
    }
    labels(p, clutter);
    if (p.legend_above) {
      legend(p, p.outer.x + 2, p.outer.y + 16 * static_cast<double>(p.heading.size()), p.outer.w - 2, true);
    } else if (const auto spot = entries(p).empty() ? std::nullopt : legend_spot(p, clutter)) {
      body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"#fff\" fill-opacity=\"0.88\"/>\n", num(spot->x), num(spot->y), num(spot->w), num(spot->h));
      legend(p, spot->x + 4, spot->y + 2, spot->w, true, true);
    }
    body_ += "</g>\n";
  }

  void axes(const Plot& p) {
    const Panel& panel = *p.panel;
    const Box& b = p.box;
    const bool quiet = !p.empty.empty() && !panel.x.min && !panel.x.max;  // an empty frame shows no invented numbers
    for (const bool major : {false, true}) {
      for (const Tick& t : p.x.ticks) if (t.major == major && panel.x.scale != Scale::category) line(p.tx(t.value), b.y, p.tx(t.value), b.bottom(), major ? kGrid : kMinorGrid, 1);
      for (const Tick& t : p.y.ticks) if (t.major == major) line(b.x, p.ty(t.value), b.right(), p.ty(t.value), major ? kGrid : kMinorGrid, 1);
    }
    line(b.x, b.y, b.x, b.bottom(), kQuiet, 1);
    line(b.x, b.bottom(), b.right(), b.bottom(), kQuiet, 1);
    std::size_t i = 0;
    for (const Tick& t : p.x.ticks) {
      const double x = p.tx(t.value);
      if (panel.x.scale != Scale::category) line(x, b.bottom(), x, b.bottom() + (t.major ? 5 : 3), kQuiet, 1);
      if (p.show_x && t.major && !quiet) {
        double y = b.bottom() + 17;
        for (const std::string& l : p.x_names.empty() ? std::vector{typeset(t.label)} : p.x_names[i]) text(x, std::exchange(y, y + 12), l, kTickSize, Anchor::middle);
      }
      ++i;
    }
    i = 0;
    for (const Tick& t : p.y.ticks) {
      const double y = p.ty(t.value);
      if (panel.y.scale != Scale::category) line(b.x - (t.major ? 5 : 3), y, b.x, y, kQuiet, 1);
      const auto& names = p.y_names[i++];
      if (!t.major || quiet) continue;
      double at = y + 4 - 6 * (static_cast<double>(names.size()) - 1);
      for (const std::string& l : names) text(b.x - 8, std::exchange(at, at + 12), l, kTickSize, Anchor::end);
    }
    double y = p.outer.y + 12;
    for (const std::string& l : p.heading) text(p.outer.x + 2, std::exchange(y, y + 16), l, kLabelSize, Anchor::start, kText, true);
    y = b.y - 10 - 15 * (static_cast<double>(p.y_label.size()) - 1);
    for (const std::string& l : p.y_label) text(p.outer.x + 2, std::exchange(y, y + 15), l, kLabelSize);
    y = b.bottom() + p.bottom - 15 * static_cast<double>(p.x_label.size()) + 9;
    for (const std::string& l : p.x_label) text(b.x + b.w / 2, std::exchange(y, y + 15), l, kLabelSize, Anchor::middle);
  }

  void band(const Plot& p, const Series& s, const Look& look) {
    // Gaps must fall at the same values on both edges, so a value missing on one side is missing on both.
    std::vector<double> lo = s.y_lo, hi = s.y_hi;
    for (std::size_t i = 0; i < lo.size(); ++i)
      if (fate(*p.panel, s.x[i], lo[i]) != Fate::drawn || fate(*p.panel, s.x[i], hi[i]) != Fate::drawn) lo[i] = hi[i] = std::numeric_limits<double>::quiet_NaN();
    const auto below = stretches(p, s.x, lo, thinned_), above = stretches(p, s.x, hi, thinned_);
    for (std::size_t k = 0; k < below.size(); ++k) {
      std::string d;
      for (const auto& [x, y] : above[k]) d += fmt::format("{}{} {}", d.empty() ? "M" : "L", num(x), num(y));
      for (auto it = below[k].rbegin(); it != below[k].rend(); ++it) d += fmt::format("L{} {}", num(it->first), num(it->second));
      body_ += fmt::format("<path class=\"band\" data-name=\"{}\" d=\"{}Z\" {}/>\n", escape(s.name), d, fill_attributes(look));
    }
  }

  void polyline(const Series& s, const Look& look, const Plot& p) {
    std::string d;
    for (const auto& stretch : stretches(p, s.x, s.y, thinned_)) {
      for (std::size_t i = 0; i < stretch.size(); ++i) d += fmt::format("{}{} {}", i == 0 ? "M" : "L", num(stretch[i].first), num(stretch[i].second));
      if (stretch.size() == 1) d += "h0.01";  // a lone value between gaps shows as a dot
    }
    body_ += fmt::format("<path class=\"line\" data-name=\"{}\" d=\"{}\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\" stroke-linecap=\"{}\"{}/>\n", escape(s.name), d, look.ink,
                         s.x.size() > 1000 ? "1.1" : "1.8", look.dash == Dash::solid ? "round" : "butt",
                         *dash_array(look.dash) ? fmt::format(" stroke-dasharray=\"{}\"", dash_array(look.dash)) : "");
  }

  void points(const Plot& p, const Series& s, const Look& look, std::size_t index) {
    const auto shown = visible(p, s, thinned_);
    const double r = marker_size(shown.size());
    std::string whiskers, marks, at;
    for (const std::size_t i : shown) {
      const double x = p.tx(s.x[i]), y = p.ty(s.y[i]);
      const auto whisker = [&](const std::vector<double>& ends, bool along_x) {
        if (ends.empty() || fate(*p.panel, along_x ? ends[i] : s.x[i], along_x ? s.y[i] : ends[i]) != Fate::drawn) return;
        const double e = std::clamp(along_x ? p.tx(ends[i]) : p.ty(ends[i]), -1e5, 1e5);
        whiskers += along_x ? fmt::format("M{} {}H{}M{} {}v6", num(x), num(y), num(e), num(e), num(y - 3))
                            : fmt::format("M{} {}V{}M{} {}h6", num(x), num(y), num(e), num(x - 3), num(e));
      };
      whisker(s.x_lo, true), whisker(s.x_hi, true), whisker(s.y_lo, false), whisker(s.y_hi, false);
      marks += marker_path(look.marker.shape, x, y, r);
      at += fmt::format("{}{},{}", at.empty() ? "" : " ", num(x), num(y));
    }
    const char* ink = look.marker.shape == Shape::go ? kGo : look.marker.shape == Shape::no_go ? kNoGo : look.ink;
    if (!whiskers.empty()) body_ += fmt::format("<path clip-path=\"url(#{}-clip-{})\" d=\"{}\" stroke=\"{}\" stroke-width=\"1.1\" fill=\"none\"/>\n", key_, index, whiskers, ink);
    body_ += fmt::format("<path class=\"points\" data-name=\"{}\" data-at=\"{}\" d=\"{}\" {}/>\n", escape(s.name), at, marks, marker_attributes(look.marker, look.ink));
  }

  void bars(const Plot& p, const Series& s, const Look& look) {
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      if (fate(*p.panel, s.x[i], s.y[i]) != Fate::drawn) continue;
      const Bar b = bar(p, s, i);
      body_ += fmt::format("<rect class=\"bar\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {}/>\n", num(b.box.x), num(b.box.y), num(b.box.w), num(b.box.h), fill_attributes(look));
      if (s.text.empty() || s.text[i].empty()) continue;
      const Box t = bar_text(p, s, i);
      text(b.leftward ? t.right() : t.x, b.box.y + b.box.h / 2 + 3.5, s.text[i], kSmallSize + 0.5, b.leftward ? Anchor::end : Anchor::start);
    }
    if (p.x.holds(s.base)) line(p.tx(s.base), p.box.y, p.tx(s.base), p.box.bottom(), kText, 1.2);
  }

  std::string head() const {
    std::string desc = figure_.caption;
    for (std::size_t i = 0; i < plots_.size(); ++i) {
      const Plot& p = plots_[i];
      desc += fmt::format("{}Panel {}{}{}: ", desc.empty() ? "" : " ", i + 1, p.panel->heading.empty() ? "" : ", ", p.panel->heading);
      if (!p.empty.empty()) {
        desc += p.empty + ".";
        continue;
      }
      desc += fmt::format("{} from {:.6g} to {:.6g} across, {} from {:.6g} to {:.6g} {}.", p.panel->x.text(), p.x.lo, p.x.hi, p.panel->y.text(), p.y.lo, p.y.hi, p.panel->y.reversed ? "downward" : "upward");
      static constexpr std::array<const char*, 4> kKinds{"line", "points", "band", "bars"};
      for (const Series& s : p.panel->series) desc += fmt::format(" {} {}({} values).", kKinds[static_cast<std::size_t>(s.kind)], s.name.empty() ? "" : s.name + " ", s.x.size());
    }
    if (const std::string lost = report::tally(figure_).text(); !lost.empty()) desc += " " + lost;
    if (thinned_) desc += " Thinned for drawing: lines keep first, least, greatest and last value of each pixel column, dense points the extremes of each column and one a 3 px cell.";
    std::string defs = clips_;
    for (const auto& [id, text] : patterns_) defs += text;
    return fmt::format("<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" id=\"{0}\" class=\"figure\" width=\"{1}\" height=\"{2}\" viewBox=\"0 0 {1} {2}\" role=\"img\" "
                       "aria-labelledby=\"{0}-title {0}-desc\" font-family=\"'Source Sans 3', 'Helvetica Neue', Arial, 'DejaVu Sans', sans-serif\">\n<title id=\"{0}-title\">{3}</title>\n"
                       "<desc id=\"{0}-desc\">{4}</desc>\n<defs>\n{5}</defs>\n<rect width=\"{1}\" height=\"{2}\" fill=\"#fff\"/>\n",
                       key_, num(width_), num(height_), escape(figure_.title), escape(desc), defs);
  }

  const Figure& figure_;
  double width_, height_, top_ = 0;
  bool beside_ = false, thinned_ = false;
  std::string key_, body_, clips_;
  std::map<std::string, std::string> patterns_;
  std::vector<Plot> plots_;
};

}  // namespace

std::string to_svg(const Figure& figure, const SvgOptions& options) { return Drawing(figure, options).run(); }

}  // namespace hardpan::report
