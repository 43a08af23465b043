// SPDX-License-Identifier: Apache-2.0
// libFuzzer: ground in side view and what crosses it. Bytes that begin with 'x' are a sheet of points, read as such and crossed by a fixed vehicle; any others
// are a vehicle of one to three bodies and points of a profile, number by number. Whatever they are, the crossing ends, and with a verdict that its numbers bear
// out: nothing that was not solved passes, and what passes asks no more friction than was given.
#include <sys/mman.h>
#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <source_location>
#include <string>
#include <vector>

#include "formats/profile_file.hpp"
#include "performance/crossing.hpp"

namespace {

using namespace hardpan;
using namespace hardpan::performance;

void require(bool holds, std::source_location at = std::source_location::current()) {
  if (holds) return;
  std::fprintf(stderr, "line %u does not hold\n", static_cast<unsigned>(at.line()));
  std::abort();
}

struct Bytes {
  const std::uint8_t* at;
  const std::uint8_t* end;
  [[nodiscard]] bool left() const { return at < end; }
  std::uint8_t next() { return left() ? *at++ : 0; }
  double between(double low, double high) { return low + (high - low) * (next() + 256.0 * next()) / 65535; }
};

ProfileVehicle any_vehicle(Bytes& b) {
  ProfileVehicle v;
  const std::size_t axles = 2 + b.next() % 3;
  const unsigned kind = b.next();
  const bool chain = kind & 1, soft = kind & 2, limited = kind & 4;
  double x = 0;
  for (std::size_t k = 0; k < axles; ++k) {
    const double radius = b.between(0.1, 0.5);
    if (k > 0) x += v.axles.back().radius_m + radius + b.between(0.01, 1);
    ProfileAxle a{.x_m = x, .radius_m = radius, .centre_height_m = radius, .driven = k == 0 || b.next() % 4 != 0, .body = chain ? k : 0};
    if (soft) a.deflection_load = {{0, 0}, {0.5 * radius, b.between(1e3, 1e5)}};
    if (limited) a.torque_limit_n_m = b.between(1, 2000);
    v.axles.push_back(a);
    if (!chain) continue;
    v.bodies.push_back({.cg_x_m = x + b.between(-0.02, 0.02), .cg_z_m = b.between(0.1, 1), .weight_n = b.between(50, 5000)});
    if (k > 0) v.joints.push_back({.x_m = x - radius, .z_m = b.between(0.05, 0.8), .stiffness_n_m_per_rad = b.between(3000, 1e5)});
  }
  v.cg_x_m = x * b.between(0.1, 0.9);
  v.cg_z_m = b.between(0.1, 1.5);
  v.weight_n = b.between(100, 20000);
  if (kind & 8) v.underbody = {{0, b.between(0.01, 0.5)}, {x, b.between(0.01, 0.5)}};
  if (!chain) return v;
  v.weight_n = v.cg_x_m = v.cg_z_m = 0;
  for (const ProfileBody& body : v.bodies) v.weight_n += body.weight_n;
  for (const ProfileBody& body : v.bodies) {
    v.cg_x_m += body.weight_n / v.weight_n * body.cg_x_m;
    v.cg_z_m += body.weight_n / v.weight_n * body.cg_z_m;
  }
  v.underbody.clear();
  return v;
}

void try_crossing(const ProfileVehicle& v, const Profile& ground, const CrossingSettings& settings) {
  const Crossing c = cross(v, ground, settings);
  if (!c.solve.converged()) {
    require(!c.passes);
    return;
  }
  require(c.passes != c.stopped_by.has_value());
  if (!c.passes) require(std::isfinite(c.stopped_at_m));
  if (c.passes) require(c.least_friction >= 0 && c.least_friction <= settings.friction.value_or(settings.most_friction) + 1e-6);
  require(c.drops >= 0 && c.deepest_drop_m >= 0 && (c.poses > 0 || !c.passes));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  // A crossing takes 0.02 of the smallest wheel a pose otherwise; under sanitizers that is a minute for a long profile.
  constexpr double kStride = 0.2;
  if (size > 0 && data[0] == 'x') {
    static const int memory = ::memfd_create("fuzz", 0);
    require(memory >= 0 && ::ftruncate(memory, 0) == 0);
    require(::pwrite(memory, data, size, 0) == static_cast<ssize_t>(size));
    base::Problems problems;
    const auto ground = formats::read_profile("/proc/self/fd/" + std::to_string(memory), "fuzz.csv", problems);
    require(ground || problems.refused());
    for (const base::Problem& p : problems.list()) require(!p.text().empty());
    if (!ground || ground->points().size() > 40 || !(ground->points().back().x_m - ground->points().front().x_m < 20)) return 0;
    const ProfileVehicle v{.axles = {{.x_m = 0, .radius_m = 0.3, .centre_height_m = 0.3}, {.x_m = 1.3, .radius_m = 0.3, .centre_height_m = 0.3}},
                           .cg_x_m = 0.62, .cg_z_m = 0.55, .weight_n = 4120};
    try_crossing(v, *ground, {.friction = 0.8, .step_share = kStride});
    return 0;
  }
  Bytes b{data, data + size};
  (void)b.next();
  const ProfileVehicle v = any_vehicle(b);
  const unsigned how = b.next();
  CrossingSettings settings{.split = how & 1 ? TorqueSplit::equal : TorqueSplit::best, .descents_held = (how & 2) == 0, .step_share = kStride};
  if (how & 4) settings.friction = b.between(0.01, 2);
  std::vector<ProfilePoint> points{{0, 0}};
  while (b.left() && points.size() < 12) points.push_back({points.back().x_m + std::max(0.0, b.between(-0.2, 0.8)), points.back().z_m + b.between(-0.4, 0.4)});
  base::Problems problems;
  const auto ground = Profile::from_points(points, {}, problems);
  require(ground.has_value() != problems.refused());
  if (ground) try_crossing(v, *ground, settings);
  return 0;
}
