// SPDX-License-Identifier: Apache-2.0
// The steepest slope on 24 headings round over 200 possible soils (all invented): led from the best-estimate soil with the wheels of all soils rolling
// together, beside the same limits searched one slope and one soil at a time (a few soils, scaled up). Seconds and their ratio; the slopes must agree.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <numbers>

#include "performance/detail/slope_lanes.hpp"
#include "performance/slopes_over_soils.hpp"
#include "performance/test_carrier.hpp"

namespace {

using namespace hardpan;
using Clock = std::chrono::steady_clock;
double since(Clock::time_point begin) { return std::chrono::duration<double>(Clock::now() - begin).count(); }
double processor() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

}  // namespace

int main() {
  constexpr std::size_t kSoils = 200, kAlone = 8;
  constexpr double kDeg = std::numbers::pi / 180;
  vehicle::Vehicle v = performance::test::carrier(0.25);
  v.id = "bench";
  soil::SoilDistribution d;
  d.centre.bearing = soil::bekker(0.79, 102e3, 5301e3);
  d.centre.shear = soil::Shear{.cohesion_pa = 1300, .tan_phi = std::tan(31.1 * kDeg), .shear_modulus_m = 0.015};
  d.centre.density_kg_m3 = 1600;
  d.bearing_dof = 9;
  d.shear_dof = 8;
  const double sd[] = {0.05, 0.05, 0.02, 100, 0.01, 0.08};
  for (std::size_t i = 0; i < 6; ++i) {
    d.sampling[i][i] = sd[i] * sd[i];
    d.between_points[i][i] = 8 * sd[i] * sd[i];
  }
  const performance::Ground ground{.zone = "bench", .centre = d.centre, .distribution = d, .source = "invented"};
  base::Problems problems;
  auto placed = performance::place_vehicle(v, ground, {.gravity_m_s2 = 9.81, .seed = 1, .count = kSoils, .threads = 1}, {}, problems);
  if (!placed) return 1;
  const performance::HeadingQuestion question{.headings_rad = performance::evenly_round(24)};

  double busy = processor();
  const auto one = performance::slopes_over_soils(v, *placed, question, kSoils);
  const double t1 = processor() - busy;
  placed->plan.threads = 2;
  const auto begin = Clock::now();
  const auto two = performance::slopes_over_soils(v, *placed, question, kSoils);
  const double t2 = since(begin);

  busy = processor();
  double worst = 0;
  const performance::detail::HeadingBounds bounds[] = {performance::detail::working_bounds(question), performance::detail::largest_bounds(question)};
  for (std::size_t k = 0; k < kAlone; ++k) {
    const performance::OnSoil& on = placed->next_point[k];
    const performance::TurningMachine machines[] = {performance::turning_machine(v, on.plain, 9.81), performance::turning_machine(v, *on.sinking, 9.81)};
    for (std::size_t h = 0; h < question.headings_rad.size(); ++h) {
      for (std::size_t b = 0; b < 2; ++b) {
        double least = 10;
        for (const performance::TurningMachine& m : machines) least = std::min(least, performance::detail::search_limit(m, question.headings_rad[h], bounds[b]).reach.gradient_rad);
        worst = std::max(worst, std::abs((b == 0 ? one.headings[h].working : one.headings[h].largest).draws_rad[k] - least));
      }
    }
  }
  const double alone = (processor() - busy) * kSoils / kAlone;
  for (std::size_t h = 0; h < one.headings.size(); ++h) {
    if (one.headings[h].working.draws_rad != two.headings[h].working.draws_rad) return 1;
  }
  std::printf("slopes on 24 headings, 200 possible soils, without and with slip sinkage: one thread %.2f s of processor, two threads %.2f s by the clock; one soil and slope at a time %.1f s on one "
              "(%.0f x); %zu of %zu limits searched by themselves; largest difference %.3f deg\n", t1, t2, alone, alone / t1, one.by_itself, one.limits, worst / kDeg);
  return worst < 0.05 * kDeg ? 0 : 1;
}
