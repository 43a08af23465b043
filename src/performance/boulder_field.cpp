// SPDX-License-Identifier: Apache-2.0
// Law: [Golombek1997] with the constants of [Golombek2003] (abstract seen). Number from area: n(D) pi D^2 / 4 = -dF/dD, hence
// N(D) = (4 k q / pi) E2(q D) / D and the sum of diameters (4 k q / pi) E1(q D).
#include "performance/boulder_field.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "math/distributions.hpp"
#include "math/exponential_integral.hpp"
#include "math/roots.hpp"

namespace hardpan::performance {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kMostCoverage = 0.6;
constexpr double kInfinity = std::numeric_limits<double>::infinity();

double q_of(double k) { return 1.79 + 0.152 / k; }

// Slope of ln N against ln D, positive falling.
double steepness(const RockLaw::Row& a, const RockLaw::Row& b) { return std::log(a.number_per_m2 / b.number_per_m2) / std::log(b.diameter_m / a.diameter_m); }

// Integral of D n(D) over a piece from d to the row b, with n = m N / D.
double piece_sum(double d, double number_at_d, double m, double end_m) {
  const double scale = m * number_at_d * std::pow(d, m);
  return std::abs(m - 1) < 1e-9 ? scale * std::log(end_m / d) : scale * (std::pow(d, 1 - m) - std::pow(end_m, 1 - m)) / (m - 1);
}

// Total length of a union of intervals.
double covered(std::vector<std::pair<double, double>> spans) {
  std::sort(spans.begin(), spans.end());
  double sum = 0, end = -kInfinity;
  for (const auto& [lo, hi] : spans) {
    if (hi <= end) continue;
    sum += hi - std::max(lo, end);
    end = hi;
  }
  return sum;
}

Meeting meeting_of(const Swath& s, double across_m, double diameter_m, double height_m) {
  bool by_wheel = false;
  for (const Swath::Strip& w : s.wheels) by_wheel = by_wheel || std::abs(across_m - w.y_m) < 0.5 * (w.width_m + diameter_m);
  const bool under_body = std::abs(across_m) < 0.5 * (s.body_width_m + diameter_m);
  if (!by_wheel && !under_body) return Meeting::missed;
  if (by_wheel && height_m > s.step_m) return Meeting::stops_wheel;
  if (under_body && height_m > s.clearance_m) return Meeting::stops_body;
  return by_wheel ? Meeting::climbed : Meeting::straddled;
}

}  // namespace

std::optional<RockLaw> RockLaw::by_coverage(double coverage_ratio) {
  if (!(coverage_ratio > 0 && coverage_ratio <= kMostCoverage)) return std::nullopt;
  RockLaw out;
  out.k_ = coverage_ratio;
  out.q_ = q_of(coverage_ratio);
  return out;
}

std::optional<RockLaw> RockLaw::by_table(const std::vector<Row>& rows, const base::Place& place, base::Problems& problems) {
  bool good = true;
  const auto refuse = [&](std::size_t k, const char* what, double value, const char* unit, const char* bound) {
    base::Place at = place;
    if (k > 0) at.key += (at.key.empty() ? "" : ".") + fmt::format("row[{}]", k);
    problems.refuse({.place = at, .what = what, .value = fmt::format("{:g}{}", value, unit), .bound = bound});
    good = false;
  };
  if (rows.size() < 2) refuse(0, "too few rows for a law of sizes", static_cast<double>(rows.size()), "", "2 or more");
  for (std::size_t k = 0; k < rows.size(); ++k) {
    if (!(rows[k].diameter_m > 0 && rows[k].diameter_m < 1e3)) refuse(k + 1, "not a diameter", rows[k].diameter_m, " m", "above 0, below 1000 m");
    else if (!(rows[k].number_per_m2 > 0 && rows[k].number_per_m2 < 1e6)) refuse(k + 1, "not a number of rocks of this size or more", rows[k].number_per_m2, " /m^2", "above 0, below 1e6 /m^2");
    else if (k > 0 && !(rows[k].diameter_m > rows[k - 1].diameter_m)) refuse(k + 1, "diameters do not rise", rows[k].diameter_m, " m", "above the row before");
    else if (k > 0 && !(rows[k].number_per_m2 < rows[k - 1].number_per_m2)) refuse(k + 1, "there cannot be as many or more of the larger rocks: the numbers are of this diameter or more", rows[k].number_per_m2, " /m^2", "below the row before");
  }
  if (!good) return std::nullopt;
  RockLaw out;
  out.rows_ = rows;
  return out;
}

double RockLaw::number_per_m2(double d) const {
  if (rows_.empty()) return 4 * k_ * q_ / kPi * math::exponential_integral_2(q_ * d) / d;
  if (d > rows_.back().diameter_m) return 0;
  if (d <= rows_.front().diameter_m) return rows_.front().number_per_m2;
  std::size_t i = 1;
  while (rows_[i].diameter_m < d) ++i;
  return rows_[i - 1].number_per_m2 * std::pow(d / rows_[i - 1].diameter_m, -steepness(rows_[i - 1], rows_[i]));
}

double RockLaw::diameter_sum_per_m(double d) const {
  if (rows_.empty()) return 4 * k_ * q_ / kPi * math::exponential_integral_1(q_ * d);
  if (d > rows_.back().diameter_m) return 0;
  d = std::max(d, rows_.front().diameter_m);
  double sum = rows_.back().number_per_m2 * rows_.back().diameter_m;   // those of the last row are counted as large as it
  for (std::size_t i = 1; i < rows_.size(); ++i) {
    if (rows_[i].diameter_m <= d) continue;
    const double from = std::max(d, rows_[i - 1].diameter_m);
    sum += piece_sum(from, number_per_m2(from), steepness(rows_[i - 1], rows_[i]), rows_[i].diameter_m);
  }
  return sum;
}

std::optional<double> RockLaw::area_ratio(double d) const {
  if (!rows_.empty()) return std::nullopt;
  return k_ * std::exp(-q_ * d);
}

double RockLaw::smallest_m() const { return rows_.empty() ? 0 : rows_.front().diameter_m; }

std::optional<double> coverage_of(double area_ratio, double diameter_m) {
  if (!(area_ratio > 0 && diameter_m >= 0)) return std::nullopt;
  const auto miss = [&](double k) { return k * std::exp(-q_of(k) * diameter_m) - area_ratio; };
  const math::Root root = math::find_root_no_derivative(miss, 1e-6, kMostCoverage, {});
  if (!root.report.converged()) return std::nullopt;
  return root.x;
}

double Swath::width_m() const {
  double left = 0.5 * body_width_m, right = left;
  for (const Strip& s : wheels) {
    left = std::max(left, s.y_m + 0.5 * s.width_m);
    right = std::max(right, -(s.y_m - 0.5 * s.width_m));
  }
  return left + right;
}

std::optional<std::pair<RockLaw, RockLaw>> law_between(double coverage_ratio, const math::Interval& range) {
  const auto sparse = RockLaw::by_coverage(range.lo), dense = RockLaw::by_coverage(range.hi);
  if (!sparse || !dense || !(range.lo <= coverage_ratio && coverage_ratio <= range.hi)) return std::nullopt;
  return std::pair{*sparse, *dense};
}

Swath make_swath(const vehicle::Vehicle& v, double step_m) {
  Swath out{.step_m = step_m, .clearance_m = vehicle::loaded_body(v).clearance_m.value_or(kInfinity)};
  double inner = 0;
  for (const vehicle::Axle& a : v.axles) {
    for (const double y : vehicle::wheel_offsets_m(a)) {
      const bool known = std::any_of(out.wheels.begin(), out.wheels.end(), [&](const Swath::Strip& s) { return s.y_m == y && s.width_m == a.wheel.width_m; });
      if (!known) out.wheels.push_back({y, a.wheel.width_m});
      inner = std::max(inner, std::abs(y) - 0.5 * a.wheel.width_m);
    }
  }
  out.body_width_m = 2 * inner;
  return out;
}

double stopping_width_m(const Swath& s, double diameter_m, double height_m) {
  std::vector<std::pair<double, double>> spans;
  if (height_m > s.step_m) {
    for (const Swath::Strip& w : s.wheels) spans.emplace_back(w.y_m - 0.5 * (w.width_m + diameter_m), w.y_m + 0.5 * (w.width_m + diameter_m));
  }
  if (height_m > s.clearance_m) spans.emplace_back(-0.5 * (s.body_width_m + diameter_m), 0.5 * (s.body_width_m + diameter_m));
  return covered(std::move(spans));
}

double hits_per_metre(const RockLaw& law, const Swath& s, const RockShape& shape) {
  // The stopping width is linear in the diameter between the sizes where something new begins: step, clearance, and where strips meet.
  std::vector<double> ends{s.step_m / shape.height_ratio};
  if (std::isfinite(s.clearance_m)) ends.push_back(s.clearance_m / shape.height_ratio);
  for (const Swath::Strip& a : s.wheels) {
    for (const Swath::Strip& b : s.wheels) ends.push_back(std::abs(a.y_m - b.y_m) - 0.5 * (a.width_m + b.width_m));
    for (const double side : {-1.0, 1.0}) ends.push_back(std::abs(side * 0.5 * s.body_width_m - a.y_m) - 0.5 * a.width_m);
  }
  const double start = std::max({shape.smallest_m, law.smallest_m(), std::min(s.step_m, s.clearance_m) / shape.height_ratio});
  if (!(start > 0)) return kInfinity;
  std::erase_if(ends, [&](double d) { return !(d > start); });
  ends.push_back(start);
  std::sort(ends.begin(), ends.end());
  ends.erase(std::unique(ends.begin(), ends.end()), ends.end());
  double sum = 0;
  for (std::size_t i = 0; i < ends.size(); ++i) {
    const double a = ends[i], b = i + 1 < ends.size() ? ends[i + 1] : a + 1;
    const double p = a + 0.25 * (b - a), r = a + 0.75 * (b - a);
    const double at_p = stopping_width_m(s, p, p * shape.height_ratio), at_r = stopping_width_m(s, r, r * shape.height_ratio);
    const double slope = (at_r - at_p) / (r - p), level = at_p - slope * p;
    const bool last = i + 1 == ends.size();
    sum += level * (law.number_per_m2(a) - (last ? 0 : law.number_per_m2(b))) + slope * (law.diameter_sum_per_m(a) - (last ? 0 : law.diameter_sum_per_m(b)));
  }
  return sum;
}

double touches_per_metre(const RockLaw& law, double strip_width_m, double diameter_m) { return strip_width_m * law.number_per_m2(diameter_m) + law.diameter_sum_per_m(diameter_m); }

double clear_run_probability(double hits_per_m, double length_m) { return length_m > 0 ? std::exp(-hits_per_m * length_m) : 1; }
double clear_run_length_m(double hits_per_m, double probability) { return hits_per_m > 0 ? -std::log(probability) / hits_per_m : kInfinity; }

const char* name(Meeting meeting) {
  switch (meeting) {
    case Meeting::missed: return "missed";
    case Meeting::straddled: return "straddled";
    case Meeting::climbed: return "climbed";
    case Meeting::stops_wheel: return "stops a wheel";
    case Meeting::stops_body: return "stops the body";
  }
  return "";
}

std::vector<Met> meet(const std::vector<Rock>& rocks, const Run& run, const Swath& swath, const RockShape& shape) {
  const double c = std::cos(run.heading_rad), s = std::sin(run.heading_rad);
  std::vector<Met> out;
  for (std::size_t k = 0; k < rocks.size(); ++k) {
    const Rock& r = rocks[k];
    if (r.diameter_m < shape.smallest_m) continue;
    const double along = c * (r.x_m - run.x_m) + s * (r.y_m - run.y_m), across = -s * (r.x_m - run.x_m) + c * (r.y_m - run.y_m);
    if (along + 0.5 * r.diameter_m < 0 || along - 0.5 * r.diameter_m > run.length_m) continue;
    const double height = r.height_m.value_or(shape.height_ratio * r.diameter_m);
    const Meeting m = meeting_of(swath, across, r.diameter_m, height);
    if (m != Meeting::missed) out.push_back({k, std::max(0.0, along - 0.5 * r.diameter_m), across, height, m});
  }
  std::stable_sort(out.begin(), out.end(), [](const Met& a, const Met& b) { return a.along_m < b.along_m; });
  return out;
}

Plot box_round(const std::vector<Rock>& rocks) {
  const auto [x0, x1] = std::minmax_element(rocks.begin(), rocks.end(), [](const auto& a, const auto& b) { return a.x_m < b.x_m; });
  const auto [y0, y1] = std::minmax_element(rocks.begin(), rocks.end(), [](const auto& a, const auto& b) { return a.y_m < b.y_m; });
  return {x0->x_m, y0->y_m, x1->x_m, y1->y_m};
}

MappedField mapped_field(const std::vector<Rock>& rocks, const Plot& plot, const Swath& swath, const RockShape& shape, double lane_length_m) {
  MappedField out{.clear_interval = {0, 1}};
  double widths = 0;
  for (const Rock& r : rocks) {
    if (r.diameter_m < shape.smallest_m) continue;
    ++out.rocks;
    out.coverage_ratio += kPi / 4 * r.diameter_m * r.diameter_m / plot.area_m2();
    const double w = stopping_width_m(swath, r.diameter_m, r.height_m.value_or(shape.height_ratio * r.diameter_m));
    if (w > 0) ++out.stopping;
    widths += w;
  }
  out.hits_per_m = widths / plot.area_m2();
  const math::Interval counted = math::poisson_limits(out.stopping);
  if (out.stopping > 0) {
    const double each = out.hits_per_m / static_cast<double>(out.stopping);
    out.hits_per_m_interval = {each * counted.lo, each * counted.hi};
  } else {
    const double lowest = std::min(swath.step_m, swath.clearance_m) / shape.height_ratio;
    out.hits_per_m_interval = {0, counted.hi * (swath.width_m() + std::max(lowest, shape.smallest_m)) / plot.area_m2()};
  }
  if (!(lane_length_m > 0)) return out;
  const auto along = static_cast<std::size_t>((plot.x1_m - plot.x0_m) / lane_length_m), across = static_cast<std::size_t>((plot.y1_m - plot.y0_m) / swath.width_m());
  // Rock by rock, so that the work does not grow with rocks times lanes: each stops the lanes it lies in.
  std::vector<char> stopped(along * across, 0);
  const auto place_of = [](double x, std::size_t count) { return static_cast<std::size_t>(std::clamp(std::floor(x), 0.0, static_cast<double>(count - 1))); };
  for (const Rock& r : rocks) {
    if (r.diameter_m < shape.smallest_m || stopped.empty()) continue;
    const double height = r.height_m.value_or(shape.height_ratio * r.diameter_m), x = r.x_m - plot.x0_m, y = r.y_m - plot.y0_m, half = 0.5 * r.diameter_m;
    const double w = swath.width_m(), reach = half + w;
    for (std::size_t i = place_of((x - half) / lane_length_m, along); i <= place_of((x + half) / lane_length_m, along); ++i) {
      const double from = lane_length_m * static_cast<double>(i);
      if (x + half < from || x - half > from + lane_length_m) continue;
      for (std::size_t j = place_of((y - reach) / w, across); j <= place_of((y + reach) / w, across); ++j) {
        const Meeting m = meeting_of(swath, y - w * (static_cast<double>(j) + 0.5), r.diameter_m, height);
        if (m == Meeting::stops_wheel || m == Meeting::stops_body) stopped[i * across + j] = 1;
      }
    }
  }
  out.lanes = stopped.size();
  out.clear_lanes = static_cast<std::size_t>(std::count(stopped.begin(), stopped.end(), 0));
  if (out.lanes > 0) out.clear_interval = math::clopper_pearson(out.clear_lanes, out.lanes);
  return out;
}

void check_rocks(const std::vector<Rock>& rocks, const Plot& plot, const base::Place& place, base::Problems& problems) {
  const auto refuse = [&](std::string key, const char* what, std::string value, const char* bound) {
    base::Place at = place;
    at.key += (at.key.empty() ? "" : ".") + std::move(key);
    problems.refuse({.place = at, .what = what, .value = std::move(value), .bound = bound});
  };
  if (!(plot.x1_m > plot.x0_m && plot.y1_m > plot.y0_m && plot.area_m2() < 1e12)) refuse("plot", "the mapped area has no extent", fmt::format("{:g} m^2", plot.area_m2()), "x and y of the far corner above those of the near one");
  for (std::size_t k = 0; k < rocks.size(); ++k) {
    const Rock& r = rocks[k];
    const std::string key = fmt::format("rock[{}]", k + 1);
    if (!(r.diameter_m > 0 && r.diameter_m < 1e3)) refuse(key, "not a diameter", fmt::format("{:g} m", r.diameter_m), "above 0, below 1000 m");
    if (r.height_m && !(*r.height_m > 0 && *r.height_m < 1e3)) refuse(key, "not a height", fmt::format("{:g} m", *r.height_m), "above 0, below 1000 m");
    if (!(r.x_m >= plot.x0_m && r.x_m <= plot.x1_m && r.y_m >= plot.y0_m && r.y_m <= plot.y1_m)) refuse(key, "lies outside the mapped area", fmt::format("({:g}, {:g}) m", r.x_m, r.y_m), "inside it");
  }
}

}  // namespace hardpan::performance
