// SPDX-License-Identifier: Apache-2.0
// A campaign as a value: everything that was read and checked, with SI numbers inside. The folder it
// came from is read by formats; what a run computes from it lies in the results of each module.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "campaign/questions.hpp"
#include "performance/disturbed.hpp"
#include "records/ground_records.hpp"
#include "records/ground_settings.hpp"
#include "records/trial_records.hpp"
#include "records/vehicle_records.hpp"
#include "soil/possible_soils.hpp"
#include "soil/soil.hpp"
#include "validation/requirement.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::campaign {

enum class OutputUnits { si, us };

struct Point {
  std::string id, zone, position, datum, time, weather;
  std::optional<double> accuracy_m;
  std::optional<double> moisture_5cm_ratio, moisture_15cm_ratio;
};

struct Zone {
  std::string id, description;
  std::optional<soil::NamedSoil> soil_from_elsewhere;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  bool loose = true;
  records::LayerChoice layers = records::LayerChoice::weaker;
  std::optional<performance::DisturbedStrength> disturbed;  // where a wheel has been
};

// Which ground a following wheel meets in a prediction.
enum class FollowingWheels {
  rut,        // the floor of the rut, where unloading was measured
  untouched
};

struct Condition {
  std::string id, description;
};

// One file that was read, for provenance and for finding out what must be recomputed.
struct InputFile {
  std::string path;       // relative to the campaign
  std::string sha256;
  std::uint64_t bytes = 0;
  std::string role;       // "campaign", "record", "vehicle", ...
  std::size_t rows = 0;   // data rows, records only
  std::size_t rows_set_aside = 0;
};

struct Amendment {
  std::string file, column, action, old_value, new_value, initials, time, reason;
  std::size_t target_line = 0;  // in the file amended
  std::size_t line = 0;         // in amendments.csv
};

struct RecordSummary {          // what check prints a line about
  std::string id, kind, file, instrument, point, vehicle;
  std::size_t rows = 0, rows_set_aside = 0, tests = 0;
  std::vector<std::string> downgrades;
};

struct Campaign {
  std::string folder;     // as given on the command line; never printed into results
  std::string name, where, when, notes, abort_rule, reference_point;
  std::vector<std::string> who;
  double gravity_m_s2 = 0;
  OutputUnits output_units = OutputUnits::si;
  FollowingWheels following_wheels = FollowingWheels::untouched;
  std::uint64_t seed = 1;
  std::size_t draws = 400;
  double remark_share = 0.2;
  int repeats = 3;
  std::vector<Zone> zones;
  std::vector<Condition> conditions;
  std::vector<Point> points;
  std::vector<records::Instrument> instruments;
  std::vector<vehicle::Vehicle> vehicles;
  std::vector<validation::Requirement> requirements;
  std::vector<RecordSummary> record_summaries;
  std::vector<Amendment> amendments;
  bool amendments_applied = true;
  std::vector<std::string> learn_from;  // ids of vehicle records that update the soil; every other is held out
  Questions questions;
  std::vector<InputFile> inputs;
  records::GroundRecords ground;
  records::VehicleRecords driving;
  records::TrialRecords trials;
  base::Problems problems;      // all remarks of reading (refusals are thrown)

  [[nodiscard]] const Zone* zone(const std::string& id) const;
  [[nodiscard]] const vehicle::Vehicle* vehicle_by_id(const std::string& id) const;
};

}  // namespace hardpan::campaign
