// SPDX-License-Identifier: Apache-2.0
// The options that describe rough ground and what is borne on it, of ride and study.
#pragma once

#include <CLI/CLI.hpp>

#include <string>

#include "service/ride.hpp"
#include "values.hpp"

namespace hardpan::cli {

struct RoughOptions {
  std::string length, amplitude, profile, road_class, shock, ride, weighting = "none", absorbed, at, damping, gyration, wheel_mass;
  double peak = 3;

  void add_to(CLI::App& app);
  [[nodiscard]] bool given() const { return !length.empty() || !amplitude.empty() || !profile.empty() || !road_class.empty(); }
  [[nodiscard]] service::RideRequest request(Values& values) const;   // without vehicle and gravity
};

}  // namespace hardpan::cli
