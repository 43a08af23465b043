// SPDX-License-Identifier: Apache-2.0
// When and with what an answer was computed.
#pragma once

#include "campaign/results.hpp"

namespace hardpan::service {

// Starts the clock of one answer: version, arithmetic, local time.
class Stopwatch {
 public:
  explicit Stopwatch(bool plain_kernel = false);
  [[nodiscard]] const campaign::Provenance& started() const { return started_; }
  // `p` with the time it took until now.
  [[nodiscard]] campaign::Provenance stop(campaign::Provenance p) const;

 private:
  campaign::Provenance started_;
  double begin_s_;
};

}  // namespace hardpan::service
