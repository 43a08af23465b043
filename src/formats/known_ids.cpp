// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/known_ids.hpp"

#include "io/toml.hpp"

namespace hardpan::formats::detail {

using campaign::Campaign;

void know_vehicle(const Campaign& c, const Keys& k, const char* key, const std::string& id, base::Problems& problems) {
  if (id.empty() || c.vehicle_by_id(id)) return;
  std::vector<std::string> names;
  for (const auto& v : c.vehicles) names.push_back(v.id);
  const auto near = io::nearest_word(id, names);
  problems.refuse({.place = k.place(key), .what = "no vehicle of this id under vehicles/", .value = id, .remedy = near ? "did you mean " + *near + "?" : "add it, or correct the name"});
}
void know_zone(const Campaign& c, const Keys& k, const std::string& id, base::Problems& problems) {
  if (id.empty() || c.zone(id)) return;
  std::vector<std::string> names;
  for (const auto& z : c.zones) names.push_back(z.id);
  const auto near = io::nearest_word(id, names);
  problems.refuse({.place = k.place("zone"), .what = "no zone of this id in campaign.toml", .value = id, .remedy = near ? "did you mean " + *near + "?" : "add the zone"});
}

}  // namespace hardpan::formats::detail
