// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/assertion.hpp"
#include "formats/detail/sheet.hpp"
#include "formats/detail/signal_check.hpp"

namespace hardpan::formats::detail {
namespace {

constexpr double kGapIntervals = 10;      // a step over this many median intervals is a gap (common practice, no source)
constexpr std::size_t kStuckSamples = 50; // equal to the last bit this long while others move
constexpr std::size_t kSaturatedRun = 5;  // at the largest value this long

// A flat top speaks of saturation only where a reading can rise beyond what the instrument takes; a
// vehicle standing still or a constant speed is no fault.
bool may_saturate(const std::string& role) {
  static const std::set<std::string> kRoles{"load", "pressure", "pull", "torque", "stress", "force", "current", "resistance"};
  return kRoles.contains(role);
}

}  // namespace

SignalCheck::SignalCheck(std::vector<SignalChannel> channels) {
  for (SignalChannel& c : channels) channels_.push_back({.is = std::move(c)});
}

void SignalCheck::add(const SignalRows& rows, std::span<char> keep) {
  HARDPAN_ASSERT(rows.channels.size() == channels_.size() && keep.size() == rows.line.size());
  if (rows.line.empty()) return;
  add_time(rows, keep);
  for (Channel& c : channels_) {
    c.changed_before = c.changed_at;
    c.last_before = c.last;
  }
  for (std::size_t c = 0; c < channels_.size(); ++c) add_channel(c, rows);
  rows_ += rows.line.size();
}

void SignalCheck::finish() {
  for (Channel& c : channels_) {
    c.changed_before = c.changed_at;
    c.last_before = c.last;
  }
  for (std::size_t c = 0; c < channels_.size(); ++c) end_run(c, rows_, {});
}

void SignalCheck::add_time(const SignalRows& rows, std::span<char> keep) {
  for (std::size_t i = 0; i < rows.time.size(); ++i) {
    const double t = rows.time[i];
    if (t > last_time_s_) {
      last_time_s_ = t;
      steps_.add(t, rows.line[i]);
      continue;
    }
    keep[i] = 0;
    (std::isnan(t) ? missing_ : t == last_time_s_ ? repeated_ : backward_).add(rows.line[i]);
  }
}

void SignalCheck::add_channel(std::size_t which, const SignalRows& rows) {
  Channel& c = channels_[which];
  const std::span<const double> v = rows.channels[which];
  const double end_of_range = c.is.range ? 0.999 * *c.is.range : std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < v.size(); ++i) {
    const double size = std::abs(v[i]);
    if (c.is.range) {
      if (size >= end_of_range) c.flat.add(rows.line[i]);
    } else if (size > c.top && std::isfinite(size)) {
      // What was flat below the largest value is no saturation.
      c.top = size;
      c.flat = {};
      c.top_run = 1;
      c.top_run_line = rows.line[i];
    } else if (size == c.top && size > 0) {
      if (++c.top_run == 1) c.top_run_line = rows.line[i];
      if (c.top_run == kSaturatedRun) {
        for (std::size_t k = 0; k < kSaturatedRun; ++k) c.flat.add(c.top_run_line);
      } else if (c.top_run > kSaturatedRun) {
        c.flat.add(c.top_run_line);
      }
    } else {
      c.top_run = 0;
    }
    const std::size_t row = rows_ + i;
    if (v[i] == c.last) continue;  // NaN differs from everything
    if (row > 0) {
      if (row - c.run_begin >= kStuckSamples) end_run(which, row, rows);
      c.changed_at = row;
    }
    c.run_begin = row;
    c.run_line = rows.line[i];
    c.last = v[i];
  }
}

// The channel's run ends before row `end`, which lies among the rows in hand or directly behind all.
void SignalCheck::end_run(std::size_t which, std::size_t end, const SignalRows& rows) {
  Channel& c = channels_[which];
  const std::size_t length = end - c.run_begin;
  if (length < kStuckSamples || length <= c.longest || std::isnan(c.last)) return;
  c.longest = length;
  c.longest_line = c.run_line;
  c.longest_value = c.last;
  c.others_moved = false;
  for (std::size_t other = 0; other < channels_.size() && !c.others_moved; ++other) {
    c.others_moved = other != which && moved(other, c.run_begin, end, rows);
  }
}

// Whether a channel changes inside rows [begin, end).
bool SignalCheck::moved(std::size_t which, std::size_t begin, std::size_t end, const SignalRows& rows) const {
  const Channel& c = channels_[which];
  if (c.changed_before > begin) return true;
  for (std::size_t row = std::max(begin + 1, rows_); row < end; ++row) {
    const std::span<const double> v = rows.channels[which];
    const double before = row == rows_ ? c.last_before : v[row - rows_ - 1];
    if (!(v[row - rows_] == before)) return true;
  }
  return false;
}

void SignalCheck::report(const std::string& file, base::Problems& problems) const {
  const auto say = [&](const Seen& seen, const char* what) {
    if (seen.count > 0) problems.remark({.place = {.file = file, .line = seen.first_line}, .what = what, .count = seen.count});
  };
  say(missing_, "row without a time, set aside");
  say(repeated_, "time repeats the row before, row set aside");
  say(backward_, "time runs backward, row set aside");
  const double step = steps_.median_s();
  if (const TimeSteps::Gaps gaps = steps_.longer_than(kGapIntervals * step); gaps.count > 0) {
    problems.remark({.place = {.file = file, .line = gaps.first_line},
                     .what = fmt::format("gap in time, up to {:.3g} s where readings come every {:.3g} s", gaps.longest_s, step),
                     .count = gaps.count});
  }
  for (const Channel& c : channels_) {
    const bool ranged = c.is.range.has_value();
    if (c.flat.count > 0 && c.changed_at > 0 && (ranged || may_saturate(c.is.role))) {
      problems.remark({.place = {.file = file, .line = c.flat.first_line},
                       .what = ranged ? fmt::format("channel \"{}\" ({}) is at the end of its range", c.is.heading, c.is.role)
                                      : fmt::format("channel \"{}\" ({}) has a flat top: it may be saturated", c.is.heading, c.is.role),
                       .remedy = "check the range of the instrument", .count = c.flat.count});
    }
    const double value = std::abs(c.longest_value);
    if (c.longest < kStuckSamples || value == 0 || !c.others_moved) continue;  // standing still at zero is no fault
    if (ranged && value >= 0.999 * *c.is.range) continue;
    problems.remark({.place = {.file = file, .line = c.longest_line},
                     .what = fmt::format("channel \"{}\" ({}) shows the same value in {} rows while others change: stuck?",
                                         c.is.heading, c.is.role, c.longest)});
  }
}

std::vector<SignalChannel> signal_channels(const Sheet& sheet, const std::map<std::string, double>& range_by_role) {
  std::vector<SignalChannel> out;
  for (const auto& [role, columns] : sheet.numbers) {
    if (role == "time") continue;
    const auto range = range_by_role.find(role);
    for (const Column& c : columns) {
      out.push_back({.role = role, .heading = c.heading, .range = range == range_by_role.end() ? std::nullopt : std::optional(range->second)});
    }
  }
  return out;
}

SignalRows signal_rows(const Sheet& sheet) {
  SignalRows out{.line = sheet.line, .time = sheet.number("time")->values};
  for (const auto& [role, columns] : sheet.numbers) {
    if (role == "time") continue;
    for (const Column& c : columns) out.channels.push_back(c.values);
  }
  return out;
}

bool check_signals(Sheet& sheet, const std::string& file, const std::map<std::string, double>& range_by_role,
                   double remark_share, base::Problems& problems) {
  if (!sheet.checked && sheet.number("time")) {
    sheet.checked = std::make_shared<SignalCheck>(signal_channels(sheet, range_by_role));
    std::vector<char> keep(sheet.line.size(), 1);
    sheet.checked->add(signal_rows(sheet), keep);
    sheet.checked->finish();
    if (sheet.checked->set_aside() > 0) keep_rows(sheet, keep);
    sheet.rows_set_aside += sheet.checked->set_aside();
  }
  if (sheet.checked) sheet.checked->report(file, problems);
  return share_kept(sheet, file, remark_share, problems);
}

}  // namespace hardpan::formats::detail
