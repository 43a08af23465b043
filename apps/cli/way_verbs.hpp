// SPDX-License-Identifier: Apache-2.0
// Verbs about the way and about variants of a vehicle: each in a file of its own.
#pragma once

#include "command_line.hpp"

namespace hardpan::cli {

void add_ride_verb(CommandLine& line);
void add_boulders_verb(CommandLine& line);
void add_endurance_verb(CommandLine& line);
void add_study_verb(CommandLine& line);

}  // namespace hardpan::cli
