// SPDX-License-Identifier: Apache-2.0
// What 'hardpan VERB --help' says, the look of the list of verbs, and the verb meant by a slip of the finger.
#pragma once

#include <CLI/CLI.hpp>

#include <string>
#include <vector>

namespace hardpan::cli {

[[nodiscard]] const char* help_of(const std::string& verb);

// The list of verbs is one line a verb; "verb" is the word for them everywhere.
class VerbHelp : public CLI::Formatter {
 public:
  VerbHelp();
  std::string make_subcommand(const CLI::App* verb) const override;
};

// The verb that is at most two slips of the finger away; exchanged neighbours count as one. Empty: none.
[[nodiscard]] std::string nearest_verb(const CLI::App& app, const std::string& typed);
// The same of options; else one that the typed word begins, or that begins it.
[[nodiscard]] std::string nearest_option(const std::vector<std::string>& options, const std::string& typed);

}  // namespace hardpan::cli
