// SPDX-License-Identifier: Apache-2.0
// What the verbs of the command line share: the parser, the options of all, and where answers go.
// A verb is a struct with its options as members, add_to(CLI::App&) and int answer(const CommandLine&), the exit code.
// One that has kTellsFaults starts its own list of problems with line.faults(); for the others they are thrown before it.
#pragma once

#include <CLI/CLI.hpp>

#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "campaign/results.hpp"
#include "service/json_results.hpp"
#include "service/provenance.hpp"
#include "values.hpp"

namespace hardpan::cli {

// Results go to stdout; throws EnvironmentError where they cannot be written.
void put(const std::string& text);
// Talk goes to stderr.
void talk(const std::string& sentence);

class CommandLine {
 public:
  explicit CommandLine(std::stop_token stop_of_user);

  template <class Verb>
  void add_verb(const char* name) {
    add_verb(name, std::make_shared<Verb>());
  }
  template <class Verb>
  void add_verb(const char* name, std::shared_ptr<Verb> verb) {
    CLI::App* parser = add_parser(name);
    verb->add_to(*parser);
    parser->callback([this, verb] {
      action_ = [this, verb] {
        if constexpr (!requires { Verb::kTellsFaults; }) faults_.throw_if_refused();
        return verb->answer(*this);
      };
    });
  }

  // Parses, answers, and says what was refused. Exit codes as in main.cpp.
  int run(int argc, char** argv);

  // The answer of a verb that ran no campaign, as JSON or as text, with the remarks of the files it read. `problems`: of its options.
  void put_answer(base::Problems problems, const base::Problems& remarks, const std::function<io::Json()>& json_of, const std::function<std::string()>& text_of) const;
  void put_json(const base::Problems& problems, io::Json result) const;                                   // of a verb that ran no campaign
  void put_json(const base::Problems& problems, const campaign::Provenance& p, io::Json result) const;
  [[nodiscard]] std::string verb() const;
  // Options that are missing and words that are no option.
  [[nodiscard]] const base::Problems& faults() const { return faults_; }

  bool json = false;
  std::stop_token stop;

 private:
  CLI::App* add_parser(const char* name);
  std::optional<int> parse(int argc, char** argv);  // an exit code where there is nothing to answer
  void find_faults();
  int refuse(const base::Problems& problems) const;
  void put_environment(const base::EnvironmentError& e) const;
  [[nodiscard]] campaign::Provenance provenance() const;

  CLI::App app_;
  std::function<int()> action_;
  std::vector<CLI::Option*> required_;
  base::Problems faults_;
  service::Stopwatch watch_;
};

void add_campaign_verbs(CommandLine& line);  // new plan check ground drawbar predict validate report run changes pack
void add_soil_verbs(CommandLine& line);      // wheel climb
void add_way_verbs(CommandLine& line);       // gravity ride boulders endurance study
void add_vehicle_verbs(CommandLine& line);   // tipover obstacle stopping
void add_slope_verb(CommandLine& line);      // slope
void add_turn_verb(CommandLine& line);       // turn
void add_weights_verb(CommandLine& line);    // weights

}  // namespace hardpan::cli
