// SPDX-License-Identifier: Apache-2.0
#include "records/cone.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "units/unit_text.hpp"

namespace hardpan::records {
namespace {

// US Army terrain analysis course EN5341: CI 49 with remoulding index 0.87, CI 56 with 0.85.
TEST(Cone, RatingConeIndexOfTheWorkedExample) {
  EXPECT_NEAR(rating_cone_index(49, 0.87), 42.63, 0.01);
  EXPECT_NEAR(rating_cone_index(56, 0.85), 47.6, 0.01);
}

// USDA Forest Service note on ASAE S313.3: 20.27 and 12.83 mm; course EN5341: 0.5 in2.
TEST(Cone, BaseAreasOfTheStandardCones) {
  EXPECT_NEAR(cone_area_m2(0.02027) * 1e6, 322.7, 0.1);
  EXPECT_NEAR(cone_area_m2(0.01283) * 1e6, 129.3, 0.1);
  const auto half_square_inch = units::parse_quantity("0.5 in^2", units::Dimension::area);
  ASSERT_TRUE(half_square_inch.ok()) << half_square_inch.error;
  EXPECT_NEAR(half_square_inch.si * 1e6, 322.6, 0.1);
}

ConeTest profile_test(std::size_t rows) {
  ConeTest test;
  test.source = {.id = "c1", .file = "c.csv", .point = "P1", .zone = "z", .instrument = "cone"};
  test.base_area_m2 = 323e-6;
  for (std::size_t i = 1; i <= rows; ++i) {
    test.depth_m.push_back(0.025 * static_cast<double>(i));
    test.resistance_pa.push_back(400e3 + 2e6 * test.depth_m.back());
    test.line.push_back(i + 1);
  }
  return test;
}

TEST(Cone, ConeIndexOfALayerIsTheMeanOverItsDepth) {
  const ConeProfile profile = reduce_cone(profile_test(18), nullptr, {});
  ASSERT_EQ(profile.layers.size(), 3u);
  // Linear in depth: the mean over readings at 25 ... 150 mm, each standing for 25 mm.
  EXPECT_EQ(profile.layers[0].readings, 6u);
  EXPECT_NEAR(*profile.layers[0].cone_index_pa, 400e3 + 2e6 * 0.0875, 1);
  EXPECT_NEAR(*profile.layers[1].cone_index_pa, 400e3 + 2e6 * 0.2375, 1);
}

TEST(Cone, RatingConeIndexOfALayerFollowsTheRemouldingIndex) {
  ConeTest test = profile_test(18);
  test.remoulding_index = 0.8;
  const ConeProfile profile = reduce_cone(test, nullptr, {});
  EXPECT_NEAR(*profile.layers[1].rating_cone_index_pa, 0.8 * *profile.layers[1].cone_index_pa, 1e-6);
}

TEST(Cone, StoneIsMarkedAndLeavesTheIndexAsItWas) {
  ConeTest test = profile_test(18);
  const ConeProfile clean = reduce_cone(test, nullptr, {});
  test.resistance_pa[8] *= 6;
  const ConeProfile profile = reduce_cone(test, nullptr, {});
  EXPECT_EQ(profile.mark[8], ConeMark::stone);
  EXPECT_NEAR(*profile.layers[1].cone_index_pa / *clean.layers[1].cone_index_pa, 1, 0.03);
  EXPECT_FALSE(profile.refusal_depth_m);
}

TEST(Cone, RiseThatDoesNotComeBackIsRefusalNotAStone) {
  ConeTest test = profile_test(14);
  test.resistance_pa.back() *= 8;
  const ConeProfile profile = reduce_cone(test, nullptr, {});
  ASSERT_TRUE(profile.refusal_depth_m);
  EXPECT_DOUBLE_EQ(*profile.refusal_depth_m, test.depth_m.back());
}

TEST(Cone, StopOfThePushIsSetAside) {
  ConeTest test = profile_test(18);
  test.depth_m.insert(test.depth_m.begin() + 9, test.depth_m[8]);
  test.resistance_pa.insert(test.resistance_pa.begin() + 9, 0.3 * test.resistance_pa[8]);
  test.line.insert(test.line.begin() + 9, 99);
  const ConeProfile profile = reduce_cone(test, nullptr, {});
  EXPECT_EQ(profile.mark[9], ConeMark::stop_event);
  EXPECT_EQ(profile.set_aside.at(0).lines, (std::vector<std::size_t>{99}));
}

TEST(Cone, ConeOfAnotherSizeIsSaidNotToCompare) {
  ConeTest test = profile_test(18);
  test.base_area_m2 = 1000e-6;
  EXPECT_NE(reduce_cone(test, nullptr, {}).remarks.at(0).find("ASABE S313.3"), std::string::npos);
}

// Rows of the Swedish forest survey (W. Lidberg, MIT licence): drop weight 40.45 N from 0.40 m, rod 14.17 N,
// depths after 5, 10 and 15 drops. Plot 1610 agrees with A = pi (0.04 m)^2.
TEST(Cone, DropConePressureAgreesWithTheSwedishSurvey) {
  const double a = std::numbers::pi * 0.04 * 0.04;
  EXPECT_NEAR(drop_cone_pressure_pa(40.45, 0.40, 14.17, 5, 0.26, a) / 1e3, 72.768395, 1e-5);
  EXPECT_NEAR(drop_cone_pressure_pa(40.45, 0.40, 14.17, 10, 0.37, a) / 1e3, 97.863837, 1e-5);
  EXPECT_NEAR(drop_cone_pressure_pa(40.45, 0.40, 14.17, 15, 0.38, a) / 1e3, 137.928490, 1e-5);
}

TEST(Cone, TwoConePopulationsAreToldApart) {
  Instrument cone{.id = "drop"};
  cone.drop_weight_n = 40.45;
  cone.drop_height_m = 0.40;
  cone.rod_weight_n = 14.17;
  std::vector<ConeTest> tests;
  for (int k = 0; k < 10; ++k) {
    ConeTest test;
    test.source = {.id = "plot" + std::to_string(k), .instrument = "drop"};
    test.drop_cone = true;
    test.base_area_m2 = std::numbers::pi * 0.04 * 0.04;
    const double radius = k < 7 ? 0.04 : 0.02;
    for (int drops = 5; drops <= 15; drops += 5) {
      test.drops.push_back(drops);
      test.depth_m.push_back(0.02 * drops + 0.01 * k);
      test.resistance_pa.push_back((40.45 * 0.40 * drops / test.depth_m.back() + 54.62) /
                                   (std::numbers::pi * radius * radius));
    }
    tests.push_back(test);
  }
  tests.push_back(tests[0]);
  tests.back().source.id = "odd";
  tests.back().resistance_pa[1] *= 1.3;
  std::vector<const ConeTest*> all;
  for (const ConeTest& test : tests) all.push_back(&test);
  const ConeConsistency found = check_drop_cones(all, {cone});
  EXPECT_EQ(found.tests_checked, 11u);
  ASSERT_EQ(found.populations.size(), 2u);
  EXPECT_EQ(found.populations[0].tests.size(), 7u);
  EXPECT_TRUE(found.populations[0].as_stated);
  EXPECT_EQ(found.populations[1].tests.size(), 3u);
  EXPECT_NEAR(found.populations[1].base_area_m2, std::numbers::pi * 0.02 * 0.02, 1e-8);
  EXPECT_EQ(found.inconsistent, (std::vector<std::string>{"odd"}));
  EXPECT_NE(found.statement.find("factor 4.00"), std::string::npos) << found.statement;
}

// The layers used to be averaged over both populations and told with the stated base.
TEST(Cone, LayersOfTwoDropConePopulationsStandApart) {
  Instrument cone{.id = "drop"};
  cone.drop_weight_n = 40.45;
  cone.drop_height_m = 0.40;
  cone.rod_weight_n = 14.17;
  const double stated = std::numbers::pi * 0.02 * 0.02;
  std::vector<ConeProfile> profiles;
  for (int k = 0; k < 7; ++k) {
    ConeTest test;
    test.source = {.id = "plot" + std::to_string(k), .point = "P" + std::to_string(k), .instrument = "drop"};
    test.drop_cone = true;
    test.base_area_m2 = stated;
    const double base = k < 4 ? 4 * stated : k < 6 ? stated : 1.3 * stated;
    for (int drops = 5; drops <= 15; drops += 5) {
      test.drops.push_back(drops);
      test.depth_m.push_back(0.008 * drops);
      test.resistance_pa.push_back(drop_cone_pressure_pa(40.45, 0.40, 14.17, drops, test.depth_m.back(), base) * (k == 1 ? 1.004 : 1));
    }
    if (k == 6) test.resistance_pa[1] *= 1.3;
    profiles.push_back(reduce_cone(test, &cone, {}));
  }
  std::vector<const ConeProfile*> all;
  for (const ConeProfile& profile : profiles) all.push_back(&profile);
  const std::vector<ConeZone> zones = reduce_cones(all, {cone}, {});
  ASSERT_EQ(zones.size(), 3u);  // by population: as stated, no single base, other than stated
  EXPECT_EQ(zones[0].tests, 2u);
  EXPECT_EQ(zones[1].tests, 1u);
  EXPECT_EQ(zones[2].tests, 4u);
  EXPECT_NE(zones[0].layers[0].cone_index.basis.find("cone base 1257 mm^2, 2 tests"), std::string::npos) << zones[0].layers[0].cone_index.basis;
  EXPECT_NE(zones[2].layers[0].cone_index.basis.find("cone base 5027 mm^2, 4 tests"), std::string::npos) << zones[2].layers[0].cone_index.basis;
  ASSERT_EQ(zones[2].remarks.size(), 1u);
  EXPECT_NE(zones[2].remarks[0].find("5027 mm^2, the record states 1257"), std::string::npos);
  // Same depths and drops: the same ground resistance over a base four times as large. One of four tests is 0.4 % up.
  EXPECT_NEAR(zones[0].layers[0].cone_index.estimate.value / zones[2].layers[0].cone_index.estimate.value, 4, 0.005);
}

// One test used to read "1 tests", and a campaign in US units had its bases in mm^2.
TEST(Cone, SpeaksTheUnitsOfTheCampaignAndCountsOneAsOne) {
  Instrument cone{.id = "drop"};
  cone.drop_weight_n = 40.45;
  cone.drop_height_m = 0.40;
  cone.rod_weight_n = 14.17;
  ConeTest test;
  test.source = {.id = "plot", .point = "P", .instrument = "drop"};
  test.drop_cone = true;
  test.base_area_m2 = 0.5 * 0.0254 * 0.0254;  // half a square inch
  for (int drops = 5; drops <= 15; drops += 5) {
    test.drops.push_back(drops);
    test.depth_m.push_back(0.008 * drops);
    test.resistance_pa.push_back(drop_cone_pressure_pa(40.45, 0.40, 14.17, drops, test.depth_m.back(), test.base_area_m2));
  }
  EXPECT_EQ(check_drop_cones({&test}, {cone}, units::OutputUnits::us).statement, "1 drop-cone test checked: 1 test agrees with a base of 0.500 in^2 (as stated)");
  EXPECT_EQ(check_drop_cones({&test}, {cone}).statement, "1 drop-cone test checked: 1 test agrees with a base of 323 mm^2 (as stated)");
  const GroundSettings us{.output_units = units::OutputUnits::us};
  const ConeProfile profile = reduce_cone(test, &cone, us);
  const std::vector<ConeZone> zones = reduce_cones({&profile}, {cone}, us);
  EXPECT_EQ(zones.at(0).layers.at(0).cone_index.basis, "geometric mean over points of the mean over depth 0.0 to 5.9 in, cone base 0.500 in^2, 1 test at 1 point");
  EXPECT_EQ(zones[0].layers[0].cone_index.meaning, "cone index 0 to 150 mm");  // a column of tables, which are SI
}

TEST(Cone, ConesOfDifferentSizeAreNotAveraged) {
  ConeTest large = profile_test(18), small = profile_test(18);
  small.base_area_m2 = 130e-6;
  small.source.id = "c2";
  const ConeProfile a = reduce_cone(large, nullptr, {}), b = reduce_cone(small, nullptr, {});
  const std::vector<ConeZone> zones = reduce_cones({&a, &b}, {}, {});
  ASSERT_EQ(zones.size(), 2u);
  EXPECT_EQ(zones[0].layers.at(0).cone_index.meaning, "cone index 0 to 150 mm, cone base 130 mm^2");
  EXPECT_EQ(zones[1].layers.at(0).cone_index.meaning, "cone index 0 to 150 mm, cone base 323 mm^2");
}

}  // namespace
}  // namespace hardpan::records
