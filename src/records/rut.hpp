// SPDX-License-Identifier: Apache-2.0
// Rut sheets: depth by wheel path and pass, loaded and after rebound, and depth against slip.
//
// loaded: under the standing wheel; after: in the empty rut. Their difference is the rebound. Readings
// of one run are spread along a wheel path; the run is the unit of scatter where runs are named.
//
//   for (const RutGroup& g : reduce_ruts(readings, {}, problems).groups) say(g.pass, g.depth_after_m);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "math/estimate.hpp"
#include "records/vehicle_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

struct RutSettings {
  double level = math::kIntervalLevel;
  double negative_rebound_remark_m = 0.003;  // "after" deeper than "loaded" by more than this is remarked
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values inside remarks; results are SI
};

struct RutGroup {
  std::string vehicle, zone, wheel_path;
  int pass = 1;
  std::size_t readings = 0, runs = 0;
  double weight_n = 0, gradient_rad = 0;  // means over the readings
  std::optional<math::Estimate> depth_loaded_m, depth_after_m, rebound_m;  // n = runs, or readings if no run is named
  bool n_is_runs = false;
  std::vector<std::pair<std::string, std::size_t>> places;  // file and line of each reading
};

// ln depth = ln depth(pass 1) + exponent ln pass, over passes of one wheel path.
struct PassGrowth {
  std::string vehicle, zone, wheel_path;
  math::Estimate exponent;
  int passes = 0;
  std::string depth_used;               // "loaded" or "after"
};

// Sinkage with the slip it was read at, for a comparison with a prediction.
struct SinkagePoint {
  std::string file;
  std::size_t line = 0;
  std::string vehicle, zone, run, wheel_path;
  double slip_ratio = 0, sinkage_m = 0;
  double weight_n = 0, gradient_rad = 0;
  std::optional<double> rolling_radius_m;
  vehicle::ZeroSlip zero_slip = vehicle::ZeroSlip::not_stated;
  int pass = 1;
  std::string depth_kind;               // "loaded", "after", "hand tow sheet"
};

// A depth of a sheet that tells no slip: nothing to set a prediction at.
struct RutWithoutSlip {
  std::string file;
  std::size_t line = 0;
  std::string vehicle, zone;
  int pass = 1;
};

struct RutResult {
  std::vector<RutGroup> groups;
  std::vector<PassGrowth> growth;
  std::vector<SinkagePoint> sinkage;    // readings that carry a slip
  std::vector<RutWithoutSlip> without_slip;  // those that do not; the groups hold both
};

[[nodiscard]] RutResult reduce_ruts(const std::vector<RutReading>& readings, const RutSettings& settings,
                                    base::Problems& problems);

}  // namespace hardpan::records
