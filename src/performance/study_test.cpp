// SPDX-License-Identifier: Apache-2.0
#include "performance/study.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "performance/at_speed.hpp"
#include "performance/test_carrier.hpp"

namespace hardpan::performance {
namespace {

constexpr DrawPlan kEarth{.gravity_m_s2 = 9.81};
Ground field() { return {.zone = "field", .centre = test::sand(), .textbook = true}; }

vehicle::Vehicle powered(std::optional<double> peak_power_w, std::optional<double> max_speed_rad_per_s, double idle_w = 0) {
  vehicle::Vehicle v = test::carrier();
  for (vehicle::Axle& a : v.axles) a.drive.peak_power_w = peak_power_w, a.drive.max_speed_rad_per_s = max_speed_rad_per_s;
  v.idle_power_w = idle_w;
  return v;
}
Placed placed(const vehicle::Vehicle& v) {
  base::Problems problems;
  auto out = place_vehicle(v, field(), kEarth, {}, problems);
  EXPECT_TRUE(out);
  return *out;
}
std::vector<std::string> refused(const vehicle::Vehicle& v, const std::vector<Variation>& variations, const StudySettings& settings) {
  base::Problems problems;
  EXPECT_FALSE(study(v, field(), kEarth, variations, settings, {.key = "study"}, problems));
  std::vector<std::string> out;
  for (const base::Problem& p : problems.list()) out.push_back(p.text());
  return out;
}

// Slow enough, power does not act and the gradient is the vehicle's own; where it acts, travel on that gradient (another search) finds that speed as its fastest.
TEST(AtSpeed, TheSteepestClimbAtASpeedIsTravelledAtThatSpeed) {
  const Placed p = placed(powered(400, std::nullopt));
  const double own = gradient_outcome(p, 0.2).centre;
  EXPECT_EQ(gradient_at_speed_outcome(p, 0.2, 0.05).centre, own);
  double before = own;
  for (const double speed : {1.0, 1.5, 2.5}) {
    const Outcome g = gradient_at_speed_outcome(p, 0.2, speed);
    EXPECT_LT(g.centre, before) << speed;
    EXPECT_EQ(speed_limited_by(p, g), "power");
    Workspace space;
    Travel t;
    travels({&p.centre, 1}, g.centre, 0, {&t, 1}, space);
    ASSERT_TRUE(t.goes) << speed;
    EXPECT_NEAR(t.speed_m_s / speed, 1, 2e-3) << speed;   // slip is found to 1e-4 of 20 %, and torque rises steeply with it
    before = g.centre;
  }
}

// Drives of 6 rad/s on wheels of 0.3 m roll at 1.8 m/s at no slip (by hand), and at 1.44 with the 20 % of the steepest climb.
TEST(AtSpeed, DrivesThatTurnTooSlowlyAreNamed) {
  const Placed p = placed(powered(std::nullopt, 6));
  EXPECT_EQ(gradient_at_speed_outcome(p, 0.2, 1.43).centre, gradient_outcome(p, 0.2).centre);
  const Outcome cut = gradient_at_speed_outcome(p, 0.2, 1.6);
  EXPECT_NEAR(cut.centre_state.slip_ratio, 1 - 1.6 / 1.8, 2e-5);
  EXPECT_EQ(speed_limited_by(p, cut), "speed of the drives");
  const Outcome beyond = gradient_at_speed_outcome(p, 0.2, 1.81);
  EXPECT_EQ(beyond.centre, kNoGradient);
  EXPECT_EQ(speed_limited_by(p, beyond), "speed of the drives");
}

// e(v) = e + P0 / v: from 0.5 to 1 m/s 120 W of idle loads save 120 J a metre; above what the power lets there is no value.
TEST(AtSpeed, IdleLoadsCountForTheTimeAMetreTakes) {
  const Placed p = placed(powered(400, std::nullopt, 120));
  EXPECT_NEAR(energy_at_speed_outcome(p, 0.5).centre - energy_at_speed_outcome(p, 1.0).centre, 120, 1e-9);
  EXPECT_NEAR(energy_at_speed_outcome(p, std::nullopt).centre, travel_outcome(p, TravelQuantity::energy_per_metre, 0).centre, 1e-12);
  EXPECT_TRUE(std::isinf(energy_at_speed_outcome(p, 50.0).centre));
  EXPECT_EQ(speed_limited_by(p, energy_at_speed_outcome(p, 50.0)), "power");
}

TEST(Study, SpeedIsSweptAgainstWhatIsNeeded) {
  base::Problems problems;
  const auto s = study(powered(400, 20), field(), kEarth, {{Varied::speed, 0.2, 5, 4, "m/s"}, {Varied::mass, 300, 500, 3, "kg"}}, {.needed = 0.1}, {}, problems);
  ASSERT_TRUE(s);
  ASSERT_EQ(s->cells.size(), 12u);
  for (std::size_t j = 0; j < 3; ++j) {
    for (std::size_t i = 1; i < 4; ++i) EXPECT_LE(s->at(i, j).outcome.centre, s->at(i - 1, j).outcome.centre);
    EXPECT_FALSE(s->at(3, j).limited_by.empty());
    EXPECT_NEAR(*s->margin(s->at(0, j).outcome.centre), s->at(0, j).outcome.centre - 0.1, 1e-15);
  }
  EXPECT_LT(s->at(2, 2).outcome.centre, s->at(2, 0).outcome.centre);       // the same power for more mass
  EXPECT_FALSE(s->present[0]);                                             // no speed is stated
  EXPECT_EQ(*s->present[1], 420);
  EXPECT_EQ(s->as_it_is.outcome.centre, gradient_outcome(placed(powered(400, 20)), 0.2).centre);
}

// A rigid vehicle leaves a wave of 4 m and 0.1 m at 6.3054 m/s (METHODS): the load share goes as v^2, so half that speed leaves a margin of 3/4, and the margin is 0 there.
TEST(Study, TheMarginOfTheRideFallsWithTheSquareOfTheSpeed) {
  StudySettings settings{.quantity = Studied::ride_margin, .over = {{Wave{4, 0.1}, {}, {}}}};
  base::Problems problems;
  const auto s = study(test::carrier(), field(), kEarth, {{Varied::speed, 6.3054 / 2, 6.3054, 2}}, settings, {}, problems);
  ASSERT_TRUE(s);
  EXPECT_NEAR(s->cells[0].outcome.centre, 0.75, 2e-5);
  EXPECT_NEAR(s->cells[1].outcome.centre, 0, 2e-5);
  EXPECT_TRUE(s->cells[0].limited_by.starts_with("wheels leave the ground")) << s->cells[0].limited_by;
  EXPECT_EQ(s->as_it_is.why_not, "no speed is stated");
  // A bound that is nearer: 1 m/s^2 of shock at the rear axle, where acceleration is A (2 pi v / lambda)^2 = 2.45 m/s^2 at half the speed (by hand).
  settings.over[0].question = {.shock_m_s2 = 1, .at_x_m = -0.62};
  const auto shaken = study(test::carrier(), field(), kEarth, {{Varied::speed, 6.3054 / 2, 6.3054, 2}}, settings, {}, problems);
  EXPECT_NEAR(shaken->cells[0].outcome.centre, 1 - 0.25 * 9.81, 1e-3);
  EXPECT_EQ(shaken->cells[0].limited_by, "shock");
}

TEST(Study, RefusesASpeedThatChangesNothing) {
  const std::vector<Variation> speed{{Varied::speed, 0.5, 2, 3, "m/s"}};
  for (const auto& [v, settings, word] : {std::tuple{test::carrier(), StudySettings{}, "state peak_power or max_speed"}, {test::carrier(), StudySettings{.quantity = Studied::energy_level}, "idle_power"},
                                          {powered(400, 5), StudySettings{.quantity = Studied::pull_at_slip}, "does not depend on the speed"}, {test::carrier(), StudySettings{.quantity = Studied::ride_margin}, "needs rough ground"}}) {
    const auto why = refused(v, speed, settings);
    ASSERT_EQ(why.size(), 1u) << word;
    EXPECT_NE(why[0].find(word), std::string::npos) << why[0];
  }
  EXPECT_EQ(refused(test::carrier(), {{Varied::wheel_width, 0.1, 0.3, 3}}, {.quantity = Studied::ride_margin, .speed_m_s = 1, .over = {{Wave{4, 0.1}, {}, {}}}}).size(), 1u);
  EXPECT_EQ(refused(test::carrier(), {{Varied::mass, 100, 300, 3}}, {.quantity = Studied::ride_margin, .over = {{Wave{4, 0.1}, {}, {}}}}).size(), 1u);   // no speed
  // Ranges are told as they were typed.
  EXPECT_NE(refused(powered(400, 5), {{Varied::speed, 5, 1, 3, "km/h"}}, {})[0].find("18.00 km/h to 3.600 km/h"), std::string::npos) << refused(powered(400, 5), {{Varied::speed, 5, 1, 3, "km/h"}}, {})[0];
}

TEST(Study, ARefusedVariantNamesTheKeyOfTheFile) {
  StudySettings settings;
  settings.key_in_file = [](std::string key) { return "file." + key; };
  base::Problems problems;
  const auto s = study(test::carrier(), field(), kEarth, {{Varied::wheel_diameter, 0.5, 1.5, 2}}, settings, {}, problems);
  ASSERT_TRUE(s);
  EXPECT_TRUE(s->cells[1].why_not.starts_with("file.axle[2]")) << s->cells[1].why_not;
}

}  // namespace
}  // namespace hardpan::performance
