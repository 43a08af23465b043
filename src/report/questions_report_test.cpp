// SPDX-License-Identifier: Apache-2.0
// Answers to a campaign's questions in the document, computed for the invented carrier: sections, figures, tables, and nothing that is no number on the page.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "performance/obstacle_view.hpp"
#include "performance/test_carrier.hpp"
#include "report/crossing_picture.hpp"
#include "report/document.hpp"

namespace hardpan::report {
namespace {

namespace p = performance;
using ::testing::EndsWith;
using ::testing::HasSubstr;
using ::testing::Not;

vehicle::Vehicle carrier() {
  vehicle::Vehicle v = p::test::carrier();
  v.name = "Carrier";
  v.battery_j = 4e6;
  for (vehicle::Axle& a : v.axles) {
    a.drive.peak_torque_n_m = 400;
    a.drive.max_speed_rad_per_s = 6;
    a.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 5e4};
  }
  return v;
}

p::Ground dune() {
  soil::SoilDistribution d{.centre = p::test::sand(), .bearing_dof = 7, .shear_dof = 7, .population = "invented"};
  d.sampling[0][0] = d.sampling[1][1] = 0.01;
  d.between_points[0][0] = d.between_points[1][1] = 0.02;
  return {.zone = "dune", .centre = p::test::sand(), .distribution = d};
}

campaign::Results answered() {
  campaign::Results r;
  const vehicle::Vehicle v = carrier();
  r.campaign.gravity_m_s2 = 9.81;
  r.campaign.vehicles = {v};
  r.campaign.zones.push_back({.id = "dune"});
  const p::DrawPlan plan{.gravity_m_s2 = 9.81, .seed = 3, .count = 40};
  base::Problems problems;
  const auto placed = p::place_vehicle(v, dune(), plan, {}, problems);

  campaign::RideAnswer ride{.vehicle = "carrier", .question = {.shock_m_s2 = 3.0}};
  ride.model = *p::make_ride_vehicle(v, 9.81, {}, {}, problems);
  for (const p::Wave wave : {p::Wave{3, 0.05}, p::Wave{0.4, 0.05}}) {
    ride.grounds.push_back({.ground = wave, .point_on_wave_m_s = p::wave_lift_off_m_s(wave, 9.81), .answer = p::ride_on(ride.model, wave, ride.question)});
    for (const double speed : {0.5, 1.0, 2.0}) ride.grounds.back().answer.curve.push_back(p::ride_at(ride.model, wave, ride.question, speed));
  }
  r.answers.rides.push_back(ride);
  r.answers.rides.push_back({.vehicle = "carrier", .why_not = "more than two axles are rigid"});
  r.answers.speeds.push_back({.vehicle = "carrier", .zone = "dune", .rows = {{campaign::SpeedLimit::drives, 1.7, 1.5, "level ground"}, {campaign::SpeedLimit::power, std::nullopt, std::nullopt, "the file states no peak power"}, {campaign::SpeedLimit::remote, 1.6, std::nullopt, "stopping within sight"}}});

  const auto studied = [&](const std::vector<p::Variation>& vary, const p::StudySettings& settings) { r.answers.studies.push_back({.vehicle = "carrier", .zone = "dune", .study = p::study(v, dune(), plan, vary, settings, {}, problems)}); };
  studied({{p::Varied::speed, 0.4, 2.4, 3, "m/s"}}, {.needed = 0.05});
  studied({{p::Varied::wheel_stiffness, 2e4, 8e4, 2, "kN/m"}, {p::Varied::wheel_diameter, 0.5, 1.5, 2, "mm"}}, {});
  studied({{p::Varied::speed, 0.5, 3, 3, "m/s"}, {p::Varied::wheel_stiffness, 2e4, 8e4, 2, "kN/m"}}, {.quantity = p::Studied::ride_margin, .over = {{p::Wave{3, 0.05}, {}, {.shock_m_s2 = 3.0}}}});

  r.answers.other_gravity.push_back({.vehicle = "carrier", .zone = "dune", .to_m_s2 = 1.62, .over_soils = p::gravity_over_soils(v, dune(), plan, {.change = {9.81, 1.62}, .share_of_kphi = 0.5}, {}, problems), .scaling = p::granular_scaling(1.62 / 9.81, 1, 1)});

  campaign::EnduranceAnswer way{.vehicle = "carrier", .name = "out <there>", .rows = {{"up", 40, 0.05, 0.5, 0, 0}, {"", 4000, 0, 1.0, 600, 0}, {"steep", 5, 0.6, 0.5, 0, 0}}, .zones = {"dune"}, .battery_j = 4e6, .settings = {.usable_j = 4e6, .reserve_ratio = 0.2}};
  way.endurance = p::endurance(way.rows, {&*placed}, v, way.settings);
  r.answers.endurance.push_back(way);

  campaign::BoulderAnswer rocks{.vehicle = "carrier", .law_words = "law", .length_m = 50, .swath = p::make_swath(v, 0.15)};
  rocks.hits_per_m = p::hits_per_metre(*p::RockLaw::by_coverage(0.1), rocks.swath, rocks.shape);
  rocks.clear_probability = p::clear_run_probability(rocks.hits_per_m, 50);
  rocks.half_clear_m = p::clear_run_length_m(rocks.hits_per_m, 0.5);
  r.answers.boulders.push_back(rocks);
  rocks.rocks = {{1, 1, 0.6, std::nullopt}, {8, 4, 0.2, std::nullopt}};
  rocks.plot = {0, 0, 10, 6};
  rocks.field = p::mapped_field(rocks.rocks, rocks.plot, rocks.swath, rocks.shape, 5);
  rocks.hits_per_m = rocks.field->hits_per_m;
  rocks.run = p::Run{.y_m = 1, .length_m = 10};
  rocks.met = p::meet(rocks.rocks, *rocks.run, rocks.swath, rocks.shape);
  r.answers.boulders.push_back(rocks);

  campaign::TurnAnswer turn{.vehicle = "carrier", .zone = "dune"};
  turn.asked.question = {.turn = {.radius_m = 1, .gradient_rad = 0.1, .speed_m_s = 0.5}, .radii_m = {12, 4, 0}};
  turn.over_soils = p::turn_over_soils(v, *placed, turn.asked.question, 20);
  r.answers.turns.push_back(turn);
  r.answers.turns.push_back({.vehicle = "carrier", .zone = "dune", .why_not = "crab steering does not turn"});
  EXPECT_FALSE(problems.refused());
  return r;
}

TEST(QuestionsInTheReport, HaveEachTheirSection) {
  const std::string page = html(answered());
  for (const char* part : {"id=\"ride\"", "id=\"speed-limits\"", "id=\"turning\"", "id=\"boulders\"", "id=\"endurance\"", "id=\"other-gravity\"", "out &lt;there&gt;", "speed limit of the drives (smallest)", "more than two axles are rigid", "crab steering does not turn",
                           "Share that arrives", "Mean free path", "test less target, soil by soil", "Granular scaling", "the ratios do not hold", "A wheel leaves it", "id=\"studies\""}) {
    EXPECT_THAT(page, HasSubstr(part)) << part;
  }
  for (const char* bad : {">nan<", ">inf<", "nan ", " inf ", "inf%"}) EXPECT_THAT(page, Not(HasSubstr(bad)));
}

TEST(QuestionsInTheReport, AreLeftOutWhereNothingIsAsked) {
  const std::string page = html(campaign::Results{});
  for (const char* id : {"id=\"ride\"", "id=\"speed-limits\"", "id=\"turning\"", "id=\"boulders\"", "id=\"endurance\"", "id=\"other-gravity\""}) EXPECT_THAT(page, Not(HasSubstr(id)));
}

// Drives of 6 rad/s on wheels of 0.3 m: 2.4 m/s is beyond them. Units stand as they were typed, each cell has its limiting factor, and the vehicle as it is stands beside.
TEST(QuestionsInTheReport, TellOfStudiesWhatLimitsEachValue) {
  const std::string page = html(answered());
  for (const char* part : {"2.40 m/s", "not driven", "speed of the drives", "Margin, next point", "needed", "20.0 kN/m", "500 mm", ", traction", "As it is (speed not stated)", "As it is (wheel stiffness 50.0 kN/m, wheel diameter 600 mm)", "Where there is no value", "shock", "bound reached"}) {
    EXPECT_THAT(page, HasSubstr(part)) << part;
  }
  for (const io::Table& t : tables(answered())) {
    if (t.name != "studies") continue;
    EXPECT_EQ(t.rows.size(), 3u + 4u + 6u + 3u);   // the vehicle as it is in each
    for (const auto& row : t.rows) EXPECT_EQ(row.size(), t.columns.size());
    return;
  }
  FAIL() << "no table of studies";
}

TEST(QuestionsInTheReport, SpeakTheUnitsOfTheCampaign) {
  campaign::Results r = answered();
  r.campaign.output_units = campaign::OutputUnits::us;
  const std::string page = html(r);
  EXPECT_THAT(page, HasSubstr("mph"));
  EXPECT_THAT(page, HasSubstr("Peak (ft/s\u00B2)"));   // in a picture
  EXPECT_THAT(page, HasSubstr("ft/s<sup>2</sup>"));
}

TEST(QuestionsInTheReport, NameWhatTheyDoNotSpeakFor) {
  EXPECT_THAT(html(answered()), HasSubstr("nothing here speaks for it: obstacles, driving through a delay."));
  EXPECT_THAT(html(campaign::Results{}), HasSubstr("nothing here speaks for it: obstacles, turning, rough ground, rocks in the way, driving through a delay, a whole drive."));
}

TEST(FilmStrip, TellsAllItsPlacesInOneUnit) {
  const auto v = p::profile_vehicle(carrier(), 9.81);
  ASSERT_TRUE(v);
  const p::Profile ground = p::Profile::step(0.1);
  const p::Crossing c = p::cross(*v, ground, {.frames_every_m = p::kEveryPose_m});
  const std::string picture = film_strip(*v, ground, p::film_of(c.frames, c, *v, ground, 6), "A step", units::OutputUnits::us);
  EXPECT_THAT(picture, HasSubstr("x = "));
  for (std::size_t at = picture.find("x = "); at != std::string::npos; at = picture.find("x = ", at + 1)) {
    const std::string told = picture.substr(at, picture.find_first_of(":<", at) - at);
    EXPECT_THAT(told, EndsWith(" ft")) << told;
  }
}

TEST(QuestionsInTheReport, AreDrawnAndGoIntoTables) {
  const campaign::Results r = answered();
  std::size_t found = 0;
  for (const auto& [id, figure] : figures(r)) {
    for (const char* begin : {"ride-", "gravity-", "charge-", "rocks-", "turning-"}) found += id.starts_with(begin);
    EXPECT_GT(tally(figure).drawn, 0u) << id;
    EXPECT_EQ(tally(figure).not_finite, 0u) << id;
  }
  EXPECT_EQ(found, 6u);   // two of rocks
  std::size_t told = 0;
  for (const io::Table& t : tables(r)) {
    for (const auto& row : t.rows) EXPECT_EQ(row.size(), t.columns.size()) << t.name;
    for (const char* name : {"rough-ground", "speed-limits", "turning", "rocks", "endurance", "other-gravity"}) told += t.name == name;
  }
  EXPECT_EQ(told, 6u);
}

}  // namespace
}  // namespace hardpan::report
