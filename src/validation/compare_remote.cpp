// SPDX-License-Identifier: Apache-2.0
#include "validation/compare_remote.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "math/statistics.hpp"
#include "records/not_negative.hpp"
#include "units/count.hpp"

namespace hardpan::validation {
namespace {

struct At {
  double speed = 0;
  const PredictedSpeed* near = nullptr;
};

std::optional<At> at_delay(std::span<const PredictedSpeed> predicted, double delay_s) {
  constexpr double kSame_s = 0.05;  // half a class of delays
  for (const PredictedSpeed& p : predicted) {
    if (std::abs(p.delay_s - delay_s) <= kSame_s) return At{p.speed_m_s, &p};
  }
  for (std::size_t i = 1; i < predicted.size(); ++i) {
    const PredictedSpeed &a = predicted[i - 1], &b = predicted[i];
    if (!(a.delay_s <= delay_s && delay_s <= b.delay_s) || !(b.delay_s > a.delay_s)) continue;
    const double t = (delay_s - a.delay_s) / (b.delay_s - a.delay_s);
    return At{a.speed_m_s + t * (b.speed_m_s - a.speed_m_s), t < 0.5 ? &a : &b};
  }
  return std::nullopt;
}

std::string statement_of(const RemoteComparison& c, units::OutputUnits u) {
  const auto speed = [&](double v) { return units::print_quantity(v, units::Dimension::speed, u); };
  const std::string course = c.course.empty() ? "Remote runs" : "Remote runs over course " + c.course;
  if (!c.judged) return course + ": nothing is judged: no delay that was driven was also computed, or nobody finished.";
  std::size_t judged = 0;
  std::string faster;
  for (const SpeedCompared& d : c.delays) {
    judged += d.within.has_value();
    if (d.within.value_or(true)) continue;
    faster += fmt::format("{}{} at a delay of {} against {} predicted ({})", faster.empty() ? "" : "; ", speed(d.measured_m_per_s.value), units::print_quantity(d.delay_s, units::Dimension::time, u), speed(*d.predicted_m_per_s), d.limited_by);
  }
  std::string out = fmt::format("{}: operators drove at {:.0f} to {:.0f} % of the predicted speed over {}", course, 100 * *c.least_share, 100 * *c.most_share, units::print_count(judged, "delay"));
  return out + (c.consistent ? ": consistent with an upper bound." : ": faster than what was to be an upper bound: " + faster + ".");
}

}  // namespace

RemoteComparison compare_remote(const records::RemoteCourse& course, std::span<const PredictedSpeed> predicted, units::OutputUnits units) {
  RemoteComparison c{.vehicle = course.vehicle, .zone = course.zone, .course = course.course};
  c.consistent = true;
  for (const records::AtDelay& at : course.by_delay) {
    std::vector<double> means;
    for (const records::OperatorAtDelay& k : course.by_operator) {
      if (k.speed_m_per_s && std::abs(k.delay_s - at.delay_s) <= records::RemoteRunSettings{}.delay_class_s) means.push_back(k.speed_m_per_s->value);
    }
    SpeedCompared d{.delay_s = at.delay_s, .operators = means.size(), .left_corridor = at.left_corridor};
    if (means.empty()) {
      d.measured_m_per_s = math::estimate_without_interval(std::nan(""), "nobody finished");
    } else {
      d.measured_m_per_s = records::not_negative(math::estimate_from_points(means));
      if (const auto p = at_delay(predicted, at.delay_s)) {
        d.predicted_m_per_s = p->speed;
        d.limited_by = p->near->limited_by;
        const double lowest = d.measured_m_per_s.average_ground ? d.measured_m_per_s.average_ground->lo : d.measured_m_per_s.value;
        d.within = lowest <= p->speed;
        c.judged = true;
        c.consistent = c.consistent && *d.within;
        if (p->speed > 0) {
          const double share = d.measured_m_per_s.value / p->speed;
          c.least_share = std::min(c.least_share.value_or(share), share);
          c.most_share = std::max(c.most_share.value_or(share), share);
        }
      }
    }
    c.delays.push_back(std::move(d));
  }
  c.judged = c.judged && c.least_share;
  c.consistent = c.consistent && c.judged;
  c.statement = statement_of(c, units);
  return c;
}

}  // namespace hardpan::validation
