// SPDX-License-Identifier: Apache-2.0
// A chain of bodies on wheels that press into the ground: how it stands at a travel, by least energy, the forces of traction given.
//
// Unknowns u: height of the middle between first and last axle centre [m], then the pitch of every body [rad], rearmost first; the travel of that
// middle is held. Any point of the vehicle is the middle plus a sum of fixed arms turned by one pitch each, so first and second derivatives are
// plain. Rigid wheels are wheels that settle kSettled of their radius under the whole weight. docs/theory/obstacles.md eqs. 17 to 20.
#pragma once

#include <array>
#include <span>

#include "performance/detail/pressed_wheel.hpp"

namespace hardpan::performance::detail {

inline constexpr double kSettled = 1e-6;            // of the radius, a rigid wheel under the whole weight; chosen by us
inline constexpr double kStopTurn_rad = 1e-4;       // a stop gives way by this under weight times length; chosen by us
inline constexpr std::size_t kMostUnknowns = kMostBodies + 1;
using Unknowns = std::array<double, kMostUnknowns>;

// A point of the vehicle: the arms that the pitches turn, from the middle.
struct Arms {
  std::size_t body = 0;
  std::array<ProfilePoint, kMostBodies> arm{};
};

struct Stand {
  Unknowns u{};
  bool stands = false;         // a minimum of energy, its forces balanced to the tolerance
  bool fell = false;           // turned past kSteepestPitch_rad, or down without end
  int steps = 0;
  std::array<Press, kMostAxles> wheel{};
  std::array<double, kMostBodies - 1> joint_moment{}, joint_stiffness{};   // nose up on the body ahead, and its fall per rad
  Unknowns per_travel{};       // du / dtravel at the same loads
  std::array<std::array<double, kMostUnknowns>, kMostUnknowns> factor{};   // of the second derivatives of energy, lower triangle
};

class Linkage {
 public:
  Linkage(const ProfileVehicle& vehicle, const Profile& profile);

  // From a guess, at a travel; `load` is what the tractions do on each unknown (N, N m).
  [[nodiscard]] Stand stand(double travel, const Unknowns& guess, const Unknowns& load) const;

  [[nodiscard]] const ProfileVehicle& vehicle() const { return vehicle_; }
  [[nodiscard]] const Ground& ground() const { return ground_; }
  [[nodiscard]] std::size_t bodies() const { return bodies_; }
  [[nodiscard]] std::size_t axles() const { return vehicle_.axles.size(); }
  [[nodiscard]] std::size_t unknowns() const { return bodies_ + 1; }
  [[nodiscard]] bool rigid_wheels() const { return rigid_; }
  [[nodiscard]] double size_m() const { return size_; }
  [[nodiscard]] double smallest_radius_m() const { return smallest_radius_; }
  [[nodiscard]] double largest_radius_m() const { return largest_radius_; }
  [[nodiscard]] double weight_n() const { return vehicle_.weight_n; }
  [[nodiscard]] const Arms& axle(std::size_t k) const { return axle_[k]; }
  [[nodiscard]] const ProfileBody& body(std::size_t b) const { return vehicle_.bodies[b]; }
  [[nodiscard]] const Arms& body_cg(std::size_t b) const { return cg_[b]; }
  // Stiffness of an axle against the ground where loads are shared [N/m].
  [[nodiscard]] double stiffness_n_per_m(std::size_t k, const Stand& stand) const;
  [[nodiscard]] Unknowns straight_on(double slope_rad, double travel) const;   // a first guess on the ray at the start

  // How far the unknowns would move if the loads changed by this much; pitches times the size, the largest [m].
  [[nodiscard]] double moves_m(const Stand& stand, const Unknowns& load_change) const;
  [[nodiscard]] ProfilePoint place(const Arms& arms, double travel, const Unknowns& u) const;
  [[nodiscard]] Pose pose(double travel, const Stand& stand) const;

 private:
  [[nodiscard]] Arms arms_of(std::size_t body, double x, double z) const;
  struct Energy;
  void evaluate(double travel, const Unknowns& u, const Unknowns& load, double soften, std::span<const bool> held, Energy& out) const;
  [[nodiscard]] bool newton(double travel, Unknowns& u, const Unknowns& load, double soften, std::span<const bool> held, bool descend, Energy& e, int& steps) const;

  ProfileVehicle vehicle_;
  Ground ground_;
  std::size_t bodies_ = 1;
  ProfilePoint middle_;                       // of first and last axle centre, vehicle axes
  std::array<Arms, kMostAxles> axle_{};
  std::array<Arms, kMostBodies> cg_{}, origin_{};
  std::array<Law, kMostAxles> law_{};
  std::array<bool, kMostAxles> soft_{};
  bool rigid_ = true;
  double size_ = 0, smallest_radius_ = 0, largest_radius_ = 0, length_ = 0;
};

}  // namespace hardpan::performance::detail
