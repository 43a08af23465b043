// SPDX-License-Identifier: Apache-2.0
#include "base/thread_pool.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <stdexcept>
#include <vector>

namespace hardpan::base {
namespace {

TEST(ThreadPool, CoversEveryIndexOnceForAnyThreadCount) {
  for (const std::size_t threads : {1u, 2u, 5u}) {
    std::vector<int> hits(1000, 0);
    EXPECT_TRUE(ThreadPool(threads).for_chunks(hits.size(), 64, {}, [&](std::size_t b, std::size_t e) {
      EXPECT_EQ(b % 64, 0u);
      for (std::size_t i = b; i < e; ++i) ++hits[i];
    }));
    for (const int h : hits) EXPECT_EQ(h, 1);
  }
}

TEST(ThreadPool, RethrowsTheErrorOfAChunk) {
  EXPECT_THROW(ThreadPool(2).for_chunks(100, 10, {}, [](std::size_t b, std::size_t) {
    if (b == 50) throw std::runtime_error("chunk 5");
  }), std::runtime_error);
}

TEST(ThreadPool, SaysWhenItWasStopped) {
  std::stop_source source;
  std::atomic<int> ran{0};
  EXPECT_FALSE(ThreadPool(1).for_chunks(100, 10, source.get_token(), [&](std::size_t, std::size_t) {
    if (++ran == 3) source.request_stop();
  }));
  EXPECT_EQ(ran.load(), 3);
}

}  // namespace
}  // namespace hardpan::base
