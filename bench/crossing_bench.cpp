// SPDX-License-Identifier: Apache-2.0
// A three-body vehicle over a profile of 200 points: processor time of a whole crossing on wheels that flatten and on rigid ones, and the friction at its poses
// beside SciPy's linprog, which solves each pose body by body with the joint forces as unknowns. The values must agree to 1e-5.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <random>
#include <string>

#include "beside_scipy.hpp"
#include "performance/obstacle_view.hpp"

namespace {

using namespace hardpan::performance;

// Invented: six wheels, an axle a body, elastic joints.
ProfileVehicle three_bodies(bool soft) {
  ProfileVehicle v;
  for (std::size_t k = 0; k < 3; ++k) {
    v.axles.push_back({.x_m = 0.8 * static_cast<double>(k), .radius_m = 0.25, .centre_height_m = 0.25, .wheels = 2, .body = k});
    v.bodies.push_back({.cg_x_m = 0.8 * static_cast<double>(k), .cg_z_m = 0.4, .weight_n = 1000});
    if (soft) v.axles.back().deflection_load = {{0, 0}, {0.02, 1000}};
  }
  v.joints = {{.x_m = 0.4, .z_m = 0.3, .stiffness_n_m_per_rad = 800}, {.x_m = 1.2, .z_m = 0.3, .stiffness_n_m_per_rad = 800}};
  v.cg_x_m = 0.8;
  v.cg_z_m = 0.4;
  v.weight_n = 3000;
  return v;
}
// Invented: two axles under the body behind, one under each of the two ahead, free joints: bodies and contacts determine each other.
ProfileVehicle hinged() {
  ProfileVehicle v = three_bodies(false);
  v.axles[1].body = 0;
  v.axles[2].body = 1;
  v.axles.push_back({.x_m = 2.4, .radius_m = 0.25, .centre_height_m = 0.25, .wheels = 2, .body = 2});
  v.bodies = {{.cg_x_m = 0.4, .cg_z_m = 0.4, .weight_n = 1500}, {.cg_x_m = 1.45, .cg_z_m = 0.4, .weight_n = 800}, {.cg_x_m = 2.25, .cg_z_m = 0.4, .weight_n = 700}};
  v.joints = {{.x_m = 1.1, .z_m = 0.3}, {.x_m = 1.9, .z_m = 0.3}};
  v.cg_x_m = (1500 * 0.4 + 800 * 1.45 + 700 * 2.25) / 3000;
  return v;
}

// Invented: 200 points 50 mm apart, swells with roughness of so many millimetres on them.
Profile ground(double roughness_m) {
  std::mt19937_64 random(11);
  std::vector<ProfilePoint> points;
  for (int i = 0; i < 200; ++i) {
    const double x = 0.05 * i, rough = std::uniform_real_distribution<double>(-1, 1)(random);
    points.push_back({x, 0.12 * std::sin(1.7 * x) + roughness_m * (i == 0 || i == 199 ? 0 : rough)});
  }
  hardpan::base::Problems problems;
  return *Profile::from_points(points, {}, problems);
}

double seconds_of(const ProfileVehicle& v, const Profile& p, Crossing& out) {
  constexpr int kTimes = 5;
  const double start = bench::processor_seconds();
  for (int i = 0; i < kTimes; ++i) out = cross(v, p, {.friction = 0.8});
  return (bench::processor_seconds() - start) / kTimes;
}

// Up to 60 poses of a crossing by SciPy. False where they disagree.
bool beside_scipy(const ProfileVehicle& v, const Profile& p, double seconds_a_pose) {
  const Crossing c = cross(v, p, {.frames_every_m = kEveryPose_m});
  std::vector<double> ours;
  const auto theirs = bench::beside_scipy("crossing_linprog.py", "seconds_per_pose", [&](std::FILE* file) {
    for (std::size_t i = 0; i < c.frames.size(); i += std::max<std::size_t>(1, c.frames.size() / 60)) {
      const Frame& f = c.frames[i];
      if (!f.forces.solve.converged()) continue;
      ours.push_back(f.forces.friction);
      std::fprintf(file, "%zu,%zu", v.bodies.size(), v.axles.size());
      for (std::size_t b = 0; b < v.bodies.size(); ++b) {
        const ProfilePoint g = f.pose.body[b].at(v.bodies[b].cg_x_m, v.bodies[b].cg_z_m);
        std::fprintf(file, ",%.17g,%.17g,%.17g", g.x_m, g.z_m, v.bodies[b].weight_n);
      }
      for (std::size_t j = 0; j < v.joints.size(); ++j) {
        const ProfilePoint at = f.pose.body[j].at(v.joints[j].x_m, v.joints[j].z_m);
        std::fprintf(file, ",%.17g,%.17g", at.x_m, at.z_m);
      }
      for (std::size_t k = 0; k < v.axles.size(); ++k) {
        const WheelContact& w = f.pose.wheel[k];
        std::fprintf(file, ",%zu,%d,%.17g,%.17g,%.17g", v.axles[k].body, w.carries ? 1 : 0, w.point.x_m, w.point.z_m, w.slope_rad);
      }
      std::fputc('\n', file);
    }
    return ours.size();
  });
  if (!theirs || ours.empty()) return false;
  double worst = 0;
  for (std::size_t i = 0; i < ours.size(); ++i) worst = std::max(worst, std::abs(theirs->values[i] - ours[i]));
  std::printf("friction at %zu poses: linprog %.1f ms a pose, ours with the pose found %.0f us (%.0f x); largest difference %.1e\n", ours.size(), 1e3 * theirs->seconds, 1e6 * seconds_a_pose, theirs->seconds / seconds_a_pose, worst);
  return worst < 1e-5;
}

}  // namespace

int main() {
  bool good = true;
  for (const bool soft : {true, false}) {
    for (const double roughness_m : {0.01, 0.04}) {
      const ProfileVehicle v = three_bodies(soft);
      const Profile p = ground(roughness_m);
      Crossing c;
      const double seconds = seconds_of(v, p, c);
      std::printf("200 points, roughness +/- %.0f mm, %s wheels: %.1f ms of one processor (asked: tens), %d poses, %d drops, least friction %.4f, largest torque %.2f N m (%s)\n", 1e3 * roughness_m, soft ? "soft" : "rigid", 1e3 * seconds, c.poses,
                  c.drops, c.least_friction, c.largest_torque_n_m, hardpan::base::name(c.solve.status));
    }
  }
  const Profile p = ground(0.01);
  Crossing c;
  const double seconds = seconds_of(hinged(), p, c);
  good = beside_scipy(hinged(), p, seconds / c.poses) && good;
  return good ? 0 : 1;
}
