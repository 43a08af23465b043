// SPDX-License-Identifier: Apache-2.0
// Lays out a new campaign folder and blank field sheets.
#pragma once

#include <string>
#include <vector>

namespace hardpan::service {

struct NewRequest {
  std::string folder;
  std::string name, where, who, when;   // when: ISO date, today where empty
  std::string gravity;                  // as typed, with unit
  std::vector<std::string> zones;       // at least one
};

// Writes the files of an empty campaign that passes check. Throws InputError when the folder exists and is not
// empty or a value cannot be read; EnvironmentError when it cannot be written.
[[nodiscard]] std::vector<std::string> new_campaign(const NewRequest& request);

// Blank sheets for every kind of test: sheets/field-sheets.html (one printable page a kind) and a CSV with
// the right headings a kind. Returns what was written.
[[nodiscard]] std::vector<std::string> blank_sheets(const std::string& folder);

// What can hurt someone in this kind of test, as its blank sheet says it; empty where it says nothing.
[[nodiscard]] std::string caution_of_sheet(const std::string& kind);

// Makes a folder and those above it. Throws EnvironmentError.
void make_folder(const std::string& path);

}  // namespace hardpan::service
