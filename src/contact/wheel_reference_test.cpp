// SPDX-License-Identifier: Apache-2.0
// Two hundred random wheels against SciPy (tools/wheel_reference.py: adaptive quadrature, scan and
// brentq, no code shared), every column of every row.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "contact/wheel_soil.hpp"

namespace hardpan::contact {
namespace {

struct Row {
  std::map<std::string, std::string> text;
  [[nodiscard]] double number(const std::string& key) const { return std::stod(text.at(key)); }
  [[nodiscard]] const std::string& word(const std::string& key) const { return text.at(key); }
};

std::vector<Row> read_rows() {
  std::ifstream file(std::string(HARDPAN_SOURCE_DIR) + "/tests/data/wheel_reference.csv");
  std::string line;
  std::vector<std::string> header;
  std::vector<Row> rows;
  while (std::getline(file, line)) {
    if (line.empty() || line[0] == '#') continue;
    std::vector<std::string> cells;
    std::stringstream stream(line);
    for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
    if (header.empty()) {
      header = cells;
      continue;
    }
    Row row;
    for (std::size_t i = 0; i < header.size(); ++i) row.text[header[i]] = i < cells.size() ? cells[i] : "nan";
    rows.push_back(row);
  }
  return rows;
}

Contact contact_of(const Row& row) {
  vehicle::Wheel wheel;
  wheel.radius_m = row.number("radius_m");
  wheel.width_m = row.number("width_m");
  wheel.grouser_height_m = row.number("grouser_height_m");
  wheel.grouser_count = wheel.grouser_height_m > 0 ? 24 : 0;
  if (row.number("stiffness_n_per_m") > 0) {
    wheel.flex = vehicle::Flex{.stiffness_n_per_m = row.number("stiffness_n_per_m"),
                               .hysteresis_share = row.number("hysteresis_share")};
    if (row.number("rolling_radius_m") > 0) wheel.rolling_radius_m = row.number("rolling_radius_m");
  }
  soil::Soil soil;
  const double n = row.number("n"), first = row.number("first_modulus"), second = row.number("second_modulus");
  soil.bearing = row.word("law") == "bekker"  ? soil::bekker(n, first, second)
                 : row.word("law") == "reece" ? soil::reece(n, first, second)
                                              : soil::muskeg(first, second);
  soil.shear = soil::Shear{.law = row.word("shear_law") == "exponential" ? soil::ShearLaw::exponential
                                  : row.word("shear_law") == "hump"      ? soil::ShearLaw::hump
                                                                         : soil::ShearLaw::peak_residual,
                           .cohesion_pa = row.number("cohesion_pa"),
                           .tan_phi = row.number("tan_phi"),
                           .shear_modulus_m = row.number("shear_modulus_m"),
                           .residual_ratio = row.number("residual_ratio")};
  if (row.number("adhesion_pa") >= 0) {
    soil.smooth_metal = soil::InterfaceStrength{row.number("adhesion_pa"), row.number("tan_delta")};
  }
  if (row.number("rebound_k0") > 0) soil.reload = soil::Reload{row.number("rebound_k0"), row.number("rebound_au")};
  if (row.number("exit_ratio") > 0) soil.exit_ratio = row.number("exit_ratio");
  soil.density_kg_m3 = row.number("density_kg_m3");
  soil.c1 = row.number("c1");
  soil.c2 = row.number("c2");
  soil.c1_braking = row.number("c1_braking");
  soil.c2_braking = row.number("c2_braking");
  ContactOptions options{.gravity_m_s2 = row.number("gravity_m_s2"), .side_slip = true};
  if (row.word("slip_rule") == "exponent") {
    options.slip_sinkage = soil::SlipSinkage::exponent;
    soil.slip_exponent = row.number("slip_exponent");
  } else if (row.word("slip_rule") == "stretch") {
    options.slip_sinkage = soil::SlipSinkage::stretch;
  }
  base::Problems problems;
  const auto contact = make_contact(wheel, soil, options, {.key = "row"}, problems);
  EXPECT_FALSE(problems.refused());
  return contact.value();
}

// Both sides solve to 1e-10 of the load or better and integrate to 1e-8 or better; 1e-7 of the value is asked.
// Pull is a difference of two sums that may cancel, and side force and torque may vanish: they are held
// to 1e-7 of the load (times the arm for torque).
constexpr double kAsked = 1e-7;

void compare(const Row& row, const WheelAnswer& got) {
  const std::string about = "case " + row.word("case") + " (" + row.word("kind") + ")";
  const std::string& status = row.word("status");
  if (status == "bogs_down") {
    ASSERT_EQ(got.status, WheelStatus::bogs_down) << about << ": " << name(got.status);
    // The script takes the largest of 120 grid points, the program climbs to the crest: never lower, and
    // within what a parabola misses between grid points.
    EXPECT_GE(got.largest_load_n, row.number("largest_load_n") * (1 - 1e-7)) << about;
    EXPECT_LE(got.largest_load_n, row.number("largest_load_n") * 1.002) << about;
    return;
  }
  ASSERT_EQ(got.status, WheelStatus::carried) << about << ": " << name(got.status) << ", " << name(got.solve.status);
  const double load = row.number("load_n");
  const auto near = [&](const char* column, double value, double scale) {
    EXPECT_NEAR(value, row.number(column), kAsked * scale) << about << " " << column;
  };
  near("entry_angle_rad", got.entry_angle_rad, got.entry_angle_rad);
  near("exit_angle_rad", got.exit_angle_rad, got.entry_angle_rad);
  near("peak_stress_angle_rad", got.peak_stress_angle_rad, got.entry_angle_rad);
  near("sinkage_m", got.sinkage_m, got.sinkage_m);
  near("deflection_m", got.deflection_m, got.sinkage_m);
  near("pull_n", got.pull_n, load);
  near("torque_n_m", got.torque_n_m, load * got.torque_radius_m);
  near("side_force_n", got.side_force_n, load);
  near("max_normal_stress_pa", got.max_normal_stress_pa, got.max_normal_stress_pa);
}

TEST(WheelAgainstSciPy, TwoHundredRowsAgreeInEveryColumn) {
  const std::vector<Row> rows = read_rows();
  ASSERT_EQ(rows.size(), 200U);
  for (const Row& row : rows) {
    compare(row, wheel_at_load(contact_of(row), row.number("load_n"), row.number("slip_ratio"), row.number("slip_angle_rad")));
  }
}

TEST(WheelAgainstSciPy, AnyGuessGivesTheSameAnswer) {
  for (const Row& row : read_rows()) {
    const Contact contact = contact_of(row);
    for (const double guess : {0.02, 0.3, 1.2}) {
      compare(row, wheel_at_load(contact, row.number("load_n"), row.number("slip_ratio"), row.number("slip_angle_rad"), guess));
    }
  }
}

}  // namespace
}  // namespace hardpan::contact
