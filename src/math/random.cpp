// SPDX-License-Identifier: Apache-2.0
// [Salmon2011] J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, Parallel random numbers: as easy
// as 1, 2, 3, SC11, 2011. Normal, chi-square and gamma numbers by inverse distribution function,
// so that one index gives one number and the result does not depend on a standard library.
#include "math/random.hpp"

#include <Random123/philox.h>

#include "base/assertion.hpp"
#include "math/statistics.hpp"

namespace hardpan::math {
namespace {

struct Block {
  std::uint64_t low = 0;
  std::uint64_t high = 0;
};

Block block(std::uint64_t seed, std::uint64_t stream, std::uint64_t number) {
  const auto word = [](std::uint64_t x, int shift) { return static_cast<std::uint32_t>(x >> shift); };
  const auto out = philox_block({word(number, 0), word(number, 32), word(stream, 0), word(stream, 32)},
                              {word(seed, 0), word(seed, 32)});
  return {out[0] | (std::uint64_t{out[1]} << 32), out[2] | (std::uint64_t{out[3]} << 32)};
}

// 52 bits and a half: exact in double, symmetric about 1/2, never 0 or 1.
double open_unit(std::uint64_t bits) { return (static_cast<double>(bits >> 12) + 0.5) * 0x1p-52; }

}  // namespace

std::array<std::uint32_t, 4> philox_block(const std::array<std::uint32_t, 4>& counter,
                                        const std::array<std::uint32_t, 2>& key) {
  r123::Philox4x32 generator;
  const r123::Philox4x32::ctr_type c = {{counter[0], counter[1], counter[2], counter[3]}};
  const r123::Philox4x32::key_type k = {{key[0], key[1]}};
  const r123::Philox4x32::ctr_type out = generator(c, k);
  return {out[0], out[1], out[2], out[3]};
}

std::uint64_t Stream::bits(std::uint64_t index) const {
  const Block b = block(seed_, stream_, index / 2);
  return index % 2 == 0 ? b.low : b.high;
}

double Stream::uniform(std::uint64_t index) const { return open_unit(bits(index)); }

double Stream::normal(std::uint64_t index) const { return normal_quantile(uniform(index)); }

double Stream::chi_square(std::uint64_t index, double degrees_of_freedom) const {
  return chi_square_quantile(uniform(index), degrees_of_freedom);
}

double Stream::gamma(std::uint64_t index, double shape, double scale) const {
  HARDPAN_ASSERT(shape > 0 && scale > 0);
  return 0.5 * scale * chi_square_quantile(uniform(index), 2 * shape);
}

std::uint64_t Stream::below(std::uint64_t index, std::uint64_t n) const {
  HARDPAN_ASSERT(n > 0);
  // The high half of the 128-bit product bits * n, from 32-bit halves.
  const std::uint64_t x = bits(index);
  const std::uint64_t x_lo = x & 0xffffffffu, x_hi = x >> 32, n_lo = n & 0xffffffffu, n_hi = n >> 32;
  const std::uint64_t middle = x_hi * n_lo + ((x_lo * n_lo) >> 32);
  const std::uint64_t middle2 = x_lo * n_hi + (middle & 0xffffffffu);
  return x_hi * n_hi + (middle >> 32) + (middle2 >> 32);
}

void Stream::fill_uniform(std::uint64_t first, std::span<double> out) const {
  std::size_t i = 0;
  if (first % 2 == 1 && !out.empty()) out[i++] = uniform(first);
  for (; i + 1 < out.size(); i += 2) {
    const Block b = block(seed_, stream_, (first + i) / 2);
    out[i] = open_unit(b.low);
    out[i + 1] = open_unit(b.high);
  }
  if (i < out.size()) out[i] = uniform(first + i);
}

void Stream::fill_normal(std::uint64_t first, std::span<double> out) const {
  fill_uniform(first, out);
  for (double& x : out) x = normal_quantile(x);
}

}  // namespace hardpan::math
