// SPDX-License-Identifier: Apache-2.0
#include "performance/profile.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>

namespace hardpan::performance {
namespace {

struct Read {
  std::optional<Profile> profile;
  base::Problems problems;
};
Read read(const std::vector<ProfilePoint>& points) {
  Read out;
  out.profile = Profile::from_points(points, {.file = "site.toml", .key = "obstacle[2]"}, out.problems);
  return out;
}

TEST(Profile, RefusesWhatIsNoGroundAndSaysWhere) {
  const double nan = std::numeric_limits<double>::quiet_NaN(), infinity = std::numeric_limits<double>::infinity();
  const struct {
    std::vector<ProfilePoint> points;
    const char* place;
    const char* what;
  } cases[] = {
      {{}, "point[1]", "at least two different points"},
      {{{0, 0}}, "point[1]", "at least two different points"},
      {{{1, 2}, {1, 2}, {1, 2}}, "point[1]", "at least two different points"},
      {{{0, 0}, {1, nan}}, "point[2]", "not a finite number"},
      {{{0, 0}, {infinity, 0}}, "point[2]", "not a finite number"},
      {{{0, 0}, {1, 0}, {0.9, 0.2}, {2, 0.2}}, "point[3]", "overhanging"},
      {{{0, 0}, {1, 0}, {0.5, 1}, {0.5, -1}, {2, 0}}, "point[3]", "crosses itself"},
      {{{0, 0}, {1, 0}, {1, 1}, {1, 0.5}, {2, 0.5}}, "point[4]", "turns back on itself"},
      {{{0, 0}, {0, 1}, {1, 1}}, "point[1]", "first piece"},
      {{{0, 0}, {1, 0}, {1, 1}}, "point[3]", "last piece"},
  };
  for (const auto& c : cases) {
    const Read r = read(c.points);
    EXPECT_FALSE(r.profile) << c.what;
    ASSERT_FALSE(r.problems.list().empty()) << c.what;
    const std::string text = r.problems.list().front().text();
    EXPECT_NE(text.find(c.what), std::string::npos) << text;
    EXPECT_NE(text.find(std::string("site.toml: obstacle[2].") + c.place), std::string::npos) << text;
    EXPECT_FALSE(r.problems.list().front().remedy.empty());
  }
}

TEST(Profile, KeepsTheBendsAndDropsWhatLiesBetweenThem) {
  const Read r = read({{0, 0}, {0.5, 0}, {1, 0}, {1, 0.1}, {1, 0.1}, {1, 0.3}, {1.5, 0.3}, {2, 0.3}});
  ASSERT_TRUE(r.profile);
  EXPECT_EQ(r.profile->points(), (std::vector<ProfilePoint>{{0, 0}, {1, 0}, {1, 0.3}, {2, 0.3}}));
}

TEST(Profile, HeightIsTheTopOfAFaceAndGoesOnStraightBeyondTheEnds) {
  const Profile step = Profile::step(0.2), down = Profile::step(-0.2);
  EXPECT_EQ(step.height_m(0), 0.2);
  EXPECT_EQ(step.height_m(-1e-9), 0);
  EXPECT_EQ(step.height_m(50), 0.2);
  EXPECT_EQ(step.height_m(-50), 0);
  EXPECT_EQ(down.height_m(0), 0);
  const Read slope = read({{0, 0}, {2, 1}});
  EXPECT_NEAR(slope.profile->height_m(-4), -2, 1e-15);
  EXPECT_NEAR(slope.profile->height_m(10), 5, 1e-15);
}

RC_GTEST_PROP(Profile, IsItsOwnMirrorImageTwiceOver, ()) {
  std::vector<ProfilePoint> points{{0, 0}};
  for (int i = 0, n = *rc::gen::inRange(2, 12); i < n; ++i) {
    const bool face = i > 0 && i + 1 < n && *rc::gen::inRange(0, 4) == 0;
    points.push_back({points.back().x_m + (face ? 0 : *rc::gen::inRange(1, 100)) / 128.0, *rc::gen::inRange(-200, 200) / 512.0});
  }
  const Read r = read(points);
  if (!r.profile) return;   // a face that happened to turn back
  RC_ASSERT(r.profile->mirrored().mirrored().points() == r.profile->points());
  const double x = *rc::gen::inRange(-500, 2000) / 256.0;
  RC_ASSERT(std::abs(r.profile->mirrored().height_m(-x) - r.profile->height_m(x)) <= 1e-12);
}

}  // namespace
}  // namespace hardpan::performance
