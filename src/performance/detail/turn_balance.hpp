// SPDX-License-Identifier: Apache-2.0
// The balances of a steady turn and their solution. For the module alone; turn_on_soil.hpp, docs/theory/turning.md eqs. 7 to 13.
//
// Unknowns: drift (speed to the left of the reference point over the speed scale); then skid: left and right rim speed or torque; steered: rim
// speed or torque and steering curvature times wheelbase; then how far the soil's own moment moves the load's foot ahead and to the left, in
// wheelbases. Torques in weight times radius. A crab steered vehicle holds straight travel as a skid steered one, its wheels straight.
#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <optional>
#include <vector>

#include "performance/turn_on_soil.hpp"

namespace hardpan::performance::detail {

inline constexpr std::size_t kUnknowns = 5;
using Unknown = std::array<double, kUnknowns>;
struct Motion {
  double v = 1, o = 0;   // (7)
};

struct Rolled {
  contact::WheelAnswer answer;
  bool backward = false;
  double along = 0, across = 0, torque = 0, rim = 0;
};

class Balance {
 public:
  // Both are looked at as long as this lives; the case may change between evaluations, but for its radius.
  Balance(const TurningMachine& machine, const TurnCase& turn);
  void set_radius(double radius_m);
  // Loads go no further than to the slope that tips it, and tip_rad() tells that slope: a search may then look across it.
  void hold_at_tip(bool on) { holds_at_tip_ = on; }
  // Largest slip of a driven wheel that counts as rolling; 95 % where not set.
  void set_most_slip(double slip) { most_rim_ = 1 / (1 - slip); }
  // For wheels that slide; the others take what answer() is told.
  void set_target(contact::SimdTarget target) { target_ = target; }
  [[nodiscard]] Unknown start();
  // On the level, once started: what keeps it from straight travel by other means (travel.hpp), for a search that ended without an answer.
  [[nodiscard]] std::optional<TurnStatus> level() const { return c_.gradient_rad == 0 && level_ != TurnStatus::balanced ? std::optional(level_) : std::nullopt; }
  // Near turning on the spot, left side back, right side ahead.
  [[nodiscard]] Unknown start_on_the_spot() const;
  void begin() { spins_ = false; }
  // Some try since begin() asked a driven wheel for more than the ground gives it below 95 % slip.
  [[nodiscard]] bool spins() const { return spins_; }
  [[nodiscard]] TurnStatus trouble() const { return trouble_; }
  [[nodiscard]] int evaluations() const { return evaluations_; }

  // Unbalanced forces and moments over the weight; NaN where a wheel has no answer.
  Unknown operator()(const Unknown& z);

  // The same in steps, so that the wheels of many vehicles roll together: ask, then for every wheel that stands roll() or answer(), as long as it
  // settles_anew(), then tell.
  bool ask(const Unknown& z);   // false: it tips over
  [[nodiscard]] std::size_t wheels() const { return places_.size(); }
  [[nodiscard]] bool stands(std::size_t wheel) const { return !loads_.empty() && loads_[wheel] > 0; }
  struct Ask {                  // a wheel that rolls ahead at a known slip
    const contact::Contact* contact = nullptr;
    double load_n = 0, slip_ratio = 0, slip_angle_rad = 0, guess_rad = 0;
  };
  [[nodiscard]] bool plain(std::size_t wheel, Ask& out) const;  // false: only roll() can tell
  void roll(std::size_t wheel);
  void answer(std::size_t wheel, const contact::WheelAnswer& answer);
  bool settles_anew();          // once all have rolled: with other loads, to roll under again (three axles and more)
  Unknown tell();

  // What the last evaluation, at the solution, says.
  void report(const Unknown& z, TurnState& out) const;
  [[nodiscard]] double largest_slip() const;   // size
  [[nodiscard]] double largest_drive_slip() const;
  [[nodiscard]] double common_skid() const;    // size; of all braked wheels the least
  [[nodiscard]] double torque_share() const;
  [[nodiscard]] double steering_share() const { return share_of_largest_angle(m_.vehicle, places_); }
  [[nodiscard]] double tip_rad() const { return tip_rad_; }

 private:
  [[nodiscard]] double slip_of(std::size_t wheel) const;
  [[nodiscard]] std::size_t reference() const;
  [[nodiscard]] double driven_wheels() const;
  void place(double curvature);
  void load(double shift_x_m, double shift_y_m);

  const TurningMachine& m_;
  const TurnCase& c_;
  contact::SimdTarget target_ = contact::SimdTarget::plain;
  bool skid_, torque_, holds_at_tip_ = false;
  double most_rim_ = 20;        // of a driven wheel's own travel, as 95 % slip: the limit that gradients are sought to as well
  double length_, line_, radius_ = 0;
  std::optional<std::size_t> bends_at_;
  Motion motion_;
  Foot cg_;
  double push_x_ = 0, push_y_ = 0, slope_x_ = 0, slope_y_ = 0, normal_ = 0, tip_rad_ = std::numeric_limits<double>::infinity();
  double load_slope_ = 0, load_fall_ = 0;   // as load() has it
  int settlings_ = 0;                       // since ask
  Unknown z_{};
  Stance stance_;
  std::vector<WheelPlace> places_;
  std::vector<double> loads_, guess_, ground_, lower_;   // ground_: how far it falls away from a crest; lower_: with what a settled wheel sinks beyond its own stiffness
  struct Settled {
    double load = 0, sinks = 0, yields = 1;  // of the last pass; how much more it yields than its law without slip has it
  };
  std::vector<Settled> settled_;
  struct Asked {
    double u = 0, w = 0, drive = 0;
  };
  std::vector<Asked> asked_;
  std::vector<Rolled> rolled_;
  TurnStatus trouble_ = TurnStatus::balanced;
  TurnStatus level_ = TurnStatus::balanced;
  bool spins_ = false;
  int evaluations_ = 0;
};

[[nodiscard]] double largest(const Unknown& f);   // infinite where not finite
// Newton's method with differences from z, which it replaces, each step halved until the unbalanced forces get smaller.
base::SolveReport solve(Balance& balance, double weight_n, Unknown& z);
// One solution at a radius from a guess, which it replaces.
bool take_at(Balance& balance, double radius_m, double weight_n, Unknown& z, TurnState& out);

// Straight ahead with one heading on slope after slope, each solved from the last that balanced.
struct StraightWay {
  StraightWay(const TurningMachine& machine, double heading_rad);
  StraightWay(const StraightWay&) = delete;
  StraightWay& operator=(const StraightWay&) = delete;
  TurnState at(double gradient_rad);
  double weight_n;
  TurnCase turn;       // balance looks at it
  Balance balance;
  Unknown z;
};

}  // namespace hardpan::performance::detail
