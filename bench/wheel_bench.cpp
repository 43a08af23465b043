// SPDX-License-Identifier: Apache-2.0
// Wheel equilibrium at a load and slip: plain and vector path beside SciPy's quad and brentq, one core, one run.
//
//   wheel_bench [wheels]      default 16384 random wheels (invented), n from 0.3 to 1.6
//
// Prints for each workload the time per wheel and its ratio to the SciPy script, whose answers must agree
// within 1e-6 (its own tolerance), else the ratio means nothing and the exit code is 1.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <random>
#include <string>
#include <vector>

#include <hwy/targets.h>

#include "contact/wheel_soil.hpp"

namespace {

using namespace hardpan;
using contact::SimdTarget;

struct Workload {
  std::string name;
  std::vector<contact::Contact> contacts;
  std::vector<double> load, slip, angle, guess;
};

double processor_seconds() {
  timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

// Clock of this core as it runs now, by a chain of dependent additions, one a cycle.
double measured_ghz() {
  double best = 0;
  for (int repeat = 0; repeat < 5; ++repeat) {
    const double start = processor_seconds();
    std::uint64_t x = 1;
    for (int i = 0; i < 20'000'000; ++i) asm volatile("add $1, %0" : "+r"(x));
    best = std::max(best, 20e6 / (processor_seconds() - start) * 1e-9);
  }
  return best;
}

// Vector operations of the inner loop for one pair of nodes, counted in the compiled AVX-512 code (moves left out):
// load alone 175, load with its rate 234, all sums 189. A cold rigid driving wheel with 12 nodes takes a look with 4
// nodes, one step with 8, one with 12, and the whole with 12; two vector operations can issue a cycle.
constexpr double kOperations = 4 * 175 + (8 + 12) * 234 + 12 * 189;

enum class Kind { driving, braking, oblique, tyre };

Workload make(const char* name, Kind kind, std::size_t count) {
  std::mt19937_64 rng(12);
  const auto between = [&](double a, double b) { return a + (b - a) * static_cast<double>(rng() >> 11) * 0x1p-53; };
  const auto log_between = [&](double a, double b) { return std::exp(between(std::log(a), std::log(b))); };
  Workload w{.name = name};
  while (w.contacts.size() < count) {
    vehicle::Wheel wheel;
    wheel.radius_m = log_between(0.15, 0.7);
    wheel.width_m = wheel.radius_m * between(0.3, 0.9);
    soil::Soil soil;
    const double n = between(0.3, 1.6), deep = 0.1 * wheel.radius_m;
    soil.bearing = soil::single_plate(n, log_between(1e4, 4e5) / std::pow(deep, n));
    soil.shear = soil::Shear{.cohesion_pa = between(0, 1) < 0.3 ? 0 : log_between(200, 1e4), .tan_phi = between(0.3, 0.8),
                             .shear_modulus_m = log_between(0.008, 0.04)};
    soil.c1 = between(0.1, 0.45);
    soil.c2 = between(0, 0.4);
    soil.c1_braking = soil.c1;
    soil.c2_braking = soil.c2;
    soil.density_kg_m3 = 1500;
    const double sinkage = wheel.radius_m * log_between(0.02, 0.25);
    base::Problems problems;
    contact::ContactOptions options{.gravity_m_s2 = 9.81};
    const auto rigid = contact::make_contact(wheel, soil, options, {}, problems);
    const double load = contact::wheel_at_entry_angle(*rigid, std::acos(1 - sinkage / wheel.radius_m), 0.2).load_n;
    if (kind == Kind::tyre) wheel.flex = vehicle::Flex{.stiffness_n_per_m = load / (wheel.radius_m * log_between(0.02, 0.2))};
    const auto contact = contact::make_contact(wheel, soil, options, {}, problems);
    const double slip = kind == Kind::braking ? -between(0.02, 0.6) : between(0.02, 0.8);
    const double angle = kind == Kind::oblique ? between(0.02, 0.3) : 0;
    const contact::WheelAnswer a = contact::wheel_at_load(*contact, load, slip, angle);
    if (!a.carried()) continue;
    w.contacts.push_back(*contact);
    w.load.push_back(load);
    w.slip.push_back(slip);
    w.angle.push_back(angle);
    // A neighbour's answer as guess: the entry angle of the undeflected wheel at a load 5 % off.
    const contact::WheelAnswer near = contact::wheel_at_load(*contact, load * between(0.95, 1.05), slip, angle);
    w.guess.push_back(near.carried() ? 2 * std::asin(std::sqrt(0.5 * near.sinkage_m / wheel.radius_m)) : 0);
  }
  return w;
}

double seconds_per_wheel(const Workload& w, bool warm, SimdTarget target, std::vector<contact::WheelAnswer>& out) {
  out.resize(w.contacts.size());
  double best = 1e9;
  for (int repeat = 0; repeat < 5; ++repeat) {
    const double start = processor_seconds();
    contact::wheels_at_load(w.contacts, w.load, w.slip, w.angle, warm ? std::span<const double>(w.guess) : std::span<const double>(),
                            out, target);
    best = std::min(best, processor_seconds() - start);
  }
  return best / static_cast<double>(w.contacts.size());
}

// Runs the script on the first wheels and returns its time per wheel; answers are compared.
double scipy_seconds(const Workload& w, std::size_t count, const std::vector<contact::WheelAnswer>& ours, bool& agrees) {
  const std::string folder = std::filesystem::temp_directory_path().string();
  const std::string in = folder + "/hardpan_wheel_bench.csv", result = folder + "/hardpan_wheel_bench.out";
  std::FILE* file = std::fopen(in.c_str(), "w");
  for (std::size_t i = 0; i < count; ++i) {
    const contact::Contact& c = w.contacts[i];
    std::fprintf(file, "%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g,%.17g\n", c.radius_m, c.width_m, c.law.k,
                 c.law.n, c.cohesion_pa, c.tan_phi, c.shear_modulus_m, c.c1, c.c2, w.slip[i], w.load[i]);
  }
  std::fclose(file);
  const std::string command = "/usr/bin/python3 -W ignore " HARDPAN_SOURCE_DIR "/bench/reference/wheel_scipy.py < " + in + " > " + result;
  if (std::system(command.c_str()) != 0) {
    std::puts("the SciPy script did not run (Debian: python3-scipy)");
    std::exit(1);
  }
  file = std::fopen(result.c_str(), "r");
  double worst = 0, seconds = 0;
  for (std::size_t i = 0; i < count; ++i) {
    double entry = 0, pull = 0, torque = 0;
    if (std::fscanf(file, "%lf,%lf,%lf\n", &entry, &pull, &torque) != 3) std::exit(1);
    worst = std::max({worst, std::fabs(entry / ours[i].entry_angle_rad - 1), std::fabs(pull - ours[i].pull_n) / w.load[i]});
  }
  if (std::fscanf(file, "seconds_per_wheel,%lf", &seconds) != 1) std::exit(1);
  std::fclose(file);
  std::printf("  SciPy quad + brentq      %10.2f us a wheel (%zu wheels), largest difference %.1e\n", 1e6 * seconds, count, worst);
  agrees = worst < 1e-6;
  return seconds;
}

bool run(const Workload& w, std::size_t reference_wheels, double& scipy) {
  std::printf("%s, %zu wheels\n", w.name.c_str(), w.contacts.size());
  std::vector<contact::WheelAnswer> plain, fast;
  bool agrees = true;
  const double plain_cold = seconds_per_wheel(w, false, SimdTarget::plain, plain);
  if (reference_wheels > 0) scipy = scipy_seconds(w, std::min(reference_wheels, w.contacts.size()), plain, agrees);
  const auto line = [&](const char* what, double seconds) {
    std::printf("  %-24s %10.3f us a wheel, %8.0f x SciPy%s\n", what, 1e6 * seconds, scipy / seconds,
                reference_wheels > 0 ? "" : " on rigid wheels without side slip");
  };
  line("plain, cold", plain_cold);
  line("plain, warm", seconds_per_wheel(w, true, SimdTarget::plain, plain));
  const auto vectors = [&] {
    const std::string best = contact::simd_target_name(SimdTarget::best);
    if (best == "plain") return;
    const double cold = seconds_per_wheel(w, false, SimdTarget::best, fast);
    line((best + ", cold").c_str(), cold);
    if (w.name == "driving") {
      const double ghz = measured_ghz(), lanes = best == "AVX2" ? 4 : 8;
      const double limit = kOperations / 2 / lanes / ghz * 1e-9;
      std::printf("  %-24s %10.3f us a wheel at %.2f GHz: the above is %.1f x that\n", "  arithmetic limit", 1e6 * limit, ghz, cold / limit);
    }
    line((best + ", warm").c_str(), seconds_per_wheel(w, true, SimdTarget::best, fast));
  };
  vectors();
  const std::string widest = contact::simd_target_name(SimdTarget::best);
  hwy::DisableTargets(HWY_AVX3);
  hwy::GetChosenTarget().DeInit();
  if (widest != contact::simd_target_name(SimdTarget::best)) vectors();
  hwy::DisableTargets(0);
  hwy::GetChosenTarget().DeInit();
  return agrees;
}

}  // namespace

int main(int argc, char** argv) {
  const std::size_t count = argc > 1 ? static_cast<std::size_t>(std::atol(argv[1])) : 16384;
  double scipy = 0;
  bool agrees = run(make("driving", Kind::driving, count), 100, scipy);
  const double reference = scipy;
  agrees = run(make("braking", Kind::braking, count), 60, scipy) && agrees;
  scipy = reference;
  run(make("driving with a slip angle", Kind::oblique, count), 0, scipy);
  run(make("driving, soft tyre", Kind::tyre, count), 0, scipy);
  if (!agrees) std::puts("answers differ from SciPy: the ratios mean nothing");
  return agrees ? 0 : 1;
}
