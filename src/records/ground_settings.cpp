// SPDX-License-Identifier: Apache-2.0
#include "records/ground_settings.hpp"

namespace hardpan::records {

const char* name(PlateEstimator estimator) {
  switch (estimator) {
    case PlateEstimator::joint: return "joint robust weighted fit";
    case PlateEstimator::two_step: return "two-step estimate (log-log weighted with p^2, common n)";
    case PlateEstimator::log_log: return "log-log least squares";
    case PlateEstimator::unweighted: return "unweighted least squares on pressure";
  }
  return "unknown";
}

const char* name(LayerChoice choice) {
  switch (choice) {
    case LayerChoice::weaker: return "weaker";
    case LayerChoice::both: return "both";
    case LayerChoice::refuse: return "refuse";
  }
  return "unknown";
}

}  // namespace hardpan::records
