// SPDX-License-Identifier: Apache-2.0
// Every physical constant of the program, once, in SI, grouped by where its value comes from.
// Sources: "SI 2019" is the SI Brochure, 9th edition, BIPM 2019; "SP 811" is NIST Special
// Publication 811, Thompson and Taylor 2008, appendix B; "1959" is the agreement of that year on
// the international yard and pound (0.9144 m, 0.45359237 kg, both exact).
#pragma once

#include <numbers>

namespace hardpan::units {

// ---- Defined: exact by agreement --------------------------------------------------------------

// Standard acceleration of free fall, m/s^2. CGPM 1901, third conference; SP 811. It defines the
// kilogram-force and pound-force and is NOT the gravity of any place: weights use the local value.
inline constexpr double kStandardGravity_mps2 = 9.80665;
inline constexpr double kSpeedOfLight_mps = 299792458.0;         // SI 2019, defined

inline constexpr double kPound_kg = 0.45359237;                  // avoirdupois pound, 1959
inline constexpr double kOunce_kg = kPound_kg / 16.0;            // avoirdupois ounce, 1959
inline constexpr double kYard_m = 0.9144;                        // 1959
inline constexpr double kFoot_m = 0.3048;                        // a third of a yard, 1959
inline constexpr double kInch_m = 0.0254;                        // a twelfth of a foot, 1959
inline constexpr double kMile_m = 5280.0 * kFoot_m;              // 1609.344 m, 1959
inline constexpr double kNauticalMile_m = 1852.0;                // hydrographic conference, 1929
inline constexpr double kTonne_kg = 1000.0;                      // SI 2019, table 8
inline constexpr double kKilogramForce_n = kStandardGravity_mps2;             // also kilopond; SP 811
inline constexpr double kPoundForce_n = kPound_kg * kStandardGravity_mps2;    // 4.4482216152605, SP 811
inline constexpr double kPsi_pa = kPoundForce_n / (kInch_m * kInch_m);        // 6894.757..., SP 811
inline constexpr double kPsf_pa = kPoundForce_n / (kFoot_m * kFoot_m);        // 47.88026, SP 811
inline constexpr double kBar_pa = 1.0e5;                                      // SP 811
inline constexpr double kAtmosphere_pa = 101325.0;                            // CGPM 1954; SP 811
inline constexpr double kTechnicalAtmosphere_pa = kKilogramForce_n / 1.0e-4;  // kgf/cm^2; SP 811
inline constexpr double kHorsepower_w = 550.0 * kFoot_m * kPoundForce_n;      // 745.6999, SP 811
inline constexpr double kMetricHorsepower_w = 75.0 * kKilogramForce_n;        // 735.49875, SP 811
inline constexpr double kMinute_s = 60.0;                                     // SI 2019, table 8
inline constexpr double kHour_s = 3600.0;                                     // SI 2019, table 8
inline constexpr double kDay_s = 86400.0;                                     // SI 2019, table 8
inline constexpr double kLitre_m3 = 1.0e-3;                                   // SI 2019, table 8
inline constexpr double kTurn_rad = 2.0 * std::numbers::pi;                   // geometry
inline constexpr double kDegree_rad = std::numbers::pi / 180.0;               // SI 2019, table 8
inline constexpr double kGon_rad = std::numbers::pi / 200.0;                  // ISO 80000-3:2019
inline constexpr double kCelsiusZero_k = 273.15;                              // SI 2019, 2.3.1
inline constexpr double kFahrenheitZero_k = 459.67 * 5.0 / 9.0;               // SP 811, B.8
inline constexpr double kFahrenheitStep_k = 5.0 / 9.0;                        // SP 811, B.8

// Normal gravity on the WGS 84 ellipsoid: defined parameters from which it is computed in
// gravity.hpp. NGA.STND.0036, 2014, chapter 4 (values from memory; checked by a test against the
// closed formula's published value at 45 deg).
inline constexpr double kNormalGravityEquator_mps2 = 9.7803253359;
inline constexpr double kNormalGravityFormula = 0.00193185265241;  // k, dimensionless
inline constexpr double kEllipsoidEccentricitySquared = 0.00669437999014;

// ---- Measured ---------------------------------------------------------------------------------

// Surface gravity, m/s^2. Values from memory after the planetary fact sheets of NASA's space
// science data archive (Williams, read about 2020); local values differ by a few parts in
// a thousand (Moon) to half a percent (Mars).
inline constexpr double kMoonGravity_mps2 = 1.62;
inline constexpr double kMarsGravity_mps2 = 3.71;

// ---- Chosen by us -----------------------------------------------------------------------------

// Gravity assumed for a campaign on Earth whose file names neither a value nor a latitude: none.
// There is no such default; the campaign file must say.

// Free-air decrease of gravity with height, 1/s^2: 2 g / R with g = 9.81 m/s^2 and R = 6371 km gives
// 3.08e-6; the conventional figure is 0.3086 mGal/m (common practice, no source).
inline constexpr double kFreeAirGradient_per_s2 = 3.086e-6;

}  // namespace hardpan::units
