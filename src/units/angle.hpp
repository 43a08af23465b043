// SPDX-License-Identifier: Apache-2.0
// An angle, so that degrees, radians and percent of grade cannot be mixed up. There is no way in
// or out without naming the unit, and no arithmetic that makes no sense (the product of two angles
// does not compile). 25 % of grade is 14.04 deg, not 25 deg.
//
//   const Angle slope = Angle::from_deg(25.0);
//   const double pull_n = weight_n * slope.sin();
//   if (slope > Angle::from_grade_percent(60.0)) ...
//
// Not for columns of numbers: those are `double` with _rad in the name.
#pragma once

#include <cmath>
#include <compare>
#include <numbers>

namespace hardpan::units {

class Angle {
 public:
  constexpr Angle() = default;  // zero

  [[nodiscard]] static constexpr Angle from_rad(double rad) { return Angle(rad); }
  [[nodiscard]] static constexpr Angle from_deg(double deg) {
    return Angle(deg * (std::numbers::pi / 180.0));
  }
  // Percent of grade: 100 times rise over level distance, so 100 % is 45 deg.
  [[nodiscard]] static Angle from_grade_percent(double percent) {
    return Angle(std::atan(percent / 100.0));
  }

  [[nodiscard]] constexpr double rad() const { return rad_; }
  [[nodiscard]] constexpr double deg() const { return rad_ * (180.0 / std::numbers::pi); }
  [[nodiscard]] double grade_percent() const { return 100.0 * std::tan(rad_); }
  [[nodiscard]] double sin() const { return std::sin(rad_); }
  [[nodiscard]] double cos() const { return std::cos(rad_); }
  [[nodiscard]] double tan() const { return std::tan(rad_); }

  constexpr auto operator<=>(const Angle&) const = default;

  constexpr Angle operator-() const { return Angle(-rad_); }
  friend constexpr Angle operator+(Angle a, Angle b) { return Angle(a.rad_ + b.rad_); }
  friend constexpr Angle operator-(Angle a, Angle b) { return Angle(a.rad_ - b.rad_); }
  friend constexpr Angle operator*(double k, Angle a) { return Angle(k * a.rad_); }
  friend constexpr Angle operator*(Angle a, double k) { return k * a; }
  friend constexpr Angle operator/(Angle a, double k) { return Angle(a.rad_ / k); }
  friend constexpr double operator/(Angle a, Angle b) { return a.rad_ / b.rad_; }

 private:
  explicit constexpr Angle(double rad) : rad_(rad) {}
  double rad_ = 0.0;
};

}  // namespace hardpan::units
