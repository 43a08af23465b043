// SPDX-License-Identifier: Apache-2.0
// Ids that one table of campaign.toml takes from another part of the campaign.
#pragma once

#include <string>

#include "campaign/campaign.hpp"
#include "formats/detail/keys.hpp"

namespace hardpan::formats::detail {

// Refuses an id that the campaign, read so far, does not have, with the nearest one; an empty id passes.
void know_vehicle(const campaign::Campaign& c, const Keys& k, const char* key, const std::string& id, base::Problems& problems);
void know_zone(const campaign::Campaign& c, const Keys& k, const std::string& id, base::Problems& problems);

}  // namespace hardpan::formats::detail
