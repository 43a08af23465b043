// SPDX-License-Identifier: Apache-2.0
// Batteries placed so that six wheels are loaded most evenly, beside SciPy's minimize on the same sum of squares. The largest wheel load must agree to 0.1 % of the mean one.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <random>
#include <string>
#include <vector>

#include "beside_scipy.hpp"
#include "performance/placement.hpp"

namespace {

using namespace hardpan;

constexpr double kGravity = 9.81;
constexpr std::size_t kVehicles = 40;

// Invented: three axles, the centre of gravity off both middles, three masses that may move fore and aft and sideways.
vehicle::Vehicle chance_vehicle(std::mt19937_64& random) {
  const auto between = [&](double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(random); };
  vehicle::Vehicle v;
  v.id = "bench";
  v.bodies = {{.mass_kg = between(300, 600), .cg_x_m = between(0.7, 1.7), .cg_y_m = between(-0.08, 0.08), .cg_z_m = 0.5}};
  for (std::size_t k = 0; k < 3; ++k) {
    vehicle::Axle a;
    a.name = std::to_string(k);
    a.position_x_m = 1.2 * static_cast<double>(k) + (k == 1 ? between(-0.2, 0.2) : 0);
    a.track_width_m = between(0.9, 1.3);
    a.wheel = {.radius_m = 0.3, .width_m = 0.2};
    v.axles.push_back(a);
  }
  for (int i = 0; i < 3; ++i) {
    const double x = between(0.2, 2.2);
    v.payload.push_back({.name = "battery " + std::to_string(i), .mass_kg = between(10, 60), .x_m = x, .y_m = 0, .z_m = 0.4,
                         .x_allowed = vehicle::Span{x - between(0, 0.4), x + between(0, 0.4)}, .y_allowed = vehicle::Span{-0.3, between(0, 0.3)}});
  }
  return v;
}

void write(std::FILE* file, const vehicle::Vehicle& v) {
  const vehicle::Body& b = v.bodies.front();
  std::fprintf(file, "%zu,%zu,%.17g,%.17g,%.17g", v.axles.size(), v.payload.size(), b.mass_kg, b.cg_x_m, b.cg_y_m);
  for (const vehicle::Axle& a : v.axles) std::fprintf(file, ",%.17g,%.17g", a.position_x_m, a.track_width_m);
  for (const vehicle::Payload& p : v.payload) std::fprintf(file, ",%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g", p.mass_kg, p.x_m, p.y_m, p.x_allowed->lo_m, p.x_allowed->hi_m, p.y_allowed->lo_m, p.y_allowed->hi_m);
  std::fputc('\n', file);
}

}  // namespace

int main() {
  std::mt19937_64 random(5);
  std::vector<vehicle::Vehicle> vehicles;
  for (std::size_t i = 0; i < kVehicles; ++i) vehicles.push_back(chance_vehicle(random));
  std::vector<double> ours;
  const double start = bench::processor_seconds();
  for (const vehicle::Vehicle& v : vehicles) {
    base::Problems problems;
    const performance::Trade t = performance::placement_trade(v, kGravity, std::nullopt, problems);
    ours.push_back(t.rows.back().largest_share);
  }
  const double ours_s = (bench::processor_seconds() - start) / static_cast<double>(kVehicles);

  const auto theirs = bench::beside_scipy("placement_minimize.py", "seconds_per_vehicle", [&](std::FILE* file) {
    for (const vehicle::Vehicle& v : vehicles) write(file, v);
    return vehicles.size();
  });
  if (!theirs) return 1;
  double worst = 0;
  for (std::size_t i = 0; i < ours.size(); ++i) worst = std::max(worst, std::abs(theirs->values[i] - ours[i]));
  std::printf("%zu vehicles, three masses each: minimize %.1f ms, ours %.3f ms (%.0f x); largest wheel load over the mean one, largest difference %.1e\n", kVehicles, 1e3 * theirs->seconds, 1e3 * ours_s, theirs->seconds / ours_s, worst);
  return worst < 1e-3 ? 0 : 1;
}
