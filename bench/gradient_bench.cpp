// SPDX-License-Identifier: Apache-2.0
// The maximum gradient at the working slip of a four-wheel vehicle on 10,000 possible soils (all invented):
// one thread, two threads, and the plain kernel beside the vector one. Prints seconds and ratios; the values must agree.
#include <chrono>
#include <cmath>
#include <cstdio>

#include "performance/possible_runs.hpp"
#include "performance/test_carrier.hpp"

namespace {

using namespace hardpan;

double seconds_of(const performance::Placed& placed, performance::Outcome& out) {
  const auto begin = std::chrono::steady_clock::now();
  out = performance::gradient_outcome(placed, 0.2);
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

}  // namespace

int main() {
  vehicle::Vehicle v = performance::test::carrier();
  v.id = "bench";
  soil::SoilDistribution d;
  d.centre.bearing = soil::bekker(1.0, 2000, 1.2e6);
  d.centre.shear = soil::Shear{.cohesion_pa = 500, .tan_phi = 0.62, .shear_modulus_m = 0.015};
  d.bearing_dof = 9;
  d.shear_dof = 8;
  const double sd[] = {0.05, 0.05, 0.02, 60, 0.01, 0.08};
  for (std::size_t i = 0; i < 6; ++i) {
    d.sampling[i][i] = sd[i] * sd[i];
    d.between_points[i][i] = 8 * sd[i] * sd[i];
  }
  const performance::Ground ground{.zone = "bench", .centre = d.centre, .distribution = d, .source = "invented"};
  base::Problems problems;
  performance::DrawPlan plan{.gravity_m_s2 = 9.81, .seed = 1, .count = 5000, .threads = 1};
  auto placed = performance::place_vehicle(v, ground, plan, {}, problems);  // 5,000 average and 5,000 next points
  if (!placed) return 1;
  performance::Outcome one, two, plain;
  const double t1 = seconds_of(*placed, one);
  placed->plan.threads = 2;
  const double t2 = seconds_of(*placed, two);
  placed->plan.threads = 1;
  placed->plan.target = contact::SimdTarget::plain;
  const double tp = seconds_of(*placed, plain);
  double worst = 0;
  for (std::size_t k = 0; k < one.next_point.size(); ++k) {
    if (one.next_point[k] != two.next_point[k]) return 1;
    worst = std::max(worst, std::abs(one.next_point[k] - plain.next_point[k]));
  }
  std::printf("maximum gradient, 10000 possible soils: one thread %.2f s, two threads %.2f s (ratio %.2f), plain kernel %.2f s (%.1f x); largest "
              "difference of the kernels %.1e rad\n", t1, t2, t1 / t2, tp, tp / t1, worst);
  return worst < 1e-7 ? 0 : 1;
}
