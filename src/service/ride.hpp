// SPDX-License-Identifier: Apache-2.0
// Quick answer: how fast rough ground may be driven over before wheels leave it or a shock or ride bound is passed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "io/json.hpp"
#include "performance/roughness.hpp"
#include "units/print.hpp"

namespace hardpan::service {

struct RideRequest {
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  std::optional<performance::Wave> wave;         // one of the three
  std::optional<std::string> profile_file;
  std::optional<std::string> road_class;         // "A" to "H"
  performance::RideSettings settings;
  performance::RideQuestion question;            // speeds_m_s empty: eight of our choice
  std::optional<double> needed_m_s;              // of the speed; at most question.fastest_m_s
};
// "a wave 4 m long, 0.1 m in amplitude"; JSON carries the SI one.
struct RoughGroundWords {
  std::string si, us;
  [[nodiscard]] const std::string& words(units::OutputUnits u) const { return u == units::OutputUnits::us ? us : si; }
};
struct RideResult {
  std::string vehicle;
  RoughGroundWords ground;
  std::optional<double> point_on_wave_m_s;       // (lambda / 2 pi) sqrt(g / A)
  performance::RideVehicle model;
  performance::RideAnswer answer;
  base::Problems remarks;                        // of the files read
  // Of the first limit over what is needed, of the fastest looked at where none is passed: at least this much then. Nothing where contact is lost at rest.
  [[nodiscard]] std::optional<double> margin_m_s(const RideRequest& request) const;
};
// The ground asked for, with its words; refusals about options of the service go to `problems`, those of checks to `found`.
[[nodiscard]] std::optional<performance::RoughGround> rough_ground(const RideRequest& request, RoughGroundWords& words, base::Problems& problems, base::Problems& found);
// Refusals of checks as those of options, or of the vehicle file.
[[nodiscard]] base::Problems as_ride_options(const base::Problems& found, const std::string& vehicle_file);
// Throws InputError.
[[nodiscard]] RideResult ride(const RideRequest& request);
[[nodiscard]] io::Json ride_json(const RideRequest& request, const RideResult& result);
[[nodiscard]] io::Json ride_answer_json(const performance::RideAnswer& answer);

}  // namespace hardpan::service
