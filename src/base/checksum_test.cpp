// SPDX-License-Identifier: Apache-2.0
#include "base/checksum.hpp"

#include <gtest/gtest.h>

namespace hardpan::base {
namespace {

// Published example digests: NIST, "Examples with Intermediate Values" for FIPS 180-4 (SHA-256).
TEST(Sha256, MatchesThePublishedDigests) {
  EXPECT_EQ(sha256("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST(Sha256, DoesNotDependOnHowTheBytesWereCut) {
  std::string bytes(1000, 'x');
  for (std::size_t i = 0; i < bytes.size(); ++i) bytes[i] = static_cast<char>(i * 37);
  const std::string whole = sha256(bytes);
  for (const std::size_t step : {1u, 3u, 63u, 64u, 65u, 200u}) {
    Sha256 sum;
    for (std::size_t i = 0; i < bytes.size(); i += step) sum.add(std::string_view(bytes).substr(i, step));
    EXPECT_EQ(sum.finish(), whole) << "cut every " << step << " bytes";
  }
}

}  // namespace
}  // namespace hardpan::base
