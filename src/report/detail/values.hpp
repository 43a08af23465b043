// SPDX-License-Identifier: Apache-2.0
// Values as the report prints them: one unit for a value and its interval, words where there is no number.
#pragma once

#include <initializer_list>
#include <optional>
#include <string>
#include <vector>

#include "campaign/campaign.hpp"
#include "math/estimate.hpp"
#include "units/print.hpp"
#include "validation/requirement.hpp"

namespace hardpan::report::detail {

// What a value that is not a plain number means for the reader.
enum class Special { none, infinite_is_immobilised, infinite_is_unlimited, straight_down_is_immobilised, one_is_immobilised, minus_one_is_immobilised, zero_is_none };

struct Measure {
  units::Dimension dimension = units::Dimension::none;
  bool percent = false;
  Special special = Special::none;
};
inline constexpr Measure kNumber{}, kShare{.percent = true}, kLength{units::Dimension::length}, kForce{units::Dimension::force},
    kPressure{units::Dimension::pressure}, kAngle{units::Dimension::angle}, kMass{units::Dimension::mass}, kTorque{units::Dimension::torque},
    kSpeed{units::Dimension::speed}, kDensity{units::Dimension::density},
    kGradient{units::Dimension::angle, false, Special::straight_down_is_immobilised},
    kSinkage{units::Dimension::length, false, Special::infinite_is_immobilised},
    kWheelTorque{units::Dimension::torque, false, Special::infinite_is_immobilised},
    kEnergy{units::Dimension::energy_per_distance, false, Special::infinite_is_immobilised},
    kTravelSpeed{units::Dimension::speed, false, Special::infinite_is_unlimited},
    kTravelSlip{units::Dimension::none, true, Special::one_is_immobilised},
    kPullCoefficient{units::Dimension::none, false, Special::minus_one_is_immobilised},
    kDescent{units::Dimension::angle, false, Special::zero_is_none};

[[nodiscard]] Measure measure_of(validation::Quantity quantity);
[[nodiscard]] Measure measure_of_unit(const std::string& si_unit);  // "Pa", "m", "N m", "rad" ...; else a bare number

// A value and its interval in one unit, as three cells of a table.
struct Printed {
  std::string value, average_ground, next_point;
};

class Printer {
 public:
  explicit Printer(campaign::OutputUnits units);

  [[nodiscard]] units::OutputUnits units() const { return units_; }
  // The word for a value that is no plain number; empty for a plain number.
  [[nodiscard]] static std::string word(double value_si, Measure measure);
  [[nodiscard]] units::Unit unit(double largest_si, Measure measure) const;
  // The unit that suits the largest plain number among these.
  [[nodiscard]] units::Unit common(const std::vector<double>& values_si, Measure measure) const;

  [[nodiscard]] std::string value(double value_si, Measure measure, int digits = 3) const;
  [[nodiscard]] std::string value(const std::optional<double>& value_si, Measure measure, int digits = 3) const;  // "-" when absent
  [[nodiscard]] std::string interval(double lo_si, double hi_si, Measure measure) const;
  [[nodiscard]] std::string interval(const std::optional<math::Interval>& interval, Measure measure) const;       // "none" when absent
  [[nodiscard]] Printed estimate(const math::Estimate& estimate, Measure measure) const;
  [[nodiscard]] static Printed estimate_in(const math::Estimate& estimate, const units::Unit& unit, Measure measure);
  // "18.4 deg (next point 15.2 to 21.0 deg)"
  [[nodiscard]] std::string with_next_point(const math::Estimate& estimate, Measure measure) const;

  // Numbers alone, for a column whose heading names the unit.
  [[nodiscard]] static std::string bare(double value_si, const units::Unit& unit, Measure measure, int digits = 3);
  [[nodiscard]] static std::string bare(const std::optional<double>& value_si, const units::Unit& unit, Measure measure, int digits = 3);

 private:
  units::OutputUnits units_;
};

// "Pull (N)"
[[nodiscard]] std::string headed(const std::string& heading, const units::Unit& unit);
[[nodiscard]] std::string plural(std::size_t count, const std::string& word);  // "1 point", "2 points"
[[nodiscard]] std::string joined(const std::vector<std::string>& parts, const std::string& between = ", ");
[[nodiscard]] std::string clock_words(std::string iso);  // "2026-04-12 10:00:05", without the T
// Begins with a capital and ends with a full stop.
[[nodiscard]] std::string sentence(std::string text);
[[nodiscard]] std::vector<std::string> sentences(std::vector<std::string> all);
// Sentences that differ only in the name of a test ("zone: cone/P1-1: the check failed") as one that counts them.
[[nodiscard]] std::vector<std::string> merged(const std::vector<std::string>& all);
// Letters, digits and '-' of a name, for ids.
[[nodiscard]] std::string slug(const std::string& name);

}  // namespace hardpan::report::detail
