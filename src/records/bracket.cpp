// SPDX-License-Identifier: Apache-2.0
#include "records/bracket.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "math/distributions.hpp"

namespace hardpan::records {
namespace {

constexpr double kFar = std::numeric_limits<double>::infinity();

// Sizes mirrored where smaller is harder, so that one rule serves both.
double hardness(double value, Harder harder) { return harder == Harder::larger ? value : -value; }

}  // namespace

SizeBracket bracket_of(const std::vector<BoundedTrial>& trials, Harder harder) {
  SizeBracket b;
  const auto raise = [&](std::optional<double>& x, double v) {
    if (!x || hardness(v, harder) > hardness(*x, harder)) x = v;
  };
  for (const BoundedTrial& t : trials) {
    if (t.bound != TrialBound::below) continue;
    if (!b.failed || hardness(t.value, harder) < hardness(*b.failed, harder)) b.failed = t.value;
  }
  for (const BoundedTrial& t : trials) {
    if (t.bound != TrialBound::at_least) continue;
    raise(b.hardest_passed, t.value);
    if (!b.failed || hardness(t.value, harder) < hardness(*b.failed, harder)) raise(b.passed, t.value);
  }
  b.overlap = b.hardest_passed && b.failed && hardness(*b.hardest_passed, harder) >= hardness(*b.failed, harder);
  return b;
}

math::Interval where_the_limit_is(const SizeBracket& b, Harder harder) {
  double easy = -kFar, hard = kFar;  // as hardness
  if (b.overlap) {
    easy = hardness(*b.failed, harder);
    hard = hardness(*b.hardest_passed, harder);
  } else {
    if (b.passed) easy = hardness(*b.passed, harder);
    if (b.failed) hard = hardness(*b.failed, harder);
  }
  return harder == Harder::larger ? math::Interval{easy, hard} : math::Interval{-hard, -easy};
}

std::string bracket_text(const SizeBracket& b, Harder harder, const BracketWords& words, const std::function<std::string(double)>& print) {
  const char *reached = harder == Harder::larger ? "at least" : "at most", *missed = harder == Harder::larger ? "below" : "above";
  if (b.overlap) return fmt::format("outcomes overlap: {} already at {}, {} still at {}", words.failed, print(*b.failed), words.passed, print(*b.hardest_passed));
  if (b.passed && b.failed) return fmt::format("between {} ({}) and {} ({})", print(*b.passed), words.passed, print(*b.failed), words.failed);
  if (b.passed) return fmt::format("{} {}: {}", reached, print(*b.passed), words.none_failed);
  if (b.failed) return fmt::format("{} {}: {}", missed, print(*b.failed), words.none_passed);
  return "nothing was decided";
}

std::vector<TestedSize> tested_sizes(const std::vector<BoundedTrial>& trials, double class_relative, double level) {
  std::vector<const BoundedTrial*> sorted;
  for (const BoundedTrial& t : trials) {
    if (t.bound != TrialBound::set_aside) sorted.push_back(&t);
  }
  std::stable_sort(sorted.begin(), sorted.end(), [](const auto* a, const auto* b) { return a->value < b->value; });
  std::vector<TestedSize> out;
  for (std::size_t i = 0; i < sorted.size();) {
    TestedSize at;
    double sum = 0;
    std::size_t j = i;
    for (; j < sorted.size() && sorted[j]->value - sorted[i]->value <= class_relative * std::abs(sorted[i]->value); ++j) {
      sum += sorted[j]->value;
      (sorted[j]->bound == TrialBound::at_least ? at.passed : sorted[j]->bound == TrialBound::below ? at.failed : at.undecided) += 1;
    }
    at.value = sum / static_cast<double>(j - i);
    if (const std::size_t n = at.passed + at.failed; n > 0) at.chance_of_passing = math::clopper_pearson(at.passed, n, level);
    out.push_back(at);
    i = j;
  }
  return out;
}

}  // namespace hardpan::records
