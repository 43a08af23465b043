// SPDX-License-Identifier: Apache-2.0
// Rocks in the way: how often a straight run over a boulder field is stopped, from a law of sizes or from a mapped list of rocks.
//
// A rock stops the vehicle where it stands in the path of a wheel and is higher than the highest step (crossing.hpp), or under the body and higher than the
// clearance; what it does not touch or can straddle it passes. Sizes: the law of Golombek and Rapp (1997) for Mars, or a table of one's own (the Moon needs
// its own). Rocks are discs in plan of one height over diameter, placed at random without regard to each other (Poisson): clusters, buried and fresh
// ejecta rocks are not. Nobody steers round anything here. docs/theory/boulders.md.
//
//   const RockLaw law = *RockLaw::by_coverage(0.10);
//   const Swath swath = make_swath(vehicle, 0.15);
//   const double rate = hits_per_metre(law, swath, {.height_ratio = 0.5});
//   const double p = clear_run_probability(rate, 100);
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/problems.hpp"
#include "math/estimate.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

// Numbers of rocks by size.
class RockLaw {
 public:
  // Golombek and Rapp 1997, with the constants of Golombek et al. 2003: area covered by rocks larger than D is k exp(-q D), q = 1.79 + 0.152 / k, D in m. k in
  // (0, 0.6]; nothing outside. Known for k of 5 to 40 % and for D of about 0.1 to 2 m.
  [[nodiscard]] static std::optional<RockLaw> by_coverage(double coverage_ratio);
  struct Row {
    double diameter_m = 0, number_per_m2 = 0;   // rocks of this diameter or more
  };
  // One's own: straight in logarithms between rows, no rocks beyond the last, none below the first. Refused: fewer than two rows, diameters that do not
  // rise, numbers that do not fall, either not above 0.
  [[nodiscard]] static std::optional<RockLaw> by_table(const std::vector<Row>& rows, const base::Place& place, base::Problems& problems);

  [[nodiscard]] double number_per_m2(double diameter_m) const;          // of this diameter or more
  [[nodiscard]] double diameter_sum_per_m(double diameter_m) const;     // their diameters together, over an area: m / m^2
  [[nodiscard]] std::optional<double> area_ratio(double diameter_m) const;  // covered by them; the law by coverage only
  [[nodiscard]] double smallest_m() const;                              // below this it says nothing: 0 by coverage, the first row of a table

 private:
  double k_ = 0, q_ = 0;
  std::vector<Row> rows_;
};
// The coverage k whose law covers this share of the ground by rocks of `diameter_m` or more; nothing where no k up to 0.6 does.
[[nodiscard]] std::optional<double> coverage_of(double area_ratio, double diameter_m);

// The laws at the ends of a range of coverages, sparser first: more covered is more rocks of every size. Nothing where an end is no coverage of the law, or the
// coverage does not lie between.
[[nodiscard]] std::optional<std::pair<RockLaw, RockLaw>> law_between(double coverage_ratio, const math::Interval& range);

// What of the vehicle meets a rock, in front view.
struct Swath {
  struct Strip {
    double y_m = 0, width_m = 0;      // left positive
  };
  std::vector<Strip> wheels;          // every wheel path
  double body_width_m = 0;            // between the inner faces of the outermost wheels, about the middle
  double step_m = 0;                  // highest that wheels climb
  double clearance_m = std::numeric_limits<double>::infinity();
  [[nodiscard]] double width_m() const;
};
// Highest step from performance::highest_step or trials. A clearance that the file does not state stops nothing.
[[nodiscard]] Swath make_swath(const vehicle::Vehicle& vehicle, double step_m);

struct RockShape {
  double height_ratio = 0.5;          // height over diameter; common practice, no source
  double smallest_m = 0;              // rocks below this diameter are not looked at
};

// Over which width a rock of this diameter stops the vehicle, its centre anywhere across: 0 where it can be climbed or straddled.
[[nodiscard]] double stopping_width_m(const Swath& swath, double diameter_m, double height_m);

// Rocks that stop the vehicle over one metre of straight travel. Infinite where every rock down to none stops it: a step of 0 needs a smallest rock.
[[nodiscard]] double hits_per_metre(const RockLaw& law, const Swath& swath, const RockShape& shape);
// The plain strip of METHODS 4.7: every rock of a diameter or more that touches a strip, w N(D) + sum of diameters.
[[nodiscard]] double touches_per_metre(const RockLaw& law, double strip_width_m, double diameter_m);
[[nodiscard]] double clear_run_probability(double hits_per_m, double length_m);   // exp(-rate L)
[[nodiscard]] double clear_run_length_m(double hits_per_m, double probability);   // longest that is clear with at least this probability

struct Rock {
  double x_m = 0, y_m = 0, diameter_m = 0;
  std::optional<double> height_m;     // absent: height ratio times diameter
};
struct Run {
  double x_m = 0, y_m = 0;            // where the middle of the vehicle's front starts
  double heading_rad = 0;             // from x towards y
  double length_m = 0;
};
enum class Meeting { missed, straddled, climbed, stops_wheel, stops_body };
[[nodiscard]] const char* name(Meeting meeting);
struct Met {
  std::size_t rock = 0;               // place in the list
  double along_m = 0, across_m = 0;   // where its first point is met, of the run; its centre, left positive
  double height_m = 0;
  Meeting meeting = Meeting::missed;
};
// Every rock that touches the vehicle's width on a run, in the order it is met.
[[nodiscard]] std::vector<Met> meet(const std::vector<Rock>& rocks, const Run& run, const Swath& swath, const RockShape& shape);

struct Plot {
  double x0_m = 0, y0_m = 0, x1_m = 0, y1_m = 0;
  [[nodiscard]] double area_m2() const { return (x1_m - x0_m) * (y1_m - y0_m); }
};
// The smallest plot that holds the centres of these rocks, at least one.
[[nodiscard]] Plot box_round(const std::vector<Rock>& rocks);
// The same answers from a map. Rate: the stopping widths of all rocks over the area; its interval counts them as Poisson of their mean width
// (Garwood 1936), and where none stops it the upper end is that of no rock of the smallest stopping size. Lanes: straight runs of a length side by side along x,
// clear or not (binomial, Clopper and Pearson 1934); a rock between two lanes counts in both, which widens nothing: take them as an indication.
struct MappedField {
  std::size_t rocks = 0, stopping = 0;
  double hits_per_m = 0;
  math::Interval hits_per_m_interval;
  double coverage_ratio = 0;          // of all rocks of smallest_m or more
  std::size_t lanes = 0, clear_lanes = 0;
  math::Interval clear_interval;      // of the share of clear lanes; 0 to 1 without lanes
};
[[nodiscard]] MappedField mapped_field(const std::vector<Rock>& rocks, const Plot& plot, const Swath& swath, const RockShape& shape, double lane_length_m);

// Refuses rocks without size, places that are not finite, rocks whose centre lies outside the plot, plots without area.
void check_rocks(const std::vector<Rock>& rocks, const Plot& plot, const base::Place& place, base::Problems& problems);

}  // namespace hardpan::performance
