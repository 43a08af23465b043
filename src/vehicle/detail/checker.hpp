// SPDX-License-Identifier: Apache-2.0
// What the checks of a vehicle are written with: ranges, refusals and remarks by key, numbers in the units of the campaign.
#pragma once

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>
#include <utility>

#include "base/problems.hpp"
#include "units/print.hpp"

namespace hardpan::vehicle::detail {

// Collects what is wrong with a vehicle, by key and in the units of its campaign.
class Checker {
 public:
  Checker(base::Place place, units::OutputUnits units, base::Problems& problems) : place_(std::move(place)), units_(units), problems_(problems) {}

  [[nodiscard]] Checker at(const std::string& key) const { return {place(key), units_, problems_}; }

  // bound is "above 0, at most 5 m"; open says that the lower end itself is refused.
  bool range(const char* key, double value, double low, double high, const char* bound, bool open = false) const {
    if ((open ? value > low : value >= low) && value <= high) return true;
    refuse(key, "is outside what a vehicle can have", fmt::format("{:g}", value), bound,
           "check the number and its unit");
    return false;
  }
  bool range(const char* key, const std::optional<double>& value, double low, double high, const char* bound,
             bool open = false) const {
    return !value || range(key, *value, low, high, bound, open);
  }
  void refuse(const std::string& key, const std::string& what, const std::string& value,
              const std::string& bound, const std::string& remedy) const {
    problems_.refuse({.place = place(key), .what = subject(key) + what, .value = value, .bound = bound,
                      .remedy = remedy});
  }
  void remark(const std::string& key, const std::string& what, const std::string& value,
              const std::string& bound, const std::string& remedy) const {
    problems_.remark({.place = place(key), .what = subject(key) + what, .value = value, .bound = bound,
                      .remedy = remedy});
  }

  // A value of the vehicle, in the units of its campaign: a length, a force or a torque.
  [[nodiscard]] std::string number(double value, const char* si_unit) const {
    const std::string unit = si_unit;
    const units::Dimension d = unit == "m" ? units::Dimension::length : unit == "N" ? units::Dimension::force : units::Dimension::torque;
    if (units_ == units::OutputUnits::si || !std::isfinite(value)) return fmt::format("{:.4g} {}", value, unit);
    return units::print_quantity(value, d, units_, 4);
  }

 private:
  [[nodiscard]] base::Place place(const std::string& key) const {
    base::Place p = place_;
    if (!key.empty()) p.key += (p.key.empty() ? "" : ".") + key;
    return p;
  }
  // The key's last part opens the sentence as words: "wheel.rolling_radius" -> "rolling radius ".
  [[nodiscard]] static std::string subject(const std::string& key) {
    std::string words = key.empty() ? key : key.substr(key.rfind('.') + 1) + " ";
    std::replace(words.begin(), words.end(), '_', ' ');
    return words;
  }

  base::Place place_;
  units::OutputUnits units_;
  base::Problems& problems_;
};

}  // namespace hardpan::vehicle::detail
