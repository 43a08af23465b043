// SPDX-License-Identifier: Apache-2.0
// Sources: Reece's relation carries gamma, hence gravity [Reece1965]; reduced-gravity wheel tests [Kobayashi2010]; granular scaling
// [Slonaker2017] (relations from memory, consistent with dimensional analysis). Differs from the sources in: nothing is fitted to them.
#include "performance/gravity_transfer.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace hardpan::performance {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();
constexpr double kLeastGravity = 1e-3, kMostGravity = 100;

base::Place at(base::Place place, const char* key) {
  place.key += (place.key.empty() ? "" : ".") + std::string(key);
  return place;
}

bool check_change(const GravityChange& change, const base::Place& place, base::Problems& problems) {
  bool good = true;
  for (const auto& [key, g] : {std::pair{"from", change.from_m_s2}, {"to", change.to_m_s2}}) {
    if (g >= kLeastGravity && g <= kMostGravity) continue;
    problems.refuse({.place = at(place, key), .what = "not a gravity a vehicle stands under", .value = fmt::format("{:g} m/s^2", g),
                     .bound = fmt::format("{:g} to {:g} m/s^2", kLeastGravity, kMostGravity)});
    good = false;
  }
  return good;
}

struct Weighed {
  double mass_kg = 0, gravity_m_s2 = 0, cg_z_m = 0;
  bool ground_there = false;
};

// c A / (c A + W tan phi) over all wheels, A width times horizontal contact length.
double cohesion_share(const Machine& m, const State& s) {
  if (!s.balanced()) return kNaN;
  double cohesive = 0, frictional = 0;
  for (std::size_t i = 0; i < s.axles; ++i) {
    const AxleOnSoil& a = m.axle[i];
    cohesive += a.wheels * a.contact.cohesion_pa * a.contact.width_m * s.wheel[i].contact_length_m;
    frictional += a.wheels * s.wheel[i].load_n * a.contact.tan_phi;
  }
  return cohesive / (cohesive + frictional);
}

TransferCurve curve_of(GravityTrial trial, const OnSoil& on, const Weighed& w, const TransferQuestion& q, Workspace& space) {
  TransferCurve c{.trial = trial, .mass_kg = w.mass_kg, .weight_n = on.plain.weight_n, .gravity_m_s2 = w.gravity_m_s2};
  const std::span<const OnSoil> one{&on, 1};
  for (const double slip : q.slips) {
    TransferPoint p{.slip_ratio = slip, .pull_coefficient = kNaN, .sinkage_m = kNaN, .gradient_rad = kNoGradient};
    State s;
    states_at_slip(one, slip, 0, {&s, 1}, space);
    p.status = s.status;
    p.solve = s.solve;
    if (s.balanced()) {
      p.pull_coefficient = s.hitch_pull_n / on.plain.weight_n;
      p.sinkage_m = s.deepest_m();
    }
    Rung r;
    rungs(one, slip, {&r, 1}, space);
    if (r.lost) p.gradient_rad = kNaN;
    else if (r.balanced) p.gradient_rad = r.gradient_rad;
    c.points.push_back(p);
  }
  gradients_at_slip(one, q.working_slip, {&c.at_working, 1}, space);
  maximum_gradients(one, {&c.at_maximum, 1}, space);
  towed_resistance_coefficients(one, {&c.towed_resistance, 1}, space);
  State s;
  states_at_slip(one, q.working_slip, 0, {&s, 1}, space);
  c.cohesion_share = cohesion_share(on.plain, s);
  return c;
}

// Vertical stiffness under the body, soil left out: wheels and springs in series. Infinite for rigid wheels without springs.
double vertical_stiffness_n_per_m(const vehicle::Vehicle& v, double weight_n) {
  double sum = 0;
  const double each = weight_n / vehicle::wheel_count(v);
  for (const vehicle::Axle& a : v.axles) {
    double compliance = a.suspension_n_per_m ? 1 / *a.suspension_n_per_m : 0;
    if (a.wheel.flex) {
      if (a.wheel.flex->stiffness_n_per_m) {
        compliance += 1 / *a.wheel.flex->stiffness_n_per_m;
      } else if (const auto f = vehicle::deflection_m(*a.wheel.flex, each)) {
        compliance += *f / each;  // secant
      }
    }
    sum += a.wheels / compliance;
  }
  return sum;
}

double mean_deflection_m(const vehicle::Vehicle& v, double weight_n) {
  double sum = 0;
  const double each = weight_n / vehicle::wheel_count(v);
  for (const vehicle::Axle& a : v.axles) {
    if (!a.wheel.flex) continue;
    const auto f = vehicle::deflection_m(*a.wheel.flex, each);
    if (!f) return kNaN;
    sum += a.wheels * *f;
  }
  return sum / vehicle::wheel_count(v);
}

// Why towed resistance over weight changes as it does under the true mass, by what pushes it that way and what the other way.
std::string why_towed(double change, double load_ratio, double stiffness_ratio) {
  constexpr double kNone = 1e-6;
  const bool lighter = load_ratio < 1 - kNone, heavier = load_ratio > 1 + kNone, softer = stiffness_ratio < 1 - kNone, stiffer = stiffness_ratio > 1 + kNone;
  if (std::abs(change) < kNone) return lighter || heavier || softer || stiffer ? "load and stiffness of the ground make up for each other" : "same load, same ground";
  const bool rises = change > 0, by_load = rises ? heavier : lighter, by_ground = rises ? softer : stiffer;
  const bool against_load = rises ? lighter : heavier, against_ground = rises ? stiffer : softer;
  if (!by_load && !by_ground) return "follows load and stiffness of the ground";
  std::string out = rises ? "deeper ruts" : "shallower ruts";
  if (by_load) out += rises ? " under a heavier load" : " under a lighter load";
  if (by_ground) out += rises ? (by_load ? " and in softer ground" : " in ground made softer by less gravity") : (by_load ? " and in stiffer ground" : " in ground made stiffer by more gravity");
  if (against_load) out += rises ? ", although the load is lighter" : ", although the load is heavier";
  if (against_ground) out += rises ? ", although the ground is stiffer" : ", although the ground is softer";
  return out;
}

std::vector<TransferLine> lines_of(const vehicle::Vehicle& v, const GravityTransfer& t, double cg_here_m) {
  const TransferCurve &here = t.of(GravityTrial::as_tested), &equal = t.of(GravityTrial::target_equal_weight), &there = t.of(GravityTrial::target);
  std::vector<TransferLine> out;
  const auto line = [&](const char* quantity, const char* unit, double a, double b, double c, bool carries, std::string why) {
    out.push_back({quantity, unit, a, b, c, carries, std::move(why)});
  };
  const double wheels = vehicle::wheel_count(v);
  double area = 0;
  for (const vehicle::Axle& a : v.axles) area += a.wheels * a.wheel.width_m * a.wheel.radius_m;
  line("weight", "N", here.weight_n, equal.weight_n, there.weight_n, true, "equal by choice of the mass");
  line("mean wheel load", "N", here.weight_n / wheels, equal.weight_n / wheels, there.weight_n / wheels, true, "standing still, with the centre of gravity in place");
  line("nominal ground pressure W / (n b r)", "Pa", here.weight_n / area, equal.weight_n / area, there.weight_n / area, true, "load over a fixed area");
  const double f_here = mean_deflection_m(v, here.weight_n), f_equal = mean_deflection_m(v, equal.weight_n), f_there = mean_deflection_m(v, there.weight_n);
  if (f_here > 0) line("mean deflection of the wheels", "m", f_here, f_equal, f_there, true, "spring under a standing load; gas in a tyre and its temperature are not in it");
  line("mass (inertia)", "kg", here.mass_kg, equal.mass_kg, there.mass_kg, false, "the mass is another: starting, bumps and collisions follow it");
  line("braking distance at one speed and one braking coefficient, over that as tested", "1", 1, here.gravity_m_s2 / equal.gravity_m_s2, here.gravity_m_s2 / there.gravity_m_s2, false, "v^2 / (2 mu g): grows as gravity falls");
  const double k_here = vertical_stiffness_n_per_m(v, here.weight_n), k_equal = vertical_stiffness_n_per_m(v, equal.weight_n), k_there = vertical_stiffness_n_per_m(v, there.weight_n);
  if (std::isfinite(k_here)) {
    const auto bounce = [](double k, double m) { return std::sqrt(k / m) / (2 * std::numbers::pi); };
    line("bounce frequency", "Hz", bounce(k_here, here.mass_kg), bounce(k_equal, equal.mass_kg), bounce(k_there, there.mass_kg), false, "same springs under another mass; the ground's own yielding left out");
  }
  line("speed at which wheels leave a given wave, over that as tested", "1", 1, std::sqrt(equal.gravity_m_s2 / here.gravity_m_s2), std::sqrt(there.gravity_m_s2 / here.gravity_m_s2), false, "goes as the root of gravity");
  // What is added or taken off moves it; predictions hold it where nobody says how.
  const bool moved = t.payload_kg != 0;
  line("height of the centre of gravity", "m", cg_here_m, t.cg_height_with_payload_m ? *t.cg_height_with_payload_m : moved ? kNaN : cg_here_m, cg_here_m, !moved,
       t.cg_height_with_payload_m ? "the payload is at another height" : t.payload_kg > 0 ? "as heavy, the payload moves it, and its height is not stated: predictions hold it"
                                                                       : moved ? "as heavy, what is taken off moves it, and its height is not stated: predictions hold it" : "nothing is added");
  line("share of cohesion in the strength under the wheels", "1", here.cohesion_share, equal.cohesion_share, there.cohesion_share, false, "c A against W tan phi: load, and the area that the ground's stiffness leaves");
  line("frictional stiffness of the ground, over that as tested", "1", 1, t.there.frictional_modulus_ratio, t.there.frictional_modulus_ratio, false,
       t.there.known == SelfWeight::by_relation ? "gamma b k2 goes with gravity (Reece)" : t.there.known == SelfWeight::stated_share ? "by the stated share of kphi from self-weight, an assumption" : name(t.there.known));
  const auto gradient = [](const TransferCurve& c) { return c.at_working.factor == LimitingFactor::not_converged ? kNaN : c.at_working.gradient_rad; };
  line("gradient at the working slip", "rad", gradient(here), gradient(equal), gradient(there), false, "computed, with the ground of each place");
  const auto steepest = [](const TransferCurve& c) { return c.at_maximum.factor == LimitingFactor::not_converged ? kNaN : c.at_maximum.gradient_rad; };
  line("largest gradient over slip", "rad", steepest(here), steepest(equal), steepest(there), false, "likewise");
  line("towed resistance over weight", "1", here.towed_resistance, equal.towed_resistance, there.towed_resistance, false,
       why_towed(there.towed_resistance - here.towed_resistance, there.weight_n / here.weight_n, t.there.frictional_modulus_ratio));
  return out;
}

}  // namespace

const char* name(SelfWeight known) {
  switch (known) {
    case SelfWeight::by_relation: return "gamma b k2 scales with gravity (Reece)";
    case SelfWeight::stated_share: return "a stated share of kphi scales with gravity (assumed)";
    case SelfWeight::unknown: return "share of self-weight unknown: stiffness held as measured, which flatters lower gravity";
    case SelfWeight::none: return "organic mat: not carried by self-weight, held as measured";
  }
  return "";
}

const char* name(GravityTrial trial) {
  switch (trial) {
    case GravityTrial::as_tested: return "as tested";
    case GravityTrial::equal_weight_test: return "equal-weight test of the target";
    case GravityTrial::target: return "target, true mass";
    case GravityTrial::target_equal_weight: return "target, weighing as the tested vehicle";
  }
  return "";
}

std::optional<SoilElsewhere> soil_at_gravity(const soil::Soil& soil, const GravityChange& change, std::optional<double> share_of_kphi, const base::Place& place, base::Problems& problems) {
  bool good = check_change(change, place, problems);
  SoilElsewhere out{.soil = soil};
  if (!soil.bearing) {
    problems.refuse({.place = at(place, "bearing"), .what = "the soil has no pressure-sinkage relation", .remedy = "measure one, or take a soil that has"});
    return std::nullopt;
  }
  const bool wants_share = soil.bearing->law == soil::PressureLaw::bekker || soil.bearing->law == soil::PressureLaw::single_plate;
  if (share_of_kphi) {
    if (!(*share_of_kphi >= 0 && *share_of_kphi <= 1)) {
      problems.refuse({.place = at(place, "self_weight_share"), .what = "a share lies between 0 and 1", .value = fmt::format("{:g}", *share_of_kphi), .bound = "0 to 1"});
      good = false;
    } else if (!wants_share) {
      problems.refuse({.place = at(place, "self_weight_share"), .what = soil.bearing->law == soil::PressureLaw::reece ? "Reece's relation tells the share itself" : "an organic mat is not carried by self-weight",
                       .value = fmt::format("{:g}", *share_of_kphi), .remedy = "leave it out"});
      good = false;
    }
  }
  if (!good) return std::nullopt;
  const double q = change.ratio();
  double& modulus = soil.bearing->law == soil::PressureLaw::single_plate ? out.soil.bearing->first_modulus : out.soil.bearing->second_modulus;
  switch (soil.bearing->law) {
    case soil::PressureLaw::reece:
      out.known = SelfWeight::by_relation;
      out.frictional_modulus_ratio = q;
      break;
    case soil::PressureLaw::bekker:
    case soil::PressureLaw::single_plate:
      out.known = share_of_kphi ? SelfWeight::stated_share : SelfWeight::unknown;
      if (share_of_kphi) out.frictional_modulus_ratio = 1 - *share_of_kphi + *share_of_kphi * q;
      break;
    case soil::PressureLaw::muskeg: out.known = SelfWeight::none; break;
  }
  modulus *= out.frictional_modulus_ratio;
  return out;
}

OnSoil with_weight(OnSoil on, double weight_n) {
  const auto weigh = [&](Machine& m) {
    for (Machine::Part& p : m.part) p.weight_n *= weight_n / m.weight_n;
    m.weight_n = weight_n;
  };
  weigh(on.plain);
  if (on.sinking) weigh(*on.sinking);
  return on;
}

std::optional<GravityTransfer> gravity_transfer(const vehicle::Vehicle& vehicle, const soil::Soil& soil, const TransferQuestion& q, const base::Place& place, base::Problems& problems) {
  if (q.target_mass_kg && !(*q.target_mass_kg > 0 && *q.target_mass_kg < 1e9)) {
    problems.refuse({.place = at(place, "target_mass"), .what = "not a mass", .value = fmt::format("{:g} kg", *q.target_mass_kg), .bound = "above 0"});
  }
  if (q.payload_height_m && !(*q.payload_height_m >= 0 && *q.payload_height_m < 100)) {
    problems.refuse({.place = at(place, "payload_height"), .what = "not a height above the ground", .value = fmt::format("{:g} m", *q.payload_height_m), .bound = "0 to 100 m"});
  }
  for (const double slip : q.slips) {
    if (!(slip > 0 && slip <= 0.95)) problems.refuse({.place = at(place, "slip"), .what = "not a driving slip", .value = fmt::format("{:g}", slip), .bound = "above 0 to 0.95"});
  }
  if (!(q.working_slip > 0 && q.working_slip <= 0.95)) problems.refuse({.place = at(place, "slip"), .what = "not a working slip", .value = fmt::format("{:g}", q.working_slip), .bound = "above 0 to 0.95"});
  const auto there = soil_at_gravity(soil, q.change, q.share_of_kphi, place, problems);
  if (!there) return std::nullopt;
  const auto on_here = on_soil(vehicle, soil, q.change.from_m_s2, q.slip_sinkage, place, problems);
  const auto on_there = on_soil(vehicle, there->soil, q.change.to_m_s2, q.slip_sinkage, place, problems);
  if (!on_here || !on_there || problems.refused()) return std::nullopt;

  GravityTransfer t{.there = *there};
  const double mass = vehicle::mass_kg(vehicle), ratio = q.change.ratio();
  const double target_mass = q.target_mass_kg.value_or(mass), cg_z = on_here->plain.cg_z_m;
  t.equal_weight_mass_kg = mass / ratio;
  t.payload_kg = t.equal_weight_mass_kg - mass;
  t.test_mass_kg = target_mass * ratio;
  double cg_equal = cg_z;
  if (q.payload_height_m && t.payload_kg > 0) {
    cg_equal = (mass * cg_z + t.payload_kg * *q.payload_height_m) / t.equal_weight_mass_kg;
    t.cg_height_with_payload_m = cg_equal;
  }
  const auto weighed = [&](GravityTrial trial) -> Weighed {
    switch (trial) {
      case GravityTrial::as_tested: return {mass, q.change.from_m_s2, cg_z, false};
      case GravityTrial::equal_weight_test: return {t.test_mass_kg, q.change.from_m_s2, cg_z, false};
      case GravityTrial::target: return {target_mass, q.change.to_m_s2, cg_z, true};
      case GravityTrial::target_equal_weight: return {t.equal_weight_mass_kg, q.change.to_m_s2, cg_equal, true};
    }
    return {};
  };
  Workspace space;
  for (std::size_t k = 0; k < kGravityTrials; ++k) {
    const auto trial = static_cast<GravityTrial>(k);
    const Weighed w = weighed(trial);
    OnSoil on = with_weight(w.ground_there ? *on_there : *on_here, w.mass_kg * w.gravity_m_s2);
    const auto raise = [&](Machine& m) {
      for (Machine::Part& p : m.part) p.cg_z_m += w.cg_z_m - m.cg_z_m;
      m.cg_z_m = w.cg_z_m;
    };
    raise(on.plain);
    if (on.sinking) raise(*on.sinking);
    t.curves[k] = curve_of(trial, on, w, q, space);
  }
  const auto difference = [](const Gradient& test, const Gradient& target) {
    const bool both = test.factor != LimitingFactor::not_converged && target.factor != LimitingFactor::not_converged;
    return both ? test.gradient_rad - target.gradient_rad : kNaN;
  };
  const TransferCurve &test = t.of(GravityTrial::equal_weight_test), &target = t.of(GravityTrial::target);
  t.optimism_at_working_rad = difference(test.at_working, target.at_working);
  t.optimism_at_maximum_rad = difference(test.at_maximum, target.at_maximum);
  t.lines = lines_of(vehicle, t, cg_z);
  return t;
}

GranularScaling granular_scaling(double q, double r, double s) {
  return {.speed = std::sqrt(q * r), .rotation = std::sqrt(q / r), .time = std::sqrt(r / q), .force = s * q, .torque = s * q * r, .power = s * q * std::sqrt(q * r),
          .width = s / (r * r), .sinkage = r, .slip = 1, .cohesion = q * r, .shear_modulus = r};
}

}  // namespace hardpan::performance
