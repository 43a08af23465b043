// SPDX-License-Identifier: Apache-2.0
#include "service/outputs.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <numbers>
#include <set>

#include "base/checksum.hpp"
#include "io/archive.hpp"
#include "io/atomic_files.hpp"
#include "io/csv_out.hpp"
#include "io/files.hpp"
#include "io/lock.hpp"
#include "io/store.hpp"
#include "io/xlsx.hpp"
#include "performance/travel.hpp"
#include "report/document.hpp"
#include "report/figure.hpp"
#include "report/vehicle_drawing.hpp"
#include "service/detail/data_dictionary.hpp"
#include "service/json_results.hpp"
#include "units/print.hpp"

namespace hardpan::service {

using io::Json;
namespace fs = std::filesystem;

struct Lock::Held {
  io::FolderLock lock;
};
Lock::Lock(const std::string& folder) {
  std::error_code error;
  if (!fs::is_directory(folder, error)) {
    base::Problems problems;
    problems.refuse({.place = {.file = folder}, .what = "there is no campaign folder here", .remedy = "'hardpan new " + folder + "' makes one"});
    problems.throw_if_refused();
  }
  held_ = std::make_unique<Held>(Held{io::FolderLock(folder)});
  io::OutputDirectory::recover(folder + "/out");  // what a killed run left is finished or cleared
}
Lock::~Lock() = default;

namespace {

void make_folder(const std::string& path) {
  std::error_code error;
  fs::create_directories(path, error);
  if (error) throw io::environment_error("make the folder", path, error.value());
}

// Intermediates of one tow log as a table.
io::Table trace_table(const records::Trace& t) {
  io::Table table{.name = t.id, .title = "Every step of " + t.file};
  const std::vector<std::pair<io::TableColumn, const std::vector<double>*>> columns{
      {{"time", "s"}, &t.time_s}, {{"pull raw", "N"}, &t.pull_raw_n}, {{"pull zeroed", "N"}, &t.pull_zeroed_n},
      {{"pull shifted", "N"}, &t.pull_shifted_n}, {{"pull filtered", "N"}, &t.pull_filtered_n},
      {{"wheel speed", "rad/s"}, &t.wheel_speed_rad_per_s}, {{"ground speed", "m/s"}, &t.ground_speed_m_per_s},
      {{"slip ratio filtered", ""}, &t.slip_filtered}, {{"torque", "N m"}, &t.torque_n_m}, {{"pitch", "deg"}, &t.pitch_rad}};
  std::vector<const std::vector<double>*> kept;
  for (const auto& [column, values] : columns) {
    if (values->size() != t.time_s.size() || values->empty()) continue;
    table.columns.push_back(column);
    kept.push_back(values);
  }
  table.columns.push_back({"mark", ""});
  for (std::size_t i = 0; i < t.time_s.size(); ++i) {
    std::vector<io::TableCell> row;
    for (const auto* values : kept) row.emplace_back(values == &t.pitch_rad ? (*values)[i] * 180 / std::numbers::pi : (*values)[i]);
    std::string marks;
    for (const records::TraceMark& m : t.marks) {
      if (i >= m.begin && i < m.end) marks += (marks.empty() ? "" : "; ") + m.what;
    }
    row.emplace_back(marks);
    table.rows.push_back(std::move(row));
  }
  return table;
}

std::string file_name(std::string text) {
  for (char& c : text) {
    if (!std::isalnum(static_cast<unsigned char>(c)) && c != '-' && c != '_' && c != '.') c = '-';
  }
  return text;
}

constexpr const char* kLedgerTables =
    "create table if not exists run (id integer primary key, time text not null, version text not null, key text not null, "
    "results text not null);"
    "create table if not exists input (run integer not null references run(id), path text not null, role text not null, "
    "sha256 text not null, bytes integer not null);"
    "create table if not exists headline (run integer not null references run(id), requirement text not null, verdict text not null, "
    "value real, margin real);";

// Only the last twenty runs keep their whole results; headlines and checksums stay for ever.
constexpr int kKeptResults = 20;

void enter(const std::string& folder, const campaign::Results& r, const std::string& results) {
  io::Database ledger(folder + "/ledger.sqlite");
  io::Transaction change(ledger);
  ledger.exec(kLedgerTables);
  ledger.prepare("insert into run (time, version, key, results) values (?, ?, ?, ?)")
      .bind(1, r.provenance.started).bind(2, r.provenance.version).bind(3, r.provenance.key).bind(4, results).run();
  const std::int64_t id = ledger.last_insert_id();
  for (const campaign::InputFile& f : r.campaign.inputs) {
    ledger.prepare("insert into input values (?, ?, ?, ?, ?)")
        .bind(1, id).bind(2, f.path).bind(3, f.role).bind(4, f.sha256).bind(5, static_cast<std::int64_t>(f.bytes)).run();
  }
  for (const validation::Finding& f : r.findings) {
    ledger.prepare("insert into headline values (?, ?, ?, ?, ?)")
        .bind(1, id).bind(2, f.requirement.id).bind(3, validation::name(f.verdict)).bind(4, f.value.value).bind(5, f.margin_si).run();
  }
  ledger.prepare("update run set results = '' where id <= ?").bind(1, id - kKeptResults).run();
  change.commit();
}

}  // namespace

std::vector<std::string> write_drawings(const std::string& folder, const campaign::Campaign& c) {
  make_folder(folder);
  std::vector<std::string> written;
  for (const vehicle::Vehicle& v : c.vehicles) {
    written.push_back(folder + "/" + file_name(v.id) + ".svg");
    io::write_file(written.back(), report::vehicle_drawing(v, c.gravity_m_s2, c.output_units));
  }
  return written;
}

Written write_outputs(const std::string& folder, const campaign::Results& r, const base::Problems& problems) {
  Written written;
  io::OutputDirectory out(folder + "/out");
  const auto put = [&](const std::string& name, const std::string& bytes) {
    io::write_file(out.path() + "/" + name, bytes);
    written.files.push_back("out/" + name);
  };
  const std::string results = envelope("run", "done", problems, r.provenance, results_json(r, Step::validate)).dump();
  put("results.json", results);
  put("report.html", report::html(r));
  make_folder(out.path() + "/figures");
  for (const auto& [id, figure] : report::figures(r)) {
    put("figures/" + file_name(id) + ".svg", report::to_svg(figure, {}));
  }
  for (const vehicle::Vehicle& v : r.campaign.vehicles) put("figures/vehicle-" + file_name(v.id) + ".svg", report::vehicle_drawing(v, r.campaign.gravity_m_s2, r.campaign.output_units));
  for (const auto& [id, svg] : report::films(r)) put("figures/" + file_name(id) + ".svg", svg);
  make_folder(out.path() + "/tables");
  const std::vector<io::Table> tables = report::tables(r);
  for (const io::Table& t : tables) put("tables/" + file_name(t.name) + ".csv", io::csv_text(t));
  if (!tables.empty()) {
    io::write_xlsx(out.path() + "/tables/tables.xlsx", tables, {.title = r.campaign.name});
    written.files.push_back("out/tables/tables.xlsx");
  }
  bool traces = false;
  for (const records::TowReduction& log : r.drawbar.logs) {
    if (!log.trace) continue;
    if (!traces) make_folder(out.path() + "/trace");
    traces = true;
    put("trace/" + file_name(log.id) + ".csv", io::csv_text(trace_table(*log.trace)));
  }
  // The ledger first: a run killed between the two is entered, and found stale by the missing out/.
  enter(folder, r, results);
  out.commit();
  written.report = folder + "/out/report.html";
  return written;
}

std::optional<LastRun> unchanged_since(const std::string& folder, const std::string& key) {
  std::error_code error;
  if (!fs::exists(folder + "/ledger.sqlite", error) || !fs::exists(folder + "/out/report.html", error)) return std::nullopt;
  base::Problems ignore;
  auto results = io::load_json(folder + "/out/results.json", ignore);
  if (!results) return std::nullopt;
  const Json* stored = results->find_path("provenance/key");
  if (!stored || stored->text() != key) return std::nullopt;
  return LastRun{.report = folder + "/out/report.html", .results = std::move(*results)};
}

std::vector<EarlierRun> earlier_runs(const std::string& folder, std::size_t most) {
  std::vector<EarlierRun> out;
  std::error_code error;
  if (!fs::exists(folder + "/ledger.sqlite", error)) return out;
  io::Database ledger(folder + "/ledger.sqlite", io::Database::Mode::read_only);
  auto rows = ledger.prepare("select time, version, key, results from run where results <> '' order by id desc limit ?");
  rows.bind(1, static_cast<std::int64_t>(most));
  base::Problems problems;
  while (rows.step()) {
    auto json = io::parse_json(rows.text(3), "ledger.sqlite", problems);
    if (json) out.push_back({rows.text(0), rows.text(1), rows.text(2), std::move(*json)});
  }
  return out;
}

namespace {

std::map<std::string, const Json*> by_key(const Json* list, const std::vector<std::string>& keys) {
  std::map<std::string, const Json*> out;
  if (!list) return out;
  for (const Json& item : list->items()) {
    std::string id;
    for (const std::string& k : keys) {
      const Json* v = item.find(k);
      id += (id.empty() ? "" : " on ") + (v ? v->text().value_or("") : "");
    }
    out[id] = &item;
  }
  return out;
}

std::string short_text(const Json* v) {
  if (!v || v->is_null()) return "none";
  if (const auto n = v->number()) return fmt::format("{:.4g}", *n);
  if (const auto t = v->text()) return *t;
  return v->dump(0);
}

// Unit at the end of a key, as in "threshold_rad" or "value_n_m".
units::Dimension dimension_at_end(const std::string& key) {
  using units::Dimension;
  static const std::vector<std::pair<const char*, Dimension>> kEnds{
      {"_n_m", Dimension::torque}, {"_j_per_m", Dimension::energy_per_distance}, {"_m_per_s", Dimension::speed}, {"_rad", Dimension::angle},
      {"_pa", Dimension::pressure}, {"_kg", Dimension::mass}, {"_n", Dimension::force}, {"_m", Dimension::length}};
  for (const auto& [end, dimension] : kEnds) {
    if (key.ends_with(end)) return dimension;
  }
  return Dimension::none;
}

std::string shown(const Json* v, units::Dimension dimension, bool percent, units::OutputUnits u) {
  const auto n = v ? v->number() : std::nullopt;
  if (!n) return short_text(v);
  if (dimension == units::Dimension::angle && *n <= performance::kNoGradient + 1e-9) return "none";
  if (percent) return units::print_percent(*n);
  return dimension == units::Dimension::none ? fmt::format("{:.4g}", *n) : units::print_quantity(*n, dimension, u, 4);
}

// A member of a list's items: its path, where the first part may lack its unit ("value_*/value"), and its plain name.
struct Member {
  std::string path, words;
  bool percent = false;
};

// The path with the unit filled in, as the item has it.
std::string full_path(const Json& item, const std::string& path) {
  const std::size_t star = path.find('*');
  if (star == std::string::npos) return path;
  const std::string begin = path.substr(0, star);
  for (const auto& [key, value] : item.members()) {
    if (key.starts_with(begin) && key.find("_without_") == std::string::npos && key.find("_before_") == std::string::npos) return key + path.substr(star + 1);
  }
  return path;
}

// Differences of the named members between two lists of items.
void compare_lists(const std::string& what, const Json* a, const Json* b, const std::vector<std::string>& keys, const std::vector<Member>& members,
                   units::OutputUnits u, std::vector<Change>& out) {
  const auto before = by_key(a, keys), after = by_key(b, keys);
  for (const auto& [id, item] : after) {
    const auto old = before.find(id);
    if (old == before.end()) {
      out.push_back({what + " " + id, "", "new"});
      continue;
    }
    for (const Member& m : members) {
      const std::string now = full_path(*item, m.path), then = full_path(*old->second, m.path);
      const auto dimension = [](const std::string& path) { return dimension_at_end(path.substr(0, path.find('/'))); };
      const std::string x = shown(old->second->find_path(then), dimension(then), m.percent, u), y = shown(item->find_path(now), dimension(now), m.percent, u);
      if (x != y) out.push_back({what + " " + id + ": " + m.words, x, y});
    }
  }
  for (const auto& [id, item] : before) {
    if (!after.contains(id)) out.push_back({what + " " + id, "", "gone"});
  }
}

// One measured parameter of a zone, in its own unit.
void compare_parameters(const std::string& zone, const Json* a, const Json* b, units::OutputUnits u, std::vector<Change>& out) {
  const auto before = by_key(a, {"meaning"}), after = by_key(b, {"meaning"});
  for (const auto& [id, item] : after) {
    const auto old = before.find(id);
    if (old == before.end()) {
      out.push_back({"zone " + zone + ": " + id, "", "new"});
      continue;
    }
    const auto show = [&](const Json& parameter) {
      const std::string unit = parameter.find("unit") ? parameter.find("unit")->text().value_or("") : "";
      const units::Dimension d = unit == "Pa" ? units::Dimension::pressure : unit == "m" ? units::Dimension::length : unit == "rad" ? units::Dimension::angle : units::Dimension::none;
      const std::string text = shown(parameter.find_path("estimate/value"), d, false, u);
      return d == units::Dimension::none && !unit.empty() && unit != "1" && text != "none" ? text + " " + unit : text;
    };
    const std::string x = show(*old->second), y = show(*item);
    if (x != y) out.push_back({"zone " + zone + ": " + id, x, y});
  }
  for (const auto& [id, item] : before) {
    if (!after.contains(id)) out.push_back({"zone " + zone + ": " + id, "", "gone"});
  }
}

}  // namespace

std::vector<Change> changes_between(const Json& before, const Json& after) {
  std::vector<Change> out;
  const auto at = [](const Json& j, const char* path) { return j.find_path(path); };
  if (short_text(before.find("version")) != short_text(after.find("version"))) {
    out.push_back({"version of the program", short_text(before.find("version")), short_text(after.find("version"))});
  }
  const Json* spelt = after.find_path("result/campaign/output_units");
  const units::OutputUnits u = spelt && spelt->text() == "US" ? units::OutputUnits::us : units::OutputUnits::si;
  compare_lists("input", at(before, "result/campaign/inputs"), at(after, "result/campaign/inputs"), {"path"}, {{"sha256", "sha256"}}, u, out);
  for (Change& c : out) {
    if (c.what.ends_with(": sha256")) c = {c.what.substr(0, c.what.size() - 8), "", "changed"};
  }
  const Json* s0 = at(before, "provenance/settings");
  const Json* s1 = at(after, "provenance/settings");
  if (s0 && s1) {
    for (const auto& [key, value] : s1->members()) {
      const std::string x = short_text(s0->find(key)), y = short_text(&value);
      if (x != y) out.push_back({"setting " + key, x, y});
    }
  }
  // Results of an earlier version carry no vehicles: nothing to set against.
  if (at(before, "result/campaign/vehicles")) {
    compare_lists("vehicle", at(before, "result/campaign/vehicles"), at(after, "result/campaign/vehicles"), {"id"},
                  {{"mass_kg", "mass as tested"}, {"payload_kg", "payload"}, {"cg_ahead_of_rear_axle_m", "centre of gravity ahead of the rear axle"}, {"cg_height_m", "height of the centre of gravity"}}, u, out);
  }
  compare_lists("requirement", at(before, "result/findings"), at(after, "result/findings"), {"id"},
                {{"quantity", "quantity"}, {"sense", "sense"}, {"threshold_*", "threshold"}, {"required_probability_ratio", "probability asked", true},
                 {"required_confidence_ratio", "confidence asked", true}, {"verdict", "finding"}, {"value_*/value", "value found"}, {"margin_*", "margin"},
                 {"probability_ratio", "probability", true}, {"confidence_ratio", "confidence", true}, {"limiting_factor", "limiting factor"},
                 {"guard", "against what was tested"}}, u, out);
  compare_lists("prediction of", at(before, "result/predictions"), at(after, "result/predictions"), {"vehicle", "zone"},
                {{"gradient_at_working_slip_rad/value", "gradient at working slip"}, {"gradient_maximum_over_slip_rad/value", "largest gradient over slip"},
                 {"descent_rad/value", "steepest descent held"}, {"pull_coefficient_at_20_percent_slip_ratio/value", "pull coefficient at 20 % slip"},
                 {"towed_resistance_coefficient_ratio/value", "towed resistance coefficient"}}, u, out);
  const auto z0 = by_key(at(before, "result/ground/zones"), {"zone"}), z1 = by_key(at(after, "result/ground/zones"), {"zone"});
  for (const auto& [id, item] : z1) {
    if (const auto old = z0.find(id); old != z0.end()) compare_parameters(id, old->second->find("parameters"), item->find("parameters"), u, out);
  }
  return out;
}

namespace {

// Sets what the report was computed from against the files as they are now.
void compare_with_report(const std::string& folder, const std::vector<std::string>& files, Packed& out) {
  std::error_code error;
  if (!fs::exists(folder + "/out/results.json", error)) {
    out.has_report = fs::exists(folder + "/out/report.html", error);
    if (out.has_report) out.stale.push_back("out/ holds a report without the results it was written from");
    return;
  }
  out.has_report = true;
  base::Problems problems;
  const auto results = io::load_json(folder + "/out/results.json", problems);
  const Json* inputs = results ? results->find_path("result/campaign/inputs") : nullptr;
  if (!inputs) {
    out.stale.push_back("out/results.json does not say which inputs it was computed from");
    return;
  }
  const auto runs = fs::exists(folder + "/ledger.sqlite", error) ? earlier_runs(folder, 1) : std::vector<EarlierRun>{};
  if (runs.empty()) out.stale.push_back("ledger.sqlite holds no run that wrote it");
  else if (runs.front().results.dump() != results->dump()) out.stale.push_back("out/results.json is not what the last run of the ledger wrote");
  std::set<std::string> read;
  for (const Json& input : inputs->items()) {
    const std::string path = input.find("path") ? input.find("path")->text().value_or("") : "";
    const std::string sum = input.find("sha256") ? input.find("sha256")->text().value_or("") : "";
    read.insert(path);
    const fs::path now = fs::path(folder) / path;  // an input outside the folder keeps its own path
    base::Problems unreadable;
    if (!fs::exists(now, error)) {
      out.stale.push_back(path + " is gone since the run");
    } else if (const auto digest = io::digest_file(now.string(), unreadable); !digest || digest->sha256 != sum) {
      out.stale.push_back(path + " has changed since the run");
    }
  }
  // A new vehicle or soil file can be an input although nothing else changed.
  if (out.stale.empty()) {
    try {
      base::Problems ignore;
      for (const campaign::InputFile& f : check(folder, {}, ignore).inputs) {
        if (!read.contains(f.path)) out.stale.push_back(f.path + " is read now and was not there at the run");
      }
    } catch (const base::InputError&) {
      out.stale.push_back("'hardpan check' refuses the campaign as it is now");
    }
  }
  for (const std::string& f : files) {
    if (!read.contains(f) && !f.starts_with("out/") && !f.starts_with("ledger.sqlite")) out.beside.push_back(f);
  }
}

}  // namespace

Packed pack(const std::string& folder, const std::string& zip_path, bool as_it_is) {
  Packed out{.path = zip_path};
  std::vector<io::ArchiveEntry> entries;
  std::error_code error;
  std::vector<std::string> files;
  for (auto it = fs::recursive_directory_iterator(folder, error); it != fs::recursive_directory_iterator(); it.increment(error)) {
    if (error) break;
    const std::string name = it->path().filename().string();
    std::error_code unknown;  // a link to itself is neither folder nor file
    if (it->is_directory(unknown) && name.starts_with(".")) it.disable_recursion_pending();
    if (it->is_regular_file(unknown) && !name.starts_with(".") && !name.ends_with(".zip")) files.push_back(fs::relative(it->path(), folder, error).string());
  }
  std::sort(files.begin(), files.end());
  compare_with_report(folder, files, out);
  std::string sums;
  base::Problems problems;
  for (const std::string& f : files) {
    const auto digest = io::digest_file(folder + "/" + f, problems);
    if (!digest) continue;
    sums += digest->sha256 + "  " + f + "\n";
    entries.push_back({.name = f, .source_path = folder + "/" + f});
  }
  if (!as_it_is) {
    for (const std::string& why : out.stale) {
      problems.refuse({.place = {.file = folder}, .what = "the report does not belong to the files: " + why,
                       .remedy = "'hardpan run " + folder + "' again first, or --as-it-is to seal it marked as out of date"});
    }
  }
  problems.throw_if_refused();
  if (entries.empty()) {
    problems.refuse({.place = {.file = folder}, .what = "there is nothing to pack here"});
    problems.throw_if_refused();
  }
  std::string dictionary = "# Data dictionary\n\n";
  const auto listed = [&](const char* sentence, const std::vector<std::string>& lines) {
    if (lines.empty()) return;
    dictionary += std::string(sentence) + "\n\n";
    for (const std::string& line : lines) dictionary += "- " + line + "\n";
    dictionary += "\n";
  };
  listed("OUT OF DATE: the report in out/ was not computed from the files sealed beside it.", out.stale);
  if (!out.has_report) dictionary += "There is no report here: nothing had been run when this was sealed.\n\n";
  listed("Sealed too, but read by nothing in the report:", out.beside);
  dictionary +=
      "- `campaign.toml`, `requirements.toml`, `instruments.toml`, `vehicles/`, `soils/`, `amendments.csv`: what was stated, as typed.\n"
      "- `records/`: field sheets and logger files as they were taken; headings carry the units.\n"
      "- `out/results.json`: everything computed. SI; the unit stands at the end of each key (`_n`, `_pa`, `_m`, `_rad`, `_ratio`).\n"
      "  A quantity is `{value, average_ground: [lo, hi], next_point: [lo, hi], level, n, status}`: central intervals for the mean of the\n"
      "  ground and for the next point met; `n` is the number of independent points or runs; `null` has its reason in `status`.\n"
      "- `out/report.html`: the report; `out/tables/`: its tables as CSV and XLSX (SI, angles in degrees, six significant digits; the\n"
      "  unit stands in the heading, or in the column `unit` before the values where rows differ); `out/figures/`: its figures as SVG.\n"
      "- `out/trace/`: each step of the reduction of tow logs, where asked for.\n"
      "- `ledger.sqlite`: runs, checksums of their inputs, headline results (tables run, input, headline).\n"
      "- `SHA256SUMS`: checksum of every other file, this one among them, in the form that `sha256sum -c` reads.\n\n";
  dictionary += detail::dictionary_of_tables(folder, files, problems);
  problems.throw_if_refused();
  sums += base::sha256(dictionary) + "  DATA_DICTIONARY.md\n";
  entries.push_back({.name = "SHA256SUMS", .bytes = sums});
  entries.push_back({.name = "DATA_DICTIONARY.md", .bytes = dictionary});
  io::write_zip(zip_path, entries, {});
  const auto listing = io::verify_zip(zip_path, problems);
  problems.throw_if_refused();
  out.files = listing.size();
  return out;
}

}  // namespace hardpan::service
