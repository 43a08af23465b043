// SPDX-License-Identifier: Apache-2.0
#include "command_line.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <map>

#include "base/solve.hpp"
#include "base/version.hpp"
#include "help.hpp"
#include "print.hpp"

namespace hardpan::cli {

void put(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0) {
    throw base::EnvironmentError("cannot write to standard output: is the disk full or the reader gone?");
  }
}

void talk(const std::string& sentence) { std::fprintf(stderr, "%s\n", sentence.c_str()); }

CommandLine::CommandLine(std::stop_token stop_of_user)
    : stop(std::move(stop_of_user)),
      app_("Hardpan: from field records of soil and vehicle tests to a defended answer.\n"
           "Values carry units: --load '110 lbf' --slip '20 %'. Every verb takes --json; results go to stdout, talk to stderr.") {
  app_.formatter(std::make_shared<VerbHelp>());
  app_.require_subcommand(1);
  app_.set_version_flag("--version", base::kVersion);
}

CLI::App* CommandLine::add_parser(const char* name) {
  CLI::App* parser = app_.add_subcommand(name, help_of(name));
  parser->group("Verbs");
  parser->allow_extras();  // told by find_faults, together with what else is wrong
  parser->add_flag("--json", json, "print the result as JSON (SI, unit in every key)");
  return parser;
}

std::string CommandLine::verb() const { return app_.get_subcommands().front()->get_name(); }

// Of an answer without a campaign: the options as typed stand for its settings.
campaign::Provenance CommandLine::provenance() const {
  campaign::Provenance p = watch_.started();
  for (const CLI::Option* option : app_.get_subcommands().front()->get_options()) {
    if (option->count() == 0 || option->get_name() == "--json") continue;
    std::string typed;
    for (const std::string& value : option->results()) typed += (typed.empty() ? "" : ", ") + value;
    p.settings.emplace_back(option->get_name(), typed);
  }
  return watch_.stop(std::move(p));
}

namespace {

// The solve reports of an answer, counted.
struct Solves {
  std::size_t converged = 0, closed = 0;
  double evaluations = 0, worst_ratio = 0;          // residual over tolerance of those that converged
  std::map<std::string, std::size_t> others;        // by status

  void add(const io::Json& report) {
    if (report.text() == "closed form") ++closed;
    const io::Json* status = report.find("status");
    if (!status || !status->text()) return;
    if (const io::Json* n = report.find("evaluations")) evaluations += n->number().value_or(0);
    if (*status->text() != base::name(base::SolveStatus::converged)) {
      ++others[*status->text()];
      return;
    }
    ++converged;
    double residual = 0, tolerance = 0;
    for (const auto& [key, value] : report.members()) {
      if (key.starts_with("residual_")) residual = value.number().value_or(0);
      if (key.starts_with("tolerance_")) tolerance = value.number().value_or(0);
    }
    if (tolerance > 0) worst_ratio = std::max(worst_ratio, std::abs(residual) / tolerance);
  }
  void collect(const io::Json& at) {
    for (const auto& [key, value] : at.members()) {
      if (key == "solve" || key.ends_with("_solve")) add(value);
      else collect(value);
    }
    for (const io::Json& item : at.items()) collect(item);
  }
};

// "Solved numerically: 12 converged, residuals at most 0.41 of their tolerances, 340 evaluations."
std::string solves_text(const io::Json& answer) {
  Solves s;
  s.collect(answer);
  if (s.converged == 0 && s.others.empty()) return s.closed > 0 ? "  Solved in closed form.\n" : "";
  std::string out = "  Solved numerically: ";
  if (s.converged > 0) out += fmt::format("{} converged, {}, ", s.converged, s.worst_ratio > 0 ? fmt::format("residuals at most {:.2g} of their tolerances", s.worst_ratio) : "residuals 0");
  for (const auto& [status, count] : s.others) out += fmt::format("{} {}, ", count, status);
  return out + fmt::format("{:.0f} evaluations; --json has each report.\n", s.evaluations);
}

}  // namespace

void CommandLine::put_answer(base::Problems problems, const base::Problems& remarks, const std::function<io::Json()>& json_of, const std::function<std::string()>& text_of) const {
  problems.add(remarks);
  if (json) put_json(problems, json_of());
  else put(text_of() + solves_text(json_of()) + problems_text(problems));
}

void CommandLine::put_json(const base::Problems& problems, io::Json result) const { put_json(problems, provenance(), std::move(result)); }

void CommandLine::put_json(const base::Problems& problems, const campaign::Provenance& p, io::Json result) const {
  put(service::envelope(verb(), "done", problems, p, std::move(result)).dump() + "\n");
}

int CommandLine::refuse(const base::Problems& problems) const {
  if (json) put(service::envelope(verb(), "refused", problems, provenance(), {}).dump() + "\n");
  std::fputs(problems_text(problems).c_str(), stderr);
  return 2;
}

namespace {

// The example that the help of an option shows in quotes; empty where it has none.
std::string example_of(const std::string& help) {
  const std::size_t from = help.find('\''), to = from == std::string::npos ? from : help.find('\'', from + 1);
  return to == std::string::npos ? "" : help.substr(from, to - from + 1);
}

// What the parser says of a single option, in our words.
base::Problem option_fault(const CLI::ParseError& e) {
  const std::string said = e.what();
  if (const std::string lead = "Could not convert: "; said.starts_with(lead)) {
    const std::size_t equals = said.find(" = ");
    return {.place = {.key = said.substr(lead.size(), equals - lead.size())}, .what = "takes a number without unit", .value = equals == std::string::npos ? "" : said.substr(equals + 3)};
  }
  const std::size_t colon = said.find(": ");
  if (colon == std::string::npos) return {.what = said};
  const std::string what = said.substr(colon + 2);
  const bool missing = what.ends_with("missing"), often = what.starts_with("At Most");
  return {.place = {.key = said.substr(0, colon)}, .what = missing ? "no value follows it" : often ? "given more than once" : what};
}

}  // namespace

void CommandLine::find_faults() {
  CLI::App* parser = app_.get_subcommands().front();
  std::vector<std::string> options;
  for (const CLI::Option* option : parser->get_options()) {
    if (!option->get_positional()) options.push_back(option->get_name());
  }
  bool of_unknown = false;  // words after an option that is none are its values
  for (const std::string& word : parser->remaining()) {
    const bool option = word.starts_with("--");
    if (option) {
      const std::string nearest = nearest_option(options, word.substr(0, word.find('=')));
      faults_.refuse({.place = {.key = word}, .what = "there is no such option of '" + verb() + "'",
                      .remedy = (nearest.empty() ? "" : "did you mean " + nearest + "? ") + "'hardpan " + verb() + " --help' lists them"});
    } else if (!of_unknown) {
      faults_.refuse({.place = {.key = '"' + word + '"'}, .what = "belongs to no option", .remedy = "a value of several words stands in quotes, as '110 lbf'"});
    }
    of_unknown = option || of_unknown;
  }
  for (const CLI::Option* option : required_) {
    const auto own = parser->get_options();
    if (option->count() > 0 || std::find(own.begin(), own.end(), option) == own.end()) continue;
    const std::string example = example_of(option->get_description()), name = option->get_name();
    faults_.refuse({.place = {.key = name}, .what = "not given", .remedy = example.empty() ? "what it takes: " + option->get_description() : "for example " + name + " " + example});
  }
}

std::optional<int> CommandLine::parse(int argc, char** argv) {
  const std::vector<std::string> typed(argv + 1, argv + argc);
  const auto has = [&](const char* word) { return std::find(typed.begin(), typed.end(), word) != typed.end(); };
  if (!has("--help") && !has("-h")) {  // the help marks them
    for (CLI::App* parser : app_.get_subcommands([](const CLI::App*) { return true; })) {
      for (CLI::Option* option : parser->get_options()) {
        if (!option->get_required()) continue;
        option->required(false);
        required_.push_back(option);
      }
    }
  }
  try {
    app_.parse(argc, argv);
    if (!app_.get_subcommands().empty()) find_faults();
  } catch (const CLI::ParseError& e) {
    if (e.get_exit_code() != 0 && !app_.get_subcommands().empty()) {
      json = has("--json");
      faults_.refuse(option_fault(e));
      find_faults();
      return refuse(faults_);
    }
    if (argc > 1 && typed.front().starts_with("-") && e.get_exit_code() != 0) {
      std::fprintf(stderr, "There is no option \"%s\" before the verb. 'hardpan --help' lists verbs and options.\n", argv[1]);
      return 2;
    }
    if (app_.get_subcommands().empty() && argc > 1 && argv[1][0] != '-') {
      const std::string nearest = nearest_verb(app_, argv[1]);
      std::fprintf(stderr, "There is no verb \"%s\".%s 'hardpan --help' lists them.\n", argv[1], nearest.empty() ? "" : (" Did you mean \"" + nearest + "\"?").c_str());
      return 2;
    }
    if (argc == 1) {
      std::fputs("No verb is given, for example 'hardpan check DIR'. 'hardpan --help' lists them.\n", stderr);
      return 2;
    }
    const int code = app_.exit(e);  // help and version print to stdout and are 0
    if (code == 0 && !std::cout.flush()) throw base::EnvironmentError("cannot write to standard output: is the disk full or the reader gone?");
    return code == 0 ? 0 : 2;
  }
  return std::nullopt;
}

void CommandLine::put_environment(const base::EnvironmentError& e) const {
  base::Problems problems;
  problems.refuse({.what = e.what()});
  try {
    put(service::envelope(verb(), "environment", problems, provenance(), {}).dump() + "\n");
  } catch (const base::EnvironmentError&) {  // standard output itself fails: stderr says it
  }
}

int CommandLine::run(int argc, char** argv) {
  try {
    if (const auto code = parse(argc, argv)) return *code;
    return action_();
  } catch (const base::InputError& e) {
    return refuse(e.problems());
  } catch (const base::EnvironmentError& e) {
    if (json && !app_.get_subcommands().empty()) put_environment(e);
    std::fprintf(stderr, "%s\n", e.what());
    return 4;
  }
}

}  // namespace hardpan::cli
