// SPDX-License-Identifier: Apache-2.0
// How a chain of bodies shares its weight among its axles: least potential energy of wheels and elastic joints in side view, wheels that only
// push, joints between their stops.
//
// Small motions from standing straight: body 0 heaves by h [m, down] about x = 0 and pitches by t[0] [rad, nose down]; every further body pitches
// by t[b] about the joint behind it. One step of Newton for supports that are not linear: their load and compliance now go in. For one rigid body on
// two axles moments alone do it. Up to kMostBodies bodies; no allocation. docs/theory/performance.md.
//
//   ChainShare share = share_along(chain, force, supports);   // force: what heave and each pitch feel, chain_weight for a weight
//   if (share.stands) use(share.load_n[0]);
#pragma once

#include <array>
#include <cstddef>
#include <span>

namespace hardpan::vehicle {

struct Vehicle;

inline constexpr std::size_t kMostBodies = 6;
inline constexpr std::size_t kMostSupports = 10;

struct ChainJoint {
  double x_m = 0, z_m = 0;
  bool rigid = true;
  double stiffness_n_m_per_rad = 0;  // 0: free
  double lowest_rad = 0, highest_rad = 0;  // of the body ahead against the one behind, NOSE UP; infinite without stops
};

struct Chain {
  std::size_t bodies = 1;
  std::array<ChainJoint, kMostBodies - 1> joint{};
};
[[nodiscard]] Chain chain_of(const Vehicle& vehicle);  // at most kMostBodies bodies

// What heave [N, down] and pitch of each body [N m, nose down] feel: virtual work of forces per unit of each motion.
struct ChainForce {
  std::array<double, kMostBodies + 1> of{};
  // A force at a point of a body, forward and down; a moment on a body, nose down.
  void add_force(const Chain& chain, std::size_t body, double x_m, double z_m, double forward_n, double down_n);
  void add_moment(std::size_t body, double nose_down_n_m) { of[1 + body] += nose_down_n_m; }
};

struct ChainSupport {
  double x_m = 0;
  std::size_t body = 0;
  double load_n = 0, settlement_m = 0;  // now
  double compliance_m_per_n = 1;        // dsettlement/dload, above 0
};

struct ChainShare {
  bool stands = false;                  // false: falls over or folds up; loads are then of no use, first_lifted is the wheel whose lift did it
  std::size_t first_lifted = kMostSupports;
  std::array<double, kMostSupports> load_n{};     // 0 where lifted
  std::array<double, kMostBodies> pitch_rad{};    // nose down
  std::array<bool, kMostBodies - 1> on_stop{};
};
[[nodiscard]] ChainShare share_along(const Chain& chain, const ChainForce& force, std::span<const ChainSupport> supports);

// Standing level and straight on hard ground on wheels of equal stiffness, each settling kRigidSettlement_m under the whole weight: among
// rigid joints the loads do not depend on that figure, an elastic joint counts for nearly nothing against it. Chosen by us.
inline constexpr double kRigidSettlement_m = 1e-4;
[[nodiscard]] ChainShare level_share(const Vehicle& vehicle, double gravity_m_s2);

}  // namespace hardpan::vehicle
