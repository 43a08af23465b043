// SPDX-License-Identifier: Apache-2.0
#include "performance/detail/body_stand.hpp"

#include <algorithm>
#include <array>
#include <bitset>
#include <cmath>
#include <limits>

#include "base/assertion.hpp"
#include "vehicle/chain.hpp"

namespace hardpan::performance::detail {
namespace {

constexpr double kVeryStiff_n_per_m = 1e11;  // stands for rigid: 1e-7 m under 10 kN
constexpr double kInfinity = std::numeric_limits<double>::infinity();
using Vec3 = std::array<double, 3>;
using Square3 = std::array<Vec3, 3>;
constexpr std::size_t kMostWheels = 8 * vehicle::kMostSupports;   // of an axle at most eight
using Wheels = std::bitset<kMostWheels>;

double dot(const Vec3& a, const Vec3& b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }
double dot(const Vec3& a, const Square3& m, const Vec3& b) { return a[0] * dot(m[0], b) + a[1] * dot(m[1], b) + a[2] * dot(m[2], b); }

// Of a symmetric matrix, with its leading minors above zero; nothing where they are not.
std::optional<Vec3> solve(const Square3& m, const Vec3& b) {
  const double ratio_1 = m[0][1] / m[0][0], ratio_2 = m[0][2] / m[0][0];
  const double m11 = m[1][1] - ratio_1 * m[0][1], m12 = m[1][2] - ratio_1 * m[0][2];
  if (!(m[0][0] > 0 && m11 > 0)) return std::nullopt;
  const double ratio_12 = m12 / m11, m22 = m[2][2] - ratio_2 * m[0][2] - ratio_12 * m12;
  if (!(m22 > 0)) return std::nullopt;
  const double b1 = b[1] - ratio_1 * b[0], b2 = b[2] - ratio_2 * b[0] - ratio_12 * b1;
  const double z = b2 / m22, y = (b1 - m12 * z) / m11;
  return Vec3{(b[0] - m[0][1] * y - m[0][2] * z) / m[0][0], y, z};
}

class Springs {
 public:
  Springs(std::span<const Support> supports, const Demand& demand, double lever, std::span<const double> lower_m)
      : support_(supports), lower_(lower_m), demand_{demand.load, demand.moment_x, demand.moment_y}, lever_(lever) {
    double soft = kInfinity;
    for (const Support& p : support_) soft = std::min(soft, p.stiffness_n_per_m);
    // Equal where all are rigid: any one stiffness gives the same loads.
    rigid_ = std::isinf(soft) ? kVeryStiff_n_per_m : std::max(kVeryStiff_n_per_m, 1e3 * soft);
  }
  [[nodiscard]] std::optional<Vec3> by_wheels() const;
  [[nodiscard]] std::optional<Vec3> by_energy() const;
  [[nodiscard]] double load(std::size_t i, const Vec3& w) const { return stiffness(i) * std::max(0.0, pressed(i, w)); }

 private:
  [[nodiscard]] Vec3 place(std::size_t i) const { return {1, support_[i].x_m, support_[i].y_m}; }
  [[nodiscard]] double stiffness(std::size_t i) const { return std::min(support_[i].stiffness_n_per_m, rigid_); }
  [[nodiscard]] double pressed(std::size_t i, const Vec3& w) const { return dot(place(i), w) - lower_[i]; }
  void add(std::size_t i, Square3& stiff) const;
  [[nodiscard]] std::optional<Vec3> held(const Wheels& standing, double lever) const;
  [[nodiscard]] Vec3 uncarried(const Vec3& w) const;
  struct Way {
    double length = kInfinity;     // to the first rest, in steps
    bool same_wheels = true;       // all along
  };
  [[nodiscard]] Way first_rest(const Vec3& w, const Vec3& way, const Vec3& press, const Square3& stiff) const;

  std::span<const Support> support_;
  std::span<const double> lower_;
  Vec3 demand_;
  double lever_, rigid_ = 0;
};

void Springs::add(std::size_t i, Square3& stiff) const {
  const Vec3 at = place(i);
  for (std::size_t r = 0; r < 3; ++r) {
    for (std::size_t c = 0; c < 3; ++c) stiff[r][c] += stiffness(i) * at[r] * at[c];
  }
}

// Where the springs that stand hold the weight, by its own lever leaning further; nothing where that grows by itself.
std::optional<Vec3> Springs::held(const Wheels& standing, double lever) const {
  Square3 stiff{};
  Vec3 b = demand_;
  for (std::size_t i = 0; i < support_.size(); ++i) {
    if (!standing[i]) continue;
    add(i, stiff);
    for (std::size_t r = 0; r < 3; ++r) b[r] += stiffness(i) * lower_[i] * place(i)[r];
  }
  stiff[1][1] -= lever;
  stiff[2][2] -= lever;
  return solve(stiff, b);
}

// One change of the wheels that stand a round: two diagonal ones that hang together over a crest do not both leave the ground. What most vehicles need.
std::optional<Vec3> Springs::by_wheels() const {
  Wheels standing;
  standing.set();
  for (std::size_t round = 0; round <= 2 * support_.size(); ++round) {
    const auto w = held(standing, lever_);
    if (!w) return std::nullopt;
    double worst = 1e-12 * demand_[0];
    std::size_t wrong = support_.size();
    for (std::size_t i = 0; i < support_.size(); ++i) {
      const double by = stiffness(i) * (standing[i] ? -pressed(i, *w) : pressed(i, *w));
      if (by > worst) worst = by, wrong = i;
    }
    if (wrong == support_.size()) return w;
    standing.flip(wrong);
  }
  return std::nullopt;
}

Vec3 Springs::uncarried(const Vec3& w) const {
  Vec3 out{demand_[0], demand_[1] + lever_ * w[1], demand_[2] + lever_ * w[2]};
  for (std::size_t i = 0; i < support_.size(); ++i) {
    for (std::size_t r = 0; r < 3; ++r) out[r] -= load(i, w) * place(i)[r];
  }
  return out;
}

// Along the way the energy's slope is straight from one wheel's coming down or lifting to the next.
Springs::Way Springs::first_rest(const Vec3& w, const Vec3& way, const Vec3& press, const Square3& stiff) const {
  Way out;
  double at = 0, slope = -dot(press, way), bend = dot(way, stiff, way) - lever_ * (way[1] * way[1] + way[2] * way[2]);
  const auto rate = [&](std::size_t i) { return dot(place(i), way); };
  const auto crosses_at = [&](std::size_t i) { return -pressed(i, w) / rate(i); };
  for (std::size_t crossed = 0; crossed <= support_.size(); ++crossed) {
    double next = kInfinity;
    for (std::size_t i = 0; i < support_.size(); ++i) {
      const double there = crosses_at(i);
      if (there > at && there < next) next = there;
    }
    const double rest = bend > 0 ? at - slope / bend : kInfinity;
    if (rest <= next) {
      out.length = rest;
      return out;
    }
    slope += bend * (next - at);
    for (std::size_t i = 0; i < support_.size(); ++i) {   // of a pair both at once
      if (crosses_at(i) == next) bend += (rate(i) > 0 ? 1 : -1) * stiffness(i) * rate(i) * rate(i);
    }
    at = next;
    out.same_wheels = false;
  }
  return out;
}

// Where the changes of the set lead nowhere, as in ruts under more than two axles: down the energy from all wheels held, to its first rest.
std::optional<Vec3> Springs::by_energy() const {
  constexpr int kMostSteps = 100;
  const double next_to_nothing = 0.01 * demand_[0];   // 100 rad under the weight at 1 m
  Wheels all;
  all.set();
  Vec3 w = held(all, 0).value_or(Vec3{});
  for (int step = 0; step < kMostSteps; ++step) {
    const Vec3 press = uncarried(w);
    Square3 stiff{};
    for (std::size_t i = 0; i < support_.size(); ++i) {
      if (pressed(i, w) > 0) add(i, stiff);
    }
    const auto turned = [&](double by) {
      Square3 m = stiff;
      m[0][0] += std::max(by, 0.0);
      m[1][1] += by;
      m[2][2] += by;
      return solve(m, press);
    };
    auto way = turned(-lever_);
    const bool holds = way.has_value();
    if (!holds) way = turned(next_to_nothing);
    if (!way) return std::nullopt;
    if (!(dot(press, *way) > 0)) return holds ? std::optional(w) : std::nullopt;
    const Way found = first_rest(w, *way, press, stiff);
    if (std::isinf(found.length)) return std::nullopt;
    for (std::size_t r = 0; r < 3; ++r) w[r] += found.length * (*way)[r];
    if (holds && found.same_wheels) return w;
  }
  return std::nullopt;
}

}  // namespace

std::optional<Lean> stand_body(std::span<const Support> supports, const Demand& demand, double lever, std::span<const double> lower_m, std::span<double> load_n) {
  HARDPAN_ASSERT(supports.size() <= kMostWheels && lower_m.size() == supports.size() && load_n.size() == supports.size());
  if (!(demand.load > 0)) return std::nullopt;
  const Springs springs(supports, demand, lever, lower_m);
  auto w = springs.by_wheels();
  if (!w) w = springs.by_energy();
  if (!w) return std::nullopt;
  for (std::size_t i = 0; i < supports.size(); ++i) load_n[i] = springs.load(i, *w);
  return Lean{(*w)[1], (*w)[2]};
}

}  // namespace hardpan::performance::detail
