// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "contact/wheel_soil.hpp"

namespace hardpan::contact {
namespace {

using soil::ShearLaw;
using soil::SlipSinkage;

class Refusals {
 public:
  Refusals(const base::Place& place, base::Problems& problems) : place_(place), problems_(problems) {}
  void refuse(std::string what, std::string remedy, std::string value = {}, std::string bound = {}) {
    problems_.refuse({.place = place_, .what = std::move(what), .value = std::move(value), .bound = std::move(bound),
                      .remedy = std::move(remedy)});
    any_ = true;
  }
  void remark(std::string what, std::string remedy) {
    problems_.remark({.place = place_, .what = std::move(what), .remedy = std::move(remedy)});
  }
  [[nodiscard]] bool any() const { return any_; }

 private:
  const base::Place& place_;
  base::Problems& problems_;
  bool any_ = false;
};

void set_bearing(const soil::Soil& soil, Contact& contact, Refusals& refusals) {
  if (!soil.bearing) {
    refusals.refuse("the soil has no pressure-sinkage relation", "give n and the moduli of a plate test or of a published soil");
    return;
  }
  const std::optional<soil::DepthLaw> law = soil::depth_law(*soil.bearing, contact.pressure_width_m);
  if (!law || !(law->k > 0 || law->quadratic > 0)) {
    refusals.refuse("the pressure-sinkage modulus is not positive at this width",
                    "use moduli from plates nearer to this width, or another wheel width",
                    fmt::format("b = {:.4g} m", contact.pressure_width_m), "kc/b + kphi > 0");
    return;
  }
  contact.law = *law;
}

void set_shear(const soil::Soil& soil, Contact& contact, Refusals& refusals) {
  if (!soil.shear) {
    refusals.refuse("the soil has no shear strength", "give c, phi and K of a shear test or of a published soil");
    return;
  }
  const soil::Shear& shear = *soil.shear;
  if (!shear.shear_modulus_m) {
    refusals.refuse("the soil has no shear displacement modulus K, and there is no default for it",
                    "give K (--K '2.5 cm', or shear_modulus in the soil file)");
    return;
  }
  contact.cohesion_pa = shear.cohesion_pa;
  contact.tan_phi = shear.tan_phi;
  contact.shear_modulus_m = *shear.shear_modulus_m * soil.wheel_k_ratio;
  if (!(contact.shear_modulus_m > 0)) {
    refusals.refuse("K under the wheel is not positive", "give a positive K and K ratio",
                    fmt::format("{:.4g} m", contact.shear_modulus_m), "> 0");
  }
  if (shear.law == ShearLaw::peak_residual) {  // Wong 1983
    const double share = shear.residual_ratio;
    contact.mobilised_m0 = share;
    contact.mobilised_m1 = share * std::numbers::e * (1 / (share * (1 - 1 / std::numbers::e)) - 1);
  } else if (shear.law == ShearLaw::hump) {
    contact.mobilised_m0 = 0;
    contact.mobilised_m2 = std::numbers::e;
  }
}

// Smooth metal against the soil. Between lugs the shear surface runs through soil over the length of the
// passive wedge a lug pushes, h sqrt(Kp) (Rankine), and on metal over the rest of the lug spacing: the
// strengths are blended by these shares. With lugs nearer than that the metal does not act at all.
void set_interface(const vehicle::Wheel& wheel, const soil::Soil& soil, Contact& contact) {
  if (!soil.smooth_metal) return;
  double soil_share = 0;
  if (wheel.grouser_height_m > 0 && wheel.grouser_count > 0) {
    const double spacing = 2 * std::numbers::pi * contact.shearing_radius_m / wheel.grouser_count;
    const double t = contact.tan_phi;
    const double wedge = wheel.grouser_height_m * (std::sqrt(1 + t * t) + t);  // sqrt(Kp) = 1/cos phi + tan phi
    soil_share = std::min(1.0, wedge / spacing);
  }
  if (soil_share >= 1) return;
  contact.interface_acts = true;
  contact.interface_cohesion_pa = soil_share * contact.cohesion_pa + (1 - soil_share) * soil.smooth_metal->adhesion_pa;
  contact.interface_tan = soil_share * contact.tan_phi + (1 - soil_share) * soil.smooth_metal->tan_delta;
}

void set_peak_place(const soil::Soil& soil, Contact& contact, Refusals& refusals) {
  if (soil.c1.has_value() != soil.c2.has_value()) {
    refusals.refuse("one of c1 and c2 is missing", "give both or neither");
  }
  if (soil.c1_braking.has_value() != soil.c2_braking.has_value()) {
    refusals.refuse("one of c1 and c2 for braking is missing", "give both or neither");
  }
  contact.c1 = soil.c1.value_or(soil::kAssumedC1);
  contact.c2 = soil.c2.value_or(soil::kAssumedC2);
  if (!soil.c1 && !soil.c2) contact.notes |= Flag::c1_c2_assumed;
  contact.c1_braking = soil.c1_braking.value_or(contact.c1);
  contact.c2_braking = soil.c2_braking.value_or(contact.c2);
  if (!soil.c1_braking) contact.notes |= Flag::braking_c1_c2_as_driving;  // told for braking answers only
  const double most = std::max(contact.c1 + contact.c2, contact.c1_braking + contact.c2_braking);
  if (!(most <= 1)) {
    refusals.refuse("the place of the largest normal stress would pass the entry angle", "choose c1 + c2 up to 1",
                    fmt::format("c1 + c2 = {:.4g}", most), "<= 1");
  }
}

void set_exit(const soil::Soil& soil, ExitRule rule, Contact& contact, Refusals& refusals) {
  const bool by_ratio = rule == ExitRule::ratio || (rule == ExitRule::as_known && soil.exit_ratio);
  const bool by_rebound = rule == ExitRule::rebound || (rule == ExitRule::as_known && !soil.exit_ratio && soil.reload);
  if (by_ratio) {
    if (!soil.exit_ratio) {
      refusals.refuse("the soil has no exit ratio", "give the exit ratio c3, or leave the wheel under the axle");
      return;
    }
    contact.exit_ratio = *soil.exit_ratio;
    if (rule == ExitRule::as_known && soil.reload) {
      refusals.remark("the soil states an exit ratio and a rebound stiffness; the exit ratio is used", "choose one");
    }
  }
  if (by_rebound) {
    if (!soil.reload) {
      refusals.refuse("the soil has no unloading stiffness", "give k0 and Au of unload-reload loops, or leave the wheel under the axle");
      return;
    }
    contact.rebounds = true;
    contact.rebound_k0_pa_per_m = soil.reload->k0_pa_per_m;
    contact.rebound_au_pa_per_m2 = soil.reload->au_pa_per_m2;
  }
}

void set_slip_sinkage(const soil::Soil& soil, SlipSinkage rule, Contact& contact, Refusals& refusals) {
  contact.slip_sinkage = rule;
  if (rule != SlipSinkage::exponent) return;
  if (!soil.slip_exponent) {
    refusals.refuse("slip sinkage by exponent needs n1 of n = n0 + n1 |s|", "give n1, or use the stretch rule, which needs no number");
    return;
  }
  if (soil.bearing && soil.bearing->law == soil::PressureLaw::muskeg) {
    refusals.refuse("an organic mat has no exponent for slip sinkage to act on", "use the stretch rule");
  }
  contact.slip_exponent = *soil.slip_exponent;
}

void set_flexibility(const vehicle::Wheel& wheel, Contact& contact, Refusals& refusals) {
  if (!wheel.flex) return;
  const vehicle::Flex& flex = *wheel.flex;
  contact.flexible = true;
  contact.hysteresis_share = flex.hysteresis_share;
  if (flex.stiffness_n_per_m) {
    contact.stiffness_n_per_m = *flex.stiffness_n_per_m;
    if (!(contact.stiffness_n_per_m > 0)) {
      refusals.refuse("the radial stiffness is not positive", "give the stiffness at the tested inflation pressure",
                      fmt::format("{:.4g} N/m", contact.stiffness_n_per_m), "> 0");
    }
  } else if (flex.load_deflection.size() < 2) {
    refusals.refuse("a flexible wheel needs its radial stiffness or a load-deflection table", "give stiffness, or two rows or more");
  } else if (flex.load_deflection.size() > kDeflectionRows) {
    refusals.refuse("the load-deflection table is too long", "thin it out",
                    fmt::format("{} rows", flex.load_deflection.size()), fmt::format("<= {}", kDeflectionRows));
  } else {
    contact.deflection_rows = flex.load_deflection.size();
    for (std::size_t i = 0; i < contact.deflection_rows; ++i) {
      contact.deflection_load_n[i] = flex.load_deflection[i].first;
      contact.deflection_m[i] = flex.load_deflection[i].second;
    }
  }
  contact.torque_radius_m = wheel.rolling_radius_m.value_or(0);
  if (!wheel.rolling_radius_m) contact.notes |= Flag::rolling_radius_assumed;
}

}  // namespace

std::optional<Contact> make_contact(const vehicle::Wheel& wheel, const soil::Soil& soil, const ContactOptions& options,
                                    const base::Place& place, base::Problems& problems) {
  Refusals refusals(place, problems);
  Contact contact;
  contact.radius_m = wheel.radius_m;
  contact.width_m = wheel.contact_width_m.value_or(wheel.width_m);
  contact.pressure_width_m = options.pressure_width_m.value_or(contact.width_m);
  contact.grouser_height_m = wheel.grouser_height_m;
  contact.shearing_radius_m = wheel.radius_m + wheel.grouser_height_m;
  contact.torque_radius_m = contact.shearing_radius_m;
  if (!(contact.radius_m > 0) || !(contact.width_m > 0) || !(contact.grouser_height_m >= 0)) {
    refusals.refuse("the wheel has no radius or no width", "give radius and width in metres",
                    fmt::format("r = {:.4g} m, b = {:.4g} m", contact.radius_m, contact.width_m), "> 0");
    return std::nullopt;
  }
  set_bearing(soil, contact, refusals);
  set_shear(soil, contact, refusals);
  set_interface(wheel, soil, contact);
  set_peak_place(soil, contact, refusals);
  set_exit(soil, options.exit, contact, refusals);
  set_slip_sinkage(soil, options.slip_sinkage, contact, refusals);
  set_flexibility(wheel, contact, refusals);

  if (soil.density_kg_m3 && options.gravity_m_s2) contact.unit_weight_n_m3 = *soil.density_kg_m3 * *options.gravity_m_s2;
  if (options.side_slip && !soil.density_kg_m3) {
    refusals.refuse("the side wall of a wheel at a slip angle needs the density of the soil", "give the bulk density");
  }
  if (options.side_slip && !options.gravity_m_s2) {
    refusals.refuse("the side wall of a wheel at a slip angle needs the local gravity", "give gravity");
  }
  contact.surface_friction = soil.surface_friction.value_or(-1.0);

  contact.largest_sinkage_m = contact.radius_m;
  if (options.belly_clearance_m) {
    if (!(*options.belly_clearance_m > 0)) {
      refusals.refuse("the belly stands on the ground before the wheel sinks", "raise the clearance",
                      fmt::format("{:.4g} m", *options.belly_clearance_m), "> 0");
    } else if (*options.belly_clearance_m < contact.radius_m) {
      contact.largest_sinkage_m = *options.belly_clearance_m;
      contact.belly_limits = true;
    }
  }
  if (refusals.any()) return std::nullopt;
  return contact;
}

Contact rigid_twin(const Contact& contact) {
  Contact twin = contact;
  twin.flexible = false;
  twin.torque_radius_m = twin.shearing_radius_m;
  twin.hysteresis_share = 0;
  return twin;
}

std::optional<vehicle::Wheel> packed_wheel(const vehicle::Wheel& wheel) {
  if (!(wheel.grouser_height_m > 0)) return std::nullopt;
  vehicle::Wheel packed = wheel;
  packed.radius_m += wheel.grouser_height_m;
  packed.grouser_height_m = 0;
  packed.grouser_count = 0;
  return packed;
}

}  // namespace hardpan::contact
