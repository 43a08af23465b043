// SPDX-License-Identifier: Apache-2.0
// Invented vehicles of several bodies that tests of this module share.
#pragma once

#include <random>
#include <string>

#include "performance/test_carrier.hpp"

namespace hardpan::performance::test {

// The carrier ahead of a trailer of one axle whose centre of gravity lies right over it: the joint carries none of it.
inline vehicle::Vehicle with_trailer(vehicle::Freedom roll, vehicle::Freedom pitch = vehicle::Freedom::free) {
  vehicle::Vehicle v = carrier();
  for (auto& a : v.axles) a.body = 1, a.position_x_m += 1.5;
  vehicle::Axle trailer = v.axles[0];
  trailer.name = "trailer";
  trailer.body = 0;
  trailer.position_x_m = 0;
  v.axles.insert(v.axles.begin(), trailer);
  v.bodies[0].name = "carrier";
  v.bodies[0].cg_x_m += 1.5;
  v.bodies.insert(v.bodies.begin(), vehicle::Body{.name = "trailer", .mass_kg = 100, .cg_x_m = 0, .cg_z_m = 0.8});
  v.joints = {{.x_m = 0.9, .z_m = 0.4, .pitch = {.freedom = pitch}, .roll = {.freedom = roll}}};
  return v;
}

// The carrier of three axles, and the same cut between the first two: masses and centres of gravity of the parts make up the whole.
inline vehicle::Vehicle long_carrier(double suspension_n_per_m = 0) {
  vehicle::Vehicle v = carrier();
  vehicle::Axle more = v.axles[1];
  more.name = "middle";
  more.position_x_m = 0.7;
  v.axles.insert(v.axles.begin() + 1, more);
  v.bodies[0].cg_y_m = 0.03;
  if (suspension_n_per_m > 0) {
    for (auto& a : v.axles) a.suspension_n_per_m = suspension_n_per_m;
  }
  return v;
}
inline vehicle::Vehicle cut(vehicle::Vehicle v, vehicle::JointAxis pitch = {}, vehicle::JointAxis roll = {}) {
  const vehicle::Body whole = v.bodies[0];
  vehicle::Body rear{.name = "rear part", .mass_kg = 0.4 * whole.mass_kg, .cg_x_m = 0.1, .cg_y_m = -0.02, .cg_z_m = 0.7}, front{.name = "front part", .mass_kg = 0.6 * whole.mass_kg};
  front.cg_x_m = (whole.cg_x_m - 0.4 * rear.cg_x_m) / 0.6;
  front.cg_y_m = (whole.cg_y_m - 0.4 * rear.cg_y_m) / 0.6;
  front.cg_z_m = (whole.cg_z_m - 0.4 * rear.cg_z_m) / 0.6;
  v.bodies = {rear, front};
  for (std::size_t k = 1; k < v.axles.size(); ++k) v.axles[k].body = 1;
  v.joints = {{.x_m = 0.45, .z_m = 0.35, .pitch = pitch, .roll = roll}};
  return v;
}

// Two or three bodies of one or two axles, joints free or rigid, at heights between the two. Not all stand.
inline vehicle::Vehicle random_chain(std::mt19937& random, double lowest_joint_m, double highest_joint_m) {
  const auto u = [&](double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(random); };
  const auto freedom = [&] { return u(0, 1) < 0.7 ? vehicle::Freedom::free : vehicle::Freedom::rigid; };
  vehicle::Vehicle v;
  v.id = "chain";
  v.bodies.clear();
  const std::size_t bodies = u(0, 1) < 0.6 ? 2 : 3;
  double x = 0;
  for (std::size_t b = 0; b < bodies; ++b) {
    const int axles = u(0, 1) < 0.5 ? 1 : 2;
    const double first = x;
    for (int a = 0; a < axles; ++a) {
      if (a > 0) x += u(0.7, 1.2);
      vehicle::Axle axle = carrier().axles[0];
      axle.name = "axle " + std::to_string(v.axles.size() + 1);
      axle.body = b;
      axle.position_x_m = x;
      axle.track_width_m = u(0.7, 1.4);
      v.axles.push_back(axle);
    }
    v.bodies.push_back({.name = "body " + std::to_string(b + 1), .mass_kg = u(80, 500), .cg_x_m = u(first - 0.2, x + 0.2), .cg_y_m = u(-0.1, 0.1), .cg_z_m = u(0.3, 0.9)});
    if (b + 1 == bodies) break;
    const double gap = u(0.8, 1.6);
    v.joints.push_back({.x_m = x + gap * u(0.2, 0.8), .z_m = u(lowest_joint_m, highest_joint_m), .pitch = {.freedom = freedom()}, .roll = {.freedom = freedom()}});
    x += gap;
  }
  return v;
}

}  // namespace hardpan::performance::test
