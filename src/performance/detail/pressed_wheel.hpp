// SPDX-License-Identifier: Apache-2.0
// A round wheel pressed into hard ground of any outline: what it pushes back with, from the area the ground takes of its disc.
//
// One pressure acts all over the patch, and it is a function of the displaced area alone; on flat ground it gives the load over deflection of the
// file exactly. The force is then the pressure times the chord between the ends of the patch, square to it, through the wheel's centre; several
// patches (the edges of a gap) add. Friction is mobilised evenly: the traction lies along the chord, at most mu times the force, and turns about the
// centre with the arm 2 (fan of the patch seen from the centre) / chord. Left out: stiffness of the tread in bending, hysteresis, wheels pressed deeper
// than half their radius (still finite). docs/theory/obstacles.md eqs. 13 to 16.
//
//   const Press p = pressed(ground, {0, 0.29}, 0.3, Law(table));
//   if (p.area_m2 > 0) say(p.force.x_m, p.force.z_m);
#pragma once

#include <array>

#include "performance/detail/rolling.hpp"

namespace hardpan::performance::detail {

// Load over deflection on flat ground, piecewise linear; the last slope goes on.
class Law {
 public:
  static constexpr std::size_t kMostKnees = 32;
  Law() = default;
  explicit Law(double stiffness_n_per_m) : count_(2), f_{0, 1}, load_{0, stiffness_n_per_m}, work_{0, 0.5 * stiffness_n_per_m} {}
  // Deflection [m] and load [N], rising from (0, 0); at most kMostKnees.
  explicit Law(const std::vector<std::pair<double, double>>& deflection_load);
  struct At {
    double load = 0, slope = 0, work = 0;   // N, N/m, N m
  };
  [[nodiscard]] At at(double deflection_m) const;
  [[nodiscard]] double deflection_m(double load_n) const;
  [[nodiscard]] double last_m() const { return f_[count_ - 1]; }

 private:
  std::size_t count_ = 0;
  std::array<double, kMostKnees> f_{}, load_{}, work_{};
};

struct Press {
  double area_m2 = 0;              // of the disc in the ground; 0: clear of it
  double deflection_m = 0;         // with the same area on flat ground
  double work_n_m = 0;             // stored
  double fx_n = 0, fz_n = 0;       // on the wheel
  double kxx = 0, kxz = 0, kzz = 0;// fall of the force with the centre's way, N/m (symmetric)
  double nx = 0, nz = 1;           // direction of the force
  double arm_m = 0;                // of the traction about the centre
  double normal_n = 0;
  bool between = false;            // on two patches, or over an inward corner: the force is on its way from one piece of ground to another
  int feature = -1;                // as in WheelContact, of the deepest ground point
};
[[nodiscard]] Press pressed(const Ground& ground, const ProfilePoint& centre, double radius, const Law& law);

}  // namespace hardpan::performance::detail
