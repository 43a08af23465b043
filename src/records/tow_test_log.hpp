// SPDX-License-Identifier: Apache-2.0
// For tests only: a tow log written down from a known truth. Slip against time is prescribed, everything else follows
// from the balance of forces; it shares no code with the reduction.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "math/random.hpp"
#include "records/tow.hpp"

namespace hardpan::records {

struct TestLevel {
  double slip = 0, seconds = 0;
};

struct TestRun {
  // Ground and vehicle: coefficient a (1 - exp(-(s - s0) / k)), resistance share rho of the torque.
  double a = 0.45, s0 = 0.03, k = 0.12, rho = 0.06;
  double weight_n = 4120, gravity = 9.81, radius_m = 0.28, omega = 4.0;
  double gradient_rad = 0, line_angle_rad = 0;
  // Course: still, start, levels with ramps between them, stop, still.
  double still_s = 6, ramp_s = 2;
  std::vector<TestLevel> levels{{0.05, 12}, {0.10, 12}, {0.20, 12}, {0.35, 12}};
  bool still_at_end = true;
  // Instruments.
  double rate_hz = 20, lag_s = 0, zero_n = 0, drift_n_per_s = 0, pitch_bias_rad = 0;
  double pull_noise_n = 0, speed_noise = 0, wheel_noise = 0, pitch_noise = 0;  // standard deviations
  double noise_memory = 0;  // first-order autoregression coefficient of the pull noise
  std::uint64_t seed = 1;
  std::string id = "run 1";
};

class TestCourse {
 public:
  explicit TestCourse(const TestRun& run) : run_(run) {
    double t = run.still_s + run.ramp_s;
    for (const TestLevel& level : run.levels) {
      start_.push_back(t);
      t += level.seconds + run.ramp_s;
    }
    stop_ = t;  // the last ramp ends at standstill
    end_ = t + (run.still_at_end ? run.still_s : 0);
  }
  [[nodiscard]] double end_s() const { return end_; }
  [[nodiscard]] double slip(double t) const {
    double s = run_.levels.front().slip;
    for (std::size_t i = 1; i < start_.size(); ++i) {
      s += (run_.levels[i].slip - run_.levels[i - 1].slip) * step((t - start_[i] + run_.ramp_s) / run_.ramp_s);
    }
    return s;
  }
  [[nodiscard]] double omega(double t) const {
    return run_.omega * (step((t - run_.still_s) / run_.ramp_s) - step((t - stop_ + run_.ramp_s) / run_.ramp_s));
  }
  [[nodiscard]] double speed(double t) const { return run_.radius_m * omega(t) * (1 - slip(t)); }
  [[nodiscard]] double coefficient(double s) const { return run_.a * (1 - std::exp(-(s - run_.s0) / run_.k)); }
  [[nodiscard]] double pull(double t) const {
    if (t <= run_.still_s || t >= stop_) return 0;  // slack line
    const double dt = 1e-4;
    const double inertia = run_.weight_n / run_.gravity * (speed(t + dt) - speed(t - dt)) / (2 * dt);
    const double mu =
        coefficient(slip(t)) * step((t - run_.still_s) / run_.ramp_s) * (1 - step((t - stop_ + run_.ramp_s) / run_.ramp_s));
    const double grade = run_.weight_n * std::sin(run_.gradient_rad);
    return (mu * run_.weight_n * std::cos(run_.gradient_rad) - grade - inertia) /
           (std::cos(run_.line_angle_rad) - mu * std::sin(run_.line_angle_rad));
  }
  [[nodiscard]] double torque(double t) const {
    const double normal = run_.weight_n * std::cos(run_.gradient_rad) + pull(t) * std::sin(run_.line_angle_rad);
    return omega(t) > 0 ? (coefficient(slip(t)) + run_.rho) * normal * run_.radius_m : 0;
  }

 private:
  static double step(double u) { return u <= 0 ? 0 : u >= 1 ? 1 : u * u * (3 - 2 * u); }
  TestRun run_;
  std::vector<double> start_;
  double stop_ = 0, end_ = 0;
};

inline TowLog make_test_log(const TestRun& run) {
  const TestCourse course(run);
  TowLog log;
  log.source = {.id = run.id, .file = run.id + ".csv", .record = run.id, .zone = "sand"};
  log.conditions = {.vehicle = "dunlin",
                    .weight_n = run.weight_n,
                    .gradient_rad = run.gradient_rad,
                    .gradient_stated = true,
                    .rolling_radius_m = run.radius_m,
                    .zero_slip = vehicle::ZeroSlip::self_propelled_hard,
                    .run = run.id};
  if (run.line_angle_rad != 0) log.conditions.line_angle_rad = run.line_angle_rad;
  const math::Stream pull(run.seed, math::stream_id("pull")), speed(run.seed, math::stream_id("speed"));
  const math::Stream wheel(run.seed, math::stream_id("wheel")), pitch(run.seed, math::stream_id("pitch"));
  log.wheel_speed_rad_per_s.resize(1);
  log.wheel_name = {"all"};
  double noise = 0;
  const auto n = static_cast<std::size_t>(course.end_s() * run.rate_hz);
  for (std::size_t i = 0; i < n; ++i) {
    const double t = static_cast<double>(i) / run.rate_hz;
    noise = run.noise_memory * noise + std::sqrt(1 - run.noise_memory * run.noise_memory) * pull.normal(i);
    log.time_s.push_back(t);
    log.pull_n.push_back(course.pull(t - run.lag_s) + run.zero_n + run.drift_n_per_s * t + run.pull_noise_n * noise);
    log.ground_speed_m_per_s.push_back(course.speed(t) + run.speed_noise * speed.normal(i));
    log.wheel_speed_rad_per_s[0].push_back(course.omega(t) + run.wheel_noise * wheel.normal(i));
    log.torque_n_m.push_back(course.torque(t));
    log.pitch_rad.push_back(run.gradient_rad + run.pitch_bias_rad + run.pitch_noise * pitch.normal(i));
    log.line.push_back(i + 4);
  }
  return log;
}

}  // namespace hardpan::records
