// SPDX-License-Identifier: Apache-2.0
// What is shown of a crossing: the stretch of way that matters, friction needed along it, a handful of places for a film strip.
//
// Takes crossings with all their frames (CrossingSettings::frames_every_m = kEveryPose_m). Nothing is computed anew.
//
//   Crossing c = cross(v, ground, {.friction = 0.6, .frames_every_m = kEveryPose_m});
//   for (const NeedOnWay& n : need_along(c, 200)) plot(n.travel_m, n.friction);
//   const Film film = film_of(std::move(c.frames), c, v, ground, 6);
#pragma once

#include <cstddef>
#include <vector>

#include "performance/crossing.hpp"

namespace hardpan::performance {

inline constexpr double kEveryPose_m = 1e-12;   // poses are further apart than this

// Travel [m] from where no wheel has met the first corner of the ground yet to where all have left the last behind.
struct Way {
  double from_m = 0, to_m = 0;
};
[[nodiscard]] Way way_over(const ProfileVehicle& vehicle, const Profile& ground);
// A depth that no wheel reaches the bottom of in a gap that it does not fall into: four of the largest radius.
[[nodiscard]] double no_bottom_m(const ProfileVehicle& vehicle);

// Friction needed at a travel; NaN where no friction looked for would do.
struct NeedOnWay {
  double travel_m = 0, friction = 0;
};
// The frames' needs in order of travel, of every one of so many even stretches the largest, and the hardest place itself.
[[nodiscard]] std::vector<NeedOnWay> need_along(const Crossing& crossing, std::size_t stretches);

struct Film {
  std::vector<Frame> frames;   // in order of travel
  std::size_t critical = 0;    // the hardest place, or where it stops for another reason than friction; frames.size(): none
};
// So many places (at least 2), evenly along the way as far as the vehicle gets; the nearest of them gives way to the critical one.
[[nodiscard]] Film film_of(std::vector<Frame> frames, const Crossing& crossing, const ProfileVehicle& vehicle, const Profile& ground, std::size_t places);

}  // namespace hardpan::performance
