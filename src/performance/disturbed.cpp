// SPDX-License-Identifier: Apache-2.0
#include "performance/disturbed.hpp"

namespace hardpan::performance {
namespace {

double scaled(double stated, double centre, double possible) { return centre > 0 ? stated * possible / centre : stated; }

}  // namespace

DisturbedStrength about(const DisturbedStrength& stated, const soil::Soil& centre, const soil::Soil& possible) {
  DisturbedStrength out = stated;
  if (!centre.shear || !possible.shear) return out;
  if (out.cohesion_pa) out.cohesion_pa = scaled(*out.cohesion_pa, centre.shear->cohesion_pa, possible.shear->cohesion_pa);
  if (out.tan_phi) out.tan_phi = scaled(*out.tan_phi, centre.shear->tan_phi, possible.shear->tan_phi);
  if (out.shear_modulus_m) {
    const double k = scaled(*out.shear_modulus_m, centre.shear->shear_modulus_m.value_or(0), possible.shear->shear_modulus_m.value_or(0));
    out.shear_modulus_m = k * possible.wheel_k_ratio;
  }
  return out;
}

void disturb(contact::Contact& wheel, const DisturbedStrength& strength) {
  if (strength.cohesion_pa) wheel.cohesion_pa = *strength.cohesion_pa;
  if (strength.tan_phi) wheel.tan_phi = *strength.tan_phi;
  if (strength.shear_modulus_m) wheel.shear_modulus_m = *strength.shear_modulus_m;
}

void disturb_following(OnSoil& on, const DisturbedStrength& strength) {
  for (Machine* m : {&on.plain, on.sinking ? &*on.sinking : nullptr}) {
    if (!m || !m->rut) continue;
    for (std::size_t k = 0; k < m->axles; ++k) {
      AxleOnSoil& a = m->axle[k];
      if (a.path_of == kOwnPath) continue;
      if (a.path_share < 1) a.path_cohesion_pa = strength.cohesion_pa, a.path_tan_phi = strength.tan_phi, a.path_shear_modulus_m = strength.shear_modulus_m;
      else disturb(a.contact, strength);
    }
  }
}

}  // namespace hardpan::performance
