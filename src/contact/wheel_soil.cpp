// SPDX-License-Identifier: Apache-2.0
#include "contact/wheel_soil.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/assertion.hpp"
#include "contact/detail/answer.hpp"
#include "contact/detail/load_curve.hpp"

namespace hardpan::contact {
namespace detail {

std::optional<double> carcass_deflection_m(const Contact& contact, double load_n) {
  if (!contact.flexible) return 0.0;
  double f = 0;
  if (contact.deflection_rows == 0) {
    f = load_n / contact.stiffness_n_per_m;
  } else {
    const auto& loads = contact.deflection_load_n;
    std::size_t i = 1;
    while (i < contact.deflection_rows && loads[i] < load_n) ++i;
    if (i == contact.deflection_rows) return std::nullopt;
    const double share = (load_n - loads[i - 1]) / (loads[i] - loads[i - 1]);
    f = contact.deflection_m[i - 1] + share * (contact.deflection_m[i] - contact.deflection_m[i - 1]);
  }
  if (!(f < contact.largest_sinkage_m)) return std::nullopt;  // flat, or standing on its belly
  return f;
}

LoadCurve make_curve(const Contact& contact, double slip_ratio, double slip_angle_rad, double deflection_m) {
  LoadCurve curve;
  curve.frame = make_frame(contact, slip_ratio, slip_angle_rad, deflection_m);
  curve.plan = make_plan(contact, slip_ratio, slip_angle_rad);
  curve.width_m = contact.width_m;
  const double deepest = contact.largest_sinkage_m - deflection_m;
  curve.largest_angle = deepest < contact.radius_m ? 2 * std::asin(std::sqrt(0.5 * deepest / contact.radius_m))
                                                   : 0.5 * std::numbers::pi;
  return curve;
}

double torque_radius_m(const Contact& contact, double deflection_m) {
  if (!contact.flexible) return contact.shearing_radius_m;
  return contact.torque_radius_m > 0 ? contact.torque_radius_m : contact.shearing_radius_m - deflection_m / 3;
}

void fill_forces(const Contact& contact, const LoadCurve& curve, const Sums<double>& at, const Contour<double>& contour,
                 double slip_angle_rad, WheelAnswer& out) {
  const double area = contact.width_m * at.radius, f = curve.frame.deflection;
  const double c = contact.radius_m;
  out.sinkage_m = contour.depth;
  out.entry_angle_rad = at.entry;
  out.exit_angle_rad = at.exit;
  out.peak_stress_angle_rad = at.peak;
  out.radius_used_m = at.radius;
  out.torque_radius_m = torque_radius_m(contact, f);
  out.deflection_m = f;
  out.contact_length_m = contour.contact_length;
  out.ground_pressure_pa = out.load_n / (contact.width_m * out.contact_length_m);
  out.pull_n = area * at.pull;
  out.torque_n_m = out.torque_radius_m * area * at.shear;
  out.max_normal_stress_pa = contour.largest_pressure;
  // Shear by sliding velocity knows no travel.
  out.max_shear_travel_m = curve.plan.direction == Direction::sliding ? std::numeric_limits<double>::infinity()
                                                                     : contour.largest_travel;

  const bool sideways = slip_angle_rad != 0;
  out.side_force_n = 0;
  if (sideways) {
    double across = area * at.side;
    if (contact.unit_weight_n_m3 > 0) across += contour.side_wall;
    else out.flags |= Flag::side_wall_left_out;
    out.side_force_n = slip_angle_rad > 0 ? -across : across;
  }
  if (contact.flexible && contact.hysteresis_share > 0 && f > 0 && out.slip_ratio > -1) {
    const double firm_length = 2 * std::sqrt((2 * c - f) * f);
    out.flexing_resistance_n = contact.hysteresis_share * out.load_n * f / (2 * firm_length);
    out.torque_n_m += out.torque_radius_m * out.flexing_resistance_n;
    out.flags |= Flag::flexing_loss_counted;
  }
}

void set_flags(const Contact& contact, const LoadCurve& curve, double slip_ratio, WheelAnswer& out) {
  Flag known = contact.notes;
  const bool braking = slip_ratio < 0;
  Flag& flags = out.flags;
  if (has(known, Flag::c1_c2_assumed)) flags |= Flag::c1_c2_assumed;
  if (has(known, Flag::rolling_radius_assumed)) flags |= Flag::rolling_radius_assumed;
  if (braking && has(known, Flag::braking_c1_c2_as_driving)) flags |= Flag::braking_c1_c2_as_driving;
  const double c1 = braking ? contact.c1_braking : contact.c1, c2 = braking ? contact.c2_braking : contact.c2;
  if (c1 + c2 * std::fabs(slip_ratio) > kPeakRatioLimit) flags |= Flag::peak_stress_limit_acts;
  if (out.sinkage_m > 0.1 * 2 * contact.radius_m) flags |= Flag::deep_sinkage;
  if (contact.grouser_height_m > 0 && out.sinkage_m < contact.grouser_height_m) flags |= Flag::below_lug_height;
  if (out.radius_used_m * out.entry_angle_rad < contact.shear_modulus_m) flags |= Flag::contact_shorter_than_k;
  if (out.contact_length_m < contact.pressure_width_m) flags |= Flag::contact_shorter_than_wide;
  if (slip_ratio == -1) flags |= Flag::locked_wheel;
  if (contact.slip_sinkage != soil::SlipSinkage::none) flags |= Flag::slip_sinkage_on;
  if (curve.plan.direction == Direction::sliding) flags |= Flag::fully_mobilised;
  if (contact.interface_acts) {
    const double p = out.max_normal_stress_pa;
    const bool at_bottom = contact.interface_cohesion_pa + contact.interface_tan * p <
                           contact.cohesion_pa + contact.tan_phi * p;
    if (at_bottom || contact.interface_cohesion_pa < contact.cohesion_pa) flags |= Flag::smooth_metal_governs;
  }
}

WheelAnswer started_answer(double load_n, double slip_ratio, double slip_angle_rad) {
  WheelAnswer out;
  out.slip_ratio = slip_ratio;
  out.slip_angle_rad = slip_angle_rad;
  out.load_n = load_n;
  return out;
}

void assert_state(double load_n, double slip_ratio, double slip_angle_rad) {
  HARDPAN_ASSERT(load_n > 0);
  HARDPAN_ASSERT(slip_ratio >= -1 && slip_ratio <= 1);
  HARDPAN_ASSERT(std::fabs(slip_angle_rad) < 0.5 * std::numbers::pi);
}

void conclude(const Contact& contact, const LoadCurve& curve, const Root& root, const Contour<double>& contour,
              double slip_angle_rad, WheelAnswer& out) {
  out.solve = root.report;
  if (root.report.status == base::SolveStatus::no_solution) {
    out.status = contact.belly_limits ? WheelStatus::belly_contact : WheelStatus::bogs_down;
    out.deflection_m = curve.frame.deflection;
    out.largest_load_n = root.largest_load_n;
    out.sinkage_at_largest_load_m = contact.radius_m * (1 - std::cos(root.angle_at_largest));
    return;
  }
  if (!root.report.converged()) return;
  out.status = WheelStatus::carried;
  fill_forces(contact, curve, root.sums, contour, slip_angle_rad, out);
  set_flags(contact, curve, out.slip_ratio, out);
}

namespace {

WheelAnswer solve(const Contact& contact, const LoadCurve& curve, double guess, double slip_angle_rad, WheelAnswer out,
                  SimdTarget target = SimdTarget::plain) {
  const Root root = find_root(curve, out.load_n, guess, target);
  const bool found = root.report.converged();
  conclude(contact, curve, root, found ? contour_of(curve, root.undeflected) : Contour<double>{}, slip_angle_rad, out);
  return out;
}

}  // namespace

bool on_hard_ground(const Contact& contact, const WheelAnswer& out) {
  return out.status == WheelStatus::carried && !contact.flexible && has(out.flags, Flag::contact_shorter_than_k);
}

void treat_hard_ground(const Contact& contact, double slip_angle_rad, WheelAnswer& out) {
  if (contact.surface_friction < 0) {
    if (out.radius_used_m * out.entry_angle_rad < 0.1 * contact.shear_modulus_m) {
      out.status = WheelStatus::traction_lost_hard_ground;
    }
    return;
  }
  // Contact shorter than K on a rigid wheel, friction of the surface known: the sliding velocity of the lowest
  // point, the same all along so short a contact; none at s = 0, d = 0.
  Contact hard = contact;
  hard.cohesion_pa = 0;
  hard.tan_phi = contact.surface_friction;
  hard.interface_acts = false;
  hard.mobilised_m0 = 1;
  LoadCurve curve = make_curve(hard, out.slip_ratio, slip_angle_rad, 0);
  curve.plan.direction = Direction::sliding;
  curve.plan.shape = Shape::unknown;
  curve.frame.travel_a = out.slip_ratio;
  curve.frame.travel_b = 0;
  const WheelAnswer before = out;
  out = solve(hard, curve, 0, slip_angle_rad, started_answer(before.load_n, before.slip_ratio, before.slip_angle_rad));
  out.flags = out.flags | before.flags | Flag::hard_ground_friction_used;
}

WheelAnswer searched_wheel(const Contact& contact, double load_n, double slip_ratio, double slip_angle_rad,
                           double guess_entry_angle_rad, SimdTarget target) {
  assert_state(load_n, slip_ratio, slip_angle_rad);
  WheelAnswer out = started_answer(load_n, slip_ratio, slip_angle_rad);
  const std::optional<double> deflection = carcass_deflection_m(contact, load_n);
  if (!deflection) {
    out.status = WheelStatus::beyond_deflection_table;
    out.solve.status = base::SolveStatus::out_of_range;
    return out;
  }
  const LoadCurve curve = make_curve(contact, slip_ratio, slip_angle_rad, *deflection);
  out = solve(contact, curve, guess_entry_angle_rad, slip_angle_rad, out, target);
  if (contact.flexible && out.carried() && soil_yields_first(curve, load_n)) out.flags |= Flag::soil_yields_before_carcass;
  if (on_hard_ground(contact, out)) treat_hard_ground(contact, slip_angle_rad, out);
  return out;
}

}  // namespace detail

using namespace detail;

WheelAnswer wheel_at_load(const Contact& contact, double load_n, double slip_ratio, double slip_angle_rad,
                          double guess_entry_angle_rad) {
  return searched_wheel(contact, load_n, slip_ratio, slip_angle_rad, guess_entry_angle_rad, SimdTarget::plain);
}

WheelAnswer wheel_at_entry_angle(const Contact& contact, double entry_angle_rad, double slip_ratio, double slip_angle_rad) {
  assert_state(1, slip_ratio, slip_angle_rad);
  HARDPAN_ASSERT(entry_angle_rad > 0 && entry_angle_rad <= 0.5 * std::numbers::pi + 1e-12);
  WheelAnswer out = started_answer(kNoNumber, slip_ratio, slip_angle_rad);
  const auto carried_with = [&](double deflection, LoadCurve& curve) {
    curve = make_curve(contact, slip_ratio, slip_angle_rad, deflection);
    return curve.load_n(entry_angle_rad, rule_for(rule_count(curve, entry_angle_rad)));
  };
  LoadCurve curve;
  double load = carried_with(0, curve);
  out.solve = {.status = base::SolveStatus::converged, .residual = 0, .tolerance = 0, .residual_unit = "N"};
  if (contact.flexible && load > 0) {
    // The deflection that the carried load makes: load(f(W)) - W falls from positive to negative.
    const auto excess = [&](double w) {
      const std::optional<double> f = carcass_deflection_m(contact, w);
      ++out.solve.evaluations;
      return f ? carried_with(*f, curve) - w : -w;
    };
    double low = load, high = 2 * load;
    while (excess(high) > 0 && high < 1e12) { low = high; high *= 2; }
    for (int i = 0; i < 200 && high - low > 1e-13 * high; ++i) {
      ++out.solve.steps;
      const double middle = 0.5 * (low + high);
      (excess(middle) > 0 ? low : high) = middle;
    }
    load = low;
    const std::optional<double> f = carcass_deflection_m(contact, load);
    if (!f) {
      out.status = WheelStatus::beyond_deflection_table;
      out.solve.status = base::SolveStatus::out_of_range;
      return out;
    }
    out.solve.residual = carried_with(*f, curve) - load;
    out.solve.tolerance = 1e-10 * load;
    if (!(std::fabs(out.solve.residual) <= out.solve.tolerance)) {
      out.solve.status = base::SolveStatus::out_of_range;  // the table ends where the curve still rises
      out.status = WheelStatus::beyond_deflection_table;
      return out;
    }
  }
  const Sums<double> sums = curve.sums(entry_angle_rad, rule_for(rule_count(curve, entry_angle_rad)));
  out.load_n = contact.width_m * sums.radius * sums.load;
  out.status = WheelStatus::carried;
  fill_forces(contact, curve, sums, contour_of(curve, entry_angle_rad), slip_angle_rad, out);
  set_flags(contact, curve, slip_ratio, out);
  if (contact.flexible && out.load_n > 0 && soil_yields_first(curve, out.load_n)) out.flags |= Flag::soil_yields_before_carcass;
  return out;
}

WheelAnswer wheel_at_velocities(const Contact& contact, double load_n, double forward_m_s, double left_m_s,
                                double wheel_rad_s, double guess_entry_angle_rad, SimdTarget target) {
  HARDPAN_ASSERT(load_n > 0);
  // A wheel that moves backward is one that moves forward, seen from behind.
  const double seen = forward_m_s < 0 ? -1.0 : 1.0;
  const double v = seen * forward_m_s, rim = seen * wheel_rad_s * torque_radius_m(contact, 0);
  const double angle = std::atan2(left_m_s, v);
  const bool ordinary = rim >= 0 && std::max(rim, v) > 0;
  const double slip = ordinary ? (rim - v) / std::max(rim, v) : (rim < 0 ? -1.0 : 0.0);

  WheelAnswer out = started_answer(load_n, ordinary ? slip : kNoNumber, angle);
  const std::optional<double> deflection = carcass_deflection_m(contact, load_n);
  if (!deflection) {
    out.status = WheelStatus::beyond_deflection_table;
    out.solve.status = base::SolveStatus::out_of_range;
    return out;
  }
  LoadCurve curve = make_curve(contact, slip, 0, *deflection);
  curve.plan.direction = Direction::sliding;
  curve.plan.shape = Shape::unknown;
  curve.frame.travel_a = rim;
  curve.frame.travel_b = v;
  curve.frame.travel_side = std::fabs(left_m_s);
  out = solve(contact, curve, guess_entry_angle_rad, left_m_s, out, target);
  if (out.carried()) {
    out.pull_n *= seen;
    out.torque_n_m = seen * (out.torque_n_m - out.torque_radius_m * out.flexing_resistance_n) +
                     (wheel_rad_s < 0 ? -1 : wheel_rad_s > 0 ? 1 : 0) * out.torque_radius_m * out.flexing_resistance_n;
  }
  return out;
}

WheelPair wheel_with_and_without_slip_sinkage(const Contact& contact, double load_n, double slip_ratio, double slip_angle_rad) {
  Contact without = contact;
  without.slip_sinkage = soil::SlipSinkage::none;
  const WheelAnswer with_it = wheel_at_load(contact, load_n, slip_ratio, slip_angle_rad);
  const WheelAnswer without_it = wheel_at_load(without, load_n, slip_ratio, slip_angle_rad);
  // A wheel that bogs down pulls less than one that is carried.
  const bool with_leads = !with_it.carried() || (without_it.carried() && with_it.pull_n <= without_it.pull_n);
  return with_leads ? WheelPair{with_it, without_it} : WheelPair{without_it, with_it};
}

std::optional<Bulldozing> front_bulldozing(const Contact& contact, const WheelAnswer& answer) {
  if (!(contact.unit_weight_n_m3 > 0) || !answer.carried()) return std::nullopt;
  // Hegedus 1960, as recalled from Ishigami et al. 2007 (from memory): per unit width
  // D1 (c z + D2 gamma z^2 / 2), D1 = cot X + tan(X + phi), D2 = cot X + cot^2 X / cot phi, X = 45 deg - phi/2.
  const double phi = std::atan(contact.tan_phi), x = 0.25 * std::numbers::pi - 0.5 * phi;
  const double cot = 1 / std::tan(x);
  const double d1 = cot + std::tan(x + phi), d2 = cot + cot * cot * contact.tan_phi;
  const double z = answer.sinkage_m;
  Bulldozing out;
  out.resistance_n = contact.width_m * d1 * (contact.cohesion_pa * z + 0.5 * d2 * contact.unit_weight_n_m3 * z * z);
  out.counts = z > 0.1 * 2 * contact.radius_m;
  return out;
}

}  // namespace hardpan::contact
