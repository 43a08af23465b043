// SPDX-License-Identifier: Apache-2.0
// What the fitting library and its solver plug-in say to each other. Plain pointers: the two are
// built together but linked apart.
#pragma once

#include <string>
#include <vector>

namespace hardpan::fitting::detail {

inline constexpr int kPluginVersion = 1;
inline constexpr const char* kPluginFile = "hardpan_fitting_solver.so";

struct SolverTask {
  int parameters = 0;
  int residuals = 0;
  const double* lower = nullptr;  // infinite: no bound
  const double* upper = nullptr;
  // Fills residuals and, unless null, the row-major Jacobian. False: no finite values there.
  bool (*evaluate)(void* context, const double* x, double* residuals, double* jacobian) = nullptr;
  void* context = nullptr;
  // rho and its first two derivatives by s at s = r^2; null: plain squares.
  void (*loss)(const void* context, double s, double* rho) = nullptr;
  const void* loss_context = nullptr;
  int max_steps = 0;
  // Stop when a step lowers the cost by less than this share. 1e-16 goes on until rounding ends the descent.
  double cost_tolerance = 1e-16;
  bool cautious = false;  // short first steps, for starts from which the quick way runs off
};

enum class SolverEnd { stopped_moving, out_of_steps, failed };

struct SolverAnswer {
  SolverEnd end = SolverEnd::failed;
  int steps = 0;
};

struct Plugin {
  int version;
  void (*solve)(const SolverTask& task, double* x, SolverAnswer& answer);  // x: start in, end out
};
using PluginEntry = const Plugin* (*)();

// Loads on the first call, the same answer afterwards. Throws base::EnvironmentError when the
// plug-in is not in one of the folders or does not fit.
[[nodiscard]] const Plugin& plugin();
[[nodiscard]] const Plugin& load_plugin(const std::vector<std::string>& folders);
// Beside the running program, then ../lib/hardpan from there.
[[nodiscard]] std::vector<std::string> plugin_folders();

}  // namespace hardpan::fitting::detail
