// SPDX-License-Identifier: Apache-2.0
// The report of one run: figures, tables and the one HTML file that carries both.
//
// The file opens offline, needs no scripts, prints on A4 and Letter, and is read from 360 px upward. It says what
// is missing: a partial campaign gives a shorter report with sentences in place of figures, never an empty one.
// The same results give the same bytes; only what stands in Provenance (times, seconds) differs between runs.
// Values are printed in the units the campaign asks for; the tables on their way to CSV and XLSX carry SI in full.
//
//   io::write_file("out/report.html", html(results));
//   for (const auto& [id, figure] : figures(results)) save(id, to_svg(figure, {}));
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "campaign/results.hpp"
#include "io/table.hpp"
#include "report/figure.hpp"

namespace hardpan::report {

// Id and figure, in the order of the report. What cannot be drawn is not in the list: html() says why.
[[nodiscard]] std::vector<std::pair<std::string, Figure>> figures(const campaign::Results& results);

// Id and SVG of the film strips of obstacles, drawn to scale and without axes.
[[nodiscard]] std::vector<std::pair<std::string, std::string>> films(const campaign::Results& results);

// Every table with at least one row, SI with the unit in the heading; names are good for files and sheets.
[[nodiscard]] std::vector<io::Table> tables(const campaign::Results& results);

[[nodiscard]] std::string html(const campaign::Results& results);

}  // namespace hardpan::report
