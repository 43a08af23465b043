// SPDX-License-Identifier: Apache-2.0
// How the report tells of studies: units, words and margins, the same in curves, maps and tables.
#pragma once

#include <optional>
#include <string>

#include "performance/study.hpp"
#include "report/detail/draw.hpp"

namespace hardpan::report::detail {

[[nodiscard]] std::string capital(std::string text);
[[nodiscard]] Measure measure_of(performance::Studied quantity);
[[nodiscard]] Measure measure_of(performance::Varied what);
[[nodiscard]] std::string short_name(performance::Studied quantity);  // on axes: "Maximum gradient"

// At a speed a vehicle that is not immobilised may still not go so fast.
[[nodiscard]] std::string spoken(const performance::Study& study, std::string text);
// The unit that was typed, where the campaign's own are SI.
[[nodiscard]] units::Unit unit_of(const Printer& print, const performance::Variation& variation);
[[nodiscard]] std::string text_of(const Printer& print, const performance::Variation& variation, double si);
// The unit that suits all values of the quantity.
[[nodiscard]] units::Unit unit_of(const Printer& print, const performance::Study& study);

// Numbers without their unit, or a word.
[[nodiscard]] std::string value_text(const performance::Study& study, const units::Unit& unit, double si);
[[nodiscard]] std::string margin_text(const performance::Study& study, const units::Unit& unit, const std::optional<double>& margin_si);
[[nodiscard]] std::string margin_of(const performance::Study& study, const units::Unit& unit, const performance::StudyCell& cell);

// Of two parameters: the first across, the second upward, cells of the margin to what is needed, else of the quantity.
[[nodiscard]] Figure study_map(const campaign::Results& results, const performance::Study& study, std::size_t number);

}  // namespace hardpan::report::detail
