// SPDX-License-Identifier: Apache-2.0
#include "service/provenance.hpp"

#include <chrono>
#include <ctime>

#include "base/version.hpp"
#include "contact/wheel_soil.hpp"

namespace hardpan::service {
namespace {

std::string now_text() {
  const std::time_t t = std::time(nullptr);
  std::tm local{};
  localtime_r(&t, &local);
  char text[32];
  std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%S", &local);
  return text;
}

double clock_s() { return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count(); }

}  // namespace

Stopwatch::Stopwatch(bool plain_kernel)
    : started_{.version = base::kVersion, .simd_target = contact::simd_target_name(plain_kernel ? contact::SimdTarget::plain : contact::SimdTarget::best), .started = now_text()},
      begin_s_(clock_s()) {}

campaign::Provenance Stopwatch::stop(campaign::Provenance p) const {
  p.finished = now_text();
  p.seconds = clock_s() - begin_s_;
  return p;
}

}  // namespace hardpan::service
