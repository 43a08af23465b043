// SPDX-License-Identifier: Apache-2.0
#include "formats/vehicle_file.hpp"

#include <algorithm>

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
  return w;
}

vehicle::Drive read_drive(Keys k) {
  vehicle::Drive d;
  d.driven = k.boolean("driven", true);
  d.peak_torque_n_m = k.quantity("peak_torque", Dimension::torque);
  d.continuous_torque_n_m = k.quantity("continuous_torque", Dimension::torque);
  d.peak_power_w = k.quantity("peak_power", Dimension::power);
  d.max_speed_rad_per_s = k.quantity("max_speed", Dimension::angular_speed);
  d.efficiency = k.quantity("efficiency", Dimension::none).value_or(1);
  d.regeneration = k.quantity("regeneration", Dimension::none).value_or(0);
  d.brake = k.boolean("brake", true);
  return d;
}

Axle read_axle(Keys k, base::Problems& problems) {
  Axle a;
  a.name = k.require_text("name");
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

// The checks name what the vehicle holds; its writer looks for the key of the file.
std::string key_of_file(std::string key) {
  static const std::vector<std::pair<std::string, std::string>> kNames{
      {"body.cg_x", "body.cg_ahead_of_rear_axle"}, {"body.cg_y", "body.cg_left"}, {"body.cg_z", "body.cg_height"},
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

// The place of "axle[1].wheel.radius", with its line; of the nearest table above where it is not written.
base::Place place_of_path(io::TomlTable table, const std::string& file, const std::string& path) {
  base::Place place{.file = file, .key = path};
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
    std::optional<io::TomlTable> below = value->table();
    if (const auto items = value->items(); number >= 1 && number <= items.size()) below = items[number - 1].table();
    if (!below) break;
    table = *below;
    place.line = table.place().line;
    from = dot + 1;
  }
  return place;
}

}  // namespace

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
  if (const auto t = doc.root().require_table("body")) {
    Keys k(*t, problems);
    v.body.mass_kg = k.require_quantity("mass", Dimension::mass).value_or(0);
    v.body.cg_x_m = k.require_quantity("cg_ahead_of_rear_axle", Dimension::length).value_or(0);
    v.body.cg_y_m = k.quantity("cg_left", Dimension::length).value_or(0);
    v.body.cg_z_m = k.require_quantity("cg_height", Dimension::length).value_or(0);
    v.body.clearance_m = k.quantity("clearance", Dimension::length);
  }
  for (const io::TomlTable& t : doc.root().tables("payload")) {
    Keys k(t, problems);
    v.payload.push_back({k.text("name"), k.require_quantity("mass", Dimension::mass).value_or(0),
                         k.require_quantity("ahead_of_rear_axle", Dimension::length).value_or(0),
                         k.quantity("left", Dimension::length).value_or(0),
                         k.require_quantity("height", Dimension::length).value_or(0)});
  }
  for (const io::TomlTable& t : doc.root().tables("axle")) v.axles.push_back(read_axle(Keys(t, problems), problems));
  if (const auto t = doc.root().table("hitch")) {
    Keys k(*t, problems);
    v.hitch = vehicle::Hitch{k.require_quantity("ahead_of_rear_axle", Dimension::length).value_or(0),
                             k.require_quantity("height", Dimension::length).value_or(0)};
  }
  if (const auto t = doc.root().table("steering")) v.steering = read_steering(Keys(*t, problems));
  for (const io::TomlTable& t : doc.root().tables("scale_weight")) {
    Keys k(t, problems);
    v.scales.push_back({k.require_text("axle"), k.require_quantity("load", Dimension::force).value_or(0),
                        k.boolean("with_payload", true)});
  }
  doc.report_unread();
  // A file that is incomplete has said so by key; impossible values would only repeat it.
  if (problems.count(base::Severity::refusal) == before) {
    base::Problems found;
    vehicle::check_vehicle_in(message_units, v, gravity_m_s2, {.file = name_for_messages}, found);
    for (base::Problem p : found.list()) {
      p.place = place_of_path(doc.root(), name_for_messages, key_of_file(p.place.key));
      if (p.severity == base::Severity::refusal) problems.refuse(p); else problems.remark(p);
    }
  }
  return v;
}

}  // namespace hardpan::formats
