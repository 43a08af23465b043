// SPDX-License-Identifier: Apache-2.0
// Random numbers addressed by (seed, stream, index): the same triple gives the same number in any
// order, on any thread. Philox4x32 with 10 rounds (Salmon, Moraes, Dror and Shaw 2011).
//
// For joint samples of several correlated parameters use draws.hpp.
// Resolution: uniform numbers are odd multiples of 2^-53, so 0 and 1 never occur; normal numbers lie
// within +/- 8.3. Two streams of one seed are independent.
//
//   const Stream noise(seed, stream_id("load cell noise"));
//   double z = noise.normal(k);
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>

namespace hardpan::math {

// One block of the generator: 128 bits from a 128-bit counter and a 64-bit key.
[[nodiscard]] std::array<std::uint32_t, 4> philox_block(const std::array<std::uint32_t, 4>& counter,
                                                      const std::array<std::uint32_t, 2>& key);

// FNV-1a, 64 bits (Fowler, Noll and Vo): the stream that a name stands for.
[[nodiscard]] constexpr std::uint64_t stream_id(std::string_view name) {
  std::uint64_t hash = 0xcbf29ce484222325u;
  for (const char c : name) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001b3u;
  }
  return hash;
}

// Key = seed; counter = (index / 2, stream); an even index takes the lower half of the block.
class Stream {
 public:
  Stream(std::uint64_t seed, std::uint64_t stream) : seed_(seed), stream_(stream) {}

  [[nodiscard]] std::uint64_t bits(std::uint64_t index) const;      // 64 random bits
  [[nodiscard]] double uniform(std::uint64_t index) const;          // in (0, 1)
  [[nodiscard]] double normal(std::uint64_t index) const;           // mean 0, variance 1
  [[nodiscard]] double chi_square(std::uint64_t index, double degrees_of_freedom) const;  // dof > 0
  [[nodiscard]] double gamma(std::uint64_t index, double shape, double scale) const;      // both > 0
  // 0 ... n - 1, n > 0; not exactly even, by less than n / 2^64.
  [[nodiscard]] std::uint64_t below(std::uint64_t index, std::uint64_t n) const;

  // out[i] = uniform(first + i) and normal(first + i).
  void fill_uniform(std::uint64_t first, std::span<double> out) const;
  void fill_normal(std::uint64_t first, std::span<double> out) const;

 private:
  std::uint64_t seed_;
  std::uint64_t stream_;
};

}  // namespace hardpan::math
