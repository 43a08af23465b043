// SPDX-License-Identifier: Apache-2.0
// The main job, one function a step: read and check, reduce the ground, reduce the vehicle tests,
// predict, validate and judge. The command line calls these and prints; no logic lives there.
//
//   base::Problems problems;
//   campaign::Campaign c = check("tern-spit", {}, problems);      // throws InputError when refused
//   campaign::Results r = compute(std::move(c), {.until = Step::validate}, problems);
#pragma once

#include <functional>
#include <stop_token>
#include <string>

#include "base/problems.hpp"
#include "campaign/results.hpp"

namespace hardpan::service {

enum class Step { check, ground, drawbar, predict, validate };
[[nodiscard]] const char* name(Step step);

struct ComputeOptions {
  Step until = Step::validate;
  bool trace = false;             // keep every intermediate of tow logs
  bool without_amendments = true; // answer the requirements a second time without amendments, where there are any
  std::size_t threads = 0;
  bool plain_kernel = false;      // --simd plain
  std::string estimator;          // "", "log-log", "unweighted", "two-step": the user's choice for the soil
  std::function<void(const std::string&)> progress;  // one short sentence a step; may be empty
  std::stop_token stop;
};

struct CheckOptions {
  bool apply_amendments = true;
  std::string only_record;        // a file or record id: one sheet checked in the field
};

// Reads everything and finds every problem at once. Throws InputError with all of them when any refuses.
[[nodiscard]] campaign::Campaign check(const std::string& folder, const CheckOptions& options, base::Problems& problems);

// Runs the steps up to options.until on what is there; steps with nothing to run on say so in
// Results::missing. Appends remarks of the reductions; throws InputError when a reduction refuses.
[[nodiscard]] campaign::Results compute(campaign::Campaign campaign, const ComputeOptions& options, base::Problems& problems);

// Checksum over version, build, settings and the bytes of every input file of the folder: what makes a result stale.
[[nodiscard]] std::string input_key(const std::string& folder, const ComputeOptions& options);

}  // namespace hardpan::service
