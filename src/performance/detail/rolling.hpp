// SPDX-License-Identifier: Apache-2.0
// A wheel over a profile, and a body on its wheels: the curve of wheel centres, the lowest height of the body at a pitch, the pitch at which
// the body passes from one wheel to another. For the module alone; docs/theory/obstacles.md eqs. 1 to 4.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include "performance/crossing_pose.hpp"

namespace hardpan::performance::detail {

// Ground with what the loops need at hand.
class Ground {
 public:
  explicit Ground(const Profile& profile);
  // Lowest height at which the centre of a wheel may stand at x (eq. 1).
  [[nodiscard]] double centre_height_m(double x, double radius) const;
  struct Nearest {
    double distance = 0;
    ProfilePoint point;
    int feature = -1;
  };
  // Nearest point of the ground within `reach` in x of the centre.
  [[nodiscard]] Nearest nearest(const ProfilePoint& centre, double reach) const;
  [[nodiscard]] double height_m(double x) const;                   // highest ground at x
  // Pieces whose x range, rays included, meets [from, to]: first and one past the last.
  [[nodiscard]] std::pair<std::size_t, std::size_t> pieces(double from, double to) const;
  struct Piece {
    bool vertical = false;
    double nx = 0, nz = 0, rise = 0;    // unit normal (up), dz/dx
    double length = 0;
  };
  [[nodiscard]] bool sticks_out(std::size_t corner) const { return convex_[corner] != 0; }
  [[nodiscard]] const std::vector<Piece>& all_pieces() const { return pieces_; }
  [[nodiscard]] const std::vector<ProfilePoint>& points() const { return points_; }
  [[nodiscard]] double first_x() const { return points_.front().x_m; }
  [[nodiscard]] double last_x() const { return points_.back().x_m; }

 private:
  std::vector<ProfilePoint> points_;
  std::vector<char> convex_;            // the corner sticks out: a wheel may ride on it
  std::vector<Piece> pieces_;
};

// Deepest ground over the lowest line of a body (its corners against the ground, the ground's corners against it), kept in the pose where deeper.
void meet_underbody(Pose& pose, const BodyPose& body, const std::vector<ProfilePoint>& underbody, const Ground& ground);

// The body over the ground; keeps references to what it was given. Lengths relative to the middle between first and last axle centre.
class Rolling {
 public:
  Rolling(const ProfileVehicle& vehicle, const Profile& profile);

  // Lowest height of the middle at this travel and pitch, and the wheel that keeps it up (eq. 2).
  struct Held {
    double height = 0;
    std::size_t wheel = 0;
  };
  [[nodiscard]] Held held(double travel, double pitch) const;
  // Height of the centre of gravity when the body is held so.
  [[nodiscard]] double cg_height(double travel, double pitch) const { return held(travel, pitch).height + cg_rise(pitch); }

  // The pose where the wheel that holds changes between two pitches (they must be held by different wheels); of several changes the
  // one nearest to `near`.
  [[nodiscard]] Pose pose_between(double travel, double low, double high, double near) const;
  // The pose of one pair of wheels (as in Pose::pair) nearest to a pitch, no further than `most`, first guess of the distance `guess`. Nothing
  // when they have none there or another wheel would stand in the ground.
  [[nodiscard]] std::optional<Pose> pose_of_pair(double travel, const std::array<std::size_t, 2>& pair, double pitch, double guess, double most) const;
  // The pose next to one in this direction of pitch (+1, -1): where a body that turns about the wheel that stays lands.
  [[nodiscard]] std::optional<Pose> next_pose(const Pose& pose, int direction) const;
  // The pose nearest to a pitch, no further from it than `most`; first guess of the distance `guess`.
  [[nodiscard]] std::optional<Pose> pose_near(double travel, double pitch, double guess, double most) const;
  // Where the body comes to rest when it is let go at this travel and pitch and turns downhill: a pose whose centre of gravity is a
  // minimum. Nothing when it passes kSteepestPitch_rad.
  [[nodiscard]] std::optional<Pose> let_go(double travel, double pitch) const;
  // Would the body, held at this travel, stay in the pose, turn nose down (-1) or nose up (+1)?
  [[nodiscard]] int turns(const Pose& pose) const;
  // Contacts, climb and belly of a body placed so; `low` and `high` hold the pitch.
  [[nodiscard]] Pose place(double travel, double height, double pitch, std::size_t low, std::size_t high) const;

  [[nodiscard]] const ProfileVehicle& vehicle() const { return *vehicle_; }
  [[nodiscard]] const Ground& ground() const { return ground_; }
  [[nodiscard]] double size_m() const { return size_; }            // distance of first and last axle plus two radii
  [[nodiscard]] double largest_radius_m() const { return largest_radius_; }
  [[nodiscard]] double smallest_radius_m() const { return smallest_radius_; }
  // Centre of a wheel relative to the middle at this pitch.
  [[nodiscard]] ProfilePoint arm(std::size_t wheel, double pitch) const;

 private:
  [[nodiscard]] double cg_rise(double pitch) const;
  [[nodiscard]] double needed(std::size_t wheel, double travel, double sine, double cosine) const;
  const ProfileVehicle* vehicle_;
  Ground ground_;
  std::array<double, kMostAxles> ahead_{}, above_{};
  double cg_ahead_ = 0, cg_above_ = 0, middle_x_ = 0, middle_z_ = 0;
  double size_ = 0, largest_radius_ = 0, smallest_radius_ = 0;
};

}  // namespace hardpan::performance::detail
