// SPDX-License-Identifier: Apache-2.0
// Parses the command line, calls the service, prints. Results on stdout, talk on stderr.
// Exit codes: 0 done, 1 fault in the program, 2 input or command line refused, 3 an asked number has no
// numerical answer, 4 environment (disk full, read-only, locked), 130 cancelled.
#include <CLI/CLI.hpp>

#include <fmt/core.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <iostream>
#include <map>
#include <sstream>

#include "base/version.hpp"
#include "print.hpp"
#include "service/job.hpp"
#include "service/json_results.hpp"
#include "service/new_campaign.hpp"
#include "service/outputs.hpp"
#include "service/plan.hpp"
#include "service/quick.hpp"
#include "units/unit_text.hpp"

namespace hardpan::cli {
namespace {

std::stop_source g_stop;
extern "C" void on_interrupt(int) { g_stop.request_stop(); }

struct Common {
  std::string folder = ".";
  bool json = false;
  bool quiet = false;
  service::ComputeOptions compute;
  std::string simd = "best";
};

void put(const std::string& text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) != text.size() || std::fflush(stdout) != 0) {
    throw base::EnvironmentError("cannot write to standard output: is the disk full or the reader gone?");
  }
}

void talk(const std::string& sentence) { std::fprintf(stderr, "%s\n", sentence.c_str()); }

// A value with unit given as an option; what is wrong is collected.
class Values {
 public:
  explicit Values(base::Problems& problems) : problems_(problems) {}
  std::optional<double> get(const std::string& option, const std::string& text, units::Dimension dimension) {
    if (text.empty()) return std::nullopt;
    const units::QuantityText q = units::parse_quantity(text, dimension);
    if (q.ok()) return q.si;
    base::Problem problem = units::refusal(q, text, {.key = "--" + option});
    // What the reader of units tells the writer of a record helps nobody at the command line.
    if (dimension == units::Dimension::force) problem.remedy = "type a force with its unit, for example --" + option + " '110 lbf' or '490 N'";
    else if (problem.remedy.find("record") != std::string::npos || problem.remedy.find("unit") == std::string::npos) problem.remedy = with_example(option, dimension, problem.remedy);
    problems_.refuse(std::move(problem));
    return std::nullopt;
  }

  // The unit a value was typed in, for answers in the same one.
  static std::optional<units::Unit> unit(const std::string& text, units::Dimension dimension) { return text.empty() ? std::nullopt : units::parse_quantity(text, dimension).unit; }

  // Half of a pair says nothing: taken silently it would look like an answer to it.
  void needs(const char* one, bool one_given, const char* other, bool other_given) {
    if (!one_given || other_given) return;
    problems_.refuse({.place = {.key = std::string("--") + one}, .what = std::string("says nothing without --") + other, .remedy = "give both or neither"});
  }

 private:
  static std::string with_example(const std::string& option, units::Dimension dimension, const std::string& remedy) {
    using units::Dimension;
    const char* example = dimension == Dimension::length ? "'0.3 m'" : dimension == Dimension::acceleration ? "'1.62 m/s^2'" : dimension == Dimension::angle ? "'10 deg'"
                        : dimension == Dimension::mass ? "'420 kg'" : dimension == Dimension::pressure ? "'1.2 kPa'" : dimension == Dimension::stiffness ? "'25 kN/m'"
                        : dimension == Dimension::density ? "'1600 kg/m^3'" : dimension == Dimension::speed ? "'2 m/s'" : dimension == Dimension::time ? "'3 s'" : nullptr;
    return example ? "type a number with its unit, for example --" + option + " " + example : remedy;
  }

  base::Problems& problems_;
};

struct SoilOptions {
  std::string soil, k, cohesion, friction, density, adhesion, interface_friction;
  std::optional<double> n, kc, kphi, c1, c2, c1_braking, c2_braking, exit_ratio, slip_exponent, surface_friction, reload_k0, reload_au;
  std::string slip_sinkage = "stretch";

  void add_to(CLI::App& app) {
    app.add_option("--soil", soil, "soil: an id of the built-in table (see --soils) or a soil file");
    app.add_option("--K", k, "shear displacement modulus K, a length: '20 mm'; most table soils have none");
    app.add_option("--n", n, "exponent of the pressure-sinkage relation");
    app.add_option("--kc", kc, "Bekker kc, a number in N/m^(n+1)");
    app.add_option("--kphi", kphi, "Bekker kphi, a number in N/m^(n+2)");
    app.add_option("--cohesion", cohesion, "cohesion: '1.2 kPa'");
    app.add_option("--friction-angle", friction, "angle of internal friction: '31 deg'");
    app.add_option("--density", density, "bulk density: '1600 kg/m^3' (side wall)");
    app.add_option("--c1", c1, "place of the largest normal stress (c1 + c2 |s|) of the entry angle; 0.18 is assumed");
    app.add_option("--c2", c2, "see --c1; 0.32 is assumed");
    app.add_option("--c1-braking", c1_braking, "c1 for braking, where known");
    app.add_option("--c2-braking", c2_braking, "c2 for braking, where known");
    app.add_option("--exit-ratio", exit_ratio, "exit angle over entry angle, 0 to below 1");
    app.add_option("--slip-sinkage", slip_sinkage, "none, exponent (needs --slip-exponent) or stretch")->check(CLI::IsMember({"none", "exponent", "stretch"}))->capture_default_str();
    app.add_option("--slip-exponent", slip_exponent, "n1 of n = n0 + n1 |s|");
    app.add_option("--surface-friction", surface_friction, "friction of hard ground, where the contact is shorter than K");
    app.add_option("--reload-k0", reload_k0, "k0 of the reload stiffness ku = k0 + Au zu, in Pa/m: exit angle by rebound");
    app.add_option("--reload-Au", reload_au, "Au of the same, in Pa/m^2");
    app.add_option("--adhesion", adhesion, "adhesion of soil to smooth metal: '0.3 kPa'");
    app.add_option("--interface-friction-angle", interface_friction, "friction angle of soil to smooth metal: '20 deg'");
  }
  service::SoilRequest request(Values& v) const {
    using units::Dimension;
    v.needs("adhesion", !adhesion.empty(), "interface-friction-angle", !interface_friction.empty());
    v.needs("interface-friction-angle", !interface_friction.empty(), "adhesion", !adhesion.empty());
    v.needs("reload-Au", reload_au.has_value(), "reload-k0", reload_k0.has_value());
    return {.soil = soil, .shear_modulus_m = v.get("K", k, Dimension::length), .n = n, .kc = kc, .kphi = kphi,
            .cohesion_pa = v.get("cohesion", cohesion, Dimension::pressure), .friction_rad = v.get("friction-angle", friction, Dimension::angle),
            .density_kg_m3 = v.get("density", density, Dimension::density), .c1 = c1, .c2 = c2, .c1_braking = c1_braking, .c2_braking = c2_braking,
            .exit_ratio = exit_ratio, .slip_exponent = slip_exponent, .surface_friction = surface_friction,
            .reload_k0_pa_per_m = reload_k0, .reload_au_pa_per_m2 = reload_au, .adhesion_pa = v.get("adhesion", adhesion, Dimension::pressure),
            .interface_friction_rad = v.get("interface-friction-angle", interface_friction, Dimension::angle)};
  }
  [[nodiscard]] soil::SlipSinkage rule() const {
    return slip_sinkage == "none" ? soil::SlipSinkage::none : slip_sinkage == "exponent" ? soil::SlipSinkage::exponent : soil::SlipSinkage::stretch;
  }
};

campaign::Provenance bare_provenance() {
  campaign::Provenance p;
  p.version = base::kVersion;
  return p;
}

void put_json(const std::string& verb, const base::Problems& problems, const campaign::Provenance& p, io::Json result) {
  put(service::envelope(verb, "done", problems, p, std::move(result)).dump() + "\n");
}

// Verbs that read a campaign and stop after a step.
int step_verb(const Common& c, service::Step until, const std::string& verb, const std::string& only_record) {
  base::Problems problems;
  campaign::Campaign read = service::check(c.folder, {.only_record = only_record}, problems);
  service::ComputeOptions o = c.compute;
  o.until = until;
  o.without_amendments = false;
  o.stop = g_stop.get_token();
  if (!c.quiet) o.progress = talk;
  const campaign::Results r = service::compute(std::move(read), o, problems);
  if (g_stop.stop_requested()) return 130;
  if (c.json) {
    put_json(verb, problems, r.provenance, service::results_json(r, until));
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

int run_verb(const Common& c, const std::string& verb) {
  const service::Lock lock(c.folder);
  service::ComputeOptions o = c.compute;
  o.stop = g_stop.get_token();
  if (!c.quiet) o.progress = talk;
  const std::string key = service::input_key(c.folder, o);
  if (const auto last = service::unchanged_since(c.folder, key)) {
    if (c.json) {
      io::Json stored = last->results;
      stored.put("verb", verb);
      put(stored.dump() + "\n");
    } else {
      put(findings_text(last->results));
      put("Nothing has changed since the last run.\nReport: " + last->report + "\n");
    }
    return 0;
  }
  base::Problems problems;
  campaign::Results r = service::compute(service::check(c.folder, {}, problems), o, problems);
  if (g_stop.stop_requested()) return 130;
  r.provenance.key = key;
  const service::Written w = service::write_outputs(c.folder, r, problems);
  if (c.json) {
    put_json(verb, problems, r.provenance, service::results_json(r, service::Step::validate));
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

int changes_verb(const Common& c) {
  if (std::error_code error; !std::filesystem::is_directory(c.folder, error)) {
    base::Problems problems;
    problems.refuse({.place = {.file = c.folder}, .what = "there is no campaign folder here", .remedy = "'hardpan new " + c.folder + "' makes one"});
    problems.throw_if_refused();
  }
  const auto runs = service::earlier_runs(c.folder, 2);
  if (runs.size() < 2 && c.json) {
    io::Json result = io::Json::object();
    result.set("before", io::Json()).set("after", runs.empty() ? io::Json() : io::Json(runs[0].time)).set("changes", io::Json::array());
    put_json("changes", {}, bare_provenance(), result);
    return 0;
  }
  if (runs.size() < 2) {
    put(runs.empty() ? "No run is in the ledger yet.\n" : "Only one run is in the ledger: nothing to compare with.\n");
    return 0;
  }
  const auto changes = service::changes_between(runs[1].results, runs[0].results);
  if (c.json) {
    io::Json list = io::Json::array();
    for (const auto& x : changes) {
      io::Json j = io::Json::object();
      j.set("what", x.what).set("before", x.before).set("after", x.after);
      list.push(j);
    }
    io::Json result = io::Json::object();
    result.set("before", runs[1].time).set("after", runs[0].time).set("changes", list);
    put_json("changes", {}, bare_provenance(), result);
    return 0;
  }
  put(fmt::format("From {} to {}: {} change{}\n", runs[1].time, runs[0].time, changes.size(), changes.size() == 1 ? "" : "s"));
  for (const auto& x : changes) put(x.before.empty() ? fmt::format("  {}: {}\n", x.what, x.after) : fmt::format("  {}: {} -> {}\n", x.what, x.before, x.after));
  return 0;
}

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

int fail(const base::Problems& problems, const std::string& verb, bool json) {
  if (json) put(service::envelope(verb, "refused", problems, bare_provenance(), {}).dump() + "\n");
  std::fputs(problems_text(problems).c_str(), stderr);
  return 2;
}

// The verb that is at most two slips of the finger away; exchanged neighbours count as one.
std::string nearest_verb(const CLI::App& app, const std::string& typed) {
  std::string best;
  std::size_t least = 3;
  for (const CLI::App* verb : app.get_subcommands([](const CLI::App*) { return true; })) {
    const std::string& name = verb->get_name();
    std::vector<std::vector<std::size_t>> d(typed.size() + 1, std::vector<std::size_t>(name.size() + 1));
    for (std::size_t i = 0; i <= typed.size(); ++i) {
      for (std::size_t j = 0; j <= name.size(); ++j) {
        if (i == 0 || j == 0) {
          d[i][j] = i + j;
          continue;
        }
        d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (typed[i - 1] == name[j - 1] ? 0 : 1)});
        if (i > 1 && j > 1 && typed[i - 1] == name[j - 2] && typed[i - 2] == name[j - 1]) d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
      }
    }
    if (d[typed.size()][name.size()] < least) {
      least = d[typed.size()][name.size()];
      best = name;
    }
  }
  return best;
}

// Help of each verb: the first line stands in the list of verbs, all of it in 'hardpan VERB --help'.
const char* help_of(const std::string& verb) {
  static const std::map<std::string, const char*> kHelp{
      {"new",
        "Lays out a campaign folder from a few answers; --sheets writes blank field sheets instead.\n"
        "Start here when a job comes in. Asks for what is not given if somebody sits at the terminal.\n"
        "Writes campaign.toml, requirements.toml, instruments.toml, amendments.csv and an example vehicle, to be filled in, into\n"
        "DIR, which must be new or empty. With --sheets it adds DIR/sheets: one printable page a kind of test, and empty CSV files with\n"
        "the headings that 'check' knows.\n"
        "Gravity takes a unit (m/s^2, ft/s^2) and has no default. Exit code 2: refused, nothing is written; 4: the folder cannot be written.\n"
        "Example: hardpan new spit --name 'Spit, spring' --gravity '9.81 m/s^2' --zone foredune --zone marsh\n"
        "Example: hardpan new spit --sheets"},
      {"plan",
        "The test matrix that the requirements need, by zone and condition.\n"
        "Use it before going out: from a guess of the soil it computes pressures, sinkages and shear travels under the wheels and\n"
        "lists the plates, loads and normal stresses that bracket them, points, repeats, tow runs and slope trials, with the reason\n"
        "of each, and the cells that will read \"not tested\".\n"
        "Reads the campaign (requirements, zones, vehicles) and the soils guessed; writes nothing.\n"
        "Loads come out in N or kN, lengths in mm, stresses in kPa. Exit code 2: the campaign or a guess is refused.\n"
        "Example: hardpan plan spit --soil lete_sand --soil marsh=soils/silt.toml"},
      {"check",
        "Reads everything and reports every refusal and remark at once.\n"
        "Use it in the field after each sheet, while a test can still be repeated, and before any other step. A refusal stops the\n"
        "later steps: file, line, key, the value found, what is accepted, what to do. A remark sets rows aside or asks a question.\n"
        "Reads campaign.toml, requirements.toml, instruments.toml, vehicles/, soils/, records/ and amendments.csv; writes nothing.\n"
        "Prints tests and rows of each record and the axle loads of each vehicle.\n"
        "Exit code 0: nothing is refused, remarks or not; 2: something is refused.\n"
        "Example: hardpan check spit\n"
        "Example: hardpan check spit --record records/plates.csv"},
      {"ground",
        "Reduces plate, shear, cone, repose, density and moisture records to soils with intervals.\n"
        "Use it once sheets of a zone pass 'check', to see whether the points suffice: it ends with advice how many more would\n"
        "narrow which interval.\n"
        "Reads the campaign; writes nothing ('run' puts the same numbers into the report). For each zone: moduli, exponent,\n"
        "cohesion, friction, cone index, each with the 95 % interval of the average ground and of the next point, and what it rests on.\n"
        "Pressures come out in kPa or psi, lengths in mm or in, angles in deg (output_units of the campaign); --json is SI.\n"
        "--estimator shows what another way of fitting gives: log-log is a spreadsheet's trend line, two-step the handbook way.\n"
        "Exit code 2: refused by 'check'. A parameter that the tests do not determine is named, not refused.\n"
        "Example: hardpan ground spit --estimator log-log"},
      {"drawbar",
        "Reduces tow logs, hand tow sheets, slope trials and rut sheets to measured behaviour.\n"
        "Use it after towing or climbing, to see pull against slip, motion resistance, gradients bracketed by go and no-go, and\n"
        "ruts by pass, before any model is asked.\n"
        "Reads the campaign; writes nothing. --trace keeps each step of the reduction of a log, but only 'run' writes it (out/trace).\n"
        "Slips come out in %, pull over weight as a coefficient without unit, angles in deg; --json is SI, with angles in rad.\n"
        "Exit code 2: refused by 'check'. A log without ground speed is no error: it gives no slip, and the text says so.\n"
        "Example: hardpan drawbar spit\n"
        "Example: hardpan drawbar spit --json"},
      {"predict",
        "Predicts pull, sinkage, gradients and energy over possible soils, with limiting factors.\n"
        "Use it to learn what the measured ground lets each vehicle do, before or without tests of the vehicle itself.\n"
        "Reads the campaign and repeats 'ground' and 'drawbar' on the way; writes nothing. Computes each vehicle on each zone that\n"
        "a requirement or a vehicle test names, over the soils that the tests leave possible (draws in campaign.toml).\n"
        "Gradients come out in deg, energy over distance in Wh/km or Wh/mi, pull over weight without unit, each with the 95 %\n"
        "interval of the average ground and of the next point. --threads and --simd change the time, never the numbers.\n"
        "Exit code 2: refused by 'check'; 130: stopped by you. A zone without a soil is named and left out.\n"
        "Example: hardpan predict spit --threads 2"},
      {"validate",
        "Sets predictions against measurements and judges every requirement.\n"
        "Use it when ground and vehicle tests are in, for the answer on the terminal; 'run' gives the same answer as a report.\n"
        "Reads the campaign and repeats all steps before it; writes nothing. Prints bias and discrepancies by vehicle and zone, then a\n"
        "line a requirement: met, not met or not shown, value with its 95 % interval, margin, probability, confidence, what limits.\n"
        "Values come out in the units of the campaign (output_units), shares in %.\n"
        "Exit code 0 whatever the findings: \"not met\" is an answer. 2: refused by 'check'; 130: stopped by you.\n"
        "Example: hardpan validate spit\n"
        "Example: hardpan validate spit --json"},
      {"report",
        "Writes out/report.html, tables and figures; the same as run.\n"
        "Use it when only the report is wanted and the word fits better: nothing is computed again while nothing has changed.\n"
        "Reads the campaign; writes DIR/out and enters the run into DIR/ledger.sqlite, and prints the findings and the path of the report.\n"
        "The report opens without a network and prints on A4 and Letter; its units are those of output_units in campaign.toml.\n"
        "Exit code 0: it is written, whatever it finds; 2: refused, out/ stays as it was; 4: disk full, read-only, or another run\n"
        "holds the folder; 130: stopped by you.\n"
        "Example: hardpan report spit"},
      {"run",
        "The whole job: check, ground, drawbar, predict, validate, report.\n"
        "Use it for every answer that is handed over. Nothing is computed again while no input, setting or version has changed.\n"
        "Reads the campaign; writes DIR/out (report.html, results.json, tables/ as CSV and XLSX, figures/ as SVG, trace/ with --trace)\n"
        "and enters the run into DIR/ledger.sqlite. out/ is replaced whole or not at all, so a stopped run leaves the old one.\n"
        "Tables and results.json are SI, angles of tables in deg; the report speaks the units of the campaign (output_units).\n"
        "Exit code 0: the report is written, whatever it finds; 2: refused, out/ stays as it was; 4: disk full, read-only, or another\n"
        "run holds the folder; 130: stopped by you.\n"
        "Example: hardpan run spit\n"
        "Example: hardpan run spit --trace --quiet"},
      {"changes",
        "Says what differs between the last two runs: inputs, settings, parameters, findings.\n"
        "Use it after an edit, to see which answers it moved and which it left alone, and before handing over a second issue.\n"
        "Reads DIR/ledger.sqlite, which keeps the whole results of the last twenty runs; writes nothing and computes nothing.\n"
        "One line a difference, \"before -> after\": files edited, masses of vehicles, soil parameters, predictions, and of each\n"
        "requirement threshold, value, margin, probability and finding, in the units of the campaign.\n"
        "Exit code 0 with or without differences, and with fewer than two runs; 2: there is no such folder.\n"
        "Example: hardpan changes spit"},
      {"pack",
        "Seals records, settings, results and report with checksums and a data dictionary into one zip file.\n"
        "Use it to hand a campaign over or to keep it: whoever opens it can check each file with 'sha256sum -c SHA256SUMS' and\n"
        "finds each column of each table with unit and meaning in DATA_DICTIONARY.md.\n"
        "Reads every file under DIR and compares the inputs with those that the report was computed from; writes the zip only.\n"
        "A report that no longer belongs to its inputs is not sealed: run again, or give --as-it-is, which marks it as out of date.\n"
        "Exit code 2: out of date, or nothing to pack, and no zip is written; 4: the zip cannot be written.\n"
        "Example: hardpan pack spit\n"
        "Example: hardpan pack spit --to handover/spit-2026-05.zip"},
      {"wheel",
        "One wheel on one soil: pull, torque and sinkage at a load and slip.\n"
        "Use it for a quick answer without a campaign, for instance which width or how much load; --slips gives a table over slip.\n"
        "Reads the built-in soils or a soil file, or takes the soil from options; writes nothing.\n"
        "Each value takes its unit: loads N, kN or lbf, lengths m, mm or in, pressures kPa or psi, angles deg, slip a share or %.\n"
        "--kc and --kphi are bare numbers, because their unit goes with n: N/m^(n+1) and N/m^(n+2). Most table soils need --K.\n"
        "Exit code 2: refused, all at once; 3: the balance of load was not found. A wheel that the ground does not carry is an answer.\n"
        "Example: hardpan wheel --soil lete_sand --K '15 mm' --load '110 lbf' --radius '12 in' --width '8 in' --slip 20%\n"
        "Example: hardpan wheel --soils"},
      {"climb",
        "One vehicle on one soil: the gradients it climbs and holds, and travel on a given one.\n"
        "Use it for a quick answer about a vehicle file before there is a campaign, or to try a change to it.\n"
        "Reads the vehicle file and a built-in soil, soil file or soil from options; writes nothing.\n"
        "--gravity is needed and takes a unit ('9.81 m/s^2'); gradients come out in deg, --gradient takes deg ('10 deg').\n"
        "The soil is one soil and no interval stands behind the answer: 'predict' gives that, over all soils that tests leave possible.\n"
        "Exit code 2: refused; 3: no gradient was found at the working slip within the steps allowed.\n"
        "Example: hardpan climb --vehicle vehicles/dunlin.toml --soil lete_sand --K '15 mm' --gravity '9.81 m/s^2'\n"
        "Example: hardpan climb --vehicle vehicles/dunlin.toml --soil lete_sand --K '15 mm' --gravity '9.81 m/s^2' --gradient '10 deg'"},
      {"tipover",
        "At which slope a vehicle tips over, for all directions of the fall line.\n"
        "Use it before driving on slopes or towing across them; the working limit is a share of the lower of two angles.\n"
        "Reads the vehicle file (mass, centre of gravity, axles, springs, payload); writes nothing.\n"
        "For each direction: the static angle, the angle settled on springs, tyres and a rut, the working limit, all in deg.\n"
        "--rut takes a length ('50 mm'), --hitch-pull a force ('500 N'), --line-angle an angle ('10 deg').\n"
        "Static: bumps, braking and turning tip a vehicle earlier. Exit code 2: refused.\n"
        "Example: hardpan tipover --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --rut '50 mm'"},
      {"obstacle",
        "Whether a vehicle gets over a step, a gap or a profile on hard ground, and what stops it.\n"
        "Use it before driving over kerbs, ditches and rock steps: it tells the least friction, the largest axle torque and the place where each is needed;\n"
        "with --friction also the highest step and the widest gap.\n"
        "Reads the vehicle file (axles, wheels, mass, centre of gravity, clearance, peak torque) and a profile sheet with columns x and z; writes nothing.\n"
        "--step and --gap take lengths ('120 mm'; a negative step goes down), --friction a coefficient (0.6).\n"
        "Quasi-static, rigid wheels, one rigid body, left and right alike; soil, speed and crumbling edges are not in it. Exit code 2: refused; 3: a pose was not solved.\n"
        "Example: hardpan obstacle --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --step '120 mm' --friction 0.6"},
      {"stopping",
        "How fast by remote control through a delay: within what is seen and, with --fastest, within a corridor.\n"
        "Use it to set a speed limit for a link: it compares stopping within sight, steering in time, and moving and waiting.\n"
        "Reads options only; writes nothing. The braking coefficient comes from trials or from 'hardpan climb', without unit.\n"
        "Lengths take m or ft, times s, speeds m/s, km/h or mph, gravity m/s^2; slopes deg, downhill negative.\n"
        "Give the whole --delay, or --downlink, --reaction and --uplink; --at-delay adds a row and may be repeated.\n"
        "An upper bound: fit an independent brake and a stop on loss of link. Exit code 2: refused, all at once.\n"
        "Example: hardpan stopping --sight '10 m' --delay '3 s' --braking 0.4 --gravity '1.62 m/s^2' --fastest '2 m/s' --at-delay '0.5 s' --at-delay '10 s'"},
      {"gravity",
        "Equal-weight mass, payload and scaling ratios between two gravities.\n"
        "Use it to plan tests on Earth for a vehicle meant for elsewhere: which mass weighs the same, and how speed, torque and\n"
        "power scale in loose frictional ground.\n"
        "Reads options only; writes nothing. --mass takes kg or lb (not lbf: a mass, no force), --from and --to m/s^2 or ft/s^2.\n"
        "Lengths and masses of the scaling are ratios, there over here. Answers come in the unit the mass was typed in.\n"
        "Equal weight is optimistic in frictional ground; the text says what it does not carry over. Exit code 2: refused.\n"
        "Example: hardpan gravity --mass '66 lb' --from '9.81 m/s^2' --to '1.62 m/s^2'"}};
  return kHelp.at(verb);
}

// The list of verbs is one line a verb; "verb" is the word for them everywhere.
class VerbHelp : public CLI::Formatter {
 public:
  VerbHelp() { label("SUBCOMMAND", "VERB"); }
  std::string make_subcommand(const CLI::App* verb) const override {
    const std::string text = verb->get_description();
    std::stringstream out;
    CLI::detail::format_help(out, verb->get_display_name(true), text.substr(0, text.find('\n')), get_column_width());
    return out.str();
  }
};

int run(int argc, char** argv) {
  CLI::App app{"Hardpan: from field records of soil and vehicle tests to a defended answer.\n"
               "Values carry units: --load '110 lbf' --slip '20 %'. Every verb takes --json; results go to stdout, talk to stderr."};
  app.formatter(std::make_shared<VerbHelp>());
  app.require_subcommand(1);
  app.set_version_flag("--version", base::kVersion);
  Common c;
  std::string verb;
  std::function<int()> action;
  const auto add_verb = [&](const char* name) {
    CLI::App* v = app.add_subcommand(name, help_of(name));
    v->group("Verbs");
    v->add_flag("--json", c.json, "print the result as JSON (SI, unit in every key)");
    return v;
  };
  const auto add_campaign = [&](CLI::App* v) {
    v->add_option("DIR", c.folder, "campaign folder")->capture_default_str();
    v->add_option("--threads", c.compute.threads, "threads; 0: one a core. The answer does not depend on it")->check(CLI::Range(0, 1024));
    v->add_option("--simd", c.simd, "best or plain: which form of the wheel kernel computes")->check(CLI::IsMember({"best", "plain"}))->capture_default_str();
    v->add_option("--estimator", c.compute.estimator, "soil from the estimator: log-log, unweighted, two-step; joint where not given")
        ->check(CLI::IsMember({"joint", "log-log", "unweighted", "two-step"}));
    v->add_flag("--trace", c.compute.trace, "keep every intermediate of tow logs (out/trace with run)");
    v->add_flag("--quiet", c.quiet, "no progress on stderr");
  };

  service::NewRequest fresh;
  bool sheets = false;
  CLI::App* v = add_verb("new");
  v->add_option("DIR", fresh.folder, "folder to make")->required();
  v->add_option("--name", fresh.name, "name of the campaign");
  v->add_option("--where", fresh.where, "where it takes place");
  v->add_option("--who", fresh.who, "who answers for it");
  v->add_option("--when", fresh.when, "first day, ISO date; today where not given");
  v->add_option("--gravity", fresh.gravity, "local gravity: '9.81 m/s^2'; no default");
  v->add_option("--zone", fresh.zones, "a piece of ground; may be given several times");
  v->add_flag("--sheets", sheets, "write blank field sheets to DIR/sheets instead (DIR may exist)");
  v->callback([&] {
    action = [&] {
      if (sheets) {
        const auto written = service::blank_sheets(fresh.folder + "/sheets");
        put(fmt::format("{} files in {}/sheets; print field-sheets.html\n", written.size(), fresh.folder));
        return 0;
      }
      if (isatty(STDIN_FILENO) && fresh.name.empty()) ask_for(fresh);
      const auto written = service::new_campaign(fresh);
      if (c.json) {
        io::Json result = io::Json::object();
        result.set("written", written);
        put_json("new", {}, bare_provenance(), result);
        return 0;
      }
      put(fmt::format("{} files in {}. Next: describe points, instruments and vehicles, put records under records/, then 'hardpan check {}'.\n", written.size(), fresh.folder, fresh.folder));
      return 0;
    };
  });

  std::vector<std::string> guesses;
  v = add_verb("plan");
  v->add_option("DIR", c.folder, "campaign folder")->capture_default_str();
  v->add_option("--soil", guesses, "guess of the soil: an id of the built-in table or a soil file; ZONE=... for one zone; may be given several times")->required();
  v->callback([&] {
    action = [&] {
      base::Problems problems;
      const auto p = service::plan(service::check(c.folder, {}, problems), guesses);
      if (c.json) put_json("plan", problems, bare_provenance(), service::plan_json(p));
      else put(plan_text(p));
      return 0;
    };
  });

  std::string only_record;
  v = add_verb("check");
  add_campaign(v);
  v->add_option("--record", only_record, "check one sheet alone: a file or a record id");
  v->callback([&] { action = [&] { return step_verb(c, service::Step::check, "check", only_record); }; });
  for (const auto& [name, step] : {std::pair{"ground", service::Step::ground}, {"drawbar", service::Step::drawbar}, {"predict", service::Step::predict}, {"validate", service::Step::validate}}) {
    v = add_verb(name);
    add_campaign(v);
    v->callback([&, name = std::string(name), step = step] { action = [&, name, step] { return step_verb(c, step, name, ""); }; });
  }
  for (const char* name : {"report", "run"}) {
    v = add_verb(name);
    add_campaign(v);
    v->callback([&, name = std::string(name)] { action = [&, name] { return run_verb(c, name); }; });
  }
  v = add_verb("changes");
  v->add_option("DIR", c.folder, "campaign folder")->capture_default_str();
  v->callback([&] { action = [&] { return changes_verb(c); }; });
  std::string zip;
  v = add_verb("pack");
  v->add_option("DIR", c.folder, "campaign folder")->capture_default_str();
  v->add_option("--to", zip, "zip file to write; DIR.zip beside the folder where not given");
  bool as_it_is = false;
  v->add_flag("--as-it-is", as_it_is, "seal a report that no longer belongs to its inputs, marked as out of date");
  v->callback([&] {
    action = [&] {
      std::string base = c.folder;
      while (base.size() > 1 && base.back() == '/') base.pop_back();
      const auto packed = service::pack(c.folder, zip.empty() ? (base == "." ? "campaign.zip" : base + ".zip") : zip, as_it_is);
      if (c.json) {
        io::Json result = io::Json::object();
        result.set("path", packed.path).set("files", packed.files).set("has_report", packed.has_report).set("out_of_date", packed.stale).set("read_by_nothing", packed.beside);
        put_json("pack", {}, bare_provenance(), result);
        return 0;
      }
      put(fmt::format("{} files sealed in {}\n", packed.files, packed.path));
      if (!packed.has_report) put("No report is in it: nothing has been run.\n");
      for (const std::string& why : packed.stale) put("Out of date: " + why + ".\n");
      for (const std::string& file : packed.beside) put("Sealed too, but read by nothing in the report: " + file + "\n");
      return 0;
    };
  });

  SoilOptions soil;
  std::string load, radius, width, slip = "20 %", slip_angle, grouser, stiffness, rolling, gravity, hysteresis, pressure_width, units_out = "SI";
  std::vector<std::string> slips;
  int grousers = 0;
  bool list_soils = false;
  v = add_verb("wheel");
  soil.add_to(*v);
  v->add_flag("--soils", list_soils, "list the built-in soils and stop");
  v->add_option("--load", load, "load on the wheel: '500 N'");
  v->add_option("--radius", radius, "rim or unloaded tyre radius: '0.3 m'");
  v->add_option("--width", width, "width: '0.2 m'");
  v->add_option("--slip", slip, "slip, negative braking: '20 %'")->capture_default_str();
  v->add_option("--slips", slips, "several slips: a table over them");
  v->add_option("--slip-angle", slip_angle, "slip angle: '5 deg'");
  v->add_option("--grouser-height", grouser, "grouser height: '10 mm'");
  v->add_option("--grousers", grousers, "number of grousers");
  v->add_option("--stiffness", stiffness, "radial stiffness of a tyre or spring wheel: '25 kN/m'; rigid without it");
  v->add_option("--hysteresis", hysteresis, "share of the deflection work lost: '25 %'");
  v->add_option("--rolling-radius", rolling, "measured rolling radius: '0.29 m'");
  v->add_option("--contact-width", pressure_width, "width of the contact patch where it is not the wheel's");
  v->add_option("--gravity", gravity, "local gravity, with --density for the side wall: '9.81 m/s^2'");
  v->add_option("--units", units_out, "SI or US")->check(CLI::IsMember({"SI", "US"}))->capture_default_str();
  v->callback([&] {
    action = [&] {
      if (list_soils) {
        put(soils_text());
        return 0;
      }
      using units::Dimension;
      base::Problems problems;
      Values val(problems);
      const bool numbers = soil.n && soil.kc && soil.kphi && !soil.cohesion.empty() && !soil.friction.empty();
      if (soil.soil.empty() && !numbers) {
        problems.refuse({.place = {.key = "--soil"}, .what = "no soil is given",
                         .remedy = "--soil with an id of --soils or a soil file, or all of --n --kc --kphi --cohesion --friction-angle; 'hardpan wheel --help' shows an example"});
      }
      for (const auto& [option, text, example] : {std::tuple{"--load", &load, "--load '110 lbf'"}, {"--radius", &radius, "--radius '12 in'"}, {"--width", &width, "--width '8 in'"}}) {
        if (text->empty()) problems.refuse({.place = {.key = option}, .what = "not given", .remedy = std::string("for example ") + example});
      }
      if (soil.soil.empty() && !numbers) problems.throw_if_refused();
      service::WheelRequest q{.soil = soil.request(val)};
      q.wheel.radius_m = val.get("radius", radius, Dimension::length).value_or(0);
      q.wheel.width_m = val.get("width", width, Dimension::length).value_or(0);
      q.wheel.grouser_height_m = val.get("grouser-height", grouser, Dimension::length).value_or(0);
      q.wheel.grouser_count = grousers;
      q.wheel.rolling_radius_m = val.get("rolling-radius", rolling, Dimension::length);
      q.wheel.contact_width_m = val.get("contact-width", pressure_width, Dimension::length);
      const auto share = val.get("hysteresis", hysteresis, Dimension::none);
      if (share && !(*share >= 0 && *share < 1)) problems.refuse({.place = {.key = "--hysteresis"}, .what = "not a share of the deflection work", .value = hysteresis, .bound = "0 % or more, below 100 %"});
      if (share && stiffness.empty()) problems.refuse({.place = {.key = "--hysteresis"}, .what = "a rigid wheel has no deflection work to lose", .remedy = "give --stiffness too"});
      if (const auto k = val.get("stiffness", stiffness, Dimension::stiffness)) {
        q.wheel.flex = vehicle::Flex{.stiffness_n_per_m = *k, .hysteresis_share = share.value_or(0)};
      }
      if (grousers < 0 || (grousers > 0) != (q.wheel.grouser_height_m > 0)) {
        problems.refuse({.place = {.key = "--grousers"}, .what = "number and height of grousers disagree", .value = fmt::format("{} of '{}'", grousers, grouser),
                         .bound = "both above 0, or neither given", .remedy = "give --grousers and --grouser-height"});
      }
      q.load_n = val.get("load", load, Dimension::force).value_or(0);
      q.slip_ratio = val.get("slip", slip, Dimension::none).value_or(0.2);
      for (const std::string& s : slips) q.slips.push_back(val.get("slips", s, Dimension::none).value_or(0));
      q.slip_angle_rad = val.get("slip-angle", slip_angle, Dimension::angle).value_or(0);
      q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration);
      q.slip_sinkage = soil.rule();
      problems.throw_if_refused();
      const auto r = service::wheel(q);
      if (c.json) put_json("wheel", problems, bare_provenance(), service::wheel_json(q, r));
      else put(wheel_text(q, r, units_out == "US"));
      for (const auto& line : r.lines) {
        if (line.lead().status == contact::WheelStatus::not_converged) return 3;
      }
      return 0;
    };
  });

  std::string vehicle_file, gradient, working;
  v = add_verb("climb");
  soil.add_to(*v);
  v->add_option("--vehicle", vehicle_file, "vehicle file")->required();
  v->add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'");
  v->add_option("--slip", working, "working slip; the vehicle's own where not given");
  v->add_option("--gradient", gradient, "also travel on this gradient: '10 deg'");
  v->add_option("--units", units_out, "SI or US")->check(CLI::IsMember({"SI", "US"}))->capture_default_str();
  v->callback([&] {
    action = [&] {
      using units::Dimension;
      base::Problems problems;
      Values val(problems);
      service::ClimbRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .slip_sinkage = soil.rule()};
      q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration);
      q.slip_ratio = val.get("slip", working, Dimension::none);
      q.gradient_rad = val.get("gradient", gradient, Dimension::angle);
      problems.throw_if_refused();
      const auto r = service::climb(q);
      if (c.json) put_json("climb", problems, bare_provenance(), service::climb_json(r));
      else put(climb_text(r, units_out == "US", gradient));
      return r.at_working.factor == performance::LimitingFactor::not_converged ? 3 : 0;
    };
  });

  std::string rut, hitch_pull, line_angle;
  int directions = 8;
  v = add_verb("tipover");
  v->add_option("--vehicle", vehicle_file, "vehicle file")->required();
  v->add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
  v->add_option("--rut", rut, "how much deeper the low side stands: '50 mm'");
  v->add_option("--hitch-pull", hitch_pull, "pull along the vehicle, rearward: '500 N'");
  v->add_option("--line-angle", line_angle, "tow line down towards the load: '10 deg'");
  v->add_option("--directions", directions, "of the fall line, evenly round")->capture_default_str();
  v->callback([&] {
    action = [&] {
      using units::Dimension;
      base::Problems problems;
      Values val(problems);
      val.needs("line-angle", !line_angle.empty(), "hitch-pull", !hitch_pull.empty());
      service::TipOverRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0),
                                .low_side_rut_m = val.get("rut", rut, Dimension::length).value_or(0), .hitch_pull_n = val.get("hitch-pull", hitch_pull, Dimension::force),
                                .line_angle_rad = val.get("line-angle", line_angle, Dimension::angle).value_or(0), .directions = directions};
      problems.throw_if_refused();
      const auto r = service::tip_over(q);
      if (c.json) put_json("tipover", problems, bare_provenance(), service::tip_over_json(q, r));
      else put(tip_over_text(q, r));
      return 0;
    };
  });

  std::string step, gap, profile_file, friction;
  bool equal_torques = false;
  v = add_verb("obstacle");
  v->add_option("--vehicle", vehicle_file, "vehicle file")->required();
  v->add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
  v->add_option("--step", step, "height of a vertical step: '120 mm'; negative: down");
  v->add_option("--gap", gap, "width of a gap without a bottom: '0.4 m'");
  v->add_option("--profile", profile_file, "sheet of the ground in side view, columns x and z with units");
  v->add_option("--friction", friction, "friction coefficient of wheels on this ground: 0.6");
  v->add_flag("--equal-torques", equal_torques, "every driven axle takes the same torque, instead of the best split");
  v->callback([&] {
    action = [&] {
      using units::Dimension;
      base::Problems problems;
      Values val(problems);
      service::ObstacleRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0),
                                 .step_m = val.get("step", step, Dimension::length), .gap_m = val.get("gap", gap, Dimension::length),
                                 .profile_file = profile_file.empty() ? std::nullopt : std::optional(profile_file),
                                 .friction = val.get("friction", friction, Dimension::none), .equal_torques = equal_torques};
      problems.throw_if_refused();
      const auto r = service::obstacle(q);
      if (c.json) put_json("obstacle", problems, bare_provenance(), service::obstacle_json(q, r));
      else put(obstacle_text(q, r));
      return r.crossing && !r.crossing->solve.converged() ? 3 : 0;
    };
  });

  std::string sight, delay, downlink, reaction, uplink, braking, slope, fastest, room, look_ahead, turning_radius, drift, jitter, image_interval, image_loss, anticipation, thinking,
      amplitude, wave_length;
  std::vector<std::string> at_delay;
  std::uint64_t seed = 1;
  v = add_verb("stopping");
  v->add_option("--sight", sight, "how far ahead an obstacle is seen in time: '10 m'")->required();
  v->add_option("--delay", delay, "whole delay between seeing and acting; or its three parts:");
  v->add_option("--downlink", downlink, "camera to screen: '1.3 s'");
  v->add_option("--reaction", reaction, "of the driver");
  v->add_option("--uplink", uplink, "command to wheels");
  v->add_option("--braking", braking, "braking force over normal load on this ground, from trials or 'hardpan climb': 0.4")->required();
  v->add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
  v->add_option("--gradient", slope, "in the direction of travel, downhill negative: '-8 deg'; level where not given");
  v->add_option("--fastest", fastest, "the vehicle's own largest speed: '2 m/s'");
  v->add_option("--room", room, "room for error either side of the path, half of corridor less vehicle; 0.5 m where not given");
  v->add_option("--look-ahead", look_ahead, "how far ahead the driver steers for; 4 m where not given (common practice, no source)");
  v->add_option("--turning-radius", turning_radius, "smallest radius the vehicle turns; on the spot where not given");
  v->add_option("--drift", drift, "angle of travel beside the heading, left positive, as across a slope: '3 deg'");
  v->add_option("--jitter", jitter, "standard deviation added to downlink and uplink");
  v->add_option("--image-interval", image_interval, "time between images; 0.1 s where not given");
  v->add_option("--image-loss", image_loss, "share of images that never arrive: 5 %");
  v->add_option("--anticipation", anticipation, "how far the driver allows for commands under way: 0 (not) to 1 (wholly); 0 where not given");
  v->add_option("--thinking", thinking, "time to think at each stop, besides the delay");
  v->add_option("--slalom", amplitude, "amplitude of the path steered; 1 m where not given, 0 m for a straight one");
  v->add_option("--wave-length", wave_length, "wave length of the path steered; 25 m where not given");
  v->add_option("--at-delay", at_delay, "also at this whole delay; may be given several times");
  v->add_option("--seed", seed, "of jitter and lost images")->capture_default_str();
  const CLI::Option* stopping_units = v->add_option("--units", units_out, "SI or US; speeds are told in the unit of --fastest where this is not given")->check(CLI::IsMember({"SI", "US"}))->capture_default_str();
  v->callback([&, stopping_units] {
    action = [&, stopping_units] {
      using units::Dimension;
      base::Problems problems;
      Values val(problems);
      service::StoppingRequest q{.seed = seed};
      q.sensing_range_m = val.get("sight", sight, Dimension::length).value_or(0);
      const bool parts = !downlink.empty() || !reaction.empty() || !uplink.empty();
      if (parts == !delay.empty()) {
        problems.refuse({.place = {.key = "--delay"}, .what = parts ? "given whole and in parts" : "no delay is given", .remedy = "--delay '3 s', or --downlink, --reaction and --uplink; '0 s' for none"});
      }
      q.delay = {val.get("downlink", downlink, Dimension::time).value_or(0), val.get("reaction", reaction, Dimension::time).value_or(0), val.get("uplink", uplink, Dimension::time).value_or(0)};
      if (const auto whole = val.get("delay", delay, Dimension::time)) q.delay = {0.5 * *whole, 0, 0.5 * *whole};
      q.braking_coefficient = val.get("braking", braking, Dimension::none).value_or(0);
      q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0);
      q.gradient_rad = val.get("gradient", slope, Dimension::angle).value_or(0);
      q.fastest_m_s = val.get("fastest", fastest, Dimension::speed);
      const auto over = [&](double& to, const char* option, const std::string& text, Dimension d) { to = val.get(option, text, d).value_or(to); };
      over(q.half_width_m, "room", room, Dimension::length);
      over(q.look_ahead_m, "look-ahead", look_ahead, Dimension::length);
      over(q.smallest_radius_m, "turning-radius", turning_radius, Dimension::length);
      over(q.drift_angle_rad, "drift", drift, Dimension::angle);
      over(q.jitter_s, "jitter", jitter, Dimension::time);
      over(q.image_interval_s, "image-interval", image_interval, Dimension::time);
      over(q.image_loss_ratio, "image-loss", image_loss, Dimension::none);
      over(q.anticipation_ratio, "anticipation", anticipation, Dimension::none);
      over(q.thinking_s, "thinking", thinking, Dimension::time);
      over(q.slalom_amplitude_m, "slalom", amplitude, Dimension::length);
      over(q.slalom_wave_length_m, "wave-length", wave_length, Dimension::length);
      for (const std::string& d : at_delay) q.delays_s.push_back(val.get("at-delay", d, Dimension::time).value_or(-1));
      problems.throw_if_refused();
      const auto r = service::stopping(q);
      if (c.json) put_json("stopping", problems, bare_provenance(), service::stopping_json(q, r));
      else put(stopping_text(q, r, units_out == "US", stopping_units->count() > 0 ? std::nullopt : Values::unit(fastest, Dimension::speed)));
      return 0;
    };
  });

  std::string mass, from, to, target;
  double length_ratio = 1, mass_ratio = 1;
  v = add_verb("gravity");
  v->add_option("--mass", mass, "mass of the tested vehicle: '420 kg'")->required();
  v->add_option("--from", from, "gravity of the tests: '9.81 m/s^2'")->required();
  v->add_option("--to", to, "gravity it is meant for: '1.62 m/s^2'")->required();
  v->add_option("--target-mass", target, "true mass of the vehicle meant for there");
  v->add_option("--length-ratio", length_ratio, "granular scaling: length there over length here")->capture_default_str();
  v->add_option("--mass-ratio", mass_ratio, "granular scaling: mass there over mass here")->capture_default_str();
  v->callback([&] {
    action = [&] {
      using units::Dimension;
      base::Problems problems;
      Values val(problems);
      service::GravityRequest q{.mass_kg = val.get("mass", mass, Dimension::mass).value_or(0), .from_m_s2 = val.get("from", from, Dimension::acceleration).value_or(0),
                                .to_m_s2 = val.get("to", to, Dimension::acceleration).value_or(0), .target_mass_kg = val.get("target-mass", target, Dimension::mass),
                                .length_ratio = length_ratio, .mass_ratio = mass_ratio};
      problems.throw_if_refused();
      const auto r = service::gravity(q);
      if (c.json) put_json("gravity", problems, bare_provenance(), service::gravity_json(q, r));
      else put(gravity_text(q, r, Values::unit(mass, Dimension::mass).value_or(units::si(Dimension::mass))));
      return 0;
    };
  });

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& e) {
    if (app.get_subcommands().empty() && argc > 1 && argv[1][0] != '-') {
      const std::string nearest = nearest_verb(app, argv[1]);
      std::fprintf(stderr, "There is no verb \"%s\".%s 'hardpan --help' lists them.\n", argv[1], nearest.empty() ? "" : (" Did you mean \"" + nearest + "\"?").c_str());
      return 2;
    }
    if (argc == 1) {
      std::fputs("No verb is given, for example 'hardpan check DIR'. 'hardpan --help' lists them.\n", stderr);
      return 2;
    }
    const int code = app.exit(e);  // help and version print to stdout and are 0
    if (code == 0 && !std::cout.flush()) {
      std::fputs("cannot write to standard output: is the disk full or the reader gone?\n", stderr);
      return 4;
    }
    return code == 0 ? 0 : 2;
  }
  verb = app.get_subcommands().front()->get_name();
  c.compute.plain_kernel = c.simd == "plain";
  if (c.compute.estimator == "joint") c.compute.estimator.clear();
  try {
    return action();
  } catch (const base::InputError& e) {
    return fail(e.problems(), verb, c.json);
  } catch (const base::EnvironmentError& e) {
    std::fprintf(stderr, "%s\n", e.what());
    return 4;
  }
}

}  // namespace
}  // namespace hardpan::cli

int main(int argc, char** argv) {
  std::signal(SIGINT, hardpan::cli::on_interrupt);
  std::signal(SIGTERM, hardpan::cli::on_interrupt);
  std::signal(SIGPIPE, SIG_IGN);
  try {
    return hardpan::cli::run(argc, argv);
  } catch (const std::bad_alloc&) {
    std::fputs("out of memory\n", stderr);
    return 4;
  } catch (const std::exception& e) {
    std::fprintf(stderr, "fault in the program: %s\n", e.what());
    return 1;
  }
}
