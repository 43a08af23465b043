// SPDX-License-Identifier: Apache-2.0
#include "soil/soil.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "soil/textbook.hpp"

namespace hardpan::soil {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInf = std::numeric_limits<double>::infinity();

// Even over the whole range from the first case on (a plain inRange grows with the case number).
rc::Gen<int> whole(int low, int below) { return rc::gen::resize(100, rc::gen::inRange(low, below)); }
rc::Gen<double> between(double low, double high) {
  return rc::gen::map(whole(0, 1000001), [=](int i) { return low + (high - low) * i / 1e6; });
}

TEST(DepthLaw, BekkersModulusIsKcOverBPlusKphi) {
  // By hand: 990 / 0.2 + 1528430 = 1533380.
  const auto law = depth_law(bekker(1.1, 990, 1528430), 0.2);
  ASSERT_TRUE(law);
  EXPECT_DOUBLE_EQ(law->k, 1533380);
  EXPECT_DOUBLE_EQ(law->n, 1.1);
  EXPECT_NEAR(law->pressure_pa(0.1), 1533380 * std::pow(10.0, -1.1), 1e-9);
}

TEST(DepthLaw, ReecesPressureDependsOnDepthOverWidth) {
  // p = (c k1 + gamma b k2) (z / b)^n: at z = b the pressure is c k1 + gamma b k2 whatever n is.
  for (const double b : {0.03, 0.1, 0.4}) {
    const auto law = depth_law(reece(0.8, 2000, 50000), b);
    ASSERT_TRUE(law);
    EXPECT_NEAR(law->pressure_pa(b), 2000 + 50000 * b, 1e-9);
    EXPECT_NEAR(law->pressure_pa(b / 2), (2000 + 50000 * b) * std::pow(0.5, 0.8), 1e-9);
  }
}

TEST(DepthLaw, ASinglePlateLawIsTheSameAtEveryWidth) {
  EXPECT_DOUBLE_EQ(depth_law(single_plate(0.9, 4e5), 0.05)->k, depth_law(single_plate(0.9, 4e5), 0.5)->k);
}

TEST(DepthLaw, AnOrganicMatStiffensWithDepthAndMoreSoUnderASmallPlate) {
  // By hand, kp = 3e5 N/m3, mm = 4e4 N/m3, disc of radius 0.05 m, so Dh = 0.1 m, at z = 0.02 m:
  // 3e5 * 0.02 + 4 * 4e4 * 0.0004 / 0.1 = 6000 + 640 Pa.
  const auto law = depth_law(muskeg(3e5, 4e4), 0.05);
  ASSERT_TRUE(law);
  EXPECT_NEAR(law->pressure_pa(0.02), 6640, 1e-9);
  EXPECT_NEAR(law->slope_pa_per_m(0.02), 3e5 + 2 * 4 * 4e4 * 0.02 / 0.1, 1e-6);
  EXPECT_NEAR(depth_law(muskeg(3e5, 4e4), 0.1)->pressure_pa(0.02), 6320, 1e-9);
}

TEST(DepthLaw, ThereIsNoneWithoutAPositiveModulusOrWidth) {
  EXPECT_FALSE(depth_law(bekker(1, -1000, 5000), 0.2));   // -1000 / 0.2 + 5000 = 0
  EXPECT_TRUE(depth_law(bekker(1, -1000, 5000), 0.21));
  for (const double b : {0.0, -0.1, kNan, kInf}) EXPECT_FALSE(depth_law(bekker(1, 1000, 5000), b)) << b;
  EXPECT_FALSE(depth_law(bekker(kNan, 1000, 5000), 0.2));
  EXPECT_FALSE(depth_law(bekker(0, 1000, 5000), 0.2));
  EXPECT_FALSE(depth_law(bekker(1, kInf, 5000), 0.2));
  EXPECT_FALSE(depth_law(muskeg(1000, -1), 0.2));  // would soften with depth without end
}

TEST(DepthLaw, ReproducesPublishedPlateSinkagesUnder50KilopascalAtWidth40Centimetres) {
  // Bekker's equation evaluated by hand on the published soils (Wong's terrain table), to the
  // digits of that evaluation.
  const struct {
    const char* id;
    double depth_m, tolerance_m;
  } rows[] = {{"dry_sand_lll", 0.04458, 0.0001},   {"sandy_loam_lll_15", 0.00756, 0.0001},
              {"clayey_soil_thailand_38", 0.00475, 0.0001}, {"snow_us_harrison", 0.41071, 0.001},
              {"lete_sand", 0.00257, 0.0001},      {"rubicon_sandy_loam_43", 0.0159, 0.0001}};
  for (const auto& row : rows) {
    const NamedSoil* soil = find_textbook_soil(row.id);
    ASSERT_NE(soil, nullptr) << row.id;
    EXPECT_NEAR(depth_law(*soil->soil.bearing, 0.4)->depth_m(50e3), row.depth_m, row.tolerance_m) << row.id;
  }
}

TEST(DepthLaw, OfTwoLayersChangesItsSlopeAtTheBreakAndStaysContinuous) {
  Bearing b = bekker(0.7, 2e3, 4e5);
  b.below = SecondLayer{.depth_m = 0.08, .n_below = 3};
  const DepthLaw law = *depth_law(b, 0.15), upper = *depth_law(bekker(0.7, 2e3, 4e5), 0.15);
  EXPECT_EQ(law.pressure_pa(0.05), upper.pressure_pa(0.05));
  EXPECT_NEAR(law.pressure_pa(0.08 + 1e-12), upper.pressure_pa(0.08), 1e-5);
  // By hand: twice the depth of the break, 2^3 times its pressure.
  EXPECT_NEAR(law.pressure_pa(0.16), 8 * upper.pressure_pa(0.08), 1e-9 * law.pressure_pa(0.16));
  EXPECT_NEAR(law.slope_pa_per_m(0.16), 3 * law.pressure_pa(0.16) / 0.16, 1e-6 * law.slope_pa_per_m(0.16));
  for (const double z : {0.01, 0.079, 0.08, 0.081, 0.2, 0.5}) EXPECT_NEAR(law.depth_m(law.pressure_pa(z)), z, 1e-12) << z;
  b.below->depth_m = 0;
  EXPECT_FALSE(depth_law(b, 0.15));
}

TEST(RutFloor, FollowsTheUnloadingLineDownAndTheUntouchedGroundBeyond) {
  const DepthLaw untouched = *depth_law(bekker(1.1, 1e3, 1.5e6), 0.2);
  const double zu = 0.05, pu = untouched.pressure_pa(zu), ku = 1e7;
  const DepthLaw law = *rut_floor(untouched, zu, Reload{.k0_pa_per_m = 8e6, .au_pa_per_m2 = 4e7});  // 8e6 + 4e7 * 0.05
  EXPECT_NEAR(law.floor_m, zu - pu / ku, 1e-15);
  EXPECT_NEAR(law.break_m, pu / ku, 1e-15);
  EXPECT_NEAR(law.pressure_pa(0.5 * pu / ku), 0.5 * pu, 1e-9 * pu);
  EXPECT_NEAR(law.pressure_pa(pu / ku * (1 + 1e-14)), pu, 1e-9 * pu);
  EXPECT_NEAR(law.pressure_pa(0.1 - law.floor_m), untouched.pressure_pa(0.1), 1e-9 * untouched.pressure_pa(0.1));
  for (const double z : {1e-4, 0.002, 0.01, 0.06}) EXPECT_NEAR(law.depth_m(law.pressure_pa(z)), z, 1e-13) << z;
  // A stiffness below pu / zu cannot be: the floor would lie above the surface.
  const DepthLaw soft = *rut_floor(untouched, zu, Reload{.k0_pa_per_m = 1});
  EXPECT_GE(soft.floor_m, 0);
  EXPECT_EQ(soft.k, untouched.slope_pa_per_m(zu));  // n > 1: the tangent is the steeper
}

TEST(RutFloor, GoesOnAlongTheLowerLayerOnceItIsReached) {
  Bearing b = single_plate(1, 1e6);
  b.below = SecondLayer{.depth_m = 0.04, .n_below = 4};
  const DepthLaw two = *depth_law(b, 0.2);
  EXPECT_FALSE(rut_floor(two, 0.03, Reload{.k0_pa_per_m = 1e8}));  // a third law would follow
  const DepthLaw law = *rut_floor(two, 0.06, Reload{.k0_pa_per_m = 1e8});
  EXPECT_NEAR(law.pressure_pa(0.08 - law.floor_m), two.pressure_pa(0.08), 1e-9 * two.pressure_pa(0.08));
}

RC_GTEST_PROP(RutFloor, IsMonotoneAndItsFloorLiesInTheRut, ()) {
  const DepthLaw untouched = *depth_law(single_plate(*between(0.3, 1.6), *between(1e5, 5e6)), 0.2);
  const double zu = *between(0.01, 0.2), ratio = *between(1, 40);
  const auto law = rut_floor(untouched, zu, Reload{.k0_pa_per_m = ratio * untouched.pressure_pa(zu) / zu});
  RC_ASSERT(law.has_value());
  RC_ASSERT(law->floor_m >= -1e-12 && law->floor_m < zu);
  double before = 0;
  for (int i = 1; i <= 40; ++i) {
    const double y = i * 0.01 * zu, p = law->pressure_pa(y);
    RC_ASSERT(p >= before);
    before = p;
  }
}

TEST(DepthLaw, AboveTheGroundThereIsNoPressureAndNotANumberStaysOne) {
  const DepthLaw law = *depth_law(bekker(0.8, 1000, 5000), 0.2);
  EXPECT_EQ(law.pressure_pa(0), 0);
  EXPECT_EQ(law.pressure_pa(-0.1), 0);
  EXPECT_EQ(law.slope_pa_per_m(-0.1), 0);
  EXPECT_EQ(law.slope_pa_per_m(0), kInf);  // n < 1: vertical tangent
  EXPECT_EQ(law.depth_m(0), 0);
  EXPECT_EQ(law.depth_m(-5), 0);
  EXPECT_TRUE(std::isnan(law.pressure_pa(kNan)));
  EXPECT_TRUE(std::isnan(law.slope_pa_per_m(kNan)));
  EXPECT_TRUE(std::isnan(law.depth_m(kNan)));
  EXPECT_EQ(depth_law(single_plate(1, 7e4), 0.2)->slope_pa_per_m(0), 7e4);
  EXPECT_EQ(depth_law(single_plate(1.3, 7e4), 0.2)->slope_pa_per_m(0), 0);
}

RC_GTEST_PROP(DepthLaw, DepthIsTheInverseOfPressureAndTheSlopeItsDerivative, ()) {
  const double n = *between(0.1, 2.0), b = *between(0.02, 0.6), z = *between(1e-4, 0.5);
  const int which = *whole(0, 4);
  const Bearing bearing = which == 0   ? bekker(n, *between(-2e3, 1e5), *between(2e5, 5e6))
                          : which == 1 ? reece(n, *between(0, 1e4), *between(1e3, 1e6))
                          : which == 2 ? single_plate(n, *between(1e4, 5e6))
                                       : muskeg(*between(1e4, 1e6), *between(0, 1e6));
  const auto law = depth_law(bearing, b);
  RC_ASSERT(law.has_value());
  const double p = law->pressure_pa(z);
  // z = (p/k)^(1/n) multiplies the rounding of p by 1/n <= 10.
  RC_ASSERT(std::abs(law->depth_m(p) - z) <= 1e-13 * z);
  // Central difference, error h^2 p'''/6 ~ 1e-10 of the slope and rounding ~ 1e-16 / 1e-5.
  const double h = 1e-5 * z;
  const double slope = (law->pressure_pa(z + h) - law->pressure_pa(z - h)) / (2 * h);
  RC_ASSERT(std::abs(law->slope_pa_per_m(z) - slope) <= 1e-8 * slope);
}

TEST(ShearStress, RisesToTheStrengthByJanosiAndHanamoto) {
  const Shear shear{.cohesion_pa = 1000, .tan_phi = 0.5, .shear_modulus_m = 0.02};
  EXPECT_DOUBLE_EQ(strength_pa(shear, 10000), 6000);
  EXPECT_EQ(shear_stress_pa(shear, 10000, 0), 0);
  EXPECT_NEAR(shear_stress_pa(shear, 10000, 0.02), 6000 * (1 - 1 / std::numbers::e), 1e-9);
  EXPECT_NEAR(shear_stress_pa(shear, 10000, 10), 6000, 1e-9);
  // Small displacements do not lose digits: tau = tau_max (j/K) (1 - j/(2K)) to order (j/K)^2.
  const double t = 1e-9 / 0.02;
  EXPECT_NEAR(shear_stress_pa(shear, 10000, 1e-9), 6000 * t * (1 - t / 2), 6000 * t * 1e-13);
  EXPECT_EQ(peak_displacement_m(shear), kInf);
}

TEST(ShearStress, OfAnOrganicMatPeaksAtKw) {
  const Shear shear{.law = ShearLaw::hump, .cohesion_pa = 2000, .tan_phi = 0.6, .shear_modulus_m = 0.15};
  const double top = 2000 + 0.6 * 5000;
  EXPECT_EQ(peak_displacement_m(shear), 0.15);
  EXPECT_NEAR(shear_stress_pa(shear, 5000, 0.15), top, 1e-9);
  EXPECT_NEAR(shear_stress_pa(shear, 5000, 0.3), top * 2 / std::numbers::e, 1e-9);
  EXPECT_LT(shear_stress_pa(shear, 5000, 0.149), top);
  EXPECT_LT(shear_stress_pa(shear, 5000, 0.151), top);
}

// Golden-section search, written out here so that the place of the peak is found without its formula.
double numeric_maximum(const std::function<double(double)>& f, double lo, double hi) {
  const double g = (std::sqrt(5.0) - 1) / 2;
  while (hi - lo > 1e-9) {
    const double a = hi - g * (hi - lo), b = lo + g * (hi - lo);
    (f(a) < f(b) ? lo : hi) = f(a) < f(b) ? a : b;
  }
  return (lo + hi) / 2;
}

TEST(ShearStress, WithPeakAndResidualIsTheStrengthAtKwAndItsShareFarOut) {
  for (const double kr : {0.1, 0.4, 0.66, 0.9, 1.0}) {
    const Shear shear{.law = ShearLaw::peak_residual, .cohesion_pa = 500, .tan_phi = 0.7,
                      .shear_modulus_m = 0.03, .residual_ratio = kr};
    const double top = 500 + 0.7 * 20000;
    EXPECT_NEAR(shear_stress_pa(shear, 20000, 0.03), top, 1e-9) << kr;
    EXPECT_NEAR(shear_stress_pa(shear, 20000, 5), kr * top, 1e-9) << kr;
    // The true peak lies elsewhere and a little higher.
    const auto tau = [&](double j) { return shear_stress_pa(shear, 20000, j); };
    const double peak = peak_displacement_m(shear);
    // A flat maximum is found to about the root of the rounding: 1e-8 of K, taken ten times.
    EXPECT_NEAR(peak, numeric_maximum(tau, 0, 0.5), 1e-7 * 0.3) << kr;
    EXPECT_GE(tau(peak), top) << kr;
    // Its height in closed form: with y = exp(-j/Kw) the law is Kr (1 + A y)(1 - y), at y = (A - 1)/(2A).
    const double a = std::numbers::e * (1 / (kr * (1 - 1 / std::numbers::e)) - 1);
    EXPECT_NEAR(tau(peak), top * kr * (a + 1) * (a + 1) / (4 * a), 1e-8) << kr;
  }
}

RC_GTEST_PROP(ShearStress, StaysBetweenZeroAndTheStrength, ()) {
  Shear shear{.cohesion_pa = *between(0, 1e5), .tan_phi = *between(0, 1), .shear_modulus_m = *between(1e-3, 0.2)};
  const double sigma = *between(0, 2e5), j = *between(0, 1);
  for (const ShearLaw law : {ShearLaw::exponential, ShearLaw::hump}) {
    shear.law = law;
    const double tau = shear_stress_pa(shear, sigma, j);
    RC_ASSERT(tau >= 0);
    RC_ASSERT(tau <= strength_pa(shear, sigma) * (1 + 1e-15));
  }
}

Soil good_soil() {
  Soil soil;
  soil.bearing = bekker(1.1, 990, 1528430);
  soil.shear = Shear{.cohesion_pa = 1040, .tan_phi = 0.53, .shear_modulus_m = 0.025};
  soil.reload = Reload{0, 5.03e8};
  soil.smooth_metal = InterfaceStrength{200, 0.3};
  soil.density_kg_m3 = 1600;
  soil.c1 = 0.2;
  soil.c2 = 0.3;
  soil.c1_braking = 0.4;
  soil.c2_braking = 0.1;
  soil.exit_ratio = 0.1;
  soil.slip_exponent = 0.2;
  soil.surface_friction = 0.7;
  return soil;
}

std::vector<base::Problem> problems_of(const Soil& soil) {
  base::Problems problems;
  check_soil(soil, {.file = "soils/a.toml", .key = "soil"}, problems);
  return problems.list();
}

TEST(CheckSoil, AcceptsASoundSoilAndAnEmptyOne) {
  EXPECT_TRUE(problems_of(good_soil()).empty());
  EXPECT_TRUE(problems_of(Soil{}).empty());
  for (const NamedSoil& soil : textbook_soils()) EXPECT_TRUE(problems_of(soil.soil).empty()) << soil.id;
}

TEST(CheckSoil, RefusesNotANumberAndEveryBoundByItsKey) {
  using Set = std::function<void(Soil&, double)>;
  struct Case {
    const char* key;
    Set set;
    double low, high;          // inside: between them
    bool low_in, high_in;      // whether the ends themselves are accepted
  };
  const std::vector<Case> cases = {
      {"n", [](Soil& s, double x) { s.bearing->n = x; }, 0, 3, false, true},
      {"cohesion", [](Soil& s, double x) { s.shear->cohesion_pa = x; }, 0, 1e7, true, true},
      {"tan_phi", [](Soil& s, double x) { s.shear->tan_phi = x; }, 0, 2, true, true},
      {"shear_modulus", [](Soil& s, double x) { s.shear->shear_modulus_m = x; }, 0, 1, false, true},
      {"residual_ratio", [](Soil& s, double x) { s.shear->residual_ratio = x; }, 0, 1, false, true},
      {"density", [](Soil& s, double x) { s.density_kg_m3 = x; }, 100, 5000, true, true},
      {"c1", [](Soil& s, double x) { s.c1 = x; }, 0, 0.7, true, true},  // c2 = 0.3
      {"c2", [](Soil& s, double x) { s.c2 = x; }, 0, 0.8, true, true},  // c1 = 0.2
      {"c1_braking", [](Soil& s, double x) { s.c1_braking = x; }, 0, 0.9, true, true},
      {"c2_braking", [](Soil& s, double x) { s.c2_braking = x; }, 0, 0.6, true, true},
      {"exit_ratio", [](Soil& s, double x) { s.exit_ratio = x; }, 0, 1, true, false},
      {"slip_exponent", [](Soil& s, double x) { s.slip_exponent = x; }, 0, 3, true, true},
      {"surface_friction", [](Soil& s, double x) { s.surface_friction = x; }, 0, 2, true, true},
      {"wheel_k_ratio", [](Soil& s, double x) { s.wheel_k_ratio = x; }, 0, 100, false, true},
      {"k0", [](Soil& s, double x) { s.reload->k0_pa_per_m = x; }, 0, kInf, true, false},
      {"au", [](Soil& s, double x) { s.reload->au_pa_per_m2 = x; }, -kInf, kInf, false, false},
      {"adhesion", [](Soil& s, double x) { s.smooth_metal->adhesion_pa = x; }, 0, 1e7, true, true},
      {"tan_delta", [](Soil& s, double x) { s.smooth_metal->tan_delta = x; }, 0, 2, true, true},
      {"moduli", [](Soil& s, double x) { s.bearing = single_plate(1, x); }, 0, kInf, false, false},
  };
  const auto refused = [](const Case& c, double x) {
    Soil soil = good_soil();
    c.set(soil, x);
    const auto list = problems_of(soil);
    for (const base::Problem& p : list) {
      EXPECT_EQ(p.severity, base::Severity::refusal);
      EXPECT_FALSE(p.what.empty() || p.bound.empty() || p.remedy.empty()) << p.text();
    }
    if (list.empty()) return false;
    // c1 and c2 share one bound, told at c1.
    const std::string key = list.front().place.key, own = "soil." + std::string(c.key);
    const bool pair = own.substr(0, 7) == "soil.c2" && key == "soil.c1" + own.substr(7);
    EXPECT_TRUE(key == own || pair) << c.key << " was told as " << key;
    EXPECT_EQ(list.front().place.file, "soils/a.toml");
    return true;
  };
  for (const Case& c : cases) {
    EXPECT_TRUE(refused(c, kNan)) << c.key;
    EXPECT_EQ(refused(c, c.low), !c.low_in) << c.key;
    EXPECT_EQ(refused(c, c.high), !c.high_in) << c.key;
    if (std::isfinite(c.low)) {
      EXPECT_TRUE(refused(c, c.low - 1e-9 * std::max(1.0, std::abs(c.low)))) << c.key;
    }
    if (std::isfinite(c.high)) {
      EXPECT_TRUE(refused(c, c.high + 1e-9 * c.high)) << c.key;
      EXPECT_FALSE(refused(c, (c.low + c.high) / 2)) << c.key;
    }
  }
}

TEST(CheckSoil, JudgesTheModuliLawByLaw) {
  const auto refused = [](const Bearing& bearing) {
    Soil soil;
    soil.bearing = bearing;
    return !problems_of(soil).empty();
  };
  EXPECT_FALSE(refused(bekker(1, -50, 1000)));  // positive on wide plates
  EXPECT_FALSE(refused(bekker(1, 50, -1000)));  // positive on narrow ones
  EXPECT_TRUE(refused(bekker(1, 0, 0)));
  EXPECT_TRUE(refused(bekker(1, -50, 0)));
  EXPECT_TRUE(refused(bekker(1, kNan, 1000)));
  EXPECT_TRUE(refused(bekker(1, 50, kInf)));
  EXPECT_FALSE(refused(reece(1, 0, 1000)));
  EXPECT_TRUE(refused(reece(1, -1, -1)));
  EXPECT_FALSE(refused(muskeg(1000, 0)));
  EXPECT_TRUE(refused(muskeg(0, 1000)));
  EXPECT_TRUE(refused(muskeg(1000, -1)));
}

TEST(CheckSoil, CountsAnAbsentC2AsAssumed) {
  Soil soil;
  soil.c1 = 0.7;  // with the assumed 0.32 over 1
  ASSERT_EQ(problems_of(soil).size(), 1u);
  soil.c1 = 0.68;
  EXPECT_TRUE(problems_of(soil).empty());
}

}  // namespace
}  // namespace hardpan::soil
