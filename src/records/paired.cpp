// SPDX-License-Identifier: Apache-2.0
// Model of pair i: d_i = delta + s_i gamma + e_i, d = first less second, s = +1 where the first leads, -1 where the second does. A drift g from one reading to the next
// makes gamma = -g. Least squares in closed form: with sbar = mean s, var(delta) = sigma^2 / (n (1 - sbar^2)), n - 2 degrees of freedom.
#include "records/paired.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "math/distributions.hpp"
#include "math/statistics.hpp"

namespace hardpan::records {

std::optional<PairedDifference> paired_difference(std::vector<OrderedReading> readings, double level, double longest_gap) {
  std::erase_if(readings, [](const OrderedReading& r) { return !std::isfinite(r.value) || !std::isfinite(r.order); });
  std::set<std::string> kinds;
  for (const OrderedReading& r : readings) kinds.insert(r.of);
  if (kinds.size() != 2) return std::nullopt;
  std::stable_sort(readings.begin(), readings.end(), [](const auto& a, const auto& b) { return a.order < b.order; });
  PairedDifference out{.first = *kinds.begin(), .second = *kinds.rbegin()};
  std::vector<double> d, s;
  for (std::size_t i = 0; i < readings.size();) {
    if (i + 1 == readings.size() || readings[i].of == readings[i + 1].of || readings[i + 1].order - readings[i].order > longest_gap) {
      ++out.left_over;
      ++i;
      continue;
    }
    const bool leads = readings[i].of == out.first;
    d.push_back(leads ? readings[i].value - readings[i + 1].value : readings[i + 1].value - readings[i].value);
    s.push_back(leads ? 1 : -1);
    ++(leads ? out.first_leads : out.second_leads);
    i += 2;
  }
  out.pairs = d.size();
  if (d.empty()) return std::nullopt;
  out.balanced = out.first_leads == out.second_leads;
  const double n = static_cast<double>(d.size()), sbar = math::mean(s);
  if (out.first_leads == 0 || out.second_leads == 0) {
    out.difference = math::estimate_from_points(d, level);
    out.note = fmt::format("every pair began with {}: what drifts from one run to the next is in the difference", out.first_leads > 0 ? out.first : out.second);
    return out;
  }
  double sd = 0;
  for (std::size_t i = 0; i < d.size(); ++i) sd += s[i] * d[i] / n;
  const double spread = 1 - sbar * sbar;
  const double gamma = (sd - sbar * math::mean(d)) / spread, delta = math::mean(d) - gamma * sbar;
  out.drift = -gamma;
  if (!out.balanced) out.note = fmt::format("the order is not balanced: {} began with {}, {} with {}; a steady drift is fitted, one that bends is not", out.first_leads, out.first, out.second_leads, out.second);
  if (d.size() < 3) {
    out.difference = math::estimate_without_interval(delta, "two pairs tell a difference and a drift and no scatter", d.size());
    return out;
  }
  double squares = 0;
  for (std::size_t i = 0; i < d.size(); ++i) squares += std::pow(d[i] - delta - s[i] * gamma, 2);
  const double variance = squares / (n - 2), t = math::student_t_quantile(0.5 + 0.5 * level, n - 2);
  if (!(variance > 0)) {  // as estimate_from_points: what they were read to hides their spread
    out.difference = math::estimate_without_interval(delta, "all pairs differ alike", d.size());
    return out;
  }
  const double mean = t * std::sqrt(variance / (n * spread)), next = t * std::sqrt(variance * (1 + 1 / (n * spread)));
  out.difference = {.value = delta, .average_ground = math::Interval{delta - mean, delta + mean}, .next_point = math::Interval{delta - next, delta + next},
                    .level = level, .n = d.size(), .status = math::kStatusOk};
  return out;
}

}  // namespace hardpan::records
