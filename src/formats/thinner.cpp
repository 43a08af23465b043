// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/thinner.hpp"

#include <sys/mman.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "base/assertion.hpp"
#include "records/signal.hpp"

namespace hardpan::formats::detail {
namespace {

constexpr std::size_t kNoOwn = std::numeric_limits<std::size_t>::max();
constexpr double kRangeEnd = 0.999;  // counts stop just short of the stated range
constexpr std::size_t kExampleLines = 5;

// Touching fresh memory 4 KiB at a time took a quarter of the time of a log just over the limit; 2 MiB pages, where the
// system grants them, take that away. Only a hint.
template <class T>
void reserve_large(std::vector<T>& values, std::size_t room) {
  constexpr std::uintptr_t kLarge = 2u << 20;
  values.reserve(room);
  const auto begin = (reinterpret_cast<std::uintptr_t>(values.data()) + kLarge - 1) / kLarge * kLarge;
  const auto end = (reinterpret_cast<std::uintptr_t>(values.data()) + values.capacity() * sizeof(T)) / kLarge * kLarge;
  if (begin < end) (void)::madvise(reinterpret_cast<void*>(begin), end - begin, MADV_HUGEPAGE);
}

}  // namespace

Thinner::Thinner(std::vector<ThinChannel> channels, const Settings& settings) : channels_(std::move(channels)), settings_(settings) {
  HARDPAN_ASSERT(settings_.limit >= 16 && settings_.gap_steps >= 1);
  std::size_t own = 0;
  for (const ThinChannel& c : channels_) own_.push_back(c.averaging == Averaging::own_cells ? own++ : kNoOwn);
  out_.channels.resize(channels_.size());
  out_.without_number.assign(channels_.size(), 0);
  cells_.resize(own);
  row_.mean.resize(channels_.size() + 1);
  row_.cells.resize(own);
  const std::size_t room = std::min(settings_.limit, settings_.expected);
  reserve_large(out_.line, room);
  reserve_large(out_.time_s, room);
  for (auto& c : out_.channels) reserve_large(c, room);
}

void Thinner::add(std::span<const std::size_t> line, std::span<const double> time_s,
                  std::span<const std::span<const double>> channels, std::span<const char> keep) {
  HARDPAN_ASSERT(channels.size() == channels_.size());
  look_at(line, channels, keep);
  std::size_t i = 0;
  if (out_.averaged == 1) {
    i = keep_whole(line, time_s, channels, keep);
    if (i == line.size()) return;
    start_averaging();
  }
  for (; i < line.size(); ++i) {
    if (!good_[i]) continue;
    row_.line = line[i];
    row_.rows = 1;
    row_.at_range_end = range_end_[i];
    row_.mean[0] = row_.first_s = row_.last_s = time_s[i];
    for (std::size_t c = 0; c < channels.size(); ++c) {
      row_.mean[c + 1] = channels[c][i];
      if (own_[c] != kNoOwn) row_.cells[own_[c]] = std::isfinite(channels[c][i]) ? 1 : 0;
    }
    take(row_);
  }
}

// Channel by channel: counts what is missing, and marks the rows that have what is needed.
void Thinner::look_at(std::span<const std::size_t> line, std::span<const std::span<const double>> channels,
                      std::span<const char> keep) {
  const std::size_t n = line.size();
  good_.assign(keep.begin(), keep.end());
  range_end_.assign(n, 0);
  for (std::size_t c = 0; c < channels.size(); ++c) {
    const std::span<const double> x = channels[c];
    const bool needed = channels_[c].averaging == Averaging::needed;
    for (std::size_t i = 0; i < n; ++i) {
      if (std::isfinite(x[i]) || !keep[i]) continue;
      ++out_.without_number[c];
      if (needed) good_[i] = 0;
    }
    if (!channels_[c].range) continue;
    const double end = kRangeEnd * *channels_[c].range;
    for (std::size_t i = 0; i < n; ++i) range_end_[i] += std::abs(x[i]) >= end ? 1 : 0;
  }
  for (std::size_t i = 0; i < n; ++i) {
    if (good_[i]) {
      ++out_.good;
    } else if (keep[i] && out_.without_needed++ < kExampleLines) {
      out_.lines_without_needed.push_back(line[i]);
    }
  }
}

// Appends rows as they are until the limit; says how many of the rows given were dealt with.
std::size_t Thinner::keep_whole(std::span<const std::size_t> line, std::span<const double> time_s,
                                std::span<const std::span<const double>> channels, std::span<const char> keep) {
  std::size_t end = 0, kept = 0;
  for (; end < line.size() && (!keep[end] || kept_ + kept < settings_.limit); ++end) kept += keep[end] ? 1 : 0;
  const auto append = [&](auto& to, const auto& from) {
    for (std::size_t i = 0; i < end;) {  // runs of rows kept
      std::size_t to_row = i;
      while (to_row < end && keep[to_row]) ++to_row;
      to.insert(to.end(), from.begin() + static_cast<std::ptrdiff_t>(i), from.begin() + static_cast<std::ptrdiff_t>(to_row));
      for (i = to_row; i < end && !keep[i]; ++i) {
      }
    }
  };
  append(out_.line, line);
  append(out_.time_s, time_s);
  for (std::size_t c = 0; c < channels.size(); ++c) append(out_.channels[c], channels[c]);
  kept_ += kept;
  return end;
}

bool Thinner::complete(Group& row) const {
  bool good = true;
  row.rows = 1;
  row.at_range_end = 0;
  row.first_s = row.last_s = row.mean[0];
  for (std::size_t c = 0; c < channels_.size(); ++c) {
    const double x = row.mean[c + 1];
    const bool number = std::isfinite(x);
    if (own_[c] != kNoOwn) row.cells[own_[c]] = number ? 1 : 0;
    if (channels_[c].range && std::abs(x) >= kRangeEnd * *channels_[c].range) ++row.at_range_end;
    good = good && (number || channels_[c].averaging != Averaging::needed);
  }
  return good;
}

bool Thinner::joins(const Group& group) const {
  return group.first_s - open_.last_s <= out_.gap_s && open_.rows + group.rows <= out_.averaged;
}

void Thinner::take(const Group& group) {
  if (open_.rows > 0 && !joins(group)) {
    close();
    if (kept_ == settings_.limit && !repacking_) average_more();  // leaves a new open group
    if (open_.rows > 0 && !joins(group)) close();
  }
  if (open_.rows == 0) {
    open_ = group;
    return;
  }
  const double share = static_cast<double>(group.rows) / static_cast<double>(open_.rows + group.rows);
  open_.mean[0] += (group.mean[0] - open_.mean[0]) * share;
  for (std::size_t c = 0; c < channels_.size(); ++c) {
    double& mean = open_.mean[c + 1];
    if (own_[c] == kNoOwn) {
      mean += (group.mean[c + 1] - mean) * share;  // no number stays none
      continue;
    }
    std::uint32_t& cells = open_.cells[own_[c]];
    const std::uint32_t more = group.cells[own_[c]];
    if (more == 0) continue;
    if (cells == 0) {
      mean = group.mean[c + 1];
    } else {
      mean += (group.mean[c + 1] - mean) * (static_cast<double>(more) / static_cast<double>(cells + more));
    }
    cells += more;
  }
  open_.rows += group.rows;
  open_.at_range_end += group.at_range_end;
  open_.last_s = group.last_s;
}

void Thinner::close() {
  const std::size_t at = kept_++;
  out_.line[at] = open_.line;
  out_.time_s[at] = open_.mean[0];
  for (std::size_t c = 0; c < channels_.size(); ++c) {
    out_.channels[c][at] = open_.mean[c + 1];
    if (own_[c] != kNoOwn) cells_[own_[c]][at] = open_.cells[own_[c]];
  }
  out_.at_range_end[at] = open_.at_range_end;
  rows_[at] = open_.rows;
  first_s_[at] = open_.first_s;
  last_s_[at] = open_.last_s;
  open_.rows = 0;
}

void Thinner::load(std::size_t at, Group& group) const {
  group.line = out_.line[at];
  group.mean[0] = out_.time_s[at];
  for (std::size_t c = 0; c < channels_.size(); ++c) {
    group.mean[c + 1] = out_.channels[c][at];
    if (own_[c] != kNoOwn) group.cells[own_[c]] = cells_[own_[c]][at];
  }
  group.at_range_end = out_.at_range_end[at];
  group.rows = rows_[at];
  group.first_s = first_s_[at];
  group.last_s = last_s_[at];
}

// One more row than may be kept as they are.
void Thinner::start_averaging() {
  from_ = row_;  // for its size
  const std::size_t whole = kept_;
  const auto size = [whole](auto& values) {
    reserve_large(values, whole);
    values.resize(whole);
  };
  size(rows_);
  size(first_s_);
  size(last_s_);
  size(out_.at_range_end);
  for (auto& c : cells_) size(c);
  std::vector<double> good_s;
  for (std::size_t i = 0; i < whole; ++i) {
    load(i, from_);
    if (complete(from_)) good_s.push_back(from_.mean[0]);
  }
  const bool clock = good_s.size() >= 2;
  out_.row_interval_s = clock ? records::median_interval_s(good_s) : 0;
  out_.gap_s = clock ? settings_.gap_steps * out_.row_interval_s : std::numeric_limits<double>::infinity();
  out_.averaged = 2;
  // In place: what is written stands before what is read, for an average never stands behind its rows.
  repacking_ = true;
  kept_ = 0;
  for (std::size_t i = 0; i < whole; ++i) {
    load(i, from_);
    if (complete(from_)) take(from_);
  }
  repacking_ = false;
  make_room();
}

void Thinner::average_more() {
  out_.averaged *= 2;
  repack();
  make_room();
}

void Thinner::repack() {
  if (open_.rows > 0) close();
  const std::size_t count = kept_;
  repacking_ = true;
  kept_ = 0;
  for (std::size_t i = 0; i < count; ++i) {
    load(i, from_);
    take(from_);
  }
  repacking_ = false;
}

// Where gaps keep nearly every row apart, longer and longer ones are bridged; where even that is not enough (uneven
// averages between gaps), more rows are averaged: with every gap bridged that halves the store.
void Thinner::make_room() {
  while (kept_ > settings_.limit - settings_.limit / 8) {
    out_.gap_raised = true;
    if (out_.gap_s < open_.last_s - first_s_.front()) out_.gap_s *= 2;
    else out_.averaged *= 2;
    repack();
  }
}

ThinRows Thinner::finish() {
  if (out_.averaged > 1) {
    if (open_.rows > 0) close();
    const auto cut = [&](auto& values) {
      values.resize(kept_);
      values.shrink_to_fit();
    };
    rows_ = {};
    first_s_ = last_s_ = {};
    cells_ = {};
    cut(out_.line);
    cut(out_.time_s);
    cut(out_.at_range_end);
    for (auto& c : out_.channels) cut(c);
  }
  return std::move(out_);
}

}  // namespace hardpan::formats::detail
