// SPDX-License-Identifier: Apache-2.0
// Balances of many vehicles on slopes solved side by side: the wheels of all roll together through contact::wheels_at_load, and every lane keeps
// the slopes of its equations by Broyden (1965). For the module alone; docs/theory/turning.md, slopes over possible soils.
#pragma once

#include <array>
#include <span>
#include <utility>
#include <vector>

#include "performance/any_heading.hpp"
#include "performance/detail/turn_balance.hpp"

namespace hardpan::performance::detail {

// What ends straight travel on a heading besides the ground itself: the working limit or the largest (slip 1: none but 95 %).
struct HeadingBounds {
  double slip = 0.2, drift_rad = 0.1745;
  HeadingFactor beyond_drift = HeadingFactor::drift;
  double steepest_rad = 1.05;
  HeadingFactor beyond_steepest = HeadingFactor::none;   // or tips_over, where that is the slope at which it would tip
};
// Where no balance is left: the larger part of the weight's pull along the slope names what is missing.
[[nodiscard]] HeadingFactor ground_gives_out(double heading_rad);

inline constexpr double kMostSkid = 0.9995;   // of all wheels: just before they lock, after which steeper slopes find nothing more

inline constexpr std::size_t kLaneUnknowns = kUnknowns + 1;   // and the gradient
inline constexpr std::size_t kShareRow = kUnknowns, kAlongRow = kUnknowns + 1;
using LaneUnknown = std::array<double, kLaneUnknowns>;
using LaneSlopes = std::array<LaneUnknown, kUnknowns + 2>;    // of the balances, of the share and of the place along

// One vehicle on one soil on its way to a limit.
struct SlopeLane {
  SlopeLane(const TurningMachine& machine, double heading_rad);
  SlopeLane(const SlopeLane&) = delete;
  SlopeLane& operator=(const SlopeLane&) = delete;

  const TurningMachine* machine;
  TurnCase turn;             // balance looks at it
  Balance balance;
  LaneUnknown x{};
  // Of the last evaluation.
  Unknown unbalanced{};
  double share = 0, along = 0, slip = 0;   // of the bound used most; slip and drift together, which grow along the way; largest slip
  HeadingFactor most = HeadingFactor::none;
  // Of the search.
  LaneSlopes slopes{};
  bool good = false;         // the last solution converged
  int evaluations = 0;
};

// Evaluates lanes at their x.
class Together {
 public:
  // Both are looked at as long as this lives.
  Together(const HeadingBounds& bounds, contact::SimdTarget target) : bounds_(bounds), target_(target) {}
  void operator()(std::span<SlopeLane* const> lanes);

 private:
  void roll_wheels(std::span<SlopeLane* const> lanes);
  void tell(SlopeLane& lane) const;

  const HeadingBounds& bounds_;
  contact::SimdTarget target_;
  std::vector<contact::Contact> contacts_;
  std::vector<double> load_, slip_, angle_, guess_;
  std::vector<std::pair<std::size_t, std::size_t>> owner_;
  std::vector<contact::WheelAnswer> answers_;
};

// The sixth equation of a lane, beside its five balances.
enum class Equation {
  bound,    // share = target
  along,    // along = target
  ahead     // (x - from) direction = target
};
struct Aim {
  SlopeLane* lane;
  Equation equation;
  double target;
  LaneUnknown direction{}, from{};
};
// Every lane from its x to its target with the slopes it has; good says which arrived: balanced to 2e-6 of the weight, on target to 1e-4.
void solve_together(std::span<const Aim> aims, Together& roll);
// Slopes of every lane at its x by differences; lanes without any end with good = false.
void measure_slopes(std::span<SlopeLane* const> lanes, Together& roll);

}  // namespace hardpan::performance::detail
