// SPDX-License-Identifier: Apache-2.0
#include "performance/obstacle_friction.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

namespace hardpan::performance {

Outcome obstacle_friction_outcome(const Placed& placed) {
  return outcome(without_torque_limit(placed), [](std::span<const OnSoil> on, std::span<DrawAnswer> out, Workspace& space) {
    std::vector<Gradient> g(on.size());
    maximum_gradients(on, g, space);
    for (std::size_t i = 0; i < on.size(); ++i) {
      const bool lost = g[i].factor == LimitingFactor::not_converged;
      const double climbed = g[i].gradient_rad > 0 ? std::tan(g[i].gradient_rad) : 0;
      out[i] = {lost ? std::numeric_limits<double>::quiet_NaN() : std::min(climbed, on[i].plain.axle[0].contact.tan_phi), g[i].factor, g[i].state};
    }
  });
}

}  // namespace hardpan::performance
