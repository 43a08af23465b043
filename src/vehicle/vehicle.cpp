// SPDX-License-Identifier: Apache-2.0
// Notation: x place along the vehicle [m], F axle load [N], W weight [N], D wheel diameter [m],
// f radial deflection [m], b contact width [m], L contact length [m].
#include "vehicle/vehicle.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "base/assertion.hpp"

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

Body loaded_body(const Vehicle& vehicle) {
  Body all = vehicle.body;
  double mx = all.mass_kg * all.cg_x_m, my = all.mass_kg * all.cg_y_m, mz = all.mass_kg * all.cg_z_m;
  for (const Payload& p : vehicle.payload) {
    all.mass_kg += p.mass_kg;
    mx += p.mass_kg * p.x_m;
    my += p.mass_kg * p.y_m;
    mz += p.mass_kg * p.z_m;
  }
  if (vehicle.payload.empty() || !(all.mass_kg > 0)) return all;
  all.cg_x_m = mx / all.mass_kg;
  all.cg_y_m = my / all.mass_kg;
  all.cg_z_m = mz / all.mass_kg;
  return all;
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

namespace {

// Load of a wheel at x with equal springs under a rigid body: d + t x, from sum F = W and
// sum F x = W cg over the axles first..last. What lies outside carries nothing.
struct SpringLine {
  double d = 0, t = 0;
  [[nodiscard]] double load(double x) const { return d + t * x; }
};
SpringLine spring_line(const std::vector<Axle>& axles, std::size_t first, std::size_t last, double weight_n,
                       double cg_x_m) {
  double s0 = 0, s1 = 0;
  for (std::size_t i = first; i <= last; ++i) {
    s0 += axles[i].wheels;
    s1 += axles[i].wheels * axles[i].position_x_m;
  }
  const double mean = s1 / s0;
  double spread = 0;  // about the mean place, so that nothing cancels
  for (std::size_t i = first; i <= last; ++i) {
    spread += axles[i].wheels * std::pow(axles[i].position_x_m - mean, 2);
  }
  const double t = weight_n * (cg_x_m - mean) / spread;
  return {weight_n / s0 - t * mean, t};
}

}  // namespace

std::vector<double> level_axle_loads_n(const Vehicle& vehicle, double gravity_m_s2) {
  const Body body = loaded_body(vehicle);
  const std::vector<Axle>& axles = vehicle.axles;
  const double weight = body.mass_kg * gravity_m_s2;
  HARDPAN_ASSERT(axles.size() >= 2);
  HARDPAN_ASSERT(body.cg_x_m >= axles.front().position_x_m && body.cg_x_m <= axles.back().position_x_m);

  std::vector<double> loads(axles.size(), 0.0);
  const std::size_t count = axles.size();
  if (count == 2) {  // by moments
    loads[1] = weight * (body.cg_x_m - axles[0].position_x_m) / wheelbase_m(vehicle);
    loads[0] = weight * (axles[1].position_x_m - body.cg_x_m) / wheelbase_m(vehicle);
    return loads;
  }
  // Contact is where d + t x > 0, a half line: the loaded axles are all of them, or the first ones,
  // or the last ones. The energy is convex, so the one consistent choice is the answer. An axle that
  // just touches may come out at some 1e-16 of the weight on either side; 1e-12 accepts it.
  const double rounding = 1e-12 * weight;
  const auto try_axles = [&](std::size_t first, std::size_t last) {
    const SpringLine line = spring_line(axles, first, last, weight, body.cg_x_m);
    for (std::size_t i = 0; i < count; ++i) {
      const double load = line.load(axles[i].position_x_m);
      const bool loaded = i >= first && i <= last;
      if (!(loaded ? load >= -rounding : load <= rounding)) return false;
    }
    for (std::size_t i = first; i <= last; ++i) {
      loads[i] = axles[i].wheels * std::max(0.0, line.load(axles[i].position_x_m));
    }
    return true;
  };
  for (std::size_t used = count; used >= 2; --used) {
    if (try_axles(0, used - 1) || try_axles(count - used, count - 1)) return loads;
  }
  HARDPAN_ASSERT(!"no set of loaded axles is consistent");
  return loads;
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
