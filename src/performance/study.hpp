// SPDX-License-Identifier: Apache-2.0
// What a vehicle would do with another wheel, spring, mass, slip or speed: one or two parameters swept, each cell over the same possible soils.
//
// Only what is named changes: the body is lifted with its wheels where the diameter grows (centre of gravity, clearance, hitch and payload by the change of
// radius), mass scales all bodies alike, and nothing else follows (a larger wheel is not made heavier). A variant that is no vehicle any more (wheels that
// overlap, a wheel flat on its rim) has no value and says why. Speed is not in the wheel model: it acts through the drives (at_speed.hpp) and over rough
// ground (roughness.hpp); a quantity that does not depend on what is varied is refused, not told as a flat line.
//
//   const auto s = study(vehicle, ground, plan, {{Varied::wheel_diameter, 0.4, 1.0, 7}, {Varied::mass, 300, 600, 4}}, {}, place, problems);
//   for (const StudyCell& c : s->cells) plot(c.values, c.outcome.estimate, c.limited_by);
#pragma once

#include <array>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "performance/possible_runs.hpp"
#include "performance/roughness.hpp"
#include "units/dimension.hpp"

namespace hardpan::performance {

enum class Varied { wheel_diameter, wheel_width, wheel_stiffness, mass, slip, speed };
inline constexpr std::array kVaried{Varied::wheel_diameter, Varied::wheel_width, Varied::wheel_stiffness, Varied::mass, Varied::slip, Varied::speed};
[[nodiscard]] const char* name(Varied what);             // "wheel diameter"
[[nodiscard]] const char* unit(Varied what);             // SI
[[nodiscard]] units::Dimension dimension(Varied what);
[[nodiscard]] std::optional<Varied> varied_by_name(std::string_view name);

struct Variation {
  Varied what = Varied::wheel_diameter;
  double from = 0, to = 0;                               // SI, both ends included
  std::size_t steps = 2;                                 // values, 2 to 41
  std::string typed_unit;                                // in which `to` was written, for printing; empty: not known
  [[nodiscard]] double value(std::size_t step) const { return from + (to - from) * static_cast<double>(step) / static_cast<double>(steps - 1); }
};
// All wheels alike; mass: with payload. Slip and speed change nothing of the vehicle.
[[nodiscard]] vehicle::Vehicle with(vehicle::Vehicle vehicle, Varied what, double value_si);

// ride_margin: over rough ground at a speed, what is left of the bound that is nearest: 1 at rest on the level, 0 where wheels begin to leave the ground or a stated bound is
// reached, negative beyond. energy_level: out of the battery for a metre on the level, idle loads and slip counted.
enum class Studied { gradient_at_slip, gradient_maximum, pull_at_slip, energy_level, ride_margin };
[[nodiscard]] const char* name(Studied quantity);
[[nodiscard]] const char* unit(Studied quantity);        // SI
[[nodiscard]] units::Dimension dimension(Studied quantity);
[[nodiscard]] bool more_is_better(Studied quantity);
[[nodiscard]] bool depends(Studied quantity, Varied what);

struct RideOver {                                        // rough ground of ride_margin
  RoughGround ground;
  RideSettings settings;
  RideQuestion question;                                 // bounds
};
struct StudySettings {
  Studied quantity = Studied::gradient_at_slip;
  double slip_ratio = 0.2;
  std::optional<double> speed_m_s;                       // where it is not varied; absent: as slow as need be (gradients), as fast as the drives allow (energy)
  std::optional<double> needed;                          // of the quantity, SI: cells then have a margin
  std::vector<RideOver> over;                            // ride_margin: the worst of them counts
  std::function<std::string(std::string)> key_in_file;   // what the vehicle's file calls a key of its checks, for variants that are refused; absent: as the checks call it
};

struct StudyCell {
  std::vector<double> values;                            // one a variation, SI
  std::string why_not;                                   // not empty: no value, and why
  Outcome outcome;
  std::string limited_by;                                // in words, on the best-estimate soil
};
struct Study {
  std::string vehicle, zone;
  std::vector<Variation> variations;                     // one or two
  Studied quantity = Studied::gradient_at_slip;
  double slip_ratio = 0.2;                               // where it is not varied
  std::optional<double> speed_m_s, needed;               // as StudySettings
  StudyCell as_it_is;                                    // the vehicle as it is; a value is absent where wheels differ or are rigid, or no speed is stated
  std::vector<std::optional<double>> present;            // values of as_it_is
  std::vector<StudyCell> cells;                          // the last variation runs fastest
  std::string reason_without;                            // without draws
  [[nodiscard]] const StudyCell& at(std::size_t i, std::size_t j = 0) const { return cells[variations.size() == 2 ? i * variations[1].steps + j : i]; }
  // How far a value is on the good side of what is needed; ride_margin is a margin itself. Nothing where nothing is needed.
  [[nodiscard]] std::optional<double> margin(double value) const;
  [[nodiscard]] std::optional<double> margin_low(const StudyCell& cell) const;   // at the unfavourable end of the next point
};
// Refuses none or more than two variations, two of one kind, ends out of range or in the wrong order, step counts outside 2 to 41, what the quantity does not depend on.
bool check_study(const std::vector<Variation>& variations, const StudySettings& settings, const base::Place& place, base::Problems& problems);
// Beyond check_study refuses a speed that nothing of this vehicle depends on, and a ride margin without rough ground.
[[nodiscard]] std::optional<Study> study(const vehicle::Vehicle& vehicle, const Ground& ground, DrawPlan plan, const std::vector<Variation>& variations,
                                         const StudySettings& settings, const base::Place& place, base::Problems& problems);

}  // namespace hardpan::performance
