// SPDX-License-Identifier: Apache-2.0
// Rut sheets against the rut predicted pass by pass (performance/passes.hpp).
//
// Needs the unloading stiffness that plates measured in the zone: without it the floor between passes is not known and only that is said. The predicted wheels have the slip
// that the sheet tells, else the predicted self-propelled one. Both depths are compared, under the wheel and after it has gone. How a rut grows with passes is compared as the exponent
// of a power law over the same passes; it hangs on the unloading stiffness above all (docs/theory/trials.md), and a measured exponent that excludes the predicted one says so.
//
//   for (const RutByPass& r : compare_ruts(vehicle, placed, reload, drawbar, units)) say(r.statement);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/possible_runs.hpp"
#include "records/drawbar.hpp"
#include "units/print.hpp"

namespace hardpan::validation {

inline constexpr int kMostPasses = 100;  // compared; later ones are counted

struct RutPass {
  int pass = 1;
  std::optional<math::Estimate> measured_loaded_m, measured_after_m;
  math::Estimate predicted_loaded_m, predicted_after_m;   // NaN where the best-estimate soil does not carry the vehicle
  // The measured mean's interval (its value, without one) and the predicted next point overlap; absent where either is missing.
  std::optional<bool> consistent_loaded, consistent_after;
};

struct RutByPass {
  std::string vehicle, zone, wheel_path;
  double slip_ratio = 0;                     // of the predicted wheels, told with the model's radius
  bool slip_measured = false;                // false: predicted, self-propelled
  bool disturbed = false;                    // with a stated strength of disturbed ground
  double weight_n = 0;
  std::vector<RutPass> passes;               // those measured
  std::size_t passes_left_out = 0;           // beyond kMostPasses
  std::optional<math::Estimate> growth_measured;  // exponent of depth over pass
  std::string growth_depth;                  // "loaded" or "after"
  std::optional<double> growth_predicted;    // the same passes and depth, best-estimate soil
  bool grows_more = false, grows_less = false;  // the interval of the measured exponent lies above (below) the predicted one
  std::size_t judged = 0, consistent = 0;    // depths
  std::string why_not;                       // nothing is predicted, because
  std::string statement;
};

[[nodiscard]] std::vector<RutByPass> compare_ruts(const vehicle::Vehicle& vehicle, const performance::Placed& placed,
                                                  const std::optional<soil::Reload>& reload, const records::DrawbarResult& drawbar,
                                                  units::OutputUnits units, const std::optional<performance::DisturbedStrength>& disturbed = std::nullopt);

}  // namespace hardpan::validation
