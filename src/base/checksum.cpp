// SPDX-License-Identifier: Apache-2.0
// Source: FIPS 180-4 (2015), sections 4.1.2, 5.1.1, 6.2. The round constants are the first 32
// bits of the fractional parts of the cube roots of the first 64 primes; they are computed
// here rather than typed (checked by the published digests in checksum_test.cpp).
#include "base/checksum.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>

namespace hardpan::base {
namespace {

// floor(2^32 frac(cbrt(p))): cbrt(p) < 7 needs 35 bits, a double carries 53.
std::uint32_t cube_root_fraction(std::uint64_t prime) {
  const double root = std::cbrt(static_cast<double>(prime));
  return static_cast<std::uint32_t>((root - std::floor(root)) * 4294967296.0);
}

std::array<std::uint32_t, 64> round_constants() {
  std::array<std::uint32_t, 64> k{};
  std::size_t n = 0;
  for (std::uint64_t p = 2; n < k.size(); ++p) {
    bool prime = true;
    for (std::uint64_t d = 2; d * d <= p; ++d) prime = prime && p % d != 0;
    if (prime) k[n++] = cube_root_fraction(p);
  }
  return k;
}

}  // namespace

void Sha256::block(const unsigned char* p) {
  static const std::array<std::uint32_t, 64> k = round_constants();
  std::array<std::uint32_t, 64> w{};
  for (std::size_t t = 0; t < 16; ++t) {
    w[t] = static_cast<std::uint32_t>(p[4 * t]) << 24 | static_cast<std::uint32_t>(p[4 * t + 1]) << 16 |
           static_cast<std::uint32_t>(p[4 * t + 2]) << 8 | static_cast<std::uint32_t>(p[4 * t + 3]);
  }
  for (std::size_t t = 16; t < 64; ++t) {
    const auto s0 = std::rotr(w[t - 15], 7) ^ std::rotr(w[t - 15], 18) ^ (w[t - 15] >> 3);
    const auto s1 = std::rotr(w[t - 2], 17) ^ std::rotr(w[t - 2], 19) ^ (w[t - 2] >> 10);
    w[t] = w[t - 16] + s0 + w[t - 7] + s1;
  }
  auto [a, b, c, d, e, f, g, h] = state_;
  for (std::size_t t = 0; t < 64; ++t) {
    const auto big1 = std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25);
    const auto t1 = h + big1 + ((e & f) ^ (~e & g)) + k[t] + w[t];
    const auto big0 = std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22);
    const auto t2 = big0 + ((a & b) ^ (a & c) ^ (b & c));
    h = g; g = f; f = e; e = d + t1; d = c; c = b; b = a; a = t1 + t2;
  }
  const std::array<std::uint32_t, 8> add{a, b, c, d, e, f, g, h};
  for (std::size_t i = 0; i < 8; ++i) state_[i] += add[i];
}

void Sha256::add(std::string_view bytes) {
  total_bytes_ += bytes.size();
  auto* p = reinterpret_cast<const unsigned char*>(bytes.data());
  std::size_t left = bytes.size();
  if (rest_size_ > 0) {
    const std::size_t take = std::min(left, rest_.size() - rest_size_);
    std::memcpy(rest_.data() + rest_size_, p, take);
    rest_size_ += take; p += take; left -= take;
    if (rest_size_ < rest_.size()) return;
    block(rest_.data());
    rest_size_ = 0;
  }
  for (; left >= 64; p += 64, left -= 64) block(p);
  if (left > 0) std::memcpy(rest_.data(), p, left);
  rest_size_ = left;
}

std::string Sha256::finish() {
  const std::uint64_t bits = total_bytes_ * 8;
  const char one = static_cast<char>(0x80);
  add({&one, 1});
  const char zero = 0;
  while (rest_size_ != 56) add({&zero, 1});
  std::array<char, 8> length{};
  for (std::size_t i = 0; i < 8; ++i) length[i] = static_cast<char>(bits >> (56 - 8 * i));
  add({length.data(), length.size()});
  std::string out;
  for (const std::uint32_t s : state_) {
    for (int shift = 28; shift >= 0; shift -= 4) out += "0123456789abcdef"[(s >> shift) & 15u];
  }
  return out;
}

std::string sha256(std::string_view bytes) {
  Sha256 sum;
  sum.add(bytes);
  return sum.finish();
}

}  // namespace hardpan::base
