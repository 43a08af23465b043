// SPDX-License-Identifier: Apache-2.0
// Two-phase simplex on a dense tableau [Dantzig1963]. Free columns are brought into the basis first and stay there; their rows take
// no part in the ratio test. Steepest reduced cost first, and Bland's rule [Bland1977] once the objective has stood still, which
// ends cycling. The tableau's last column is the right-hand side, its last row the reduced costs.
#include "performance/detail/small_program.hpp"

#include <algorithm>
#include <cmath>

#include "base/assertion.hpp"

namespace hardpan::performance::detail {
namespace {

constexpr double kPivotTolerance = 1e-9;       // on tableau entries, of order 1
constexpr double kCostTolerance = 1e-10;       // on reduced costs, of order 1
constexpr double kFeasibilityTolerance = 1e-9; // on the sum of what the rows lack at the end of phase one
constexpr double kSlack = 1e-11;                // by which a right-hand side may be overstepped for a larger pivot
constexpr double kMostViolation = 1e-8;        // of a row or sign in an answer; more is no answer (out_of_steps)
constexpr int kMostSteps = 400;                // observed: 3 to 30
constexpr int kStepsBeforeBland = 60;

constexpr std::size_t kWidth = kMostColumns + kMostRows + 1;
constexpr std::size_t kArtificial = kWidth + 1;   // basis entries from here on are artificial; kWidth itself is none

struct Tableau {
  std::array<std::array<double, kWidth>, kMostRows + 1> t;   // not cleared: only [rows + 1] x [width + 1] is used
  std::array<std::size_t, kMostRows> basis{};
  std::array<bool, kMostRows> held{};          // a free column is basic in this row
  // Rows that nothing asks for any more: held, and of a column without cost (the answer is told from the rows as given). Not kept up.
  std::array<bool, kMostRows + 1> idle{};
  std::size_t rows = 0, width = 0;             // width: columns and slacks
  std::size_t first = 0;                       // columns before it are held: zero in every row that is kept up

  void pivot(std::size_t r, std::size_t c) {
    const double scale = 1 / t[r][c];
    for (std::size_t j = first; j <= width; ++j) t[r][j] *= scale;
    t[r][c] = 1;
    for (std::size_t i = 0; i <= rows; ++i) {
      if (i == r || idle[i]) continue;
      const double f = t[i][c];
      if (f == 0) continue;
      for (std::size_t j = first; j <= width; ++j) t[i][j] -= f * t[r][j];
      t[i][c] = 0;
    }
    basis[r] = c;
  }

  // Column to bring in, or `width` when none lowers the objective.
  [[nodiscard]] std::size_t entering(bool bland) const {
    std::size_t best = width;
    double lowest = -kCostTolerance;
    for (std::size_t j = first; j < width; ++j) {
      if (!(t[rows][j] < lowest)) continue;
      best = j;
      if (bland) break;
      lowest = t[rows][j];
    }
    return best;
  }

  // Row that limits the entering column, or `rows` when none does. Of the rows that limit it within a slack of the right-hand sides (Harris's
  // test) the one with the largest pivot; under Bland's rule the first limit and, of ties, the lowest basis index.
  [[nodiscard]] std::size_t leaving(std::size_t c, bool bland) const {
    const double slack = bland ? 1e-14 : kSlack;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < rows; ++i) {
      if (!held[i] && t[i][c] > kPivotTolerance) least = std::min(least, (std::max(0.0, t[i][width]) + slack) / t[i][c]);
    }
    std::size_t best = rows;
    for (std::size_t i = 0; i < rows; ++i) {
      if (held[i] || !(t[i][c] > kPivotTolerance) || std::max(0.0, t[i][width]) / t[i][c] > least) continue;
      if (best == rows || (bland ? basis[i] < basis[best] : t[i][c] > t[best][c])) best = i;
    }
    return best;
  }

  // Lowers the objective in the last row to its least. Returns optimal, unbounded or out_of_steps.
  ProgramStatus descend(int& steps) {
    for (int step = 0; step < kMostSteps; ++step) {
      const bool bland = step >= kStepsBeforeBland;
      const std::size_t c = entering(bland);
      if (c == width) return ProgramStatus::optimal;
      const std::size_t r = leaving(c, bland);
      if (r == rows) return ProgramStatus::unbounded;
      pivot(r, c);
      ++steps;
    }
    return ProgramStatus::out_of_steps;
  }
};

}  // namespace

void SmallProgram::reset(std::size_t columns) {
  HARDPAN_ASSERT(columns <= kMostColumns);
  columns_ = columns;
  row_count_ = 0;
  cost.fill(0);
  is_free.fill(false);
}

std::size_t SmallProgram::add_row(Kind kind, double bound) {
  HARDPAN_ASSERT(row_count_ < kMostRows);
  std::fill_n(rows_[row_count_].begin(), columns_, 0.0);
  bound_[row_count_] = bound;
  kind_[row_count_] = kind;
  return row_count_++;
}

std::size_t SmallProgram::add_row(Kind kind, double bound, std::initializer_list<double> coefficients) {
  const std::size_t row = add_row(kind, bound);
  std::copy(coefficients.begin(), coefficients.end(), rows_[row].begin());
  return row;
}

// The basic values of columns from the rows as given, by elimination with row exchange: free of what the pivots before have rounded away. A row whose own slack
// (or artificial) is basic tells only that slack and is left out. False: the basis is singular to rounding.
bool SmallProgram::solve_basis(const std::array<std::size_t, kMostRows>& basis, std::array<double, kMostRows>& values) const {
  std::array<bool, kMostRows> left_out{};
  std::array<std::size_t, kMostColumns + kMostRows> row_of_slack{};
  std::size_t slack = columns_;
  for (std::size_t i = 0; i < row_count_; ++i) {
    if (kind_[i] == Kind::at_most) row_of_slack[slack++] = i;
  }
  std::array<std::size_t, kMostRows> place{};   // of each basic column in the basis
  std::size_t n = 0;
  for (std::size_t k = 0; k < row_count_; ++k) {
    if (basis[k] < columns_) place[n++] = k;
    else left_out[basis[k] >= kArtificial ? basis[k] - kArtificial : row_of_slack[basis[k]]] = true;
  }
  if (n > kMostColumns) return false;
  std::array<std::array<double, kMostColumns + 1>, kMostColumns> m;   // only [n] x [n + 1] is used
  std::size_t used = 0;
  for (std::size_t i = 0; i < row_count_; ++i) {
    if (left_out[i]) continue;
    if (used == n) return false;
    for (std::size_t k = 0; k < n; ++k) m[used][k] = rows_[i][basis[place[k]]];
    m[used++][n] = bound_[i];
  }
  if (used != n) return false;
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t best = c;
    for (std::size_t i = c + 1; i < n; ++i) {
      if (std::abs(m[i][c]) > std::abs(m[best][c])) best = i;
    }
    if (!(std::abs(m[best][c]) > 1e-14)) return false;
    if (best != c) std::swap(m[best], m[c]);
    for (std::size_t i = c + 1; i < n; ++i) {
      const double f = m[i][c] / m[c][c];
      if (f == 0) continue;
      for (std::size_t j = c; j <= n; ++j) m[i][j] -= f * m[c][j];
    }
  }
  for (std::size_t c = n; c-- > 0;) {
    double sum = m[c][n];
    for (std::size_t j = c + 1; j < n; ++j) sum -= m[c][j] * values[place[j]];
    values[place[c]] = sum / m[c][c];
  }
  return true;
}

ProgramAnswer SmallProgram::solve() const {
  Tableau s;
  s.rows = row_count_;
  s.width = columns_;
  for (std::size_t i = 0; i < row_count_; ++i) s.width += kind_[i] == Kind::at_most ? 1 : 0;
  std::size_t slack = columns_;
  for (std::size_t i = 0; i < s.rows; ++i) {
    std::fill_n(s.t[i].begin(), s.width + 1, 0.0);
    std::copy_n(rows_[i].begin(), columns_, s.t[i].begin());
    if (kind_[i] == Kind::at_most) s.t[i][slack++] = 1;
    s.t[i][s.width] = bound_[i];
    s.basis[i] = kArtificial + i;
  }
  std::fill_n(s.t[s.rows].begin(), s.width + 1, 0.0);

  ProgramAnswer out;
  // Free columns into the basis, each in the row where it is largest.
  for (std::size_t j = 0; j < columns_; ++j) {
    if (!is_free[j]) continue;
    std::size_t row = s.rows;
    double largest = kPivotTolerance;
    for (std::size_t i = 0; i < s.rows; ++i) {
      if (!s.held[i] && std::abs(s.t[i][j]) > largest) {
        largest = std::abs(s.t[i][j]);
        row = i;
      }
    }
    if (row == s.rows) continue;   // in no row that is left: it stays at 0
    s.pivot(row, j);
    s.held[row] = true;
    s.idle[row] = cost[j] == 0;
    if (s.idle[row] && s.first == j) ++s.first;
    ++out.steps;
  }
  // Phase one: the least sum of what the other rows lack. A row whose own slack serves needs no artificial.
  for (std::size_t i = 0; i < s.rows; ++i) {
    if (s.held[i]) continue;
    if (s.t[i][s.width] < 0) {
      for (std::size_t j = 0; j <= s.width; ++j) s.t[i][j] = -s.t[i][j];
    }
    for (std::size_t j = columns_; j < s.width; ++j) {
      if (s.t[i][j] != 1) continue;
      bool alone = true;
      for (std::size_t k = 0; k < s.rows && alone; ++k) alone = k == i || s.t[k][j] == 0;
      if (alone) {
        s.basis[i] = j;
        break;
      }
    }
    if (s.basis[i] < kArtificial) continue;
    for (std::size_t j = 0; j <= s.width; ++j) s.t[s.rows][j] -= s.t[i][j];
  }
  ProgramStatus status = s.descend(out.steps);
  if (status == ProgramStatus::out_of_steps) return out;
  if (-s.t[s.rows][s.width] > kFeasibilityTolerance) {
    out.status = ProgramStatus::infeasible;
    return out;
  }
  // Artificials left at zero: driven out, or their row says nothing new.
  for (std::size_t i = 0; i < s.rows; ++i) {
    if (s.basis[i] < kArtificial) continue;
    std::size_t column = s.width;
    double largest = 1e-9;
    for (std::size_t j = 0; j < s.width; ++j) {
      if (std::abs(s.t[i][j]) > largest) {
        largest = std::abs(s.t[i][j]);
        column = j;
      }
    }
    if (column < s.width) {
      s.pivot(i, column);
      ++out.steps;
    } else {
      std::fill_n(s.t[i].begin(), s.width + 1, 0.0);
    }
  }
  // Phase two: reduced costs of the objective itself.
  std::fill_n(s.t[s.rows].begin(), s.width + 1, 0.0);
  for (std::size_t j = 0; j < columns_; ++j) s.t[s.rows][j] = cost[j];
  for (std::size_t i = 0; i < s.rows; ++i) {
    if (s.basis[i] >= columns_) continue;
    const double c = cost[s.basis[i]];
    if (c == 0) continue;
    for (std::size_t j = 0; j <= s.width; ++j) s.t[s.rows][j] -= c * s.t[i][j];
  }
  status = s.descend(out.steps);
  // A free column outside the basis may also fall.
  for (std::size_t j = 0; j < columns_ && status == ProgramStatus::optimal; ++j) {
    if (is_free[j] && s.t[s.rows][j] > kCostTolerance) status = ProgramStatus::unbounded;
  }
  out.status = status;
  if (status != ProgramStatus::optimal) return out;
  std::array<double, kMostRows> basic{};
  if (!solve_basis(s.basis, basic)) {
    for (std::size_t i = 0; i < s.rows; ++i) {
      if (s.idle[i]) {   // not kept up: no answer
        out.status = ProgramStatus::out_of_steps;
        return out;
      }
      basic[i] = s.t[i][s.width];
    }
  }
  for (std::size_t i = 0; i < s.rows; ++i) {
    if (s.basis[i] < columns_) out.x[s.basis[i]] = basic[i];
  }
  tell(out);
  return out;
}

void SmallProgram::tell(ProgramAnswer& out) const {
  out.value = 0;
  out.violation = 0;
  for (std::size_t j = 0; j < columns_; ++j) {
    out.value += cost[j] * out.x[j];
    if (!is_free[j]) out.violation = std::max(out.violation, -out.x[j]);
  }
  for (std::size_t i = 0; i < row_count_; ++i) {
    double sum = -bound_[i];
    for (std::size_t j = 0; j < columns_; ++j) sum += rows_[i][j] * out.x[j];
    out.violation = std::max(out.violation, kind_[i] == Kind::equal ? std::abs(sum) : sum);
  }
  if (!(out.violation <= kMostViolation)) out.status = ProgramStatus::out_of_steps;
}

Reduction::Reduction(const SmallProgram& p) : columns_(p.columns_) {
  for (std::size_t i = 0; i < p.row_count_; ++i) {
    if (p.kind_[i] != SmallProgram::Kind::equal) continue;
    std::copy_n(p.rows_[i].begin(), columns_, m_[equal_].begin());
    m_[equal_++][columns_] = p.bound_[i];
  }
  std::fill_n(told_.begin(), equal_, kMostColumns);
  std::array<bool, kMostColumns> gone{};
  for (;;) {
    std::size_t row = equal_, column = columns_;
    double largest = kPivotTolerance;
    for (std::size_t i = 0; i < equal_; ++i) {
      if (told_[i] != kMostColumns) continue;
      for (std::size_t j = 0; j < columns_; ++j) {
        if (p.is_free[j] && !gone[j] && std::abs(m_[i][j]) > largest) largest = std::abs(m_[i][j]), row = i, column = j;
      }
    }
    if (row == equal_) break;
    told_[row] = column;
    gone[column] = true;
    const double scale = 1 / m_[row][column];
    for (std::size_t j = 0; j <= columns_; ++j) m_[row][j] *= scale;
    for (std::size_t i = 0; i < equal_; ++i) {
      const double f = m_[i][column];
      if (i == row || f == 0) continue;
      for (std::size_t j = 0; j <= columns_; ++j) m_[i][j] -= f * m_[row][j];
    }
  }
  for (std::size_t j = 0; j < columns_; ++j) {
    if (!gone[j]) left_[left_count_++] = j;
  }
}

ProgramAnswer Reduction::solve(const SmallProgram& p) const {
  HARDPAN_ASSERT(p.columns_ == columns_);
  SmallProgram few;
  few.reset(left_count_);
  std::array<double, kMostColumns> row;
  double bound = 0;
  // Of all columns, told by those left.
  const auto reduce = [&](const std::array<double, kMostColumns>& of, double at_most) {
    bound = at_most;
    for (std::size_t k = 0; k < left_count_; ++k) row[k] = of[left_[k]];
    for (std::size_t i = 0; i < equal_; ++i) {
      const double f = told_[i] == kMostColumns ? 0 : of[told_[i]];
      if (f == 0) continue;
      for (std::size_t k = 0; k < left_count_; ++k) row[k] -= f * m_[i][left_[k]];
      bound -= f * m_[i][columns_];
    }
  };
  reduce(p.cost, 0);
  std::copy_n(row.begin(), left_count_, few.cost.begin());
  for (std::size_t k = 0; k < left_count_; ++k) few.is_free[k] = p.is_free[left_[k]];
  for (std::size_t i = 0; i < equal_; ++i) {   // what no free column takes up
    if (told_[i] != kMostColumns) continue;
    const std::size_t r = few.add_row(SmallProgram::Kind::equal, m_[i][columns_]);
    for (std::size_t k = 0; k < left_count_; ++k) few.rows_[r][k] = few.is_free[k] ? 0 : m_[i][left_[k]];
  }
  for (std::size_t i = 0; i < p.row_count_; ++i) {
    if (p.kind_[i] == SmallProgram::Kind::equal) continue;
    reduce(p.rows_[i], p.bound_[i]);
    const std::size_t r = few.add_row(SmallProgram::Kind::at_most, bound);
    std::copy_n(row.begin(), left_count_, few.rows_[r].begin());
  }
  const ProgramAnswer a = few.solve();
  ProgramAnswer out{.status = a.status, .steps = a.steps};
  if (a.status != ProgramStatus::optimal) return out;
  for (std::size_t k = 0; k < left_count_; ++k) out.x[left_[k]] = a.x[k];
  for (std::size_t i = 0; i < equal_; ++i) {
    if (told_[i] == kMostColumns) continue;
    double x = m_[i][columns_];
    for (std::size_t k = 0; k < left_count_; ++k) x -= m_[i][left_[k]] * a.x[k];
    out.x[told_[i]] = x;
  }
  p.tell(out);
  return out;
}

base::SolveStatus status_of(ProgramStatus status) {
  switch (status) {
    case ProgramStatus::optimal: return base::SolveStatus::converged;
    case ProgramStatus::infeasible: return base::SolveStatus::no_solution;
    case ProgramStatus::unbounded: return base::SolveStatus::not_finite;
    case ProgramStatus::out_of_steps: return base::SolveStatus::out_of_steps;
  }
  return base::SolveStatus::not_finite;
}

}  // namespace hardpan::performance::detail
