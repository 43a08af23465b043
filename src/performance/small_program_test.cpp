// SPDX-License-Identifier: Apache-2.0
// The small solver against GLPK and against an enumeration of every vertex.
#include "performance/detail/small_program.hpp"

#include <glpk.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <memory>
#include <optional>
#include <vector>

namespace hardpan::performance::detail {
namespace {

using Kind = SmallProgram::Kind;

struct Glpk {
  ProgramStatus status = ProgramStatus::out_of_steps;
  double value = 0;
};
Glpk by_glpk(const SmallProgram& p) {
  glp_term_out(GLP_OFF);
  const std::unique_ptr<glp_prob, void (*)(glp_prob*)> problem(glp_create_prob(), glp_delete_prob);
  const int rows = static_cast<int>(p.rows()), columns = static_cast<int>(p.columns());
  glp_set_obj_dir(problem.get(), GLP_MIN);
  glp_add_rows(problem.get(), rows);
  glp_add_cols(problem.get(), columns);
  for (int j = 0; j < columns; ++j) {
    const auto c = static_cast<std::size_t>(j);
    glp_set_col_bnds(problem.get(), j + 1, p.is_free[c] ? GLP_FR : GLP_LO, 0, 0);
    glp_set_obj_coef(problem.get(), j + 1, p.cost[c]);
  }
  for (int i = 0; i < rows; ++i) {
    const auto r = static_cast<std::size_t>(i);
    glp_set_row_bnds(problem.get(), i + 1, p.kind(r) == Kind::equal ? GLP_FX : GLP_UP, p.bound(r), p.bound(r));
    std::vector<int> index{0};
    std::vector<double> value{0};
    for (std::size_t j = 0; j < p.columns(); ++j) {
      if (p.coefficient(r, j) == 0) continue;
      index.push_back(static_cast<int>(j) + 1);
      value.push_back(p.coefficient(r, j));
    }
    glp_set_mat_row(problem.get(), i + 1, static_cast<int>(index.size()) - 1, index.data(), value.data());
  }
  glp_smcp settings;
  glp_init_smcp(&settings);
  settings.msg_lev = GLP_MSG_OFF;
  settings.presolve = GLP_ON;   // tells infeasible from unbounded
  const int end = glp_simplex(problem.get(), &settings);
  if (end == GLP_ENOPFS) return {ProgramStatus::infeasible, 0};
  if (end == GLP_ENODFS) return {ProgramStatus::unbounded, 0};
  switch (glp_get_status(problem.get())) {
    case GLP_OPT: return {ProgramStatus::optimal, glp_get_obj_val(problem.get())};
    case GLP_NOFEAS: return {ProgramStatus::infeasible, 0};
    case GLP_UNBND: return {ProgramStatus::unbounded, 0};
    default: return {};
  }
}

// Solves n equations by Cramer-free elimination; nothing when they are dependent.
std::optional<std::vector<double>> solve(std::vector<std::vector<double>> m) {
  const std::size_t n = m.size();
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t best = c;
    for (std::size_t i = c; i < n; ++i) best = std::abs(m[i][c]) > std::abs(m[best][c]) ? i : best;
    if (std::abs(m[best][c]) < 1e-9) return std::nullopt;
    std::swap(m[best], m[c]);
    for (std::size_t i = 0; i < n; ++i) {
      if (i == c) continue;
      const double f = m[i][c] / m[c][c];
      for (std::size_t j = 0; j <= n; ++j) m[i][j] -= f * m[c][j];
    }
  }
  std::vector<double> x(n);
  for (std::size_t i = 0; i < n; ++i) x[i] = m[i][n] / m[i][i];
  return x;
}

// Least value over every vertex of a program whose columns are all at least zero and bounded: each choice of as many tight
// conditions (rows, signs) as there are columns.
std::optional<double> by_vertices(const SmallProgram& p) {
  const std::size_t n = p.columns(), conditions = p.rows() + n;
  std::optional<double> least;
  for (unsigned mask = 0; mask < (1U << conditions); ++mask) {
    if (static_cast<std::size_t>(__builtin_popcount(mask)) != n) continue;
    std::vector<std::vector<double>> m;
    for (std::size_t i = 0; i < conditions; ++i) {
      if (!((mask >> i) & 1U)) continue;
      std::vector<double> row(n + 1, 0);
      for (std::size_t j = 0; j < n; ++j) row[j] = i < p.rows() ? p.coefficient(i, j) : (j == i - p.rows() ? 1 : 0);
      row[n] = i < p.rows() ? p.bound(i) : 0;
      m.push_back(row);
    }
    const auto x = solve(m);
    if (!x) continue;
    bool good = true;
    double value = 0;
    for (std::size_t j = 0; j < n; ++j) {
      good = good && (*x)[j] >= -1e-9;
      value += p.cost[j] * (*x)[j];
    }
    for (std::size_t i = 0; i < p.rows() && good; ++i) {
      double sum = -p.bound(i);
      for (std::size_t j = 0; j < n; ++j) sum += p.coefficient(i, j) * (*x)[j];
      good = p.kind(i) == Kind::equal ? std::abs(sum) <= 1e-9 : sum <= 1e-9;
    }
    if (good && (!least || value < *least)) least = value;
  }
  return least;
}

TEST(SmallProgram, SolvesATextbookProgram) {
  // Most 3 x + 5 y with x <= 4, 2 y <= 12, 3 x + 2 y <= 18: 36 at (2, 6) [Dantzig1963 in kind; the numbers by hand from the three corners].
  SmallProgram p;
  p.reset(2);
  p.cost[0] = -3;
  p.cost[1] = -5;
  p.add_row(Kind::at_most, 4, {1, 0});
  p.add_row(Kind::at_most, 12, {0, 2});
  p.add_row(Kind::at_most, 18, {3, 2});
  const ProgramAnswer a = p.solve();
  ASSERT_EQ(a.status, ProgramStatus::optimal);
  EXPECT_NEAR(a.value, -36, 1e-12);
  EXPECT_NEAR(a.x[0], 2, 1e-12);
  EXPECT_NEAR(a.x[1], 6, 1e-12);
  EXPECT_LE(a.violation, 1e-12);
}

TEST(SmallProgram, TellsInfeasibleFromUnboundedAndFreeFromSigned) {
  SmallProgram p;
  p.reset(1);
  p.add_row(Kind::at_most, -1, {1});   // x <= -1
  EXPECT_EQ(p.solve().status, ProgramStatus::infeasible);
  p.is_free[0] = true;
  EXPECT_EQ(p.solve().status, ProgramStatus::optimal);
  p.cost[0] = 1;                       // x free downward
  EXPECT_EQ(p.solve().status, ProgramStatus::unbounded);
  p.cost[0] = -1;
  const ProgramAnswer a = p.solve();
  ASSERT_EQ(a.status, ProgramStatus::optimal);
  EXPECT_NEAR(a.x[0], -1, 1e-15);
}

// Beale's example, on which the steepest-cost rule alone goes round for ever; least -1/20 (Beale 1955, from memory; checked by vertices here).
TEST(SmallProgram, EndsWhereTheSteepestRuleCycles) {
  SmallProgram p;
  p.reset(4);
  p.cost[0] = -0.75;
  p.cost[1] = 150;
  p.cost[2] = -0.02;
  p.cost[3] = 6;
  p.add_row(Kind::at_most, 0, {0.25, -60, -0.04, 9});
  p.add_row(Kind::at_most, 0, {0.5, -90, -0.02, 3});
  p.add_row(Kind::at_most, 1, {0, 0, 1, 0});
  const ProgramAnswer a = p.solve();
  ASSERT_EQ(a.status, ProgramStatus::optimal);
  EXPECT_NEAR(a.value, -0.05, 1e-12);
  EXPECT_NEAR(by_vertices(p).value(), -0.05, 1e-9);
}

SmallProgram any_program(bool with_free, bool with_equal) {
  const auto number = [] { return *rc::gen::inRange(-40, 41) / 16.0; };
  SmallProgram p;
  const auto columns = static_cast<std::size_t>(*rc::gen::inRange(1, 5));
  p.reset(columns);
  for (std::size_t j = 0; j < columns; ++j) {
    p.cost[j] = number();
    p.is_free[j] = with_free && *rc::gen::inRange(0, 3) == 0;
  }
  for (int i = 0, rows = *rc::gen::inRange(1, 6); i < rows; ++i) {
    const std::size_t r = p.add_row(with_equal && *rc::gen::inRange(0, 3) == 0 ? Kind::equal : Kind::at_most, number());
    for (std::size_t j = 0; j < columns; ++j) p.coefficient(r, j) = *rc::gen::inRange(0, 4) == 0 ? 0 : number();
  }
  return p;
}

RC_GTEST_PROP(SmallProgram, AgreesWithGlpk, ()) {
  const SmallProgram p = any_program(true, true);
  const ProgramAnswer a = p.solve();
  const Glpk g = by_glpk(p);
  RC_LOG() << "ours " << static_cast<int>(a.status) << ' ' << a.value << ", GLPK " << static_cast<int>(g.status) << ' ' << g.value;
  if (a.status == ProgramStatus::optimal || g.status == ProgramStatus::optimal) {
    RC_ASSERT(a.status == g.status);
    RC_ASSERT(std::abs(a.value - g.value) <= 1e-6 * (1 + std::abs(g.value)));   // GLPK's own tolerance is 1e-7
    RC_ASSERT(a.violation <= 1e-8);
  } else {
    // Both say no. GLPK's presolver may call a program without any point "unbounded", and the other way round.
    RC_ASSERT(a.status != ProgramStatus::out_of_steps);
  }
  const ProgramAnswer reduced = Reduction(p).solve(p);
  RC_ASSERT((a.status == ProgramStatus::optimal) == (reduced.status == ProgramStatus::optimal));
  RC_ASSERT(reduced.status != ProgramStatus::out_of_steps);
  if (a.status == ProgramStatus::optimal) RC_ASSERT(std::abs(a.value - reduced.value) <= 1e-8 * (1 + std::abs(a.value)));
}

// One elimination serves programs that differ in other rows and in cost.
RC_GTEST_PROP(Reduction, ServesEveryProgramWithTheSameEqualRows, ()) {
  SmallProgram p = any_program(true, true);
  const Reduction reduction(p);
  const std::size_t rows = p.rows();
  for (int i = 0; i < 3; ++i) {
    p.keep_rows(rows);
    const std::size_t r = p.add_row(Kind::at_most, *rc::gen::inRange(-20, 20) / 8.0);
    for (std::size_t j = 0; j < p.columns(); ++j) p.coefficient(r, j) = *rc::gen::inRange(-20, 20) / 8.0;
    p.cost[0] = *rc::gen::inRange(-20, 20) / 8.0;
    const ProgramAnswer whole = p.solve(), reduced = reduction.solve(p);
    RC_ASSERT((whole.status == ProgramStatus::optimal) == (reduced.status == ProgramStatus::optimal));
    if (whole.status == ProgramStatus::optimal) RC_ASSERT(std::abs(whole.value - reduced.value) <= 1e-8 * (1 + std::abs(whole.value)));
  }
}

RC_GTEST_PROP(SmallProgram, AgreesWithTheBestVertex, ()) {
  SmallProgram p = any_program(false, true);
  // A box makes it bounded, so that a vertex is the answer wherever there is one.
  for (std::size_t j = 0, n = p.columns(); j < n; ++j) {
    const std::size_t r = p.add_row(Kind::at_most, 3);
    p.coefficient(r, j) = 1;
  }
  const ProgramAnswer a = p.solve();
  const auto least = by_vertices(p);
  RC_ASSERT(a.status == (least ? ProgramStatus::optimal : ProgramStatus::infeasible));
  if (least) RC_ASSERT(std::abs(a.value - *least) <= 1e-8 * (1 + std::abs(*least)));
}

}  // namespace
}  // namespace hardpan::performance::detail
