// SPDX-License-Identifier: Apache-2.0
// Vehicle trials beyond towing and slopes, reduced and set beside the prediction.
#pragma once

#include <vector>

#include "records/trials.hpp"
#include "validation/compare_obstacles.hpp"
#include "validation/compare_remote.hpp"
#include "validation/compare_ruts.hpp"
#include "validation/compare_turns.hpp"
#include "validation/compare_ways.hpp"

namespace hardpan::campaign {

struct TrialResults {
  records::TrialResult reduced;
  std::vector<validation::ObstacleComparison> obstacles;  // one a group of reduced.obstacles, in their order
  std::vector<validation::TurnComparison> turns;          // of the groups whose zone has a soil
  std::vector<validation::RemoteComparison> remote;       // of the courses whose vehicle and zone have a prediction through a delay
  std::vector<validation::TripComparison> trips;          // one a group of reduced.trips, rocks and rough, in their order
  std::vector<validation::RockComparison> rocks;
  std::vector<validation::RoughComparison> rough;
  std::vector<validation::RutByPass> ruts;                // of the rut sheets of predicted pairs
};

}  // namespace hardpan::campaign
