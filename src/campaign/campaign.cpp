// SPDX-License-Identifier: Apache-2.0
#include "campaign/campaign.hpp"

#include <algorithm>

namespace hardpan::campaign {
namespace {

template <class T>
const T* by_id(const std::vector<T>& list, const std::string& id) {
  const auto it = std::find_if(list.begin(), list.end(), [&](const T& x) { return x.id == id; });
  return it == list.end() ? nullptr : &*it;
}

}  // namespace

const Zone* Campaign::zone(const std::string& id) const { return by_id(zones, id); }
const vehicle::Vehicle* Campaign::vehicle_by_id(const std::string& id) const { return by_id(vehicles, id); }

}  // namespace hardpan::campaign
