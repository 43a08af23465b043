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
#include <string_view>

#include "base/assertion.hpp"
#include "contact/detail/answer.hpp"
#include "contact/detail/load_curve.hpp"
#include "contact/detail/vector_functions.hpp"

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
  bool soil_yields_first = false;
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

// The baseline target is compiled as well; there the plain path works and no kernel is needed.
#undef HARDPAN_VECTORS
#define HARDPAN_VECTORS (HWY_TARGET & (HWY_AVX2 | HWY_AVX3))

HWY_BEFORE_NAMESPACE();
namespace hardpan::contact::HWY_NAMESPACE {

#if HARDPAN_VECTORS
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

// exp and log with what the wheel needs of them and no more: half the operations of the library's. Errors
// measured by WheelBatch.VectorFunctionsKeepTheirAccuracy: exp 1.2e-14 relative on [-700, 700], log 4e-16 of the
// larger of 1 and |log| on normal positive numbers.
//
// exp(x) = 2^k exp(x - k ln 2): adding 1.5 x 2^52 rounds x / ln 2 to the integer k in the low bits, from where a
// shift puts it into the exponent. Series to the 11th power on |x| <= ln 2 / 2. Arguments below -700 count as
// -700 (1e-304).
HWY_INLINE Batch exponential(const Batch& x) {
  const Tag tag;
  const hn::RebindToUnsigned<Tag> bits;
  const Vector magic = hn::Set(tag, 6755399441055744.0);
  const Vector held = hn::Max(x.v, hn::Set(tag, -700.0));
  const Vector shifted = hn::MulAdd(held, hn::Set(tag, 1.4426950408889634), magic);
  const Vector k = hn::Sub(shifted, magic);
  Vector r = hn::NegMulAdd(k, hn::Set(tag, 6.93147180369123816490e-01), held);  // ln 2 in two parts
  r = hn::NegMulAdd(k, hn::Set(tag, 1.90821492927058770002e-10), r);
  const Vector r2 = hn::Mul(r, r), r4 = hn::Mul(r2, r2);
  const auto pair = [&](double a, double b) { return hn::MulAdd(r, hn::Set(tag, b), hn::Set(tag, a)); };
  const Vector low = hn::MulAdd(r2, pair(1.0 / 2, 1.0 / 6), pair(1.0, 1.0));
  const Vector middle = hn::MulAdd(r2, pair(1.0 / 720, 1.0 / 5040), pair(1.0 / 24, 1.0 / 120));
  const Vector high = hn::MulAdd(r2, pair(1.0 / 3628800, 1.0 / 39916800), pair(1.0 / 40320, 1.0 / 362880));
  const Vector series = hn::MulAdd(r4, hn::MulAdd(r4, high, middle), low);
  const auto exponent = hn::ShiftLeft<52>(hn::BitCast(bits, shifted));
  return Batch(hn::BitCast(tag, hn::Add(hn::BitCast(bits, series), exponent)));
}
// log(m 2^k) = k ln 2 + 2 atanh((m - 1) / (m + 1)) with m in [sqrt(1/2), sqrt(2)).
HWY_INLINE Batch logarithm(const Batch& x) {
  const Tag tag;
  const hn::RebindToUnsigned<Tag> bits;
  const auto raw = hn::BitCast(bits, x.v);
  // bits of 1 less bits of sqrt(1/2): brings [sqrt(1/2), sqrt(2)) under one exponent.
  const auto biased = hn::ShiftRight<52>(hn::Add(raw, hn::Set(bits, 0x3ff0000000000000ULL - 0x3fe6a09e667f3bcdULL)));
  const auto less = hn::ShiftLeft<52>(hn::Sub(biased, hn::Set(bits, 1023ULL)));
  const Vector m = hn::BitCast(tag, hn::Sub(raw, less));
  const Vector k = hn::Sub(hn::BitCast(tag, hn::Or(biased, hn::Set(bits, 0x4330000000000000ULL))),
                           hn::Set(tag, 4503599627370496.0 + 1023.0));
  const Vector one = hn::Set(tag, 1.0);
  const Vector s = hn::Div(hn::Sub(m, one), hn::Add(m, one)), s2 = hn::Mul(s, s), s4 = hn::Mul(s2, s2);
  const auto pair = [&](double a, double b) { return hn::MulAdd(s2, hn::Set(tag, b), hn::Set(tag, a)); };
  const Vector low = hn::MulAdd(s4, pair(2.0 / 7, 2.0 / 9), pair(2.0 / 3, 2.0 / 5));
  const Vector high = hn::MulAdd(s4, hn::Set(tag, 2.0 / 19), pair(2.0 / 15, 2.0 / 17));
  const Vector middle = pair(2.0 / 11, 2.0 / 13);
  const Vector s8 = hn::Mul(s4, s4);
  const Vector series = hn::MulAdd(s8, hn::MulAdd(s4, high, middle), low);
  const Vector odd = hn::MulAdd(hn::Mul(s, s2), series, hn::Add(s, s));
  return Batch(hn::MulAdd(k, hn::Set(tag, 0.69314718055994530942), odd));
}
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
#define HARDPAN_SHALLOW
#include "contact/detail/wheel_kernel.ipp"
#undef HARDPAN_KERNEL
#undef HARDPAN_SHALLOW

HWY_INLINE bool all(const Mask& m) { return hn::AllTrue(Tag(), m.m); }
HWY_INLINE Mask either(const Mask& a, const Mask& b) { return {hn::Or(a.m, b.m)}; }

constexpr int kMostRounds = 8;

// The three shapes in which the kernel is used, each compiled once a direction.
struct Kernel {
  Sums<Rate<Batch>> (*load_and_rate)(const Frame<Batch>&, const Plan&, const Batch&, const Rule&);
  Batch (*load)(const Frame<Batch>&, const Plan&, const Batch&, const Rule&);
  Sums<Batch> (*sums)(const Frame<Batch>&, const Plan&, const Batch&, const Rule&);
  Batch (*rigid_load)(const Frame<Batch>&, const Plan&, const Batch&);
};
template <Direction kDirection>
HWY_NOINLINE Sums<Rate<Batch>> load_and_rate(const Frame<Batch>& frame, const Plan& plan, const Batch& t, const Rule& rule) {
  return sums_over_arc<kDirection, true, false>(frame, plan, Rate<Batch>{t, Batch(1.0)}, rule);
}
template <Direction kDirection>
HWY_NOINLINE Batch load_alone(const Frame<Batch>& frame, const Plan& plan, const Batch& t, const Rule& rule) {
  const Sums<Batch> sums = sums_over_arc<kDirection, true, false>(frame, plan, t, rule);
  return sums.radius * sums.load;
}
template <Direction kDirection>
HWY_NOINLINE Sums<Batch> all_sums(const Frame<Batch>& frame, const Plan& plan, const Batch& t, const Rule& rule) {
  return sums_over_arc<kDirection, true, true>(frame, plan, t, rule);
}
template <Direction kDirection>
HWY_NOINLINE Batch rigid_load(const Frame<Batch>& frame, const Plan& plan, const Batch& load_per_width) {
  return rigid_load_at_firm_pressure<kDirection>(frame, plan, load_per_width, detail::rule_for(detail::kYieldNodes));
}
template <Direction kDirection>
constexpr Kernel kernel_of() {
  return {load_and_rate<kDirection>, load_alone<kDirection>, all_sums<kDirection>, rigid_load<kDirection>};
}

// One wheel a lane.
void solve_pack(const Group& group, std::size_t first, const Kernel& kernel) {
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
    const auto at = kernel.load_and_rate(frame, plan, t, rule);
    const Rate<Batch> carried = at.radius * at.load;
    const Mask rising = both(carried.v > Batch(0.0), carried.d > Batch(0.0));
    const Batch miss = carried.v / load - Batch(1.0);
    const Batch step = logarithm(load / larger(carried.v, Batch(1e-300))) * carried.v / (t * carried.d);
    const Batch held = larger(smaller(choose(rising, step, Batch(0.7)), Batch(1.5)), Batch(-1.5));
    t = choose(stands, t, smaller(t * exponential(held), end));
    evaluations = choose(stands, evaluations, evaluations + Batch(1.0));
    if (!rough) stands = either(stands, both(rising, magnitude(miss) < Batch(3e-5)));
  };
  if (group.cold) {
    // The guess knows no friction: one look with few nodes and the slope of the power law brings it near.
    const Batch carried = kernel.load(frame, plan, t, detail::rule_for(4));
    const Batch wanted = logarithm(load / larger(carried, Batch(1e-300))) / (frame.n + frame.n + Batch(1.2));
    t = smaller(t * exponential(larger(smaller(wanted, Batch(0.7)), Batch(-0.7))), end);
    evaluations = evaluations + Batch(1.0);
  }
  for (int round = 0; round < kMostRounds && !all(stands); ++round) {
    const bool rough = round == 0;
    step_from(rough ? coarse : full, rough);
  }
  const Mask arrived = stands;
  Sums<Batch> sums = kernel.sums(frame, plan, t, full);
  Batch left = sums.radius * sums.load - load;
  Mask settled = magnitude(left) <= Batch(detail::kLoadTolerance) * load;
  for (int again = 0; again < 2 && !all(settled); ++again) {
    stands = settled;
    step_from(full, false);
    const Sums<Batch> better = kernel.sums(frame, plan, t, full);
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
    // No smaller root: see alone() in load_curve.cpp. The coarse rule says so by a margin; where it does not
    // the full one decides.
    const Batch against = -(sums.radius * sums.against);
    const Batch start = t * load / (load + against);
    const Batch reach = Batch(detail::kNearShare) * (t - start);
    const Mask nothing = against < Batch(1e-8) * load;
    for (int i = 1; i <= detail::kNearPoints; ++i) {
      const Batch place = multiply_add(reach, Batch(i / static_cast<double>(detail::kNearPoints)), start);
      Mask below = either(nothing, kernel.load(frame, plan, place, coarse) < Batch(0.999) * load);
      if (!all(below)) below = either(below, kernel.load(frame, plan, place, full) < load);
      good = both(good, below);
      evaluations = evaluations + Batch(1.0);
    }
  }
  Batch yields(0.0);
  if (plan.flexible) {
    const Batch rigid = kernel.rigid_load(frame, plan, load);
    yields = choose(either(rigid > load, frame.deflection <= Batch(0.0)), Batch(1.0), Batch(0.0));
  }

  const Contour<Batch> contour = contour_of(frame, plan, t, detail::rule_for(detail::kWallNodes));
  constexpr std::size_t kOut = 19;
  HWY_ALIGN double out[kOut][kMostLanes];
  const Batch numbers_out[] = {t,           left,         sums.load,  sums.pull,     sums.shear,
                               sums.side,   sums.against, sums.radius, sums.entry,   sums.exit,
                               sums.peak,   contour.depth, contour.contact_length,   contour.largest_pressure,
                               contour.largest_travel, choose(good, Batch(1.0), Batch(0.0)), evaluations,
                               yields,      contour.side_wall};
  for (std::size_t i = 0; i < kOut; ++i) hn::Store(numbers_out[i].v, tag, out[i]);
  for (std::size_t lane = 0; lane < lanes && first + lane < group.count; ++lane) {
    Found& found = group.found[which[lane]];
    found.settled = out[15][lane] == 1.0;
    found.undeflected = out[0][lane];
    found.residual_n = out[1][lane] * group.items[which[lane]].curve.width_m;
    found.sums = {out[2][lane], out[3][lane], out[4][lane], out[5][lane], out[6][lane],
                  out[7][lane], out[8][lane], out[9][lane], out[10][lane]};
    found.contour = {out[11][lane], out[12][lane], out[13][lane], out[14][lane], out[18][lane]};
    found.evaluations = static_cast<int>(out[16][lane]);
    found.soil_yields_first = out[17][lane] == 1.0;
  }
}

void solve_group(const Group& group) {
  Kernel kernel{};
  switch (group.items[group.order[0]].curve.plan.direction) {
    case Direction::forward: kernel = kernel_of<Direction::forward>(); break;
    case Direction::reversing: kernel = kernel_of<Direction::reversing>(); break;
    case Direction::oblique: kernel = kernel_of<Direction::oblique>(); break;
    case Direction::sliding: return;  // stays unsettled
  }
  for (std::size_t first = 0; first < group.count; first += hn::Lanes(Tag())) solve_pack(group, first, kernel);
}

// One wheel at many angles, one a lane.
void loads_of(const detail::LoadCurve& curve, const double* angles, std::size_t count, const Rule& rule, double* out) {
  const auto* from = reinterpret_cast<const double*>(&curve.frame);
  Frame<Batch> frame;
  auto* numbers = reinterpret_cast<Batch*>(&frame);
  for (std::size_t i = 0; i < kFrameNumbers; ++i) numbers[i] = Batch(from[i]);
  auto* load = curve.plan.direction == Direction::forward     ? &load_alone<Direction::forward>
               : curve.plan.direction == Direction::reversing ? &load_alone<Direction::reversing>
               : curve.plan.direction == Direction::sliding   ? &load_alone<Direction::sliding>  // knows no travel, saturating or not
                                                              : &load_alone<Direction::oblique>;
  const Tag tag;
  const std::size_t lanes = hn::Lanes(tag);
  HWY_ALIGN double row[HWY_MAX_BYTES / sizeof(double)];
  for (std::size_t first = 0; first < count; first += lanes) {
    for (std::size_t lane = 0; lane < lanes; ++lane) row[lane] = angles[std::min(first + lane, count - 1)];
    hn::Store(load(frame, curve.plan, Batch(hn::Load(tag, row)), rule).v, tag, row);
    for (std::size_t lane = 0; lane < lanes && first + lane < count; ++lane) out[first + lane] = curve.width_m * row[lane];
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

// f over a row of numbers, the last lanes padded with ones.
template <class F>
void over_row(const double* in, double* out, std::size_t count, F f) {
  const Tag tag;
  const std::size_t lanes = hn::Lanes(tag);
  HWY_ALIGN double row[HWY_MAX_BYTES / sizeof(double)];
  for (std::size_t first = 0; first < count; first += lanes) {
    for (std::size_t lane = 0; lane < lanes; ++lane) row[lane] = first + lane < count ? in[first + lane] : 1.0;
    hn::Store(f(Batch(hn::Load(tag, row))).v, tag, row);
    for (std::size_t lane = 0; lane < lanes && first + lane < count; ++lane) out[first + lane] = row[lane];
  }
}
void exponential_row(const double* in, double* out, std::size_t count) {
  over_row(in, out, count, [](const Batch& x) { return exponential(x); });
}
void logarithm_row(const double* in, double* out, std::size_t count) {
  over_row(in, out, count, [](const Batch& x) { return logarithm(x); });
}

bool worth_it() { return true; }
#else
void solve_group(const Group&) {}
void guess_group(Item*, const std::uint16_t*, std::size_t, bool) {}
void loads_of(const detail::LoadCurve&, const double*, std::size_t, const detail::Rule&, double*) {}
void exponential_row(const double* in, double* out, std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) out[i] = std::exp(std::max(in[i], -700.0));
}
void logarithm_row(const double* in, double* out, std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) out[i] = std::log(in[i]);
}
bool worth_it() { return false; }
#endif

const char* target_name() { return hwy::TargetName(HWY_TARGET); }

}  // namespace hardpan::contact::HWY_NAMESPACE
HWY_AFTER_NAMESPACE();

#if HWY_ONCE
namespace hardpan::contact {

HWY_EXPORT(solve_group);
HWY_EXPORT(guess_group);
HWY_EXPORT(loads_of);
HWY_EXPORT(exponential_row);
HWY_EXPORT(logarithm_row);
HWY_EXPORT(target_name);
HWY_EXPORT(worth_it);

namespace {

bool vectors_help() {
  static const bool help = HWY_DYNAMIC_DISPATCH(worth_it)();
  return help;
}

constexpr std::size_t kBlock = 256;
constexpr std::size_t kKinds = 2048;
constexpr std::size_t kKindsARule = 192;  // 3 directions x 2^6

// Wheels with the same number share a kernel and a rule.
std::size_t kind_of(const Item& item, int nodes) {
  const detail::Plan& plan = item.curve.plan;
  const auto direction = static_cast<std::size_t>(plan.direction);
  const auto rule = static_cast<std::size_t>((nodes - 12) / 2);  // 12 .. 28: 0 .. 8
  std::size_t kind = rule;
  kind = kind * 3 + std::min<std::size_t>(direction, 2);
  kind = kind * 2 + (plan.switches ? 1 : 0);
  kind = kind * 2 + (plan.flexible ? 1 : 0);
  kind = kind * 2 + (plan.exit_behind ? 1 : 0);
  kind = kind * 2 + (plan.breaks ? 1 : 0);
  kind = kind * 2 + (plan.shape == detail::Shape::rises ? 1 : 0);
  // Braked wheels whose travel turns back take twice the pieces: they keep to themselves.
  return kind * 2 + (item.curve.frame.reversal < 1.1 * item.guess ? 1 : 0);
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
    block.kinds[i] = static_cast<std::uint16_t>(kind_of(item, nodes));
    ++start[block.kinds[i] + 1U];
  }
  for (std::size_t k = 0; k < kKinds; ++k) start[k + 1] = static_cast<std::uint16_t>(start[k + 1] + start[k]);
  std::array<std::uint16_t, kKinds + 1> next = start;
  for (std::size_t i = 0; i < count; ++i) block.order[next[block.kinds[i]]++] = static_cast<std::uint16_t>(i);
  for (std::size_t k = 0; k < kKinds; ++k) {
    const std::size_t first = start[k], last = start[k + 1];
    if (first == last) continue;
    const int nodes = static_cast<int>(k / kKindsARule) * 2 + 12;
    const Group group{block.items.data(), block.order.data() + first, last - first, nodes, cold, block.found.data()};
    HWY_DYNAMIC_DISPATCH(solve_group)(group);
  }
}

}  // namespace

void detail::vector_exponential(std::span<const double> in, std::span<double> out) {
  HARDPAN_ASSERT(in.size() == out.size());
  HWY_DYNAMIC_DISPATCH(exponential_row)(in.data(), out.data(), in.size());
}
void detail::vector_logarithm(std::span<const double> in, std::span<double> out) {
  HARDPAN_ASSERT(in.size() == out.size());
  HWY_DYNAMIC_DISPATCH(logarithm_row)(in.data(), out.data(), in.size());
}

bool detail::vector_loads(const LoadCurve& curve, std::span<const double> undeflected, const Rule& rule, std::span<double> load_n) {
  HARDPAN_ASSERT(undeflected.size() == load_n.size());
  if (!vectors_help() || !(curve.plan.saturating || curve.plan.direction == Direction::sliding)) return false;
  HWY_DYNAMIC_DISPATCH(loads_of)(curve, undeflected.data(), undeflected.size(), rule, load_n.data());
  return true;
}

const char* simd_target_name(SimdTarget target) {
  if (target == SimdTarget::plain || !vectors_help()) return "plain";
  const std::string_view vectors = HWY_DYNAMIC_DISPATCH(target_name)();
  return vectors == "AVX3" ? "AVX-512" : vectors.data();  // the library's own name for them is not the processor's
}

void wheels_at_load(std::span<const Contact> contacts, std::span<const double> load_n, std::span<const double> slip_ratio,
                    std::span<const double> slip_angle_rad, std::span<const double> guess_entry_angle_rad,
                    std::span<WheelAnswer> out, SimdTarget target) {
  const std::size_t total = contacts.size();
  HARDPAN_ASSERT(load_n.size() == total && slip_ratio.size() == total && slip_angle_rad.size() == total);
  HARDPAN_ASSERT(out.size() == total && (guess_entry_angle_rad.empty() || guess_entry_angle_rad.size() == total));
  const auto guess_of = [&](std::size_t i) { return guess_entry_angle_rad.empty() ? 0.0 : guess_entry_angle_rad[i]; };
  const auto plainly = [&](std::size_t i, double guess) {
    out[i] = detail::searched_wheel(contacts[i], load_n[i], slip_ratio[i], slip_angle_rad[i], guess, target);
  };
  if (target == SimdTarget::plain || !vectors_help()) {
    for (std::size_t i = 0; i < total; ++i) plainly(i, guess_of(i));
    return;
  }

  static thread_local Block block;
  std::array<std::size_t, kBlock> source;
  // Cold and warm wheels go their own ways: a cold one gets a guess and a first look.
  for (const bool cold : {true, false}) {
    std::size_t i = 0;
    while (i < total) {
      std::size_t count = 0;
      for (; i < total && count < kBlock; ++i) {
        if ((guess_of(i) > 0) == cold) continue;
        detail::assert_state(load_n[i], slip_ratio[i], slip_angle_rad[i]);
        const std::optional<double> deflection = detail::carcass_deflection_m(contacts[i], load_n[i]);
        if (!deflection) {
          plainly(i, guess_of(i));
          continue;
        }
        Item& item = block.items[count];
        item.curve = detail::make_curve(contacts[i], slip_ratio[i], slip_angle_rad[i], *deflection);
        if (item.curve.plan.shape == detail::Shape::unknown) {
          plainly(i, guess_of(i));
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
            detail::rule_count(item.curve, found.undeflected) > static_cast<int>(block.kinds[k] / kKindsARule) * 2 + 12) {
          // Most are good roots that lie too deep to be known as the smallest: they need the scan below alone.
          const bool root = std::fabs(found.residual_n) <= 1e-6 * item.load_n;
          plainly(at, root ? found.undeflected : 0);
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
        if (found.soil_yields_first) answer.flags |= Flag::soil_yields_before_carcass;
        if (detail::on_hard_ground(contacts[at], answer)) detail::treat_hard_ground(contacts[at], slip_angle_rad[at], answer);
        out[at] = answer;
      }
    }
  }
}

}  // namespace hardpan::contact
#endif
