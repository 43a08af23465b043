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

// The data dictionary: what stands in each column of a table. Where the heading carries no unit, `unit` says what the cells are.
struct ColumnWords {
  const char* unit;
  const char* meaning;
};
constexpr const char* kText = "text";
constexpr const char* kCount = "count";
constexpr const char* kShare = "-";
constexpr const char* kOfRow = "column `unit`";

// By heading; "table/heading" where a heading means something else there. An estimate is explained once, its four ends by rule.
const std::map<std::string, ColumnWords>& column_words() {
  static const std::map<std::string, ColumnWords> kWords{
      {"zone", {kText, "id of the zone of ground"}},
      {"vehicle", {kText, "id of the vehicle"}},
      {"tests", {kCount, "number of tests used"}},
      {"soil-parameters/tests", {kText, "kind of tests the parameter comes from"}},
      {"parameter", {kText, "short name of the parameter"}},
      {"meaning", {kText, "the parameter in words"}},
      {"unit", {kText, "unit of the values in this row"}},
      {"value", {kOfRow, "best estimate"}},
      {"average, soil scatter alone, low", {kOfRow, "lower end of the 95 % interval of the average ground without the instrument's part"}},
      {"average, soil scatter alone, high", {kOfRow, "upper end of the 95 % interval of the average ground without the instrument's part"}},
      {"instrument, one standard deviation", {kOfRow, "part of the uncertainty that all readings share through the instrument's calibration"}},
      {"points", {kCount, "independent points behind the value"}},
      {"status", {kText, "\"ok\", or what is missing and why"}},
      {"basis", {kText, "estimator, window and tests the value rests on"}},
      {"estimator", {kText, "way of fitting"}},
      {"relation", {kText, "relation fitted"}},
      {"n", {kShare, "exponent of the pressure-sinkage relation"}},
      {"unit of the first modulus", {kText, "unit of the next column; it follows from relation and n"}},
      {"first modulus", {"column before it", "kc of Bekker, the cohesive modulus of Reece, or the only modulus"}},
      {"unit of the second modulus", {kText, "unit of the next column; it follows from relation and n"}},
      {"second modulus", {"column before it", "kphi of Bekker or the frictional modulus of Reece"}},
      {"window from", {"m", "smallest sinkage in the fit"}},
      {"window to", {"m", "largest sinkage in the fit"}},
      {"readings", {kCount, "number of readings"}},
      {"misfit", {"Pa", "root mean square of measured less fitted"}},
      {"misfit of ln p", {kShare, "root mean square of measured less fitted in the logarithm of pressure"}},
      {"run", {kText, "name of the run"}},
      {"point", {kText, "id of the point"}},
      {"surface", {kText, "what was sheared against the soil: soil or smooth metal"}},
      {"normal stress", {"Pa", "mean normal stress on the sheared surface"}},
      {"strength", {"Pa", "shear stress that enters the strength line"}},
      {"shear displacement modulus", {"m", "K of the relation that fits better"}},
      {"flagged", {kText, "yes: left out of the strength line, or doubtful, for the reason beside"}},
      {"reason", {kText, "why it is flagged"}},
      {"test", {kText, "id of the test"}},
      {"class", {kText, "class of cones as written in the record"}},
      {"base area", {"m^2", "base area of the cone"}},
      {"from", {"m", "upper edge of the layer"}},
      {"to", {"m", "lower edge of the layer"}},
      {"pull-windows/from", {"s", "begin of the window on the clock of the log"}},
      {"pull-windows/to", {"s", "end of the window on the clock of the log"}},
      {"cone index", {"Pa", "mean resistance over base area in the layer"}},
      {"rating cone index", {"Pa", "cone index times the remoulding index, where that was measured"}},
      {"file", {kText, "file of the campaign"}},
      {"line", {kCount, "line of that file"}},
      {"first line", {kCount, "first line of that file"}},
      {"last line", {kCount, "last line of that file"}},
      {"width b", {"m", "width used in the pressure-sinkage relation"}},
      {"sinkage", {"m", "depth below the undisturbed surface"}},
      {"pressure", {"Pa", "load over area, after corrections"}},
      {"taken as", {kText, "what the reading or trial was taken for"}},
      {"weight in the fit", {kShare, "robust weight, 0 (left out) to 1"}},
      {"requirement", {kText, "id of the requirement"}},
      {"text", {kText, "the requirement as written"}},
      {"condition", {kText, "condition of the ground it holds for"}},
      {"quantity", {kText, "what is asked or compared"}},
      {"sense", {kText, "at least or at most"}},
      {"threshold", {kOfRow, "limit required"}},
      {"finding", {kText, "met, not met or not shown"}},
      {"margin", {kOfRow, "how far on the good side (positive) at the required probability"}},
      {"probability", {kShare, "share of next points, or of trials, that satisfy the requirement"}},
      {"confidence", {kShare, "confidence that this share is at least the required probability"}},
      {"required probability", {kShare, "share of next points asked for"}},
      {"required confidence", {kShare, "confidence asked for"}},
      {"population", {kText, "what the probability is over"}},
      {"limiting factor", {kText, "why the quantity is not larger"}},
      {"against what was tested", {kText, "whether the wheels ask of the soil what was tested"}},
      {"records", {kText, "records that carry the answer"}},
      {"reasons", {kText, "why this finding"}},
      {"what would change it", {kText, "tests or changes that would move the finding"}},
      {"soil", {kText, "heading of an answer on a textbook soil; empty on measured ground"}},
      {"limited by", {kText, "what limits the value"}},
      {"slip ratio", {kShare, "slip, driving positive, 0.2 is 20 %"}},
      {"pull coefficient", {kShare, "pull over weight on the level"}},
      {"pull-windows/pull coefficient", {kShare, "pull over normal load, corrected for line angle, slope and acceleration; towed and coasting: less the resistance"}},
      {"pull-slip-curves/pull coefficient", {kShare, "pull over normal load, corrected for line angle, slope and acceleration"}},
      {"torque per wheel", {"N m", "torque of the most loaded driven wheel"}},
      {"tractive efficiency", {kShare, "power of the pull over power of the wheels"}},
      {"gradient", {"deg", "slope in the direction of travel, nose up positive"}},
      {"share immobilised", {kShare, "share of next points at which the vehicle does not travel"}},
      {"measured", {kOfRow, "value read"}},
      {"measured standard error", {kOfRow, "standard error of that reading"}},
      {"predicted", {kOfRow, "value predicted on the best-estimate soil"}},
      {"next point low", {kOfRow, "lower end of the 95 % interval predicted for the next point met"}},
      {"next point high", {kOfRow, "upper end of the 95 % interval predicted for the next point met"}},
      {"inside", {kText, "yes: the reading lies in that interval"}},
      {"before", {kOfRow, "centre before vehicle tests taught"}},
      {"before low", {kOfRow, "lower end of the 95 % interval before"}},
      {"before high", {kOfRow, "upper end of the 95 % interval before"}},
      {"after", {kOfRow, "centre after vehicle tests taught"}},
      {"after low", {kOfRow, "lower end of the 95 % interval after"}},
      {"after high", {kOfRow, "upper end of the 95 % interval after"}},
      {"moved, in standard deviations before", {kShare, "after less before, over the standard deviation before"}},
      {"standard deviation after over before", {kShare, "how much the tests narrowed it"}},
      {"disagrees", {kText, "yes: moved further than its own spread before allows"}},
      {"at the edge", {kText, "yes: the tests push it to the end of what is possible"}},
      {"records that taught", {kText, "ids of the records that updated the soil"}},
      {"runs", {kCount, "independent runs"}},
      {"difference before", {kOfRow, "measured less predicted before the update, mean over runs"}},
      {"difference after", {kOfRow, "measured less predicted after the update, mean over runs"}},
      {"readings inside before", {kCount, "readings inside their 95 % interval before the update"}},
      {"readings inside after", {kCount, "readings inside their 95 % interval after the update"}},
      {"mean width before", {kOfRow, "mean width of those intervals before the update"}},
      {"mean width after", {kOfRow, "mean width of those intervals after the update"}},
      {"part", {kText, "part of the uncertainty that varies alone"}},
      {"best-estimate soil", {kOfRow, "value on the best-estimate soil"}},
      {"low", {kOfRow, "lower end of the 95 % interval at the next point with that part alone"}},
      {"high", {kOfRow, "upper end of the 95 % interval at the next point with that part alone"}},
      {"used low", {kOfRow, "least value under the wheels"}},
      {"used high", {kOfRow, "largest value under the wheels"}},
      {"tested low", {kOfRow, "least value tested"}},
      {"tested high", {kOfRow, "largest value tested"}},
      {"verdict", {kText, "inside what was tested, up to twice that, beyond, or not tested"}},
      {"what", {kText, "what the file is"}},
      {"remarks/what", {kText, "what is remarked on"}},
      {"size", {"byte", "size of the file"}},
      {"rows", {kCount, "rows of data"}},
      {"remarks/rows", {kCount, "rows concerned"}},
      {"rows excluded", {kCount, "rows set aside by remarks or amendments"}},
      {"SHA-256", {kText, "checksum of the file as it was read"}},
      {"where", {kText, "file, line and key"}},
      {"found", {kText, "value found"}},
      {"accepted", {kText, "what would be accepted"}},
      {"remedy", {kText, "what to do"}},
      {"weight", {"N", "weight of vehicle and payload on the level"}},
      {"rolling radius", {"m", "radius used for slip"}},
      {"record", {kText, "id of the record"}},
      {"lane", {kText, "lane driven"}},
      {"direction", {kText, "direction on the lane"}},
      {"by", {kText, "how the value was found"}},
      {"slip ratio standard error", {kShare, "standard error of the slip"}},
      {"slip status", {kText, "\"ok\", or why there is no slip"}},
      {"zero slip", {kText, "condition in which the rolling radius was measured"}},
      {"pull", {"N", "mean pull along the line, zeroed, positive when the vehicle pulls"}},
      {"pull standard error", {"N", "standard error of the mean, correlated readings counted for what they are worth"}},
      {"gradient from", {kText, "where the gradient comes from"}},
      {"normal load", {"N", "load across the slope, line pull counted"}},
      {"pull coefficient standard error", {kShare, "standard error of the pull coefficient"}},
      {"torque", {"N m", "mean axle torque as logged"}},
      {"power in", {"W", "mechanical or electrical power put in, as the efficiency says"}},
      {"efficiency", {kShare, "power of the pull over power put in"}},
      {"efficiency standard error", {kShare, "standard error of the efficiency"}},
      {"efficiency is", {kText, "tractive (axle torque) or overall (motor current)"}},
      {"samples", {kCount, "readings in the window"}},
      {"effective samples", {kCount, "independent readings they are worth"}},
      {"remarks", {kText, "what to know about this row"}},
      {"speed", {"m/s", "ground speed"}},
      {"coefficient", {kShare, "motion resistance over normal load"}},
      {"remark", {kText, "what to know about this row"}},
      {"way", {kText, "up or down the slope"}},
      {"start", {kText, "standing or rolling"}},
      {"angle", {"deg", "slope, mean over the places measured"}},
      {"angle spread, one standard deviation", {"deg", "spread of the slope over those places"}},
      {"places", {kCount, "places at which the slope was measured"}},
      {"outcome", {kText, "go, no-go, aborted or sled-limited"}},
      {"length climbed", {"m", "way climbed before the end"}},
      {"why", {kText, "why it stopped"}},
      {"wheel path", {kText, "wheel path measured"}},
      {"pass", {kCount, "number of the pass"}},
      {"depth under the wheel", {"m", "rut depth while the wheel stands in it"}},
      {"depth after the wheel", {"m", "rut depth after rebound"}},
      {"trace/time", {"s", "clock of the log"}},
      {"trace/pull raw", {"N", "pull as read"}},
      {"trace/pull zeroed", {"N", "less the zero stretch"}},
      {"trace/pull shifted", {"N", "moved by the lag between channels"}},
      {"trace/pull filtered", {"N", "after the filter"}},
      {"trace/wheel speed", {"rad/s", "mean of the wheels"}},
      {"trace/ground speed", {"m/s", "speed over ground"}},
      {"trace/slip ratio filtered", {kShare, "slip after the filter"}},
      {"trace/torque", {"N m", "axle torque"}},
      {"trace/pitch", {"deg", "pitch, nose up positive"}},
      {"trace/mark", {kText, "what this stretch of the log was taken for"}}};
  return kWords;
}

struct TableWords {
  const char* name;
  const char* meaning;
};
constexpr TableWords kTables[]{
    {"cone-layers", "Cone index of each push by layer"},
    {"extrapolation-guard", "What the wheels ask of the soil against what was tested"},
    {"findings", "Findings against requirements, a row a requirement"},
    {"headline-predictions", "The main predicted values of each vehicle on each zone; a pull coefficient of -1 stands for immobilised"},
    {"held-out-before-after", "Runs that did not teach, against the prediction before and after the soil was updated by vehicle tests"},
    {"inputs", "Files read"},
    {"motion-resistance", "Motion resistance over normal load"},
    {"parts-of-uncertainty", "95 % intervals with one part of the uncertainty varying alone"},
    {"plate-fits", "Pressure-sinkage relations by every estimator"},
    {"plate-readings", "Plate readings after zero, contact and frame correction"},
    {"predicted-against-slip", "Predicted on the level against slip; a pull coefficient of -1 stands for immobilised"},
    {"predicted-measured", "Every reading of the vehicle tests against its prediction"},
    {"predicted-on-gradients", "Predicted slip on gradients without a hitch pull; a slip ratio of 1 stands for immobilised"},
    {"pull-slip-curves", "Measured pull coefficient against slip"},
    {"pull-windows", "Steady windows of tow logs, bins of a sweep, and hand pulls"},
    {"remarks", "Remarks of reading and reduction"},
    {"ruts", "Rut depth by wheel path and pass"},
    {"shear-runs", "Shear runs one by one"},
    {"slope-trials", "Slope trials and what each was taken for"},
    {"soil-before-after", "Soil and model form before and after vehicle tests taught, average ground"},
    {"soil-parameters", "Soil parameters with intervals"}};

constexpr TableWords kResultKeys[]{
    {"schema", "name and version of this form"},
    {"version", "version of the program"},
    {"verb", "verb that was called"},
    {"status", "done, or refused"},
    {"problems", "refusals and remarks: severity, place, what, value, bound, remedy, count"},
    {"provenance", "begin, end, settings and instruction set of the run, and the key by which an unchanged run is known"},
    {"result/campaign", "name, place, day, gravity, records, vehicles and checksums of the files read"},
    {"result/missing", "what could not be computed, and why"},
    {"result/ground", "zones with their parameters and fits, drift through the day, agreement of drop cones"},
    {"result/drawbar", "pull against slip, motion resistance, slope limits, lanes and windows"},
    {"result/predictions", "a vehicle on a zone: gradients, pull, sinkage, torque, energy, with limiting factors"},
    {"result/validation", "predictions against measurements, updates by vehicle tests, and what was tested against what is asked"},
    {"result/findings", "each requirement with value, margin, probability, confidence and reasons"},
    {"result/amendment_effects", "findings with and without amendments.csv"}};

// Cells of a heading line after RFC 4180.
std::vector<std::string> heading_cells(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"' && quoted && i + 1 < line.size() && line[i + 1] == '"') {
      cells.back() += line[++i];
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else if (c != '\r' && c != '\n') {
      cells.back() += c;
    }
  }
  return cells;
}

std::string dictionary_row(const std::string& table, const std::string& cell) {
  const std::size_t bracket = cell.ends_with("]") ? cell.rfind(" [") : std::string::npos;
  const std::string heading = cell.substr(0, bracket);
  std::string unit = bracket == std::string::npos ? "" : cell.substr(bracket + 2, cell.size() - bracket - 3), base = heading, end;
  for (const auto& [suffix, words] : {std::pair{", average ground low", "lower end of the 95 % interval of the average ground: "}, {", average ground high", "upper end of the 95 % interval of the average ground: "},
                                      {", next point low", "lower end of the 95 % interval of the next point met: "}, {", next point high", "upper end of the 95 % interval of the next point met: "}}) {
    if (!heading.ends_with(suffix)) continue;
    base = heading.substr(0, heading.size() - std::string(suffix).size());
    end = words;
  }
  const auto& words = column_words();
  auto found = words.find(table + "/" + base);
  if (found == words.end()) found = words.find(base);
  std::string meaning = "not described";
  if (found != words.end()) {
    meaning = end + found->second.meaning;
    if (unit.empty()) unit = found->second.unit;
  }
  return "| " + heading + " | " + unit + " | " + meaning + " |\n";
}

// Every column of the tables that are sealed, as their heading lines stand, then the keys of results.json.
std::string dictionary_of_tables(const std::string& folder, const std::vector<std::string>& files, base::Problems& problems) {
  std::string out;
  for (const std::string& f : files) {
    const bool trace = f.starts_with("out/trace/");
    if (!f.ends_with(".csv") || (!trace && !f.starts_with("out/tables/"))) continue;
    const auto bytes = io::read_file(folder + "/" + f, problems);
    if (!bytes) continue;
    const std::string name = fs::path(f).stem().string();
    out += "### `" + f + "`\n\n";
    for (const TableWords& t : kTables) {
      if (name == t.name && !trace) out += std::string(t.meaning) + ".\n\n";
    }
    if (trace) out += "Every step of the reduction of one tow log, a row a reading.\n\n";
    out += "| column | unit | meaning |\n|---|---|---|\n";
    for (const std::string& cell : heading_cells(bytes->substr(0, bytes->find('\n')))) out += dictionary_row(trace ? "trace" : name, cell);
    out += "\n";
  }
  if (!out.empty()) out = "## Columns of the tables\n\nA cell is empty where there is nothing to say. `-` is a number without unit.\n\n" + out;
  if (std::find(files.begin(), files.end(), "out/results.json") != files.end()) {
    out += "## Keys of `out/results.json`\n\n| key | meaning |\n|---|---|\n";
    for (const TableWords& key : kResultKeys) out += std::string("| `") + key.name + "` | " + key.meaning + " |\n";
  }
  return out;
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
  dictionary += dictionary_of_tables(folder, files, problems);
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
