// SPDX-License-Identifier: Apache-2.0
// What every record of a vehicle test shares, whatever its kind; for the readers of sheets alone.
#pragma once

#include <initializer_list>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "formats/detail/record_entry.hpp"
#include "records/vehicle_records.hpp"

namespace hardpan::formats::detail {

// Run keys of the record. Nothing, and a refusal, when the vehicle is not known.
[[nodiscard]] std::optional<records::RunConditions> run_keys(const RecordEntry& entry, Keys& keys, const Surroundings& around, base::Problems& problems);

// Refuses a sheet that lacks a column for one of the roles; false then.
bool refuse_missing(const RecordEntry& entry, const Sheet& sheet, std::initializer_list<const char*> roles, base::Problems& problems);

// A number of a row; nothing where the cell is blank or the column absent.
[[nodiscard]] std::optional<double> given(const Sheet& sheet, const char* role, std::size_t row);

// Obstacle, turn and remote trials (trial_sheets.cpp).
[[nodiscard]] bool is_trial_kind(const std::string& kind);
void read_trial_record(const RecordEntry& entry, Keys& keys, Surroundings& around, base::Problems& problems);
// Of these, runs over ways that the campaign describes (way_run_sheets.cpp).
[[nodiscard]] bool is_way_run_kind(const std::string& kind);
void read_way_run(const RecordEntry& entry, Keys& keys, Surroundings& around, base::Problems& problems);

}  // namespace hardpan::formats::detail
