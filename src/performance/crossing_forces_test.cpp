// SPDX-License-Identifier: Apache-2.0
#include "performance/crossing_forces.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>

namespace hardpan::performance {
namespace {

constexpr double kDeg = std::numbers::pi / 180;

ProfileVehicle two_axles(double wheelbase, double cg_ahead_of_rear, double cg_height, double weight, double radius, bool rear_driven = true, bool front_driven = true) {
  return {.axles = {{.x_m = 0, .radius_m = radius, .centre_height_m = radius, .driven = rear_driven},
                    {.x_m = wheelbase, .radius_m = radius, .centre_height_m = radius, .driven = front_driven}},
          .cg_x_m = cg_ahead_of_rear, .cg_z_m = cg_height, .weight_n = weight};
}

Profile slope(double angle) {
  base::Problems problems;
  return *Profile::from_points({{0, 0}, {std::cos(angle), std::sin(angle)}}, {}, problems);
}

Pose only_pose(const ProfileVehicle& v, const Profile& ground, double travel) {
  const auto poses = resting_poses(v, ground, travel);
  EXPECT_EQ(poses.size(), 1U);
  return poses.at(0);
}

// WE-02, "steepest grade of a car with rear, front and all-wheel drive" (seen): friction 0.5 suffices up to tan = 7/39, 72/233, 0.5.
TEST(LeastFriction, OfTheSteepestGradesOfACarIsTheFrictionTheyWereComputedWith) {
  const double wheelbase = 2.675, cg = wheelbase - 0.875;
  const struct {
    bool rear, front;
    double grade;
  } rows[] = {{true, false, 7.0 / 39}, {false, true, 72.0 / 233}, {true, true, 0.5}};
  for (const auto& row : rows) {
    const ProfileVehicle v = two_axles(wheelbase, cg, 0.475, 15000, 0.3, row.rear, row.front);
    const Forces f = least_friction(v, only_pose(v, slope(std::atan(row.grade)), 0), TorqueSplit::best, 3);
    ASSERT_TRUE(f.solve.converged());
    EXPECT_NEAR(f.friction, 0.5, 1e-6);   // the program tells friction to 1e-10; slopes within 1e-5 rad count as one
  }
}

// WE-03, "vehicle standing on a slope" (inputs seen, answer derived): reactions 32,514 and 15,791 N (30 N), overturns at 33.69 deg.
TEST(LeastFriction, GivesTheAxleReactionsOnASlopeAndTipsWhereTheTextbookSays) {
  const ProfileVehicle v = two_axles(2.25, 1.0, 1.5, 49050, 0.3);
  const Forces f = least_friction(v, only_pose(v, slope(10 * kDeg), 0), TorqueSplit::best, 3);
  ASSERT_TRUE(f.solve.converged());
  EXPECT_NEAR(f.axle[0].normal_n, 32514, 30);
  EXPECT_NEAR(f.axle[1].normal_n, 15791, 30);
  EXPECT_NEAR(f.friction, std::tan(10 * kDeg), 1e-6);
  EXPECT_TRUE(least_friction(v, only_pose(v, slope(33.6 * kDeg), 0), TorqueSplit::best, 3).solve.converged());
  const Forces over = least_friction(v, only_pose(v, slope(33.8 * kDeg), 0), TorqueSplit::best, 3);
  EXPECT_EQ(over.solve.status, base::SolveStatus::no_solution);
  EXPECT_TRUE(over.tips);
  EXPECT_TRUE(std::isnan(over.friction));
}

// WE-16, "horizontal axle force to lift a wheel over a step" (inputs seen, answer derived): 29.46 N for 25 N on a wheel of 0.34 m at 0.12 m.
// The front wheel is pushed by the rear one, whose traction is that force; the load is the vertical part of the corner's.
TEST(LeastFriction, PushingAnUndrivenWheelOverAStepTakesTheTextbooksForce) {
  const ProfileVehicle v = two_axles(1.5, 0.6, 0.4, 60, 0.34, true, false);
  const double d = std::sqrt(2 * 0.34 * 0.12 - 0.12 * 0.12);
  const Forces f = least_friction(v, only_pose(v, Profile::step(0.12), -d - 0.75 + 1e-9), TorqueSplit::best, 20);
  ASSERT_TRUE(f.solve.converged());
  const double load = f.axle[1].normal_n * (0.34 - 0.12) / 0.34;
  EXPECT_NEAR(f.axle[0].traction_n / load * 25, 29.46, 0.03);
  EXPECT_NEAR(f.axle[0].torque_n_m, f.axle[0].traction_n * 0.34, 1e-9);
  EXPECT_EQ(f.axle[1].traction_n, 0);
}

// One driven wheel against a step: mu = sqrt(2 r h - h^2) / (r - h) whatever it carries (METHODS 4.6).
TEST(LeastFriction, OfOneDrivenWheelAtAStepIsTheClosedForm) {
  for (const double h : {0.02, 0.1, 0.2}) {
    const ProfileVehicle v = two_axles(1.3, 0.62, 0.55, 4120, 0.3, false, true);
    const double d = std::sqrt(2 * 0.3 * h - h * h);
    const Forces f = least_friction(v, only_pose(v, Profile::step(h), -d - 0.65 + 1e-10), TorqueSplit::best, 20);
    ASSERT_TRUE(f.solve.converged());
    EXPECT_NEAR(f.friction, d / (0.3 - h), 1e-7 * (1 + f.friction));
  }
}

// A second way for two contacts: the balance leaves one number free, the traction of the front wheel; the largest |T| / N over it is
// quasi-convex where both wheels press, so scanning and halving find its least.
struct Direct {
  double normal[2], traction[2];
  [[nodiscard]] double ratio() const {
    if (!(normal[0] > 0 && normal[1] > 0)) return std::numeric_limits<double>::infinity();
    return std::max(std::abs(traction[0]) / normal[0], std::abs(traction[1]) / normal[1]);
  }
};
Direct direct(const ProfileVehicle& v, const Pose& p, double front_traction) {
  // Columns: N rear, N front, T rear; the front traction on the right. Cramer's rule.
  double column[4][3];
  for (int k = 0; k < 2; ++k) {
    const WheelContact& w = p.wheel[static_cast<std::size_t>(k)];
    const double nx = -std::sin(w.slope_rad), nz = std::cos(w.slope_rad), x = w.point.x_m - p.cg.x_m, z = w.point.z_m - p.cg.z_m;
    const double n[3] = {nx, nz, x * nz - z * nx}, t[3] = {nz, -nx, x * -nx - z * nz};
    std::copy(n, n + 3, column[k]);
    std::copy(t, t + 3, column[2 + k]);
  }
  double right[3] = {0, v.weight_n, 0};
  for (int i = 0; i < 3; ++i) right[i] -= front_traction * column[3][i];
  const auto det = [](const double* a, const double* b, const double* c) {
    return a[0] * (b[1] * c[2] - b[2] * c[1]) - b[0] * (a[1] * c[2] - a[2] * c[1]) + c[0] * (a[1] * b[2] - a[2] * b[1]);
  };
  const double all = det(column[0], column[1], column[2]);
  return {{det(right, column[1], column[2]) / all, det(column[0], right, column[2]) / all}, {det(column[0], column[1], right) / all, front_traction}};
}
double least_ratio(const ProfileVehicle& v, const Pose& p) {
  double best = std::numeric_limits<double>::infinity(), at = 0, step = v.weight_n / 200;
  for (int i = -800; i <= 800; ++i) {
    const double r = direct(v, p, i * step).ratio();
    if (r < best) {
      best = r;
      at = i * step;
    }
  }
  for (; step > 1e-12 * v.weight_n; step *= 0.5) {
    for (const double to : {at - step, at + step}) {
      const double r = direct(v, p, to).ratio();
      if (r < best) {
        best = r;
        at = to;
      }
    }
  }
  return best;
}

RC_GTEST_PROP(LeastFriction, OfTwoDrivenAxlesIsTheLeastOverEveryTraction, ()) {
  const ProfileVehicle v = two_axles(1.3, *rc::gen::inRange(30, 100) / 100.0, *rc::gen::inRange(30, 90) / 100.0, 4120, 0.3);
  const double height = *rc::gen::inRange(2, 24) / 100.0, travel = *rc::gen::inRange(-100, 60) / 100.0;
  for (const Pose& p : resting_poses(v, Profile::step(height), travel)) {
    const Forces f = least_friction(v, p, TorqueSplit::best, 3);
    const double other = least_ratio(v, p);
    if (!f.solve.converged()) {
      RC_ASSERT(f.solve.status == base::SolveStatus::no_solution);
      RC_ASSERT(other > 3 - 1e-6);
      continue;
    }
    RC_ASSERT(std::abs(f.friction - other) <= 1e-5 * (1 + other));
    RC_ASSERT(f.solve.residual <= f.solve.tolerance);
    // With that friction the torque program finds a balance too, and one that asks no more torque than this one.
    const Forces t = least_torque(v, p, TorqueSplit::best, f.friction + 1e-6);
    RC_ASSERT(t.solve.converged());
    RC_ASSERT(t.torque_n_m <= f.torque_n_m + 1e-3);
    // Equal torques are one of the splits: never less friction.
    const Forces e = least_friction(v, p, TorqueSplit::equal, 50);
    if (e.solve.converged()) {
      RC_ASSERT(e.friction >= f.friction - 1e-6);
      RC_ASSERT(std::abs(e.axle[0].torque_n_m - e.axle[1].torque_n_m) <= 1e-6);
    }
  }
}

// Three axles on a slope: the body is rigid and the wheels equally stiff, so the loads lie on a straight line over x (least potential
// energy); by hand from N_k = c + t x_k with the sum and the moment about the ground under the rear wheel.
TEST(LeastFriction, SharesThreeContactsByStiffness) {
  ProfileVehicle v = two_axles(1, 1.2, 0.5, 6000, 0.25);
  v.axles.push_back({.x_m = 2.5, .radius_m = 0.25, .centre_height_m = 0.25});
  const double a = 8 * kDeg;
  const Forces f = least_friction(v, only_pose(v, slope(a), 0), TorqueSplit::best, 3);
  ASSERT_TRUE(f.solve.converged());
  const double load = 6000 * std::cos(a), moment = 6000 * (1.2 * std::cos(a) - 0.5 * std::sin(a)), s1 = 3.5, s2 = 1 + 6.25;
  const double tilt = (moment - load * s1 / 3) / (s2 - s1 * s1 / 3), mean = (load - tilt * s1) / 3;
  EXPECT_NEAR(f.axle[0].normal_n, mean, 1e-2);
  EXPECT_NEAR(f.axle[1].normal_n, mean + tilt, 1e-2);
  EXPECT_NEAR(f.axle[2].normal_n, mean + 2.5 * tilt, 1e-2);
  EXPECT_NEAR(f.friction, std::tan(a), 1e-6);
}

// Two opposite faces of a slot would let the wheels press without bound: the program ends all the same.
TEST(LeastFriction, WedgingDoesNotRunAway) {
  const ProfileVehicle v = two_axles(0.8, 0.4, 0.5, 1000, 0.2);
  base::Problems problems;
  const Profile slot = *Profile::from_points({{-2, 0}, {-0.6, 0}, {-0.45, -0.4}, {0.45, -0.4}, {0.6, 0}, {2, 0}}, {}, problems);
  for (const Pose& p : resting_poses(v, slot, 0)) {
    const Forces f = least_friction(v, p, TorqueSplit::best, 50);
    EXPECT_TRUE(f.solve.converged() || f.solve.status == base::SolveStatus::no_solution) << base::name(f.solve.status);
    if (f.solve.converged()) {
      EXPECT_LE(f.axle[0].normal_n + f.axle[1].normal_n, 10 * 1000 * (1 + 1e-9));
    }
  }
}

TEST(LeastTorque, CountsInSharesOfUnequalLimits) {
  ProfileVehicle v = two_axles(1.3, 0.65, 0.5, 1000, 0.3);
  v.axles[0].torque_limit_n_m = 60;
  v.axles[1].torque_limit_n_m = 20;
  const Forces f = least_torque(v, only_pose(v, slope(10 * kDeg), 0), TorqueSplit::best, 1);
  ASSERT_TRUE(f.solve.converged());
  const double torque = 1000 * std::sin(10 * kDeg) * 0.3;   // shared 3 to 1
  EXPECT_NEAR(f.axle[0].torque_n_m, 0.75 * torque, 1e-3);
  EXPECT_NEAR(f.axle[1].torque_n_m, 0.25 * torque, 1e-3);
  EXPECT_NEAR(f.torque_share, torque / 80, 1e-5);
  EXPECT_EQ(least_torque(v, only_pose(v, slope(10 * kDeg), 0), TorqueSplit::best, 0.1).solve.status, base::SolveStatus::no_solution);
}

}  // namespace
}  // namespace hardpan::performance
