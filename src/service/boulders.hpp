// SPDX-License-Identifier: Apache-2.0
// Quick answer: how often a straight run over a boulder field is stopped, and which rocks of a map stop it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "io/json.hpp"
#include "performance/boulder_field.hpp"
#include "performance/crossing.hpp"

namespace hardpan::service {

struct BouldersRequest {
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  std::optional<double> friction;                // of wheels on rock: the highest step is computed with it; or
  std::optional<double> step_m;                  // the highest step stated
  std::optional<double> coverage_ratio;          // one of the three
  std::optional<std::string> law_file, map_file;
  performance::RockShape shape;
  double length_m = 100;                         // of the run
  std::optional<performance::Run> run;           // through the map; its length is length_m
  std::optional<performance::Plot> plot;         // surveyed; the box round the mapped rocks where absent, and said so
};
struct BouldersResult {
  std::string vehicle;
  performance::Swath swath;
  std::optional<performance::ObstacleLimit> highest_step;   // where computed
  double hits_per_m = 0;                         // by the law or the map
  double clear_probability = 0;                  // of a run of length_m
  double half_clear_m = 0;                       // length that every second run gets
  std::optional<performance::MappedField> field; // of a map, with intervals
  performance::Plot plot;
  bool plot_assumed = false;
  std::vector<performance::Rock> rocks;
  std::vector<performance::Met> met;             // on the run
  // Of the law, at some diameters from the smallest stopping one.
  struct Size {
    double diameter_m = 0, number_per_m2 = 0, stopping_width_m = 0;
    std::optional<double> area_ratio;
  };
  std::vector<Size> sizes;
};
// Throws InputError.
[[nodiscard]] BouldersResult boulders(const BouldersRequest& request);
[[nodiscard]] io::Json boulders_json(const BouldersRequest& request, const BouldersResult& result);

}  // namespace hardpan::service
