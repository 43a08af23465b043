// SPDX-License-Identifier: Apache-2.0
#include "fitting/detail/plugin.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>

#include "base/problems.hpp"
#include "fitting/fit.hpp"

namespace hardpan::fitting {
namespace {

FitProblem constant(const std::vector<double>& y) {
  return {.parameters = {{.name = "level", .start = 0}},
          .residuals = Residuals::each(y.size(), [&y]<class T>(std::size_t i, std::span<const T> p) -> T { return p[0] - y[i]; })};
}

bool solver_is_loaded() {
  std::ifstream maps("/proc/self/maps");
  std::string line;
  while (std::getline(maps, line)) {
    if (line.find("libceres") != std::string::npos || line.find(detail::kPluginFile) != std::string::npos) return true;
  }
  return false;
}

[[noreturn]] void exit_with_zero_if_loaded_by_the_first_fit() {
  const bool before = solver_is_loaded();
  const std::vector<double> y{1, 2, 4};
  const bool fitted = fit(constant(y)).converged();
  std::_Exit(!before && fitted && solver_is_loaded() ? 0 : 1);
}

TEST(SolverDeathTest, IsLoadedByTheFirstFitAndNotAtProgramStart) {
  GTEST_FLAG_SET(death_test_style, "threadsafe");  // a fresh process that runs this test alone
  EXPECT_EXIT(exit_with_zero_if_loaded_by_the_first_fit(), testing::ExitedWithCode(0), "");
}

TEST(Solver, SaysWhereItWasLookedForWhenItIsMissing) {
  try {
    static_cast<void>(detail::load_plugin({"/nowhere/bin", "/nowhere/lib"}));
    FAIL() << "no error thrown";
  } catch (const base::EnvironmentError& error) {
    EXPECT_STREQ(error.what(), "hardpan_fitting_solver.so was not found in /nowhere/bin, /nowhere/lib; install it with the program");
  }
}

TEST(Solver, RefusesAFileThatIsNoLibrary) {
  const std::string folder = testing::TempDir() + "hardpan_no_library";
  ASSERT_EQ(std::system(("mkdir -p " + folder).c_str()), 0);
  std::ofstream(folder + "/" + detail::kPluginFile) << "text";
  EXPECT_THROW(static_cast<void>(detail::load_plugin({folder})), base::EnvironmentError);
}

}  // namespace
}  // namespace hardpan::fitting
