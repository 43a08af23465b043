// SPDX-License-Identifier: Apache-2.0
// Twelve figures of the kinds the report needs, written to pictures/ of the build folder so that a person can
// look at them, and checked for what a person would find first: text outside the page or across other text.
// All data are invented.
#include <fmt/core.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <regex>
#include <sstream>
#include <string>
#include <tuple>
#include <vector>

#include "report/figure.hpp"

namespace hardpan::report {
namespace {

using Values = std::vector<double>;

Values steps(double from, double to, int n) {
  Values v;
  for (int i = 0; i < n; ++i) v.push_back(from + (to - from) * i / (n - 1));
  return v;
}
Values of(const Values& x, const std::function<double(double)>& f) {
  Values v;
  for (const double a : x) v.push_back(f(a));
  return v;
}
// A repeatable unevenness of about one unit, in place of measured scatter.
double uneven(double x) { return std::sin(12.9898 * x) * 0.6 + std::sin(4.1414 * x + 1) * 0.4; }

constexpr const char* kInvented =
    "Invented data. Point A, records plate-01 to plate-06, campaign of 12 May; Hardpan 0.1.0.";

Panel pressure(bool log) {
  Panel p{.x = {.label = "Sinkage", .unit = "mm", .from_zero = !log},
          .y = {.label = "Pressure", .unit = "kPa", .from_zero = !log}};
  if (log) p.x.scale = p.y.scale = Scale::log10;
  p.shades = {{Along::x, 5, 40, "fit window"}, {Along::y, 38, 62, "wheel working range"}};
  int k = 0;
  for (const double b : {0.05, 0.075, 0.10}) {
    const auto law = [&](double z) { return (1.9 / b * 0.05 + 5.2) * std::pow(z, 0.72); };
    const auto z = steps(log ? 1.2 : 2, 58, 13), line = steps(log ? 1 : 0, 60, 60);
    const auto style = static_cast<std::size_t>(k++);
    p.series.push_back({.kind = Kind::points,
                        .name = fmt::format("plate {:.0f} mm", b * 1000),
                        .x = z,
                        .y = of(z, [&](double v) { return law(v) * (1 + 0.06 * uneven(v + b)); }),
                        .style = style});
    p.series.push_back(
        {.kind = Kind::line, .name = k == 1 ? "joint fit" : "", .x = line, .y = of(line, law), .style = style});
  }
  return p;
}

std::vector<Figure> trial_figures() {
  std::vector<Figure> all;
  all.push_back({.id = "pressure-sinkage",
                 .title = "Plate tests at point A: pressure against sinkage",
                 .caption = "Plates by width.",
                 .panels = {pressure(false)},
                 .provenance = kInvented});
  all.push_back({.id = "pressure-sinkage-log",
                 .title = "Plate tests at point A: pressure against sinkage, logarithmic",
                 .panels = {pressure(true)},
                 .provenance = kInvented});

  Figure shear{
      .id = "shear", .title = "Shear ring at point A", .arrangement = Arrangement::beside, .provenance = kInvented};
  Panel curve{.heading = "Stress against displacement",
              .x = {.label = "Shear displacement", .unit = "mm"},
              .y = {.label = "Shear stress", .unit = "kPa"},
              .share = 1.25};
  Panel strength{.heading = "Strength line",
                 .x = {.label = "Normal stress", .unit = "kPa", .from_zero = true},
                 .y = {.label = "Shear strength", .unit = "kPa", .from_zero = true}};
  Values normal{10, 25, 50, 80}, peak;
  for (std::size_t i = 0; i < normal.size(); ++i) {
    const double top = 1.4 + normal[i] * std::tan(0.56);
    const auto j = steps(0, 60, 120);
    curve.series.push_back(
        {.name = fmt::format("{:.0f} kPa", normal[i]),
         .x = j,
         .y = of(j, [&](double v) { return top * (1 - std::exp(-v / 9)) * (1 + 0.012 * uneven(v * 0.7)); })});
    peak.push_back(top + uneven(normal[i]));
  }
  strength.series = {
      {.kind = Kind::points,
       .name = "ring",
       .x = normal,
       .y = peak,
       .y_lo = of(peak, [](double v) { return 0.93 * v; }),
       .y_hi = of(peak, [](double v) { return 1.07 * v; }),
       .style = 0},
      {.kind = Kind::line, .name = "fit", .x = {0, 90}, .y = {1.4, 1.4 + 90 * std::tan(0.56)}, .style = 0},
      {.kind = Kind::band,
       .name = "95 % average ground",
       .x = {0, 90},
       .y_lo = {0.2, 52.5},
       .y_hi = {2.9, 62},
       .style = 0}};
  shear.panels = {curve, strength};
  all.push_back(shear);

  Figure cone{.id = "cone",
              .title = "Cone index against depth, back marsh",
              .arrangement = Arrangement::beside,
              .provenance = kInvented};
  for (const char* where : {"Zone B1", "Zone B2"}) {
    Panel p{.heading = where,
            .x = {.label = "Cone index", .unit = "kPa", .from_zero = true},
            .y = {.label = "Depth", .unit = "mm", .reversed = true}};
    p.shades = {{Along::y, 150, 300, "critical layer"}};
    for (int k = 0; k < 4; ++k) {
      const auto depth = steps(0, 450, 19);
      p.series.push_back({.name = fmt::format("push {}", k + 1),
                          .x = of(depth,
                                  [&](double d) {
                                    return 180 + 900 * std::exp(-std::pow((d - 60) / 45, 2)) + 0.9 * d +
                                           60 * uneven(d + 40 * k + where[6]);
                                  }),
                          .y = depth});
    }
    cone.panels.push_back(p);
  }
  all.push_back(cone);

  Figure tow{.id = "tow-strip",
             .title = "Tow run 7: load steps and the windows taken",
             .shared_x = true,
             .provenance = kInvented};
  const auto t = steps(0, 95.99, 9600);
  const auto level = [](double s) { return std::floor(s / 16) * 160 + 120; };
  Panel pull{.x = {.label = "Time", .unit = "s"},
             .y = {.label = "Drawbar pull", .unit = "N", .from_zero = true},
             .share = 1.3};
  pull.series = {
      {.name = "", .x = t, .y = of(t, [&](double s) { return level(s) + 45 * uneven(s * 31) + 25 * std::sin(s); })}};
  Panel slip{.x = pull.x, .y = {.label = "Slip", .unit = "%", .from_zero = true}};
  slip.series = {{.name = "", .x = t, .y = of(t, [&](double s) {
                                        return 3 + std::pow(level(s) / 210, 2.4) + 1.6 * uneven(s * 17);
                                      })}};
  Panel speed{.x = pull.x, .y = {.label = "Ground speed", .unit = "m/s", .from_zero = true}};
  speed.series = {{.name = "", .x = t, .y = of(t, [&](double s) {
                                         return 0.9 * (1 - 0.01 * std::pow(level(s) / 210, 2.4)) +
                                                0.02 * uneven(s * 23);
                                       })}};
  for (int w = 0; w < 6; ++w) {
    for (Panel* p : {&pull, &slip, &speed})
      p->shades.push_back(
          {Along::x, 16.0 * w + 4, 16.0 * w + 14, p == &pull ? fmt::format("W{}", w + 1) : "", Fill::tint});
  }
  tow.panels = {pull, slip, speed};
  all.push_back(tow);

  Figure draw{.id = "pull-slip",
              .title = "Pull coefficient against slip, dry foredune",
              .shared_x = true,
              .provenance = kInvented};
  const auto s = steps(0, 60, 61);
  const auto mu = [](double v) { return -0.09 + 0.47 * (1 - std::exp(-v / 9.5)); };
  Panel coefficient{
      .x = {.label = "Slip", .unit = "%"}, .y = {.label = "Pull coefficient, pull over weight"}, .share = 1.7};
  Values xs{3, 7, 11, 16, 22, 29, 37, 48}, ys = of(xs, [&](double v) { return mu(v) - 0.03 + 0.015 * uneven(v); });
  coefficient.series = {{.kind = Kind::band,
                         .name = "predicted, 95 % next point",
                         .x = s,
                         .y_lo = of(s, [&](double v) { return mu(v) - 0.05 - 0.0006 * v; }),
                         .y_hi = of(s, [&](double v) { return mu(v) + 0.05 + 0.0006 * v; }),
                         .style = 0},
                        {.kind = Kind::line, .name = "predicted, median", .x = s, .y = of(s, mu), .style = 0},
                        {.kind = Kind::points,
                         .name = "measured window",
                         .x = xs,
                         .y = ys,
                         .x_lo = of(xs, [](double v) { return v - 1.2; }),
                         .x_hi = of(xs, [](double v) { return v + 1.2; }),
                         .y_lo = of(ys, [](double v) { return v - 0.025; }),
                         .y_hi = of(ys, [](double v) { return v + 0.025; }),
                         .style = 1}};
  coefficient.references = {{Along::x, 18, "working slip 18 %"}, {Along::y, 0, ""}};
  coefficient.notes = {{48, ys[7], "sled at its limit"}};
  Panel efficiency{.x = coefficient.x, .y = {.label = "Tractive efficiency", .unit = "%", .from_zero = true}};
  efficiency.series = {{.kind = Kind::line,
                        .name = "predicted",
                        .x = s,
                        .y = of(s, [&](double v) { return std::max(0.0, mu(v) * (100 - v) / (mu(v) + 0.12)); }),
                        .style = 0},
                       {.kind = Kind::points,
                        .name = "measured",
                        .x = xs,
                        .y = of(xs, [&](double v) { return std::max(0.0, mu(v) * (96 - v) / (mu(v) + 0.13)); }),
                        .style = 1}};
  efficiency.references = {{Along::x, 18, ""}};
  efficiency.legend = false;
  draw.panels = {coefficient, efficiency};
  all.push_back(draw);

  Figure sink{.id = "sinkage-slip", .title = "Sinkage against slip", .provenance = kInvented};
  Panel rut{.x = {.label = "Slip", .unit = "%", .from_zero = true},
            .y = {.label = "Rut depth", .unit = "mm", .from_zero = true}};
  const auto depth = [](double v) { return 24 + 0.5 * v + 0.006 * v * v; };
  rut.series = {{.kind = Kind::band,
                 .name = "front wheel, 95 % next point",
                 .x = s,
                 .y_lo = of(s, [&](double v) { return 0.8 * depth(v); }),
                 .y_hi = of(s, [&](double v) { return 1.22 * depth(v); })},
                {.kind = Kind::line, .name = "front wheel, median", .x = s, .y = of(s, depth), .style = 0},
                {.kind = Kind::line,
                 .name = "rear wheel, median",
                 .x = s,
                 .y = of(s, [&](double v) { return 1.25 * depth(v) + 3; }),
                 .style = 1},
                {.kind = Kind::points,
                 .name = "rut sheet, behind front",
                 .x = xs,
                 .y = of(xs, [&](double v) { return depth(v) + 4 * uneven(v); }),
                 .style = 0}};
  rut.references = {{Along::y, 95, "ground clearance 95 mm"}};
  sink.panels = {rut};
  all.push_back(sink);

  Figure slope{
      .id = "slip-gradient", .title = "Slip against gradient, straight up the foredune", .provenance = kInvented};
  Panel climb{.x = {.label = "Gradient", .unit = "deg"}, .y = {.label = "Slip", .unit = "%", .min = 0, .max = 100}};
  const auto g = steps(0, 26, 60);
  const auto rise = [](double v) { return 4 + 0.9 * v + std::exp(v / 5.1); };
  climb.series = {
      {.kind = Kind::band,
       .name = "predicted, 95 % next point",
       .x = g,
       .y_lo = of(g, [&](double v) { return rise(v * 0.9); }),
       .y_hi = of(g, [&](double v) { return rise(v * 1.1); }),
       .style = 0},
      {.kind = Kind::line, .name = "predicted, median", .x = g, .y = of(g, rise), .style = 0},
      {.kind = Kind::points,
       .name = "go",
       .x = {4, 8, 12, 15, 18, 18},
       .y = {7, 13, 24, 33, 52, 61},
       .marker = Marker{Shape::go}},
      {.kind = Kind::points,
       .name = "no-go",
       .x = {20, 21, 22, 24},
       .y = {100, 100, 100, 100},
       .marker = Marker{Shape::no_go}},
      {.kind = Kind::points, .name = "aborted, a bound", .x = {19}, .y = {70}, .marker = Marker{Shape::diamond, true}}};
  climb.references = {{Along::x, 25.5, "friction bound 25.5 deg"},
                      {Along::x, 17, "required 17 deg"},
                      {Along::y, 80, "slip limit 80 %"}};
  climb.shades = {{Along::x, 18, 20, "bracket"}};
  slope.panels = {climb};
  all.push_back(slope);

  Figure valid{.id = "predicted-measured",
               .title = "Predicted against measured",
               .arrangement = Arrangement::beside,
               .provenance = kInvented};
  for (const auto& [name, unit, scale, bias] : {std::tuple{"Pull", "N", 900.0, 0.93}, {"Sinkage", "mm", 70.0, 1.04}}) {
    Panel p{.heading = name,
            .x = {.label = "Measured", .unit = unit, .from_zero = true},
            .y = {.label = "Predicted", .unit = unit, .from_zero = true},
            .same_range = true};
    for (int k = 0; k < 2; ++k) {
      Values m, q;
      for (int i = 0; i < 9; ++i)
        m.push_back(scale * (0.12 + 0.1 * i + 0.01 * uneven(i + 3 * k))),
            q.push_back(m.back() / bias * (1 + 0.07 * uneven(2 * i + k)));
      p.series.push_back({.kind = Kind::points,
                          .name = k == 0 ? "foredune" : "marsh",
                          .x = m,
                          .y = q,
                          .x_lo = of(m, [&](double v) { return v - 0.03 * scale; }),
                          .x_hi = of(m, [&](double v) { return v + 0.03 * scale; }),
                          .y_lo = of(q, [](double v) { return 0.86 * v; }),
                          .y_hi = of(q, [](double v) { return 1.14 * v; })});
    }
    p.series.push_back({.kind = Kind::line, .name = "1:1", .x = {0, scale}, .y = {0, scale}, .style = 5});
    valid.panels.push_back(p);
  }
  all.push_back(valid);

  Figure bars{.id = "sensitivity", .title = "What the maximum gradient hangs on", .provenance = kInvented};
  Panel sens{.x = {.label = "Maximum gradient", .unit = "deg"},
             .y = {.scale = Scale::category,
                   .categories = {"Friction angle, tan phi 0.58 to 0.68", "Exponent n, 0.61 to 0.93",
                                  "Shear modulus K, 8 to 17 mm", "Load cell gain, 2 %", "Slip sinkage, model form",
                                  "Tyre pressure, 60 to 90 kPa"}}};
  sens.series = {{.kind = Kind::bars,
                  .name = "at the low end",
                  .x = {16.1, 20.6, 19.9, 18.5, 19.6, 19.4},
                  .y = {0, 1, 2, 3, 4, 5},
                  .base = 18.9,
                  .text = {"16.1", "20.6", "19.9", "18.5", "19.6", "19.4"}},
                 {.kind = Kind::bars,
                  .name = "at the high end",
                  .x = {21.4, 17.2, 17.8, 19.3, 18.0, 18.3},
                  .y = {0, 1, 2, 3, 4, 5},
                  .base = 18.9,
                  .text = {"21.4", "17.2", "17.8", "19.3", "18.0", "18.3"}}};
  sens.references = {{Along::x, 17, "required 17 deg"}};
  bars.panels = {sens};
  all.push_back(bars);

  Figure drift{.id = "reference-clock", .title = "Reference point against clock time", .provenance = kInvented};
  Panel ref{.x = {.label = "Local time on 12 May", .scale = Scale::clock},
            .y = {.label = "Pressure at 20 mm sinkage", .unit = "kPa"}};
  Values clock{8.6 * 3600, 10.1 * 3600, 11.9 * 3600, 13.2 * 3600, 15.4 * 3600, 17.1 * 3600},
      kpa{44.1, 45.0, 47.9, 51.2, 55.8, 56.1};
  ref.series = {{.kind = Kind::points,
                 .name = "operator 1",
                 .x = {clock[0], clock[2], clock[4]},
                 .y = {kpa[0], kpa[2], kpa[4]},
                 .y_lo = {42.3, 46.0, 53.5},
                 .y_hi = {45.9, 49.8, 58.1}},
                {.kind = Kind::points,
                 .name = "operator 2",
                 .x = {clock[1], clock[3], clock[5]},
                 .y = {kpa[1], kpa[3], kpa[5]},
                 .y_lo = {43.1, 49.2, 53.9},
                 .y_hi = {46.9, 53.2, 58.3}},
                {.kind = Kind::line, .name = "drift, fitted", .x = {8.5 * 3600, 17.2 * 3600}, .y = {43.2, 57.2}}};
  ref.shades = {{Along::x, 11.0 * 3600, 11.5 * 3600, "shower"}};
  ref.notes = {{clock[3], kpa[3], "surface drying"}};
  drift.panels = {ref};
  all.push_back(drift);

  Figure none{.id = "empty",
              .title = "Cone index against depth",
              .panels = {{.x = {.label = "Cone index", .unit = "kPa"},
                          .y = {.label = "Depth", .unit = "mm", .reversed = true},
                          .empty_reason = "this campaign has no cone record"}},
              .provenance = kInvented};
  all.push_back(none);

  Figure moments{.id = "dot-interval",
                 .title = "Estimates side by side",
                 .arrangement = Arrangement::beside,
                 .provenance = kInvented};
  Panel n{.x = {.label = "Exponent n"},
          .y = {.scale = Scale::category, .categories = {"joint fit", "two steps", "log-log", "unweighted"}}};
  n.series = {{.kind = Kind::points,
               .name = "95 % average ground",
               .x = {0.72, 0.75, 0.79, 0.69},
               .y = {0, 1, 2, 3},
               .x_lo = {0.66, 0.62, 0.70, 0.6},
               .x_hi = {0.78, 0.88, 0.91, 0.77}}};
  Panel freq{
      .x = {.label = "Ground", .scale = Scale::category, .categories = {"foredune", "shingle ridge", "back marsh"}},
      .y = {.label = "Cohesion", .unit = "kPa", .from_zero = true}};
  freq.series = {{.kind = Kind::points,
                  .name = "",
                  .x = {0, 1, 2},
                  .y = {0.9, 0.2, 6.3},
                  .y_lo = {0.3, 0, 4.9},
                  .y_hi = {1.6, 0.6, 7.9}}};
  moments.panels = {n, freq};
  all.push_back(moments);

  Figure rose{.id = "polar", .title = "Steepest slope on every heading, foredune", .provenance = kInvented};
  Panel round{.heading = "Best-estimate soil and next point", .x = {.label = "Heading", .unit = "deg"}, .y = {.label = "Slope", .unit = "deg", .from_zero = true}, .polar = true};
  for (const auto& [degrees, name] : {std::pair{0.0, "straight uphill"}, {45.0, "45 left"}, {90.0, "across, to the left"}, {135.0, "135 left"}, {180.0, "straight downhill"},
                                      {225.0, "135 right"}, {270.0, "across, to the right"}, {315.0, "45 right"}})
    round.directions.push_back({degrees, name});
  const auto turn = steps(0, 360, 25);
  const auto held = [](double d) { return 19 - 5 * std::cos(d * 0.01745) - 3 * std::pow(std::sin(d * 0.01745), 2); };
  round.series = {{.kind = Kind::band, .name = "working limit, 95 % next point", .x = turn, .y_lo = of(turn, [&](double d) { return 0.8 * held(d); }), .y_hi = of(turn, [&](double d) { return 1.15 * held(d); }), .style = 0},
                  {.kind = Kind::line, .name = "working limit", .x = turn, .y = of(turn, held), .style = 0},
                  {.kind = Kind::line, .name = "working tip limit", .x = turn, .y = of(turn, [](double d) { return 27 - 3 * std::pow(std::sin(d * 0.01745), 2); }), .style = 5, .dash = Dash::dashed},
                  {.kind = Kind::points, .name = "stopped by traction", .x = {0, 15, 30, 330, 345}, .y = of({0, 15, 30, 330, 345}, held), .style = 0, .marker = Marker{Shape::triangle_up}},
                  {.kind = Kind::points, .name = "stopped by drift", .x = {90, 105, 255, 270}, .y = of({90, 105, 255, 270}, held), .style = 0, .marker = Marker{Shape::square, true}}};
  rose.panels = {round};
  all.push_back(rose);
  return all;
}

TEST(Pictures, WritesEveryTrialFigureForLookingAt) {
  const std::filesystem::path folder = std::filesystem::path(HARDPAN_BIN_DIR).parent_path() / "pictures";
  std::filesystem::create_directories(folder);
  for (const Figure& f : trial_figures()) {
    for (const auto& [w, h] : {std::pair{640, 400}, {360, 330}})
      std::ofstream(folder / fmt::format("{}-{}.svg", f.id, w))
          << to_svg(f, {static_cast<double>(w), static_cast<double>(h)});
    std::ofstream(folder / (f.id + ".txt")) << to_text(f, 80, 24) << "\n" << to_text(f, 60, 20, Glyphs::ascii);
    EXPECT_GT(std::filesystem::file_size(folder / (f.id + "-640.svg")), 1000u);
  }
}

struct Written {
  std::string text;
  double x0, y0, x1, y1;
};

// Every visible text with a rough box of its own: 0.52 em a character, a mean of sans-serif fonts, so that what is
// found here is really a collision.
std::vector<Written> written(const std::string& svg) {
  std::vector<Written> list;
  std::istringstream lines(svg);
  static const std::regex kText(
      "<text x=\"([^\"]+)\" y=\"([^\"]+)\" font-size=\"([^\"]+)\"( text-anchor=\"(\\w+)\")?[^>]*>([^<]*)</text>");
  for (std::string line; std::getline(lines, line);) {
    std::smatch m;
    if (line.rfind("<text", 0) != 0 || !std::regex_match(line, m, kText)) continue;
    std::string plain = std::regex_replace(m[6].str(), std::regex("&[a-z#0-9]+;"), "x");
    const auto letters =
        static_cast<double>(std::count_if(plain.begin(), plain.end(), [](char c) { return (c & 0xC0) != 0x80; }));
    const double x = std::stod(m[1]), y = std::stod(m[2]), size = std::stod(m[3]), w = 0.52 * size * letters;
    const double x0 = m[5] == "end" ? x - w : m[5] == "middle" ? x - w / 2 : x;
    list.push_back({plain, x0, y - 0.7 * size, x0 + w, y + 0.1 * size});
  }
  return list;
}

TEST(Pictures, KeepEveryTextOnThePageAndApartFromEveryOther) {
  std::size_t texts = 0;
  for (const Figure& f : trial_figures())
    for (const auto& [w, h] : {std::pair{640, 400}, {360, 330}, {480, 300}, {900, 500}}) {
      const std::string svg = to_svg(f, {static_cast<double>(w), static_cast<double>(h)});
      const std::size_t at = svg.find(" height=\"") + 9;
      const double height = std::stod(svg.substr(at));
      const auto all = written(svg);
      texts += all.size();
      for (std::size_t i = 0; i < all.size(); ++i) {
        const Written& a = all[i];
        EXPECT_TRUE(a.x0 >= 0 && a.y0 >= 0 && a.x1 <= w && a.y1 <= height) << f.id << " at " << w << ": " << a.text;
        for (std::size_t k = i + 1; k < all.size(); ++k) {
          const Written& b = all[k];
          EXPECT_FALSE(a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1)
              << f.id << " at " << w << ": " << a.text << " over " << b.text;
        }
      }
    }
  EXPECT_GT(texts, 1000u) << "the texts were not found in the SVG, nothing was checked";
}

}  // namespace
}  // namespace hardpan::report
