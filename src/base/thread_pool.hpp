// SPDX-License-Identifier: Apache-2.0
// Work in fixed chunks over a few threads. The chunk size never depends on the thread count, so
// results written per index are the same bits for any number of threads.
//
//   ThreadPool pool(2);
//   pool.for_chunks(n, kDrawsPerChunk, stop, [&](std::size_t begin, std::size_t end) { ... });
//
// The first exception a chunk throws is rethrown to the caller after all threads have stopped.
#pragma once

#include <cstddef>
#include <functional>
#include <stop_token>

namespace hardpan::base {

// A warm start never crosses the edge of a chunk of possible soils.
inline constexpr std::size_t kDrawsPerChunk = 64;

class ThreadPool {
 public:
  // threads: at least 1; the calling thread is one of them. 0 asks for one a hardware thread.
  explicit ThreadPool(std::size_t threads = 0);
  [[nodiscard]] std::size_t size() const { return threads_; }

  // Calls body(begin, end) for [0, count) in chunks of chunk_size (at least 1). Returns false
  // when stop was requested before all chunks ran; then some chunks did not run.
  bool for_chunks(std::size_t count, std::size_t chunk_size, const std::stop_token& stop,
                  const std::function<void(std::size_t, std::size_t)>& body) const;

 private:
  std::size_t threads_;
};

}  // namespace hardpan::base
