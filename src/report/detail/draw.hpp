// SPDX-License-Identifier: Apache-2.0
// Small steps that every figure of the report takes.
#pragma once

#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

#include "report/detail/parts.hpp"
#include "units/unit.hpp"

namespace hardpan::report::detail {

// Values in the unit of an axis.
struct InUnit {
  units::Unit unit;
  [[nodiscard]] double operator()(double si) const { return units::from_si(si, unit); }
  [[nodiscard]] std::vector<double> operator()(std::vector<double> si) const {
    for (double& v : si) v = units::from_si(v, unit);
    return si;
  }
  [[nodiscard]] std::string spelling() const { return unit.spelling == "1" ? "" : unit.spelling; }
};

[[nodiscard]] inline std::vector<double> even_steps(double from, double to, std::size_t count) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(from + (to - from) * static_cast<double>(i) / static_cast<double>(count - 1));
  return out;
}
[[nodiscard]] inline std::vector<double> log_steps(double from, double to, std::size_t count) {
  std::vector<double> out = even_steps(std::log(from), std::log(to), count);
  for (double& v : out) v = std::exp(v);
  return out;
}
// Of so many readings every k-th is drawn.
[[nodiscard]] inline std::size_t stride(std::size_t readings, std::size_t most) { return readings <= most ? 1 : (readings + most - 1) / most; }

[[nodiscard]] inline std::string small_print(const campaign::Results& r, const std::string& records) {
  const std::string name = r.campaign.name.empty() ? "campaign" : r.campaign.name;
  return name + (r.campaign.when.empty() ? "" : ", " + r.campaign.when) + (records.empty() ? "" : ". " + records) + ". Hardpan " +
         r.provenance.version + ".";
}

// A band of an interval over x. Where an end is no plain number the band stops, and `cut` counts it.
struct BandSeries {
  Series series{.kind = Kind::band};
  std::size_t cut = 0;
  void add(double x, const std::optional<math::Interval>& i, Measure measure, const InUnit& y) {
    if (!i) return;
    if (!Printer::word(i->lo, measure).empty() || !Printer::word(i->hi, measure).empty()) {
      ++cut;
      return;
    }
    series.x.push_back(x);
    series.y_lo.push_back(y(i->lo));
    series.y_hi.push_back(y(i->hi));
  }
};

}  // namespace hardpan::report::detail
