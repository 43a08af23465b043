// SPDX-License-Identifier: Apache-2.0
// One panel laid out in pixels: where its data, shades, bars and legend fall, and what is in the way of labels.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "report/detail/figure_axis.hpp"
#include "report/detail/figure_ink.hpp"
#include "report/detail/figure_place.hpp"

namespace hardpan::report::detail {

struct Plot {
  const Panel* panel = nullptr;
  Box outer, box;  // the panel with its margins; the frame
  Ticked x, y;
  Transform tx, ty;
  Tally tally;
  std::string empty;   // why nothing can be drawn
  bool show_x = true;  // tick labels and label of the x axis
  bool legend_above = false;
  bool label_row = false;  // a row above the frame for the y label and for texts of reference lines
  double top = 0, right = 0, bottom = 0, left = 0;  // margins
  std::vector<std::string> heading, y_label, x_label;
  std::vector<std::vector<std::string>> x_names, y_names;  // tick labels, category names wrapped
};

using Pixel = std::pair<double, double>;

// The drawable stretches of a line; of very many points the first, least, greatest and last of each run in a
// pixel column.
[[nodiscard]] std::vector<std::vector<Pixel>> stretches(const Plot& p, const std::vector<double>& xs,
                                                        const std::vector<double>& ys, bool& thinned);
// Indices of the points to draw: all, or of a dense cloud the column extremes and one point a 3 px cell.
[[nodiscard]] std::vector<std::size_t> visible(const Plot& p, const Series& s, bool& thinned);

struct Bar {
  Box box;
  double end;
  bool leftward;
};
[[nodiscard]] Bar bar(const Plot& p, const Series& s, std::size_t i);
[[nodiscard]] Box bar_text(const Plot& p, const Series& s, std::size_t i);

[[nodiscard]] bool reference_shown(const Plot& p, const Reference& r);
[[nodiscard]] Box shade_box(const Plot& p, const Shade& s);

// Everything a label should stay away from, in the frame and in the row of the y label above it.
[[nodiscard]] Clutter ground(const Plot& p);

struct Entry {  // of the legend
  const Series* series;
  Look look;
  double width;
};
[[nodiscard]] std::vector<Entry> entries(const Plot& p);
// The sample and the name of an entry from x, about the height y; fill: attributes of a filled series.
[[nodiscard]] std::string legend_entry(const Entry& e, double x, double y, const std::string& fill);
// The corner or edge of the plot where the legend covers nothing; the roomiest first.
[[nodiscard]] std::optional<Box> legend_spot(const Plot& p, const Clutter& clutter);

struct Candidate {  // a place for a label: anchor point, top of the text box
  double x, y;
  Anchor anchor;
  double penalty;
  std::size_t wrapping = 0;  // which of the label's line breaks
};
struct Label {
  std::vector<std::vector<std::string>> wrappings;
  std::vector<Candidate> candidates;
};
[[nodiscard]] Label shade_label(const Plot& p, const Shade& s);
[[nodiscard]] Label reference_label(const Plot& p, const Reference& r);
[[nodiscard]] Label note_label(const Plot& p, const Note& n);

struct Spot {
  Box box;
  Candidate at;
  double collision;  // cost of what lies below the label
};
// The cheapest of the candidates. There must be one.
[[nodiscard]] Spot choose(const Label& label, const Clutter& clutter);

}  // namespace hardpan::report::detail
