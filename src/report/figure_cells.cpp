// SPDX-License-Identifier: Apache-2.0
#include "report/detail/figure_cells.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/assertion.hpp"

namespace hardpan::report::detail {
namespace {

constexpr double kRow = 18, kMostRows = 500;  // px: a line of text with air; a map of many rows is not a page high (chosen by us)
constexpr double kTextSize = kSmallSize + 0.5, kLine = 12;
constexpr const char* kEdge = "#aab4bd";

std::vector<std::string> words(const std::string& text) {
  std::vector<std::string> list;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find(' ', from), text.size());
    if (end > from) list.push_back(text.substr(from, end - from));
    from = end + 1;
  }
  return list;
}

enum class Writing { in_a_line, stacked, last_word, none };

std::vector<std::string> lines_of(const std::string& text, Writing how) {
  const std::vector<std::string> all = words(text);
  std::vector<std::string> lines;
  for (const std::string& w : all) {
    const std::string set = typeset(w);
    if (how == Writing::in_a_line && !lines.empty()) lines[0] += " " + set;
    else if (how != Writing::last_word || &w == &all.back()) lines.push_back(set);
  }
  return how == Writing::none ? std::vector<std::string>{} : lines;
}

double widest(const std::vector<std::string>& lines) {
  double w = 0;
  for (const std::string& l : lines) w = std::max(w, text_width(l, kTextSize));
  return w;
}

// The fullest way of writing that every cell of the panel has room for, so that equal cells look equal.
Writing writing(const Plot& p) {
  for (const Writing how : {Writing::in_a_line, Writing::stacked, Writing::last_word}) {
    bool fits = true;
    for (const Series& s : p.panel->series) {
      for (std::size_t i = 0; s.kind == Kind::cells && i < s.text.size() && fits; ++i) {
        const auto lines = lines_of(s.text[i], how);
        const Box b = cell_box(p, s, i);
        fits = widest(lines) + 5 <= b.w && kLine * static_cast<double>(lines.size()) + 1 <= b.h;
      }
    }
    if (fits) return how;
  }
  return Writing::none;
}

bool meet(const Box& a, const Box& b) { return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom(); }

std::vector<Box> in_the_way(const Plot& p) {
  std::vector<Box> list;
  bool ignored = false;
  for (const Series& s : p.panel->series) {
    if (s.kind != Kind::points) continue;
    for (const std::size_t i : visible(p, s, ignored)) list.push_back(Box{p.tx(s.x[i]), p.ty(s.y[i]), 0, 0}.grown(6));
  }
  for (const Reference& r : p.panel->references) {
    if (reference_shown(p, r)) list.push_back((r.axis == Along::x ? Box{p.tx(r.value), p.box.y, 0, p.box.h} : Box{p.box.x, p.ty(r.value), p.box.w, 0}).grown(2));
  }
  return list;
}

std::string rect(const Box& b, const std::string& fill, double edge) {
  return fmt::format("<rect class=\"cell\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\" stroke=\"{}\" stroke-width=\"{}\"/>\n", num(b.x), num(b.y), num(b.w), num(b.h),
                     fill, kEdge, num(edge));
}

std::string diagonals(const Box& b) {
  return fmt::format("<path class=\"crossed\" d=\"M{0} {1}L{2} {3}M{0} {3}L{2} {1}\" stroke=\"{4}\" stroke-width=\"1\" fill=\"none\"/>\n", num(b.x), num(b.y), num(b.right()), num(b.bottom()),
                     kMarkInk);
}

std::string filled(const Box& b, const std::optional<double>& shade, Fill fill, double edge, const std::function<std::string(Fill)>& pattern) {
  std::string out;
  if (shade) out += rect(b, shade_ink(*shade), edge);
  if (fill == Fill::crossed) out += rect(b, "#fff", edge) + diagonals(b);
  else if (fill != Fill::tint) out += rect(b, "url(#" + pattern(fill) + ")", edge);
  return out;
}

}  // namespace

bool has_cells(const Panel& panel) {
  return std::any_of(panel.series.begin(), panel.series.end(), [](const Series& s) { return s.kind == Kind::cells; });
}

double cells_height(const Panel& panel) {
  std::vector<double> rows;
  for (const Series& s : panel.series) {
    if (s.kind == Kind::cells) rows.insert(rows.end(), s.y.begin(), s.y.end());
  }
  std::sort(rows.begin(), rows.end());
  rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
  return std::min(kMostRows, kRow * static_cast<double>(rows.size()));
}

Box cell_box(const Plot& p, const Series& s, std::size_t i) {
  const auto at = [](double v, double lo, double hi) { return std::clamp(v, lo, hi); };
  const double x0 = at(p.tx(s.x_lo[i]), p.box.x, p.box.right()), x1 = at(p.tx(s.x_hi[i]), p.box.x, p.box.right());
  const double y0 = at(p.ty(s.y_lo[i]), p.box.y, p.box.bottom()), y1 = at(p.ty(s.y_hi[i]), p.box.y, p.box.bottom());
  return {std::min(x0, x1), std::min(y0, y1), std::abs(x1 - x0), std::abs(y1 - y0)};
}

std::vector<CellText> cell_texts(const Plot& p) {
  std::vector<CellText> list;
  const Writing how = writing(p);
  const std::vector<Box> marks = in_the_way(p);
  for (const Series& s : p.panel->series) {
    if (s.kind != Kind::cells) continue;
    for (std::size_t i = 0; i < s.text.size(); ++i) {
      std::vector<std::string> lines = lines_of(s.text[i], how);
      if (lines.empty() || fate(*p.panel, s.x[i], s.y[i]) != Fate::drawn) continue;
      const Box cell = cell_box(p, s, i);
      const double w = widest(lines), h = kLine * static_cast<double>(lines.size()), slack = cell.h - h;
      for (const double part : {0.5, 1.0, 0.0}) {
        const Box b{cell.x + 0.5 * (cell.w - w), cell.y + std::clamp(part * slack, std::min(2.0, 0.5 * slack), std::max(slack - 2, 0.5 * slack)), w, h};
        if (std::any_of(marks.begin(), marks.end(), [&](const Box& m) { return meet(m, b.grown(-1)); })) continue;
        list.push_back({std::move(lines), b, s.shade ? text_on(*s.shade) : kText, s.shade ? shade_ink(*s.shade) : "#fff"});
        break;
      }
    }
  }
  return list;
}

std::string cells_svg(const Plot& p, const Series& s, const Look& look, const std::function<std::string(Fill)>& pattern) {
  std::string out = fmt::format("<g class=\"cells\" data-name=\"{}\">\n", escape(s.name));
  for (std::size_t i = 0; i < s.x.size(); ++i) {
    if (fate(*p.panel, s.x[i], s.y[i]) == Fate::drawn) out += filled(cell_box(p, s, i), s.shade, look.fill, s.x.size() > 200 ? 0.4 : 0.8, pattern);
  }
  return out + "</g>\n";
}

std::string cell_texts_svg(const Plot& p) {
  std::string out;
  for (const CellText& t : cell_texts(p)) {
    out += fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"/>\n", num(t.box.x - 1), num(t.box.y + 1), num(t.box.w + 2), num(t.box.h - 2), t.back);
    double y = t.box.y + 9.5;
    for (const std::string& l : t.lines) out += svg_text(t.box.x + 0.5 * t.box.w, std::exchange(y, y + kLine), l, kTextSize, Anchor::middle, t.ink);
  }
  return out;
}

std::string cells_sample(const Entry& e, double x, double y, const std::function<std::string(Fill)>& pattern) {
  return filled({x, y - 6, 24, 12}, e.series->shade, e.look.fill, 0.8, pattern) + svg_text(x + 30, y + 4, e.series->name, kTickSize);
}

std::string mark_definition(const std::string& id, Fill fill) {
  const std::string mark = fill == Fill::dots
                               ? fmt::format("<circle cx=\"4\" cy=\"4\" r=\"1.9\" fill=\"#fff\"/><circle cx=\"4\" cy=\"4\" r=\"1.2\" fill=\"{}\"/>", kMarkInk)
                               : fmt::format("<path d=\"M0 3H8\" stroke=\"#fff\" stroke-width=\"2.6\"/><path d=\"M0 3H8\" stroke=\"{}\" stroke-width=\"1.1\"/>", kMarkInk);
  return fmt::format("<pattern id=\"{}\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\"{}>{}</pattern>\n", id,
                     fill == Fill::hatch_up     ? " patternTransform=\"rotate(-45)\""
                     : fill == Fill::hatch_down ? " patternTransform=\"rotate(45)\""
                                                : "",
                     mark);
}

}  // namespace hardpan::report::detail
