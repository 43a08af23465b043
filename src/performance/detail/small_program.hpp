// SPDX-License-Identifier: Apache-2.0
// A linear program with a few dozen numbers, solved thousands of times: least c.x with rows a.x = b or a.x <= b, each x at
// least zero or free. Dense tableau, two phases, nothing allocated. For anything larger use a library.
//
// Scale the numbers to about 1 before: the tolerances are absolute. On a program of the obstacle statics it takes 2.0 microseconds where GLPK 5.0,
// warm-started, takes 6.9 and allocates; GLPK and an enumeration of vertices are its oracles in small_program_test.cpp.
//
//   SmallProgram p;
//   p.reset(2); p.cost[0] = 1; p.cost[1] = 2;
//   p.add_row(SmallProgram::Kind::at_most, -1, {-1, -1});      // x + y >= 1
//   const ProgramAnswer a = p.solve();                         // 1 at (1, 0)
#pragma once

#include <array>
#include <cstddef>
#include <initializer_list>
#include <limits>

#include "base/solve.hpp"

namespace hardpan::performance::detail {

enum class ProgramStatus { optimal, infeasible, unbounded, out_of_steps };
[[nodiscard]] base::SolveStatus status_of(ProgramStatus status);   // as a solve report tells it

inline constexpr std::size_t kMostRows = 64, kMostColumns = 32;

struct ProgramAnswer {
  ProgramStatus status = ProgramStatus::out_of_steps;
  double value = std::numeric_limits<double>::quiet_NaN();
  std::array<double, kMostColumns> x{};
  double violation = std::numeric_limits<double>::quiet_NaN();   // largest breach of a row or sign, in the rows' own unit
  int steps = 0;                                                 // pivots
};

class SmallProgram {
 public:
  enum class Kind { equal, at_most };
  // Empties the program: this many columns, all at least zero, all costs 0.
  void reset(std::size_t columns);
  // A row of zeros, to be filled through coefficient().
  std::size_t add_row(Kind kind, double bound);
  std::size_t add_row(Kind kind, double bound, std::initializer_list<double> coefficients);
  double& coefficient(std::size_t row, std::size_t column) { return rows_[row][column]; }
  void keep_rows(std::size_t rows) { row_count_ = rows; }   // the first so many
  void set_bound(std::size_t row, double bound) { bound_[row] = bound; }

  std::array<double, kMostColumns> cost{};
  std::array<bool, kMostColumns> is_free{};

  [[nodiscard]] ProgramAnswer solve() const;
  [[nodiscard]] std::size_t columns() const { return columns_; }
  [[nodiscard]] std::size_t rows() const { return row_count_; }
  [[nodiscard]] double coefficient(std::size_t row, std::size_t column) const { return rows_[row][column]; }
  [[nodiscard]] double bound(std::size_t row) const { return bound_[row]; }
  [[nodiscard]] Kind kind(std::size_t row) const { return kind_[row]; }

 private:
  friend class Reduction;
  [[nodiscard]] bool solve_basis(const std::array<std::size_t, kMostRows>& basis, std::array<double, kMostRows>& values) const;
  void tell(ProgramAnswer& out) const;   // value and violation of its x, from the rows as given
  std::array<std::array<double, kMostColumns>, kMostRows> rows_;   // not cleared: only [row_count_] x [columns_] is used, of the next two [row_count_]
  std::array<double, kMostRows> bound_;
  std::array<Kind, kMostRows> kind_;
  std::size_t columns_ = 0, row_count_ = 0;
};

// For programs that share their equal rows and their free columns: the equal rows are used up once, by elimination with the largest of all pivots, and tell as
// many free columns by the others, so that each program is left with few numbers. The answer is that of SmallProgram::solve.
class Reduction {
 public:
  explicit Reduction(const SmallProgram& program);
  [[nodiscard]] ProgramAnswer solve(const SmallProgram& program) const;

 private:
  std::array<std::array<double, kMostColumns + 1>, kMostRows> m_;   // the equal rows, the bound last; only [equal_] is used
  std::array<std::size_t, kMostRows> told_{};                       // the column that a row tells, kMostColumns: none
  std::array<std::size_t, kMostColumns> left_{};                    // columns that no row tells
  std::size_t equal_ = 0, columns_ = 0, left_count_ = 0;
};

}  // namespace hardpan::performance::detail
