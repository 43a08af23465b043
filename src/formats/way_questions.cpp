// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "formats/detail/question_readers.hpp"
#include "formats/survey_sheets.hpp"

namespace hardpan::formats::detail {

namespace p = performance;
using units::Dimension;

namespace {

// Place of a zone in the list of those a trip meets.
std::size_t ground_of(campaign::EnduranceQuestion& q, const std::string& zone) {
  const auto place = static_cast<std::size_t>(std::find(q.zones.begin(), q.zones.end(), zone) - q.zones.begin());
  if (place == q.zones.size()) q.zones.push_back(zone);
  return place;
}

void read_trip_sheet(const campaign::Campaign& c, Keys& k, campaign::EnduranceQuestion& q, campaign::Questions& to, base::Problems& problems) {
  const std::string name = k.text("trip"), otherwise = k.text("zone");
  const auto file = file_of(c, k, "trip", to);
  const auto sheet = file ? read_trip(*file, name, problems) : std::nullopt;
  if (!sheet) return;
  for (std::size_t i = 0; i < sheet->rows.size(); ++i) {
    const std::string zone = sheet->grounds[i].empty() ? otherwise : sheet->grounds[i];
    if (!c.zone(zone)) {
      problems.refuse({.place = {.file = name, .line = sheet->lines[i]}, .what = zone.empty() ? "no zone is named" : "no zone of this id in campaign.toml", .value = zone, .remedy = zone.empty() ? "fill the column ground, or give zone in the [[endurance]]" : "correct the name, or add the zone"});
      continue;
    }
    q.rows.push_back(sheet->rows[i]);
    q.rows.back().ground = ground_of(q, zone);
  }
}

void read_stretches(const campaign::Campaign& c, const io::TomlTable& t, campaign::EnduranceQuestion& q, base::Problems& problems) {
  for (const io::TomlTable& s : t.tables("stretch")) {
    Keys k(s, problems);
    const std::string zone = k.require_text("zone");
    know_zone(c, k, "zone", zone, problems);
    k.require_quantity("distance", Dimension::length);
    p::TripRow row{.name = k.text("name"), .distance_m = within(k, "distance", Dimension::length, 1e-3, 1e7, "1 mm to 10,000 km").value_or(1),
                   .gradient_rad = within(k, "gradient", Dimension::angle, -1.3, 1.3, "-74 to 74 deg").value_or(0), .speed_m_s = within(k, "speed", Dimension::speed, 1e-4, 200, "above 0 to 200 m/s"),
                   .halt_s = within(k, "halt", Dimension::time, 0, 1e8, "0 or more").value_or(0)};
    row.ground = ground_of(q, zone);
    q.rows.push_back(std::move(row));
  }
}

void read_battery(const campaign::Campaign& c, Keys& k, campaign::EnduranceQuestion& q, base::Problems& problems) {
  const io::TomlTable& t = k.table();
  q.battery_j = k.positive("battery", Dimension::energy);
  q.temperature_k = k.quantity("temperature", Dimension::temperature);
  for (const std::string& text : k.texts("derating")) {
    if (const auto v = pair_of_quantities(k, "derating", text, Dimension::temperature, Dimension::none, "-20 degC: 60 %", problems)) q.derating.push_back({v->first, v->second});
  }
  p::check_derating(q.derating, k.place("derating"), problems);
  if (q.temperature_k.has_value() == q.derating.empty()) t.refuse(q.temperature_k ? "temperature" : "derating", "one says nothing without the other", "temperature = \"-10 degC\" with derating = [\"-20 degC: 60 %\", \"20 degC: 100 %\"], or neither");
  else if (q.temperature_k && !problems.refused()) {
    const auto share = p::usable_ratio(q.derating, *q.temperature_k);
    if (!share || !(*share > 0)) t.refuse("temperature", share ? "the battery gives nothing there" : "the derating rows do not reach it, and nothing is assumed beyond them", "between the first and the last row");
  }
  q.reserve_ratio = within(k, "reserve", Dimension::none, 0, 0.999, "0 to below 100 %").value_or(0);
  q.start_ratio = within(k, "charge", Dimension::none, 1e-6, 1, "above the reserve, at most 100 %").value_or(1);
  if (q.start_ratio <= q.reserve_ratio) t.refuse("charge", "no more than the reserve", "above the reserve, at most 100 %");
  const vehicle::Vehicle* v = c.vehicle_by_id(q.vehicle);
  if (v && !v->battery_j && !q.battery_j) t.refuse("battery", "neither here nor in the vehicle file is the battery's usable energy stated", "for example \"2 kWh\"");
}

void read_rock_ground(const campaign::Campaign& c, Keys& k, campaign::BouldersQuestion& q, campaign::Questions& to, base::Problems& problems) {
  const io::TomlTable& t = k.table();
  if (t.has("coverage") + t.has("law") + t.has("map") != 1) t.refuse("coverage", "the rocks are not given, or more than once", "one of coverage, law and map");
  if (const auto coverage = k.quantity("coverage", Dimension::none)) {
    q.law = p::RockLaw::by_coverage(*coverage);
    q.law_words = fmt::format("law of Golombek and Rapp (1997), {:g} % of the ground covered", 100 * *coverage);
    if (!q.law) t.refuse("coverage", "not a share of ground covered by rocks that the law is known for", "above 0 to 60 %");
    if (const auto range = k.pair("coverage_between", Dimension::none, "[\"7 %\", \"14 %\"]")) {
      q.law_between = p::law_between(*coverage, {range->first, range->second});
      if (!q.law_between) t.refuse("coverage_between", "not a range about the coverage that the law is known for", "the coverage between, above 0 to 60 %");
      else q.law_words += fmt::format(" ({:g} to {:g} %)", 100 * range->first, 100 * range->second);
    }
  } else if (t.has("coverage_between")) {
    t.refuse("coverage_between", "says nothing without a coverage", "with coverage");
  }
  const std::string law = k.text("law"), map = k.text("map");
  if (const auto file = file_of(c, k, "law", to)) {
    q.law_words = "law of " + law;
    if (const auto rows = read_rock_law(*file, law, problems)) q.law = p::RockLaw::by_table(*rows, {}, problems);
  }
  const std::vector<std::string> corners = k.texts("plot"), start = k.texts("start");
  const auto lengths = [&](const char* key, const std::vector<std::string>& texts, std::size_t count, const char* bound) {
    std::vector<double> out;
    if (!texts.empty() && texts.size() != count) t.refuse(key, "not as many lengths as it takes", bound);
    for (const std::string& text : texts) {
      const units::QuantityText v = units::parse_quantity(text, Dimension::length);
      if (v.ok()) out.push_back(v.si);
      else problems.refuse(units::refusal(v, text, k.place(key)));
    }
    return out.size() == count ? out : std::vector<double>{};
  };
  const auto plot = lengths("plot", corners, 4, "[\"0 m\", \"0 m\", \"40 m\", \"30 m\"]: x and y of two corners"), from = lengths("start", start, 2, "[\"2 m\", \"5 m\"]: x and y");
  const auto heading = k.quantity("heading", Dimension::angle);
  if (!plot.empty()) q.plot = p::Plot{plot[0], plot[1], plot[2], plot[3]};
  if (!from.empty()) q.run = p::Run{.x_m = from[0], .y_m = from[1], .heading_rad = heading.value_or(0)};
  if (!t.has("map") && (t.has("plot") || t.has("start"))) t.refuse(t.has("plot") ? "plot" : "start", "says nothing without a map", "with map");
  if (heading && !t.has("start")) t.refuse("heading", "says nothing without a start", "with start");
  const auto file = file_of(c, k, "map", to);
  const auto rocks = file ? read_rocks(*file, map, problems) : std::nullopt;
  if (!rocks) return;
  q.rocks = *rocks;
  q.law_words = "rocks of " + map;
  if (q.plot) p::check_rocks(q.rocks, *q.plot, {.file = map}, problems);
  else if (q.rocks.empty() || !(p::box_round(q.rocks).area_m2() > 0)) t.refuse("plot", "the mapped rocks span no area", "x and y of two corners of what was surveyed");
}

}  // namespace

void read_endurance(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems) {
  for (const io::TomlTable& t : root.tables("endurance")) {
    Keys k(t, problems);
    campaign::EnduranceQuestion q{.vehicle = k.require_text("vehicle"), .name = k.text("name")};
    know_vehicle(c, k, "vehicle", q.vehicle, problems);
    if (t.has("trip") == t.has("stretch")) t.refuse("trip", "the way is not given, or twice", "a sheet named by trip, or [[endurance.stretch]]");
    if (t.has("trip")) read_trip_sheet(c, k, q, to, problems);
    if (t.has("stretch")) read_stretches(c, t, q, problems);
    if (k.boolean("and_back", false)) q.rows = p::there_and_back(std::move(q.rows));
    read_battery(c, k, q, problems);
    to.endurance.push_back(std::move(q));
  }
}

void read_boulders(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems) {
  for (const io::TomlTable& t : root.tables("boulders")) {
    Keys k(t, problems);
    campaign::BouldersQuestion q{.name = k.text("name"), .vehicles = k.texts("vehicles")};
    for (const std::string& v : q.vehicles) know_vehicle(c, k, "vehicles", v, problems);
    q.friction = within(k, "friction", Dimension::none, 0.01, 2, "0.01 to 2");
    q.step_m = within(k, "step", Dimension::length, 0, 20, "0 to 20 m");
    if (t.has("friction") == t.has("step")) t.refuse("friction", "the highest step is neither computed nor given, or both", "one of friction and step");
    q.shape = {.height_ratio = within(k, "height_ratio", Dimension::none, 0.01, 5, "0.01 to 5").value_or(q.shape.height_ratio), .smallest_m = within(k, "smallest", Dimension::length, 0, 100, "0 to 100 m").value_or(0)};
    q.length_m = within(k, "length", Dimension::length, 0.01, 1e6, "10 mm to 1,000 km").value_or(q.length_m);
    read_rock_ground(c, k, q, to, problems);
    to.boulders.push_back(std::move(q));
  }
}

}  // namespace hardpan::formats::detail
