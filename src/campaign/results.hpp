// SPDX-License-Identifier: Apache-2.0
// What one run computed from a campaign: the value that report, JSON and comparison of runs read.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "campaign/campaign.hpp"
#include "performance/clearance.hpp"
#include "performance/placement.hpp"
#include "campaign/trial_results.hpp"
#include "performance/ground_stand.hpp"
#include "performance/prediction.hpp"
#include "performance/slopes_over_soils.hpp"
#include "performance/tip_over_joints.hpp"
#include "records/drawbar.hpp"
#include "records/ground.hpp"
#include "validation/compare.hpp"
#include "validation/compare_headings.hpp"
#include "validation/finding.hpp"
#include "validation/update.hpp"

namespace hardpan::campaign {

// Slopes on any heading, and whether the ground stands on them.
struct SlopesResult {
  std::optional<performance::SlopesOverSoils> over_soils;
  std::string missing;                                      // a sentence where there is none
  std::optional<performance::GroundStand> stand;            // on the steepest of the working slopes
};

// One vehicle on one zone.
struct PairResult {
  std::string vehicle, zone;
  performance::Prediction prediction;
  std::vector<validation::GuardRow> guard;
  std::vector<validation::Comparison> comparisons;          // pull, torque, sinkage, resistance; with readings only
  std::vector<validation::GradientComparison> gradients;
  std::vector<validation::HeadingComparison> headings;      // trials across and oblique
  std::optional<validation::Learning> learning;             // asked for by the campaign, and what came of it
  SlopesResult slopes;
  performance::Trade weights;                               // with the climb on the best-estimate soil; empty where nothing may be moved
};

// What is told of one vehicle without a soil.
struct VehicleResult {
  std::string vehicle;
  std::vector<performance::TipDirection> tips;              // empty: fewer than three wheels
  std::optional<performance::TipDoubt> tips_doubt;          // absent: the file does not say how well centres of gravity are known
  performance::Clearances clearances;
  performance::Trade weights;                               // without a soil; one row where nothing may be moved
};

struct Provenance {
  std::string version;
  std::string simd_target;
  std::string started, finished;                            // local ISO times
  double seconds = 0;
  std::string key;                                          // checksum over version, settings and inputs
  std::vector<std::pair<std::string, std::string>> settings;  // name and value in words, for the annex
};

// The answer of one requirement with and without the amendments.
struct AmendmentEffect {
  std::string requirement;
  std::string verdict_with, verdict_without;
  double value_with_si = 0, value_without_si = 0;
};

struct Results {
  Campaign campaign;
  records::GroundResult ground;
  records::DrawbarResult drawbar;
  TrialResults trials;
  std::vector<PairResult> pairs;
  std::vector<VehicleResult> vehicles;                      // in the order of the campaign
  Answers answers;                                          // to the campaign's questions beyond requirements
  std::vector<validation::Finding> findings;                // in the order of the requirements
  std::vector<AmendmentEffect> amendment_effects;
  std::vector<std::string> missing;                         // steps that had nothing to run on, in sentences
  Provenance provenance;
};

// The cautions that travel with every result.
[[nodiscard]] const std::vector<std::string>& cautions();

}  // namespace hardpan::campaign
