// SPDX-License-Identifier: Apache-2.0
// One [[record]] of campaign.toml and its sheet, turned into typed tests.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "campaign/campaign.hpp"
#include "formats/detail/keys.hpp"
#include "formats/detail/sheet.hpp"
#include "units/print.hpp"

namespace hardpan::formats::detail {

// One reading of a drop cone that stands in columns of its own.
struct SeriesStep {
  double drops = 0;
  std::string depth, resistance;
  std::string depth_unit, resistance_unit;
};

// What the tests of one record share; sheets fill the rest.
struct RecordEntry {
  std::string id, file, kind;
  std::string point, operator_name, time, remark, vehicle;
  std::string instrument_id;
  const records::Instrument* instrument = nullptr;   // checked to exist
  base::Place place;
  SheetRequest request;
  std::vector<SeriesStep> series;
};

// Everything a record may refer to.
struct Surroundings {
  campaign::Campaign* campaign = nullptr;
  std::string folder;
  std::vector<std::string> downgrades;  // of the instrument behind the record being read, each once
};

// In which the campaign's messages print values that were computed; what was typed is told in the unit of its column.
[[nodiscard]] units::OutputUnits output_units(const Surroundings& around);

// Fills the campaign's ground or vehicle records from one entry. Keys of the record itself (plate,
// vertical_load, gradient ...) are read through `keys`.
void read_ground_record(const RecordEntry& entry, Keys& keys, Surroundings& around, base::Problems& problems);
void read_vehicle_record(const RecordEntry& entry, Keys& keys, Surroundings& around, base::Problems& problems);

[[nodiscard]] const std::vector<std::string>& record_kinds();
[[nodiscard]] bool is_ground_kind(const std::string& kind);

// Marks every key that the record's kind may have as known, so that only the others are told as unknown.
void know_keys(const io::TomlTable& record);

// The zone of a point, "" when the point is not listed (a refusal is appended where it is named).
[[nodiscard]] records::TestSource source_of(const RecordEntry& entry, const Sheet& sheet, std::size_t row,
                                            const std::string& test, Surroundings& around, base::Problems& problems);

// Rows of the sheet by test: the value of the role "test", or "" for the whole sheet.
[[nodiscard]] std::vector<std::pair<std::string, std::vector<std::size_t>>> rows_by_test(const Sheet& sheet);

// Roles every kind takes besides its own.
[[nodiscard]] std::vector<Role> with_common_roles(std::vector<Role> roles);

// Adds the line "record, rows, tests" that check prints.
void summarise(const RecordEntry& entry, const Sheet& sheet, std::size_t tests, Surroundings& around, base::Problems& problems);

}  // namespace hardpan::formats::detail
