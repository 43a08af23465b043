// SPDX-License-Identifier: Apache-2.0
// The Statistical Reference Datasets of NIST (tests/data/CREDITS.md), fitted through the function that
// users get, with its default settings, from both published starting points: 6 digits of every
// parameter on "lower" and "average", 4 on "higher", 4 digits of every standard error.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <functional>
#include <iomanip>
#include <map>
#include <numbers>
#include <sstream>

#include "fitting/fit.hpp"

namespace hardpan::fitting {
namespace {

const std::string kFolder = HARDPAN_SOURCE_DIR "/tests/data/nist/";

struct DataSet {
  std::string difficulty;
  std::vector<std::array<double, 2>> starts;  // by parameter
  std::vector<double> certified, errors;
  double residual_sd = 0;
  std::vector<double> y, x;
};

// "Data (lines 61 to 71)" in the head says where the readings stand; parameter lines are "b1 = ...".
DataSet read_nonlinear(const std::string& name) {
  std::ifstream file(kFolder + name + ".dat");
  if (!file) throw std::runtime_error("missing " + kFolder + name + ".dat");
  DataSet out;
  std::string line;
  int first = 0, last = 0;
  for (int number = 1; std::getline(file, line); ++number) {
    if (const auto at = line.find("(lines"); at != std::string::npos && line.find("Data") != std::string::npos) {
      std::sscanf(line.c_str() + at, "(lines %d to %d)", &first, &last);
    }
    if (const auto at = line.find("Level of Difficulty"); at != std::string::npos) {
      std::istringstream(line) >> out.difficulty;
    }
    if (const auto at = line.find("Residual Standard Deviation:"); at != std::string::npos) {
      out.residual_sd = std::stod(line.substr(at + 28));
    }
    double start1 = 0, start2 = 0, value = 0, error = 0;
    int index = 0;
    if (std::sscanf(line.c_str(), " b%d = %lf %lf %lf %lf", &index, &start1, &start2, &value, &error) == 5) {
      out.starts.push_back({start1, start2});
      out.certified.push_back(value);
      out.errors.push_back(error);
    }
    if (first > 0 && number >= first && number <= last) {
      double y = 0, x = 0;
      if (std::istringstream(line) >> y >> x) {
        out.y.push_back(y);
        out.x.push_back(x);
      }
    }
  }
  return out;
}

// Decimal digits on which got and certified agree: -log10 of the relative error.
double digits(double got, double certified) {
  if (got == certified) return 16;
  return -std::log10(std::abs(got - certified) / (certified != 0 ? std::abs(certified) : 1));
}

// The published models, once for every number type.
struct Model {
  template <class T>
  using Function = std::function<T(std::span<const T>, double)>;
  Function<double> plain;
  Function<Number> dual;
  template <class F>
  Model(F f) : plain(f), dual(f) {}  // NOLINT: a table entry is the function itself
  double operator()(std::span<const double> b, double x) const { return plain(b, x); }
  Number operator()(std::span<const Number> b, double x) const { return dual(b, x); }
};

#define HARDPAN_MODEL(expression)                            \
  Model([](const auto& b, double x) {                        \
    using std::exp, std::pow, std::atan, std::cos, std::sin; \
    return expression;                                       \
  })
const std::map<std::string, Model>& models() {
  static const std::map<std::string, Model> all{
      {"DanWood", HARDPAN_MODEL(b[0] * pow(x, b[1]))},
      {"Misra1a", HARDPAN_MODEL(b[0] * (1.0 - exp(-b[1] * x)))},
      {"Misra1b", HARDPAN_MODEL(b[0] * (1.0 - pow(1.0 + b[1] * x / 2.0, -2.0)))},
      {"Misra1d", HARDPAN_MODEL(b[0] * b[1] * x / (1.0 + b[1] * x))},
      {"BoxBOD", HARDPAN_MODEL(b[0] * (1.0 - exp(-b[1] * x)))},
      {"Chwirut2", HARDPAN_MODEL(exp(-b[0] * x) / (b[1] + b[2] * x))},
      {"Rat42", HARDPAN_MODEL(b[0] / (1.0 + exp(b[1] - b[2] * x)))},
      {"Kirby2", HARDPAN_MODEL((b[0] + b[1] * x + b[2] * x * x) / (1.0 + b[3] * x + b[4] * x * x))},
      {"Hahn1", HARDPAN_MODEL((b[0] + b[1] * x + b[2] * x * x + b[3] * x * x * x) /
                              (1.0 + b[4] * x + b[5] * x * x + b[6] * x * x * x))},
      {"Thurber", HARDPAN_MODEL((b[0] + b[1] * x + b[2] * x * x + b[3] * x * x * x) /
                                (1.0 + b[4] * x + b[5] * x * x + b[6] * x * x * x))},
      {"MGH09", HARDPAN_MODEL(b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]))},
      {"Lanczos3", HARDPAN_MODEL(b[0] * exp(-b[1] * x) + b[2] * exp(-b[3] * x) + b[4] * exp(-b[5] * x))},
  };
  return all;
}
#undef HARDPAN_MODEL

FitProblem problem_of(const DataSet& data, const Model& model, int start) {
  FitProblem problem;
  for (std::size_t j = 0; j < data.certified.size(); ++j) {
    problem.parameters.push_back({.name = "b" + std::to_string(j + 1), .start = data.starts[j][static_cast<std::size_t>(start)]});
  }
  problem.residuals = Residuals::each(data.y.size(), [&]<class T>(std::size_t i, std::span<const T> b) -> T {
    return data.y[i] - model(b, data.x[i]);
  });
  return problem;
}

class Nonlinear : public testing::TestWithParam<std::string> {};

TEST_P(Nonlinear, ReachesTheCertifiedValuesFromBothStarts) {
  const DataSet data = read_nonlinear(GetParam());
  const Model& model = models().at(GetParam());
  ASSERT_FALSE(data.difficulty.empty());
  ASSERT_GE(data.y.size(), 6u);
  ASSERT_GE(data.certified.size(), 2u);
  const double wanted = data.difficulty == "Higher" ? 4 : 6;
  for (int start = 0; start < 2; ++start) {
    const FitResult result = fit(problem_of(data, model, start));
    ASSERT_TRUE(result.converged()) << name(result.report.status) << " from start " << start + 1 << ": "
                                    << (result.messages.empty() ? "" : result.messages.back());
    EXPECT_EQ(result.degrees_of_freedom, data.y.size() - data.certified.size());
    EXPECT_GE(digits(result.residual_sd, data.residual_sd), 4);
    double worst_value = 16, worst_error = 16;
    for (std::size_t j = 0; j < data.certified.size(); ++j) {
      const FittedParameter& b = result.parameters[j];
      ASSERT_TRUE(b.standard_error) << b.name << ": " << b.status;
      worst_value = std::min(worst_value, digits(b.value, data.certified[j]));
      worst_error = std::min(worst_error, digits(*b.standard_error, data.errors[j]));
    }
    EXPECT_GE(worst_value, wanted) << "start " << start + 1;
    EXPECT_GE(worst_error, 4) << "start " << start + 1;
    RecordProperty("start" + std::to_string(start + 1), std::to_string(worst_value) + "/" + std::to_string(worst_error));
    std::cout << "  " << std::left << std::setw(9) << GetParam() << data.difficulty << " start " << start + 1 << ": "
              << std::setprecision(3) << worst_value << " digits, errors " << worst_error << ", "
              << result.report.steps << " steps, condition " << result.condition << "\n";
  }
}

std::vector<std::string> names() {
  std::vector<std::string> out;
  for (const auto& [name, model] : models()) out.push_back(name);
  return out;
}
INSTANTIATE_TEST_SUITE_P(Nist, Nonlinear, testing::ValuesIn(names()),
                         [](const auto& tested) { return tested.param; });

// Linear sets through the same code: B0 + B1 x1 + ..., from zero.
struct LinearSet {
  std::vector<std::vector<double>> rows;  // 1, x1, ...
  std::vector<double> y, certified, errors;
  double residual_sd = 0;
};

LinearSet read_linear(const std::string& name) {
  std::ifstream file(kFolder + name + ".dat");
  if (!file) throw std::runtime_error("missing " + kFolder + name + ".dat");
  LinearSet out;
  std::string line;
  bool in_data = false;
  while (std::getline(file, line)) {
    double value = 0, error = 0;
    int index = 0;
    if (!in_data && std::sscanf(line.c_str(), " B%d %lf %lf", &index, &value, &error) == 3) {
      out.certified.push_back(value);
      out.errors.push_back(error);
    }
    if (const auto at = line.find("Standard Deviation  "); at != std::string::npos && out.certified.size() > 1) {
      out.residual_sd = std::stod(line.substr(at + 18));
    }
    if (line.rfind("Data:     ", 0) == 0 && line.find(" y  ") != std::string::npos) {
      in_data = true;
    } else if (in_data) {
      std::istringstream in(line);
      if (in >> value) {
        out.y.push_back(value);
        out.rows.push_back({1});
        while (in >> value) out.rows.back().push_back(value);
      }
    }
  }
  return out;
}

LinearSet read_wampler(const std::string& name) {
  std::ifstream data(kFolder + name + ".csv"), certified(kFolder + name + "_certified.csv");
  if (!data || !certified) throw std::runtime_error("missing " + kFolder + name);
  LinearSet out;
  std::string line;
  double a = 0, b = 0;
  while (std::getline(data, line)) {
    if (std::sscanf(line.c_str(), "%lf,%lf", &a, &b) != 2) continue;
    out.y.push_back(a);
    out.rows.push_back({1, b, b * b, b * b * b, b * b * b * b, b * b * b * b * b});
  }
  int index = 0;
  while (std::getline(certified, line)) {
    if (std::sscanf(line.c_str(), "B%d,%lf,%lf", &index, &a, &b) == 3) {
      out.certified.push_back(a);
      out.errors.push_back(b);
    } else if (std::sscanf(line.c_str(), "residual,,%lf", &a) == 1) {
      out.residual_sd = a;
    }
  }
  return out;
}

class Linear : public testing::TestWithParam<std::string> {};

TEST_P(Linear, ReachesTheCertifiedValues) {
  const LinearSet data = GetParam().rfind("wampler", 0) == 0 ? read_wampler(GetParam()) : read_linear(GetParam());
  ASSERT_GE(data.y.size(), 16u);
  ASSERT_EQ(data.rows[0].size(), data.certified.size());
  FitProblem problem;
  for (std::size_t j = 0; j < data.certified.size(); ++j) {
    problem.parameters.push_back({.name = "B" + std::to_string(j), .start = 0});
  }
  problem.residuals = Residuals::each(data.y.size(), [&]<class T>(std::size_t i, std::span<const T> b) -> T {
    T sum(data.y[i]);
    for (std::size_t j = 0; j < b.size(); ++j) sum = sum - data.rows[i][j] * b[j];
    return sum;
  });
  const FitResult result = fit(problem);
  ASSERT_TRUE(result.converged()) << name(result.report.status) << ": "
                                  << (result.messages.empty() ? "" : result.messages.back());
  double worst_value = 16, worst_error = 16;
  for (std::size_t j = 0; j < data.certified.size(); ++j) {
    const FittedParameter& b = result.parameters[j];
    ASSERT_TRUE(b.standard_error) << b.name << ": " << b.status;
    worst_value = std::min(worst_value, digits(b.value, data.certified[j]));
    if (data.errors[j] > 0) worst_error = std::min(worst_error, digits(*b.standard_error, data.errors[j]));
    // An exact polynomial: certified errors are zero, ours must be rounding.
    if (data.errors[j] == 0) {
      EXPECT_LT(*b.standard_error, 1e-6) << b.name;
    }
  }
  EXPECT_GE(worst_value, 6);
  EXPECT_GE(worst_error, 4);
  if (data.residual_sd > 0) {
    EXPECT_GE(digits(result.residual_sd, data.residual_sd), 6);
  }
  std::cout << "  " << std::left << std::setw(9) << GetParam() << std::setprecision(3) << worst_value
            << " digits, errors " << worst_error << ", " << result.report.steps << " steps, condition "
            << result.condition << "\n";
}
INSTANTIATE_TEST_SUITE_P(Nist, Linear, testing::Values("Norris", "Longley", "wampler1", "wampler4"),
                         [](const auto& tested) { return tested.param; });

}  // namespace
}  // namespace hardpan::fitting
