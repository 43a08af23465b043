// SPDX-License-Identifier: Apache-2.0
// The maximum gradient at the working slip of a four-wheel vehicle: on 10,000 possible soils with one thread, two threads and the plain kernel beside
// the vector one; on invented soils one at a time and together, beside SciPy on one core. Prints seconds and ratios; the values must agree.
#include <chrono>
#include <cmath>
#include <cstdio>
#include <random>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "beside_scipy.hpp"
#include "performance/possible_runs.hpp"
#include "performance/test_carrier.hpp"

namespace {

using namespace hardpan;

double seconds_of(const performance::Placed& placed, performance::Outcome& out) {
  const auto begin = std::chrono::steady_clock::now();
  out = performance::gradient_outcome(placed, 0.2);
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

// The same equations by SciPy, 24 soils whose pull still rises at this slip. False where they disagree by more than 1e-6 rad.
bool beside_scipy() {
  constexpr std::size_t kOurs = 4096, kReference = 24;
  constexpr double kSlip = 0.2;
  std::mt19937_64 random(7);
  const auto between = [&](double lo, double hi) { return lo + (hi - lo) * std::uniform_real_distribution<double>(0, 1)(random); };
  const vehicle::Vehicle v = performance::test::carrier();
  std::vector<performance::OnSoil> on;
  std::string cases;
  for (std::size_t i = 0; i < kOurs; ++i) {
    soil::Soil s;
    const double k = between(0.6e6, 2e6), n = between(0.8, 1.2), c = between(200, 1500), tan_phi = between(0.5, 0.75), modulus = between(0.02, 0.04);
    s.bearing = soil::bekker(n, 0, k);
    s.shear = soil::Shear{.cohesion_pa = c, .tan_phi = tan_phi, .shear_modulus_m = modulus};
    base::Problems problems;
    const auto placed = performance::on_soil(v, s, 9.81, soil::SlipSinkage::none, {}, problems);
    if (!placed) return false;
    on.push_back(*placed);
    const contact::Contact& wheel = placed->plain.axle[0].contact;
    if (i < kReference) cases += fmt::format("{:.17g},{:.17g},{:.17g},{:.17g},{:.17g},{:.17g},{:.17g},{:.17g}\n", k, n, c, tan_phi, modulus, wheel.c1, wheel.c2, kSlip);
  }
  performance::Workspace space;
  std::vector<performance::Gradient> alone(kOurs), together(kOurs);
  double start = bench::processor_seconds();
  for (std::size_t i = 0; i < kOurs; ++i) performance::gradients_at_slip({&on[i], 1}, kSlip, {&alone[i], 1}, space);
  const double one = (bench::processor_seconds() - start) / kOurs;
  start = bench::processor_seconds();
  constexpr std::size_t kChunk = 64;
  for (std::size_t i = 0; i < kOurs; i += kChunk) performance::gradients_at_slip({&on[i], kChunk}, kSlip, {&together[i], kChunk}, space);
  const double many = (bench::processor_seconds() - start) / kOurs;
  const auto scipy = bench::beside_scipy("gradient_scipy.py", "seconds_per_soil", [&](std::FILE* file) {
    std::fputs(cases.c_str(), file);
    return kReference;
  });
  if (!scipy) return false;
  double worst = 0;
  for (std::size_t i = 0; i < kReference; ++i) worst = std::max({worst, std::abs(scipy->values[i] - alone[i].gradient_rad), std::abs(scipy->values[i] - together[i].gradient_rad)});
  std::printf("gradient at %.0f %% slip, one core: SciPy %.1f ms a soil (%zu soils); one at a time %.1f us (%.0f x, asked 200); 64 together %.1f us (%.0f x, asked 1000); largest difference %.1e rad\n", 100 * kSlip, 1e3 * scipy->seconds,
              kReference, 1e6 * one, scipy->seconds / one, 1e6 * many, scipy->seconds / many, worst);
  return worst < 1e-6;
}

}  // namespace

int main() {
  if (!beside_scipy()) return 1;
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
