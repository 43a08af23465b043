// SPDX-License-Identifier: Apache-2.0
// The running check against a plain one that holds all rows and looks at them as often as it likes.
#include "formats/detail/signal_check.hpp"

#include <gtest/gtest.h>

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace hardpan::formats::detail {
namespace {

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

struct Log {
  std::vector<std::size_t> line;
  std::vector<double> time;
  std::vector<SignalChannel> is;
  std::vector<std::vector<double>> channels;
};

// A log with everything that goes wrong, by chance.
Log messy_log(unsigned seed, std::size_t rows) {
  std::mt19937 random(seed);
  const auto chance = [&](double p) { return std::uniform_real_distribution<double>(0, 1)(random) < p; };
  const auto number = [&](double lo, double hi) { return std::uniform_real_distribution<double>(lo, hi)(random); };
  Log log;
  log.is = {{.role = "current", .heading = "I", .range = std::nullopt}, {.role = "ground_speed", .heading = "v", .range = std::nullopt},
            {.role = "pull", .heading = "P", .range = 900.0}, {.role = "torque", .heading = "T", .range = std::nullopt}};
  log.channels.resize(log.is.size());
  double clock = 0;
  std::size_t line = 3;
  std::vector<std::size_t> stuck(log.is.size(), 0), hold(log.is.size(), 0);
  for (std::size_t i = 0; i < rows; ++i) {
    line += chance(0.01) ? 3 : 1;
    clock += chance(0.003) ? number(0.05, 3) : 0.01;
    log.line.push_back(line);
    log.time.push_back(chance(0.01) ? kNone : chance(0.01) ? clock - number(0, 5) : chance(0.01) && i > 0 ? log.time.back() : clock);
    for (std::size_t c = 0; c < log.is.size(); ++c) {
      if (chance(0.004)) stuck[c] = static_cast<std::size_t>(number(20, 120));
      if (chance(0.004)) hold[c] = static_cast<std::size_t>(number(2, 9));
      double x = std::min(number(-100, 1000), 700.0);
      if (c == 1) x = std::floor(number(0, 3));  // a coarse reading often repeats
      if (hold[c] > 0) --hold[c], x = c == 2 ? 900 : 1000;
      if (stuck[c] > 0) {
        --stuck[c];
        if (!log.channels[c].empty()) x = log.channels[c].back();
      }
      if (chance(0.005)) x = kNone;
      log.channels[c].push_back(x);
    }
  }
  return log;
}

std::string text_of(const base::Problems& problems) {
  std::string out;
  for (const base::Problem& p : problems.list()) out += fmt::format("{} x {}\n", p.text(), p.count);
  return out;
}

// Written for its plainness: every rule looks at the whole log.
std::string plain_check(const Log& log, std::vector<char>& keep) {
  base::Problems problems;
  keep.assign(log.time.size(), 1);
  std::vector<std::size_t> missing, repeated, backward, kept;
  double last = -INFINITY;
  for (std::size_t i = 0; i < log.time.size(); ++i) {
    const double t = log.time[i];
    if (t > last) {
      kept.push_back(i);
      last = t;
      continue;
    }
    keep[i] = 0;
    (std::isnan(t) ? missing : t == last ? repeated : backward).push_back(i);
  }
  const auto say = [&](const std::vector<std::size_t>& rows, const char* what) {
    if (!rows.empty()) problems.remark({.place = {.file = "f", .line = log.line[rows.front()]}, .what = what, .count = rows.size()});
  };
  say(missing, "row without a time, set aside");
  say(repeated, "time repeats the row before, row set aside");
  say(backward, "time runs backward, row set aside");
  std::vector<double> steps, sorted;
  for (std::size_t i = 1; i < kept.size(); ++i) steps.push_back(log.time[kept[i]] - log.time[kept[i - 1]]);
  sorted = steps;
  std::sort(sorted.begin(), sorted.end());
  const double median = sorted[sorted.size() / 2];
  std::vector<std::size_t> gaps;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    if (steps[i] > 10 * median) gaps.push_back(i);
  }
  if (!gaps.empty()) {
    problems.remark({.place = {.file = "f", .line = log.line[kept[gaps.front() + 1]]},
                     .what = fmt::format("gap in time, up to {:.3g} s where readings come every {:.3g} s", sorted.back(), median),
                     .count = gaps.size()});
  }
  for (std::size_t c = 0; c < log.channels.size(); ++c) {
    const std::vector<double>& v = log.channels[c];
    const SignalChannel& is = log.is[c];
    std::vector<std::size_t> flat;
    if (is.range) {
      for (std::size_t i = 0; i < v.size(); ++i) {
        if (std::abs(v[i]) >= 0.999 * *is.range) flat.push_back(i);
      }
    } else {
      double top = 0;
      for (const double x : v) top = std::isfinite(x) ? std::max(top, std::abs(x)) : top;
      for (std::size_t i = 0; i < v.size();) {
        std::size_t end = i;
        while (end < v.size() && std::abs(v[end]) == top) ++end;
        for (std::size_t k = i; k < end && end - i >= 5; ++k) flat.push_back(k);
        i = std::max(end, i + 1);
      }
    }
    const bool named = is.range || is.role == "current" || is.role == "torque";
    if (!flat.empty() && named) {
      problems.remark({.place = {.file = "f", .line = log.line[flat.front()]},
                       .what = fmt::format("channel \"{}\" ({}) {}", is.heading, is.role,
                                           is.range ? "is at the end of its range" : "has a flat top: it may be saturated"),
                       .remedy = "check the range of the instrument", .count = flat.size()});
    }
    std::size_t begin = 0, length = 0;
    for (std::size_t i = 0; i < v.size();) {
      std::size_t end = i + 1;
      while (end < v.size() && v[end] == v[i]) ++end;
      if (end - i > length) begin = i, length = end - i;
      i = end;
    }
    bool others_move = false;
    for (std::size_t o = 0; o < log.channels.size(); ++o) {
      for (std::size_t i = begin; i < begin + length && o != c; ++i) {
        others_move = others_move || !(log.channels[o][i] == log.channels[o][begin]);
      }
    }
    const double value = std::abs(v[begin]);
    if (length >= 50 && value != 0 && others_move && (!is.range || value < 0.999 * *is.range)) {
      problems.remark({.place = {.file = "f", .line = log.line[begin]},
                       .what = fmt::format("channel \"{}\" ({}) shows the same value in {} rows while others change: stuck?",
                                           is.heading, is.role, length)});
    }
  }
  return text_of(problems);
}

std::string running_check(const Log& log, std::size_t block, std::vector<char>& keep) {
  SignalCheck check(log.is);
  keep.assign(log.time.size(), 1);
  for (std::size_t i = 0; i < log.time.size(); i += block) {
    const std::size_t n = std::min(block, log.time.size() - i);
    SignalRows rows{.line = std::span(log.line).subspan(i, n), .time = std::span(log.time).subspan(i, n)};
    for (const auto& c : log.channels) rows.channels.push_back(std::span(c).subspan(i, n));
    check.add(rows, std::span(keep).subspan(i, n));
  }
  check.finish();
  base::Problems problems;
  check.report("f", problems);
  EXPECT_EQ(check.rows(), log.time.size());
  EXPECT_EQ(check.set_aside(), static_cast<std::size_t>(std::count(keep.begin(), keep.end(), 0)));
  return text_of(problems);
}

TEST(SignalCheck, FindsInBlocksOfAnySizeWhatAPlainLookAtTheWholeLogFinds) {
  std::size_t stuck = 0, flat = 0;
  for (unsigned seed = 1; seed <= 40; ++seed) {
    const Log log = messy_log(seed, 3000);
    std::vector<char> expected, keep;
    const std::string plain = plain_check(log, expected);
    stuck += plain.find("stuck?") != std::string::npos;
    flat += plain.find("flat top") != std::string::npos;
    for (const std::size_t block : {std::size_t{1}, std::size_t{7}, std::size_t{1000}, log.time.size()}) {
      EXPECT_EQ(running_check(log, block, keep), plain) << "seed " << seed << ", blocks of " << block;
      EXPECT_EQ(keep, expected) << "seed " << seed << ", blocks of " << block;
    }
  }
  EXPECT_GT(stuck, 10u);  // the logs do hold what is looked for
  EXPECT_GT(flat, 10u);
}

TEST(SignalCheck, TakesARunThatOthersShareForStandingStill) {
  Log log{.is = {{.role = "pull", .heading = "P", .range = std::nullopt}, {.role = "torque", .heading = "T", .range = std::nullopt}}};
  log.channels.resize(2);
  for (std::size_t i = 0; i < 300; ++i) {
    const bool still = i >= 100 && i < 200;
    log.line.push_back(i + 2);
    log.time.push_back(0.1 * static_cast<double>(i));
    log.channels[0].push_back(still ? 5.0 : static_cast<double>(i % 7));
    log.channels[1].push_back(still ? 3.0 : static_cast<double>(i % 11));
  }
  std::vector<char> keep;
  for (const std::size_t block : {1u, 7u, 100u, 300u}) EXPECT_EQ(running_check(log, block, keep).find("stuck"), std::string::npos) << block;
  log.channels[1][150] = 9;  // now one of them moves
  for (const std::size_t block : {1u, 7u, 100u, 300u}) EXPECT_NE(running_check(log, block, keep).find("(pull) shows the same value in 100 rows"), std::string::npos) << block;
}

TEST(TimeSteps, CountsGapsInBinsAsAmongAllSteps) {
  std::mt19937 random(7);
  std::normal_distribution<double> jitter(0, 0.0002);
  TimeSteps all, binned(100);
  double t = 1.7e9;  // seconds of a calendar clock: steps carry its rounding
  for (std::size_t i = 0; i < 20000; ++i) {
    t += 0.01 + jitter(random) + (i % 977 == 500 ? 0.5 + 0.001 * static_cast<double>(i) : 0);
    all.add(t, i + 2);
    binned.add(t, i + 2);
  }
  EXPECT_NEAR(binned.median_s(), all.median_s(), 0.003 * all.median_s());  // a bin is 0.3 % wide
  const TimeSteps::Gaps a = all.longer_than(10 * all.median_s()), b = binned.longer_than(10 * binned.median_s());
  EXPECT_EQ(a.count, 20u);
  EXPECT_EQ(b.count, a.count);
  EXPECT_EQ(b.first_line, 502u);
  EXPECT_EQ(b.first_line, a.first_line);
  EXPECT_EQ(b.longest_s, a.longest_s);
}

}  // namespace
}  // namespace hardpan::formats::detail
