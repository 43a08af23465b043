// SPDX-License-Identifier: Apache-2.0
// What is wrong with the input, collected so that a user sees everything at once.
//
// Readers and validators append to a Problems list. A *refusal* means that nothing may run;
// a *remark* means that something was set aside, counted and named, and the run goes on.
// Whoever drives the checking throws one InputError at the end when there is a refusal.
// Not for mistakes of our own (HARDPAN_ASSERT) nor for numerical outcomes (SolveReport).
//
//   Problems problems;
//   problems.refuse({.place = {.file = "records/a.csv", .line = 12}, .what = "load is not a number",
//                    .value = "12,,5", .remedy = "type one number with one decimal sign"});
//   problems.throw_if_refused();
#pragma once

#include <cstddef>
#include <exception>
#include <string>
#include <vector>

namespace hardpan::base {

// Where in the input: a file with a line (1-based, 0 = none) and column (1-based, 0 = none), or
// a file with a key such as "record[2].unit"; all parts may be empty.
struct Place {
  std::string file;
  std::size_t line = 0;
  std::size_t column = 0;
  std::string key;

  [[nodiscard]] std::string text() const;  // "records/a.csv:12:3" or "campaign.toml: record[2].unit"
  bool operator==(const Place&) const = default;
};

enum class Severity { refusal, remark };
[[nodiscard]] const char* name(Severity severity);

struct Problem {
  Severity severity = Severity::refusal;
  Place place;
  std::string what;    // the fact, in one clause: "load cell reading is at the end of its range"
  std::string value;   // what was found, as typed; may be empty
  std::string bound;   // what is accepted; may be empty
  std::string remedy;  // what to do; may be empty
  std::size_t count = 1;  // how many rows or cells the problem stands for

  [[nodiscard]] std::string text() const;  // one line, without the severity
};

class Problems {
 public:
  void refuse(Problem problem);
  void remark(Problem problem);
  void add(const Problems& other);
  // Refusals of one file that say the same of the same value are told once: at the first line, with their number.
  void merge_alike();

  [[nodiscard]] const std::vector<Problem>& list() const { return list_; }
  [[nodiscard]] bool refused() const;
  [[nodiscard]] std::size_t count(Severity severity) const;
  void throw_if_refused() const;  // throws InputError

 private:
  std::vector<Problem> list_;
};

// Carries every problem found. Caught only in apps and service.
class InputError : public std::exception {
 public:
  explicit InputError(Problems problems);
  [[nodiscard]] const char* what() const noexcept override { return text_.c_str(); }
  [[nodiscard]] const Problems& problems() const { return problems_; }

 private:
  Problems problems_;
  std::string text_;
};

// The surroundings fail: disk full, folder read-only, campaign locked by another run. Exit code 4.
class EnvironmentError : public std::exception {
 public:
  explicit EnvironmentError(std::string sentence) : text_(std::move(sentence)) {}
  [[nodiscard]] const char* what() const noexcept override { return text_.c_str(); }

 private:
  std::string text_;
};

}  // namespace hardpan::base
