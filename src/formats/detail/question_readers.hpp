// SPDX-License-Identifier: Apache-2.0
// Readers of the questions of a campaign, each in a file of its own, and what they share.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "campaign/campaign.hpp"
#include "formats/detail/keys.hpp"
#include "io/toml.hpp"

namespace hardpan::formats::detail {

// The value where it is given and within [lo, hi], which `bound` says in words; refused outside.
[[nodiscard]] std::optional<double> within(Keys& k, const char* key, units::Dimension dimension, double lo, double hi, const char* bound);
// Refuses a name that the campaign does not have; empty is not judged.
void know_vehicle(const campaign::Campaign& c, const Keys& k, const char* key, const std::string& id, base::Problems& problems);
void know_zone(const campaign::Campaign& c, const Keys& k, const char* key, const std::string& id, base::Problems& problems);
// "4 m: 0.1 m" as two quantities; refused with this example.
[[nodiscard]] std::optional<std::pair<double, double>> pair_of_quantities(const Keys& k, const char* key, const std::string& text, units::Dimension first, units::Dimension second, const char* example, base::Problems& problems);
// Where a file that a question names lies. The file is noted among those read; nothing where the key is not given.
[[nodiscard]] std::optional<std::string> file_of(const campaign::Campaign& c, Keys& k, const char* key, campaign::Questions& to);

void read_boulders(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems);
void read_endurance(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems);
void read_other_gravity(const io::TomlTable& root, campaign::Questions& to, base::Problems& problems);
void read_rides(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems);
void read_turns(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems);

}  // namespace hardpan::formats::detail
