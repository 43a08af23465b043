// SPDX-License-Identifier: Apache-2.0
#include "vehicle/detail/check_bodies.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <vector>

#include "vehicle/chain.hpp"
#include "vehicle/detail/joint_room.hpp"

namespace hardpan::vehicle::detail {
namespace {

std::string key_of_body(const Vehicle& v, std::size_t i) { return v.bodies.size() == 1 ? "body" : fmt::format("body[{}]", i + 1); }

std::string degrees(double rad) { return fmt::format("{:.4g} deg", rad * 180 / std::numbers::pi); }

void check_underbody(const Body& b, const Checker& body) {
  for (std::size_t k = 0; k < b.underbody.size(); ++k) {
    const UnderbodyPoint& p = b.underbody[k];
    const std::string key = fmt::format("underbody[{}]", k + 1);
    if (!(p.z_m > 0 && p.z_m <= 10 && std::abs(p.x_m) <= 100)) {
      body.refuse(key, "is no point of an underbody", body.number(p.x_m, "m") + ", " + body.number(p.z_m, "m"), "above the ground plane, at most 10 m", "give place ahead of the rearmost axle and height");
    } else if (k > 0 && !(p.x_m > b.underbody[k - 1].x_m)) {
      body.refuse(key, "does not lie ahead of the point before", body.number(p.x_m, "m"), "above " + body.number(b.underbody[k - 1].x_m, "m"), "list the points from the rear to the front");
    }
  }
  if (!b.underbody.empty() && b.clearance_m) {
    double lowest = b.underbody.front().z_m;
    for (const UnderbodyPoint& p : b.underbody) lowest = std::min(lowest, p.z_m);
    if (!(std::abs(lowest - *b.clearance_m) <= 1e-9 + 0.01 * lowest)) {
      body.refuse("clearance", "is not the height of the lowest underbody point", body.number(*b.clearance_m, "m"), body.number(lowest, "m"), "measure both again, or leave the clearance out");
    }
  }
}

void check_payload(const Vehicle& v, const Checker& check) {
  for (std::size_t i = 0; i < v.payload.size(); ++i) {
    const Payload& p = v.payload[i];
    Checker load = check.at(fmt::format("payload[{}]", i + 1));
    load.range("mass", p.mass_kg, 0, 1e6, "0 to 1e6 kg");
    load.range("x", p.x_m, -100, 100, "-100 to 100 m");
    load.range("y", p.y_m, -10, 10, "-10 to 10 m");
    load.range("z", p.z_m, 0, 20, "0 (the ground plane) to 20 m");
    if (p.body >= v.bodies.size()) load.refuse("body", "is no body of the vehicle", std::to_string(p.body + 1), fmt::format("1 to {}", v.bodies.size()), "name a body of the file");
    const auto allowed = [&](const char* key, const std::optional<Span>& span, double at) {
      if (!span || (span->lo_m <= at && at <= span->hi_m && span->lo_m >= -100 && span->hi_m <= 100)) return;
      load.refuse(key, "does not hold the place it has now", load.number(at, "m"), load.number(span->lo_m, "m") + " to " + load.number(span->hi_m, "m"), "give the least and the largest place, with today's between");
    };
    allowed("x_allowed", p.x_allowed, p.x_m);
    allowed("y_allowed", p.y_allowed, p.y_m);
    allowed("z_allowed", p.z_allowed, p.z_m);
    if (p.z_allowed && !(p.z_allowed->lo_m >= 0)) load.refuse("z_allowed", "reaches under the ground plane", load.number(p.z_allowed->lo_m, "m"), "0 m or more", "measure heights from the ground");
  }
}

void check_axis(const char* which, const JointAxis& a, const Checker& joint) {
  const Checker axis = joint.at(which);
  if (a.freedom != Freedom::elastic && a.stiffness_n_m_per_rad != 0) {
    axis.refuse("stiffness", "belongs to an elastic joint", fmt::format("{:g} N m/rad", a.stiffness_n_m_per_rad), "elastic joints only", "say elastic, or leave it out");
  } else if (a.freedom == Freedom::elastic && a.stiffness_n_m_per_rad == 0) {
    axis.refuse("stiffness", "of an elastic joint is missing or 0", "", "above 0, at most 1e9 N m/rad", "give it, or say free or rigid");
  } else if (a.freedom == Freedom::elastic && !(a.stiffness_n_m_per_rad > 0 && a.stiffness_n_m_per_rad <= 1e9)) {
    axis.refuse("stiffness", "of an elastic joint is impossible", fmt::format("{:g} N m/rad", a.stiffness_n_m_per_rad), "above 0, at most 1e9 N m/rad", "check the number and its unit");
  }
  if (a.freedom == Freedom::rigid && (a.lowest_rad || a.highest_rad)) {
    axis.refuse("stops", "have no place on a rigid joint", degrees(a.lowest_rad.value_or(*a.highest_rad)), "free or elastic joints only", "leave them out, or say free or elastic");
    return;
  }
  const auto within = [](double rad, double lo, double hi) { return rad >= lo && rad <= hi; };
  if (a.lowest_rad && !within(*a.lowest_rad, -std::numbers::pi, 0)) axis.refuse("stops", "start above straight", degrees(*a.lowest_rad), "-180 to 0 deg", "lowest and highest angle with straight between");
  if (a.highest_rad && !within(*a.highest_rad, 0, std::numbers::pi)) axis.refuse("stops", "end below straight", degrees(*a.highest_rad), "0 to 180 deg", "lowest and highest angle with straight between");
}

void check_joints(const Vehicle& v, const Checker& check) {
  if (v.joints.size() + 1 != v.bodies.size()) {
    check.refuse("joint", "count does not fit the bodies", std::to_string(v.joints.size()), fmt::format("{} for {} bodies", v.bodies.size() - 1, v.bodies.size()), "give one joint between each body and the next");
    return;
  }
  double rear = std::numeric_limits<double>::infinity(), front = -rear;
  for (const Axle& a : v.axles) rear = std::min(rear, a.position_x_m), front = std::max(front, a.position_x_m);
  for (const Body& b : v.bodies) rear = std::min(rear, b.cg_x_m), front = std::max(front, b.cg_x_m);
  bool bends = v.steering.kind != SteeringKind::frame || !v.steering.joint_x_m || v.joints.empty();
  for (const Joint& joint : v.joints) bends = bends || std::abs(joint.x_m - *v.steering.joint_x_m) < 1e-3;
  if (!bends) {
    check.at("steering").refuse("joint_x", "is none of the joints", check.number(*v.steering.joint_x_m, "m"), "the place of a joint that yaws", "state the same place in [steering] and [[joint]]");
  }
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    const Joint& joint = v.joints[j];
    const Checker at = check.at(fmt::format("joint[{}]", j + 1));
    if (std::abs(joint.x_m) <= 100 && !(joint.x_m >= rear && joint.x_m <= front)) {
      at.refuse("x", "lies outside the vehicle", at.number(joint.x_m, "m"), fmt::format("{} to {}, the outermost axles and centres of gravity", at.number(rear, "m"), at.number(front, "m")), "positions count from the rearmost axle");
    }
    at.range("x", joint.x_m, -100, 100, "-100 to 100 m");
    at.range("z", joint.z_m, 0, 10, "above 0 (the ground plane), at most 10 m", true);
    if (j > 0 && !(joint.x_m > v.joints[j - 1].x_m)) {
      at.refuse("x", "collides with the joint behind it", at.number(joint.x_m, "m"), "above " + at.number(v.joints[j - 1].x_m, "m"), "list bodies and joints from the rear to the front");
    }
    check_axis("pitch", joint.pitch, at);
    check_axis("roll", joint.roll, at);
    check_axis("yaw", joint.yaw, at);
  }
}

}  // namespace

void check_bodies(const Vehicle& v, const Checker& check) {
  if (v.bodies.empty() || v.bodies.size() > kMostBodies) {
    check.refuse("body", "count is not one a vehicle can have here", std::to_string(v.bodies.size()), fmt::format("1 to {}", kMostBodies), "describe the rigid parts, rearmost first");
    return;
  }
  for (std::size_t i = 0; i < v.bodies.size(); ++i) {
    const Body& b = v.bodies[i];
    const Checker body = check.at(key_of_body(v, i));
    body.range("mass", b.mass_kg, 0, 1e6, "above 0, at most 1e6 kg", true);
    body.range("cg_x", b.cg_x_m, -100, 100, "-100 to 100 m");
    body.range("cg_y", b.cg_y_m, -10, 10, "-10 to 10 m");
    body.range("cg_z", b.cg_z_m, 0, 20, "above 0 (the ground plane), at most 20 m", true);
    body.range("cg_x_sd", b.cg_x_sd_m, 0, 1, "0 to 1 m, one standard deviation");
    body.range("cg_y_sd", b.cg_y_sd_m, 0, 1, "0 to 1 m, one standard deviation");
    // Two of them below must still be above the ground.
    body.range("cg_z_sd", b.cg_z_sd_m, 0, std::min(1.0, 0.5 * std::max(b.cg_z_m, 0.0)), "0 to half the height, at most 1 m; one standard deviation");
    body.range("clearance", b.clearance_m, 0, 10, "above 0 (the ground plane), at most 10 m", true);
    body.range("pitch_inertia", b.pitch_inertia_kg_m2, 0, 1e8, "above 0, at most 1e8 kg m2", true);
    check_underbody(b, body);
    for (std::size_t k = 0; k < i; ++k) {
      if (v.bodies[k].name == b.name) body.refuse("name", "is used twice", b.name, "one name a body", "name every body differently");
    }
  }
  check_joints(v, check);
  check_payload(v, check);
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const Checker axle = check.at(fmt::format("axle[{}]", i + 1));
    if (v.axles[i].body >= v.bodies.size()) {
      axle.refuse("body", "is no body of the vehicle", std::to_string(v.axles[i].body + 1), fmt::format("1 to {}", v.bodies.size()), "name a body of the file");
    } else if (i > 0 && v.axles[i].body < v.axles[i - 1].body) {
      axle.refuse("body", "lies behind the body of the axle before", v.bodies[v.axles[i].body].name, "bodies and axles from the rear to the front", "check places and bodies of the axles");
    }
  }
  if (v.hitch) {
    const Checker hitch = check.at("hitch");
    hitch.range("x", v.hitch->x_m, -100, 100, "-100 to 100 m");
    hitch.range("height", v.hitch->height_m, 0, 10, "above 0 (the ground plane), at most 10 m", true);
  }
  check.range("battery", v.battery_j, 0, 1e12, "above 0, at most 1e12 J", true);
  check.range("idle_power", v.idle_power_w, 0, 1e7, "0 to 1e7 W");
  if (v.working_slip && !(*v.working_slip > 0 && *v.working_slip < 1)) {
    check.refuse("working_slip", "is not a driving slip", fmt::format("{:g}", *v.working_slip),
                 "above 0, below 1", "give a ratio, 0.2 for 20 %");
  }
}

bool check_chain(const Vehicle& v, double gravity_m_s2, const Checker& check) {
  if (v.bodies.size() == 1) return true;
  bool room = true;
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    for (const JointTurn turn : {JointTurn::pitch, JointTurn::yaw}) {
      const auto met = wheels_meet(v, j, turn);
      if (!met) continue;
      room = false;
      check.at(fmt::format("joint[{}].{}", j + 1, turn == JointTurn::yaw ? "yaw" : "pitch"))
          .refuse("stops", fmt::format("let wheels of \"{}\" and \"{}\" run into each other at {}", v.axles[met->behind].name, v.axles[met->ahead].name, degrees(met->angle_rad)), degrees(met->stop_rad),
                  "stops before the wheels meet", "measure the stops, and the places of joint and axles");
    }
  }
  if (!room) return false;
  const ChainShare share = level_share(v, gravity_m_s2);
  if (share.stands && share.first_lifted == kMostSupports) return true;
  if (share.first_lifted == kMostSupports) {
    check.refuse("joint", "lets the bodies fold up standing on level ground", fmt::format("{} bodies", v.bodies.size()), "every body held up by its axles and joints", "check axles and joints of each body; rigid or elastic pitch holds a body with one axle");
  } else {
    check.refuse(fmt::format("axle[{}]", share.first_lifted + 1), "the axle is lifted off level ground by the bodies about it", "0 N", "a load on every axle", "check centres of gravity, axles and joints of the bodies");
  }
  return false;
}

namespace {

constexpr double kScaleShare = 0.03;

std::size_t axle_named(const Vehicle& v, const std::string& name) {
  return static_cast<std::size_t>(std::find_if(v.axles.begin(), v.axles.end(), [&](const Axle& a) { return a.name == name; }) - v.axles.begin());
}

std::string axle_names(const Vehicle& v) {
  std::string names;
  for (const Axle& a : v.axles) names += (names.empty() ? "" : ", ") + a.name;
  return names;
}

// All of an axle's readings in one state of loading; whole-axle readings are averaged, sides added.
struct Weighed {
  double both_n = 0, left_n = 0, right_n = 0;
  int both = 0, left = 0, right = 0;
  std::size_t first = 0;  // place of a reading in the file's list

  [[nodiscard]] bool sides() const { return left > 0 && right > 0; }
  [[nodiscard]] bool whole() const { return both > 0 || sides(); }
  [[nodiscard]] double load_n() const { return both > 0 ? both_n / both : left_n / left + right_n / right; }
};

std::vector<Weighed> weighed_axles(const Vehicle& v, bool with_payload) {
  std::vector<Weighed> out(v.axles.size());
  for (std::size_t s = 0; s < v.scales.size(); ++s) {
    const ScaleWeight& scale = v.scales[s];
    if (scale.with_payload != with_payload) continue;
    Weighed& w = out[axle_named(v, scale.axle)];
    double& load = scale.side == Side::both ? w.both_n : scale.side == Side::left ? w.left_n : w.right_n;
    int& count = scale.side == Side::both ? w.both : scale.side == Side::left ? w.left : w.right;
    load += scale.load_n;
    ++count;
    w.first = s;
  }
  return out;
}

// How far left of the centre plane the scales put the centre of gravity; nothing unless every axle was weighed side by side.
std::optional<double> weighed_cg_left_m(const Vehicle& v, const std::vector<Weighed>& weighed) {
  double moment = 0, total = 0;
  for (std::size_t i = 0; i < weighed.size(); ++i) {
    if (!weighed[i].sides() || v.axles[i].wheels % 2 != 0) return std::nullopt;
    double arm = 0;  // mean of the wheels of one side
    const std::vector<double> at = wheel_offsets_m(v.axles[i]);
    for (std::size_t k = 0; k < at.size() / 2; ++k) arm += at[k] / static_cast<double>(at.size() / 2);
    const double left = weighed[i].left_n / weighed[i].left, right = weighed[i].right_n / weighed[i].right;
    moment += (left - right) * arm;
    total += left + right;
  }
  return total > 0 ? std::optional(moment / total) : std::nullopt;
}

void check_sideways(const Vehicle& v, const std::vector<Weighed>& weighed, const Body& body, const char* state, const Checker& check) {
  const std::optional<double> left = weighed_cg_left_m(v, weighed);
  if (!left) return;
  double widest = 0;
  for (const Axle& a : v.axles) widest = std::max(widest, a.track_width_m);
  if (!(std::abs(*left - body.cg_y_m) <= kScaleShare * widest)) {
    check.refuse("scale", fmt::format("weights of the two sides {} put the centre of gravity elsewhere than the file", state), check.number(*left, "m") + " left of the centre plane",
                 check.number(body.cg_y_m, "m") + " within 3 % of the track width", "correct the centre of gravity, or weigh again");
  }
}

// A reading of one side waits for the other; by itself it cannot be more than the axle carries.
void check_one_side(const Vehicle& v, const Weighed& w, std::size_t axle, double axle_load_n, const Checker& check) {
  if (w.left == 0 && w.right == 0) return;
  const double load = w.left > 0 ? w.left_n / w.left : w.right_n / w.right;
  const Checker at = check.at(fmt::format("scale[{}]", w.first + 1));
  if (!(load <= (1 + kScaleShare) * axle_load_n)) {
    at.refuse("load", fmt::format("on one side is more than axle \"{}\" carries", v.axles[axle].name), check.number(load, "N"), "at most " + check.number(axle_load_n, "N"), "correct the mass, or say that both sides stood on the scale");
  } else {
    at.remark("load", fmt::format("of one side of axle \"{}\" is not compared: the other side is missing", v.axles[axle].name), check.number(load, "N"), "left and right", "add the reading of the other side");
  }
}

void check_level(const Vehicle& v, bool with_payload, double gravity_m_s2, const Checker& check) {
  Vehicle state_of = v;
  if (!with_payload) state_of.payload.clear();
  const Body body = loaded_body(state_of);
  const double weight = body.mass_kg * gravity_m_s2;
  const std::vector<double> loads = level_axle_loads_n(state_of, gravity_m_s2);
  const char* state = with_payload ? "with payload" : "without payload";
  const std::vector<Weighed> weighed = weighed_axles(v, with_payload);
  const bool settled = loads.size() == 2;  // by moments, whatever the springs
  bool all = true;
  double total = 0, moment = 0;
  for (std::size_t i = 0; i < loads.size(); ++i) {
    if (!weighed[i].whole()) {
      all = false;
      check_one_side(v, weighed[i], i, loads[i], check);
      continue;
    }
    const double load = weighed[i].load_n();
    total += load;
    moment += load * v.axles[i].position_x_m;
    if (std::abs(load - loads[i]) <= kScaleShare * loads[i]) continue;
    const Checker at = check.at(fmt::format("scale[{}]", weighed[i].first + 1));
    const std::string what = fmt::format("on axle \"{}\" {} is more than 3 % off what the file gives", v.axles[i].name, state);
    const std::string value = check.number(load, "N"), bound = check.number(loads[i], "N") + " within 3 %";
    if (settled) {
      at.refuse("load", what, value, bound, "correct mass and centre of gravity, or weigh again");
    } else {
      at.remark("load", what + " for equally stiff wheels", value, bound, "the split over more than two axles depends on their springs");
    }
  }
  check_sideways(v, weighed, body, state, check);
  if (settled || !all) return;
  if (!(std::abs(total - weight) <= kScaleShare * weight)) {
    check.refuse("scale", fmt::format("weights {} add up to more than 3 % off the file's weight", state), check.number(total, "N"), check.number(weight, "N") + " within 3 %",
                 "correct the mass, or weigh again");
  } else if (!(std::abs(moment / total - body.cg_x_m) <= kScaleShare * wheelbase_m(v))) {
    check.refuse("scale", fmt::format("weights {} put the centre of gravity elsewhere than the file", state), check.number(moment / total, "m"),
                 check.number(body.cg_x_m, "m") + " within 3 % of the wheelbase", "correct the centre of gravity, or weigh again");
  }
}

void check_tilted(const Vehicle& v, double gravity_m_s2, const Checker& check) {
  Vehicle state_of = v;
  if (!v.tilted->with_payload) state_of.payload.clear();
  const std::optional<double> height = tilted_cg_height_m(v, gravity_m_s2);
  const Body body = loaded_body(state_of);
  if (!height) return;
  if (!(std::abs(*height - body.cg_z_m) <= kScaleShare * wheelbase_m(v))) {
    check.refuse("tilted", "weighing puts the centre of gravity at another height than the file", check.number(*height, "m"), check.number(body.cg_z_m, "m") + " within 3 % of the wheelbase",
                 "correct the height, or weigh again with the axle raised further");
  }
}

}  // namespace

void check_scale_entries(const Vehicle& v, const Checker& check) {
  for (std::size_t s = 0; s < v.scales.size(); ++s) {
    const ScaleWeight& scale = v.scales[s];
    const Checker at = check.at(fmt::format("scale[{}]", s + 1));
    at.range("load", scale.load_n, 0, 1e8, "0 to 1e8 N");
    if (axle_named(v, scale.axle) == v.axles.size()) at.refuse("axle", "is no axle of the vehicle", scale.axle, axle_names(v), "name the axle as in the vehicle file");
  }
  if (!v.tilted) return;
  const Checker at = check.at("tilted");
  at.range("other_load", v.tilted->other_load_n, 0, 1e8, "above 0, at most 1e8 N", true);
  if (axle_named(v, v.tilted->raised_axle) == v.axles.size()) at.refuse("raised_axle", "is no axle of the vehicle", v.tilted->raised_axle, axle_names(v), "name the axle as in the vehicle file");
  if (v.axles.size() != 2 || v.bodies.size() != 1) {
    at.refuse("raised_axle", "is told for a vehicle whose loads moments alone do not settle", fmt::format("{} axles, {} bodies", v.axles.size(), v.bodies.size()), "two axles, one body", "leave this weighing out");
  } else if (!(v.tilted->raised_m > 0 && v.tilted->raised_m < wheelbase_m(v))) {
    at.refuse("raised", "is not a height the axle can be raised to", at.number(v.tilted->raised_m, "m"), "above 0, below the wheelbase, " + at.number(wheelbase_m(v), "m"), "measure how much higher its wheels stand");
  }
}

void check_scales(const Vehicle& v, double gravity_m_s2, const Checker& check) {
  check_level(v, true, gravity_m_s2, check);
  check_level(v, false, gravity_m_s2, check);
  if (v.tilted) check_tilted(v, gravity_m_s2, check);
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const Wheel& w = v.axles[i].wheel;
    if (!w.loaded_radius_m) continue;
    const Checker wheel = check.at(fmt::format("axle[{}].wheel", i + 1));
    const std::optional<double> f = w.flex ? deflection_m(*w.flex, level_axle_loads_n(v, gravity_m_s2)[i] / v.axles[i].wheels) : 0.0;
    if (f && !(std::abs(*w.loaded_radius_m - (w.radius_m - *f)) <= kScaleShare * w.radius_m)) {
      wheel.refuse("loaded_radius", "is not the radius less the deflection under the standing load", wheel.number(*w.loaded_radius_m, "m"), wheel.number(w.radius_m - *f, "m") + " within 3 % of the radius",
                   "measure again, or correct radius and stiffness");
    }
  }
}

}  // namespace hardpan::vehicle::detail
