// SPDX-License-Identifier: Apache-2.0
#include "formats/vehicle_file.hpp"

#include <algorithm>

#include "formats/detail/as_typed.hpp"
#include "formats/detail/keys.hpp"
#include "formats/detail/words.hpp"
#include "io/files.hpp"
#include "io/toml.hpp"
#include "vehicle/check_vehicle.hpp"

namespace hardpan::formats {

using detail::Keys;
using units::Dimension;
using vehicle::Axle;
using vehicle::Vehicle;

namespace {

std::optional<vehicle::Flex> read_flex(Keys& k) {
  vehicle::Flex flex;
  flex.stiffness_n_per_m = k.quantity("stiffness", Dimension::stiffness);
  if (const auto rows = k.table().value("deflection")) {
    for (const io::TomlValue& row : rows->items()) {
      const auto pair = row.items();
      const auto load = pair.size() == 2 ? pair[0].text() : std::nullopt;
      const auto deflection = pair.size() == 2 ? pair[1].text() : std::nullopt;
      if (!load || !deflection) {
        k.table().refuse("deflection", "each row is a pair of load and deflection", "[\"500 N\", \"18 mm\"]");
        break;
      }
      const auto n = units::parse_quantity(*load, Dimension::force);
      const auto m = units::parse_quantity(*deflection, Dimension::length);
      if (!n.ok() || !m.ok()) {
        k.table().refuse("deflection", n.ok() ? m.error : n.error, "[\"500 N\", \"18 mm\"]", n.ok() ? m.remedy : n.remedy);
        break;
      }
      flex.load_deflection.emplace_back(n.si, m.si);
    }
  }
  flex.inflation_pa = k.quantity("inflation", Dimension::pressure);
  flex.inflation_hot_pa = k.quantity("inflation_hot", Dimension::pressure);
  flex.hysteresis_share = k.quantity("hysteresis", Dimension::none).value_or(0);
  if (!flex.stiffness_n_per_m && flex.load_deflection.empty()) return std::nullopt;
  return flex;
}

vehicle::Wheel read_wheel(Keys k) {
  vehicle::Wheel w;
  w.radius_m = k.require_quantity("radius", Dimension::length).value_or(0);
  // Common practice, no source: under 20 mm the vehicle is a toy and the unit a slip of the pen.
  if (w.radius_m > 0 && w.radius_m < 0.02) {
    k.table().refuse("radius", "no wheel of a vehicle is so small", "at least 20 mm", "check the number and its unit");
    w.radius_m = 0;  // not known: what depends on it is not judged
  }
  w.width_m = k.require_quantity("width", Dimension::length).value_or(0);
  w.grouser_height_m = k.quantity("grouser_height", Dimension::length).value_or(0);
  w.grouser_count = static_cast<int>(k.integer("grousers").value_or(0));
  w.flex = read_flex(k);
  w.rolling_radius_m = k.quantity("rolling_radius", Dimension::length);
  w.rolling_radius_condition = k.choice("zero_slip", vehicle::ZeroSlip::not_stated, detail::zero_slip_words());
  w.contact_width_m = k.quantity("contact_width", Dimension::length);
  w.loaded_radius_m = k.quantity("loaded_radius", Dimension::length);
  return w;
}

vehicle::Drive read_drive(Keys k) {
  vehicle::Drive d;
  d.driven = k.boolean("driven", true);
  d.peak_torque_n_m = k.quantity("peak_torque", Dimension::torque);
  d.continuous_torque_n_m = k.quantity("continuous_torque", Dimension::torque);
  d.peak_time_s = k.quantity("peak_time", Dimension::time);
  d.thermal_time_s = k.quantity("thermal_time", Dimension::time);
  d.peak_power_w = k.quantity("peak_power", Dimension::power);
  d.max_speed_rad_per_s = k.quantity("max_speed", Dimension::angular_speed);
  d.efficiency = k.quantity("efficiency", Dimension::none).value_or(1);
  d.regeneration = k.quantity("regeneration", Dimension::none).value_or(0);
  d.brake = k.boolean("brake", true);
  return d;
}

// The body a table names; the only one where there is no choice.
std::size_t body_named(Keys& k, const Vehicle& v, const char* key) {
  const std::string named = k.text(key);
  if (v.bodies.size() == 1 && named.empty()) return 0;
  std::string names;
  for (std::size_t i = 0; i < v.bodies.size(); ++i) {
    if (!named.empty() && v.bodies[i].name == named) return i;
    names += (names.empty() ? "" : ", ") + v.bodies[i].name;
  }
  k.table().refuse(key, named.empty() ? "which body it belongs to is missing" : "is no body of this vehicle", names.empty() ? "a name given in [[body]]" : names, "name one of the bodies");
  return 0;
}

Axle read_axle(Keys k, const Vehicle& v, base::Problems& problems) {
  Axle a;
  a.name = k.require_text("name");
  a.body = body_named(k, v, "body");
  a.position_x_m = k.require_quantity("ahead_of_rear_axle", Dimension::length).value_or(0);
  a.wheels = static_cast<int>(k.integer("wheels").value_or(2));
  a.track_width_m = (a.wheels == 1 ? k.quantity("track_width", Dimension::length) : k.require_quantity("track_width", Dimension::length)).value_or(0);
  a.suspension_n_per_m = k.quantity("suspension", Dimension::stiffness);
  if (const auto wheel = k.table().require_table("wheel")) a.wheel = read_wheel(Keys(*wheel, problems));
  if (const auto drive = k.table().table("drive")) a.drive = read_drive(Keys(*drive, problems));
  return a;
}

vehicle::Steering read_steering(Keys k) {
  using vehicle::SteeringKind;
  vehicle::Steering s;
  (void)k.require_text("kind");  // without it the rest would mean nothing
  s.kind = k.choice("kind", SteeringKind::skid, {{"skid", SteeringKind::skid}, {"ackermann", SteeringKind::ackermann}, {"crab", SteeringKind::crab}, {"frame", SteeringKind::frame}});
  s.largest_angle_rad = k.quantity("largest_angle", Dimension::angle).value_or(0);
  s.steered_axles = k.texts("steered_axles");
  s.pivot_width_m = k.quantity("pivot_width", Dimension::length);
  s.joint_x_m = k.quantity("joint_ahead_of_rear_axle", Dimension::length);
  return s;
}

std::optional<vehicle::Span> read_span(Keys& k, const std::string& key) {
  const auto pair = k.pair(key, Dimension::length, "[\"0.2 m\", \"0.9 m\"]");
  return pair ? std::optional(vehicle::Span{pair->first, pair->second}) : std::nullopt;
}

vehicle::Body read_body(Keys k, bool named) {
  vehicle::Body b;
  b.name = named ? k.require_text("name") : k.text("name");
  b.mass_kg = k.require_quantity("mass", Dimension::mass).value_or(0);
  b.cg_x_m = k.require_quantity("cg_ahead_of_rear_axle", Dimension::length).value_or(0);
  b.cg_y_m = k.quantity("cg_left", Dimension::length).value_or(0);
  b.cg_z_m = k.require_quantity("cg_height", Dimension::length).value_or(0);
  b.cg_x_sd_m = k.quantity("cg_ahead_sd", Dimension::length);
  b.cg_y_sd_m = k.quantity("cg_left_sd", Dimension::length);
  b.cg_z_sd_m = k.quantity("cg_height_sd", Dimension::length);
  b.clearance_m = k.quantity("clearance", Dimension::length);
  b.pitch_inertia_kg_m2 = k.quantity("pitch_inertia", Dimension::moment_of_inertia);
  if (const auto rows = k.table().value("underbody")) {
    for (const io::TomlValue& row : rows->items()) {
      std::vector<double> place;
      for (const io::TomlValue& item : row.items()) {
        const auto text = item.text();
        const auto parsed = text ? std::optional(units::parse_quantity(*text, Dimension::length)) : std::nullopt;
        if (parsed && parsed->ok()) place.push_back(parsed->si);
      }
      if (row.items().size() != 2 || place.size() != 2) {
        k.table().refuse("underbody", "each row is a place ahead of the rearmost axle and a height, with units", "[\"-0.2 m\", \"0.3 m\"]");
        break;
      }
      b.underbody.push_back({place[0], place[1]});
    }
  }
  return b;
}

vehicle::JointAxis read_joint_axis(Keys& k, const std::string& axis) {
  using vehicle::Freedom;
  vehicle::JointAxis a;
  a.freedom = k.choice(axis, Freedom::rigid, {{"rigid", Freedom::rigid}, {"free", Freedom::free}, {"elastic", Freedom::elastic}});
  a.stiffness_n_m_per_rad = k.quantity(axis + "_stiffness", Dimension::torsional_stiffness).value_or(0);
  if (const auto stops = k.pair(axis + "_stops", Dimension::angle, "[\"-20 deg\", \"25 deg\"]")) {
    a.lowest_rad = stops->first;
    a.highest_rad = stops->second;
  }
  return a;
}

vehicle::Joint read_joint(Keys k) {
  vehicle::Joint j;
  j.x_m = k.require_quantity("ahead_of_rear_axle", Dimension::length).value_or(0);
  j.z_m = k.require_quantity("height", Dimension::length).value_or(0);
  j.pitch = read_joint_axis(k, "pitch");
  j.roll = read_joint_axis(k, "roll");
  j.yaw = read_joint_axis(k, "yaw");
  return j;
}

vehicle::Payload read_payload(Keys k, const Vehicle& v) {
  vehicle::Payload p;
  p.name = k.text("name");
  p.mass_kg = k.require_quantity("mass", Dimension::mass).value_or(0);
  p.x_m = k.require_quantity("ahead_of_rear_axle", Dimension::length).value_or(0);
  p.y_m = k.quantity("left", Dimension::length).value_or(0);
  p.z_m = k.require_quantity("height", Dimension::length).value_or(0);
  p.body = body_named(k, v, "body");
  p.x_allowed = read_span(k, "allowed_ahead");
  p.y_allowed = read_span(k, "allowed_left");
  p.z_allowed = read_span(k, "allowed_height");
  return p;
}

// The place of "axle[1].wheel.radius", with its line; of the nearest table above where it is not written.
struct InFile {
  base::Place place;
  std::optional<io::TomlValue> value;  // where it is written
};
InFile in_file(io::TomlTable table, const std::string& file, const std::string& path) {
  InFile out{.place = {.file = file, .key = path}, .value = {}};
  base::Place& place = out.place;
  for (std::size_t from = 0; from <= path.size();) {
    const std::size_t dot = std::min(path.find('.', from), path.size());
    std::string part = path.substr(from, dot - from);
    std::size_t number = 0;
    if (const std::size_t bracket = part.find('['); bracket != std::string::npos) {
      number = std::stoul(part.substr(bracket + 1));
      part.resize(bracket);
    }
    const auto value = table.value(part);
    if (!value) break;
    place.line = table.place_of(part).line;
    if (dot == path.size() && number == 0) out.value = value;
    std::optional<io::TomlTable> below = value->table();
    if (const auto items = value->items(); number >= 1 && number <= items.size()) below = items[number - 1].table();
    if (!below) break;
    table = *below;
    place.line = table.place().line;
    from = dot + 1;
  }
  return out;
}

// What the checks of the vehicle found, at its lines and with values as they were typed. Of a file that was refused already only
// values out of range by themselves are told: the rest may come from what could not be read.
void tell_of_file(const base::Problems& found, const io::TomlTable& root, const std::string& file, bool whole, base::Problems& problems) {
  for (base::Problem p : found.list()) {
    const InFile at = in_file(root, file, vehicle_key_of_file(p.place.key));
    const bool same = at.value && detail::same_value(*at.value, p.value);
    if (!whole && !(same && p.what.ends_with("is outside what a vehicle can have"))) continue;
    p.place = at.place;
    if (same) p.value = at.value->as_typed();
    if (p.severity == base::Severity::refusal) problems.refuse(std::move(p));
    else problems.remark(std::move(p));
  }
}

}  // namespace

std::string vehicle_key_of_file(std::string key) {
  static const std::vector<std::pair<std::string, std::string>> kNames{
      {".cg_x_sd", ".cg_ahead_sd"}, {".cg_y_sd", ".cg_left_sd"}, {".cg_z_sd", ".cg_height_sd"}, {".cg_x", ".cg_ahead_of_rear_axle"}, {".cg_y", ".cg_left"}, {".cg_z", ".cg_height"}, {".x_allowed", ".allowed_ahead"}, {".y_allowed", ".allowed_left"}, {".z_allowed", ".allowed_height"},
      {"tilted.other_load", "tilted_weighing.load_on_the_other"}, {"tilted", "tilted_weighing"}, {".pitch.stiffness", ".pitch_stiffness"}, {".roll.stiffness", ".roll_stiffness"}, {".yaw.stiffness", ".yaw_stiffness"},
      {".pitch.stops", ".pitch_stops"}, {".roll.stops", ".roll_stops"}, {".yaw.stops", ".yaw_stops"},
      {".position_x", ".ahead_of_rear_axle"}, {"hitch.x", "hitch.ahead_of_rear_axle"}, {"steering.joint_x", "steering.joint_ahead_of_rear_axle"}, {"].x", "].ahead_of_rear_axle"}, {"].y", "].left"}, {"].z", "].height"},
      {".grouser_count", ".grousers"}, {".flex.load_deflection", ".deflection"}, {".flex.stiffness", ".stiffness"}, {".flex.inflation", ".inflation"},
      {".flex.hysteresis_share", ".hysteresis"}, {".flex", ".stiffness"}, {"scale[", "scale_weight["}};
  for (const auto& [ours, theirs] : kNames) {
    const std::size_t at = key.find(ours);
    if (at == std::string::npos) continue;
    key.replace(at, ours.size(), theirs);
    break;
  }
  for (const char* of_vehicle : {"battery", "idle_power", "working_slip"}) {
    if (key == of_vehicle) key = "vehicle." + key;
  }
  return key;
}

std::optional<Vehicle> read_vehicle(const std::string& path, const std::string& name_for_messages,
                                    double gravity_m_s2, base::Problems& problems, units::OutputUnits message_units) {
  const auto bytes = io::read_file(path, problems);
  if (!bytes) return std::nullopt;
  const io::TomlDocument doc = io::parse_toml(*bytes, name_for_messages, problems);
  if (!doc.readable()) return std::nullopt;
  const std::size_t before = problems.count(base::Severity::refusal);
  Vehicle v;
  if (const auto t = doc.root().require_table("vehicle")) {
    Keys k(*t, problems);
    v.id = k.require_text("id");
    v.name = k.text("name", v.id);
    v.control = k.choice("control", vehicle::DriveControl::common_speed,
                         {{"common speed", vehicle::DriveControl::common_speed},
                          {"shared torque", vehicle::DriveControl::shared_torque}});
    v.working_slip = k.quantity("working_slip", Dimension::none);
    v.battery_j = k.quantity("battery", Dimension::energy);
    v.idle_power_w = k.quantity("idle_power", Dimension::power).value_or(0);
  }
  // One body is a table, several are a list of tables.
  if (const auto listed = doc.root().value("body"); listed && !listed->items().empty()) {
    v.bodies.clear();
    for (const io::TomlTable& t : doc.root().tables("body")) v.bodies.push_back(read_body(Keys(t, problems), true));
  } else if (const auto t = doc.root().require_table("body")) {
    v.bodies = {read_body(Keys(*t, problems), false)};
  }
  for (const io::TomlTable& t : doc.root().tables("joint")) v.joints.push_back(read_joint(Keys(t, problems)));
  for (const io::TomlTable& t : doc.root().tables("payload")) v.payload.push_back(read_payload(Keys(t, problems), v));
  for (const io::TomlTable& t : doc.root().tables("axle")) v.axles.push_back(read_axle(Keys(t, problems), v, problems));
  if (const auto t = doc.root().table("hitch")) {
    Keys k(*t, problems);
    v.hitch = vehicle::Hitch{k.require_quantity("ahead_of_rear_axle", Dimension::length).value_or(0),
                             k.require_quantity("height", Dimension::length).value_or(0)};
  }
  if (const auto t = doc.root().table("steering")) v.steering = read_steering(Keys(*t, problems));
  for (const io::TomlTable& t : doc.root().tables("scale_weight")) {
    Keys k(t, problems);
    v.scales.push_back({k.require_text("axle"), k.require_quantity("load", Dimension::force).value_or(0),
                        k.boolean("with_payload", true),
                        k.choice("side", vehicle::Side::both, {{"both", vehicle::Side::both}, {"left", vehicle::Side::left}, {"right", vehicle::Side::right}})});
  }
  if (const auto t = doc.root().table("tilted_weighing")) {
    Keys k(*t, problems);
    v.tilted = vehicle::TiltedWeighing{k.require_text("raised_axle"), k.require_quantity("raised", Dimension::length).value_or(0),
                                       k.require_quantity("load_on_the_other", Dimension::force).value_or(0), k.boolean("with_payload", true)};
  }
  doc.report_unread();
  base::Problems found;
  vehicle::check_vehicle_in(message_units, v, gravity_m_s2, {.file = name_for_messages}, found);
  tell_of_file(found, doc.root(), name_for_messages, problems.count(base::Severity::refusal) == before, problems);
  return v;
}

}  // namespace hardpan::formats
