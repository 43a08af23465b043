// SPDX-License-Identifier: Apache-2.0
// Quick answer: what tests of a vehicle on a soil at one gravity say about another. For masses and ratios alone: gravity() of quick.hpp.
#pragma once

#include <optional>
#include <string>

#include "io/json.hpp"
#include "performance/gravity_transfer.hpp"
#include "service/quick.hpp"

namespace hardpan::service {

struct GravityTransferRequest {
  SoilRequest soil;
  std::string vehicle_file;
  double from_m_s2 = 0, to_m_s2 = 0;
  std::optional<double> target_mass_kg, self_weight_share, payload_height_m, slip_ratio;
  soil::SlipSinkage slip_sinkage = soil::SlipSinkage::stretch;
  std::optional<double> needed_rad;      // to be climbed by the target at the working slip
};
struct GravityTransferResult {
  soil::NamedSoil soil;
  std::string vehicle;
  double working_slip = 0.2;
  double mass_kg = 0;                    // of the vehicle file
  performance::GravityTransfer transfer;
  base::Problems remarks;
  // Of the target's gradient at the working slip over what is needed; nothing where nothing is needed or the target climbs none.
  [[nodiscard]] std::optional<double> margin_rad(const GravityTransferRequest& request) const;
};
// Throws InputError.
[[nodiscard]] GravityTransferResult gravity_transfer(const GravityTransferRequest& request);
[[nodiscard]] io::Json gravity_transfer_json(const GravityTransferRequest& request, const GravityTransferResult& result);
// Of what carries over, as the campaign's results carry it too.
[[nodiscard]] io::Json transfer_lines_json(const std::vector<performance::TransferLine>& lines);
[[nodiscard]] io::Json transfer_curve_json(const performance::TransferCurve& curve);

}  // namespace hardpan::service
