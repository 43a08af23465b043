// SPDX-License-Identifier: Apache-2.0
// What a vehicle would do with another wheel, spring, mass or slip: one or two parameters swept, each cell over the same possible soils.
//
// Only what is named changes: the body is lifted with its wheels where the diameter grows (centre of gravity, clearance, hitch and payload by the change of
// radius), mass scales all bodies alike, and nothing else follows (a larger wheel is not made heavier). A variant that is no vehicle any more (wheels that
// overlap, a wheel flat on its rim) has no value and says why. Speed is not in the wheel model: vary slip.
//
//   const auto s = study(vehicle, ground, plan, {{Varied::wheel_diameter, 0.4, 1.0, 7}, {Varied::mass, 300, 600, 4}}, {}, place, problems);
//   for (const StudyCell& c : s->cells) plot(c.values, c.outcome.estimate);
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "performance/possible_runs.hpp"

namespace hardpan::performance {

enum class Varied { wheel_diameter, wheel_width, wheel_stiffness, mass, slip };
inline constexpr std::array kVaried{Varied::wheel_diameter, Varied::wheel_width, Varied::wheel_stiffness, Varied::mass, Varied::slip};
[[nodiscard]] const char* name(Varied what);             // "wheel diameter"
[[nodiscard]] const char* unit(Varied what);             // SI
[[nodiscard]] std::optional<Varied> varied_by_name(std::string_view name);

struct Variation {
  Varied what = Varied::wheel_diameter;
  double from = 0, to = 0;                               // SI, both ends included
  std::size_t steps = 2;                                 // values, 2 to 41
  [[nodiscard]] double value(std::size_t step) const { return from + (to - from) * static_cast<double>(step) / static_cast<double>(steps - 1); }
};
// All wheels alike; mass: with payload. Slip changes nothing of the vehicle.
[[nodiscard]] vehicle::Vehicle with(vehicle::Vehicle vehicle, Varied what, double value_si);
[[nodiscard]] std::optional<double> present_value(const vehicle::Vehicle& vehicle, Varied what, double working_slip);  // nothing where wheels differ or are rigid

enum class Studied { gradient_at_slip, gradient_maximum, pull_at_slip };
[[nodiscard]] const char* name(Studied quantity);
[[nodiscard]] const char* unit(Studied quantity);        // SI

struct StudyCell {
  std::vector<double> values;                            // one a variation, SI
  std::string why_not;                                   // not empty: no value, and why
  Outcome outcome;
};
struct Study {
  std::string vehicle, zone;
  std::vector<Variation> variations;                     // one or two
  Studied quantity = Studied::gradient_at_slip;
  double slip_ratio = 0.2;                               // where it is not varied
  std::vector<std::optional<double>> present;            // of the vehicle as it is
  std::vector<StudyCell> cells;                          // the last variation runs fastest
  std::string reason_without;                            // without draws
  [[nodiscard]] const StudyCell& at(std::size_t i, std::size_t j = 0) const { return cells[variations.size() == 2 ? i * variations[1].steps + j : i]; }
};
// Why these cannot be varied together, in words; empty when they can.
[[nodiscard]] std::string why_no_study(const std::vector<Variation>& variations);
struct StudySettings {
  Studied quantity = Studied::gradient_at_slip;
  double slip_ratio = 0.2;
};
// Refuses none or more than two variations, two of one kind, ends out of range or in the wrong order, step counts outside 2 to 41.
[[nodiscard]] std::optional<Study> study(const vehicle::Vehicle& vehicle, const Ground& ground, DrawPlan plan, const std::vector<Variation>& variations,
                                         const StudySettings& settings, const base::Place& place, base::Problems& problems);

}  // namespace hardpan::performance
