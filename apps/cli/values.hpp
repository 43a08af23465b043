// SPDX-License-Identifier: Apache-2.0
// Values with units given as options, and the options that describe a soil.
#pragma once

#include <CLI/CLI.hpp>

#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "base/problems.hpp"
#include "service/quick.hpp"
#include "units/print.hpp"
#include "units/unit.hpp"

namespace hardpan::cli {

// Reads values with units; what is wrong with them is collected.
class Values {
 public:
  // `examples`: of options that mean something else in this verb than in others, "'4 m'" by "radius".
  explicit Values(base::Problems& problems, std::map<std::string, std::string> examples = {}) : problems_(problems), examples_(std::move(examples)) {}
  // In SI; nothing where the text is empty or refused.
  std::optional<double> get(const std::string& option, const std::string& text, units::Dimension dimension);
  // The unit a value was typed in, for answers in the same one.
  static std::optional<units::Unit> unit(const std::string& text, units::Dimension dimension);
  // The same; that of SI where nothing was typed.
  static units::Unit unit_or_si(const std::string& text, units::Dimension dimension);
  // Rows "500 N: 8 mm" of --deflection as (N, m), from the unloaded wheel, which is put in front where it is not typed.
  std::vector<std::pair<double, double>> deflection(const std::vector<std::string>& rows);
  // Half of a pair says nothing: taken silently it would look like an answer to it.
  void needs(const char* one, bool one_given, const char* other, bool other_given);
  // Nothing more is said of this option: it follows from what was refused.
  void spoken_for(const std::string& option) { spoken_for_.insert(option); }
  // Asks the service even where values were refused, with stand-ins for them, so that all is told at once. Throws InputError.
  template <class Ask>
  auto answer(Ask&& ask) {
    std::optional<decltype(ask())> result;
    try {
      result = ask();
    } catch (const base::InputError& e) {
      take(e.problems());
    }
    problems_.throw_if_refused();
    return *std::move(result);
  }

 private:
  // The service's refusals, with values as they were typed, but not those of stand-ins.
  void take(const base::Problems& found);
  // As it was typed; a share typed without its % is named.
  void quote(base::Problem& problem) const;
  [[nodiscard]] std::string example_for(const std::string& option, units::Dimension dimension) const;
  [[nodiscard]] std::string with_example(const std::string& option, const std::string& text, units::Dimension dimension, const std::string& remedy) const;

  base::Problems& problems_;
  std::map<std::string, std::string> examples_;
  std::map<std::string, std::vector<std::string>> typed_;  // by option, "--load"
  std::set<std::string> spoken_for_;
};

// Texts of `words` in any case; what they are is typed into the option as it stands here.
[[nodiscard]] CLI::Validator one_of(const std::vector<std::string>& words);
[[nodiscard]] CLI::Validator whole_number(long least, long most);

// --units. Not given: SI, with what is needed and masses as they were typed.
struct UnitsOption {
  void add_to(CLI::App& app, const std::string& what = "SI or US");
  [[nodiscard]] bool given() const { return option_ != nullptr && option_->count() > 0; }
  [[nodiscard]] units::OutputUnits units() const { return text_ == "US" ? units::OutputUnits::us : units::OutputUnits::si; }
  // In which unit a value that was typed is told: as it was typed; with --units in one of its system, unless both systems have the same.
  struct ToldIn {
    units::Unit unit;
    int digits = 6;  // fewer where it is converted
  };
  // `size_si`: of a length it chooses between mm and m, in and ft.
  [[nodiscard]] ToldIn told_in(const std::string& typed, units::Dimension dimension, double size_si = 1) const;

 private:
  std::string text_ = "SI";
  const CLI::Option* option_ = nullptr;
};

struct SoilOptions {
  std::string soil, k, cohesion, friction, density, adhesion, interface_friction;
  std::optional<double> n, kc, kphi, c1, c2, c1_braking, c2_braking, exit_ratio, slip_exponent, surface_friction, reload_k0, reload_au;
  std::string slip_sinkage = "stretch";

  void add_to(CLI::App& app);
  [[nodiscard]] bool whole() const { return n && kc && kphi && !cohesion.empty() && !friction.empty(); }  // a soil of numbers alone
  [[nodiscard]] service::SoilRequest request(Values& values) const;
  [[nodiscard]] soil::SlipSinkage rule() const;
};

}  // namespace hardpan::cli
