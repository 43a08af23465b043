// SPDX-License-Identifier: Apache-2.0
#include "performance/detail/lane_solver.hpp"

#include <algorithm>
#include <cmath>

namespace hardpan::performance::detail {
namespace {

constexpr double kBalance = 2e-6;      // of the weight: 1e-4 deg of slope
constexpr double kOnTarget = 1e-4;     // of a bound: 0.002 % of slip
constexpr double kMostSlip = 0.949;    // driving: just within what a balance looks at
constexpr int kMostSteps = 14;         // observed 3 to 7
constexpr std::size_t kRows = kUnknowns + 2;
using Told = std::array<double, kRows>;

Told told(const SlopeLane& lane) {
  Told r{};
  std::copy(lane.unbalanced.begin(), lane.unbalanced.end(), r.begin());
  r[kShareRow] = lane.share;
  r[kAlongRow] = lane.along;
  return r;
}

bool finite(std::span<const double> r) {
  return std::all_of(r.begin(), r.end(), [](double v) { return std::isfinite(v); });
}

double sixth(const Aim& aim, const Told& at) {
  if (aim.equation != Equation::ahead) return at[aim.equation == Equation::bound ? kShareRow : kAlongRow] - aim.target;
  double sum = -aim.target;
  for (std::size_t k = 0; k < kLaneUnknowns; ++k) sum += aim.direction[k] * (aim.lane->x[k] - aim.from[k]);
  return sum;
}

bool arrived(const Told& at, double sixth) {
  for (std::size_t k = 0; k < kUnknowns; ++k) {
    if (!(std::abs(at[k]) <= kBalance)) return false;
  }
  return std::abs(sixth) <= kOnTarget;
}

// The step that brings balances and sixth equation to zero; not finite where the slopes do not tell.
LaneUnknown step_of(const Aim& aim, const Told& at, double sixth) {
  std::array<std::array<double, kLaneUnknowns + 1>, kLaneUnknowns> m{};
  for (std::size_t r = 0; r < kLaneUnknowns; ++r) {
    const LaneUnknown& row = r < kUnknowns ? aim.lane->slopes[r] : aim.equation == Equation::ahead ? aim.direction : aim.lane->slopes[aim.equation == Equation::bound ? kShareRow : kAlongRow];
    std::copy(row.begin(), row.end(), m[r].begin());
    m[r][kLaneUnknowns] = -(r < kUnknowns ? at[r] : sixth);
  }
  for (std::size_t i = 0; i < kLaneUnknowns; ++i) {
    std::size_t pivot = i;
    for (std::size_t r = i + 1; r < kLaneUnknowns; ++r) {
      if (std::abs(m[r][i]) > std::abs(m[pivot][i])) pivot = r;
    }
    std::swap(m[i], m[pivot]);
    for (std::size_t r = i + 1; r < kLaneUnknowns; ++r) {
      const double by = m[r][i] / m[i][i];
      for (std::size_t c = i; c <= kLaneUnknowns; ++c) m[r][c] -= by * m[i][c];
    }
  }
  LaneUnknown x{};
  for (std::size_t i = kLaneUnknowns; i-- > 0;) {
    x[i] = m[i][kLaneUnknowns];
    for (std::size_t c = i + 1; c < kLaneUnknowns; ++c) x[i] -= m[i][c] * x[c];
    x[i] /= m[i][i];
  }
  return x;
}

void update(LaneSlopes& slopes, const LaneUnknown& dx, const Told& dr) {
  double square = 0;
  for (const double v : dx) square += v * v;
  if (!(square > 1e-24)) return;
  for (std::size_t r = 0; r < kRows; ++r) {
    double miss = dr[r];
    for (std::size_t c = 0; c < kLaneUnknowns; ++c) miss -= slopes[r][c] * dx[c];
    for (std::size_t c = 0; c < kLaneUnknowns; ++c) slopes[r][c] += miss * dx[c] / square;
  }
}

}  // namespace

SlopeLane::SlopeLane(const TurningMachine& m, double heading_rad) : machine(&m), turn{.heading_rad = heading_rad}, balance(m, turn) {
  balance.hold_at_tip(true);
  balance.set_most_slip(0.98);
  balance.set_radius(std::numeric_limits<double>::infinity());
}

void Together::operator()(std::span<SlopeLane* const> lanes) {
  std::vector<SlopeLane*> rolling;
  for (SlopeLane* lane : lanes) {
    ++lane->evaluations;
    lane->turn.gradient_rad = lane->x[kUnknowns];
    lane->balance.set_target(target_);
    Unknown z{};
    std::copy_n(lane->x.begin(), kUnknowns, z.begin());
    if (lane->balance.ask(z)) rolling.push_back(lane);
  }
  while (!rolling.empty()) {
    roll_wheels(rolling);
    std::erase_if(rolling, [](SlopeLane* lane) { return !lane->balance.settles_anew(); });
  }
  for (SlopeLane* lane : lanes) tell(*lane);
}

void Together::roll_wheels(std::span<SlopeLane* const> lanes) {
  contacts_.clear(), load_.clear(), slip_.clear(), angle_.clear(), guess_.clear(), owner_.clear();
  for (std::size_t i = 0; i < lanes.size(); ++i) {
    SlopeLane& lane = *lanes[i];
    for (std::size_t w = 0; w < lane.balance.wheels(); ++w) {
      if (!lane.balance.stands(w)) continue;
      Balance::Ask ask;
      if (!lane.balance.plain(w, ask)) {
        lane.balance.roll(w);
        continue;
      }
      contacts_.push_back(*ask.contact);
      load_.push_back(ask.load_n);
      slip_.push_back(ask.slip_ratio);
      angle_.push_back(ask.slip_angle_rad);
      guess_.push_back(ask.guess_rad);
      owner_.push_back({i, w});
    }
  }
  answers_.resize(contacts_.size());
  contact::wheels_at_load(contacts_, load_, slip_, angle_, guess_, answers_, target_);
  for (std::size_t k = 0; k < owner_.size(); ++k) lanes[owner_[k].first]->balance.answer(owner_[k].second, answers_[k]);
}

void Together::tell(SlopeLane& lane) const {
  lane.unbalanced = lane.balance.tell();
  lane.slip = lane.balance.largest_slip();
  lane.along = lane.slip + std::abs(lane.x[0]);
  lane.share = 0;
  const auto use = [&](double share, HeadingFactor factor) {
    if (share > lane.share) lane.share = share, lane.most = factor;
  };
  const HeadingFactor gives_out = ground_gives_out(lane.turn.heading_rad);
  use(lane.balance.largest_drive_slip() / kMostSlip, gives_out);
  use(lane.balance.common_skid() / kMostSkid, gives_out);
  if (bounds_.slip < 1) use(lane.slip / bounds_.slip, HeadingFactor::working_slip);
  use(std::abs(std::atan(lane.x[0])) / bounds_.drift_rad, bounds_.beyond_drift);
  use(lane.balance.torque_share(), HeadingFactor::torque);
  use(lane.balance.steering_share(), HeadingFactor::steering);
  use(lane.x[kUnknowns] / lane.balance.tip_rad(), HeadingFactor::tips_over);
  use(lane.x[kUnknowns] / bounds_.steepest_rad, bounds_.beyond_steepest);
}

void measure_slopes(std::span<SlopeLane* const> lanes, Together& roll) {
  roll(lanes);
  std::vector<Told> at;
  std::vector<LaneUnknown> x;
  std::vector<SlopeLane*> asked;
  std::vector<std::size_t> index;
  for (SlopeLane* lane : lanes) {
    at.push_back(told(*lane));
    x.push_back(lane->x);
    lane->good = finite(at.back());
  }
  for (std::size_t k = 0; k < kLaneUnknowns; ++k) {
    // Backward for the gradient and where forward is beyond the ground: a limit is an edge.
    for (const double side : {1.0, -1.0}) {
      if (side > 0) {
        index.clear();
        for (std::size_t i = 0; i < lanes.size(); ++i) {
          if (lanes[i]->good) index.push_back(i);
        }
      }
      if (index.empty()) break;
      asked.clear();
      for (const std::size_t i : index) {
        lanes[i]->x[k] = x[i][k] + side * (k == kUnknowns ? -1e-5 : 1e-5) * std::max(1.0, std::abs(x[i][k]));
        asked.push_back(lanes[i]);
      }
      roll(asked);
      std::vector<std::size_t> again;
      for (const std::size_t i : index) {
        SlopeLane& lane = *lanes[i];
        const Told moved = told(lane);
        if (!finite(moved)) {
          again.push_back(i);
          lane.good = side > 0;
        }
        for (std::size_t r = 0; r < kRows; ++r) lane.slopes[r][k] = (moved[r] - at[i][r]) / (lane.x[k] - x[i][k]);
        lane.x[k] = x[i][k];
      }
      index = again;
    }
  }
}

void solve_together(std::span<const Aim> aims, Together& roll) {
  struct Step {
    LaneUnknown from{}, by{};
    Told told{};
    int halvings = 0, steps = 0;
    bool active = true, begun = false;
  };
  std::vector<Step> steps(aims.size());
  std::vector<SlopeLane*> active;
  std::vector<std::size_t> index;
  for (;;) {
    active.clear(), index.clear();
    for (std::size_t i = 0; i < aims.size(); ++i) {
      if (steps[i].active) active.push_back(aims[i].lane), index.push_back(i);
    }
    if (active.empty()) return;
    roll(active);
    for (const std::size_t i : index) {
      SlopeLane& lane = *aims[i].lane;
      Step& s = steps[i];
      const Told at = told(lane);
      const double last = sixth(aims[i], at);
      const auto end = [&](bool good) { lane.good = good, s.active = false; };
      if (!finite(at)) {
        if (!s.begun || ++s.halvings > 6) {
          end(false);
          continue;
        }
        for (std::size_t k = 0; k < kLaneUnknowns; ++k) s.by[k] *= 0.5, lane.x[k] = s.from[k] + s.by[k];
        continue;
      }
      if (s.begun) {
        Told change{};
        for (std::size_t r = 0; r < kRows; ++r) change[r] = at[r] - s.told[r];
        update(lane.slopes, s.by, change);
      }
      if (arrived(at, last) || ++s.steps > kMostSteps) {
        end(arrived(at, last));
        continue;
      }
      s.begun = true;
      s.halvings = 0;
      s.from = lane.x;
      s.told = at;
      s.by = step_of(aims[i], at, last);
      if (!finite(s.by)) {
        end(false);
        continue;
      }
      double share = 1;
      for (std::size_t k = 0; k < kLaneUnknowns; ++k) {
        const double most = k == kUnknowns ? 0.15 : 0.3 * std::max(1.0, std::abs(lane.x[k]));
        share = std::min(share, most / std::max(std::abs(s.by[k]), 1e-300));
      }
      for (std::size_t k = 0; k < kLaneUnknowns; ++k) s.by[k] *= share, lane.x[k] += s.by[k];
    }
  }
}

}  // namespace hardpan::performance::detail
