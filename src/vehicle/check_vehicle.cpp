// SPDX-License-Identifier: Apache-2.0
// What a vehicle cannot be. Every test is written so that NaN fails it; bounds that no vehicle comes
// near (a wheel of 5 m radius) are there to catch a wrong unit.
#include "vehicle/check_vehicle.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include "vehicle/chain.hpp"
#include "vehicle/detail/check_bodies.hpp"
#include "vehicle/detail/checker.hpp"

namespace hardpan::vehicle {
namespace {

using detail::Checker;

void check_flex(const Flex& flex, Checker check) {
  const auto& rows = flex.load_deflection;
  if (flex.stiffness_n_per_m.has_value() == !rows.empty()) {
    check.refuse("", "a flexible wheel needs either a stiffness or a load-deflection table",
                 rows.empty() ? "neither" : "both", "one of the two", "give one; a rigid wheel has no flex");
  }
  check.range("stiffness", flex.stiffness_n_per_m, 0, 1e9, "above 0, at most 1e9 N/m", true);
  if (rows.size() == 1) {
    check.refuse("load_deflection", "has a single row", "1", "two rows or more", "add the loads measured");
  }
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto [load, f] = rows[i];
    const std::string key = fmt::format("load_deflection[{}]", i + 1);
    const std::string value = check.number(load, "N") + ", " + check.number(f, "m");
    if (i == 0 ? !(load == 0 && f == 0) : !(load > rows[i - 1].first && f > rows[i - 1].second)) {
      check.refuse(key, i == 0 ? "is not the unloaded wheel" : "does not rise in load and in deflection", value,
                   i == 0 ? check.number(0, "N") + ", " + check.number(0, "m") : "more than the row before", "sort the table and check its units");
    } else if (!std::isfinite(load) || !std::isfinite(f)) {
      check.refuse(key, "is not finite", value, "finite numbers", "check the row");
    }
  }
  check.range("inflation", flex.inflation_pa, 0, 2e6, "0 to 2 MPa (over atmosphere)");
  check.range("inflation_hot", flex.inflation_hot_pa, 0, 2e6, "0 to 2 MPa (over atmosphere)");
  if (!(flex.hysteresis_share >= 0 && flex.hysteresis_share < 1)) {
    check.refuse("hysteresis_share", "is not a share of the deflection work",
                 fmt::format("{:g}", flex.hysteresis_share), "0 or more, below 1", "give a ratio");
  }
}

void check_wheel(const Wheel& w, Checker check) {
  const bool radius = check.range("radius", w.radius_m, 0, 5, "above 0, at most 5 m", true);
  const bool width = check.range("width", w.width_m, 0, 5, "above 0, at most 5 m", true);
  if (radius) {
    check.range("grouser_height", w.grouser_height_m, 0, w.radius_m, "0 to the wheel's radius");
    if (w.rolling_radius_m && !(*w.rolling_radius_m > 0.5 * w.radius_m &&
                                *w.rolling_radius_m < 1.2 * (w.radius_m + w.grouser_height_m))) {
      check.refuse("rolling_radius", "does not belong to this wheel", check.number(*w.rolling_radius_m, "m"),
                   "0.5 of the radius to 1.2 of radius and grouser",
                   "distance over 2 pi times turns; check turns, distance and unit");
    }
  }
  if (w.grouser_count < 0 || w.grouser_count > 1000 || (w.grouser_count > 0) != (w.grouser_height_m > 0)) {
    check.refuse("grouser_count", "and grouser height disagree",
                 fmt::format("{} of {}", w.grouser_count, check.number(w.grouser_height_m, "m")),
                 "both above 0 (at most 1000), or both 0", "give both or neither");
  }
  if (width) {
    check.range("contact_width", w.contact_width_m, 0, 2 * w.width_m, "above 0, at most twice the width", true);
  }
  if (w.flex) check_flex(*w.flex, check.at("flex"));
}

void check_drive(const Drive& d, Checker check) {
  check.range("peak_torque", d.peak_torque_n_m, 0, 1e7, "above 0, at most 1e7 N m", true);
  check.range("peak_time", d.peak_time_s, 0, 1e5, "above 0, at most 1e5 s", true);
  check.range("thermal_time", d.thermal_time_s, 0, 1e6, "above 0, at most 1e6 s", true);
  if ((d.peak_time_s || d.thermal_time_s) && !(d.peak_time_s.has_value() != d.thermal_time_s.has_value() && d.continuous_torque_n_m && (d.peak_torque_n_m || d.thermal_time_s))) {
    check.refuse(d.peak_time_s ? "peak_time" : "thermal_time", "alone does not tell how long a torque is held", fmt::format("{:g} s", d.peak_time_s.value_or(d.thermal_time_s.value_or(0))),
                 "one of the two, beside peak and continuous torque", "give the continuous torque too, and only one of the times");
  }
  check.range("continuous_torque", d.continuous_torque_n_m, 0, 1e7, "above 0, at most 1e7 N m", true);
  check.range("peak_power", d.peak_power_w, 0, 1e8, "above 0, at most 1e8 W", true);
  check.range("max_speed", d.max_speed_rad_per_s, 0, 1e4, "above 0, at most 1e4 rad/s", true);
  check.range("efficiency", d.efficiency, 0, 1, "above 0, at most 1", true);
  check.range("regeneration", d.regeneration, 0, 1, "0 to 1");
  if (d.peak_torque_n_m && d.continuous_torque_n_m && *d.continuous_torque_n_m > *d.peak_torque_n_m) {
    check.refuse("continuous_torque", "is above the peak torque", check.number(*d.continuous_torque_n_m, "N m"),
                 "at most " + check.number(*d.peak_torque_n_m, "N m"), "check which is which");
  }
}

// Overlap of two wheels that stand on one plane: circles of radius r1, r2 with axles dx apart meet
// when dx^2 < 4 r1 r2.
bool overlap(const Axle& a, const Axle& b) {
  const double reach = 4 * shearing_radius_m(a.wheel) * shearing_radius_m(b.wheel);
  if (!(std::pow(a.position_x_m - b.position_x_m, 2) < reach)) return false;
  for (const double ya : wheel_offsets_m(a)) {
    for (const double yb : wheel_offsets_m(b)) {
      if (std::abs(ya - yb) < (a.wheel.width_m + b.wheel.width_m) / 2) return true;
    }
  }
  return false;
}

void check_axles(const Vehicle& v, Checker check) {
  if (v.axles.size() > kMostSupports) {
    check.refuse("axle", "count is larger than can be computed", std::to_string(v.axles.size()), fmt::format("2 to {}", kMostSupports), "describe axles close together as one with more wheels");
  }
  if (v.axles.size() < 2) {
    check.refuse("axle", "count is too small for a rigid vehicle to stand", std::to_string(v.axles.size()),
                 "two axles or more", "give every axle, rearmost first");
  }
  bool sound = true;  // positions, tracks and wheels good enough to look for overlaps
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const Axle& a = v.axles[i];
    Checker axle = check.at(fmt::format("axle[{}]", i + 1));
    if (a.name.empty()) axle.refuse("name", "is missing", "", "a name", "name the axle, for example rear");
    for (std::size_t k = 0; k < i; ++k) {
      if (!a.name.empty() && v.axles[k].name == a.name) {
        axle.refuse("name", "is used twice", a.name, "one name an axle", "rename one of the axles");
      }
    }
    const double before = i == 0 ? 0 : v.axles[i - 1].position_x_m;
    if (!(i == 0 ? a.position_x_m == 0 : a.position_x_m > before && a.position_x_m <= 100)) {
      axle.refuse("position_x", i == 0 ? "of the rearmost axle is not the origin" : "does not rise",
                  check.number(a.position_x_m, "m"),
                  i == 0 ? check.number(0, "m") : "above " + check.number(before, "m") + ", at most " + check.number(100, "m"),
                  "list axles rearmost first and measure forward from the rearmost");
      sound = false;
    }
    const bool alike = a.wheels == 1 || (a.wheels >= 2 && a.wheels <= 8 && a.wheels % 2 == 0);  // one in the middle, or as many on either side
    if (!alike) {
      axle.refuse("wheels", "are not a number an axle can have", std::to_string(a.wheels), "1, 2, 4, 6 or 8",
                  "count the wheels on both sides; give a wheel in the middle an axle of its own");
      sound = false;
    }
    if (a.wheels > 1) {
      sound &= axle.range("track_width", a.track_width_m, 0, 20, "above 0, at most 20 m", true);
    }
    sound &= a.wheel.radius_m > 0 && a.wheel.width_m > 0 && a.wheel.grouser_height_m >= 0;
    axle.range("suspension", a.suspension_n_per_m, 0, 1e9, "above 0, at most 1e9 N/m", true);
    check_wheel(a.wheel, axle.at("wheel"));
    check_drive(a.drive, axle.at("drive"));
  }
  if (!sound) return;
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const Axle& a = v.axles[i];
    Checker axle = check.at(fmt::format("axle[{}]", i + 1));
    if (a.wheels > 1 && a.track_width_m / (a.wheels - 1) < a.wheel.width_m) {
      axle.refuse("track_width", "lets wheels of the axle overlap", check.number(a.track_width_m, "m"),
                  "at least " + check.number(a.wheel.width_m * (a.wheels - 1), "m"),
                  "measure the track width between wheel centre planes");
    }
    for (std::size_t k = 0; k < i; ++k) {
      if (overlap(v.axles[k], a)) {
        axle.refuse("position_x", "lets its wheels overlap those of axle \"" + v.axles[k].name + "\"",
                    check.number(a.position_x_m - v.axles[k].position_x_m, "m") + " apart",
                    "at least " + check.number(2 * std::sqrt(shearing_radius_m(v.axles[k].wheel) * shearing_radius_m(a.wheel)), "m"),
                    "check axle positions, radii and track widths");
      }
    }
  }
}

// Half width of the ground the wheels span at x: the upper edge of the hull of the outer wheels.
double half_width_at(const std::vector<Axle>& axles, double x) {
  double half = 0;
  for (const Axle& a : axles) {
    for (const Axle& b : axles) {
      const double xa = a.position_x_m, xb = b.position_x_m;
      if (!(xa <= x && x <= xb)) continue;
      const double ya = wheel_offsets_m(a).front(), yb = wheel_offsets_m(b).front();
      half = std::max(half, xa == xb ? ya : ya + (yb - ya) * (x - xa) / (xb - xa));
    }
  }
  return half;
}

// Whether a body with this centre of gravity stands on its wheels.
bool stands(const Vehicle& v, const Body& body, const char* which, Checker check) {
  const double rear = v.axles.front().position_x_m, front = v.axles.back().position_x_m;
  if (!(body.cg_x_m > rear && body.cg_x_m < front)) {
    check.refuse("body.cg_x", fmt::format("lies outside the axles{}", which), check.number(body.cg_x_m, "m"),
                 "between " + check.number(rear, "m") + " and " + check.number(front, "m"), "measure it ahead of the rearmost axle");
    return false;
  }
  const double half = half_width_at(v.axles, body.cg_x_m);
  if (!(std::abs(body.cg_y_m) < half)) {
    check.refuse("body.cg_y", fmt::format("lies outside the wheels{}", which), check.number(body.cg_y_m, "m"),
                 "less than " + check.number(half, "m") + " to either side", "measure it from the centre plane");
    return false;
  }
  return true;
}

void check_standing(const Vehicle& v, double gravity_m_s2, Checker check) {
  const std::vector<double> loads = level_axle_loads_n(v, gravity_m_s2);
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const Axle& a = v.axles[i];
    Checker axle = check.at(fmt::format("axle[{}]", i + 1));
    const double wheel_load = loads[i] / a.wheels;
    if (a.wheel.flex) {
      const std::optional<double> f = deflection_m(*a.wheel.flex, wheel_load);
      if (!f) {
        axle.refuse("wheel.flex.load_deflection", "ends below the load the wheel carries on level ground",
                    check.number(a.wheel.flex->load_deflection.back().first, "N"),
                    "at least " + check.number(wheel_load, "N"), "add rows at higher loads");
      } else if (!(*f < a.wheel.radius_m)) {
        axle.refuse("wheel.flex", "lets the vehicle's weight press the axle to the ground plane",
                    check.number(*f, "m") + " of deflection", "less than the radius, " + check.number(a.wheel.radius_m, "m"),
                    "check the stiffness and its unit");
      } else if (*f > 0.25 * a.wheel.radius_m) {
        axle.remark("wheel.flex", "gives a deflection over a quarter of the radius", check.number(*f, "m"),
                    "common practice, no source", "check stiffness, inflation pressure and load");
      }
    }
    if (loads[i] == 0) {
      axle.remark("", "the axle carries nothing on level ground", "0 N", "",
                  "check the centre of gravity and the axle positions");
    }
  }
}

// The steering alone; axles and their names have passed.
void check_steering(const Vehicle& v, Checker check) {
  const Steering& s = v.steering;
  constexpr double kRightAngle = std::numbers::pi / 2;
  const auto degrees = [](double rad) { return fmt::format("{:.4g} deg", rad * 180 / std::numbers::pi); };
  if (s.kind == SteeringKind::skid) {
    if (s.largest_angle_rad != 0 || !s.steered_axles.empty() || s.pivot_width_m || s.joint_x_m) {
      check.refuse("kind", "says that nothing is steered, but an angle, axles, pivots or a joint are given", name(s.kind), "ackermann, crab or frame", "name the kind, or leave the rest out");
    }
    return;
  }
  if (!(s.largest_angle_rad > 0 && s.largest_angle_rad < kRightAngle)) {
    check.refuse("largest_angle", "is no angle a wheel or a joint is steered to", degrees(s.largest_angle_rad), "above 0, below 90 deg", "from straight ahead to the stop, one side");
  }
  const bool frame = s.kind == SteeringKind::frame;
  if (frame != s.joint_x_m.has_value()) {
    check.refuse("joint_x", frame ? "of frame steering is missing" : "belongs to frame steering", frame ? "" : check.number(*s.joint_x_m, "m"), "with frame steering only", "check the kind of steering");
  }
  const double rear = v.axles.front().position_x_m, front = v.axles.back().position_x_m;
  if (frame && s.joint_x_m) {
    if (!(*s.joint_x_m > rear && *s.joint_x_m < front)) {
      check.refuse("joint_x", "lies outside the wheelbase", check.number(*s.joint_x_m, "m"), "between " + check.number(rear, "m") + " and " + check.number(front, "m"), "measure it ahead of the rearmost axle");
    }
    for (const Axle& a : v.axles) {
      if (a.position_x_m == *s.joint_x_m) check.refuse("joint_x", "lies on axle \"" + a.name + "\"", check.number(*s.joint_x_m, "m"), "between two axles", "say which half the axle belongs to");
    }
  }
  if (s.kind != SteeringKind::ackermann && !s.steered_axles.empty()) {
    check.refuse("steered_axles", frame ? "have no place on a frame that bends" : "are all axles of a crab", s.steered_axles.front(), "with ackermann steering only", "leave the key out");
  }
  double narrowest = 20;
  std::size_t steered = 0;
  for (const Axle& a : v.axles) {
    const auto named = std::count(s.steered_axles.begin(), s.steered_axles.end(), a.name);
    if (named > 1) check.refuse("steered_axles", "name an axle twice", a.name, "each once", "take one out");
    if (named > 0 || s.kind == SteeringKind::crab) {
      ++steered;
      if (a.wheels > 1) narrowest = std::min(narrowest, a.track_width_m);
    }
  }
  for (const std::string& wanted : s.steered_axles) {
    if (std::none_of(v.axles.begin(), v.axles.end(), [&](const Axle& a) { return a.name == wanted; })) {
      check.refuse("steered_axles", "name no axle of the vehicle", wanted, "names of axles", "name the axle as in its own table");
    }
  }
  if (s.kind == SteeringKind::ackermann && steered == 0) check.refuse("steered_axles", "are missing", "", "one axle or more", "name the axles whose wheels are steered");
  if (s.pivot_width_m && frame) check.refuse("pivot_width", "belongs to steered wheels", check.number(*s.pivot_width_m, "m"), "not with frame steering", "leave the key out");
  if (s.pivot_width_m && !frame && !(*s.pivot_width_m > 0 && *s.pivot_width_m <= narrowest)) {
    check.refuse("pivot_width", "does not fit between the steered wheels", check.number(*s.pivot_width_m, "m"), "above 0, at most " + check.number(narrowest, "m"), "measure between the upright axes of left and right wheel");
  }
}

void remark_odd(const Vehicle& v, Checker check) {
  if (std::none_of(v.axles.begin(), v.axles.end(), [](const Axle& a) { return a.drive.driven; })) {
    check.remark("axle", "list has no driven axle", "", "", "the vehicle can only be towed");
  }
  if (std::none_of(v.axles.begin(), v.axles.end(), [](const Axle& a) { return a.drive.brake; })) {
    check.remark("axle", "list has no braked axle", "", "", "the vehicle cannot be held on a slope");
  }
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const Axle& a = v.axles[i];
    Checker axle = check.at(fmt::format("axle[{}]", i + 1));
    if (a.wheel.rolling_radius_m && a.wheel.rolling_radius_condition == ZeroSlip::not_stated) {
      axle.remark("wheel.rolling_radius", "has no stated zero-slip condition", check.number(*a.wheel.rolling_radius_m, "m"),
                  "", "state whether towed or self-propelled, on hard ground or on the soil");
    }
    if (a.wheel.rolling_radius_m && *a.wheel.rolling_radius_m > shearing_radius_m(a.wheel)) {
      axle.remark("wheel.rolling_radius", "is larger than the wheel", check.number(*a.wheel.rolling_radius_m, "m"),
                  "at most " + check.number(shearing_radius_m(a.wheel), "m"), "check turns, distance and radius");
    }
    if (v.bodies[a.body].clearance_m && *v.bodies[a.body].clearance_m > 2 * shearing_radius_m(a.wheel)) {
      axle.remark("wheel.radius", "lies wholly under the body's lowest point", check.number(a.wheel.radius_m, "m"), "",
                  "check the clearance and its unit");
    }
  }
}

}  // namespace

void check_wheel(const Wheel& wheel, const base::Place& place, base::Problems& problems) {
  check_wheel(wheel, Checker(place, units::OutputUnits::si, problems));
}

void check_vehicle(const Vehicle& v, double gravity_m_s2, const base::Place& place, base::Problems& problems) {
  check_vehicle_in(units::OutputUnits::si, v, gravity_m_s2, place, problems);
}

void check_vehicle_in(units::OutputUnits units, const Vehicle& v, double gravity_m_s2, const base::Place& place, base::Problems& problems) {
  base::Problems found;
  Checker check(place, units, found);
  check.range("gravity", gravity_m_s2, 0, 100, "above 0, at most 100 m/s2", true);
  detail::check_bodies(v, check);
  check_axles(v, check);
  detail::check_scale_entries(v, check);
  // What follows computes with the numbers, so it needs them to be possible.
  if (!found.refused()) {
    Vehicle empty = v;
    empty.payload.clear();
    check_steering(v, check.at("steering"));
    bool standing = stands(v, loaded_body(v), v.payload.empty() ? "" : " with payload", check);
    if (!v.payload.empty()) standing &= stands(v, loaded_body(empty), " without payload", check);
    standing = standing && detail::check_chain(v, gravity_m_s2, check) && (v.payload.empty() || detail::check_chain(empty, gravity_m_s2, check));
    if (standing) {
      check_standing(v, gravity_m_s2, check);
      detail::check_scales(v, gravity_m_s2, check);
    }
    remark_odd(v, check);
  }
  problems.add(found);
}

}  // namespace hardpan::vehicle
