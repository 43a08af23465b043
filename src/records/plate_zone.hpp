// SPDX-License-Identifier: Apache-2.0
// All plate pushes of one zone to a pressure-sinkage law with intervals.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "records/plate_fit.hpp"
#include "records/plate_layers.hpp"
#include "soil/possible_soils.hpp"

namespace hardpan::records {

// One point's own fit, for the table of points and for finding the odd one.
struct PlatePoint {
  std::string point;
  std::size_t tests = 0, readings = 0;
  double ln_p_first = 0, ln_p_second = 0, n = 0;  // at the zone's reference depth and widths
  bool has_first = false, has_second = false;     // widths tested here
  bool flagged = false;
  std::string reason;  // why it is flagged
};

struct PlateZone {
  std::size_t points = 0, tests = 0, readings = 0;
  std::vector<double> widths_m;            // tested, rising
  bool paired = false;                     // every point saw both widths
  std::vector<PlateFit> fits;              // joint, two-step, the user's choice: side by side
  PlateFit chosen;                         // the one the soil is made of
  LawChoice choice;
  ZoneLayers layers;
  std::vector<PlatePoint> each_point;
  std::vector<Parameter> parameters;       // n, moduli, p at three depths per width
  std::vector<std::string> residuals;      // what is left over, in words
  std::vector<std::string> not_identified; // by name, with the remedy
  std::vector<std::string> remarks;        // instruments without a stated uncertainty
  std::vector<std::string> disagreement;   // estimators further apart than their intervals
  std::optional<soil::Reload> reload;
  // Centre, covariances and degrees of freedom of (ln p first, ln p second, n).
  using Matrix3 = std::array<std::array<double, 3>, 3>;
  std::array<double, 3> centre{};
  Matrix3 sampling{}, between_points{}, instrument{};
  double dof = 0;
  std::string status;  // "ok", or why there is no law
};

// `curves` of one zone. Robust weights and spike marks are written back into them.
[[nodiscard]] PlateZone reduce_plates(std::vector<PlateCurve*> curves, const std::vector<Instrument>& instruments,
                                      const GroundSettings& settings);

}  // namespace hardpan::records
