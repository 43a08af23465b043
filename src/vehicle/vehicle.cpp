// SPDX-License-Identifier: Apache-2.0
// Notation: x place along the vehicle [m], F axle load [N], W weight [N], D wheel diameter [m],
// f radial deflection [m], b contact width [m], L contact length [m].
#include "vehicle/vehicle.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

#include "base/assertion.hpp"
#include "vehicle/chain.hpp"

namespace hardpan::vehicle {

const char* name(ZeroSlip condition) {
  switch (condition) {
    case ZeroSlip::towed_hard: return "towed on hard ground";
    case ZeroSlip::self_propelled_hard: return "self-propelled on hard ground";
    case ZeroSlip::towed_soil: return "towed on the test soil";
    case ZeroSlip::self_propelled_soil: return "self-propelled on the test soil";
    case ZeroSlip::not_stated: return "not stated";
  }
  return "";
}

const char* name(SteeringKind kind) {
  switch (kind) {
    case SteeringKind::skid: return "skid";
    case SteeringKind::ackermann: return "ackermann";
    case SteeringKind::crab: return "crab";
    case SteeringKind::frame: return "frame";
  }
  return "";
}

const char* name(Freedom freedom) {
  switch (freedom) {
    case Freedom::rigid: return "rigid";
    case Freedom::free: return "free";
    case Freedom::elastic: return "elastic";
  }
  return "";
}

std::optional<double> thermal_time_s(const Drive& drive) {
  if (drive.thermal_time_s) return drive.thermal_time_s;
  if (!drive.peak_time_s || !drive.peak_torque_n_m || !drive.continuous_torque_n_m) return std::nullopt;
  const double share = *drive.continuous_torque_n_m / *drive.peak_torque_n_m;
  if (!(share < 1)) return std::nullopt;
  return -*drive.peak_time_s / std::log1p(-share * share);
}

std::optional<double> torque_time_s(const Drive& drive, double torque_n_m) {
  const double torque = std::abs(torque_n_m);
  if (drive.peak_torque_n_m && torque > *drive.peak_torque_n_m) return 0.0;
  if (!drive.continuous_torque_n_m) return std::nullopt;
  if (torque <= *drive.continuous_torque_n_m) return std::numeric_limits<double>::infinity();
  const std::optional<double> tau = thermal_time_s(drive);
  if (!tau) return std::nullopt;
  const double share = *drive.continuous_torque_n_m / torque;
  return -*tau * std::log1p(-share * share);
}

std::optional<double> deflection_m(const Flex& flex, double load_n) {
  if (!(load_n >= 0) || !std::isfinite(load_n)) return std::nullopt;
  if (flex.stiffness_n_per_m) return load_n / *flex.stiffness_n_per_m;
  const auto& rows = flex.load_deflection;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const auto [load0, f0] = rows[i - 1];
    const auto [load1, f1] = rows[i];
    if (load_n >= load0 && load_n <= load1) return f0 + (f1 - f0) * (load_n - load0) / (load1 - load0);
  }
  return std::nullopt;
}

namespace {

// Masses summed; places are means by mass.
class Sum {
 public:
  void add(double mass_kg, double x_m, double y_m, double z_m) {
    mass_ += mass_kg;
    mx_ += mass_kg * x_m;
    my_ += mass_kg * y_m;
    mz_ += mass_kg * z_m;
    ++terms_;
    last_ = {.mass_kg = mass_kg, .cg_x_m = x_m, .cg_y_m = y_m, .cg_z_m = z_m};
  }
  void put_into(Body& body) const {
    body.mass_kg = mass_;
    if (terms_ == 1 || !(mass_ > 0)) {  // a single term as it was typed, to the last bit
      body.cg_x_m = last_.cg_x_m, body.cg_y_m = last_.cg_y_m, body.cg_z_m = last_.cg_z_m;
      return;
    }
    body.cg_x_m = mx_ / mass_;
    body.cg_y_m = my_ / mass_;
    body.cg_z_m = mz_ / mass_;
  }

 private:
  double mass_ = 0, mx_ = 0, my_ = 0, mz_ = 0;
  int terms_ = 0;
  Body last_;
};

}  // namespace

Body loaded_body(const Vehicle& vehicle) {
  Sum sum;
  Body all;
  for (const Body& b : vehicle.bodies) {
    sum.add(b.mass_kg, b.cg_x_m, b.cg_y_m, b.cg_z_m);
    if (b.clearance_m) all.clearance_m = std::min(*b.clearance_m, all.clearance_m.value_or(*b.clearance_m));
  }
  for (const Payload& p : vehicle.payload) sum.add(p.mass_kg, p.x_m, p.y_m, p.z_m);
  sum.put_into(all);
  return all;
}

Body loaded_body(const Vehicle& vehicle, std::size_t body) {
  Body out = vehicle.bodies[body];
  Sum sum;
  sum.add(out.mass_kg, out.cg_x_m, out.cg_y_m, out.cg_z_m);
  for (const Payload& p : vehicle.payload) {
    if (p.body == body) sum.add(p.mass_kg, p.x_m, p.y_m, p.z_m);
  }
  sum.put_into(out);
  return out;
}

bool pitches_within(const Vehicle& vehicle) {
  return std::any_of(vehicle.joints.begin(), vehicle.joints.end(), [](const Joint& j) { return j.pitch.freedom != Freedom::rigid; });
}

bool rolls_within(const Vehicle& vehicle) {
  return std::any_of(vehicle.joints.begin(), vehicle.joints.end(), [](const Joint& j) { return j.roll.freedom != Freedom::rigid; });
}

std::vector<UnderbodyPoint> underbody(const Vehicle& vehicle, std::size_t body) {
  const Body& b = vehicle.bodies[body];
  if (!b.underbody.empty() || !b.clearance_m) return b.underbody;
  std::optional<double> first, last;
  for (const Axle& a : vehicle.axles) {
    if (a.body != body) continue;
    first = first.value_or(a.position_x_m);
    last = a.position_x_m;
  }
  if (!first) return {};
  if (*first == *last) return {{*first, *b.clearance_m}};
  return {{*first, *b.clearance_m}, {*last, *b.clearance_m}};
}

double mass_kg(const Vehicle& vehicle) { return loaded_body(vehicle).mass_kg; }

double wheelbase_m(const Vehicle& vehicle) {
  if (vehicle.axles.empty()) return 0;
  return vehicle.axles.back().position_x_m - vehicle.axles.front().position_x_m;
}

int wheel_count(const Vehicle& vehicle) {
  int count = 0;
  for (const Axle& axle : vehicle.axles) count += axle.wheels;
  return count;
}

std::vector<double> level_axle_loads_n(const Vehicle& vehicle, double gravity_m_s2) {
  const std::vector<Axle>& axles = vehicle.axles;
  HARDPAN_ASSERT(axles.size() >= 2);
  if (axles.size() == 2 && !pitches_within(vehicle)) {  // by moments
    const Body body = loaded_body(vehicle);
    HARDPAN_ASSERT(body.cg_x_m >= axles.front().position_x_m && body.cg_x_m <= axles.back().position_x_m);
    const double weight = body.mass_kg * gravity_m_s2, length = wheelbase_m(vehicle);
    return {weight * (axles[1].position_x_m - body.cg_x_m) / length, weight * (body.cg_x_m - axles[0].position_x_m) / length};
  }
  const ChainShare share = level_share(vehicle, gravity_m_s2);
  HARDPAN_ASSERT(share.stands);
  return {share.load_n.begin(), share.load_n.begin() + static_cast<std::ptrdiff_t>(axles.size())};
}

ChainShare level_share(const Vehicle& vehicle, double gravity_m_s2) {
  const Chain chain = chain_of(vehicle);
  ChainForce force;
  double weight = 0;
  for (std::size_t b = 0; b < vehicle.bodies.size(); ++b) {
    const Body body = loaded_body(vehicle, b);
    force.add_force(chain, b, body.cg_x_m, body.cg_z_m, 0, body.mass_kg * gravity_m_s2);
    weight += body.mass_kg * gravity_m_s2;
  }
  std::array<ChainSupport, kMostSupports> support{};
  HARDPAN_ASSERT(vehicle.axles.size() <= kMostSupports);
  for (std::size_t i = 0; i < vehicle.axles.size(); ++i) {
    const Axle& a = vehicle.axles[i];
    support[i] = {.x_m = a.position_x_m, .body = a.body, .compliance_m_per_n = kRigidSettlement_m / (weight * a.wheels)};
  }
  return share_along(chain, force, {support.data(), vehicle.axles.size()});
}

std::optional<double> tilted_cg_height_m(const Vehicle& vehicle, double gravity_m_s2) {
  if (!vehicle.tilted || vehicle.axles.size() != 2) return std::nullopt;
  Vehicle state = vehicle;
  if (!vehicle.tilted->with_payload) state.payload.clear();
  const std::vector<double> level = level_axle_loads_n(state, gravity_m_s2);
  const std::size_t other = vehicle.axles[0].name == vehicle.tilted->raised_axle ? 1 : 0;
  const double length = wheelbase_m(vehicle), weight = level[0] + level[1];
  const double tangent = vehicle.tilted->raised_m / std::sqrt(length * length - vehicle.tilted->raised_m * vehicle.tilted->raised_m);
  // About the other axle's centre; both axle centres at their own radius over their own ground.
  const double radius = 0.5 * (vehicle.axles[0].wheel.radius_m + vehicle.axles[1].wheel.radius_m);
  return radius + (vehicle.tilted->other_load_n - level[other]) * length / (weight * tangent);
}

std::vector<double> wheel_offsets_m(const Axle& axle) {
  if (axle.wheels == 1) return {0.0};
  std::vector<double> offsets;
  for (int i = 0; i < axle.wheels; ++i) {
    offsets.push_back(axle.track_width_m * (0.5 - static_cast<double>(i) / (axle.wheels - 1)));
  }
  return offsets;
}

double shearing_radius_m(const Wheel& wheel) { return wheel.radius_m + wheel.grouser_height_m; }

std::optional<double> rolling_radius_m(const Wheel& wheel, double load_n) {
  if (wheel.rolling_radius_m) return wheel.rolling_radius_m;
  if (!wheel.flex) return shearing_radius_m(wheel);
  const std::optional<double> f = deflection_m(*wheel.flex, load_n);
  if (!f || !(*f < wheel.radius_m)) return std::nullopt;
  return wheel.radius_m - *f / 3;
}

std::optional<double> firm_contact_length_m(const Wheel& wheel, double load_n) {
  if (!wheel.flex) return 0.0;
  const std::optional<double> f = deflection_m(*wheel.flex, load_n);
  if (!f || !(*f < wheel.radius_m)) return std::nullopt;
  return 2 * std::sqrt(*f * (2 * wheel.radius_m - *f));
}

std::optional<double> firm_ground_pressure_pa(const Wheel& wheel, double load_n) {
  const std::optional<double> length = firm_contact_length_m(wheel, load_n);
  if (!length || !(*length > 0)) return std::nullopt;
  return load_n / (wheel.contact_width_m.value_or(wheel.width_m) * *length);
}

}  // namespace hardpan::vehicle
