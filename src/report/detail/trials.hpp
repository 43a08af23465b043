// SPDX-License-Identifier: Apache-2.0
// Vehicle trials in the report: obstacles, turns, remote runs, runs over ways, ruts by pass, two vehicles in turn.
#pragma once

#include <optional>
#include <vector>

#include "report/detail/parts.hpp"

namespace hardpan::report::detail {

void trial_results(Sheet& sheet);      // inside the results section
void trial_comparisons(Sheet& sheet);  // inside the validation section
void way_run_results(Sheet& sheet);    // of both the part on runs over drive profiles, among rocks, over rough ground
void way_run_comparisons(Sheet& sheet);
[[nodiscard]] std::vector<io::Table> trial_tables(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> trial_figures(const campaign::Results& results);

// Nothing where there is too little to draw.
[[nodiscard]] std::optional<Figure> remote_figure(const campaign::Results& results, const records::RemoteCourse& course);
[[nodiscard]] std::optional<Figure> turn_figure(const campaign::Results& results, const records::TurnLimits& turns);
[[nodiscard]] std::optional<Figure> rough_figure(const campaign::Results& results, const records::RoughRuns& runs);
[[nodiscard]] std::optional<Figure> rut_figure(const campaign::Results& results, const validation::RutByPass& rut);

// "0.52 m/s (0.48 to 0.55 m/s)": the mean with its interval over runs; "-" without one.
[[nodiscard]] std::string mean_and_next(const Printer& print, const std::optional<math::Estimate>& estimate, Measure measure);
// A column that no row tells anything in is left out.
void drop_untold(Grid& grid, std::size_t column);

// What the turns of a group were compared with; nothing where they were not.
[[nodiscard]] const validation::TurnComparison* compared_turn(const campaign::Results& results, const records::TurnLimits& turns);

}  // namespace hardpan::report::detail
