// SPDX-License-Identifier: Apache-2.0
// Words of campaign files that stand for a choice, kept in one place.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "records/ground_settings.hpp"
#include "soil/soil.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::formats::detail {

[[nodiscard]] inline std::vector<std::pair<std::string, vehicle::ZeroSlip>> zero_slip_words() {
  return {{"towed on hard ground", vehicle::ZeroSlip::towed_hard},
          {"self-propelled on hard ground", vehicle::ZeroSlip::self_propelled_hard},
          {"towed on the test surface", vehicle::ZeroSlip::towed_soil},
          {"self-propelled on the test surface", vehicle::ZeroSlip::self_propelled_soil},
          {"not stated", vehicle::ZeroSlip::not_stated}};
}

[[nodiscard]] inline std::vector<std::pair<std::string, soil::SlipSinkage>> slip_sinkage_words() {
  return {{"none", soil::SlipSinkage::none},
          {"exponent", soil::SlipSinkage::exponent},
          {"stretch", soil::SlipSinkage::stretch}};
}

[[nodiscard]] inline std::vector<std::pair<std::string, records::LayerChoice>> layer_words() {
  std::vector<std::pair<std::string, records::LayerChoice>> words;
  for (const auto choice : {records::LayerChoice::weaker, records::LayerChoice::both, records::LayerChoice::refuse}) words.emplace_back(records::name(choice), choice);
  return words;
}

}  // namespace hardpan::formats::detail
