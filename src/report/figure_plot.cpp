// SPDX-License-Identifier: Apache-2.0
#include "report/detail/figure_plot.hpp"

#include "report/detail/figure_cells.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <map>
#include <utility>

#include "base/assertion.hpp"

namespace hardpan::report::detail {

std::vector<std::vector<Pixel>> stretches(const Plot& p, const std::vector<double>& xs, const std::vector<double>& ys,
                                          bool& thinned) {
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

std::vector<std::size_t> visible(const Plot& p, const Series& s, bool& thinned) {
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

Bar bar(const Plot& p, const Series& s, std::size_t i) {
  std::size_t n = 0, mine = 0;
  for (const Series& other : p.panel->series) {
    if (&other == &s) mine = n;
    if (other.kind == Kind::bars) ++n;
  }
  const double slot = std::abs(p.ty(1) - p.ty(0)), height = std::min(15.0, 0.76 * slot / static_cast<double>(n));
  const double from = std::clamp(p.tx(s.base), p.box.x, p.box.right()),
               to = std::clamp(p.tx(s.x[i]), p.box.x, p.box.right());
  const double y = p.ty(s.y[i]) + height * (static_cast<double>(mine) - 0.5 * static_cast<double>(n));
  return {{std::min(from, to), y, std::abs(to - from), height - 1}, to, to < from};
}

namespace {

// Keeps labels out of the inside of a band, at one pixel column.
void band_column(const Plot& p, const Series& s, double px, Clutter& c) {
  for (std::size_t i = 1; i < s.x.size(); ++i) {
    const double x0 = p.tx(s.x[i - 1]), x1 = p.tx(s.x[i]);
    if (!(px >= std::min(x0, x1) && px <= std::max(x0, x1)) || x0 == x1) continue;
    if (fate(*p.panel, s.x[i], s.y_lo[i]) != Fate::drawn || fate(*p.panel, s.x[i - 1], s.y_hi[i - 1]) != Fate::drawn)
      continue;
    const double t = (px - x0) / (x1 - x0);
    const double lo = p.ty(s.y_lo[i - 1]) * (1 - t) + p.ty(s.y_lo[i]) * t,
                 hi = p.ty(s.y_hi[i - 1]) * (1 - t) + p.ty(s.y_hi[i]) * t;
    if (std::isfinite(lo) && std::isfinite(hi)) c.add_line(px, lo, px, hi, 2);
    return;
  }
}

}  // namespace

Clutter ground(const Plot& p) {
  // The row of the y label above the frame: a reference line may carry its text there.
  const double above = p.label_row ? 21 : 0;
  Clutter c({p.box.x, p.box.y - above, p.box.w, p.box.h + above});
  bool ignored = false;
  for (const Shade& s : p.panel->shades) {
    const Box b = shade_box(p, s);
    if (s.axis == Along::x)
      c.add_line(b.x, b.y, b.x, b.bottom(), 1), c.add_line(b.right(), b.y, b.right(), b.bottom(), 1);
    else
      c.add_line(b.x, b.y, b.right(), b.y, 1), c.add_line(b.x, b.bottom(), b.right(), b.bottom(), 1);
  }
  for (const Series& s : p.panel->series) {
    for (std::size_t i = 0; s.kind == Kind::cells && i < s.x.size(); ++i)
      if (fate(*p.panel, s.x[i], s.y[i]) == Fate::drawn) c.add_box(cell_box(p, s, i), 2);
    if (s.kind == Kind::line)
      for (const auto& l : stretches(p, s.x, s.y, ignored))
        for (std::size_t i = 1; i < l.size(); ++i)
          c.add_line(l[i - 1].first, l[i - 1].second, l[i].first, l[i].second, 4);
    if (s.kind == Kind::band) {
      const auto lo = stretches(p, s.x, s.y_lo, ignored), hi = stretches(p, s.x, s.y_hi, ignored);
      for (const auto* edge : {&lo, &hi})
        for (const auto& l : *edge)
          for (std::size_t i = 1; i < l.size(); ++i)
            c.add_line(l[i - 1].first, l[i - 1].second, l[i].first, l[i].second, 2);
      for (double x = p.box.x; x < p.box.right(); x += 3) band_column(p, s, x, c);
    }
    if (s.kind == Kind::points)
      for (const std::size_t i : visible(p, s, ignored)) {
        const double x = p.tx(s.x[i]), y = p.ty(s.y[i]);
        c.add_box(Box{x, y, 0, 0}.grown(5), 10);
        if (!s.y_lo.empty() && fate(*p.panel, s.x[i], s.y_lo[i]) == Fate::drawn)
          c.add_line(x, y, x, p.ty(s.y_lo[i]), 4);
        if (!s.y_hi.empty() && fate(*p.panel, s.x[i], s.y_hi[i]) == Fate::drawn)
          c.add_line(x, y, x, p.ty(s.y_hi[i]), 4);
        if (!s.x_lo.empty() && fate(*p.panel, s.x_lo[i], s.y[i]) == Fate::drawn)
          c.add_line(x, y, p.tx(s.x_lo[i]), y, 4);
        if (!s.x_hi.empty() && fate(*p.panel, s.x_hi[i], s.y[i]) == Fate::drawn)
          c.add_line(x, y, p.tx(s.x_hi[i]), y, 4);
      }
    if (s.kind == Kind::bars)
      for (std::size_t i = 0; i < s.x.size(); ++i)
        if (fate(*p.panel, s.x[i], s.y[i]) == Fate::drawn) {
          c.add_box(bar(p, s, i).box, 10);
          if (!s.text.empty()) c.add_box(bar_text(p, s, i), 100);
        }
  }
  for (const CellText& t : cell_texts(p)) c.add_box(t.box, 100);
  for (const Reference& r : p.panel->references)
    if (reference_shown(p, r)) {
      if (r.axis == Along::x)
        c.add_line(p.tx(r.value), p.box.y, p.tx(r.value), p.box.bottom(), 8);
      else
        c.add_line(p.box.x, p.ty(r.value), p.box.right(), p.ty(r.value), 8);
    }
  // Lines that leave the frame are cut there and do not reach into the row above.
  c.clear({p.box.x, p.box.y - above, p.box.w, above - 6});
  if (!p.y_label.empty())
    c.add_box({p.outer.x, p.box.y - above, text_width(p.y_label.back(), kLabelSize) + 12, above - 1}, 100);
  return c;
}

bool reference_shown(const Plot& p, const Reference& r) {
  return std::isfinite(r.value) && (r.axis == Along::x ? p.x : p.y).holds(r.value);
}

Box shade_box(const Plot& p, const Shade& s) {
  const Ticked& axis = s.axis == Along::x ? p.x : p.y;
  HARDPAN_ASSERT(s.lo <= s.hi);
  if (!(s.lo <= axis.hi && s.hi >= axis.lo)) return {p.box.x, p.box.y, 0, 0};
  const Transform& t = s.axis == Along::x ? p.tx : p.ty;
  const double u = t(std::max(s.lo, axis.lo)), v = t(std::min(s.hi, axis.hi));
  return s.axis == Along::x ? Box{std::min(u, v), p.box.y, std::abs(u - v), p.box.h}
                            : Box{p.box.x, std::min(u, v), p.box.w, std::abs(u - v)};
}

Box bar_text(const Plot& p, const Series& s, std::size_t i) {
  const Bar b = bar(p, s, i);
  const double w = text_width(s.text[i], kSmallSize + 0.5);
  return {b.leftward ? std::max(p.box.x, b.end - 4 - w) : std::min(b.end + 4, p.box.right() - w), b.box.y, w, b.box.h};
}

std::vector<Entry> entries(const Plot& p) {
  std::vector<Entry> list;
  const auto all = looks(*p.panel);
  for (std::size_t i = 0; p.panel->legend && p.empty.empty() && i < all.size(); ++i)
    if (const Series& s = p.panel->series[i]; !s.name.empty())
      list.push_back({&s, all[i], 34 + text_width(s.name, kTickSize)});
  return list;
}

std::string legend_entry(const Entry& e, double x, double y, const std::string& fill) {
  const Series& s = *e.series;
  std::string out;
  if (s.kind == Kind::band || s.kind == Kind::bars)
    out += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"24\" height=\"10\" {}/>\n", num(x), num(y - 5), fill);
  if (s.kind == Kind::line) out += svg_line(x, y, x + 24, y, e.look.ink, 1.8, dash_array(e.look.dash));
  if (s.kind == Kind::points) {
    if (!s.y_lo.empty() || !s.y_hi.empty())
      out += svg_line(x + 12, y - 7, x + 12, y + 7, e.look.ink, 1);
    else if (!s.x_lo.empty() || !s.x_hi.empty())
      out += svg_line(x + 3, y, x + 21, y, e.look.ink, 1);
    out += fmt::format("<path d=\"{}\" {}/>\n", marker_path(e.look.marker.shape, x + 12, y, 3.4), marker_attributes(e.look.marker, e.look.ink));
  }
  return out + svg_text(x + 30, y + 4, s.name, kTickSize);
}

std::optional<Box> legend_spot(const Plot& p, const Clutter& clutter) {
  Box b{.h = 4};
  for (const Entry& e : entries(p)) b.w = std::max(b.w, e.width + 6), b.h += 16;
  if (b.w > 0.75 * p.box.w || b.h > 0.75 * p.box.h) return std::nullopt;
  const double r = p.box.right() - b.w - 5, d = p.box.bottom() - b.h - 5, u = p.box.y + 4, l = p.box.x + 6;
  const double cx = (l + r) / 2, cy = (u + d) / 2;
  // Edges of shades (weight 1) may run below a legend when no place is entirely free.
  for (const auto& [margin, most] : {std::pair{12.0, 0}, {3.0, 0}, {3.0, 1}})
    for (const auto& [x, y] : {std::pair{r, u}, {l, u}, {r, d}, {l, d}, {cx, u}, {cx, d}, {r, cy}, {l, cy}}) {
      const Box want = Box{x, y, b.w, b.h}.grown(margin);
      const double x0 = std::max(want.x, p.box.x), y0 = std::max(want.y, p.box.y);
      const Box seen{x0, y0, std::min(want.right(), p.box.right() - 3) - x0,
                     std::min(want.bottom(), p.box.bottom() - 3) - y0};
      if (clutter.worst(seen) <= most) return Box{x, y, b.w, b.h};
    }
  return std::nullopt;
}

namespace {

double widest_label(const Plot& p) {
  return std::min(p.box.w - 8, std::max(std::min(180.0, 0.6 * p.box.w), 0.36 * p.box.w));
}

double height(const std::vector<std::string>& lines) { return 13 * static_cast<double>(lines.size()); }

// The text on few lines, and broken more often for narrow places.
std::vector<std::vector<std::string>> wrappings(const std::string& text, double width_px) {
  std::vector<std::vector<std::string>> list{wrap(text, kTickSize, width_px)};
  if (auto narrow = wrap(text, kTickSize, 78); narrow.size() > list[0].size()) list.push_back(std::move(narrow));
  return list;
}

}  // namespace

Label shade_label(const Plot& p, const Shade& s) {
  const Box b = shade_box(p, s);
  Label label;
  if (s.text.empty() || !(b.w > 0 && b.h > 0)) return label;
  if (s.axis == Along::x) {
    label.wrappings = {wrap(s.text, kTickSize, std::max(b.w - 6, 64.0))};
    const double h = height(label.wrappings[0]);
    for (double y = p.box.y + 4; y + h < p.box.bottom(); y += 7)
      for (const auto& [x, a] :
           {std::pair{b.x + b.w / 2, Anchor::middle}, {b.x + 4, Anchor::start}, {b.right() - 4, Anchor::end}})
        label.candidates.push_back({x, y, a, 0.05 * (y - p.box.y) + (a == Anchor::middle ? 0 : 2)});
    return label;
  }
  label.wrappings = {wrap(s.text, kTickSize, widest_label(p))};
  const double h = height(label.wrappings[0]);
  for (double x = p.box.right() - 4; x > p.box.x + 30; x -= 12)
    for (const double y : {b.y + 2, b.bottom() - h - 2, b.y - h - 2, b.bottom() + 2})
      label.candidates.push_back(
          {x, y, Anchor::end, 0.03 * (p.box.right() - x) + (y < b.y || y + h > b.bottom() ? 25 : 0)});
  return label;
}

Label reference_label(const Plot& p, const Reference& r) {
  Label label;
  if (r.text.empty() || !reference_shown(p, r)) return label;
  label.wrappings = wrappings(r.text, widest_label(p));
  const bool barred =
      std::any_of(p.panel->series.begin(), p.panel->series.end(), [](const Series& s) { return s.kind == Kind::bars; });
  for (std::size_t k = 0; k < label.wrappings.size(); ++k) {
    const double h = height(label.wrappings[k]), extra = (k == 0 ? 0 : 3) + (barred ? 12 : 0);
    if (r.axis == Along::x) {
      const double x = p.tx(r.value);
      for (double y = p.box.y + 3; y + h < p.box.bottom(); y += 7)
        for (const auto& [dx, a] : {std::pair{5.0, Anchor::start}, {-5.0, Anchor::end}})
          label.candidates.push_back({x + dx, y, a, 0.05 * (y - p.box.y) + (dx < 0 ? 1 : 0) + extra, k});
    } else {
      const double y = p.ty(r.value);
      for (double x = p.box.right() - 4; x > p.box.x + 30; x -= 12)
        for (const double dy : {-h - 2, 4.0})
          label.candidates.push_back(
              {x, y + dy, Anchor::end,
               0.03 * (p.box.right() - x) + (dy > 0 ? 1 : 0) + (y + dy < p.box.y ? 8 : 0) + extra, k});
    }
  }
  if (r.axis == Along::x && p.label_row) {  // above the frame, on one line
    label.wrappings.push_back({r.text});
    const double x = p.tx(r.value), y = p.box.y - 20;
    const std::size_t k = label.wrappings.size() - 1;
    for (const auto& [dx, a] : {std::pair{0.0, Anchor::middle}, {3.0, Anchor::end}, {-3.0, Anchor::start}})
      label.candidates.push_back({x + dx, y, a, a == Anchor::middle ? 6.0 : 7.0, k});
  }
  return label;
}

Label note_label(const Plot& p, const Note& n) {
  Label label;
  if (n.text.empty() || fate(*p.panel, n.x, n.y) != Fate::drawn || !p.x.holds(n.x) || !p.y.holds(n.y)) return label;
  label.wrappings = wrappings(n.text, widest_label(p));
  const double x = p.tx(n.x), y = p.ty(n.y);
  for (std::size_t k = 0; k < label.wrappings.size(); ++k) {
    const double h = height(label.wrappings[k]);
    for (const double r : {8.0, 20.0, 36.0, 56.0})
      for (const double dy : {-0.7, 0.0, 0.7})
        for (const auto& [dx, a] : {std::pair{1.0, Anchor::start}, {-1.0, Anchor::end}})
          label.candidates.push_back({x + dx * r * (dy == 0 ? 1 : 0.7),
                                      y + r * dy -
                                          (dy < 0   ? h
                                           : dy > 0 ? 0
                                                    : h / 2),
                                      a, 0.2 * r + (k == 0 ? 0 : 2), k});
  }
  return label;
}

Spot choose(const Label& label, const Clutter& clutter) {
  HARDPAN_ASSERT(!label.candidates.empty());
  std::optional<Spot> best;
  double least = 0;
  for (const Candidate& c : label.candidates) {
    double w = 0;
    for (const std::string& l : label.wrappings[c.wrapping]) w = std::max(w, text_width(l, kTickSize));
    const Box b{c.anchor == Anchor::start ? c.x
                : c.anchor == Anchor::end ? c.x - w
                                          : c.x - w / 2,
                c.y, w, height(label.wrappings[c.wrapping])};
    const double hit = clutter.cost(b);
    if (best && !(hit + c.penalty < least)) continue;
    best = Spot{b, c, hit};
    least = hit + c.penalty;
  }
  return *best;
}

}  // namespace hardpan::report::detail
