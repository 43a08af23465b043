// SPDX-License-Identifier: Apache-2.0
#include "performance/crossing_forces.hpp"

#include <glpk.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <vector>

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

// Whether a pose of three or more contacts, all standing, balances at this friction: GLPK, rows written from the pose anew in newtons and metres. Columns: the
// settlement of the body in x and z and its turn, then a traction each; a normal force is the wheels' number times how far the settlement presses them.
bool balances_by_glpk(const ProfileVehicle& v, const Pose& pose, double friction) {
  const std::unique_ptr<glp_prob, void (*)(glp_prob*)> lp(glp_create_prob(), glp_delete_prob);
  std::vector<std::size_t> standing;
  for (std::size_t k = 0; k < pose.axles; ++k) {
    if (pose.wheel[k].carries) standing.push_back(k);
  }
  const int columns = 3 + static_cast<int>(standing.size());
  glp_add_cols(lp.get(), columns);
  for (int j = 1; j <= columns; ++j) glp_set_col_bnds(lp.get(), j, GLP_FR, 0, 0);
  const auto row = [&](std::vector<double> values, int kind, double low, double high) {
    const int i = glp_add_rows(lp.get(), 1);
    std::vector<int> index(static_cast<std::size_t>(columns) + 1);
    for (int j = 0; j <= columns; ++j) index[static_cast<std::size_t>(j)] = j;
    values.insert(values.begin(), 0);
    glp_set_mat_row(lp.get(), i, columns, index.data(), values.data());
    glp_set_row_bnds(lp.get(), i, kind, low, high);
  };
  const std::size_t n = static_cast<std::size_t>(columns);
  std::vector<double> x(n), z(n), moment(n), press(n);
  for (std::size_t i = 0; i < standing.size(); ++i) {
    const WheelContact& w = pose.wheel[standing[i]];
    const double nx = -std::sin(w.slope_rad), nz = std::cos(w.slope_rad), share = v.axles[standing[i]].wheels;
    const std::vector<double> normal{share * nx, share * nz, share * ((w.centre.x_m - pose.travel_m) * nz - (w.centre.z_m - pose.height_m) * nx)};
    const double ax = w.point.x_m - pose.cg.x_m, az = w.point.z_m - pose.cg.z_m;
    std::vector<double> pulls(n), ahead(n), back(n);
    for (std::size_t j = 0; j < 3; ++j) {
      x[j] += nx * normal[j];
      z[j] += nz * normal[j];
      moment[j] += (ax * nz - az * nx) * normal[j];
      press[j] += normal[j];
      pulls[j] = normal[j];
      ahead[j] = back[j] = -friction * normal[j];
    }
    const std::size_t t = 3 + i;
    x[t] = nz;
    z[t] = -nx;
    moment[t] = ax * -nx - az * nz;
    ahead[t] = 1;
    back[t] = -1;
    row(pulls, GLP_LO, 0, 0);
    if (!v.axles[standing[i]].driven) ahead.assign(n, 0), ahead[t] = 1;
    row(ahead, v.axles[standing[i]].driven ? GLP_UP : GLP_FX, 0, 0);
    if (v.axles[standing[i]].driven) row(back, GLP_UP, 0, 0);
  }
  row(x, GLP_FX, 0, 0);
  row(z, GLP_FX, v.weight_n, v.weight_n);
  row(moment, GLP_FX, 0, 0);
  row(press, GLP_UP, 0, 10 * v.weight_n);
  glp_smcp settings;
  glp_init_smcp(&settings);
  settings.msg_lev = GLP_MSG_OFF;
  return glp_simplex(lp.get(), &settings) == 0 && glp_get_status(lp.get()) == GLP_OPT;
}

TEST(LeastFriction, OfThreeAndFourAxlesIsTheLeastAtWhichGlpkFindsABalance) {
  glp_term_out(GLP_OFF);
  int compared = 0;
  for (int i = 0; i < 60; ++i) {
    const auto number = [&](int which, double low, double high) { return low + (high - low) * std::fmod(0.5 + 0.6180339887498949 * (7 * i + which), 1.0); };
    ProfileVehicle v;
    const std::size_t axles = 3 + i % 2;
    for (std::size_t k = 0; k < axles; ++k) v.axles.push_back({.x_m = 0.8 * static_cast<double>(k), .radius_m = 0.25, .centre_height_m = 0.25, .driven = i % 3 > 0 || k + 1 < axles, .wheels = 2});
    v.cg_x_m = number(1, 0.35, 0.65) * v.axles.back().x_m;
    v.cg_z_m = number(2, 0.3, 0.7);
    v.weight_n = number(3, 1000, 9000);
    // Slopes that meet at a blunt corner under the vehicle: all wheels stand where the last one is just to leave, or the first to come.
    const double rise = number(4, -0.3, 0.3);
    base::Problems problems;
    const Profile ground = i % 4 < 2 ? slope(rise) : *Profile::from_points({{-5, -5 * rise}, {0, 0}, {5, 5 * (rise + number(5, 0.02, 0.25))}}, {}, problems);
    for (const Pose& p : resting_poses(v, ground, number(6, -0.8, 0.8))) {
      std::size_t standing = 0;
      for (std::size_t k = 0; k < p.axles; ++k) standing += p.wheel[k].carries ? 1 : 0;
      if (standing < 3 || !balances_by_glpk(v, p, 5)) continue;
      const Forces f = least_friction(v, p, TorqueSplit::best, 5);
      ASSERT_TRUE(f.solve.converged()) << i << ' ' << base::name(f.solve.status);
      double low = 0, high = 5;
      while (high - low > 1e-8) (balances_by_glpk(v, p, 0.5 * (low + high)) ? high : low) = 0.5 * (low + high);
      EXPECT_NEAR(f.friction, high, 2e-6 * (1 + high)) << i;   // GLPK holds its rows to 1e-7 of their size
      ++compared;
    }
  }
  EXPECT_GT(compared, 20);
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
