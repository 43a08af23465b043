// SPDX-License-Identifier: Apache-2.0
// Two runs on one lane, out and back: at one slip the ground gives the same coefficient, so half the difference of the
// pulls over weight is the sine of the lane's gradient:
//   P_out cos l + I + W sin a = mu N = P_back cos l + I - W sin a   =>   sin a = (p_back - p_out) / 2,
// p = (P cos l + I) / W. The back run's pull is read between the out run's windows by straight lines in slip.
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include <fmt/format.h>

#include "math/statistics.hpp"
#include "records/detail/drawbar_steps.hpp"
#include "units/count.hpp"

namespace hardpan::records::detail {
namespace {

constexpr double kDegrees = 180 / std::numbers::pi;

struct Run {
  std::string name, direction;
  std::vector<std::size_t> windows;  // by rising slip
};

double level_pull(const PullWindow& w) { return (*w.pull_n * std::cos(w.line_angle_rad) + w.inertia_n) / w.weight_n; }

// The run's level pull at a slip inside its windows; beyond their ends nothing, a single window within 0.02 of slip.
std::optional<double> pull_at(const std::vector<PullWindow>& windows, const Run& run, double slip) {
  const auto slip_of = [&](std::size_t i) { return *windows[run.windows[i]].slip_ratio; };
  if (run.windows.size() == 1) {
    if (std::abs(slip_of(0) - slip) > 0.02) return std::nullopt;
    return level_pull(windows[run.windows[0]]);
  }
  for (std::size_t i = 0; i + 1 < run.windows.size(); ++i) {
    const double a = slip_of(i), b = slip_of(i + 1);
    if (slip < a || slip > b) continue;
    const double share = b > a ? (slip - a) / (b - a) : 0.5;
    return (1 - share) * level_pull(windows[run.windows[i]]) + share * level_pull(windows[run.windows[i + 1]]);
  }
  return std::nullopt;
}

LanePair compare(const std::vector<PullWindow>& windows, const Run& out_run, const Run& back_run) {
  LanePair pair{.run_out = out_run.name, .run_back = back_run.name};
  std::vector<double> sine;
  double own = 0;
  const auto collect = [&](const Run& from, const Run& to, double sign) {
    for (const std::size_t i : from.windows) {
      const auto other = pull_at(windows, to, *windows[i].slip_ratio);
      if (!other) continue;
      sine.push_back(sign * 0.5 * (*other - level_pull(windows[i])));
      const double error = windows[i].pull_se_n / windows[i].weight_n;
      own += 0.5 * error * error;  // both sides of the difference, halved: 2 e^2 / 4
    }
  };
  collect(out_run, back_run, 1);
  collect(back_run, out_run, -1);
  pair.compared = sine.size();
  if (sine.empty()) {
    pair.note = "no common slip: the pulls cannot be compared";
    return pair;
  }
  const double n = static_cast<double>(sine.size());
  const double mean = math::mean(sine);
  // Half the comparisons reuse the other half's windows, so the count that errors are divided by is n / 2.
  const double independent = std::max(1.0, 0.5 * n);
  const double scatter = sine.size() > 1 ? math::variance(sine) : 0;
  pair.gradient_rad = std::asin(std::clamp(mean, -1.0, 1.0));
  pair.gradient_se_rad = std::sqrt(std::max(scatter, own / n) / independent);
  pair.note = "from " + units::print_count(sine.size(), "comparison") + " at equal slip";
  return pair;
}

}  // namespace

std::vector<LanePair> pair_lanes(std::vector<PullWindow>& windows, bool use_for_correction, base::Problems& problems) {
  struct Lane {
    std::string file;  // of its first window
    std::vector<Run> runs;
    std::vector<std::string> directions;
  };
  std::map<std::tuple<std::string, std::string, std::string>, Lane> lanes;  // lane, vehicle, zone
  for (std::size_t i = 0; i < windows.size(); ++i) {
    const PullWindow& w = windows[i];
    if (w.lane.empty() || w.direction.empty() || w.kind != LogKind::tow || !w.pull_n) continue;
    Lane& lane = lanes[{w.lane, w.vehicle, w.zone}];
    if (lane.file.empty()) lane.file = w.file;
    auto run = std::find_if(lane.runs.begin(), lane.runs.end(),
                            [&](const Run& r) { return r.name == w.run && r.direction == w.direction; });
    if (run == lane.runs.end()) {
      lane.runs.push_back({.name = w.run, .direction = w.direction});
      run = lane.runs.end() - 1;
      if (std::find(lane.directions.begin(), lane.directions.end(), w.direction) == lane.directions.end())
        lane.directions.push_back(w.direction);
    }
    if (w.slip_ratio) run->windows.push_back(i);
  }
  std::vector<LanePair> out;
  for (auto& [key, lane] : lanes) {
    const auto& [lane_name, vehicle_id, zone] = key;
    if (lane.directions.size() == 1) continue;
    if (lane.directions.size() > 2) {
      problems.remark({.place = {.file = lane.file, .key = "lane " + lane_name},
                       .what = "more than two directions on one lane; its runs are not paired",
                       .value = fmt::format("{}", fmt::join(lane.directions, ", ")),
                       .bound = "two directions"});
      continue;
    }
    std::string out_name = lane.directions[0], back_name = lane.directions[1];
    if (back_name == "out" || out_name == "back") std::swap(out_name, back_name);
    std::vector<const Run*> there, back;
    for (Run& r : lane.runs) {
      std::stable_sort(r.windows.begin(), r.windows.end(),
                       [&](std::size_t a, std::size_t b) { return *windows[a].slip_ratio < *windows[b].slip_ratio; });
      (r.direction == out_name ? there : back).push_back(&r);
    }
    std::vector<double> sine, error;
    const std::size_t first = out.size();
    for (std::size_t k = 0; k < std::min(there.size(), back.size()); ++k) {
      LanePair pair = compare(windows, *there[k], *back[k]);
      pair.lane = lane_name, pair.vehicle = vehicle_id, pair.zone = zone;
      for (const PullWindow& w : windows) {
        if (w.run == pair.run_out && w.direction == out_name && w.gradient_source == GradientSource::stated)
          pair.stated_rad = w.gradient_rad;
      }
      if (pair.compared > 0) {
        sine.push_back(std::sin(pair.gradient_rad));
        error.push_back(pair.gradient_se_rad);
        if (pair.stated_rad && std::abs(*pair.stated_rad - pair.gradient_rad) > std::max(2 * pair.gradient_se_rad, 0.0087)) {
          problems.remark({.place = {.file = lane.file, .key = "lane " + lane_name},
                           .what = fmt::format("the pulls of runs {} and {}, out and back, give another gradient than stated",
                                               pair.run_out, pair.run_back),
                           .value = fmt::format("{:.2f} +/- {:.2f} deg from the pulls, {:.2f} deg stated", pair.gradient_rad * kDegrees,
                                                pair.gradient_se_rad * kDegrees, *pair.stated_rad * kDegrees),
                           .bound = "0.5 degree or two standard errors",
                           .remedy = "the stated gradient is used; check its sign and the ground of the two runs"});
        }
      }
      out.push_back(std::move(pair));
    }
    if (sine.empty() || !use_for_correction) continue;
    const double n = static_cast<double>(sine.size());
    const double gradient = std::asin(math::mean(sine));
    double se = 0;
    for (const double e : error) se += e * e / (n * n);
    if (sine.size() > 1) se = std::max(se, math::variance(sine) / n);
    se = std::sqrt(se);
    bool used = false;
    for (PullWindow& w : windows) {
      if (w.lane != lane_name || w.vehicle != vehicle_id || w.zone != zone ||
          w.gradient_source != GradientSource::assumed_level)
        continue;
      if (w.direction != out_name && w.direction != back_name) continue;
      set_gradient(w, w.direction == out_name ? gradient : -gradient, se, GradientSource::paired_runs);
      used = true;
    }
    for (std::size_t i = first; i < out.size(); ++i) out[i].used = used && out[i].compared > 0;
  }
  return out;
}

}  // namespace hardpan::records::detail
