// SPDX-License-Identifier: Apache-2.0
// Quick answer: one or two parameters of a vehicle swept on one soil, without interval. The campaign does it over possible soils ([[study]]).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "io/json.hpp"
#include "performance/study.hpp"
#include "service/quick.hpp"
#include "service/ride.hpp"

namespace hardpan::service {

struct StudyRequest {
  SoilRequest soil;
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  std::vector<std::string> vary;          // "wheel diameter: 0.4 m to 1.0 m in 7"
  performance::Studied quantity = performance::Studied::gradient_at_slip;
  std::optional<double> slip_ratio, speed_m_s, needed;   // needed: SI, of the quantity
  std::optional<RideRequest> rough;       // ground and bounds of a ride margin, which needs no soil
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
};
struct StudyResult {
  soil::NamedSoil soil;                   // not of a ride margin
  std::string vehicle;
  RoughGroundWords ground;                // of a ride margin
  performance::Study study;
  base::Problems remarks;                 // of the files read
};
// Throws InputError.
[[nodiscard]] StudyResult study(const StudyRequest& request);
[[nodiscard]] io::Json study_answer_json(const StudyResult& result);

}  // namespace hardpan::service
