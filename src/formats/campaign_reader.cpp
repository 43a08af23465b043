// SPDX-License-Identifier: Apache-2.0
#include "formats/campaign_reader.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <future>
#include <map>
#include <set>

#include "formats/detail/amend.hpp"
#include "formats/detail/record_entry.hpp"
#include "formats/detail/words.hpp"
#include "formats/instrument_file.hpp"
#include "formats/obstacles_reader.hpp"
#include "formats/questions_reader.hpp"
#include "formats/requirement_file.hpp"
#include "formats/soil_file.hpp"
#include "formats/vehicle_file.hpp"
#include "io/files.hpp"

namespace hardpan::formats {

using campaign::Campaign;
using detail::Keys;
using units::Dimension;
namespace fs = std::filesystem;

namespace {

void note_digest(Campaign& c, const std::string& relative, const std::string& role, const std::optional<io::FileDigest>& digest) {
  if (digest) c.inputs.push_back({.path = relative, .sha256 = digest->sha256, .bytes = digest->bytes, .role = role});
}
void note_input(Campaign& c, const std::string& relative, const std::string& role, base::Problems& problems) {
  note_digest(c, relative, role, io::digest_file(c.folder + "/" + relative, problems));
}

void read_head(Campaign& c, Keys k) {
  c.name = k.require_text("name");
  c.where = k.text("where");
  c.when = k.date("when");
  c.who = k.texts("who");
  const auto gravity = k.require_quantity("gravity", Dimension::acceleration);
  c.gravity_m_s2 = gravity.value_or(0);
  if (gravity && !gravity_possible(*gravity)) {
    k.table().refuse("gravity", "not the gravity of ground a vehicle drives on", "0.1 m/s^2 to 30 m/s^2", "check value and unit");
  }
  c.output_units = k.choice("output_units", campaign::OutputUnits::si, {{"SI", campaign::OutputUnits::si}, {"US", campaign::OutputUnits::us}});
  c.following_wheels = k.choice("following_wheels", campaign::FollowingWheels::untouched, {{"rut", campaign::FollowingWheels::rut}, {"untouched", campaign::FollowingWheels::untouched}});
  const auto seed = k.integer("seed");
  if (seed && *seed < 0) k.table().refuse("seed", "negative", "0 or more");
  c.seed = seed && *seed >= 0 ? static_cast<std::uint64_t>(*seed) : 1;
  const auto draws = k.integer("draws");
  if (draws && (*draws < 40 || *draws > 100000)) {
    k.table().refuse("draws", "outside what is useful", "40 to 100000", "400 is usual");
  } else if (draws) {
    c.draws = static_cast<std::size_t>(*draws);
  }
  c.reference_point = k.text("reference_point");
  const auto share = k.quantity("remark_share", Dimension::none);
  if (share && !(*share >= 0 && *share <= 0.9)) k.table().refuse("remark_share", "not a share of rows", "0 % to 90 %");
  c.remark_share = share.value_or(0.2);
  const auto repeats = k.integer("repeats");
  if (repeats && !(*repeats >= 1 && *repeats <= 1000)) k.table().refuse("repeats", "not a number of tests", "1 to 1000", "3 is usual");
  else c.repeats = static_cast<int>(repeats.value_or(3));
  c.abort_rule = k.text("abort_rule");
  c.notes = k.text("notes");
}

// Strength where a wheel has been; nothing where none of it is stated.
std::optional<performance::DisturbedStrength> disturbed_strength(Keys& k) {
  performance::DisturbedStrength d{.cohesion_pa = k.not_negative("disturbed_cohesion", Dimension::pressure)};
  if (const auto angle = k.positive("disturbed_friction_angle", Dimension::angle)) {
    if (*angle < 60 * M_PI / 180) d.tan_phi = std::tan(*angle);
    else k.table().refuse("disturbed_friction_angle", "no friction angle of ground", "above 0, below 60 deg", "check value and unit");
  }
  d.shear_modulus_m = k.positive("disturbed_shear_modulus", Dimension::length);
  return d.cohesion_pa || d.tan_phi || d.shear_modulus_m ? std::optional(d) : std::nullopt;
}

void read_zones(Campaign& c, const io::TomlTable& root, base::Problems& problems) {
  std::set<std::string> ids;
  for (const io::TomlTable& t : root.tables("zone")) {
    Keys k(t, problems);
    campaign::Zone z;
    z.id = k.require_text("id");
    if (!z.id.empty() && !ids.insert(z.id).second) t.refuse("id", "two zones have this id", "each id once");
    z.description = k.text("description");
    z.loose = k.boolean("loose", true);
    z.slip_sinkage = k.choice("slip_sinkage", soil::SlipSinkage::stretch, detail::slip_sinkage_words());
    z.layers = k.choice("layers", records::LayerChoice::weaker, detail::layer_words());
    z.disturbed = disturbed_strength(k);
    const std::string soil = k.text("soil");
    if (!soil.empty() && (fs::path(soil).is_absolute() || soil.find("..") != std::string::npos)) {
      t.refuse("soil", "a soil file lies inside the campaign folder", "a path such as soils/marsh.toml, or \"textbook:ID\"", "copy the file into soils/");
    } else if (!soil.empty()) {
      z.soil_from_elsewhere = find_soil(soil, c.folder, k.place("soil"), problems);
      if (z.soil_from_elsewhere && !soil.starts_with("textbook:")) note_input(c, soil, "soil", problems);
    }
    c.zones.push_back(z);
  }
  std::set<std::string> conditions;
  for (const io::TomlTable& t : root.tables("condition")) {
    Keys k(t, problems);
    c.conditions.push_back({k.require_text("id"), k.text("description")});
    const std::string& id = c.conditions.back().id;
    if (!id.empty() && !conditions.insert(id).second) t.refuse("id", "two conditions have this id", "each id once");
  }
}

void read_points(Campaign& c, const io::TomlTable& root, base::Problems& problems) {
  std::set<std::string> ids;
  for (const io::TomlTable& t : root.tables("point")) {
    Keys k(t, problems);
    campaign::Point p;
    p.id = k.require_text("id");
    if (!p.id.empty() && !ids.insert(p.id).second) t.refuse("id", "two points have this id", "each id once");
    p.zone = k.require_text("zone");
    if (!p.zone.empty() && !c.zone(p.zone)) {
      std::vector<std::string> zones;
      for (const auto& z : c.zones) zones.push_back(z.id);
      const auto near = io::nearest_word(p.zone, zones);
      t.refuse("zone", "no [[zone]] has this id", near ? *near : "", near ? "did you mean " + *near + "?" : "add the zone");
    }
    p.position = k.text("position");
    p.datum = k.text("datum");
    p.accuracy_m = k.not_negative("accuracy", Dimension::length);
    p.time = k.date("time");
    p.weather = k.text("weather");
    p.moisture_5cm_ratio = k.not_negative("moisture_5cm", Dimension::none);
    p.moisture_15cm_ratio = k.not_negative("moisture_15cm", Dimension::none);
    c.points.push_back(p);
  }
  if (!c.reference_point.empty() && !ids.contains(c.reference_point)) {
    root.table("campaign")->refuse("reference_point", "no [[point]] has this id", "", "name a point of the list");
  }
}

std::optional<io::CsvSeparator> separator_word(Keys& k) {
  const auto t = k.table().text("separator");
  if (!t) return std::nullopt;
  const std::vector<std::pair<std::string, io::CsvSeparator>> words{{",", io::CsvSeparator::comma}, {";", io::CsvSeparator::semicolon},
      {"tab", io::CsvSeparator::tab}, {"|", io::CsvSeparator::bar}, {"blanks", io::CsvSeparator::blanks}};
  return k.choice("separator", io::CsvSeparator::comma, words);
}

void read_layout_keys(Keys& k, detail::SheetRequest& q, base::Problems& problems) {
  q.given.separator = separator_word(k);
  if (const auto d = k.table().text("decimal")) {
    if (d->value == "," || d->value == ".") q.given.decimal = d->value[0];
    else k.table().refuse("decimal", "not a decimal sign", "\".\" or \",\"");
  }
  const auto positive = [&](const char* key) -> std::optional<std::size_t> {
    const auto n = k.integer(key);
    if (n && *n < 0) k.table().refuse(key, "negative", "0 or more");
    return n && *n >= 0 ? std::optional(static_cast<std::size_t>(*n)) : std::nullopt;
  };
  q.given.header_lines = positive("header_lines");
  q.heading_line = positive("heading_line");
  q.unit_line = positive("unit_line");
  q.unit_rules.mass_units_mean_standard_force = k.boolean("mass_units_are_force", false);
  if (const auto t = k.table().table("columns")) {
    for (const auto& [role, value] : t->members()) {
      q.role_places["columns." + role] = t->place_of(role);
      if (const auto one = value.text()) q.columns[role] = {*one};
      for (const io::TomlValue& item : value.items()) {
        if (const auto text = item.text()) q.columns[role].push_back(*text);
      }
      if (q.columns[role].empty()) t->refuse(role, "a heading is expected, as text, or a list of them", "\"Pull (N)\" or [\"left\", \"right\"]");
    }
  }
  if (const auto t = k.table().table("units")) {
    for (const auto& [role, value] : t->members()) {
      q.role_places["units." + role] = t->place_of(role);
      if (const auto one = value.text()) q.unit_texts[role] = *one;
      else t->refuse(role, "a unit is expected, as text", "\"lbf\"");
    }
  }
  if (const auto t = k.table().table("channel")) {
    for (const auto& [role, value] : t->members()) {
      const auto table = value.table();
      if (!table) {
        t->refuse(role, "a channel is a table of its own", "[record.channel." + role + "] with sum and unit");
        continue;
      }
      Keys ck(*table, problems);
      detail::MadeColumn made{.unit = ck.require_text("unit"), .place = table->place()};
      if (const auto sum = table->value("sum")) {
        for (const io::TomlValue& term : sum->items()) {
          const auto pair = term.items();
          const auto heading = pair.size() == 2 ? pair[0].text() : std::nullopt;
          const auto factor = pair.size() == 2 ? pair[1].number() : std::nullopt;
          if (!heading || !factor) {
            table->refuse("sum", "each term is a heading and a factor", "[[\"m3vel\", 0.5], [\"m1vel\", -0.5]]");
            break;
          }
          made.sum.emplace_back(*heading, *factor);
        }
      } else {
        table->refuse("sum", "the terms are missing", "[[\"heading\", factor], ...]");
      }
      q.made[role] = made;
    }
  }
}

// Lines of a file that the amendments applied leave out whole; one line named twice is one.
std::size_t lines_excluded(const Campaign& c, const std::string& file) {
  if (!c.amendments_applied) return 0;
  std::set<std::size_t> lines;
  for (const campaign::Amendment& a : c.amendments) {
    if (a.file == file && a.action == "exclude" && a.column.empty()) lines.insert(a.target_line);
  }
  return lines.size();
}

void read_record(Campaign& c, const io::TomlTable& t, std::size_t number, std::set<std::string>& ids,
                 std::map<std::string, std::string>& taken_by, const std::vector<std::string>& point_ids, const detail::AmendedFiles& amended, base::Problems& problems) {
  Keys k(t, problems);
  detail::RecordEntry e;
  e.place = t.place();
  e.place.key = fmt::format("record[{}]", number);
  e.id = k.require_text("id");
  if (!e.id.empty() && !ids.insert(e.id).second) t.refuse("id", "two records have this id", "each id once");
  e.file = k.require_text("file");
  e.kind = k.require_text("kind");
  const auto& kinds = detail::record_kinds();
  const bool known = std::find(kinds.begin(), kinds.end(), e.kind) != kinds.end();
  if (!e.kind.empty() && !known) {
    std::string list;
    for (const auto& kind : kinds) list += (list.empty() ? "" : ", ") + kind;
    const auto near = io::nearest_word(e.kind, kinds);
    t.refuse("kind", "no kind of record has this name", list, near ? "did you mean " + *near + "?" : "use one of the list");
  }
  e.point = k.text("point");
  e.operator_name = k.text("operator");
  e.time = k.date("time");
  e.remark = k.text("remark");
  e.vehicle = k.text("vehicle");
  e.instrument_id = k.text("instrument");
  if (!e.instrument_id.empty()) {
    const auto it = std::find_if(c.instruments.begin(), c.instruments.end(), [&](const auto& i) { return i.id == e.instrument_id; });
    if (it == c.instruments.end()) {
      std::vector<std::string> names;
      for (const auto& i : c.instruments) names.push_back(i.id);
      const auto near = io::nearest_word(e.instrument_id, names);
      t.refuse("instrument", "no instrument of this id in instruments.toml", "", near ? "did you mean " + *near + "?" : "describe it there");
    } else {
      e.instrument = &*it;
    }
  }
  detail::SheetRequest& q = e.request;
  q.place = e.place;
  q.points = &point_ids;
  q.remark_share = c.remark_share;
  read_layout_keys(k, q, problems);
  for (const io::TomlTable& s : t.tables("series")) {
    Keys sk(s, problems);
    e.series.push_back({.drops = sk.number("drops").value_or(0), .depth = sk.require_text("depth"), .resistance = sk.text("resistance"),
                        .depth_unit = sk.text("depth_unit"), .resistance_unit = sk.text("resistance_unit")});
  }
  if (!known || e.file.empty()) return;
  const fs::path relative(e.file);
  if (relative.is_absolute() || e.file.find("..") != std::string::npos) {
    t.refuse("file", "a record lies inside the campaign folder", "a path such as records/plates.csv", "copy the file into records/");
    return;
  }
  q.file = e.file;
  q.path = amended.path_of(e.file).value_or(c.folder + "/" + e.file);
  std::error_code error;
  if (!fs::is_regular_file(c.folder + "/" + e.file, error)) {
    t.refuse("file", "there is no such file", "", "check the name; it counts from the campaign folder");
    return;
  }
  // The same rows under two names would count twice. Other columns of the same file are other readings.
  std::string taken = e.file + "|" + e.kind;
  for (const auto& [role, headings] : q.columns) {
    for (const std::string& heading : headings) taken += "|" + role + "=" + heading;
  }
  for (const auto& [role, made] : q.made) {
    for (const auto& [heading, factor] : made.sum) taken += fmt::format("|{}={}*{}", role, factor, heading);
  }
  for (const auto& s : e.series) taken += "|" + s.depth;
  if (const auto [first, fresh] = taken_by.try_emplace(taken, e.id); !fresh) {
    t.refuse("file", "record \"" + first->second + "\" reads the same columns of this file: its tests would count twice", "each file once", "take one of the records out, or map other columns");
    return;
  }
  // The checksum of a logger file takes about as long as reading it: it is taken beside it.
  constexpr std::uintmax_t kLongBytes = 2u << 20;
  const bool is_long = fs::file_size(c.folder + "/" + e.file, error) > kLongBytes && !error;
  base::Problems unreadable;
  std::future<std::optional<io::FileDigest>> digest;
  if (is_long) digest = std::async(std::launch::async, [&unreadable, path = c.folder + "/" + e.file] { return io::digest_file(path, unreadable); });
  else note_input(c, e.file, "record", problems);
  detail::Surroundings around{&c, c.folder};
  const std::size_t summaries = c.record_summaries.size(), refusals = problems.count(base::Severity::refusal);
  if (detail::is_ground_kind(e.kind)) detail::read_ground_record(e, k, around, problems);
  else detail::read_vehicle_record(e, k, around, problems);
  // A sheet that was refused left keys of the record unread: they are not unknown.
  if (problems.count(base::Severity::refusal) > refusals) static_cast<void>(t.members());
  if (is_long) {
    note_digest(c, e.file, "record", digest.get());
    problems.add(unreadable);
  }
  if (c.record_summaries.size() > summaries) {
    // Lines that amendments blank are rows of the file set aside like any other; the sheet never saw them.
    const std::size_t excluded = lines_excluded(c, e.file);
    c.record_summaries.back().rows += excluded;
    c.record_summaries.back().rows_set_aside += excluded;
    c.inputs.back().rows = c.record_summaries.back().rows;
    c.inputs.back().rows_set_aside = c.record_summaries.back().rows_set_aside;
    const campaign::InputFile& now = c.inputs.back();
    for (const campaign::InputFile& other : c.inputs) {
      if (&other == &now || other.role != "record" || other.sha256 != now.sha256 || other.path == now.path) continue;
      problems.remark({.place = {.file = e.file}, .what = "the file is the same, byte for byte, as " + other.path + ": a copy under another name counts twice", .remedy = "compare the two with the paper sheets"});
    }
  }
}

// [learning]: which vehicle records update the soil. Read after the records, which it names.
void read_learning(Campaign& c, const io::TomlTable& root, base::Problems& problems) {
  const auto t = root.table("learning");
  if (!t) return;
  std::vector<std::string> ids, teaching;
  for (const io::TomlTable& record : root.tables("record")) {
    const auto id = record.text("id");
    const auto kind = record.text("kind");
    if (!id) continue;
    ids.push_back(id->value);
    if (kind && (kind->value == "tow" || kind->value == "rut")) teaching.push_back(id->value);
  }
  Keys k(*t, problems);
  if (!t->value("learn_from")) t->refuse("learn_from", "the records that update the soil are missing", "ids of tow and rut records", "or take the [learning] table away");
  for (const std::string& id : k.texts("learn_from")) {
    base::Place at = k.place("learn_from");
    if (std::find(teaching.begin(), teaching.end(), id) != teaching.end()) {
      if (std::find(c.learn_from.begin(), c.learn_from.end(), id) == c.learn_from.end()) c.learn_from.push_back(id);
    } else if (std::find(ids.begin(), ids.end(), id) != ids.end()) {
      problems.refuse({.place = at, .what = "a record of this kind updates no soil", .value = id, .bound = "records of kind tow or rut", .remedy = "take it out of the list"});
    } else {
      const auto near = io::nearest_word(id, teaching);
      problems.refuse({.place = at, .what = "no [[record]] has this id", .value = id, .remedy = near ? "did you mean " + *near + "?" : "name a tow or rut record"});
    }
  }
}

// A table soil without K predicts nothing, unless the zone has tests of its own: told before somebody waits for an answer.
void check_table_soils(const Campaign& c, const io::TomlTable& root, base::Problems& problems) {
  for (const io::TomlTable& t : root.tables("zone")) {
    const auto id = t.text("id"), soil = t.text("soil");
    const campaign::Zone* z = id && soil && soil->value.starts_with("textbook:") ? c.zone(id->value) : nullptr;
    if (!z || !z->soil_from_elsewhere) continue;
    const auto& shear = z->soil_from_elsewhere->soil.shear;
    const auto here = [&](const auto& test) { return test.source.zone == z->id; };
    const bool tested = std::any_of(c.ground.plates.begin(), c.ground.plates.end(), here) && std::any_of(c.ground.shears.begin(), c.ground.shears.end(), here);
    if (tested || (shear && shear->shear_modulus_m)) continue;
    problems.remark({.place = t.place_of("soil"), .what = "this table soil has no shear displacement modulus K: nothing can be predicted on it", .value = soil->value,
                    .bound = "a soil with K",
                    .remedy = "take another id, or write the numbers 'hardpan wheel --soils' lists into a soil file, soil = \"soils/" + z->id +
                              ".toml\", with a K you answer for, such as shear_modulus = \"25 mm\""});
  }
}

void check_references(Campaign& c, base::Problems& problems) {
  for (auto& r : c.requirements) {
    const auto refuse = [&](const char* key, const std::string& value, const char* what, std::vector<std::string> known) {
      base::Place at = r.place;
      at.key += std::string(".") + key;
      const auto near = io::nearest_word(value, known);
      problems.refuse({.place = at, .what = what, .value = value, .remedy = near ? "did you mean " + *near + "?" : "add it, or correct the name"});
    };
    std::vector<std::string> names;
    if (!c.vehicle_by_id(r.vehicle)) {
      for (const auto& v : c.vehicles) names.push_back(v.id);
      refuse("vehicle", r.vehicle, "no vehicle of this id under vehicles/", names);
    }
    names.clear();
    if (!r.zone.empty() && !c.zone(r.zone)) {
      for (const auto& z : c.zones) names.push_back(z.id);
      refuse("zone", r.zone, "no zone of this id in campaign.toml", names);
    }
    names.clear();
    if (!r.obstacle.empty()) {
      const auto& all = c.questions.obstacles;
      const auto o = std::find_if(all.begin(), all.end(), [&](const auto& x) { return x.id == r.obstacle; });
      for (const auto& x : all) names.push_back(x.id);
      if (o == all.end()) refuse("obstacle", r.obstacle, "no [[obstacle]] of this id in campaign.toml", names);
      else if (!r.zone.empty() && !o->zone.empty() && r.zone != o->zone) refuse("zone", r.zone, "the obstacle is made of the ground of another zone", {o->zone});
      else if (!o->zone.empty()) r.zone = o->zone;
    }
    const auto among = [&](const char* key, const std::string& name, const char* what, const auto& all, auto&& here) {
      if (name.empty()) return;
      names.clear();
      bool found = false;
      for (const auto& x : all) {
        names.push_back(x.name);
        found = found || (x.name == name && here(x));
      }
      names.erase(std::remove(names.begin(), names.end(), name), names.end());   // of another vehicle: that is not what was meant
      if (!found) refuse(key, name, what, names);
    };
    among("trip", r.trip, "no [[endurance]] of this name and vehicle in campaign.toml", c.questions.endurance, [&](const auto& x) { return x.vehicle == r.vehicle; });
    among("rocks", r.rocks, "no [[boulders]] of this name and vehicle in campaign.toml", c.questions.boulders,
          [&](const auto& x) { return x.vehicles.empty() || std::find(x.vehicles.begin(), x.vehicles.end(), r.vehicle) != x.vehicles.end(); });
    if (r.quantity == validation::Quantity::remote_speed && !c.questions.remote) refuse("quantity", "remote speed", "the link is not stated in campaign.toml, under [remote]", {});
    if (r.quantity == validation::Quantity::rough_ground_speed &&
        std::none_of(c.questions.rides.begin(), c.questions.rides.end(), [&](const auto& x) { return x.zones.empty() || std::find(x.zones.begin(), x.zones.end(), r.zone) != x.zones.end(); })) {
      refuse("quantity", "rough ground speed", "no [[ride]] of this zone in campaign.toml", {});
    }
    names.clear();
    for (const auto& x : c.conditions) names.push_back(x.id);
    if (!r.condition.empty() && std::find(names.begin(), names.end(), r.condition) == names.end()) {
      refuse("condition", r.condition, "no condition of this id in campaign.toml", names);
    }
  }
}

}  // namespace

bool gravity_possible(double gravity_m_s2) { return gravity_m_s2 >= 0.1 && gravity_m_s2 <= 30; }
bool date_exists(const std::string& text) { return detail::is_date_or_clock(text); }

Campaign read_campaign(const std::string& folder, const ReadSettings& settings, base::Problems& problems) {
  Campaign c;
  c.folder = folder;
  std::error_code error;
  if (!fs::is_directory(folder, error)) {
    problems.refuse({.place = {.file = folder}, .what = "there is no campaign folder here", .remedy = "'hardpan new " + folder + "' makes one"});
    return c;
  }
  const auto bytes = io::read_file(folder + "/campaign.toml", problems);
  if (!bytes) return c;
  const io::TomlDocument doc = io::parse_toml(*bytes, "campaign.toml", problems);
  if (!doc.readable()) return c;
  note_input(c, "campaign.toml", "campaign", problems);
  if (const auto head = doc.root().require_table("campaign")) read_head(c, Keys(*head, problems));
  if (fs::exists(folder + "/instruments.toml", error)) {
    note_input(c, "instruments.toml", "instruments", problems);
    c.instruments = read_instruments(folder + "/instruments.toml", "instruments.toml", problems);
  }
  std::vector<std::string> vehicle_files;
  if (fs::is_directory(folder + "/vehicles", error)) {
    for (const auto& f : fs::directory_iterator(folder + "/vehicles", error)) {
      if (f.path().extension() == ".toml") vehicle_files.push_back(f.path().filename().string());
    }
  }
  std::sort(vehicle_files.begin(), vehicle_files.end());
  for (const std::string& f : vehicle_files) {
    note_input(c, "vehicles/" + f, "vehicle", problems);
    auto v = read_vehicle(folder + "/vehicles/" + f, "vehicles/" + f, c.gravity_m_s2 > 0 ? c.gravity_m_s2 : 9.81, problems,
                          c.output_units == campaign::OutputUnits::us ? units::OutputUnits::us : units::OutputUnits::si);
    if (!v) continue;
    if (c.vehicle_by_id(v->id)) {
      problems.refuse({.place = {.file = "vehicles/" + f, .key = "vehicle.id"}, .what = "two vehicles have this id", .value = v->id, .remedy = "each id once"});
    }
    c.vehicles.push_back(std::move(*v));
  }
  read_zones(c, doc.root(), problems);
  read_points(c, doc.root(), problems);
  std::string last_day = c.when;
  for (const campaign::Point& p : c.points) {
    if (p.time.size() >= 10 && p.time > last_day) last_day = p.time;
  }
  for (records::Instrument& i : c.instruments) {
    for (const std::string& done : records::widen_for_downgrades(i, last_day)) problems.remark({.place = {.file = "instruments.toml", .key = i.id}, .what = done});
  }
  detail::AmendedFiles amended;
  if (fs::exists(folder + "/amendments.csv", error)) {
    note_input(c, "amendments.csv", "amendments", problems);
    c.amendments = detail::read_amendments(folder, problems);
    c.amendments_applied = settings.apply_amendments;
    if (settings.apply_amendments) amended = detail::apply_amendments(folder, c.amendments, problems);
  }
  // Before the records: tries and runs may name an obstacle, a trip, rocks or rough ground of these.
  c.questions = read_questions(c, doc.root(), problems);
  c.questions.obstacles = read_obstacles(c, doc.root(), problems);
  std::set<std::string> ids;
  std::map<std::string, std::string> taken_by;  // what a record reads, by id
  std::vector<std::string> point_ids;
  for (const campaign::Point& p : c.points) point_ids.push_back(p.id);
  std::size_t number = 0;
  bool found_only = settings.only_record.empty();
  for (const io::TomlTable& t : doc.root().tables("record")) {
    ++number;
    const auto file = t.text("file");
    const auto id = t.text("id");
    const bool wanted = settings.only_record.empty() || (file && file->value == settings.only_record) || (id && id->value == settings.only_record);
    if (!wanted) {
      static_cast<void>(t.members());  // another record of the file: not judged now
      continue;
    }
    found_only = true;
    const std::size_t refusals = problems.count(base::Severity::refusal);
    read_record(c, t, number, ids, taken_by, point_ids, amended, problems);
    // A record refused half way has not asked for all its keys: none of them is unknown for that.
    if (problems.count(base::Severity::refusal) > refusals) detail::know_keys(t);
  }
  if (!found_only) {
    std::vector<std::string> names;
    std::string known;
    for (const io::TomlTable& t : doc.root().tables("record")) {
      const auto id = t.text("id");
      if (!id) continue;
      names.push_back(id->value);
      known += (known.empty() ? "" : ", ") + id->value;
    }
    const auto near = io::nearest_word(settings.only_record, names);
    problems.refuse({.place = {.file = "campaign.toml"}, .what = "no [[record]] has this id or file", .value = settings.only_record, .bound = known, .remedy = near ? "did you mean " + *near + "?" : "--record takes the id or the file of a record"});
  }
  read_learning(c, doc.root(), problems);
  for (const auto& o : c.questions.obstacles) {
    if (o.profile) note_input(c, o.profile_file, "profile", problems);
  }
  for (const std::string& file : c.questions.files) {
    if (fs::exists(folder + "/" + file, error)) note_input(c, file, "question", problems);
  }
  if (settings.only_record.empty()) check_table_soils(c, doc.root(), problems);
  c.ground.instruments = c.instruments;
  c.ground.reference_point = c.reference_point;
  if (fs::exists(folder + "/requirements.toml", error)) {
    note_input(c, "requirements.toml", "requirements", problems);
    c.requirements = read_requirements(folder + "/requirements.toml", "requirements.toml", problems);
    if (settings.only_record.empty()) check_references(c, problems);
  }
  if (settings.only_record.empty()) doc.report_unread();
  problems.merge_alike();
  for (const base::Problem& p : problems.list()) {
    if (p.severity == base::Severity::remark) c.problems.remark(p);
  }
  return c;
}

}  // namespace hardpan::formats
