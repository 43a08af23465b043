// SPDX-License-Identifier: Apache-2.0
// What can be varied and asked in a study: names, units, what depends on what, and the vehicle with one thing changed.
#include "performance/study.hpp"

namespace hardpan::performance {

const char* name(Varied what) {
  switch (what) {
    case Varied::wheel_diameter: return "wheel diameter";
    case Varied::wheel_width: return "wheel width";
    case Varied::wheel_stiffness: return "wheel stiffness";
    case Varied::mass: return "mass";
    case Varied::slip: return "slip";
    case Varied::speed: return "speed";
  }
  return "";
}

const char* unit(Varied what) {
  switch (what) {
    case Varied::wheel_diameter:
    case Varied::wheel_width: return "m";
    case Varied::wheel_stiffness: return "N/m";
    case Varied::mass: return "kg";
    case Varied::slip: return "1";
    case Varied::speed: return "m/s";
  }
  return "";
}

std::optional<Varied> varied_by_name(std::string_view text) {
  for (const Varied v : kVaried) {
    if (text == name(v)) return v;
  }
  return std::nullopt;
}

const char* name(Studied quantity) {
  switch (quantity) {
    case Studied::gradient_at_slip: return "maximum gradient at the working slip";
    case Studied::gradient_maximum: return "maximum gradient over slip";
    case Studied::pull_at_slip: return "pull coefficient at the working slip";
    case Studied::energy_level: return "energy per distance on the level";
    case Studied::ride_margin: return "ride margin";
  }
  return "";
}

const char* unit(Studied quantity) {
  switch (quantity) {
    case Studied::gradient_at_slip:
    case Studied::gradient_maximum: return "rad";
    case Studied::pull_at_slip:
    case Studied::ride_margin: return "1";
    case Studied::energy_level: return "J/m";
  }
  return "";
}

units::Dimension dimension(Varied what) {
  switch (what) {
    case Varied::wheel_diameter:
    case Varied::wheel_width: return units::Dimension::length;
    case Varied::wheel_stiffness: return units::Dimension::stiffness;
    case Varied::mass: return units::Dimension::mass;
    case Varied::slip: return units::Dimension::none;
    case Varied::speed: return units::Dimension::speed;
  }
  return units::Dimension::none;
}

units::Dimension dimension(Studied quantity) {
  switch (quantity) {
    case Studied::gradient_at_slip:
    case Studied::gradient_maximum: return units::Dimension::angle;
    case Studied::pull_at_slip:
    case Studied::ride_margin: return units::Dimension::none;
    case Studied::energy_level: return units::Dimension::energy_per_distance;
  }
  return units::Dimension::none;
}

bool more_is_better(Studied quantity) { return quantity != Studied::energy_level; }

bool depends(Studied quantity, Varied what) {
  switch (quantity) {
    case Studied::gradient_at_slip: return true;
    case Studied::gradient_maximum: return what != Varied::slip;
    case Studied::pull_at_slip: return what != Varied::speed;
    case Studied::energy_level: return what != Varied::slip;                                     // travel finds its own
    case Studied::ride_margin: return what != Varied::slip && what != Varied::wheel_width;
  }
  return true;
}

vehicle::Vehicle with(vehicle::Vehicle v, Varied what, double x) {
  switch (what) {
    case Varied::wheel_diameter: {
      // The body is lifted by the change at its axles: the mean where wheels differed.
      double lift = 0;
      for (const vehicle::Axle& a : v.axles) lift += (0.5 * x - a.wheel.radius_m) / static_cast<double>(v.axles.size());
      for (vehicle::Axle& a : v.axles) {
        a.wheel.radius_m = 0.5 * x;
        a.wheel.rolling_radius_m.reset();   // measured on another wheel
        a.wheel.loaded_radius_m.reset();
      }
      for (vehicle::Body& b : v.bodies) {
        b.cg_z_m += lift;
        if (b.clearance_m) *b.clearance_m += lift;
        for (vehicle::UnderbodyPoint& p : b.underbody) p.z_m += lift;
      }
      for (vehicle::Joint& j : v.joints) j.z_m += lift;
      for (vehicle::Payload& p : v.payload) p.z_m += lift;
      if (v.hitch) v.hitch->height_m += lift;
      break;
    }
    case Varied::wheel_width:
      for (vehicle::Axle& a : v.axles) {
        a.wheel.width_m = x;
        a.wheel.contact_width_m.reset();
      }
      break;
    case Varied::wheel_stiffness:
      for (vehicle::Axle& a : v.axles) {
        vehicle::Flex flex = a.wheel.flex.value_or(vehicle::Flex{});
        flex.load_deflection.clear();
        flex.stiffness_n_per_m = x;
        a.wheel.flex = flex;
        a.wheel.rolling_radius_m.reset();
        a.wheel.loaded_radius_m.reset();
      }
      break;
    case Varied::mass: {
      const double ratio = x / vehicle::mass_kg(v);
      for (vehicle::Body& b : v.bodies) {
        b.mass_kg *= ratio;
        if (b.pitch_inertia_kg_m2) *b.pitch_inertia_kg_m2 *= ratio;
      }
      for (vehicle::Payload& p : v.payload) p.mass_kg *= ratio;
      break;
    }
    case Varied::slip:
    case Varied::speed: break;
  }
  v.scales.clear();                          // of the vehicle as it was weighed
  v.tilted.reset();
  return v;
}

}  // namespace hardpan::performance
