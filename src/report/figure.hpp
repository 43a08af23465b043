// SPDX-License-Identifier: Apache-2.0
// A technical figure as one plain value, drawn as SVG (report, browser, print) and as terminal text.
//
// Use it for every figure a reader sees. Raw logger signals in the browser are drawn there instead.
// A figure shows what it is given: no smoothing, no statistics, no unit conversion (scale values to the
// unit the axis names before filling the series).
// Range: finite values of magnitude 0 or 1e-30 to 1e30; log axes show positive values only. What cannot be
// drawn (not finite, not positive on a log axis, outside a fixed range) is counted and said below the
// figure, never drawn. Positions are rounded to 0.01 px; the same value gives the same bytes everywhere.
//
//   Figure f{.id = "plate-a", .title = "Plate tests, point A"};
//   f.panels.push_back({.x = {.label = "Sinkage", .unit = "mm"}, .y = {.label = "Pressure", .unit = "kPa"}});
//   f.panels[0].series.push_back({.kind = Kind::points, .name = "plate 50 mm", .x = {1, 4, 9}, .y = {8, 21, 36}});
//   std::string wide = to_svg(f, {.width_px = 640, .height_px = 400});
//   std::string terminal = to_text(f, 80, 24);
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace hardpan::report {

// clock: values are seconds since local midnight, labelled 09:30, past midnight as 00:30.
// category: values are positions 0, 1, 2 ... of the names; a vertical category axis reads downward.
enum class Scale { linear, log10, clock, category };

struct Axis {
  std::string label;  // "Sinkage"
  std::string unit;   // "mm"; empty when dimensionless
  Scale scale = Scale::linear;
  std::optional<double> min;  // an absent end follows the data outward to the next round tick
  std::optional<double> max;
  bool from_zero = false;  // zero belongs to the range of a free end
  bool reversed = false;   // values grow downward (depth) or to the left
  std::vector<std::string> categories;
  std::vector<double> at;  // linear: rising values that ticks stand at, every k-th where not all have room; empty = round ones

  [[nodiscard]] std::string text() const;  // "Sinkage (mm)"
};

enum class Kind { line, points, band, bars, cells };
enum class Dash { solid, dashed, dotted, dash_dot, long_dash };
enum class Shape { circle, square, triangle_up, triangle_down, diamond, cross, plus, go, no_go };
enum class Fill { tint, hatch_up, hatch_down, dots, crossed };  // crossed: cells only, from corner to corner

struct Marker {
  Shape shape = Shape::circle;
  bool open = false;
};

// line: (x, y) joined in the order given; a value that cannot be drawn leaves a gap.
// points: (x, y) with optional interval bars; x_lo, x_hi, y_lo, y_hi are empty or as long as x.
// band: y_lo to y_hi along x. bars: horizontal, from base to x at category position y, text at the end;
// several bar series share the height of a category, so that bars on one side never hide each other.
// cells of a map: rectangles from x_lo, y_lo to x_hi, y_hi about (x, y), which all must be there. A series is one step of shade, or without
// shade a mark (its fill) laid over what earlier series drew. Of the text, words apart by a blank, as many are written as all cells of the
// panel have room for: all in a line, one below the other, the last alone, none. Markers and lines of other series stand above cells.
struct Series {
  Kind kind = Kind::line;
  std::string name;  // legend entry; empty = none
  std::vector<double> x, y;
  std::vector<double> x_lo, x_hi, y_lo, y_hi;
  double base = 0;
  std::vector<std::string> text;     // bars and cells: empty or as long as x
  std::optional<double> shade;       // cells: 0 (lightest) to 1 (darkest) of one ink
  std::optional<std::size_t> style;  // ink, dash and marker; absent = by draw order. Give a fit and its
                                     // points one style to show that they belong together
  std::optional<Dash> dash;          // absent = the style's
  std::optional<Marker> marker;      // absent = the style's
  std::optional<Fill> fill;          // bands and bars; absent = by order, so that grey printing tells them apart. Cells; absent = no mark
};

enum class Along { x, y };

struct Reference {  // a line across the panel at one value of the axis
  Along axis = Along::x;
  double value = 0;
  std::string text;
};

struct Shade {  // a shaded range of one axis; an end beyond the axis is cut there
  Along axis = Along::x;
  double lo = 0;
  double hi = 0;
  std::string text;
  std::optional<Fill> fill;  // absent = by order
};

struct Note {  // text beside a place, with a leader where it had to move away
  double x = 0;
  double y = 0;
  std::string text;
};

struct Direction {  // of a polar panel: a spoke and what stands at its end
  double degrees = 0;
  std::string text;
};

// polar: x is a direction in degrees from the top, turning to the left; y, from zero at the centre, is the distance, one length a unit all
// round. A series that goes round repeats its first value at 360. Lines, points and bands only; directions carry the words at the rim.
// On a terminal the same series stand over the direction as over any x.
struct Panel {
  std::string heading;
  Axis x, y;
  bool polar = false;
  std::vector<Direction> directions;
  std::vector<Series> series;
  std::vector<Reference> references;
  std::vector<Shade> shades;
  std::vector<Note> notes;
  bool legend = true;
  bool same_range = false;   // one range for x and y (predicted against measured)
  double share = 1;          // of the height (stacked) or width (beside), relative to the other panels
  std::string empty_reason;  // said when nothing can be drawn: "no cone record in this campaign"
};

enum class Arrangement { stacked, beside };

struct Figure {
  std::string id;  // letters, digits, '-' and '_'; unique in a document
  std::string title;
  std::string caption;  // not drawn: the document sets it below the picture; part of <desc>
  Arrangement arrangement = Arrangement::stacked;
  bool shared_x = false;  // stacked panels with one range and one labelled x axis
  std::vector<Panel> panels;
  std::string provenance;  // small print at the bottom: records, campaign, version
};

// What a figure cannot show of its data; a data point counts once, an interval end by itself.
struct Tally {
  std::size_t drawn = 0;
  std::size_t not_finite = 0;
  std::size_t not_positive = 0;  // on a log axis
  std::size_t outside = 0;       // points and bars beyond a fixed end of an axis
  std::size_t cut = 0;           // values of lines and bands there: seen to leave the frame, so not in text()

  [[nodiscard]] std::string text() const;  // "Not drawn: 2 values not finite"; empty when all are drawn
};
[[nodiscard]] Tally tally(const Figure& figure);

struct SvgOptions {
  double width_px = 640;   // below 480 panels that stand beside each other are stacked instead,
  double height_px = 400;  // and each then gets 0.8 of this height
};

// The height grows where a plot would otherwise be flatter than 50 px, or the rows of a map than 18 px each (500 px all together at the most).
// Self-contained SVG 1.1 with a viewBox, no scripts, text as text. For a later read-out layer each panel group
// carries data-x-a, data-x-b, data-x-scale (pixel = a + b * value, or a + b * log10 value) and the same for y.
// Lines of very many points keep first, least, greatest and last of each pixel column; clouds of points keep
// the extremes of each column and one point a 3 px cell; <desc> says so.
[[nodiscard]] std::string to_svg(const Figure& figure, const SvgOptions& options);

enum class Glyphs { braille, ascii };

// A plot for a terminal of so many columns and rows; panels stand below each other and keep at least five
// plot rows each, even when that needs more rows than asked. Cells of a map show the digit of their step, 1 the lightest, or the letter of
// their mark; no texts.
[[nodiscard]] std::string to_text(const Figure& figure, std::size_t columns, std::size_t rows,
                                  Glyphs glyphs = Glyphs::braille);

}  // namespace hardpan::report
