// SPDX-License-Identifier: Apache-2.0
#include "base/solve.hpp"

namespace hardpan::base {

const char* name(SolveStatus status) {
  switch (status) {
    case SolveStatus::converged: return "converged";
    case SolveStatus::stalled: return "stalled";
    case SolveStatus::out_of_steps: return "out of steps";
    case SolveStatus::not_bracketed: return "not bracketed";
    case SolveStatus::out_of_range: return "out of range";
    case SolveStatus::not_finite: return "not finite";
    case SolveStatus::no_solution: return "no solution";
  }
  return "unknown";
}

}  // namespace hardpan::base
