// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <string>

#include "contact/detail/random_wheel.hpp"
#include "contact/wheel_soil.hpp"

namespace hardpan::contact {
namespace {

using detail::RandomWheel;

RandomWheel good() {
  RandomWheel out;
  out.wheel.radius_m = 0.3;
  out.wheel.width_m = 0.2;
  out.soil.bearing = soil::bekker(1.0, 1000, 8e5);
  out.soil.shear = soil::Shear{.cohesion_pa = 1000, .tan_phi = 0.6, .shear_modulus_m = 0.02};
  return out;
}

struct Refused {
  const char* what;     // words that the message must contain
  std::function<void(RandomWheel&, ContactOptions&)> spoil;
};

TEST(MakeContact, RefusesWhatItCannotComputeWithAndSaysTheRemedy) {
  const Refused cases[] = {
      {"no pressure-sinkage", [](auto& w, auto&) { w.soil.bearing.reset(); }},
      {"modulus is not positive at this width", [](auto& w, auto&) { w.soil.bearing = soil::bekker(1.0, -2e5, 8e5); }},
      {"no shear strength", [](auto& w, auto&) { w.soil.shear.reset(); }},
      {"modulus K", [](auto& w, auto&) { w.soil.shear->shear_modulus_m.reset(); }},
      {"one of c1 and c2", [](auto& w, auto&) { w.soil.c1 = 0.3; }},
      {"one of c1 and c2 for braking", [](auto& w, auto&) { w.soil.c2_braking = 0.3; }},
      {"pass the entry angle", [](auto& w, auto&) { w.soil.c1 = 0.7; w.soil.c2 = 0.4; }},
      {"no exit ratio", [](auto&, auto& o) { o.exit = ExitRule::ratio; }},
      {"no unloading stiffness", [](auto&, auto& o) { o.exit = ExitRule::rebound; }},
      {"n1", [](auto&, auto& o) { o.slip_sinkage = soil::SlipSinkage::exponent; }},
      {"organic mat", [](auto& w, auto& o) {
         w.soil.bearing = soil::muskeg(3e5, 1e5);
         w.soil.slip_exponent = 0.2;
         o.slip_sinkage = soil::SlipSinkage::exponent;
       }},
      {"needs the density", [](auto&, auto& o) { o.side_slip = true; o.gravity_m_s2 = 9.81; }},
      {"needs the local gravity", [](auto& w, auto& o) { o.side_slip = true; w.soil.density_kg_m3 = 1500; }},
      {"radial stiffness or a load-deflection", [](auto& w, auto&) { w.wheel.flex = vehicle::Flex{}; }},
      {"stiffness is not positive", [](auto& w, auto&) { w.wheel.flex = vehicle::Flex{.stiffness_n_per_m = 0}; }},
      {"table is too long", [](auto& w, auto&) {
         w.wheel.flex = vehicle::Flex{};
         for (int i = 0; i <= static_cast<int>(kDeflectionRows); ++i) w.wheel.flex->load_deflection.emplace_back(i * 100, i * 0.001);
       }},
      {"belly stands", [](auto&, auto& o) { o.belly_clearance_m = 0; }},
      {"no radius", [](auto& w, auto&) { w.wheel.radius_m = std::nan(""); }},
  };
  for (const Refused& c : cases) {
    RandomWheel random = good();
    ContactOptions options;
    c.spoil(random, options);
    base::Problems problems;
    EXPECT_FALSE(make_contact(random.wheel, random.soil, options, {.key = "wheel"}, problems)) << c.what;
    ASSERT_EQ(problems.count(base::Severity::refusal), 1U) << c.what;
    const base::Problem& problem = problems.list().front();
    EXPECT_NE((problem.what + problem.remedy).find(c.what), std::string::npos) << problem.text();
    EXPECT_FALSE(problem.remedy.empty()) << c.what;
    EXPECT_EQ(problem.place.key, "wheel");
  }
}

TEST(MakeContact, ListsEverythingThatIsMissingAtOnce) {
  RandomWheel random = good();
  random.soil.bearing.reset();
  random.soil.shear->shear_modulus_m.reset();
  base::Problems problems;
  EXPECT_FALSE(make_contact(random.wheel, random.soil, {.side_slip = true}, {}, problems));
  EXPECT_EQ(problems.count(base::Severity::refusal), 4U);
}

TEST(MakeContact, AssumesThePlaceOfTheLargestStressAndSaysSo) {
  const Contact contact = contact_of(good());
  EXPECT_EQ(contact.c1, soil::kAssumedC1);
  EXPECT_EQ(contact.c2, soil::kAssumedC2);
  EXPECT_TRUE(has(wheel_at_load(contact, 500, 0.2).flags, Flag::c1_c2_assumed));
  EXPECT_FALSE(has(wheel_at_load(contact, 500, 0.2).flags, Flag::braking_c1_c2_as_driving));
  EXPECT_TRUE(has(wheel_at_load(contact, 500, -0.2).flags, Flag::braking_c1_c2_as_driving));
}

TEST(MakeContact, UsesTheContactWidthAndALawWidthOfItsOwn) {
  RandomWheel random = good();
  random.wheel.contact_width_m = 0.15;
  EXPECT_EQ(contact_of(random).width_m, 0.15);
  EXPECT_DOUBLE_EQ(contact_of(random).law.k, 1000 / 0.15 + 8e5);
  EXPECT_DOUBLE_EQ(contact_of(random, {.pressure_width_m = 0.1}).law.k, 1000 / 0.1 + 8e5);
  EXPECT_EQ(contact_of(random, {.pressure_width_m = 0.1}).width_m, 0.15);
}

TEST(MakeContact, RemarksOnTwoRulesForTheExit) {
  RandomWheel random = good();
  random.soil.exit_ratio = 0.2;
  random.soil.reload = soil::Reload{1e7, 0};
  base::Problems problems;
  const auto contact = make_contact(random.wheel, random.soil, {}, {}, problems);
  ASSERT_TRUE(contact);
  EXPECT_EQ(problems.count(base::Severity::remark), 1U);
  EXPECT_FALSE(contact->rebounds);
  EXPECT_EQ(make_contact(random.wheel, random.soil, {.exit = ExitRule::axle}, {}, problems)->exit_ratio, 0);
  EXPECT_TRUE(make_contact(random.wheel, random.soil, {.exit = ExitRule::rebound}, {}, problems)->rebounds);
}

// Lugs of height h and spacing S: over h sqrt(Kp) of each spacing the soil shears on itself.
TEST(MakeContact, CloseLugsTakeTheSmoothMetalOutOfAction) {
  RandomWheel random = good();
  random.soil.smooth_metal = soil::InterfaceStrength{.adhesion_pa = 200, .tan_delta = 0.3};
  EXPECT_TRUE(contact_of(random).interface_acts);
  EXPECT_EQ(contact_of(random).interface_tan, 0.3);
  random.wheel.grouser_height_m = 0.02;
  random.wheel.grouser_count = 10;
  const double spacing = 2 * std::numbers::pi * 0.32 / 10, share = 0.02 * (std::sqrt(1.36) + 0.6) / spacing;
  EXPECT_NEAR(contact_of(random).interface_tan, share * 0.6 + (1 - share) * 0.3, 1e-12);
  EXPECT_NEAR(contact_of(random).interface_cohesion_pa, share * 1000 + (1 - share) * 200, 1e-9);
  random.wheel.grouser_count = 60;
  EXPECT_FALSE(contact_of(random).interface_acts);
}

TEST(MakeContact, APackedWheelIsSmoothAtItsOuterRadius) {
  RandomWheel random = good();
  EXPECT_FALSE(packed_wheel(random.wheel));
  random.wheel.grouser_height_m = 0.02;
  random.wheel.grouser_count = 24;
  const auto packed = packed_wheel(random.wheel);
  ASSERT_TRUE(packed);
  EXPECT_DOUBLE_EQ(packed->radius_m, 0.32);
  EXPECT_EQ(packed->grouser_height_m, 0);
}

TEST(Flags, EachHasOneNameAndOneSentence) {
  for (unsigned bit = 0; bit < 16; ++bit) {
    const Flag one = static_cast<Flag>(1u << bit);
    EXPECT_STRNE(name(one), "several flags") << bit;
    EXPECT_EQ(sentences(one).size(), 1U) << bit;
  }
  EXPECT_EQ(sentences(Flag::deep_sinkage | Flag::locked_wheel).size(), 2U);
  EXPECT_TRUE(sentences(Flag::none).empty());
}

}  // namespace
}  // namespace hardpan::contact
