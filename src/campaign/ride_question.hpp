// SPDX-License-Identifier: Apache-2.0
// [[ride]]: how fast rough ground may be driven, and what limits the speed of a vehicle on a zone at all.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/roughness.hpp"

namespace hardpan::campaign {

struct RideQuestion {
  std::string name;
  std::vector<std::string> zones;                 // empty: every zone
  std::vector<performance::RoughGround> grounds;  // waves, or one spectrum
  performance::RideSettings settings;
  performance::RideQuestion question;
  std::optional<double> tightest_turn_m;          // radius of the tightest curve driven at speed
};

struct RideOnGround {
  performance::RoughGround ground;
  std::optional<double> point_on_wave_m_s;        // (lambda / 2 pi) sqrt(g / A)
  performance::RideAnswer answer;
};
// One vehicle over the grounds of one question; the soil does not enter.
struct RideAnswer {
  std::string vehicle, name;
  std::vector<std::string> zones;
  std::string why_not;                            // not empty: no answer, and why
  performance::RideVehicle model;
  performance::RideQuestion question;
  std::vector<RideOnGround> grounds;
  [[nodiscard]] const RideOnGround* slowest() const;   // nothing where no limit is passed on any ground
};

enum class SpeedLimit { ground, drives, power, roughness, remote, tip_over };
[[nodiscard]] const char* name(SpeedLimit limit);
struct SpeedRow {
  SpeedLimit limit = SpeedLimit::drives;
  std::optional<double> speed_m_s;                // best estimate; absent: does not limit, or is not known
  std::optional<double> low_m_s;                  // lower end of the next point where possible soils enter; of tip-over that of what is known of the centre of gravity
  std::string detail;                             // what of it, or why there is no number
};
// What limits the speed of one vehicle on one zone: straight and level, but for the tightest turn.
struct SpeedAnswer {
  std::string vehicle, zone;
  std::vector<SpeedRow> rows;
  std::optional<double> tightest_turn_m;
  std::optional<double> tips_at_rad;              // sideways, static, the lower side
  // The smallest at the lower ends where there are such; nothing where no row has a number.
  [[nodiscard]] const SpeedRow* smallest() const;
};

}  // namespace hardpan::campaign
