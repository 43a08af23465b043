// SPDX-License-Identifier: Apache-2.0
// How a chain of bodies stands on a slope of any direction: settlement and lean of every body, and the load of every wheel. For the module alone;
// tip_over.hpp, docs/theory/performance.md.
//
// Small motions from standing: heave and the two slopes of body 0 about the origin on the ground, pitch and roll of every joint for what lies ahead
// of it. Wheels only push; rigid axes tie, elastic ones are springs, free ones nothing, stops hold. The grip of every wheel that holds (Holding) is in proportion
// to its load, of one that rolls its own share of it. A lean carries weights and feet sideways with it, to second order of the motions; the height that is lost by settling is left out, as for one body.
// For bodies tied rigidly this is the one rigid body of tip_over.cpp: loads to 1e-9 of the weight, on rigid wheels to 1e-6 (they settle 1e-7 m under it).
#pragma once

#include <array>
#include <cstddef>
#include <memory>
#include <span>

#include "performance/tip_over.hpp"
#include "vehicle/chain.hpp"

namespace hardpan::performance::detail {

// Lean as slopes of the settlement along x and y. Where it falls: the way it goes, of any size.
struct ChainStand {
  bool stands = false;
  std::array<double, vehicle::kMostBodies> lean_x{}, lean_y{};
  std::array<double, vehicle::kMostBodies> work{};                  // of weight and wheels on this way: one that falls by itself drives, the others are pulled along
  // The first from the rear of like ones.
  [[nodiscard]] std::size_t leans_most(std::size_t bodies) const;
  [[nodiscard]] std::size_t drives(std::size_t bodies) const;       // does most of that work
  // Whether all bodies lean alike, within a hundredth of the most.
  [[nodiscard]] bool lean_alike(std::size_t bodies) const;
};

// A chain tilted slowly: every slope starts from how it stood on the last on which it stood, so that of several ways to stand it is the one that tilting leads to.
class TiltedChain {
 public:
  TiltedChain(const Stance& stance, std::span<const double> lower_m, double fall_rad);   // both must outlive it; `lower_m` as in standing_loads_n
  ~TiltedChain();
  TiltedChain(const TiltedChain&) = delete;
  TiltedChain& operator=(const TiltedChain&) = delete;
  // The loads go to `load_n`, of no use where it falls.
  [[nodiscard]] ChainStand at(double slope_rad, std::span<double> load_n);

  struct Standing;

 private:
  const Stance& stance_;
  std::span<const double> lower_;
  double fall_;
  std::unique_ptr<Standing> last_;
};

}  // namespace hardpan::performance::detail
