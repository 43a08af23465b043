// SPDX-License-Identifier: Apache-2.0
#include "performance/obstacle_view.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace hardpan::performance {
namespace {

// Invented.
ProfileVehicle carrier() {
  return {.axles = {{.x_m = 0, .radius_m = 0.3, .centre_height_m = 0.3}, {.x_m = 1.3, .radius_m = 0.3, .centre_height_m = 0.3}}, .cg_x_m = 0.62, .cg_z_m = 0.55, .weight_n = 4120};
}
Crossing over(const Profile& ground, std::optional<double> friction = {}) { return cross(carrier(), ground, {.friction = friction, .frames_every_m = kEveryPose_m}); }

TEST(ObstacleView, KeepsTheHardestPlaceOfTheWay) {
  const Profile step = Profile::step(0.12);
  const Crossing c = over(step);
  ASSERT_GT(c.frames.size(), 300U);
  const auto need = need_along(c, 50);
  EXPECT_LE(need.size(), 53U);
  double most = 0;
  for (std::size_t i = 0; i < need.size(); ++i) {
    most = std::max(most, need[i].friction);
    EXPECT_TRUE(i == 0 || need[i].travel_m >= need[i - 1].travel_m);
  }
  EXPECT_EQ(most, c.least_friction);
  // No frame needs more than its stretch tells.
  for (const Frame& f : c.frames) EXPECT_LE(f.forces.friction, most + 1e-12);
}

TEST(ObstacleView, TheFilmGoesFromBeforeToBehindAndShowsTheHardestPlace) {
  const Profile step = Profile::step(0.12);
  const Crossing c = over(step);
  const Film film = film_of(c.frames, c, carrier(), step, 6);
  ASSERT_EQ(film.frames.size(), 6U);
  ASSERT_LT(film.critical, 6U);
  EXPECT_EQ(film.frames[film.critical].pose.travel_m, c.critical_m);
  EXPECT_EQ(film.frames[film.critical].forces.friction, c.least_friction);
  EXPECT_TRUE(std::is_sorted(film.frames.begin(), film.frames.end(), [](const Frame& a, const Frame& b) { return a.pose.travel_m < b.pose.travel_m; }));
  EXPECT_LT(film.frames.front().pose.wheel[1].centre.x_m, -0.3);   // by hand: the front wheel, 0.3 m, meets the edge at the earliest 0.3 m before it
  EXPECT_GT(film.frames.back().pose.wheel[0].centre.x_m, 0);
}

// Stopped for good at a face higher than the wheels: the film ends there.
TEST(ObstacleView, TheFilmEndsWhereTheVehicleDoes) {
  const Profile wall = Profile::step(1.0);
  const Crossing c = over(wall, 0.6);
  ASSERT_FALSE(c.passes);
  const Film film = film_of(c.frames, c, carrier(), wall, 5);
  ASSERT_EQ(film.frames.size(), 5U);
  EXPECT_LT(film.frames.back().pose.wheel[1].centre.x_m, 0.31);
  ASSERT_LT(film.critical, 5U);
  EXPECT_NEAR(film.frames[film.critical].pose.travel_m, c.stopped_at_m, 0.05);
}

// Wheels that flatten go on where they are not held. The climb's want used to be hidden by the descent's number: the least friction was told as 0.
TEST(ObstacleView, SaysWhereNoFrictionWouldDo) {
  ProfileVehicle v = carrier();
  for (ProfileAxle& a : v.axles) a.deflection_load = {{0, 0}, {0.02, 2000}};
  const Profile step = Profile::step(0.12);
  const double needed = cross(v, step, {}).least_friction;
  const Crossing c = cross(v, step, {.most_friction = 0.5 * needed, .frames_every_m = kEveryPose_m});
  EXPECT_FALSE(c.passes);
  EXPECT_EQ(c.stopped_by, Obstruction::friction);
  EXPECT_TRUE(std::isnan(c.least_friction));
  const auto need = need_along(c, 40);
  EXPECT_TRUE(std::any_of(need.begin(), need.end(), [](const NeedOnWay& n) { return std::isnan(n.friction); }));
  EXPECT_TRUE(std::any_of(need.begin(), need.end(), [](const NeedOnWay& n) { return n.friction == 0; }));
}

}  // namespace
}  // namespace hardpan::performance
