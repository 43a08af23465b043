// SPDX-License-Identifier: Apache-2.0
#include "units/heading.hpp"

#include <gtest/gtest.h>

#include <numbers>
#include <ostream>

#include "units/detail/further_units.hpp"

namespace hardpan::units {
namespace {

using D = Dimension;
constexpr double kPi = std::numbers::pi;
// NIST SP 811 (2008), appendix B.8, exact unless said: pound-force 4.448 221 615 260 5 N, psi
// 6894.757 293 168 36 Pa (rounded there), inch 0.0254 m, foot 0.3048 m, mile 1609.344 m.
constexpr double kLbf = 4.4482216152605;
constexpr double kPsi = 6894.75729316836;

struct GoodHeading {
  const char* text;
  const char* name;
  Dimension dimension;
  double factor;
};
void PrintTo(const GoodHeading& row, std::ostream* out) { *out << row.text; }

// Written from the habits of load-cell, encoder and penetrometer loggers and of paper sheets.
const GoodHeading kGood[] = {
    {"Load (lbf)", "Load", D::force, kLbf},
    {"Sinkage [mm]", "Sinkage", D::length, 1e-3},
    {"Drawbar pull, kN", "Drawbar pull", D::force, 1e3},
    {"pressure_kPa", "pressure", D::pressure, 1e3},
    {"Zeit [s]", "Zeit", D::time, 1.0},
    {"Depth/mm", "Depth", D::length, 1e-3},
    {"angle deg", "angle", D::angle, kPi / 180.0},
    {"Torque N\u00b7m", "Torque", D::torque, 1.0},
    {"Speed_km/h", "Speed", D::speed, 1.0 / 3.6},
    {"z_mm", "z", D::length, 1e-3},
    {"F [kgf]", "F", D::force, 9.80665},
    {"Slip %", "Slip", D::none, 0.01},
    {"Ground speed (mph)", "Ground speed", D::speed, 0.44704},
    {"V m/s", "V", D::speed, 1.0},
    {"Kraft in kN", "Kraft", D::force, 1e3},
    {"Weg in mm", "Weg", D::length, 1e-3},
    {"Schlupf [%]", "Schlupf", D::none, 0.01},
    {"Drehmoment [Nm]", "Drehmoment", D::torque, 1.0},
    {"Drehzahl [1/min]", "Drehzahl", D::angular_speed, kPi / 30.0},
    {"Motordrehzahl (U/min)", "Motordrehzahl", D::angular_speed, kPi / 30.0},
    {"Zugkraft [daN]", "Zugkraft", D::force, 10.0},
    {"Spannung / V", "Spannung", D::voltage, 1.0},
    {"Strom, A", "Strom", D::current, 1.0},
    {"Effort de traction (daN)", "Effort de traction", D::force, 10.0},
    {"Profondeur (cm)", "Profondeur", D::length, 1e-2},
    {"Dragkraft [kN]", "Dragkraft", D::force, 1e3},
    {"Sjunkdjup [mm]", "Sjunkdjup", D::length, 1e-3},
    {"Varvtal [varv/min]", "Varvtal", D::angular_speed, kPi / 30.0},
    {"LOAD (KN)", "LOAD", D::force, 1e3},
    {"PRESSURE (PSI)", "PRESSURE", D::pressure, kPsi},
    {"Cone index, psi", "Cone index", D::pressure, kPsi},
    {"cone_resistance_MPa", "cone_resistance", D::pressure, 1e6},
    {"Tyre inflation (bar)", "Tyre inflation", D::pressure, 1e5},
    {"Plate dia. (in.)", "Plate dia.", D::length, 0.0254},
    {"Sinkage, in", "Sinkage", D::length, 0.0254},
    {"Distance (ft)", "Distance", D::length, 0.3048},
    {"depth_m", "depth", D::length, 1.0},
    {"load_N", "load", D::force, 1.0},
    {"torque_Nm", "torque", D::torque, 1.0},
    {"torque_N_m", "torque", D::torque, 1.0},
    {"density_kg_m3", "density", D::density, 1.0},
    {"bulk density (g/cm\u00b3)", "bulk density", D::density, 1e3},
    {"Dry density (Mg/m3)", "Dry density", D::density, 1e3},
    {"Unit weight [kN/m\u00b3]", "Unit weight", D::unit_weight, 1e3},
    {"Moisture (% w/w)", "Moisture", D::none, 0.01},
    {"moisture_pct", "moisture", D::none, 0.01},
    {"Wheel turns", "Wheel turns", D::angle, 2.0 * kPi},
    {"Wheel speed (rpm)", "Wheel speed", D::angular_speed, kPi / 30.0},
    {"gyro_z_deg_s", "gyro_z", D::angular_speed, kPi / 180.0},
    {"acc_x [m/s\u00b2]", "acc_x", D::acceleration, 1.0},
    {"Battery current (A)", "Battery current", D::current, 1.0},
    {"Energy used (Wh)", "Energy used", D::energy, 3600.0},
    {"Charge out [Ah]", "Charge out", D::charge, 3600.0},
    {"Motor power kW", "Motor power", D::power, 1e3},
    {"Frame stiffness (N/mm)", "Frame stiffness", D::stiffness, 1e3},
    {"Torque (ft-lb)", "Torque", D::torque, 0.3048 * kLbf},
    {"Vane torque [lbf in]", "Vane torque", D::torque, 0.0254 * kLbf},
    {"Gradient [% grade]", "Gradient", D::angle, 1.0},
    {"Load cell output (mV/V)", "Load cell output", D::none, 1e-3},
    {"Soil temp (\u00b0C)", "Soil temp", D::temperature, 1.0},
    {"Load (front) [kN]", "Load (front)", D::force, 1e3},
    {"Load kN (front)", "Load (front)", D::force, 1e3},
    {"Wet soil + tin (g)", "Wet soil + tin", D::mass, 1e-3},
    {"Axle weight (kg)", "Axle weight", D::mass, 1.0},
    {"time_ms", "time", D::time, 1e-3},
    {"t/s", "t", D::time, 1.0},
    {"F/N", "F", D::force, 1.0},
    {"v/(m/s)", "v", D::speed, 1.0},
    {"\"Sinkage [mm]\"", "Sinkage", D::length, 1e-3},
    {"\xEF\xBB\xBFTime (s)", "Time", D::time, 1.0},
    {"Angle (\xB0)", "Angle", D::angle, kPi / 180.0},       // a Windows-1252 file
    {"Angle (\u00c2\u00b0)", "Angle", D::angle, kPi / 180.0},  // the same, converted twice
    {"drawbar_pull_N", "drawbar_pull", D::force, 1.0},
    {"Load (1) [kN]", "Load (1)", D::force, 1e3},
    {"Load cell (A) [kN]", "Load cell (A)", D::force, 1e3},
    {"Axle (1) load (A) [kN]", "Axle (1) load (A)", D::force, 1e3},
    {"Load kN (A)", "Load (A)", D::force, 1e3},
    {"Force (+ve down) [N]", "Force (+ve down)", D::force, 1.0},
    {"max load kN", "max load", D::force, 1e3},
    {"friction_ratio_percent", "friction_ratio", D::none, 0.01},
};
static_assert(std::size(kGood) >= 60);

class HeadingOfARealRecord : public testing::TestWithParam<GoodHeading> {};
TEST_P(HeadingOfARealRecord, GivesNameDimensionAndFactor) {
  const GoodHeading& row = GetParam();
  const Heading heading = read_heading(row.text);
  ASSERT_TRUE(heading.unit.has_value()) << row.text << ": " << heading.error;
  EXPECT_EQ(heading.name, row.name);
  EXPECT_EQ(name(heading.unit->dimension), name(row.dimension)) << row.text;
  EXPECT_NEAR(heading.unit->factor / row.factor, 1.0, 1e-14) << row.text;  // rounding of published digits
  EXPECT_TRUE(accept_heading(heading, row.dimension).unit.has_value());
}
INSTANTIATE_TEST_SUITE_P(Heading, HeadingOfARealRecord, testing::ValuesIn(kGood));

struct BadHeading {
  const char* text;
  Dimension expected;
  const char* error_has;
  const char* remedy_has;
};
void PrintTo(const BadHeading& row, std::ostream* out) { *out << row.text; }

const BadHeading kBad[] = {
    {"Load (lb)", D::force, "a mass, a force is expected", "lbf"},
    {"Load [lbs]", D::force, "a mass, a force is expected", "lbf"},
    {"Pull (kg)", D::force, "a mass, a force is expected", "kgf"},
    {"Drawbar pull (t)", D::force, "a mass, a force is expected", "tf"},
    {"Weight (N)", D::mass, "a force, a mass is expected", "kg"},
    {"Load (oz)", D::force, "may be a mass, a force or a volume", "ozf"},
    {"Pull, oz", D::force, "may be a mass", "ozf"},
    {"Modulus (kPa/m^0.9)", D::pressure, "no whole number", "beside its n"},
    {"kphi [kN/m^(n+2)]", D::pressure, "no whole number", "beside its n"},
    {"Slope (%)", D::angle, "a ratio, an angle is expected", "% grade"},
    {"Grade %", D::angle, "a ratio, an angle is expected", "% grade"},
    {"Pressure (#/in2)", D::pressure, "uses # for pounds", "psi"},
    {"Load, #", D::force, "uses # for pounds", "lbf"},
    {"Acceleration (g)", D::acceleration, "a mass, an acceleration is expected", "g0"},
    {"Load (g)", D::force, "a mass, a force is expected", "kgf"},
    {"Load (F)", D::force, "farad", "lbf"},
    {"Temp (C)", D::temperature, "coulomb", "degC"},
    {"Torque (T)", D::torque, "tesla", "N m"},
    {"Torque (nm)", D::torque, "nanometres", "N m"},
    {"Pressure (mPa)", D::pressure, "millipascal", "MPa"},
    {"Speed (kn)", D::speed, "knots", "knot"},
    {"Weight (ton)", D::mass, "907", "t for"},
    {"Pressure (kg/cm2)", D::pressure, "a mass, not a force", "kgf/cm^2"},
    {"Encoder (ticks)", D::angle, "raw reading", "calibration"},
    {"Load (MN/m)", D::force, "a stiffness, a force is expected", "lbf"},
    {"Load (V)", D::force, "a voltage, a force is expected", "kN"},
    {"Load kN (lbf)", D::force, "two units", "leave the one"},
    {"Speed (mph) [km/h]", D::speed, "two units", "leave the one"},
    {"Cell (A) (V)", D::voltage, "two units", "leave the one"},  // each once made the other a label
    {"Current mA (A)", D::current, "two units", "leave the one"},
    {"Load (lbf) x 1000", D::force, "multiplies", "scale"},
    {"Load \u00d710 N", D::force, "multiplies", "scale"},
    {"Load (x10 N)", D::force, "multiplies", "kN"},
    {"Load (10^3 N)", D::force, "multiplies", "kN"},
    {"Load", D::force, "names no unit", "\"Load (N)\""},
    {"Slip", D::none, "names no unit", "\"Slip (%)\""},
    {"Load (front)", D::force, "names no unit", "(N)\""},
    {"Gradient", D::angle, "names no unit", "\"Gradient (deg)\""},
    {"velL", D::speed, "names no unit", "(m/s)"},
    {"Wheel speed (Hz)", D::angular_speed, "a frequency", "rev/s"},
    {"Slip (deg)", D::none, "an angle, a ratio is expected", "%"},
    {"Tyre pressure (psia)", D::pressure, "absolute", "subtract"},
};
static_assert(std::size(kBad) >= 20);

class HeadingThatMustBeRefused : public testing::TestWithParam<BadHeading> {};
TEST_P(HeadingThatMustBeRefused, SaysWhyAndWhatToWrite) {
  const BadHeading& row = GetParam();
  const UnitLookup found = accept_heading(read_heading(row.text), row.expected);
  EXPECT_FALSE(found.unit.has_value()) << row.text << " was read as " << found.unit->spelling;
  EXPECT_NE(found.error.find(row.error_has), std::string::npos) << row.text << ": " << found.error;
  EXPECT_NE(found.remedy.find(row.remedy_has), std::string::npos) << row.text << ": " << found.remedy;
}
INSTANTIATE_TEST_SUITE_P(Heading, HeadingThatMustBeRefused, testing::ValuesIn(kBad));

class HeadingWithoutUnit : public testing::TestWithParam<const char*> {};
TEST_P(HeadingWithoutUnit, IsNotReadAsOne) {
  const Heading heading = read_heading(GetParam());
  EXPECT_FALSE(heading.unit.has_value()) << heading.unit->spelling;
  EXPECT_FALSE(heading.unit_text.has_value()) << *heading.unit_text;
  EXPECT_EQ(heading.name, GetParam());
  EXPECT_EQ(heading.error, "");
}
INSTANTIATE_TEST_SUITE_P(
    Heading, HeadingWithoutUnit,
    testing::Values("point", "test", "time", "run no", "min depth", "remark", "T", "V", "Load cell A", "velL", "velR", "curL",
                    "Point N", "Test A", "T_min", "depth min", "Draw bar", "run in", "plug in", "F_N", "I_A", "v_m", "p_m", "Kpa5",
                    "F5cm", "soil_moist", "O_horizon", "Wheel L/R", "date", "Operator", "Soil_class", "Waypoint", "a", "m", "s", "N",
                    "x_N_m", "kc_kN_m_n1", "Northing", "set", "mode", "pitch", "h", "in", "min", "bar", "day", "second", "Last Rad", "Kraft rad",
                    "zone", "pass", "Load cell B", "grouser_count", "void_ratio", "soil", "1st motor position", "Angle", "dang"));

TEST(Heading, ANameIsKeptWhenItsTurnsAreCounted) {
  const Heading heading = read_heading("Turns");
  EXPECT_EQ(heading.name, "Turns");
  ASSERT_TRUE(heading.unit);
  EXPECT_DOUBLE_EQ(heading.unit->factor, 2.0 * kPi);
}

TEST(Heading, MassUnitsStandForForceOnlyWhenTheRecordSaysSo) {
  const Heading heading = read_heading("Load (lb)");
  EXPECT_FALSE(accept_heading(heading, D::force).unit);
  const UnitLookup found = accept_heading(heading, D::force, {.mass_units_mean_standard_force = true});
  ASSERT_TRUE(found.unit);
  EXPECT_NEAR(found.unit->factor, kLbf, 1e-14);
  EXPECT_EQ(found.unit->dimension, D::force);
  // The rule speaks of forces; it does not turn a mass into a pressure.
  EXPECT_FALSE(accept_heading(heading, D::pressure, {.mass_units_mean_standard_force = true}).unit);
}

TEST(Heading, ReadsTheUnitRowOfALoggerFileCellByCell) {
  // Second line of a robot's log as published with its raw data: ms, m/s, rad/s, ticks, A, pix, deg, mm.
  EXPECT_EQ(find_unit("ms")->dimension, D::time);
  EXPECT_EQ(find_unit("m/s")->dimension, D::speed);
  EXPECT_EQ(find_unit("rad/s")->dimension, D::angular_speed);
  EXPECT_EQ(find_unit("A")->dimension, D::current);
  EXPECT_EQ(find_unit("deg")->dimension, D::angle);
  EXPECT_FALSE(find_unit("ticks"));
  EXPECT_FALSE(find_unit("pix"));
}

// Found by fuzzing: "ppm2" after a comma was neither a unit nor refused.
TEST(Heading, AUnitOrARefusalIsGivenForAPowerOfAShare) {
  const Heading h = read_heading("F,ppm2");
  const UnitLookup column = accept_heading(h, Dimension::force);
  EXPECT_FALSE(column.unit);
  EXPECT_FALSE(column.error.empty());
}

}  // namespace
}  // namespace hardpan::units
