// SPDX-License-Identifier: Apache-2.0
// Ground tests as read from field sheets and loggers: SI, signs as the instrument gave them, nothing
// reduced yet. One struct is one test (one plate push, one ring turn, one cone push) at one point.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "records/instrument.hpp"

namespace hardpan::records {

// Where a test came from and under what conditions; every result can be traced to it.
struct TestSource {
  std::string id;            // unique in the campaign: record id, or record id + "/" + test column value
  std::string file;
  std::string record;        // [[record]] id
  std::string point;         // may be empty when unknown
  std::string zone;
  std::string instrument;
  std::string operator_name;
  std::string time;          // ISO 8601 local, may be empty
  std::string condition;     // id of the campaign's [[condition]] that the sheet tells, may be empty
  std::optional<double> clock_s;   // seconds since 1970, for drift
  std::optional<double> tilt_rad;
  std::string remark;
  std::vector<std::string> downgrades;  // "calibration out of date", "span check failed": by name
};

struct PlateTest {
  TestSource source;
  Plate plate;
  // Rows in file order. sinkage_m is raw (before contact and frame correction), load_n total on the plate.
  std::vector<double> sinkage_m, load_n;
  std::vector<double> time_s;        // empty, or as long as the others
  std::vector<std::size_t> line;     // line in the file of each row
  bool zero_taken = false;           // the instrument was zeroed before the test, or rows mark the zero
  std::optional<int> order_in_point;  // 1 = first push of the pair
  std::optional<double> rate_m_per_s;
};

enum class ShearTool { ring, plate, box };

struct ShearTest {
  TestSource source;
  ShearTool tool = ShearTool::ring;
  std::optional<double> inner_radius_m, outer_radius_m;  // ring
  std::optional<double> length_m, width_m;               // plate, box
  double vertical_load_n = 0;         // with the tool's own weight
  // Ring: rotation [rad] and torque [N m]; plate and box: displacement [m] and force [N].
  std::vector<double> travel, effort;
  std::vector<double> time_s;
  std::vector<std::size_t> line;
  bool smooth_metal = false;          // interface test: adhesion and delta
};

struct ConeTest {
  TestSource source;
  double base_area_m2 = 0;
  std::optional<double> cone_angle_rad;
  std::vector<double> depth_m, resistance_pa;  // resistance = force over base area
  std::vector<std::size_t> line;
  std::optional<double> remoulding_index;
  std::optional<double> rate_m_per_s;
  bool drop_cone = false;             // dynamic: resistance from counted drops
  std::vector<double> drops;          // drop cone: counted since the start, one a row; empty when not recorded
  std::string population;             // where one file holds several cones or classes; may be empty
};

enum class ReposeKind { poured_pile, slip_face, slide_start };  // three different angles, kept apart

struct ReposeTest {
  TestSource source;
  ReposeKind kind = ReposeKind::poured_pile;
  double angle_rad = 0;
  std::optional<double> height_m, base_diameter_m;  // poured pile: tan = 2 h / d
  std::optional<double> angle_sd_rad;
};

struct DensityTest {
  TestSource source;
  double mass_kg = 0, volume_m3 = 0;
  std::optional<double> mass_sd_kg, volume_sd_m3;
  std::optional<double> depth_m;
};

struct MoistureTest {
  TestSource source;
  double wet_kg = 0, dry_kg = 0, tare_kg = 0;
  std::optional<double> scale_sd_kg;
  std::optional<double> depth_m;
};

struct GroundRecords {
  std::vector<PlateTest> plates;
  std::vector<ShearTest> shears;
  std::vector<ConeTest> cones;
  std::vector<ReposeTest> reposes;
  std::vector<DensityTest> densities;
  std::vector<MoistureTest> moistures;
  std::vector<Instrument> instruments;  // those the tests name
  std::string reference_point;          // repeated through the day; empty: none
};

}  // namespace hardpan::records
