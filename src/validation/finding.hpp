// SPDX-License-Identifier: Apache-2.0
// A requirement judged: met, not met or not shown, with the margin, the probability over a named
// population, what limits, the records that carry it and what would change it.
//
// Decision rule (guard band after JCGM 106:2012): a requirement needs a share `probability` of next
// points to satisfy the threshold, with `confidence` in that share. The confidence is the share of possible
// average soils (with instrument and model form) whose own points satisfy it; point-to-point deviations
// are taken from all draws. Met when the confidence reaches the required one, not met when the
// contrary does, not shown in between. Never a plain "met" on a textbook soil, without a scatter, or beyond
// twice the tested ranges. Where a bias against the vehicle was measured, the answer with the bias added decides.
//
//   const Finding f = judge(requirement, {.placed = &placed, .outcome = outcome, ...});
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "math/estimate.hpp"
#include "performance/profile.hpp"
#include "records/ground.hpp"
#include "records/trials.hpp"
#include "units/print.hpp"
#include "validation/compare.hpp"
#include "validation/requirement.hpp"
#include "validation/update.hpp"

namespace hardpan::validation {

enum class Verdict { met, not_met, not_shown };
[[nodiscard]] const char* name(Verdict verdict);

// Ranges under the wheels against ranges tested.
enum class GuardLevel { inside, up_to_twice, beyond, not_tested };
[[nodiscard]] const char* name(GuardLevel level);
struct GuardRow {
  std::string quantity;              // "pressure", "sinkage", "normal stress", "shear travel", "width", "slip"
  std::string unit_si;
  math::Interval used;
  std::optional<math::Interval> tested;
  GuardLevel level = GuardLevel::not_tested;
};
[[nodiscard]] std::vector<GuardRow> extrapolation_guard(const performance::UsedRange& used,
                                                        const records::TestedRange& tested,
                                                        const std::optional<math::Interval>& tested_slip);
[[nodiscard]] GuardLevel worst(const std::vector<GuardRow>& rows);

struct Finding {
  Requirement requirement;
  Verdict verdict = Verdict::not_shown;
  math::Estimate value;                         // of the quantity, as judged
  std::optional<math::Estimate> value_without_measured_difference;  // where a bias was added
  std::optional<math::Estimate> value_before_learning;   // where vehicle tests updated the soil
  std::optional<Verdict> verdict_before_learning;
  double margin_si = 0;                         // how far on the good side (positive) at the required probability
  bool margin_known = false;
  std::optional<double> probability;            // share of next points that satisfy the threshold, all parts drawn
  std::optional<double> confidence;             // that this share is at least the required one
  struct Trials {
    std::uint64_t went = 0, made = 0;
    std::uint64_t needed = 0;                   // with as many failures as were met
  };
  std::optional<Trials> trials;                 // judged by trials
  struct Compared {
    std::size_t judged = 0, agree = 0;
  };
  std::optional<Compared> compared;             // groups of trials of this quantity that were set beside a prediction
  std::string population;                       // over what
  std::string rule;                             // decision rule in words
  std::string limiting_factor;                  // why the quantity is not larger
  GuardLevel guard = GuardLevel::not_tested;
  std::vector<std::string> records;             // that carry the answer
  std::vector<std::string> reasons;             // why this verdict, in sentences
  std::vector<std::string> would_change;        // what would change it
};

// What one of the campaign's other questions answers, as a requirement takes it. Over possible soils, or one number without a scatter.
struct Answered {
  std::string why_not;                          // not empty: no answer, and why
  performance::Outcome outcome;                 // in the unit of the quantity; an interval without draws stands as that of the average ground
  std::string limiting_factor, population, reason, reason_without, would_change;
  std::vector<std::string> records;
  GuardLevel guard = GuardLevel::inside;        // worst of the zones it goes through
  // No more than that can be: it shows what is not met, and runs must show what is. What these reached on average, 0 where none finished; absent without any.
  bool upper_bound = false;
  std::optional<math::Estimate> reached;
  bool pulls_less = false;                      // tow tests of this vehicle there lie below the prediction
};

// Runs over the way that a requirement names: a trip, rocks, rough ground.
struct WayRuns {
  struct Decided {
    bool went = false;                          // reached the threshold, or failed short of it
    std::string place;                          // "records/x.csv:12"
  };
  std::vector<Decided> decided;
  std::optional<double> went_at, failed_at;     // in the unit of the quantity: an answer below the one or above the other is contradicted
  double share = 0;                             // of the runs that must reach it: the requirement's probability, of a clear run its threshold
  std::string at, where;                        // "2 km", "2 km or further, or failed short of it,"
};

// Everything a judgement may draw on; pointers may be null where there is nothing.
struct Evidence {
  const performance::Placed* placed = nullptr;
  const performance::Prediction* prediction = nullptr;
  const vehicle::Vehicle* vehicle = nullptr;
  const records::ZoneGround* ground = nullptr;
  const records::DrawbarResult* drawbar = nullptr;
  const Comparison* pull = nullptr;             // for bias and shape; after learning of held-out runs only
  const std::vector<Comparison>* comparisons = nullptr;  // of all quantities, with the soil before learning
  const Learning* learning = nullptr;           // that updated `placed`
  const Comparison* pull_that_taught = nullptr; // all runs against the prediction before learning: slips tested
  const records::TrialResult* trials = nullptr; // obstacles and turns
  const performance::Profile* obstacle = nullptr;  // that the requirement names, as this vehicle meets it
  std::optional<double> friction;               // stated, of it or by the requirement; absent: of the ground
  std::optional<Finding::Compared> compared;    // as in the finding
  std::optional<Answered> answered;             // of what of_answers names
  std::optional<WayRuns> runs;                  // where such runs can be made; empty without any
  std::string why_not;                          // not empty: this vehicle is not turned, and why
  double gravity_m_s2 = 0;
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values inside reasons
};

[[nodiscard]] Finding judge(const Requirement& requirement, const Evidence& evidence);

// Judged on the soil updated by vehicle tests, the finding before beside it, where held-out runs bear the update out. Where
// none was held out or they contradict it, and for findings that rest on no prediction, the finding before stands.
[[nodiscard]] Finding judge_after_learning(const Requirement& requirement, const Evidence& before, const Evidence& after);

// Confidence that at least `probability` of points satisfy the threshold: see the head of this file.
struct Shown {
  double probability = 0;     // over all next points
  double confidence = 0;
};
[[nodiscard]] Shown share_shown(const std::vector<double>& average, const std::vector<double>& next_point,
                                double threshold, Sense sense, double required_probability);

}  // namespace hardpan::validation
