// SPDX-License-Identifier: Apache-2.0
// The item tested: vehicles with masses, axles, wheels, and scale weights beside computed loads.
#include <cmath>

#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/vehicle_drawing.hpp"

namespace hardpan::report::detail {
namespace {

using vehicle::Axle;
using vehicle::Vehicle;

std::string driven_words(const Printer& print, const vehicle::Drive& d) {
  if (!d.driven) return d.brake ? "not driven, braked" : "not driven";
  std::vector<std::string> parts{"driven"};
  if (d.peak_torque_n_m) parts.push_back("peak " + print.value(*d.peak_torque_n_m, kTorque) + " per wheel");
  if (d.continuous_torque_n_m) parts.push_back("continuous " + print.value(*d.continuous_torque_n_m, kTorque));
  if (d.peak_power_w) parts.push_back("peak " + print.value(*d.peak_power_w, Measure{units::Dimension::power}));
  if (!d.peak_torque_n_m && !d.continuous_torque_n_m) parts.push_back("torque not stated");
  return joined(parts);
}

std::string wheel_kind(const Printer& print, const vehicle::Wheel& w) {
  std::string out = w.flex ? "flexible" : "rigid";
  if (w.flex && w.flex->inflation_pa) out += ", inflated to " + print.value(*w.flex->inflation_pa, kPressure);
  if (w.grouser_height_m > 0) out += fmt::format(", {} of {}", plural(static_cast<std::size_t>(w.grouser_count), "grouser"), print.value(w.grouser_height_m, kLength));
  return out;
}

void axles(Sheet& s, const Vehicle& v) {
  std::vector<double> lengths;
  for (const Axle& a : v.axles) {
    for (const double x : {a.wheel.radius_m, a.wheel.width_m, a.track_width_m, a.position_x_m}) lengths.push_back(x);
  }
  const units::Unit unit = s.print.common(lengths, kLength);
  Grid g{.caption = "Axles and wheels of " + vehicle_name(s.results, v.id) + ", rearmost first",
         .columns = {"Axle", headed("Position", unit), headed("Track width", unit), "Wheels", headed("Radius", unit), headed("Width", unit),
                     headed("Rolling radius", unit), "Zero slip", "Wheel", "Drive"},
         .right = "lrrrrrrlll"};
  for (const Axle& a : v.axles) {
    g.rows.push_back({a.name, Printer::bare(a.position_x_m, unit, kLength, 4), Printer::bare(a.track_width_m, unit, kLength, 4), std::to_string(a.wheels),
                      Printer::bare(a.wheel.radius_m, unit, kLength), Printer::bare(a.wheel.width_m, unit, kLength),
                      a.wheel.rolling_radius_m ? Printer::bare(*a.wheel.rolling_radius_m, unit, kLength) : "not measured",
                      vehicle::name(a.wheel.rolling_radius_condition), wheel_kind(s.print, a.wheel), driven_words(s.print, a.drive)});
  }
  g.note = "Positions ahead of the rearmost axle. Where the rolling radius was not measured: radius less a third of the deflection (common practice, no source), "
           "or the radius over the grousers of a rigid wheel.";
  s.page.table(g);
}

// Loads need two axles in order, a mass and gravity.
bool can_weigh(const Vehicle& v, double gravity) {
  if (v.axles.size() < 2 || !(vehicle::mass_kg(v) > 0) || !(gravity > 0)) return false;
  for (std::size_t k = 1; k < v.axles.size(); ++k) {
    if (!(v.axles[k].position_x_m > v.axles[k - 1].position_x_m)) return false;
  }
  return true;
}

void loads(Sheet& s, const Vehicle& v) {
  const double gravity = s.results.campaign.gravity_m_s2;
  if (!can_weigh(v, gravity)) return;
  Vehicle empty = v;
  empty.payload.clear();
  const std::vector<double> loaded = vehicle::level_axle_loads_n(v, gravity);
  const std::vector<double> bare = can_weigh(empty, gravity) ? vehicle::level_axle_loads_n(empty, gravity) : std::vector<double>(v.axles.size(), std::nan(""));
  const units::Unit unit = s.print.common(loaded, kForce);
  Grid g{.caption = "Axle loads of " + vehicle_name(s.results, v.id) + " standing level: computed and weighed",
         .columns = {"Axle", headed("Computed, loaded", unit), headed("Computed, without payload", unit), headed("Scale", unit), "Weighed", "Scale over computed"},
         .right = "lrrrlr"};
  for (std::size_t k = 0; k < v.axles.size() && k < loaded.size(); ++k) {
    bool any = false;
    for (const vehicle::ScaleWeight& w : v.scales) {
      if (w.axle != v.axles[k].name) continue;
      const double against = w.with_payload ? loaded[k] : bare[k];
      g.rows.push_back({v.axles[k].name, Printer::bare(loaded[k], unit, kForce, 4), Printer::bare(bare[k], unit, kForce, 4), Printer::bare(w.load_n, unit, kForce, 4),
                        w.with_payload ? "loaded" : "without payload", against > 0 ? fmt::format("{:+.1f} %", 100 * (w.load_n / against - 1)) : "-"});
      any = true;
    }
    if (!any) g.rows.push_back({v.axles[k].name, Printer::bare(loaded[k], unit, kForce, 4), Printer::bare(bare[k], unit, kForce, 4), "-", "not weighed", "-"});
  }
  g.note = "Weights are forces, mass times the local gravity.";
  s.page.table(g);
}

void one_vehicle(Sheet& s, const Vehicle& v) {
  const Printer& print = s.print;
  s.page.heading(3, vehicle_name(s.results, v.id));
  const vehicle::Body all = vehicle::loaded_body(v);
  std::vector<std::string> payload;
  for (const vehicle::Payload& p : v.payload) payload.push_back(p.name + " " + print.value(p.mass_kg, kMass));
  const double gravity = s.results.campaign.gravity_m_s2;
  std::vector<std::string> bodies;
  for (const vehicle::Body& b : v.bodies) bodies.push_back((b.name.empty() ? "body" : b.name) + " " + print.value(b.mass_kg, kMass, 4));
  s.page.terms({{"Mass as tested", print.value(all.mass_kg, kMass, 4) + " (" + joined(bodies) + ")"},
                {"Payload", payload.empty() ? "none" : joined(payload)},
                {"Weight", gravity > 0 ? print.value(all.mass_kg * gravity, kForce, 4) : ""},
                {"Centre of gravity", print.value(all.cg_x_m, kLength) + " ahead of the rearmost axle, " + print.value(all.cg_z_m, kLength) + " above hard ground, " +
                                          print.value(all.cg_y_m, kLength) + " left of the centre plane"},
                {"Ground clearance", all.clearance_m ? print.value(*all.clearance_m, kLength) : "not stated: belly contact cannot be seen"},
                {"Hitch", v.hitch ? print.value(v.hitch->height_m, kLength) + " high, " + print.value(std::abs(v.hitch->x_m), kLength) +
                                        (v.hitch->x_m <= 0 ? " behind the rearmost axle" : " ahead of the rearmost axle")
                                  : "not stated"},
                {"Drive control", v.control == vehicle::DriveControl::common_speed ? "wheels at one speed" : "wheels share torque equally"},
                {"Working slip", v.working_slip ? print.value(*v.working_slip, kShare) : "not declared: 20 % is used"},
                {"Battery, usable", v.battery_j ? print.value(*v.battery_j, Measure{units::Dimension::energy}) : ""},
                {"Idle power", v.idle_power_w > 0 ? print.value(v.idle_power_w, Measure{units::Dimension::power}) : ""}});
  axles(s, v);
  loads(s, v);
  if (!can_weigh(v, gravity)) return;
  s.page.raw("<figure id=\"drawing-" + slug(v.id) + "\" class=\"drawing\">\n" + vehicle_drawing(v, gravity, s.results.campaign.output_units) +
             "<figcaption>" + rich(vehicle_name(s.results, v.id)) + " to scale as its file describes it: a number that is wrong is seen here.</figcaption>\n</figure>\n");
}

}  // namespace

void item_part(Sheet& s) {
  s.page.open("item", "Item tested");
  if (s.results.campaign.vehicles.empty()) s.page.paragraph("No vehicle is described in this campaign.", "missing");
  for (const Vehicle& v : s.results.campaign.vehicles) one_vehicle(s, v);
  s.page.close();
}

}  // namespace hardpan::report::detail
