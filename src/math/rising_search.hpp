// SPDX-License-Identifier: Apache-2.0
// Root of a function that rises over an interval, one value a call, so that many searches go on in step: outward from a first place until the root
// lies between two, then the Illinois form of the secant method. Values may be infinite: there the bracket is halved.
//
//   RisingSearch search({.least = -0.95, .most = 0.95, .first = -0.05, .second = 0.05, .stride = 0.15});
//   while (search.end() == RisingSearch::End::none) search.feed(f(search.at()), 1e-9);
//   if (search.end() == RisingSearch::End::found) use(search.at());
#pragma once

#include <algorithm>
#include <cmath>

namespace hardpan::math {

class RisingSearch {
 public:
  struct Plan {
    double least, most;          // the interval
    double first, second;        // looked at first; the second where the first lies below the root
    double stride;               // further outward, growth times as far each time
    double growth = 1;
    double closest = 1e-15;      // ends of the bracket: closer is stalled
    double cliff = 1e-4;         // the same where an end is infinite
  };
  enum class End {
    none,
    found,        // |f| within the tolerance at at()
    below_least,  // f > 0 at the lower end
    above_most,   // f < 0 at the upper end
    stalled,      // the bracket closed on a leap
    out_of_steps  // 60 values
  };

  explicit RisingSearch(const Plan& plan) : plan_(plan), at_(std::clamp(plan.first, plan.least, plan.most)), stride_(plan.stride) {}
  [[nodiscard]] double at() const { return at_; }      // wanted next; once ended, the last one looked at
  [[nodiscard]] int rounds() const { return rounds_; }
  [[nodiscard]] End end() const { return end_; }
  [[nodiscard]] bool has_low() const { return step_ != Step::low; }   // some place below the root is known

  // f at at().
  void feed(double f, double tolerance) {
    constexpr int kMostRounds = 60;
    ++rounds_;
    if (std::abs(f) <= tolerance) return finish(End::found);
    if (rounds_ >= kMostRounds) return finish(End::out_of_steps);
    if (step_ == Step::low) {
      if (f > 0) {
        if (at_ <= plan_.least) return finish(End::below_least);
        known_high_ = true;
        take_high(f);
        at_ = std::max(plan_.least, at_ - stride_);
        stride_ *= plan_.growth;
        return;
      }
      take_low(f);
      step_ = known_high_ ? Step::inside : Step::high;
      if (!known_high_ && at_ >= plan_.most) return finish(End::above_most);
      at_ = std::min(plan_.most, std::max(plan_.second, at_ + plan_.closest));
    } else if (step_ == Step::high) {
      if (f < 0) {
        if (at_ >= plan_.most) return finish(End::above_most);
        take_low(f);
        at_ = std::min(plan_.most, at_ + stride_);
        stride_ *= plan_.growth;
        return;
      }
      take_high(f);
      step_ = Step::inside;
    } else if (f < 0) {
      take_low(f);
      if (side_ == -1) f_high_ *= 0.5;
      side_ = -1;
    } else {
      take_high(f);
      if (side_ == 1) f_low_ *= 0.5;
      side_ = 1;
    }
    if (step_ != Step::inside) return;
    const bool secant = std::isfinite(f_low_) && std::isfinite(f_high_);
    if (high_ - low_ <= (secant ? plan_.closest : std::max(plan_.closest, plan_.cliff))) return finish(End::stalled);
    at_ = secant ? (low_ * f_high_ - high_ * f_low_) / (f_high_ - f_low_) : 0.5 * (low_ + high_);
  }

 private:
  enum class Step { low, high, inside };
  void finish(End how) { end_ = how; }
  void take_low(double f) { low_ = at_, f_low_ = f; }
  void take_high(double f) { high_ = at_, f_high_ = f; }

  Plan plan_;
  double at_, stride_;
  Step step_ = Step::low;
  End end_ = End::none;
  bool known_high_ = false;
  double low_ = 0, high_ = 0, f_low_ = 0, f_high_ = 0;
  int side_ = 0, rounds_ = 0;
};

}  // namespace hardpan::math
