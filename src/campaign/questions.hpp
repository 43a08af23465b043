// SPDX-License-Identifier: Apache-2.0
// What a campaign may ask beyond its requirements, and what a run answers: driving through a delay, one vehicle against another, studies,
// obstacles, rough ground (ride_question.hpp), another gravity (gravity_question.hpp),
// drive profiles and rocks (way_questions.hpp), turning (turn_question.hpp).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "campaign/gravity_question.hpp"
#include "campaign/obstacle_question.hpp"
#include "campaign/ride_question.hpp"
#include "campaign/turn_question.hpp"
#include "campaign/way_questions.hpp"
#include "driving/remote_speed.hpp"
#include "performance/comparison.hpp"
#include "performance/study.hpp"

namespace hardpan::campaign {

// [remote]: every vehicle on every zone of a prediction, driven through this link.
struct RemoteQuestion {
  double sight_m = 0;                 // how far ahead an obstacle is seen in time
  double corridor_m = 0;              // width of ground the vehicle must stay on
  driving::Link link;
  double look_ahead_m = 4;
  double anticipation_ratio = 0;
  double thinking_s = 0;
  double gradient_rad = 0;            // in the direction of travel, for stopping; downhill negative
  std::optional<double> fastest_m_s;  // where drives state no speed limit, or less than they allow
  double slalom_amplitude_m = 1, slalom_wave_length_m = 25;   // of the path steered
};
struct VersusQuestion {               // [[compare]]
  std::string a, b, zone;
};
struct StudyQuestion {                // [[study]]
  std::string vehicle, zone;
  std::vector<performance::Variation> variations;
  performance::Studied quantity = performance::Studied::gradient_at_slip;
  std::optional<double> slip_ratio;   // the vehicle's working slip where absent
  std::optional<double> speed_m_s, needed;   // as performance::StudySettings
};
struct Questions {
  std::optional<RemoteQuestion> remote;
  std::vector<VersusQuestion> versus;
  std::vector<StudyQuestion> studies;
  std::vector<ObstacleQuestion> obstacles;
  std::vector<RideQuestion> rides;
  std::optional<GravityQuestion> other_gravity;
  std::vector<EnduranceQuestion> endurance;
  std::vector<BouldersQuestion> boulders;
  std::vector<TurnAsked> turns;
  std::vector<std::string> files;     // read for a question, relative to the campaign
};

struct RemoteAnswer {
  std::string vehicle, zone;
  std::string why_not;                // not empty: no answer, and why
  double fastest_m_s = 0;
  std::string fastest_from;           // "the drives", "campaign.toml"
  double half_width_m = 0;            // room for error either side
  double smallest_radius_m = 0;
  // tan of the steepest descent that the brakes hold on this ground, no more than its tan phi: best estimate, and the lower end of the next point.
  double braking_coefficient = 0;
  std::optional<double> braking_low;
  performance::Outcome speed_m_s;     // through the link over possible soils, whose braking differs; the best estimate its centre
  driving::RemoteSpeed at_delay;      // at the campaign's own delay, with the lower braking where there is one
  std::vector<driving::DelayPoint> over_delay, over_delay_best;  // lower braking (or the only one), best estimate where the two differ
};
struct VersusRow {
  performance::Compared quantity = performance::Compared::gradient_working;
  math::Estimate a, b, difference;    // a less b
  std::string a_limited_by, b_limited_by;   // most frequent over next points, of the best-estimate soil without them; empty: nothing limits
  std::optional<double> a_better_ratio;
  std::size_t draws = 0, left_out = 0;
};
struct VersusAnswer {
  std::string a, b, zone, why_not;
  std::vector<VersusRow> rows;
  std::string reason_without;         // without possible soils
};
struct StudyAnswer {
  std::string vehicle, zone, why_not;
  std::optional<performance::Study> study;
};
struct Answers {
  std::vector<RemoteAnswer> remote;
  std::vector<VersusAnswer> versus;
  std::vector<StudyAnswer> studies;
  std::vector<ObstacleAnswer> obstacles;   // obstacle by obstacle, vehicles in the order of the campaign
  std::vector<RideAnswer> rides;
  std::vector<SpeedAnswer> speeds;    // of every pair
  std::vector<GravityAnswer> other_gravity;
  std::vector<EnduranceAnswer> endurance;
  std::vector<BoulderAnswer> boulders;
  std::vector<TurnAnswer> turns;
};

}  // namespace hardpan::campaign
