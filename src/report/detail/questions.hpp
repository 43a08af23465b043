// SPDX-License-Identifier: Apache-2.0
// Answers to a campaign's questions beyond requirements: sections, figures and tables, each question in a file of its own.
#pragma once

#include <string>
#include <vector>

#include "io/table.hpp"
#include "report/detail/draw.hpp"
#include "report/detail/parts.hpp"

namespace hardpan::report::detail {

// The intervals of one curve, the wider one first, where they have two places or more.
void add_bands(Panel& panel, BandSeries next_point, BandSeries average_ground);
// Every figure of these sections, and every table, on their way to files.
[[nodiscard]] std::vector<Figure> question_figures(const campaign::Results& results);
[[nodiscard]] std::vector<io::Table> question_tables(const campaign::Results& results);

// Sections, in the order of the document; nothing where the campaign does not ask.
void ride_part(Sheet& sheet);
void speed_part(Sheet& sheet);
void turn_part(Sheet& sheet);
void boulders_part(Sheet& sheet);
void endurance_part(Sheet& sheet);
void gravity_part(Sheet& sheet);
void studies_part(Sheet& sheet);

[[nodiscard]] std::vector<Figure> remote_figures(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> versus_figures(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> study_figures(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> ride_figures(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> turning_figures(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> boulders_figures(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> endurance_figures(const campaign::Results& results);
[[nodiscard]] std::vector<Figure> gravity_figures(const campaign::Results& results);
[[nodiscard]] io::Table obstacles_table(const campaign::Results& results);
[[nodiscard]] io::Table remote_table(const campaign::Results& results);
[[nodiscard]] io::Table versus_table(const campaign::Results& results);
[[nodiscard]] io::Table study_table(const campaign::Results& results);
[[nodiscard]] io::Table ride_table(const campaign::Results& results);
[[nodiscard]] io::Table speed_table(const campaign::Results& results);
[[nodiscard]] io::Table turning_table(const campaign::Results& results);
[[nodiscard]] io::Table boulders_table(const campaign::Results& results);
[[nodiscard]] io::Table endurance_table(const campaign::Results& results);
[[nodiscard]] io::Table gravity_table(const campaign::Results& results);

}  // namespace hardpan::report::detail
