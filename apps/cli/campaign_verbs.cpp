// SPDX-License-Identifier: Apache-2.0
// The main job and its steps: new plan check ground drawbar predict validate report run changes pack.
#include <fmt/core.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>
#include <iostream>
#include <string>
#include <vector>

#include "command_line.hpp"
#include "print.hpp"
#include "service/job.hpp"
#include "service/json_results.hpp"
#include "service/new_campaign.hpp"
#include "service/outputs.hpp"
#include "service/plan.hpp"
#include "units/unit_text.hpp"

namespace hardpan::cli {
namespace {

void add_folder(CLI::App& v, std::string& folder) { v.add_option("DIR", folder, "campaign folder")->capture_default_str(); }

struct CampaignOptions {
  std::string folder = ".", simd = "best", estimator = "joint";
  std::size_t threads = 0;
  bool trace = false, quiet = false;

  void add_to(CLI::App& v) {
    add_folder(v, folder);
    v.add_option("--threads", threads, "threads; 0: one a core. The answer does not depend on it")->check(whole_number(0, 1024));
    v.add_option("--simd", simd, "best or plain: which form of the wheel kernel computes")->transform(one_of({"best", "plain"}))->capture_default_str();
    v.add_option("--estimator", estimator, "soil from the estimator: log-log, unweighted, two-step; joint where not given")
        ->transform(one_of({"joint", "log-log", "unweighted", "two-step"}));
    v.add_flag("--trace", trace, "keep every intermediate of tow logs (out/trace with run)");
    v.add_flag("--quiet", quiet, "no progress on stderr");
  }
  [[nodiscard]] service::ComputeOptions compute_options(const CommandLine& line) const {
    service::ComputeOptions o{.trace = trace, .threads = threads, .plain_kernel = simd == "plain", .estimator = estimator == "joint" ? "" : estimator, .stop = line.stop};
    if (!quiet) o.progress = talk;
    return o;
  }
};

std::string ask(const char* question) {
  std::fprintf(stderr, "%s: ", question);
  std::string line;
  std::getline(std::cin, line);
  return line;
}

// The few questions of `new` to whoever sits at the terminal; an answer that cannot stand is asked for again.
void ask_for(service::NewRequest& fresh) {
  while (std::cin && fresh.name.empty()) fresh.name = ask("Name of the campaign");
  if (fresh.where.empty()) fresh.where = ask("Where");
  if (fresh.who.empty()) fresh.who = ask("Who answers for it");
  while (std::cin && fresh.gravity.empty()) {
    fresh.gravity = ask("Local gravity, with unit (for example 9.81 m/s^2)");
    const auto g = units::parse_quantity(fresh.gravity, units::Dimension::acceleration);
    if (g.ok()) break;
    std::cerr << units::refusal(g, fresh.gravity, {.key = "gravity"}).text() << "\n";
    fresh.gravity.clear();
  }
  while (std::cin && fresh.zones.empty()) {
    for (std::string zone = ask("A zone of ground (for example dune)"); !zone.empty(); zone = ask("Another zone, or nothing")) fresh.zones.push_back(zone);
  }
}

struct NewVerb {
  service::NewRequest fresh;
  bool sheets = false;

  void add_to(CLI::App& v) {
    v.add_option("DIR", fresh.folder, "folder to make")->required();
    v.add_option("--name", fresh.name, "name of the campaign");
    v.add_option("--where", fresh.where, "where it takes place");
    v.add_option("--who", fresh.who, "who answers for it");
    v.add_option("--when", fresh.when, "first day, ISO date; today where not given");
    v.add_option("--gravity", fresh.gravity, "local gravity: '9.81 m/s^2'; no default");
    v.add_option("--zone", fresh.zones, "a piece of ground; may be given several times");
    v.add_flag("--sheets", sheets, "write blank field sheets to DIR/sheets instead (DIR may exist)");
  }

  int answer(const CommandLine& line) {
    if (sheets) {
      const auto written = service::blank_sheets(fresh.folder + "/sheets");
      if (line.json) line.put_json({}, io::Json::object().set("written", written));
      else put(fmt::format("{} files in {}/sheets; print field-sheets.html\n", written.size(), fresh.folder));
      return 0;
    }
    if (isatty(STDIN_FILENO) && fresh.name.empty()) ask_for(fresh);
    const auto written = service::new_campaign(fresh);
    if (line.json) {
      io::Json result = io::Json::object();
      result.set("written", written);
      line.put_json({}, result);
      return 0;
    }
    put(fmt::format("{} files in {}. Next: rename vehicles/carrier.toml.example to carrier.toml and fill it in, write requirements, then 'hardpan plan {} --soil lete_sand' tells the tests.\n"
                    "Describe points and instruments, put records under records/, then 'hardpan check {}'.\n", written.size(), fresh.folder, fresh.folder, fresh.folder));
    return 0;
  }
};

struct PlanVerb {
  std::string folder = ".";
  std::vector<std::string> guesses;

  void add_to(CLI::App& v) {
    add_folder(v, folder);
    v.add_option("--soil", guesses, "guess of the soil: an id of the built-in table or a soil file; ZONE=... for one zone; may be given several times")->required();
  }

  int answer(const CommandLine& line) const {
    base::Problems problems;
    const auto p = service::plan(service::check(folder, {}, problems), guesses);
    if (line.json) line.put_json(problems, service::plan_json(p));
    else put(plan_text(p));
    return 0;
  }
};

// Reads a campaign and stops after a step.
struct StepVerb {
  explicit StepVerb(service::Step step) : until(step) {}
  service::Step until;
  CampaignOptions campaign;
  std::string only_record, drawings;

  void add_to(CLI::App& v) {
    campaign.add_to(v);
    if (until != service::Step::check) return;
    v.add_option("--record", only_record, "check one sheet alone: a file or a record id");
    v.add_option("--drawings", drawings, "a folder for drawings of the vehicles to scale, one SVG each: a wrong number is seen");
  }

  int answer(const CommandLine& line) const {
    base::Problems problems;
    campaign::Campaign read = service::check(campaign.folder, {.only_record = only_record}, problems);
    service::ComputeOptions o = campaign.compute_options(line);
    o.until = until;
    o.without_amendments = false;
    const campaign::Results r = service::compute(std::move(read), o, problems);
    if (line.stop.stop_requested()) return 130;
    if (!drawings.empty()) {
      for (const std::string& file : service::write_drawings(drawings, r.campaign)) talk("drawn: " + file);
    }
    if (line.json) {
      line.put_json(problems, r.provenance, service::results_json(r, until));
      return 0;
    }
    switch (until) {
      case service::Step::check: put(check_text(r.campaign)); break;
      case service::Step::ground: put(ground_text(r)); break;
      case service::Step::drawbar: put(drawbar_text(r)); break;
      case service::Step::predict: put(predict_text(r)); break;
      case service::Step::validate: put(validate_text(r)); break;
    }
    for (const std::string& m : r.missing) {
      if (until != service::Step::validate) put(m + "\n");
    }
    put(problems_text(problems));
    return 0;
  }
};

struct RunVerb {
  CampaignOptions campaign;

  void add_to(CLI::App& v) { campaign.add_to(v); }

  int answer(const CommandLine& line) const {
    const service::Lock lock(campaign.folder);
    service::ComputeOptions o = campaign.compute_options(line);
    const std::string key = service::input_key(campaign.folder, o);
    if (const auto last = service::unchanged_since(campaign.folder, key)) {
      if (line.json) {
        io::Json stored = last->results;
        stored.put("verb", line.verb());
        put(stored.dump() + "\n");
      } else {
        put(findings_text(last->results));
        put("Nothing has changed since the last run.\nReport: " + last->report + "\n");
      }
      return 0;
    }
    base::Problems problems;
    campaign::Results r = service::compute(service::check(campaign.folder, {}, problems), o, problems);
    if (line.stop.stop_requested()) return 130;
    r.provenance.key = key;
    const service::Written w = service::write_outputs(campaign.folder, r, problems);
    if (line.json) {
      line.put_json(problems, r.provenance, service::results_json(r, service::Step::validate));
      return 0;
    }
    put(findings_text(r));
    for (const campaign::PairResult& p : r.pairs) {
      for (const auto& comparison : p.comparisons) {
        if (comparison.shape.shown) put(p.vehicle + " on " + p.zone + ": " + comparison.shape.statement + "\n");
      }
    }
    const std::size_t remarks = problems.count(base::Severity::remark);
    if (remarks > 0) put(remarks == 1 ? std::string("1 remark; it stands in the report.\n") : fmt::format("{} remarks; they stand in the report.\n", remarks));
    put("Report: " + w.report + "\n");
    return 0;
  }
};

struct ChangesVerb {
  std::string folder = ".";

  void add_to(CLI::App& v) { add_folder(v, folder); }

  int answer(const CommandLine& line) const {
    if (std::error_code error; !std::filesystem::is_directory(folder, error)) {
      base::Problems problems;
      problems.refuse({.place = {.file = folder}, .what = "there is no campaign folder here", .remedy = "'hardpan new " + folder + "' makes one"});
      problems.throw_if_refused();
    }
    const auto runs = service::earlier_runs(folder, 2);
    if (runs.size() < 2 && line.json) {
      io::Json result = io::Json::object();
      result.set("before", io::Json()).set("after", runs.empty() ? io::Json() : io::Json(runs[0].time)).set("changes", io::Json::array());
      line.put_json({}, result);
      return 0;
    }
    if (runs.size() < 2) {
      put(runs.empty() ? "No run is in the ledger yet.\n" : "Only one run is in the ledger: nothing to compare with.\n");
      return 0;
    }
    const auto changes = service::changes_between(runs[1].results, runs[0].results);
    if (line.json) {
      io::Json list = io::Json::array();
      for (const auto& x : changes) {
        io::Json j = io::Json::object();
        j.set("what", x.what).set("before", x.before).set("after", x.after);
        list.push(j);
      }
      io::Json result = io::Json::object();
      result.set("before", runs[1].time).set("after", runs[0].time).set("changes", list);
      line.put_json({}, result);
      return 0;
    }
    put(fmt::format("From {} to {}: {} change{}\n", runs[1].time, runs[0].time, changes.size(), changes.size() == 1 ? "" : "s"));
    for (const auto& x : changes) put(x.before.empty() ? fmt::format("  {}: {}\n", x.what, x.after) : fmt::format("  {}: {} -> {}\n", x.what, x.before, x.after));
    return 0;
  }
};

struct PackVerb {
  std::string folder = ".", zip;
  bool as_it_is = false;

  void add_to(CLI::App& v) {
    add_folder(v, folder);
    v.add_option("--to", zip, "zip file to write; DIR.zip beside the folder where not given");
    v.add_flag("--as-it-is", as_it_is, "seal a report that no longer belongs to its inputs, marked as out of date");
  }

  int answer(const CommandLine& line) const {
    std::string base = folder;
    while (base.size() > 1 && base.back() == '/') base.pop_back();
    const auto packed = service::pack(folder, zip.empty() ? (base == "." ? "campaign.zip" : base + ".zip") : zip, as_it_is);
    if (line.json) {
      io::Json result = io::Json::object();
      result.set("path", packed.path).set("files", packed.files).set("has_report", packed.has_report).set("out_of_date", packed.stale).set("read_by_nothing", packed.beside);
      line.put_json({}, result);
      return 0;
    }
    put(fmt::format("{} files sealed in {}\n", packed.files, packed.path));
    if (!packed.has_report) put("No report is in it: nothing has been run.\n");
    for (const std::string& why : packed.stale) put("Out of date: " + why + ".\n");
    for (const std::string& file : packed.beside) put("Sealed too, but read by nothing in the report: " + file + "\n");
    return 0;
  }
};

}  // namespace

void add_campaign_verbs(CommandLine& line) {
  using service::Step;
  line.add_verb<NewVerb>("new");
  line.add_verb<PlanVerb>("plan");
  for (const auto& [name, step] : {std::pair{"check", Step::check}, {"ground", Step::ground}, {"drawbar", Step::drawbar}, {"predict", Step::predict}, {"validate", Step::validate}}) {
    line.add_verb(name, std::make_shared<StepVerb>(step));
  }
  for (const char* name : {"report", "run"}) line.add_verb<RunVerb>(name);
  line.add_verb<ChangesVerb>("changes");
  line.add_verb<PackVerb>("pack");
}

}  // namespace hardpan::cli
