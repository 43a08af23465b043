// SPDX-License-Identifier: Apache-2.0
#include "base/thread_pool.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

#include "base/assertion.hpp"

namespace hardpan::base {

ThreadPool::ThreadPool(std::size_t threads)
    : threads_(threads != 0 ? threads : std::max(1u, std::thread::hardware_concurrency())) {}

// Threads live for one call: starting one costs tens of microseconds, the calls last
// milliseconds or more, and nothing has to be shut down or waits between calls.
bool ThreadPool::for_chunks(std::size_t count, std::size_t chunk_size, const std::stop_token& stop,
                            const std::function<void(std::size_t, std::size_t)>& body) const {
  HARDPAN_ASSERT(chunk_size > 0);
  const std::size_t chunks = (count + chunk_size - 1) / chunk_size;
  std::atomic<std::size_t> next{0};
  std::atomic<std::size_t> done{0};
  std::atomic<bool> failed{false};
  std::exception_ptr first_error;
  std::mutex error_mutex;

  const auto work = [&] {
    while (!failed.load() && !stop.stop_requested()) {
      const std::size_t chunk = next.fetch_add(1);
      if (chunk >= chunks) return;
      try {
        body(chunk * chunk_size, std::min(count, (chunk + 1) * chunk_size));
        done.fetch_add(1);
      } catch (...) {
        const std::lock_guard lock(error_mutex);
        if (!failed.exchange(true)) first_error = std::current_exception();
      }
    }
  };
  {
    std::vector<std::jthread> helpers;
    for (std::size_t i = 1; i < std::min(threads_, chunks); ++i) helpers.emplace_back(work);
    work();
  }
  if (first_error) std::rethrow_exception(first_error);
  return done.load() == chunks;
}

}  // namespace hardpan::base
