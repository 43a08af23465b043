// SPDX-License-Identifier: Apache-2.0
// The verdict that every iterative or fitted result carries.
#pragma once

#include <cstddef>
#include <limits>
#include <string>

namespace hardpan::base {

enum class SolveStatus {
  converged,     // the stated test passed, nothing else
  stalled,       // steps became too small before the test passed
  out_of_steps,  // the step limit ended the loop
  not_bracketed, // no sign change in the range searched
  out_of_range,  // the answer lies outside the range the method holds for
  not_finite,    // a value stopped being a finite number
  no_solution    // the equations were shown to have no answer (a domain "no")
};
[[nodiscard]] const char* name(SolveStatus status);

struct SolveReport {
  SolveStatus status = SolveStatus::not_finite;
  double residual = std::numeric_limits<double>::quiet_NaN();
  double tolerance = std::numeric_limits<double>::quiet_NaN();  // same unit as the residual
  const char* residual_unit = "";
  int steps = 0;
  int evaluations = 0;

  [[nodiscard]] bool converged() const { return status == SolveStatus::converged; }
};

}  // namespace hardpan::base
