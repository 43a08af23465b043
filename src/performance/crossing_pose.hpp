// SPDX-License-Identifier: Apache-2.0
// How a vehicle with round wheels stands on hard ground in side view: which wheels touch, where, and at what pitch.
//
// What is told here is geometry of ONE rigid body on rigid wheels; chains of bodies and wheels that flatten are followed by crossing.hpp, with the
// same types. Left and right carry the same: the two wheels of an axle count as one. Poses are told by the travel of the middle between the first and the last
// axle centre; nothing holds the vehicle there, it only names the pose. Two wheels of the vehicle touch in every pose; more where the ground
// lets them; the others hang. Several poses may exist at one travel (a three-axle vehicle on a crest rests forward or back): which one holds is for
// the forces to say (crossing_forces.hpp), and crossing.hpp follows them along the way. docs/theory/obstacles.md.
//
//   const ProfileVehicle v = profile_vehicle(vehicle, 9.81);
//   for (const Pose& p : resting_poses(v, Profile::step(0.1), -0.5)) say(degrees(p.pitch_rad));
#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <optional>
#include <utility>
#include <vector>

#include "performance/profile.hpp"
#include "vehicle/chain.hpp"
#include "vehicle/vehicle.hpp"

namespace hardpan::performance {

inline constexpr std::size_t kMostAxles = 10;
using vehicle::kMostBodies;
// Poses are looked for up to this pitch either way; a vehicle that leans further has tipped over or fallen into the ground. Chosen by us.
inline constexpr double kSteepestPitch_rad = 1.4;

struct ProfileAxle {
  double x_m = 0;                // ahead of the rearmost axle
  double radius_m = 0;           // outer radius, with grousers
  double centre_height_m = 0;    // of the wheel centre above the vehicle's own ground plane
  bool driven = true;            // an undriven wheel takes no torque, braking included
  int wheels = 1;                // share of load and stiffness where more than two axles stand
  std::optional<double> torque_limit_n_m;   // of the axle, all its wheels; above 0
  std::size_t body = 0;          // by place in ProfileVehicle::bodies
  // Of the whole axle on flat ground: deflection [m] and load [N], both rising from (0, 0); empty: rigid. The last slope goes on beyond the end.
  std::vector<std::pair<double, double>> deflection_load;
};
struct ProfileBody {
  double cg_x_m = 0, cg_z_m = 0, weight_n = 0;
  std::vector<ProfilePoint> underbody;      // lowest line of the body, x rising; empty: cannot hang up
};
// Between bodies[k] and bodies[k + 1]. Angles of the body ahead against the one behind, nose up positive.
struct ProfileJoint {
  double x_m = 0, z_m = 0;
  double stiffness_n_m_per_rad = 0;         // 0: free
  double lowest_rad = -std::numeric_limits<double>::infinity(), highest_rad = std::numeric_limits<double>::infinity();
};

// Axes as in vehicle.hpp: x forward from the rearmost axle, z up from the vehicle's own ground plane.
struct ProfileVehicle {
  std::vector<ProfileAxle> axles;           // 2 to kMostAxles, rearmost first, x rising
  double cg_x_m = 0, cg_z_m = 0;            // of the whole, standing straight
  double weight_n = 0;                      // m g of the whole, above 0
  std::vector<ProfilePoint> underbody;      // of a single body
  std::vector<ProfileBody> bodies;          // rearmost first, of a chain that bends; EMPTY: one rigid body
  std::vector<ProfileJoint> joints;         // one fewer than bodies
};
// Of a vehicle that check_vehicle accepts. Bodies behind and ahead of a rigid joint become one. Torque limit: peak torque times wheels. Underbody:
// vehicle::underbody. Wheels deflect as their Flex says. Nothing when it has more than kMostAxles axles.
[[nodiscard]] std::optional<ProfileVehicle> profile_vehicle(const vehicle::Vehicle& vehicle, double gravity_m_s2);
// The same with wheels that do not flatten.
[[nodiscard]] ProfileVehicle on_rigid_wheels(ProfileVehicle vehicle);
[[nodiscard]] bool bends(const ProfileVehicle& vehicle);         // more than one body
[[nodiscard]] bool flattens(const ProfileVehicle& vehicle);      // some wheel does
// The vehicle turned round: what was its rear leads.
[[nodiscard]] ProfileVehicle mirrored(const ProfileVehicle& vehicle);

struct WheelContact {
  bool carries = false;          // touches and goes on touching as the vehicle moves forward: may carry force
  double gap_m = 0;              // between wheel and ground, to rounding 0 where it touches
  ProfilePoint centre;
  ProfilePoint point;            // nearest ground
  double slope_rad = 0;          // of the ground tangent there, uphill positive: pi/2 at a face ahead, -pi/2 at a face behind
  int feature = -1;              // 2 i: corner i of the profile, 2 i + 1: the piece after corner i
  double deflection_m = 0;       // of a wheel that flattens: what the same load would ask on flat ground
};

// Where a body stands: a point (x, z) of it in the vehicle's own axes is at origin + turned by pitch.
struct BodyPose {
  ProfilePoint origin;
  double pitch_rad = 0;
  [[nodiscard]] ProfilePoint at(double x_m, double z_m) const;
};

struct Pose {
  double travel_m = 0;           // x of the middle between first and last axle centre
  double height_m = 0;           // z of it
  double pitch_rad = 0;          // nose up positive; of a chain: the rearmost body's
  ProfilePoint cg;               // of the whole
  std::size_t bodies = 1;
  std::array<BodyPose, kMostBodies> body{};
  std::size_t axles = 0;
  std::array<WheelContact, kMostAxles> wheel{};
  std::array<std::size_t, 2> pair{};   // of one rigid body on rigid wheels: the two that hold the pitch: [0] keeps it from falling, [1] from rising
  std::array<double, 3> motion{};        // x, z, nose-up turn [rad] per metre rolled of the middle, going forward
  double climb_ratio = 0;        // rise of the centre of gravity per metre rolled (mean of the two wheels) going forward
  double belly_depth_m = -std::numeric_limits<double>::infinity();  // deepest ground above the underbody line; positive: hung up
  double belly_x_m = 0;          // where
};

// Every pose at this travel with pitch within kSteepestPitch_rad, lowest pitch first; seen if the two wheels that carry change over 0.5 degrees
// of pitch or more. Empty: the vehicle finds no ground for two wheels.
[[nodiscard]] std::vector<Pose> resting_poses(const ProfileVehicle& vehicle, const Profile& profile, double travel_m);

}  // namespace hardpan::performance
