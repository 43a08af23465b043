// SPDX-License-Identifier: Apache-2.0
// Cells of a sheet that hold one of a few words; for the readers of sheets alone.
#pragma once

#include <fmt/core.h>

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "formats/detail/record_entry.hpp"
#include "io/toml.hpp"

namespace hardpan::formats::detail {

// One of the words a cell may hold, or a refusal that lists them; a blank cell is `blank`, where there is one.
template <class T>
std::optional<T> word(const RecordEntry& entry, const Sheet& sheet, const char* role, std::size_t row, const std::vector<std::pair<std::string, T>>& words,
                      std::optional<T> blank, base::Problems& problems) {
  const std::string typed = plain_heading(sheet.text(role, row));
  if (typed.empty() && blank) return blank;
  std::string list;
  std::vector<std::string> known;
  for (const auto& [text, value] : words) {
    if (plain_heading(text) == typed) return value;
    list += (list.empty() ? "" : ", ") + text;
    known.push_back(text);
  }
  const auto near = io::nearest_word(typed, known);
  problems.refuse({.place = {.file = entry.file, .line = sheet.line[row]}, .what = fmt::format("{} is not one of the words", role), .value = sheet.text(role, row), .bound = list,
                   .remedy = near ? "did you mean " + *near + "?" : "use one of them"});
  return std::nullopt;
}

// Judges the words of a column where the sheet is refused for its numbers, so that both are told at once.
template <class T>
void judge_words(const RecordEntry& entry, const Sheet& sheet, const char* role, const std::vector<std::pair<std::string, T>>& words, std::optional<T> blank, base::Problems& problems) {
  for (std::size_t r = 0; r < sheet.line.size(); ++r) static_cast<void>(word<T>(entry, sheet, role, r, words, blank, problems));
}

}  // namespace hardpan::formats::detail
