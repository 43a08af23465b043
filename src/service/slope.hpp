// SPDX-License-Identifier: Apache-2.0
// Quick answer: which slopes a vehicle travels on a soil, on every heading, beside its tip-over limit.
#pragma once

#include <string>
#include <vector>

#include "io/json.hpp"
#include "performance/any_heading.hpp"
#include "service/quick.hpp"

namespace hardpan::service {

struct SlopeRequest {
  SoilRequest soil;
  std::string vehicle_file;
  double gravity_m_s2 = 0;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  std::optional<double> working_slip_ratio;   // that of the vehicle, or 0.2
  std::optional<double> working_drift_rad;    // 10 deg where not given
  int headings = 16;                          // evenly round, from straight uphill to the left
  std::optional<double> needed_rad;           // of the slope, on every heading
};
struct SlopeResult {
  std::string vehicle;
  soil::NamedSoil soil;
  double working_slip_ratio = 0.2, working_drift_rad = 0;
  bool jointed = false;                       // more than one body
  std::vector<performance::HeadingLimit> lines;  // of without and with slip sinkage the lower
  // Straight up and straight down the same is found by the balance of loads and pull in side view ('hardpan climb'): a second method beside `largest`; 0 where it finds nothing.
  struct SecondWay {
    double heading_rad = 0, here_rad = 0, climb_rad = 0;
    [[nodiscard]] bool apart() const;         // by more than kApart_rad and kApart of the larger
  };
  static constexpr double kApart_rad = 0.035, kApart = 0.1;  // 2 deg, a tenth: chosen by us
  std::vector<SecondWay> second;              // of the headings 0 and 180 deg, where both are solved and the first tells a slope
  base::Problems remarks;                     // of the files read
  [[nodiscard]] bool unsolved() const;
  struct Margin {
    double heading_rad = 0;
    std::optional<double> margin_rad;         // of the lower of working limit and working tip limit; nothing where that has no number
    const char* limited_by = "";
  };
  // One a line; empty where nothing is needed.
  [[nodiscard]] std::vector<Margin> margins(const SlopeRequest& request) const;
};
// Throws InputError with everything that is missing or impossible.
[[nodiscard]] SlopeResult slope(const SlopeRequest& request);
// The polar picture as SVG, whole or not at all; throws EnvironmentError.
void write_slope_picture(const SlopeResult& result, const std::string& path);
[[nodiscard]] io::Json slope_json(const SlopeRequest& request, const SlopeResult& result);

}  // namespace hardpan::service
