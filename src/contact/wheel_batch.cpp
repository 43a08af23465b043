// SPDX-License-Identifier: Apache-2.0
// Many wheels at once: the kernel text over vectors of wheels, chosen at run time for the processor.
//
// Wheels that need the same kernel and rule are solved side by side, one a lane. A lane never sees the
// others: what it iterates depends on its own numbers only, so that the answer is the same bits for every
// batch size and order. Lanes the vector path does not settle (no root, root above kKnownUpTo, a curve
// of unknown shape, a load beyond the table) are handed to the plain path one by one.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "base/assertion.hpp"
#include "contact/detail/answer.hpp"
#include "contact/detail/load_curve.hpp"

#undef HWY_TARGET_INCLUDE
#define HWY_TARGET_INCLUDE "contact/wheel_batch.cpp"
// Below AVX2 vectors gain nothing over the plain path.
#define HWY_DISABLED_TARGETS (HWY_SSSE3 | HWY_SSE4 | HWY_AVX3_DL)
#include <hwy/foreach_target.h>
#include <hwy/highway.h>
#include <hwy/contrib/math/math-inl.h>

#ifndef HARDPAN_WHEEL_BATCH_ONCE
#define HARDPAN_WHEEL_BATCH_ONCE
namespace hardpan::contact {

// Frame<double> as a row of numbers, to be turned into lanes.
inline constexpr std::size_t kFrameNumbers = sizeof(detail::Frame<double>) / sizeof(double);

struct Item {
  detail::LoadCurve curve;
  double load_n = 0;
  double guess = 0;  // angle of the undeflected wheel
};
// What the vector path found; settled false: not by this path.
struct Found {
  bool settled = false;
  double undeflected = 0, residual_n = 0;
  detail::Sums<double> sums{};
  detail::Contour<double> contour{};
  int evaluations = 0;
};
// Wheels that share a kernel: same plan, same rule.
struct Group {
  const Item* items;
  const std::uint16_t* order;  // indices into items and found
  std::size_t count;
  int nodes;
  bool cold;
  Found* found;
};

}  // namespace hardpan::contact
#endif

HWY_BEFORE_NAMESPACE();
namespace hardpan::contact::HWY_NAMESPACE {

namespace hn = hwy::HWY_NAMESPACE;
using Tag = hn::ScalableTag<double>;
using Vector = hn::Vec<Tag>;
using LaneMask = hn::Mask<Tag>;

struct Mask {
  LaneMask m;
};
struct Batch {
  Vector v;
  Batch() = default;
  HWY_INLINE Batch(double x) : v(hn::Set(Tag(), x)) {}  // NOLINT: a constant is a batch
  HWY_INLINE explicit Batch(Vector x) : v(x) {}
};
HWY_INLINE Batch operator+(const Batch& a, const Batch& b) { return Batch(hn::Add(a.v, b.v)); }
HWY_INLINE Batch operator-(const Batch& a, const Batch& b) { return Batch(hn::Sub(a.v, b.v)); }
HWY_INLINE Batch operator-(const Batch& a) { return Batch(hn::Neg(a.v)); }
HWY_INLINE Batch operator*(const Batch& a, const Batch& b) { return Batch(hn::Mul(a.v, b.v)); }
HWY_INLINE Batch operator/(const Batch& a, const Batch& b) { return Batch(hn::Div(a.v, b.v)); }
HWY_INLINE Mask operator<(const Batch& a, const Batch& b) { return {hn::Lt(a.v, b.v)}; }
HWY_INLINE Mask operator>(const Batch& a, const Batch& b) { return {hn::Gt(a.v, b.v)}; }
HWY_INLINE Mask operator<=(const Batch& a, const Batch& b) { return {hn::Le(a.v, b.v)}; }
HWY_INLINE Mask operator>=(const Batch& a, const Batch& b) { return {hn::Ge(a.v, b.v)}; }
HWY_INLINE Batch exponential(const Batch& x) { return Batch(hn::Exp(Tag(), x.v)); }
HWY_INLINE Batch logarithm(const Batch& x) { return Batch(hn::Log(Tag(), x.v)); }
HWY_INLINE Batch square_root(const Batch& x) { return Batch(hn::Sqrt(x.v)); }
HWY_INLINE Batch arc_tangent(const Batch& x) { return Batch(hn::Atan(Tag(), x.v)); }
HWY_INLINE Batch smaller(const Batch& a, const Batch& b) { return Batch(hn::Min(a.v, b.v)); }
HWY_INLINE Batch larger(const Batch& a, const Batch& b) { return Batch(hn::Max(a.v, b.v)); }
HWY_INLINE Batch magnitude(const Batch& a) { return Batch(hn::Abs(a.v)); }
HWY_INLINE Batch multiply_add(const Batch& a, const Batch& b, const Batch& c) { return Batch(hn::MulAdd(a.v, b.v, c.v)); }
HWY_INLINE Batch choose(const Mask& first, const Batch& a, const Batch& b) {
  return Batch(hn::IfThenElse(first.m, a.v, b.v));
}
HWY_INLINE Batch with_sign_of(const Batch& size, const Batch& sign) { return Batch(hn::CopySign(size.v, sign.v)); }
HWY_INLINE Mask both(const Mask& a, const Mask& b) { return {hn::And(a.m, b.m)}; }
HWY_INLINE bool any_positive(const Batch& a) { return !hn::AllFalse(Tag(), hn::Gt(a.v, hn::Zero(Tag()))); }

using detail::Contour;
using detail::Direction;
using detail::Frame;
using detail::Plan;
using detail::Rule;
using detail::Sums;

#define HARDPAN_KERNEL HWY_INLINE
#include "contact/detail/wheel_kernel.ipp"
#undef HARDPAN_KERNEL

HWY_INLINE bool all(const Mask& m) { return hn::AllTrue(Tag(), m.m); }
HWY_INLINE Mask either(const Mask& a, const Mask& b) { return {hn::Or(a.m, b.m)}; }

constexpr int kMostRounds = 8;

// One wheel a lane.
template <Direction kDirection, bool kSwitches>
void solve_pack(const Group& group, std::size_t first) {
  const Tag tag;
  const std::size_t lanes = hn::Lanes(tag);
  constexpr std::size_t kMostLanes = HWY_MAX_BYTES / sizeof(double);
  HWY_ALIGN double rows[kFrameNumbers + 4][kMostLanes];
  std::array<std::uint16_t, kMostLanes> which{};
  for (std::size_t lane = 0; lane < lanes; ++lane) {
    which[lane] = group.order[std::min(first + lane, group.count - 1)];  // spare lanes repeat the last wheel
    const Item& item = group.items[which[lane]];
    const auto* numbers = reinterpret_cast<const double*>(&item.curve.frame);
    for (std::size_t i = 0; i < kFrameNumbers; ++i) rows[i][lane] = numbers[i];
    rows[kFrameNumbers][lane] = item.load_n / item.curve.width_m;
    rows[kFrameNumbers + 1][lane] = item.curve.largest_angle;
    rows[kFrameNumbers + 2][lane] = item.guess;
  }
  Frame<Batch> frame;
  auto* numbers = reinterpret_cast<Batch*>(&frame);
  static_assert(sizeof(frame) == kFrameNumbers * sizeof(Batch));
  for (std::size_t i = 0; i < kFrameNumbers; ++i) numbers[i] = Batch(hn::Load(tag, rows[i]));
  const Batch load(hn::Load(tag, rows[kFrameNumbers])), end(hn::Load(tag, rows[kFrameNumbers + 1]));
  const Plan& plan = group.items[which[0]].curve.plan;
  const Rule& full = detail::rule_for(group.nodes);
  const Rule& coarse = detail::rule_for(group.nodes / 4 * 2 + 2);

  // Newton in ln load over ln angle. A lane stands still once it took a step from within 3e-5 of the load.
  Batch t = smaller(Batch(hn::Load(tag, rows[kFrameNumbers + 2])), Batch(0.95) * end);
  const Mask none = t < t;
  Mask stands = none;
  Batch evaluations(1.0);  // of each lane by itself
  const auto step_from = [&](const Rule& rule, bool rough) {
    const auto at = sums_over_arc<kDirection, kSwitches, false>(frame, plan, Rate<Batch>{t, Batch(1.0)}, rule);
    const Rate<Batch> carried = at.radius * at.load;
    const Mask rising = both(carried.v > Batch(0.0), carried.d > Batch(0.0));
    const Batch miss = carried.v / load - Batch(1.0);
    const Batch step = logarithm(load / larger(carried.v, Batch(1e-300))) * carried.v / (t * carried.d);
    const Batch held = larger(smaller(choose(rising, step, Batch(0.7)), Batch(1.5)), Batch(-1.5));
    t = choose(stands, t, smaller(t * exponential(held), end));
    evaluations = choose(stands, evaluations, evaluations + Batch(1.0));
    if (!rough) stands = either(stands, both(rising, magnitude(miss) < Batch(3e-5)));
  };
  for (int round = 0; round < kMostRounds && !all(stands); ++round) {
    const bool rough = round == 0 && group.cold;
    step_from(rough ? coarse : full, rough);
  }
  const Mask arrived = stands;
  Sums<Batch> sums = sums_over_arc<kDirection, kSwitches, true>(frame, plan, t, full);
  Batch left = sums.radius * sums.load - load;
  Mask settled = magnitude(left) <= Batch(detail::kLoadTolerance) * load;
  for (int again = 0; again < 2 && !all(settled); ++again) {
    stands = settled;
    step_from(full, false);
    const Sums<Batch> better = sums_over_arc<kDirection, kSwitches, true>(frame, plan, t, full);
    const auto take = [&](Batch& old, const Batch& fresh) { old = choose(settled, old, fresh); };
    take(sums.load, better.load);
    take(sums.pull, better.pull);
    take(sums.shear, better.shear);
    take(sums.side, better.side);
    take(sums.against, better.against);
    take(sums.radius, better.radius);
    take(sums.entry, better.entry);
    take(sums.exit, better.exit);
    take(sums.peak, better.peak);
    take(left, better.radius * better.load - load);
    settled = magnitude(left) <= Batch(detail::kLoadTolerance) * load;
  }
  settled = both(settled, arrived);
  Mask good = both(settled, both(t <= Batch(detail::kKnownUpTo), sums.entry <= Batch(detail::kKnownUpTo)));

  if (plan.shape == detail::Shape::bounded) {
    // No smaller root: see alone() in load_curve.cpp.
    const Batch against = -(sums.radius * sums.against);
    const Batch start = t * load / (load + against);
    const Batch reach = Batch(detail::kNearShare) * (t - start);
    const Mask nothing = against < Batch(1e-8) * load;
    for (int i = 1; i <= detail::kNearPoints; ++i) {
      const Batch place = multiply_add(reach, Batch(i / static_cast<double>(detail::kNearPoints)), start);
      const auto at = sums_over_arc<kDirection, kSwitches, false>(frame, plan, place, full);
      evaluations = evaluations + Batch(1.0);
      good = both(good, either(nothing, at.radius * at.load < load));
    }
  }

  const Contour<Batch> contour = contour_of(frame, plan, t);
  constexpr std::size_t kOut = 17;
  HWY_ALIGN double out[kOut][kMostLanes];
  const Batch numbers_out[] = {t,           left,         sums.load,  sums.pull,     sums.shear,
                               sums.side,   sums.against, sums.radius, sums.entry,   sums.exit,
                               sums.peak,   contour.depth, contour.contact_length,   contour.largest_pressure,
                               contour.largest_travel, choose(good, Batch(1.0), Batch(0.0)), evaluations};
  for (std::size_t i = 0; i < kOut; ++i) hn::Store(numbers_out[i].v, tag, out[i]);
  for (std::size_t lane = 0; lane < lanes && first + lane < group.count; ++lane) {
    Found& found = group.found[which[lane]];
    found.settled = out[15][lane] == 1.0;
    found.undeflected = out[0][lane];
    found.residual_n = out[1][lane] * group.items[which[lane]].curve.width_m;
    found.sums = {out[2][lane], out[3][lane], out[4][lane], out[5][lane], out[6][lane],
                  out[7][lane], out[8][lane], out[9][lane], out[10][lane]};
    found.contour = {out[11][lane], out[12][lane], out[13][lane], out[14][lane]};
    found.evaluations = static_cast<int>(out[16][lane]);
  }
}

template <Direction kDirection>
void solve_direction(const Group& group) {
  const std::size_t lanes = hn::Lanes(Tag());
  const bool switches = group.items[group.order[0]].curve.plan.switches;
  for (std::size_t first = 0; first < group.count; first += lanes) {
    if (switches) solve_pack<kDirection, true>(group, first);
    else solve_pack<kDirection, false>(group, first);
  }
}

void solve_group(const Group& group) {
  switch (group.items[group.order[0]].curve.plan.direction) {
    case Direction::forward: return solve_direction<Direction::forward>(group);
    case Direction::reversing: return solve_direction<Direction::reversing>(group);
    case Direction::oblique: return solve_direction<Direction::oblique>(group);
    case Direction::sliding: return;  // stays unsettled
  }
}

// First guesses of a run of wheels of one kind, flexible or not.
void guess_group(Item* items, const std::uint16_t* order, std::size_t count, bool flexible) {
  const Tag tag;
  const std::size_t lanes = hn::Lanes(tag);
  constexpr std::size_t kMostLanes = HWY_MAX_BYTES / sizeof(double);
  HWY_ALIGN double rows[8][kMostLanes];
  Plan plan;
  plan.flexible = flexible;
  for (std::size_t first = 0; first < count; first += lanes) {
    for (std::size_t lane = 0; lane < lanes; ++lane) {
      const Item& item = items[order[std::min(first + lane, count - 1)]];
      const Frame<double>& f = item.curve.frame;
      const double numbers[8] = {f.radius, f.deflection, f.k, f.n, f.quadratic, f.peak_ratio, f.exit_ratio,
                                 item.load_n / item.curve.width_m};
      for (std::size_t i = 0; i < 8; ++i) rows[i][lane] = numbers[i];
    }
    Frame<Batch> frame;
    frame.radius = Batch(hn::Load(tag, rows[0]));
    frame.deflection = Batch(hn::Load(tag, rows[1]));
    frame.k = Batch(hn::Load(tag, rows[2]));
    frame.n = Batch(hn::Load(tag, rows[3]));
    frame.quadratic = Batch(hn::Load(tag, rows[4]));
    frame.peak_ratio = Batch(hn::Load(tag, rows[5]));
    frame.exit_ratio = Batch(hn::Load(tag, rows[6]));
    HWY_ALIGN double out[kMostLanes];
    hn::Store(first_guess(frame, plan, Batch(hn::Load(tag, rows[7]))).v, tag, out);
    for (std::size_t lane = 0; lane < lanes && first + lane < count; ++lane) items[order[first + lane]].guess = out[lane];
  }
}

const char* target_name() { return hwy::TargetName(HWY_TARGET); }
bool worth_it() { return hn::Lanes(Tag()) >= 4; }

}  // namespace hardpan::contact::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace hardpan::contact {

HWY_EXPORT(solve_group);
HWY_EXPORT(guess_group);
HWY_EXPORT(target_name);
HWY_EXPORT(worth_it);

namespace {

bool vectors_help() {
  static const bool help = HWY_DYNAMIC_DISPATCH(worth_it)();
  return help;
}

constexpr std::size_t kBlock = 256;
constexpr std::size_t kKinds = 512;

// Wheels with the same number share a kernel and a rule.
std::size_t kind_of(const detail::Plan& plan, int nodes) {
  const auto direction = static_cast<std::size_t>(plan.direction);
  const auto rule = static_cast<std::size_t>((nodes - 12) / 2);  // 12 .. 28: 0 .. 8
  std::size_t kind = rule;
  kind = kind * 3 + std::min<std::size_t>(direction, 2);
  kind = kind * 2 + (plan.switches ? 1 : 0);
  kind = kind * 2 + (plan.flexible ? 1 : 0);
  kind = kind * 2 + (plan.exit_behind ? 1 : 0);
  return kind * 2 + (plan.shape == detail::Shape::rises ? 1 : 0);
}

struct Block {
  std::array<Item, kBlock> items;
  std::array<Found, kBlock> found;
  std::array<std::uint16_t, kBlock> order;
  std::array<std::uint16_t, kBlock> kinds;
};

// Solves items[0 .. count), all of a shape the vector path knows, in groups.
void solve_block(Block& block, std::size_t count, bool cold) {
  if (cold) {
    for (const bool flexible : {false, true}) {
      std::size_t n = 0;
      for (std::size_t i = 0; i < count; ++i) {
        if (block.items[i].curve.plan.flexible == flexible) block.order[n++] = static_cast<std::uint16_t>(i);
      }
      if (n > 0) HWY_DYNAMIC_DISPATCH(guess_group)(block.items.data(), block.order.data(), n, flexible);
    }
  }
  // Counting sort by kind keeps the order within a kind.
  std::array<std::uint16_t, kKinds + 1> start{};
  for (std::size_t i = 0; i < count; ++i) {
    const Item& item = block.items[i];
    const int nodes = detail::starting_rule_count(item.curve, item.guess);
    block.kinds[i] = static_cast<std::uint16_t>(kind_of(item.curve.plan, nodes));
    ++start[block.kinds[i] + 1U];
  }
  for (std::size_t k = 0; k < kKinds; ++k) start[k + 1] = static_cast<std::uint16_t>(start[k + 1] + start[k]);
  std::array<std::uint16_t, kKinds + 1> next = start;
  for (std::size_t i = 0; i < count; ++i) block.order[next[block.kinds[i]]++] = static_cast<std::uint16_t>(i);
  for (std::size_t k = 0; k < kKinds; ++k) {
    const std::size_t first = start[k], last = start[k + 1];
    if (first == last) continue;
    const int nodes = static_cast<int>(k / 48) * 2 + 12;
    const Group group{block.items.data(), block.order.data() + first, last - first, nodes, cold, block.found.data()};
    HWY_DYNAMIC_DISPATCH(solve_group)(group);
  }
}

}  // namespace

const char* simd_target_name(SimdTarget target) {
  if (target == SimdTarget::plain || !vectors_help()) return "plain";
  return HWY_DYNAMIC_DISPATCH(target_name)();
}

void wheels_at_load(std::span<const Contact> contacts, std::span<const double> load_n, std::span<const double> slip_ratio,
                    std::span<const double> slip_angle_rad, std::span<const double> guess_entry_angle_rad,
                    std::span<WheelAnswer> out, SimdTarget target) {
  const std::size_t total = contacts.size();
  HARDPAN_ASSERT(load_n.size() == total && slip_ratio.size() == total && slip_angle_rad.size() == total);
  HARDPAN_ASSERT(out.size() == total && (guess_entry_angle_rad.empty() || guess_entry_angle_rad.size() == total));
  const auto guess_of = [&](std::size_t i) { return guess_entry_angle_rad.empty() ? 0.0 : guess_entry_angle_rad[i]; };
  const auto plainly = [&](std::size_t i) {
    out[i] = wheel_at_load(contacts[i], load_n[i], slip_ratio[i], slip_angle_rad[i], guess_of(i));
  };
  if (target == SimdTarget::plain || !vectors_help()) {
    for (std::size_t i = 0; i < total; ++i) plainly(i);
    return;
  }

  static thread_local Block block;
  std::array<std::size_t, kBlock> source;
  // Cold and warm wheels go their own ways: a cold one starts with a coarse round.
  for (const bool cold : {true, false}) {
    std::size_t i = 0;
    while (i < total) {
      std::size_t count = 0;
      for (; i < total && count < kBlock; ++i) {
        if ((guess_of(i) > 0) == cold) continue;
        detail::assert_state(load_n[i], slip_ratio[i], slip_angle_rad[i]);
        const std::optional<double> deflection = detail::carcass_deflection_m(contacts[i], load_n[i]);
        if (!deflection) {
          plainly(i);
          continue;
        }
        Item& item = block.items[count];
        item.curve = detail::make_curve(contacts[i], slip_ratio[i], slip_angle_rad[i], *deflection);
        if (item.curve.plan.shape == detail::Shape::unknown) {
          plainly(i);
          continue;
        }
        item.load_n = load_n[i];
        item.guess = guess_of(i);
        source[count++] = i;
      }
      if (count == 0) continue;
      solve_block(block, count, cold);
      for (std::size_t k = 0; k < count; ++k) {
        const std::size_t at = source[k];
        const Found& found = block.found[k];
        const Item& item = block.items[k];
        if (!found.settled ||
            detail::rule_count(item.curve, found.undeflected) > static_cast<int>(block.kinds[k] / 48) * 2 + 12) {
          plainly(at);
          continue;
        }
        detail::Root root;
        root.undeflected = found.undeflected;
        root.sums = found.sums;
        root.report = {.status = base::SolveStatus::converged,
                       .residual = found.residual_n,
                       .tolerance = detail::kLoadTolerance * item.load_n,
                       .residual_unit = "N",
                       .steps = found.evaluations,
                       .evaluations = found.evaluations};
        WheelAnswer answer = detail::started_answer(item.load_n, slip_ratio[at], slip_angle_rad[at]);
        detail::conclude(contacts[at], item.curve, root, found.contour, slip_angle_rad[at], answer);
        if (detail::needs_second_look(contacts[at], answer)) detail::look_again(contacts[at], slip_angle_rad[at], answer);
        out[at] = answer;
      }
    }
  }
}

}  // namespace hardpan::contact
#endif
