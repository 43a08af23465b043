// SPDX-License-Identifier: Apache-2.0
// Quick answer: how often a straight run over a boulder field is stopped, and which rocks of a map stop it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "campaign/way_questions.hpp"
#include "io/json.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::service {

struct BouldersRequest {
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  std::optional<double> friction;                // of wheels on rock: the highest step is computed with it; or
  std::optional<double> step_m;                  // the highest step stated
  std::optional<double> coverage_ratio;          // one of the three
  std::optional<math::Interval> coverage_between;  // 95 % of it
  std::optional<std::string> law_file, map_file;
  performance::RockShape shape;
  double length_m = 100;                         // of the run
  std::optional<double> needed_ratio;            // of the chance that the run is clear
  std::optional<performance::Run> run;           // through the map; its length is length_m
  std::optional<performance::Plot> plot;         // surveyed; the box round the mapped rocks where absent, and said so
};
struct BouldersResult : campaign::BoulderAnswer {
  base::Problems remarks;                        // of the files read
};
// Throws InputError.
[[nodiscard]] BouldersResult boulders(const BouldersRequest& request);
// Of the chance of a clear run over what is needed.
[[nodiscard]] std::optional<double> boulders_margin(const BouldersRequest& request, const campaign::BoulderAnswer& result);
[[nodiscard]] io::Json boulders_json(const campaign::BoulderAnswer& result);
[[nodiscard]] io::Json boulders_json(const BouldersRequest& request, const BouldersResult& result);  // with the margin
// The answer once rocks and bounds are read; why_not where the highest step cannot be computed. Campaigns ask it of every vehicle.
[[nodiscard]] campaign::BoulderAnswer boulders_of(const vehicle::Vehicle& vehicle, double gravity_m_s2, const campaign::BouldersQuestion& question);

}  // namespace hardpan::service
