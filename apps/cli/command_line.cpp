// SPDX-License-Identifier: Apache-2.0
#include "command_line.hpp"

#include <cstdio>
#include <iostream>

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

void CommandLine::put_json(const base::Problems& problems, io::Json result) const { put_json(problems, provenance(), std::move(result)); }

void CommandLine::put_json(const base::Problems& problems, const campaign::Provenance& p, io::Json result) const {
  put(service::envelope(verb(), "done", problems, p, std::move(result)).dump() + "\n");
}

int CommandLine::refuse(const base::Problems& problems) const {
  if (json) put(service::envelope(verb(), "refused", problems, provenance(), {}).dump() + "\n");
  std::fputs(problems_text(problems).c_str(), stderr);
  return 2;
}

std::optional<int> CommandLine::parse(int argc, char** argv) {
  try {
    app_.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
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

int CommandLine::run(int argc, char** argv) {
  try {
    if (const auto code = parse(argc, argv)) return *code;
    return action_();
  } catch (const base::InputError& e) {
    return refuse(e.problems());
  } catch (const base::EnvironmentError& e) {
    std::fprintf(stderr, "%s\n", e.what());
    return 4;
  }
}

}  // namespace hardpan::cli
