// SPDX-License-Identifier: Apache-2.0
// The figure as SVG: measure the margins, find free ground for the labels and the legend, then write from the
// back to the front: shades, grid, bands, references, series, axes, labels, legend. The look: thin light grid,
// ticks outside, the y label level above its axis; inks differ in lightness as well as hue, and every ink has its
// own dash and marker, so that grey print and colour-blind readers lose nothing.
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "base/assertion.hpp"
#include "report/detail/figure_cells.hpp"
#include "report/detail/figure_plot.hpp"
#include "report/detail/figure_polar.hpp"
#include "units/count.hpp"

namespace hardpan::report {
namespace {

using namespace detail;

double marker_size(std::size_t n) { return n > 600 ? 1.6 : n > 150 ? 2.4 : 3.4; }

class Drawing {
 public:
  Drawing(const Figure& figure, const SvgOptions& options)
      : figure_(figure), width_(options.width_px), height_(options.height_px) {
    HARDPAN_ASSERT(width_ >= 200 && height_ >= 120 && width_ <= 1e4 && height_ <= 1e4);
    beside_ = figure.arrangement == Arrangement::beside && width_ >= 480;
    if (figure.arrangement == Arrangement::beside && !beside_ && figure.panels.size() > 1)
      height_ *= 0.8 * static_cast<double>(figure.panels.size());
    for (const char c : figure.id)
      key_ += std::isalnum(static_cast<unsigned char>(c)) || c == '-' || c == '_' ? c : '-';
    key_ = fmt::format("{}-{}", key_.empty() ? "figure" : key_, num(width_));
  }

  std::string run() {
    title();
    layout();
    foot();
    for (std::size_t i = 0; i < plots_.size(); ++i) draw(plots_[i], i);
    return head() + body_ + "</svg>\n";
  }

 private:
  // --- text ---
  void text(double x, double y, const std::string& s, double size, Anchor anchor = Anchor::start,
            const char* fill = kText, bool bold = false) {
    body_ += svg_text(x, y, s, size, anchor, fill, bold);
  }

  void line(double x0, double y0, double x1, double y1, const char* ink, double width, const char* dash = "") {
    body_ += svg_line(x0, y0, x1, y1, ink, width, dash);
  }

  void title() {
    double y = 10;
    for (const std::string& l : wrap(figure_.title, kTitleSize, width_ - 24, true)) {
      text(12, y + 12, l, kTitleSize, Anchor::start, kText, true);
      y += 18;
    }
    top_ = y + 4;
    foot_ = wrap(report::tally(figure_).text(), kSmallSize, width_ - 24);
    for (const std::string& l : wrap(figure_.provenance, kSmallSize, width_ - 24)) foot_.push_back(l);
  }

  void foot() {
    double y = height_ - 8 - 12 * (static_cast<double>(foot_.size()) - 1);
    for (const std::string& l : foot_) text(12, std::exchange(y, y + 12), l, kSmallSize, Anchor::start, kQuiet);
    if (plots_.empty())
      text(width_ / 2, height_ / 2, "no data: the figure has no panel", kLabelSize, Anchor::middle, kQuiet);
  }

  // Shares out the page, moves legends that find no free place above their plots, and lets the page grow until no
  // plot is too flat to read. Each pass does one of these; both end.
  void layout() {
    plots_.resize(figure_.panels.size());
    for (std::size_t pass = 0; pass < 4 * plots_.size(); ++pass) {
      outline();
      measure();
      bool again = false;
      for (Plot& p : plots_) {
        if (p.panel->polar || p.legend_above || entries(p).empty()) continue;
        Clutter clutter = ground(p);
        const std::string before = body_;
        labels(p, clutter);
        body_ = before;
        if (!legend_spot(p, clutter)) p.legend_above = again = true;
      }
      double lacking = 0;
      for (const Plot& p : plots_) {
        const double h = p.panel->polar ? kFlattest - polar_lacking(p) : p.outer.h - p.top - p.bottom;
        const double least = std::max(kFlattest, cells_height(*p.panel));
        if (h < least - 0.01)
          lacking = std::max(lacking, (least - h) * (beside_ ? 1 : shares_ / p.panel->share));
      }
      height_ += lacking;
      if (!again && lacking == 0) return;
    }
    outline();
    measure();
  }

  void outline() {
    const std::size_t n = plots_.size();
    const double bottom = foot_.empty() ? height_ - 8 : height_ - 10 - 12 * static_cast<double>(foot_.size());
    shares_ = 0;
    for (const Panel& p : figure_.panels) shares_ += p.share;
    const double gap = beside_ ? 14 : 8,
                 room = (beside_ ? width_ - 20 : bottom - top_) - gap * static_cast<double>(n - 1);
    double at = beside_ ? 10 : top_;
    for (std::size_t i = 0; i < n; ++i) {
      Plot& p = plots_[i];
      p.panel = &figure_.panels[i];
      HARDPAN_ASSERT(p.panel->share > 0);
      const double size = room * p.panel->share / shares_;
      p.outer = beside_ ? Box{at, top_, size, bottom - top_} : Box{10, at, width_ - 20, size};
      at += size + gap;
      p.show_x = beside_ || !figure_.shared_x || i + 1 == n;
    }
  }

  // Room for the text at the ends of bars.
  static Extent with_bar_text(const Panel& panel, Extent e, double width) {
    double widest = 0;
    for (const Series& s : panel.series)
      for (const std::string& t : s.text) widest = std::max(widest, text_width(t, kSmallSize + 0.5) + 8);
    if (widest == 0 || !e.any() || panel.x.scale != Scale::linear) return e;
    const double part = std::min(widest / width, 0.3), room = part / (1 - 2 * part) * (e.hi - e.lo);
    e.lo -= room;
    e.hi += room;
    return e;
  }

  static void name_y(Plot& p) {
    p.left = 8;
    p.y_names.clear();
    for (const Tick& t : p.y.ticks) {
      p.y_names.push_back(p.panel->y.scale == Scale::category ? wrap(t.label, kTickSize, 0.38 * p.outer.w)
                                                              : std::vector{typeset(t.label)});
      for (const std::string& l : p.y_names.back()) p.left = std::max(p.left, text_width(l, kTickSize) + 10);
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
      const bool marked = std::any_of(panel.references.begin(), panel.references.end(),
                                      [](const Reference& r) { return r.axis == Along::x && !r.text.empty(); });
      p.label_row = marked || !p.y_label.empty();
      const std::size_t rows = std::max(p.y_label.size(), std::size_t{p.label_row ? 1u : 0u});
      p.top = 16 * static_cast<double>(p.heading.size()) + 15 * static_cast<double>(rows) + 9;
      if (p.legend_above) p.top += legend(p, 0, 0, w - 2, false) + 3;
      p.bottom = (p.show_x ? 24 : 8) + 15 * static_cast<double>(p.x_label.size());
      const double h = p.outer.h - p.top - p.bottom;
      p.y = plan_axis(panel.y, ys[i], std::clamp(static_cast<int>(h / 32), 4, 8));
      name_y(p);
      for (int most = 8; most >= 4; --most) {  // as many labels as stand apart from each other
        p.x = plan_axis(panel.x, with_bar_text(panel, xs[i], w - p.left - 8), most);
        double widest = 0;
        std::size_t labelled = 0;
        for (const Tick& t : p.x.ticks) {
          widest = std::max(widest, text_width(t.label, kTickSize));
          labelled += t.label.empty() ? 0 : 1;
        }
        p.right = panel.x.scale == Scale::category ? 6 : std::max(8.0, widest / 2);
        if (static_cast<double>(labelled) * (widest + 12) < w - p.left - p.right || panel.x.scale == Scale::category)
          break;
      }
      if (panel.same_range) {  // the coarser of the two, for both
        const int most = std::clamp(static_cast<int>(std::min(p.x.ticks.size(), p.y.ticks.size())), 4, 8);
        p.x = plan_axis(panel.x, xs[i], most);
        p.y = plan_axis(panel.y, ys[i], most);
        name_y(p);
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
      if (beside_)
        p.top = top, p.bottom = low;
      else
        p.left = left, p.right = right;
      p.box = {p.outer.x + p.left, p.outer.y + p.top, std::max(40.0, p.outer.w - p.left - p.right),
               std::max(30.0, p.outer.h - p.top - p.bottom)};
      const bool down = p.panel->y.reversed != (p.panel->y.scale == Scale::category);
      p.tx = transform(p.x, p.panel->x.scale, p.panel->x.reversed ? p.box.right() : p.box.x,
                       p.panel->x.reversed ? p.box.x : p.box.right());
      p.ty = transform(p.y, p.panel->y.scale, down ? p.box.y : p.box.bottom(), down ? p.box.bottom() : p.box.y);
    }
  }

  // --- what is in the way of labels ---
  using Pixel = std::pair<double, double>;
  // --- labels inside the plot: the cheapest of many candidate places ---
  Box place(const Label& label, Clutter& clutter, const char* ink) {
    const Spot spot = choose(label, clutter);
    const Box& b = spot.box;
    if (spot.collision > 8) backing(b, 0.8);
    double y = b.y + 10;
    for (const std::string& l : label.wrappings[spot.at.wrapping])
      text(spot.at.x, std::exchange(y, y + 13), l, kTickSize, spot.at.anchor, ink);
    clutter.add_box(b, 100);
    return b;
  }

  void backing(const Box& b, double opacity) {
    body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"#fff\" fill-opacity=\"{}\"/>\n",
                         num(b.x), num(b.y), num(b.w), num(b.h), num(opacity));
  }

  void labels(const Plot& p, Clutter& clutter) {
    for (const Shade& s : p.panel->shades)
      if (const Label l = shade_label(p, s); !l.candidates.empty()) place(l, clutter, kQuiet);
    for (const Reference& r : p.panel->references) {
      const Label l = reference_label(p, r);
      if (l.candidates.empty()) continue;
      const Box b = place(l, clutter, kText);
      if (r.axis == Along::x && b.y < p.box.y) line(p.tx(r.value), p.box.y - 6, p.tx(r.value), p.box.y, kText, 1.1);
    }
    for (const Note& n : p.panel->notes) {
      const Label l = note_label(p, n);
      if (l.candidates.empty()) continue;
      const Box b = place(l, clutter, kText);
      const double x = p.tx(n.x), y = p.ty(n.y), nx = std::clamp(x, b.x, b.right()),
                   ny = std::clamp(y, b.y, b.bottom());
      if (std::hypot(nx - x, ny - y) > 12) line(x, y, nx < x ? nx + 2 : nx - 2, ny, kQuiet, 0.8);
    }
  }

  // --- legend ---
  // A legend in rows from (x, y), or measured only. Returns its height.
  double legend(const Plot& p, double x, double y, double width, bool really, bool column = false) {
    double at = x, row = y;
    for (const Entry& e : entries(p)) {
      if (at > x && (column || at + e.width > x + width)) at = x, row += 16;
      if (really) body_ += entry(e, at, row + 8);
      at += e.width + 14;
    }
    return row - y + 16;
  }

  std::string entry(const Entry& e, double x, double y) {
    if (e.series->kind == Kind::cells) return cells_sample(e, x, y, [this](Fill fill) { return mark(fill); });
    const bool filled = e.series->kind == Kind::band || e.series->kind == Kind::bars;
    return legend_entry(e, x, y, filled ? fill_attributes(e.look) : "");
  }

  // --- fills ---
  std::string fill_attributes(const Look& look) {
    if (look.fill == Fill::tint)
      return fmt::format("fill=\"{}\" fill-opacity=\"0.2\" stroke=\"{}\" stroke-width=\"0.8\"", look.ink, look.ink);
    return fmt::format("fill=\"url(#{})\" stroke=\"{}\" stroke-width=\"0.8\"", pattern(look.fill, look.ink, false),
                       look.ink);
  }

  std::string mark(Fill fill) {
    const std::string id = fmt::format("{}-mark-{}", key_, static_cast<int>(fill));
    patterns_[id] = mark_definition(id, fill);
    return id;
  }

  std::string pattern(Fill fill, const char* ink, bool shade) {
    const std::string id = fmt::format("{}-fill-{}-{}", key_, static_cast<int>(fill), ink + 1);
    const std::string back =
        shade ? "" : fmt::format("<rect width=\"6\" height=\"6\" fill=\"{}\" fill-opacity=\"0.1\"/>", ink);
    const std::string mark = fill == Fill::dots
                                 ? fmt::format(
                                       "<circle cx=\"1.5\" cy=\"1.5\" r=\"0.9\" fill=\"{0}\"/><circle cx=\"4.5\" "
                                       "cy=\"4.5\" r=\"0.9\" fill=\"{0}\"/>",
                                       ink)
                                 : fmt::format("<path d=\"M0 0H6\" stroke=\"{}\" stroke-width=\"1.8\"/>", ink);
    patterns_[id] = fmt::format(
        "<pattern id=\"{}\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"{}>{}{}</pattern>\n", id,
        fill == Fill::hatch_up     ? " patternTransform=\"rotate(-45)\""
        : fill == Fill::hatch_down ? " patternTransform=\"rotate(45)\""
                                   : "",
        back, mark);
    return id;
  }

  // --- one panel, back to front ---
  void draw(Plot& p, std::size_t index) {
    const Panel& panel = *p.panel;
    if (panel.polar) {
      body_ += polar_panel(p, index, [this](const Look& look) { return fill_attributes(look); });
      return;
    }
    const auto data = [](const char* axis, const Transform& t, Scale s, const Ticked& k) {
      static constexpr std::array<const char*, 4> kNames{"linear", "log10", "clock", "category"};
      return fmt::format(
          " data-{0}-scale=\"{1}\" data-{0}-a=\"{2:.9g}\" data-{0}-b=\"{3:.9g}\" data-{0}-lo=\"{4:.9g}\" "
          "data-{0}-hi=\"{5:.9g}\"",
          axis, kNames[static_cast<std::size_t>(s)], t.a, t.b, k.lo, k.hi);
    };
    body_ += fmt::format("<g class=\"panel\" data-panel=\"{}\" data-plot=\"{} {} {} {}\"{}{}>\n", index, num(p.box.x),
                         num(p.box.y), num(p.box.w), num(p.box.h), data("x", p.tx, panel.x.scale, p.x),
                         data("y", p.ty, panel.y.scale, p.y));
    clips_ +=
        fmt::format("<clipPath id=\"{}-clip-{}\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>\n",
                    key_, index, num(p.box.x), num(p.box.y), num(p.box.w), num(p.box.h));
    std::size_t order = 0;
    for (const Shade& s : panel.shades) {
      const Fill fill = s.fill.value_or(static_cast<Fill>(order++ % 4));
      const Box b = shade_box(p, s);
      if (!(b.w > 0 && b.h > 0)) continue;
      body_ += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" class=\"shade\"/>\n",
                           num(b.x), num(b.y), num(b.w), num(b.h),
                           fill == Fill::tint ? kShade : fmt::format("url(#{})", pattern(fill, "#d3dae0", true)));
      if (s.axis == Along::x)
        line(b.x, b.y, b.x, b.bottom(), kShadeInk, 0.8), line(b.right(), b.y, b.right(), b.bottom(), kShadeInk, 0.8);
      else
        line(b.x, b.y, b.right(), b.y, kShadeInk, 0.8), line(b.x, b.bottom(), b.right(), b.bottom(), kShadeInk, 0.8);
    }
    axes(p);
    if (p.empty.empty()) {
      body_ += fmt::format("<g clip-path=\"url(#{}-clip-{})\" fill=\"none\">\n", key_, index);
      const auto all = looks(panel);
      for (std::size_t i = 0; i < all.size(); ++i)
        if (panel.series[i].kind == Kind::cells) body_ += cells_svg(p, panel.series[i], all[i], [this](Fill fill) { return mark(fill); });
      for (std::size_t i = 0; i < all.size(); ++i)
        if (panel.series[i].kind == Kind::band) band(p, panel.series[i], all[i]);
      for (const Reference& r : panel.references) {
        if (!reference_shown(p, r)) continue;
        const auto across = [&](const char* ink, double width, const char* dash) {
          if (r.axis == Along::x)
            line(p.tx(r.value), p.box.y, p.tx(r.value), p.box.bottom(), ink, width, dash);
          else
            line(p.box.x, p.ty(r.value), p.box.right(), p.ty(r.value), ink, width, dash);
        };
        if (has_cells(panel)) across("#fff", 3.2, "");
        across(kText, 1.1, "5 2 1 2");
      }
      for (std::size_t i = 0; i < all.size(); ++i)
        if (panel.series[i].kind == Kind::line) polyline(panel.series[i], all[i], p);
      body_ += "</g>\n" + cell_texts_svg(p);
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
      backing(*spot, 0.9);
      legend(p, spot->x + 4, spot->y + 2, spot->w, true, true);
    }
    body_ += "</g>\n";
  }

  void axes(const Plot& p) {
    const Panel& panel = *p.panel;
    const Box& b = p.box;
    // An empty frame shows no invented numbers.
    const auto invented = [&](const Axis& a) {
      return !p.empty.empty() && a.scale != Scale::category && !(a.min && a.max);
    };
    const auto xt = invented(panel.x) ? std::vector<Tick>{} : p.x.ticks,
               yt = invented(panel.y) ? std::vector<Tick>{} : p.y.ticks;
    const bool barred =
        std::any_of(panel.series.begin(), panel.series.end(), [](const Series& s) { return s.kind == Kind::bars; });
    for (const bool major : {false, true}) {
      for (const Tick& t : xt)
        if (t.major == major && panel.x.scale != Scale::category)
          line(p.tx(t.value), b.y, p.tx(t.value), b.bottom(), major ? kGrid : kMinorGrid, 1);
      for (const Tick& t : yt)
        if (t.major == major && !barred)
          line(b.x, p.ty(t.value), b.right(), p.ty(t.value), major ? kGrid : kMinorGrid, 1);
    }
    line(b.x, b.y, b.x, b.bottom(), kQuiet, 1);
    line(b.x, b.bottom(), b.right(), b.bottom(), kQuiet, 1);
    std::size_t i = 0;
    for (const Tick& t : xt) {
      const double x = p.tx(t.value);
      if (panel.x.scale != Scale::category) line(x, b.bottom(), x, b.bottom() + (t.major ? 5 : 3), kQuiet, 1);
      if (p.show_x && t.major) {
        double y = b.bottom() + 17;
        for (const std::string& l : p.x_names.empty() ? std::vector{typeset(t.label)} : p.x_names[i])
          text(x, std::exchange(y, y + 12), l, kTickSize, Anchor::middle);
      }
      ++i;
    }
    i = 0;
    for (const Tick& t : yt) {
      const double y = p.ty(t.value);
      if (panel.y.scale != Scale::category) line(b.x - (t.major ? 5 : 3), y, b.x, y, kQuiet, 1);
      const auto& names = p.y_names[i++];
      if (!t.major) continue;
      double at = y + 4 - 6 * (static_cast<double>(names.size()) - 1);
      for (const std::string& l : names) text(b.x - 8, std::exchange(at, at + 12), l, kTickSize, Anchor::end);
    }
    double y = p.outer.y + 12;
    for (const std::string& l : p.heading)
      text(p.outer.x + 2, std::exchange(y, y + 16), l, kLabelSize, Anchor::start, kText, true);
    y = b.y - 10 - 15 * (static_cast<double>(p.y_label.size()) - 1);
    for (const std::string& l : p.y_label) text(p.outer.x + 2, std::exchange(y, y + 15), l, kLabelSize);
    y = b.bottom() + p.bottom - 15 * static_cast<double>(p.x_label.size()) + 9;
    for (const std::string& l : p.x_label) text(b.x + b.w / 2, std::exchange(y, y + 15), l, kLabelSize, Anchor::middle);
  }

  void band(const Plot& p, const Series& s, const Look& look) {
    // Gaps must fall at the same values on both edges, so a value missing on one side is missing on both.
    std::vector<double> lo = s.y_lo, hi = s.y_hi;
    for (std::size_t i = 0; i < lo.size(); ++i)
      if (fate(*p.panel, s.x[i], lo[i]) != Fate::drawn || fate(*p.panel, s.x[i], hi[i]) != Fate::drawn)
        lo[i] = hi[i] = std::numeric_limits<double>::quiet_NaN();
    const auto below = stretches(p, s.x, lo, thinned_), above = stretches(p, s.x, hi, thinned_);
    for (std::size_t k = 0; k < below.size(); ++k) {
      std::string d;
      for (const auto& [x, y] : above[k]) d += fmt::format("{}{} {}", d.empty() ? "M" : "L", num(x), num(y));
      for (auto it = below[k].rbegin(); it != below[k].rend(); ++it)
        d += fmt::format("L{} {}", num(it->first), num(it->second));
      body_ += fmt::format("<path class=\"band\" data-name=\"{}\" d=\"{}Z\" {}/>\n", escape(s.name), d,
                           fill_attributes(look));
    }
  }

  void polyline(const Series& s, const Look& look, const Plot& p) {
    std::string d;
    for (const auto& stretch : stretches(p, s.x, s.y, thinned_)) {
      for (std::size_t i = 0; i < stretch.size(); ++i)
        d += fmt::format("{}{} {}", i == 0 ? "M" : "L", num(stretch[i].first), num(stretch[i].second));
      if (stretch.size() == 1) d += "h0.01";  // a lone value between gaps shows as a dot
    }
    body_ += fmt::format(
        "<path class=\"line\" data-name=\"{}\" d=\"{}\" stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\" "
        "stroke-linecap=\"{}\"{}/>\n",
        escape(s.name), d, look.ink, s.x.size() > 1000 ? "1.1" : "1.8", look.dash == Dash::solid ? "round" : "butt",
        *dash_array(look.dash) ? fmt::format(" stroke-dasharray=\"{}\"", dash_array(look.dash)) : "");
  }

  void points(const Plot& p, const Series& s, const Look& look, std::size_t index) {
    const auto shown = visible(p, s, thinned_);
    const double r = marker_size(shown.size());
    std::string whiskers, marks, at;
    for (const std::size_t i : shown) {
      const double x = p.tx(s.x[i]), y = p.ty(s.y[i]);
      const auto whisker = [&](const std::vector<double>& ends, bool along_x) {
        if (ends.empty() || fate(*p.panel, along_x ? ends[i] : s.x[i], along_x ? s.y[i] : ends[i]) != Fate::drawn)
          return;
        const double e = std::clamp(along_x ? p.tx(ends[i]) : p.ty(ends[i]), -1e5, 1e5);
        whiskers += along_x ? fmt::format("M{} {}H{}M{} {}v6", num(x), num(y), num(e), num(e), num(y - 3))
                            : fmt::format("M{} {}V{}M{} {}h6", num(x), num(y), num(e), num(x - 3), num(e));
      };
      whisker(s.x_lo, true), whisker(s.x_hi, true), whisker(s.y_lo, false), whisker(s.y_hi, false);
      marks += marker_path(look.marker.shape, x, y, r);
      at += fmt::format("{}{},{}", at.empty() ? "" : " ", num(x), num(y));
    }
    const char* ink = look.marker.shape == Shape::go ? kGo : look.marker.shape == Shape::no_go ? kNoGo : look.ink;
    if (!whiskers.empty())
      body_ += fmt::format(
          "<path clip-path=\"url(#{}-clip-{})\" d=\"{}\" stroke=\"{}\" stroke-width=\"1.1\" fill=\"none\"/>\n", key_,
          index, whiskers, ink);
    body_ += fmt::format("<path class=\"points\" data-name=\"{}\" data-at=\"{}\" d=\"{}\" {}/>\n", escape(s.name), at,
                         marks, marker_attributes(look.marker, look.ink));
  }

  void bars(const Plot& p, const Series& s, const Look& look) {
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      if (fate(*p.panel, s.x[i], s.y[i]) != Fate::drawn) continue;
      const Bar b = bar(p, s, i);
      body_ += fmt::format("<rect class=\"bar\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {}/>\n", num(b.box.x),
                           num(b.box.y), num(b.box.w), num(b.box.h), fill_attributes(look));
      if (s.text.empty() || s.text[i].empty()) continue;
      const Box t = bar_text(p, s, i);
      backing(t.grown(-1), 1);
      text(b.leftward ? t.right() : t.x, b.box.y + b.box.h / 2 + 3.5, s.text[i], kSmallSize + 0.5,
           b.leftward ? Anchor::end : Anchor::start);
    }
    if (p.x.holds(s.base)) line(p.tx(s.base), p.box.y, p.tx(s.base), p.box.bottom(), kText, 1.2);
  }

  std::string head() const {
    std::string desc = figure_.caption;
    for (std::size_t i = 0; i < plots_.size(); ++i) {
      const Plot& p = plots_[i];
      desc += fmt::format("{}Panel {}{}{}: ", desc.empty() ? "" : " ", i + 1, p.panel->heading.empty() ? "" : ", ",
                          p.panel->heading);
      if (!p.empty.empty()) {
        desc += p.empty + ".";
        continue;
      }
      if (p.panel->polar)
        desc += fmt::format("{} turning to the left from the top, {} outward from {:.6g} to {:.6g}.", p.panel->x.text(), p.panel->y.text(), p.y.lo, p.y.hi);
      else desc += fmt::format("{} from {:.6g} to {:.6g} across, {} from {:.6g} to {:.6g} {}.", p.panel->x.text(), p.x.lo,
                          p.x.hi, p.panel->y.text(), p.y.lo, p.y.hi, p.panel->y.reversed ? "downward" : "upward");
      static constexpr std::array<const char*, 5> kKinds{"line", "points", "band", "bars", "cells"};
      for (const Series& s : p.panel->series)
        desc += fmt::format(" {} {}({}).", kKinds[static_cast<std::size_t>(s.kind)],
                            s.name.empty() ? "" : s.name + " ", units::print_count(s.x.size(), "value"));
    }
    if (const std::string lost = report::tally(figure_).text(); !lost.empty()) desc += " " + lost;
    if (thinned_)
      desc +=
          " Thinned for drawing: lines keep first, least, greatest and last value of each pixel column, dense points "
          "the extremes of each column and one a 3 px cell.";
    std::string defs = clips_;
    for (const auto& [id, text] : patterns_) defs += text;
    return fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" id=\"{0}\" class=\"figure\" width=\"{1}\" "
        "height=\"{2}\" viewBox=\"0 0 {1} {2}\" role=\"img\" "
        "aria-labelledby=\"{0}-title {0}-desc\" font-family=\"'Source Sans 3', 'Helvetica Neue', Arial, 'DejaVu Sans', "
        "sans-serif\">\n<title id=\"{0}-title\">{3}</title>\n"
        "<desc id=\"{0}-desc\">{4}</desc>\n<defs>\n{5}</defs>\n<rect width=\"{1}\" height=\"{2}\" fill=\"#fff\"/>\n",
        key_, num(width_), num(height_), escape(figure_.title), escape(desc), defs);
  }

  const Figure& figure_;
  static constexpr double kFlattest = 50;  // px; below this a plot cannot be read
  double width_, height_, top_ = 0, shares_ = 1;
  bool beside_ = false, thinned_ = false;
  std::string key_, body_, clips_;
  std::vector<std::string> foot_;
  std::map<std::string, std::string> patterns_;
  std::vector<Plot> plots_;
};

}  // namespace

std::string to_svg(const Figure& figure, const SvgOptions& options) { return Drawing(figure, options).run(); }

}  // namespace hardpan::report
