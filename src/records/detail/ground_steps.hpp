// SPDX-License-Identifier: Apache-2.0
// Steps of reduce_ground that join the parts: checks, sources, the soil itself, advice, messages.
#pragma once

#include <string>

#include "records/ground.hpp"

namespace hardpan::records::detail {

// Refusals: numbers no test can have.
void check_records(const GroundRecords& records, units::OutputUnits units, base::Problems& problems);
// Dates and downgrades of every test and instrument of the zone.
void note_sources(const GroundRecords& records, const std::string& zone, ZoneGround& out);
void note_tested_range(const GroundResult& result, const GroundSettings& settings, const std::string& zone, ZoneGround& out);
// Centre and covariances in the coordinates of soil::SoilDistribution, or the reason why not.
void make_soil(const GroundRecords& records, const GroundSettings& settings, ZoneGround& out);
void give_advice(const GroundSettings& settings, ZoneGround& out);
// Rows set aside (refused beyond a fifth of a record), parameters not identified, cones of two kinds.
void report_problems(const GroundRecords& records, const GroundResult& result, base::Problems& problems);

}  // namespace hardpan::records::detail
