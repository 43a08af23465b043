// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/time_steps.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>

namespace hardpan::formats::detail {
namespace {

// The exponent and the first 8 bits of the mantissa of a positive double number its bins: 256 an octave. From a
// nanosecond to half a year; what lies outside falls into the end bins.
constexpr int kMantissaBitsLeft = 44;
constexpr double kLeast = 0x1p-30, kMost = 0x1p24;
std::uint64_t key(double x) { return std::bit_cast<std::uint64_t>(x) >> kMantissaBitsLeft; }
std::size_t bin_of(double step_s) { return static_cast<std::size_t>(key(std::clamp(step_s, kLeast, kMost)) - key(kLeast)); }

}  // namespace

void TimeSteps::put(double step_s, std::size_t line) {
  Bin& bin = bins_[bin_of(step_s)];
  if (bin.count++ == 0) bin.first_line = line;
  bin.sum_s += step_s;
  bin.longest_s = std::max(bin.longest_s, step_s);
}

void TimeSteps::add(double time_s, std::size_t line) {
  if (last_s_) {
    const double step = time_s - *last_s_;
    if (bins_.empty() && steps_.size() == exact_) {
      bins_.resize(bin_of(kMost) + 1);
      for (std::size_t i = 0; i < steps_.size(); ++i) put(steps_[i], lines_.line_of(i));
      steps_ = {};
      lines_ = {};
    }
    if (bins_.empty()) {
      lines_.add(steps_.size(), line);
      steps_.push_back(step);
    } else {
      put(step, line);
    }
    ++count_;
  }
  last_s_ = time_s;
}

double TimeSteps::median_s() const {
  if (count_ == 0) return 0;
  if (bins_.empty()) {
    std::vector<double> steps = steps_;
    const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
    std::nth_element(steps.begin(), middle, steps.end());
    return *middle;
  }
  std::size_t below = 0;
  for (const Bin& bin : bins_) {
    below += bin.count;
    if (below > count_ / 2) return bin.sum_s / static_cast<double>(bin.count);
  }
  return 0;
}

TimeSteps::Gaps TimeSteps::longer_than(double limit_s) const {
  Gaps out;
  for (std::size_t i = 0; i < steps_.size(); ++i) {
    if (!(steps_[i] > limit_s)) continue;
    if (out.count++ == 0) out.first_line = lines_.line_of(i);
    out.longest_s = std::max(out.longest_s, steps_[i]);
  }
  for (const Bin& bin : bins_) {
    if (bin.count == 0 || !(bin.sum_s / static_cast<double>(bin.count) > limit_s)) continue;
    out.first_line = out.count == 0 ? bin.first_line : std::min(out.first_line, bin.first_line);
    out.count += bin.count;
    out.longest_s = std::max(out.longest_s, bin.longest_s);
  }
  return out;
}

}  // namespace hardpan::formats::detail
