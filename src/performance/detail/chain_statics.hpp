// SPDX-License-Identifier: Apache-2.0
// What the wheels of a chain of bodies must do to hold it where it stands: least friction, least torque, by linear programs.
//
// Balance of every body at once by virtual work, so that joint forces do not appear; moments of elastic joints and of stops come from their
// angles. Normal forces follow the stiffness of the wheels (rigid ones share as equal ones), by settlements square to the way; what the wheels do
// not settle (a body hung between elastic joints) moves against the joints. Nothing is allocated. docs/theory/obstacles.md eqs. 21 to 24.
#pragma once

#include "performance/crossing_forces.hpp"
#include "performance/detail/linkage.hpp"
#include "performance/detail/small_program.hpp"

namespace hardpan::performance::detail {

class ChainStatics {
 public:
  ChainStatics(const Linkage& linkage, const Stand& stand, TorqueSplit split);

  // `guess`: where the search for mu begins.
  [[nodiscard]] Forces least_friction(double most_friction, double guess);
  [[nodiscard]] Forces least_torque(double friction);
  // What tractions do on each unknown of the linkage.
  [[nodiscard]] Unknowns load(const Forces& forces) const;
  // The same of one friction mobilised on all wheels that balances it along the level, where nothing else is known.
  [[nodiscard]] Unknowns even_load() const;
  // The program of least excess (plus 1) at a friction, as it is solved: for tests and the bench.
  [[nodiscard]] SmallProgram program(double friction);

 private:
  struct Contact {
    std::size_t axle = 0;
    std::array<double, kMostUnknowns + 1> normal{}, traction{};     // on x, z, pitches (over the length)
    double at_rest = 0, stiffness = 0;                              // normal force over the weight, per settlement column
    std::array<double, kMostUnknowns> settles{};
    double arm = 0;                                                 // over the length
    double pressed = 0;                                             // normal force of the pose [N]
    bool driven = true, lifted = false;
  };
  void find_columns(const Stand& stand);
  void balance(SmallProgram& p, bool all_driven);
  void within(SmallProgram& p, double friction, const std::array<double, kMostAxles>& weights);
  [[nodiscard]] double normal_of(const ProgramAnswer& a, std::size_t i) const;
  [[nodiscard]] double traction_of(const ProgramAnswer& a, std::size_t i) const;
  [[nodiscard]] double largest_ratio(const ProgramAnswer& a) const;
  void tell(Forces& out, const ProgramAnswer& a) const;
  [[nodiscard]] Forces friction_as_lifted(double most, double guess);
  [[nodiscard]] Forces torque_as_lifted(double friction);
  [[nodiscard]] bool balances_somehow();
  template <class Solve, class Better>
  [[nodiscard]] Forces over_lifted(const Solve& solve, const Better& better);
  [[nodiscard]] bool takes_torque(std::size_t i, bool all_driven) const { return !contact_[i].lifted && (contact_[i].driven || all_driven); }

  const Linkage* linkage_;
  TorqueSplit split_;
  double length_ = 1;
  std::size_t count_ = 0, settlements_ = 0, rows_ = 0, excess_ = 0;
  std::array<Contact, kMostAxles> contact_{};
  std::array<double, kMostUnknowns + 1> fixed_{};                                        // forces that do not change: weight, joints as they are
  std::array<std::array<double, kMostUnknowns>, kMostUnknowns + 1> joint_{};              // joints' answer to the settlements
  struct Stop {                                                                          // a joint that rests on one: its push keeps its sign
    bool rests = false;
    double sign = 1, at_rest = 0;
    std::array<double, kMostUnknowns> per{};
  };
  std::array<Stop, kMostBodies - 1> stop_{};
  std::array<std::size_t, kMostAxles> column_{};
  std::array<double, kMostAxles> per_{};
};

}  // namespace hardpan::performance::detail
