// SPDX-License-Identifier: Apache-2.0
// What a logger does wrong, named: repeated or backward time, gaps, channels at the end of their
// range, channels that stand still while others move.
#include "formats/detail/sheet.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

namespace hardpan::formats::detail {
namespace {

constexpr double kGapIntervals = 10;      // a step over this many median intervals is a gap (common practice, no source)
constexpr std::size_t kStuckSamples = 50; // equal to the last bit this long while others move
constexpr std::size_t kSaturatedRun = 5;  // at the largest value this long

double median_step(const std::vector<double>& t) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < t.size(); ++i) {
    if (t[i] > t[i - 1]) steps.push_back(t[i] - t[i - 1]);
  }
  if (steps.empty()) return 0;
  std::nth_element(steps.begin(), steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2), steps.end());
  return steps[steps.size() / 2];
}

// Longest run of bit-equal values: where it starts and how long it is.
std::pair<std::size_t, std::size_t> longest_run(const std::vector<double>& v) {
  std::size_t best = 0, best_at = 0, run = 1;
  for (std::size_t i = 1; i <= v.size(); ++i) {
    if (i < v.size() && v[i] == v[i - 1]) {
      ++run;
      continue;
    }
    if (!std::isnan(v[i - 1]) && run > best) {
      best = run;
      best_at = i - run;
    }
    run = 1;
  }
  return {best_at, best};
}

bool moves(const std::vector<double>& v, std::size_t begin, std::size_t end) {
  for (std::size_t i = begin + 1; i < end; ++i) {
    if (v[i] != v[begin]) return true;
  }
  return false;
}

void check_time(Sheet& sheet, const std::string& file, std::vector<char>& keep, base::Problems& problems) {
  const Column* time = sheet.number("time");
  std::size_t repeated = 0, backward = 0, missing = 0, first_repeated = 0, first_backward = 0, first_missing = 0;
  double last = -std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < time->values.size(); ++i) {
    const double t = time->values[i];
    if (std::isnan(t)) {
      keep[i] = 0;
      if (missing++ == 0) first_missing = sheet.line[i];
    } else if (t == last) {
      keep[i] = 0;
      if (repeated++ == 0) first_repeated = sheet.line[i];
    } else if (t < last) {
      keep[i] = 0;
      if (backward++ == 0) first_backward = sheet.line[i];
    } else {
      last = t;
    }
  }
  const auto say = [&](std::size_t n, std::size_t line, const char* what) {
    if (n > 0) problems.remark({.place = {.file = file, .line = line}, .what = what, .count = n});
  };
  say(missing, first_missing, "row without a time, set aside");
  say(repeated, first_repeated, "time repeats the row before, row set aside");
  say(backward, first_backward, "time runs backward, row set aside");
  std::vector<double> kept;
  std::vector<std::size_t> lines;
  for (std::size_t i = 0; i < keep.size(); ++i) {
    if (keep[i]) {
      kept.push_back(time->values[i]);
      lines.push_back(sheet.line[i]);
    }
  }
  const double step = median_step(kept);
  std::size_t gaps = 0, first_gap = 0;
  double longest = 0;
  for (std::size_t i = 1; i < kept.size(); ++i) {
    if (step > 0 && kept[i] - kept[i - 1] > kGapIntervals * step) {
      if (gaps++ == 0) first_gap = lines[i];
      longest = std::max(longest, kept[i] - kept[i - 1]);
    }
  }
  if (gaps > 0) {
    problems.remark({.place = {.file = file, .line = first_gap},
                     .what = fmt::format("gap in time, up to {:.3g} s where readings come every {:.3g} s", longest, step), .count = gaps});
  }
}

// A flat top speaks of saturation only where a reading can rise beyond what the instrument takes; a
// vehicle standing still or a constant speed is no fault.
bool may_saturate(const std::string& role) {
  static const std::set<std::string> kRoles{"load", "pressure", "pull", "torque", "stress", "force", "current", "resistance"};
  return kRoles.contains(role);
}

void check_channel(const Sheet& sheet, const std::string& role, const Column& column, std::optional<double> range,
                   const std::string& file, base::Problems& problems) {
  const std::vector<double>& v = column.values;
  double top = 0;
  for (const double x : v) {
    if (std::isfinite(x)) top = std::max(top, std::abs(x));
  }
  // At the end of the range: stated, or a flat top at the largest value.
  std::size_t flat = 0, first = 0, run = 0;
  for (std::size_t i = 0; i < v.size(); ++i) {
    const bool at_end = range ? std::abs(v[i]) >= 0.999 * *range : top > 0 && std::abs(v[i]) == top;
    run = at_end ? run + 1 : 0;
    if (range ? at_end : run == kSaturatedRun) {
      if (flat == 0) first = sheet.line[range ? i : i + 1 - kSaturatedRun];
      flat += range ? 1 : kSaturatedRun;
    } else if (!range && run > kSaturatedRun) {
      ++flat;
    }
  }
  const auto [at, length] = longest_run(v);
  const bool constant = !v.empty() && !moves(v, 0, v.size());
  if (flat > 0 && !constant && (range || (may_saturate(role) && flat >= kSaturatedRun))) {
    problems.remark({.place = {.file = file, .line = first},
                     .what = range ? fmt::format("channel \"{}\" ({}) is at the end of its range", column.heading, role)
                                   : fmt::format("channel \"{}\" ({}) has a flat top: it may be saturated", column.heading, role),
                     .remedy = "check the range of the instrument", .count = flat});
  }
  if (length < kStuckSamples || std::abs(v[at]) == 0) return;  // standing still at zero is no fault
  bool others_move = false;
  for (const auto& [other_role, columns] : sheet.numbers) {
    if (other_role == "time") continue;
    for (const Column& other : columns) {
      if (&other != &column && moves(other.values, at, at + length)) others_move = true;
    }
  }
  if (others_move && (!range || std::abs(v[at]) < 0.999 * *range)) {
    problems.remark({.place = {.file = file, .line = sheet.line[at]},
                     .what = fmt::format("channel \"{}\" ({}) shows the same value in {} rows while others change: stuck?", column.heading, role, length)});
  }
}

}  // namespace

bool check_signals(Sheet& sheet, const std::string& file, const std::map<std::string, double>& range_by_role,
                   double remark_share, base::Problems& problems) {
  std::vector<char> keep(sheet.line.size(), 1);
  if (sheet.number("time")) {
    check_time(sheet, file, keep, problems);
    for (const auto& [role, columns] : sheet.numbers) {
      if (role == "time") continue;
      const auto range = range_by_role.find(role);
      for (const Column& c : columns) {
        check_channel(sheet, role, c, range == range_by_role.end() ? std::nullopt : std::optional(range->second), file, problems);
      }
    }
  }
  const auto dropped = static_cast<std::size_t>(std::count(keep.begin(), keep.end(), 0));
  sheet.rows_set_aside += dropped;
  if (dropped > 0) keep_rows(sheet, keep);
  return share_kept(sheet, file, remark_share, problems);
}

}  // namespace hardpan::formats::detail
