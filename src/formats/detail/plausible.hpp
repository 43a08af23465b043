// SPDX-License-Identifier: Apache-2.0
// Readings that are numbers with units and yet cannot be, or that a colleague would ask about: swapped columns, a unit taken for
// another, a slip of the pen. What cannot be is refused; what is merely odd is a remark. The bounds of remarks are common
// practice without a source, chosen wide: no record of the examples and the demo touches them but where it is meant to.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "formats/detail/record_entry.hpp"
#include "records/vehicle_records.hpp"
#include "units/print.hpp"

namespace hardpan::formats::detail {

// Refuses or remarks on single values of the sheet by what their role can hold in this kind of record. False when refused.
bool check_values(const RecordEntry& entry, const Sheet& sheet, base::Problems& problems);

// Sets aside rows where a role reads at or above `range` (SI), with a remark. For sheets that check_signals does not see.
void set_aside_beyond_range(const RecordEntry& entry, Sheet& sheet, const char* role, const std::optional<double>& range, base::Problems& problems);

// Refuses a test whose rows disagree about what a test has once: text of `role`, or a number by over 1 %.
bool check_once_a_test(const RecordEntry& entry, const Sheet& sheet, const std::vector<std::size_t>& rows, const char* role, base::Problems& problems);

// Remarks on a hand-written test whose reading `travel` goes backward: over a hundredth of the largest, and where `effort` is
// given only while the effort does not fall (a loop of unloading is no slip).
void remark_backward(const RecordEntry& entry, const Sheet& sheet, const std::vector<std::size_t>& rows, const char* travel,
                     const char* effort, base::Problems& problems);

// Remarks on a push whose pressure and sinkage do not go together for any ground.
void remark_push(const RecordEntry& entry, const records::PlateTest& push, units::OutputUnits units, base::Problems& problems);

// Remarks on a pull above what a vehicle of this weight holds; refuses what no vehicle does.
void check_pull(const RecordEntry& entry, std::size_t line, double pull_n, double weight_n, units::OutputUnits units, base::Problems& problems);

// Remarks on a log in which wheels and vehicle hardly ever move together: a unit of speed, the gear ratio or the rolling radius.
void remark_slips(const RecordEntry& entry, const records::TowLog& log, base::Problems& problems);

// The slip of a hand pull, refused where the vehicle went several times as far as its wheels rolled.
// `wheel_radius_m` serves where no rolling radius is stated; no wheel rolls on a larger one.
void check_hand_slip(const RecordEntry& entry, const records::HandPull& pull, double weight_n, double wheel_radius_m, units::OutputUnits units, base::Problems& problems);

}  // namespace hardpan::formats::detail
