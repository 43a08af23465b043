// SPDX-License-Identifier: Apache-2.0
// The geometry of turning: turning centre, steering angles, radii and swept width for skid, Ackermann, crab and frame steering.
//
// Wheels roll along their planes where they are steered; skid wheels and rigid pairs of axles scrub, which only turn_on_soil.hpp
// can judge: on soil the turn asked for needs another steering angle than here. Bodies behind a joint that yaws freely follow: gone round
// long enough, each with the mean line of its axles through the turning centre. Plan view, closed forms, docs/theory/turning.md.
//
//   const Turn t = turn_at(vehicle, 4.0);           // left; -4.0: right
//   if (t.steerable) say(t.inner_angle_rad, t.outer_wheel_radius_m, t.swept_width_m);
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

// A wheel in plan: origin under the middle of the rearmost axle (frame steering: of the rear half), x forward, y left.
struct WheelPlace {
  std::size_t axle = 0;
  double x_m = 0, y_m = 0;       // of the wheel's centre
  double steer_rad = 0;          // of its plane against x, left positive
};

// A body, or several, behind a joint that yaws freely.
struct Follower {
  std::size_t joint = 0;           // it hangs on
  double angle_rad = 0;            // of what is ahead of that joint against it, left positive
  double radius_m = 0;             // of the middle of its axles from the turning centre
};

// A radius is measured from the turning centre square to the centre plane of the vehicle (frame steering: of the rear half; followed by other bodies: of those
// that tow): left turns positive, right ones negative, infinite straight ahead, 0 on the spot.
struct Turn {
  double radius_m = 0;
  bool steerable = false;          // within the largest angle, and what follows comes round; always for skid, for crab straight ahead only
  bool followed = true;            // no follower folds up under its joint or meets a stop of it
  double centre_x_m = 0;           // turning centre ahead of the rearmost axle
  double inner_angle_rad = 0, outer_angle_rad = 0;  // sizes, of the most turned wheel and its opposite; frame: between the halves, both
  double cg_radius_m = 0;          // path of the centre of gravity (frame: each half's over its axles)
  double outer_wheel_radius_m = 0; // of the outermost wheel's centre, inner likewise; kerb to kerb is twice the outer
  double inner_wheel_radius_m = 0;
  double outermost_m = 0;          // corner of a wheel's outline farthest from the centre; wall to wall is twice this
  double swept_width_m = 0;        // of the ring that wheels and a body no wider than they sweep; from the centre where that lies under the vehicle
  std::vector<WheelPlace> wheels;
  std::vector<Follower> followers; // from the towing bodies backward, up to the first that does not come round
};
[[nodiscard]] Turn turn_at(const vehicle::Vehicle& vehicle, double radius_m);

// Whether bodies follow at a joint that yaws by itself: not rigid, and not the one it steers by.
[[nodiscard]] bool follows(const vehicle::Vehicle& vehicle);
// Why the geometry of what follows is not computed; empty where it is, and where nothing follows.
[[nodiscard]] const char* why_not_followed(const vehicle::Vehicle& vehicle);

// By the largest angle, and where bodies follow by those; 0 for skid by itself, infinite for crab, and where no radius up to 10 km is followed.
[[nodiscard]] double smallest_radius_m(const vehicle::Vehicle& vehicle);

// All wheels at one angle, left positive: the vehicle travels at it without turning.
struct CrabTravel {
  double angle_rad = 0;
  bool steerable = false;          // crab steering and within its largest angle
  double sideways_per_m = 0;       // per metre ahead
  double swept_width_m = 0;
};
[[nodiscard]] CrabTravel crab_travel(const vehicle::Vehicle& vehicle, double angle_rad);

// What turn_at is made of, for turn_on_soil. Wheels steered for a turning centre at this curvature (1 / radius), axle by axle, left to
// right; skid and crab: straight.
[[nodiscard]] std::vector<WheelPlace> wheel_places(const vehicle::Vehicle& vehicle, double curvature_per_m);
// Largest size of an angle in these places against the largest allowed; 0 for skid.
[[nodiscard]] double share_of_largest_angle(const vehicle::Vehicle& vehicle, const std::vector<WheelPlace>& places);
// The line square to the vehicle on which the turning centre lies: mean of the axles that do not steer, the middle where all do; frame:
// mean of the rear half's axles; skid: centre of gravity.
[[nodiscard]] double turning_line_x_m(const vehicle::Vehicle& vehicle);
// The joint that frame steering bends, of a vehicle of several bodies; nothing for other steering and for one body.
[[nodiscard]] std::optional<std::size_t> steered_joint(const vehicle::Vehicle& vehicle);
// Whether an axle stands ahead of the joint of frame steering (of several bodies: belongs to one ahead of it).
[[nodiscard]] bool in_front_half(const vehicle::Vehicle& vehicle, std::size_t axle);
// Foot of the centre of gravity with the wheels in these places: bent about the joint, each half keeps the place it has over its axles
// standing level and straight; of several bodies each its own centre of gravity.
struct Foot {
  double x_m = 0, y_m = 0;
};
[[nodiscard]] Foot centre_of_gravity(const vehicle::Vehicle& vehicle, const std::vector<WheelPlace>& places);

}  // namespace hardpan::performance
