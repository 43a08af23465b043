// SPDX-License-Identifier: Apache-2.0
// Linear vibration of a body on springs over harmonic ground, any textbook of vehicle dynamics. Weighting Wk: [ISO2631], filter corners from memory. Absorbed power: [Pradko1966].
// Notation: z, th heave and pitch of a part, A its acceleration along; u height of a wheel; s force of the suspension, f of the ground; C = 1 / (k + i w c) compliance; V, H forces of a
// joint upward and ahead on the part ahead of it, d its height above a part's centre of gravity.
#include "performance/roughness.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "math/quadrature.hpp"
#include "units/constants.hpp"
#include "vehicle/chain.hpp"

namespace hardpan::performance {
namespace {

using Complex = std::complex<double>;
constexpr double kPi = std::numbers::pi;
constexpr std::size_t kMostAxles = 8, kMostParts = vehicle::kMostBodies, kMostUnknowns = 3 * kMostParts + 2 * (kMostParts - 1) + 2 * kMostAxles;

struct System {
  std::size_t size = 0;
  std::array<std::array<Complex, kMostUnknowns + 1>, kMostUnknowns> row{};   // the last column is the right-hand side

  // Elimination with the largest pivot of the column; the answer stands in the right-hand side.
  void solve() {
    for (std::size_t k = 0; k < size; ++k) {
      std::size_t best = k;
      for (std::size_t i = k + 1; i < size; ++i) {
        if (std::norm(row[i][k]) > std::norm(row[best][k])) best = i;
      }
      std::swap(row[k], row[best]);
      for (std::size_t i = k + 1; i < size; ++i) {
        if (row[i][k] == 0.0) continue;
        const Complex share = row[i][k] / row[k][k];
        for (std::size_t j = k + 1; j < size; ++j) {
          if (row[k][j] != 0.0) row[i][j] -= share * row[k][j];
        }
        row[i][kMostUnknowns] -= share * row[k][kMostUnknowns];
      }
    }
    for (std::size_t k = size; k-- > 0;) {
      Complex& x = row[k][kMostUnknowns];
      for (std::size_t j = k + 1; j < size; ++j) x -= row[k][j] * row[j][kMostUnknowns];
      x /= row[k][k];
    }
  }
};

Complex compliance(double k, double c, double w) { return std::isinf(k) ? Complex(0) : 1.0 / Complex(k, w * c); }

// Tangent stiffness of one wheel under its load.
std::optional<double> tangent_n_per_m(const vehicle::Flex& flex, double load_n) {
  if (flex.stiffness_n_per_m) return *flex.stiffness_n_per_m;
  const auto lower = vehicle::deflection_m(flex, 0.99 * load_n), upper = vehicle::deflection_m(flex, 1.01 * load_n);
  if (!lower || !upper || !(*upper > *lower)) return std::nullopt;
  return 0.02 * load_n / (*upper - *lower);
}

struct Squares {
  std::array<double, kMostAxles> load_share{};   // mean squares of load over load at rest
  double acceleration = 0, weighted = 0;         // (m/s^2)^2
  double absorbed = 0;                           // W
};

Squares unit_squares(const RideVehicle& v, const RideQuestion& q, double n_per_m, double speed_m_s) {
  const double wave_number = 2 * kPi * n_per_m, w = wave_number * speed_m_s;
  const RideResponse r = response(v, wave_number, speed_m_s);
  Squares out;
  for (std::size_t i = 0; i < v.axles.size(); ++i) out.load_share[i] = std::norm(r.load_n[i] / v.axles[i].load_n);
  out.acceleration = w * w * w * w * std::norm(height_m(v, r, q.at_x_m));
  const double weight = weight_at(q.weighting, w / (2 * kPi));
  out.weighted = out.acceleration * weight * weight;
  out.absorbed = out.acceleration * absorbed_w_s4_per_m2(w / (2 * kPi));
  return out;
}

Squares operator+(Squares a, const Squares& b) {
  for (std::size_t i = 0; i < kMostAxles; ++i) a.load_share[i] += b.load_share[i];
  a.acceleration += b.acceleration;
  a.weighted += b.weighted;
  a.absorbed += b.absorbed;
  return a;
}
Squares operator*(double k, Squares a) {
  for (double& x : a.load_share) x *= k;
  a.acceleration *= k;
  a.weighted *= k;
  a.absorbed *= k;
  return a;
}

// Pieces of a band, even in its logarithm, with 16 nodes each: no piece wider than four times the half width of the sharpest resonance (1e-4 of the r.m.s. at 1 % damping, tested).
int pieces_of(const RideVehicle& v, double log_width) {
  double sharpest = 1;
  for (const RideAxle& a : v.axles) {
    if (a.damping_ratio > 0) sharpest = std::min(sharpest, a.damping_ratio);
  }
  return std::max(24, static_cast<int>(std::ceil(log_width / (4 * sharpest))));
}

Squares mean_squares(const RideVehicle& v, const GroundSpectrum& s, const RideQuestion& q, double speed_m_s) {
  Squares sum;
  for (const GroundSpectrum::Line& l : s.lines) sum = sum + l.variance_m2 * unit_squares(v, q, l.n_per_m, speed_m_s);
  if (!s.lines.empty()) return sum;
  const double lo = std::log(s.lowest_per_m), width = std::log(s.highest_per_m) - lo;
  const int pieces = pieces_of(v, width);
  const double step = width / pieces;
  for (int k = 0; k < pieces; ++k) {
    sum = sum + math::integrate_fixed<16>([&](double ln_n) {
            const double n = std::exp(ln_n);
            return n * s.density_m3(std::clamp(n, s.lowest_per_m, s.highest_per_m)) * unit_squares(v, q, n, speed_m_s);
          }, lo + k * step, lo + (k + 1) * step);
  }
  return sum;
}

// Bound over value at a speed: the limit is passed from 1 on.
double use_of(RideLimit kind, const RideQuestion& q, const RidePoint& p) {
  switch (kind) {
    case RideLimit::wheels_leave_ground: return p.load_share;
    case RideLimit::shock: return p.peak_m_s2 / *q.shock_m_s2;
    case RideLimit::ride: return p.weighted_rms_m_s2 / *q.ride_m_s2;
    case RideLimit::absorbed_power: return p.absorbed_power_w / *q.absorbed_power_w;
  }
  return 0;
}

// The part that each body belongs to.
std::vector<std::size_t> parts_of_bodies(const vehicle::Vehicle& v, double gravity_m_s2) {
  const vehicle::ChainShare level = vehicle::level_share(v, gravity_m_s2);
  std::vector<std::size_t> out(1, 0);
  for (std::size_t j = 0; j < v.joints.size(); ++j) out.push_back(out.back() + (v.joints[j].pitch.freedom != vehicle::Freedom::rigid && !level.on_stop[j] ? 1 : 0));
  return out;
}

// Parts with their whole mass, and joints.
RideVehicle joined(const vehicle::Vehicle& v, const std::vector<std::size_t>& part_of, double gravity_m_s2) {
  const vehicle::Body all = vehicle::loaded_body(v);
  RideVehicle out{.gravity_m_s2 = gravity_m_s2, .parts = std::vector<RidePart>(part_of.back() + 1)};
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    const vehicle::Body body = vehicle::loaded_body(v, b);
    RidePart& part = out.parts[part_of[b]];
    part.mass_kg += body.mass_kg;
    part.x_m += body.mass_kg / part.mass_kg * (body.cg_x_m - all.cg_x_m - part.x_m);
    part.height_m += body.mass_kg / part.mass_kg * (body.cg_z_m - part.height_m);
    if (b > 0 && part_of[b] > part_of[b - 1]) {
      const vehicle::Joint& j = v.joints[b - 1];
      out.joints.push_back({j.x_m - all.cg_x_m, j.z_m, j.pitch.freedom == vehicle::Freedom::elastic ? j.pitch.stiffness_n_m_per_rad : 0});
    }
  }
  return out;
}

// Of a part about its centre of gravity, where every body of it states its own.
std::optional<double> stated_inertia(const vehicle::Vehicle& v, const std::vector<std::size_t>& part_of, std::size_t part, const RidePart& at) {
  const double all_x = vehicle::loaded_body(v).cg_x_m;
  const auto about = [&](double mass_kg, double x_m, double z_m) { return mass_kg * (std::pow(x_m - all_x - at.x_m, 2) + std::pow(z_m - at.height_m, 2)); };
  double out = 0;
  for (std::size_t b = 0; b < v.bodies.size(); ++b) {
    if (part_of[b] != part) continue;
    const vehicle::Body& body = v.bodies[b];
    if (!body.pitch_inertia_kg_m2) return std::nullopt;
    out += *body.pitch_inertia_kg_m2 + about(body.mass_kg, body.cg_x_m, body.cg_z_m);
  }
  for (const vehicle::Payload& p : v.payload) out += part_of[p.body] == part ? about(p.mass_kg, p.x_m, p.z_m) : 0;
  return out;
}

// RideSettings::pitch_radius_m.
double assumed_radius_m(const RideVehicle& v, std::size_t part) {
  double rear = std::numeric_limits<double>::infinity(), front = -rear;
  const auto reaches = [&](double x_m) {
    rear = std::min(rear, x_m - v.parts[part].x_m);
    front = std::max(front, x_m - v.parts[part].x_m);
  };
  for (const RideAxle& a : v.axles) {
    if (a.part == part) reaches(a.x_m);
  }
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    if (j == part || j + 1 == part) reaches(v.joints[j].x_m);
  }
  const double apart = std::sqrt(std::max(-rear, 0.0) * std::max(front, 0.0));
  return v.parts.size() == 1 ? apart : std::max(apart, (front - rear) / std::sqrt(12.0));
}

}  // namespace

const char* name(RideLimit limit) {
  switch (limit) {
    case RideLimit::wheels_leave_ground: return "wheels leave the ground";
    case RideLimit::shock: return "shock";
    case RideLimit::ride: return "ride";
    case RideLimit::absorbed_power: return "absorbed power";
  }
  return "";
}

std::optional<RideVehicle> make_ride_vehicle(const vehicle::Vehicle& vehicle, double gravity_m_s2, const RideSettings& settings, const base::Place& place, base::Problems& problems) {
  bool good = true;
  const auto refuse = [&](const std::string& key, const char* what, std::string value, std::string bound, const char* remedy = "") {
    base::Place at = place;
    at.key += (at.key.empty() ? "" : ".") + key;
    problems.refuse({.place = at, .what = what, .value = std::move(value), .bound = std::move(bound), .remedy = remedy});
    good = false;
  };
  if (!(gravity_m_s2 > 0 && gravity_m_s2 <= 100)) refuse("gravity", "gravity is not positive or out of range", fmt::format("{:g} m/s^2", gravity_m_s2), "above 0 to 100 m/s^2");
  if (settings.damping_ratio && !(*settings.damping_ratio >= 0.005 && *settings.damping_ratio <= 2)) refuse("damping", "not a damping ratio", fmt::format("{:g}", *settings.damping_ratio), "0.005 to 2");
  if (settings.pitch_radius_m && !(*settings.pitch_radius_m > 0 && *settings.pitch_radius_m <= 100)) refuse("gyration", "not a radius of gyration", fmt::format("{:g} m", *settings.pitch_radius_m), "above 0 to 100 m");
  const vehicle::Body body = vehicle::loaded_body(vehicle);
  const double wheels_kg = settings.wheel_mass_kg * vehicle::wheel_count(vehicle);
  if (!(settings.wheel_mass_kg >= 0 && wheels_kg < 0.9 * body.mass_kg)) refuse("wheel_mass", "wheels weigh nearly as much as the vehicle, or less than nothing", fmt::format("{:g} kg each", settings.wheel_mass_kg), "0 or more, together below nine tenths of the mass");
  if (vehicle.axles.size() > kMostAxles) refuse("axle", "too many axles", std::to_string(vehicle.axles.size()), fmt::format("at most {}", kMostAxles));
  if (!good) return std::nullopt;

  const std::vector<std::size_t> part_of = parts_of_bodies(vehicle, gravity_m_s2);
  RideVehicle out = joined(vehicle, part_of, gravity_m_s2);
  if (settings.pitch_radius_m && out.parts.size() > 1) refuse("gyration", "one radius of gyration, and bodies that pitch by themselves", fmt::format("{:g} m", *settings.pitch_radius_m), "", "state pitch_inertia of each body in the vehicle file");
  out.damping_assumed = !settings.damping_ratio;
  const std::vector<double> loads = vehicle::level_axle_loads_n(vehicle, gravity_m_s2);
  constexpr double kRigid = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < vehicle.axles.size(); ++i) {
    const vehicle::Axle& a = vehicle.axles[i];
    RideAxle r{.x_m = a.position_x_m - body.cg_x_m, .part = part_of[a.body], .load_n = loads[i], .wheel_n_per_m = kRigid, .spring_n_per_m = kRigid, .wheel_mass_kg = settings.wheel_mass_kg * a.wheels, .radius_m = a.wheel.radius_m};
    if (!(r.load_n > 0)) {
      refuse(fmt::format("axle[{}]", i + 1), "carries nothing at rest: it leaves the ground at any speed", "0 N", "above 0");
      continue;
    }
    if (a.wheel.flex) {
      const auto k = tangent_n_per_m(*a.wheel.flex, r.load_n / a.wheels);
      if (!k) refuse(fmt::format("axle[{}].wheel.flex", i + 1), "the load-deflection rows do not tell a stiffness at the load at rest", fmt::format("{:.4g} N a wheel", r.load_n / a.wheels), "", "add rows above and below it");
      else r.wheel_n_per_m = *k * a.wheels;
    }
    if (a.suspension_n_per_m) r.spring_n_per_m = *a.suspension_n_per_m * a.wheels;
    const double carried_kg = r.load_n / gravity_m_s2 - r.wheel_mass_kg;
    if (!std::isinf(r.spring_n_per_m)) {
      r.damping_ratio = settings.damping_ratio.value_or(kSpringDampingRatio);
      r.spring_n_s_per_m = 2 * r.damping_ratio * std::sqrt(r.spring_n_per_m * std::max(carried_kg, 0.0));
    } else if (!std::isinf(r.wheel_n_per_m)) {
      r.damping_ratio = settings.damping_ratio.value_or(kWheelDampingRatio);
      r.wheel_n_s_per_m = 2 * r.damping_ratio * std::sqrt(r.wheel_n_per_m * std::max(carried_kg, 0.0));
    }
    out.axles.push_back(r);
  }
  if (out.axles.size() < 2) good = false;
  if (!good) return std::nullopt;
  const auto is_rigid = [](const RideAxle& a) { return std::isinf(a.wheel_n_per_m) && std::isinf(a.spring_n_per_m); };
  out.rigid = std::all_of(out.axles.begin(), out.axles.end(), is_rigid);
  for (std::size_t first = 0; good && first < out.parts.size(); ++first) {
    for (std::size_t last = first; good && last < out.parts.size(); ++last) {
      const auto held = static_cast<std::size_t>(std::count_if(out.axles.begin(), out.axles.end(), [&](const RideAxle& a) { return a.part >= first && a.part <= last && is_rigid(a); }));
      const std::size_t most = 2 + last - first;
      if (held <= most) continue;
      refuse("axle", most == 2 ? "more than two axles that neither wheels nor suspension let yield: the ground would hold a rigid body at three points" : "more axles that neither wheels nor suspension let yield than joined bodies can follow the ground with",
             std::to_string(held), fmt::format("at most {}", most), "state the stiffness of wheels or suspension");
    }
  }
  for (const RideAxle& a : out.axles) {
    out.parts[a.part].mass_kg -= a.wheel_mass_kg;
    out.parts[a.part].wheels_kg += a.wheel_mass_kg;
  }
  for (const RidePart& part : out.parts) {
    if (out.parts.size() > 1 && !(part.wheels_kg < 9 * part.mass_kg)) refuse("wheel_mass", "wheels weigh nearly as much as the bodies they carry, or more", fmt::format("{:g} kg each", settings.wheel_mass_kg), "of every body below nine tenths of its mass");
  }
  if (!good) return std::nullopt;
  for (std::size_t p = 0; p < out.parts.size(); ++p) {
    RidePart& part = out.parts[p];
    const auto stated = stated_inertia(vehicle, part_of, p, part);
    out.pitch_radius_assumed = out.pitch_radius_assumed || (!settings.pitch_radius_m && !stated);
    const double whole_kg = part.mass_kg + part.wheels_kg;
    const double radius = settings.pitch_radius_m.value_or(stated ? std::sqrt(*stated / whole_kg) : assumed_radius_m(out, p));
    part.pitch_inertia_kg_m2 = part.mass_kg * radius * radius;
  }
  return out;
}

RideResponse response(const RideVehicle& v, double wave_number_rad_per_m, double speed_m_s) {
  const double w = wave_number_rad_per_m * speed_m_s, w2 = w * w;
  const std::size_t n = v.axles.size(), parts = v.parts.size(), per_part = parts > 1 ? 3 : 2, joint = per_part * parts, axle = joint + 2 * v.joints.size();
  System m{.size = axle + 2 * n};
  const auto rhs = [&](std::size_t i) -> Complex& { return m.row[i][kMostUnknowns]; };
  for (std::size_t p = 0; p < parts; ++p) {
    const std::size_t z = per_part * p, th = z + 1, along = z + 2;
    m.row[z][z] = -w2 * v.parts[p].mass_kg;                // m z'' = sum s + V
    m.row[th][th] = -w2 * v.parts[p].pitch_inertia_kg_m2;  // I th'' = sum a s + a V - d H
    if (parts > 1) m.row[along][along] = v.parts[p].mass_kg + v.parts[p].wheels_kg;   // m A = H
  }
  for (std::size_t j = 0; j < v.joints.size(); ++j) {
    const RideJoint& at = v.joints[j];
    const std::size_t vertical = joint + 2 * j, horizontal = vertical + 1;
    for (const std::size_t p : {j, j + 1}) {
      const double sign = p == j ? -1 : 1, a = at.x_m - v.parts[p].x_m, d = at.height_m - v.parts[p].height_m;
      const std::size_t z = per_part * p, th = z + 1, along = z + 2;
      m.row[z][vertical] = -sign;
      m.row[th][vertical] = -sign * a;
      m.row[th][horizontal] = sign * d;
      m.row[th][th] += at.pitch_n_m_per_rad;
      m.row[th][p == j ? th + per_part : th - per_part] = -at.pitch_n_m_per_rad;
      m.row[along][horizontal] = -sign;
      m.row[vertical][z] = sign;                           // z + a th on both
      m.row[vertical][th] = sign * a;
      m.row[horizontal][along] = sign;                     // A + w^2 d th on both
      m.row[horizontal][th] = sign * w2 * d;
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    const RideAxle& a = v.axles[i];
    const std::size_t s = axle + 2 * i, u = s + 1, z = per_part * a.part, th = z + 1;
    const double ahead = a.x_m - v.parts[a.part].x_m;
    const Complex spring = compliance(a.spring_n_per_m, a.spring_n_s_per_m, w), wheel = compliance(a.wheel_n_per_m, a.wheel_n_s_per_m, w);
    m.row[z][s] = -1;
    m.row[th][s] = -ahead;
    m.row[s][z] = 1;                           // z + a th - u = -C s
    m.row[s][th] = ahead;
    m.row[s][u] = -1;
    m.row[s][s] = spring;
    m.row[u][u] = 1.0 - wheel * w2 * a.wheel_mass_kg;   // u - y = -C f, f = s + m u''
    m.row[u][s] = wheel;
    rhs(u) = std::polar(1.0, wave_number_rad_per_m * a.x_m);
  }
  m.solve();
  RideResponse out{.load_n = std::vector<Complex>(n), .travel_m = std::vector<Complex>(n)};
  for (std::size_t p = 0; p < parts; ++p) {
    out.heave_m.push_back(rhs(per_part * p));
    out.pitch_rad.push_back(rhs(per_part * p + 1));
  }
  for (std::size_t i = 0; i < n; ++i) {
    const RideAxle& a = v.axles[i];
    out.load_n[i] = rhs(axle + 2 * i) - w2 * a.wheel_mass_kg * rhs(axle + 2 * i + 1);
    out.travel_m[i] = out.heave_m[a.part] + (a.x_m - v.parts[a.part].x_m) * out.pitch_rad[a.part] - std::polar(1.0, wave_number_rad_per_m * a.x_m);
  }
  return out;
}

Complex height_m(const RideVehicle& v, const RideResponse& r, double x_m) {
  std::size_t part = 0;
  while (part < v.joints.size() && x_m > v.joints[part].x_m) ++part;
  return r.heave_m[part] + (x_m - v.parts[part].x_m) * r.pitch_rad[part];
}

double wave_lift_off_m_s(const Wave& wave, double gravity_m_s2) { return wave.length_m / (2 * kPi) * std::sqrt(gravity_m_s2 / wave.amplitude_m); }

double weight_at(Weighting weighting, double f) {
  if (weighting == Weighting::none) return 1;
  // [ISO2631] Wk: corners in Hz and Q, from memory. High pass and low pass of second order, transition from acceleration to velocity, upward step.
  constexpr double f1 = 0.4, f2 = 100, f3 = 12.5, f4 = 12.5, q4 = 0.63, f5 = 2.37, q5 = 0.91, f6 = 3.35, q6 = 0.91;
  const double high = f * f / std::sqrt(f * f * f * f + f1 * f1 * f1 * f1), low = f2 * f2 / std::sqrt(f * f * f * f + f2 * f2 * f2 * f2);
  const Complex i(0, 1);
  const Complex transition = (1.0 + i * f / f3) / (1.0 + i * f / (q4 * f4) - f * f / (f4 * f4));
  const Complex step = (1.0 + i * f / (q5 * f5) - f * f / (f5 * f5)) / (1.0 + i * f / (q6 * f6) - f * f / (f6 * f6)) * (f5 * f5) / (f6 * f6);
  return high * low * std::abs(transition) * std::abs(step);
}

double absorbed_w_s4_per_m2(double f) {
  // [Pradko1966], from memory: force over acceleration of the seat is K0 (F1 + i w F2) / (F3 + i w F4), K0 in slugs, w in rad/s; power over mean square is its imaginary part over w.
  constexpr double k0_kg = 4.3537 * units::kPoundForce_n / units::kFoot_m;
  const double w2 = 4 * kPi * kPi * f * f;
  const double f1 = 1 + w2 * (-0.44601e-2 + w2 * (0.17583e-5 - w2 * 0.10245e-9)), f2 = 0.10543 + w2 * (-0.93394e-4 + w2 * 0.12882e-7);
  const double f3 = 1 + w2 * (-0.56104e-2 + w2 * (0.37667e-5 - w2 * 0.45416e-9)), f4 = 0.10543 + w2 * (-0.17947e-3 + w2 * (0.51728e-7 - w2 * 0.21179e-11));
  return k0_kg * (f1 * f4 - f2 * f3) / (f3 * f3 + w2 * f4 * f4);
}

RidePoint ride_at(const RideVehicle& v, const RoughGround& ground, const RideQuestion& q, double speed_m_s) {
  RidePoint out{.speed_m_s = speed_m_s};
  Squares mean;
  double peak = 0;
  if (const Wave* wave = std::get_if<Wave>(&ground)) {
    mean = 0.5 * wave->amplitude_m * wave->amplitude_m * unit_squares(v, q, 1 / wave->length_m, speed_m_s);
    peak = std::numbers::sqrt2;
  } else {
    mean = mean_squares(v, std::get<GroundSpectrum>(ground), q, speed_m_s);
    peak = q.peak_over_rms;
  }
  for (std::size_t i = 0; i < v.axles.size(); ++i) {
    const double share = peak * std::sqrt(mean.load_share[i]);
    if (share > out.load_share) {
      out.load_share = share;
      out.axle = i;
    }
  }
  out.peak_m_s2 = peak * std::sqrt(mean.acceleration);
  out.weighted_rms_m_s2 = std::sqrt(mean.weighted);
  out.absorbed_power_w = mean.absorbed;
  return out;
}

const RideSpeed* RideAnswer::limit() const {
  const RideSpeed* out = nullptr;
  for (const RideSpeed& s : speeds) {
    if (s.speed_m_s && (!out || *s.speed_m_s < *out->speed_m_s)) out = &s;
  }
  return out;
}

RideAnswer ride_on(const RideVehicle& v, const RoughGround& ground, const RideQuestion& q) {
  RideAnswer out;
  std::vector<RideLimit> kinds{RideLimit::wheels_leave_ground};
  if (q.shock_m_s2) kinds.push_back(RideLimit::shock);
  if (q.ride_m_s2) kinds.push_back(RideLimit::ride);
  if (q.absorbed_power_w) kinds.push_back(RideLimit::absorbed_power);
  for (const RideLimit kind : kinds) out.speeds.push_back({.kind = kind, .solve = {.status = base::SolveStatus::no_solution, .residual_unit = "m/s"}});

  const Wave* wave = std::get_if<Wave>(&ground);
  const double ratio = wave ? 1.004 : 1.05;
  std::size_t open = out.speeds.size();
  // At rest stiff axles on uneven ground share loads unevenly: the answer to waves of no frequency.
  if (const RidePoint at_rest = ride_at(v, ground, q, 0); at_rest.load_share >= 1) {
    out.speeds.front().speed_m_s = 0;
    out.speeds.front().from_the_start = out.speeds.front().standing_still = true;
    out.speeds.front().axle = at_rest.axle;
    out.speeds.front().solve = {.status = base::SolveStatus::converged, .residual_unit = "m/s"};
    --open;
  }
  double before = q.slowest_m_s;
  int evaluations = 0;
  for (double speed = q.slowest_m_s; open > 0; speed = std::min(speed * ratio, q.fastest_m_s)) {
    const RidePoint here = ride_at(v, ground, q, speed);
    ++evaluations;
    for (RideSpeed& s : out.speeds) {
      if (s.speed_m_s || !(use_of(s.kind, q, here) >= 1)) continue;
      double lo = before, hi = speed;
      s.from_the_start = speed == q.slowest_m_s;
      s.axle = here.axle;
      int steps = 0;
      for (; !s.from_the_start && hi - lo > 1e-6 * hi && steps < 60; ++steps) {
        const double middle = 0.5 * (lo + hi);
        const RidePoint p = ride_at(v, ground, q, middle);
        if (use_of(s.kind, q, p) >= 1) hi = middle, s.axle = p.axle;
        else lo = middle;
      }
      s.speed_m_s = hi;
      s.solve = {.status = base::SolveStatus::converged, .residual = hi - lo, .tolerance = 1e-6 * hi, .residual_unit = "m/s", .steps = steps, .evaluations = evaluations + steps};
      if (s.from_the_start) s.solve.residual = 0;
      --open;
    }
    if (speed >= q.fastest_m_s) break;
    before = speed;
  }
  for (RideSpeed& s : out.speeds) {
    if (!s.speed_m_s) s.solve.evaluations = evaluations;
  }
  for (const double speed : q.speeds_m_s) out.curve.push_back(ride_at(v, ground, q, speed));
  if (wave) {
    const double trough_m = wave->length_m * wave->length_m / (4 * kPi * kPi * wave->amplitude_m);
    out.bridges_troughs = std::any_of(v.axles.begin(), v.axles.end(), [&](const RideAxle& a) { return trough_m < a.radius_m; });
  }
  return out;
}

void check_wave(const Wave& wave, const base::Place& place, base::Problems& problems) {
  const auto one = [&](const char* key, double v, double most) {
    if (v > 0 && v <= most) return;
    base::Place at = place;
    at.key += (at.key.empty() ? "" : ".") + std::string(key);
    problems.refuse({.place = at, .what = "not a length of a wave of the ground", .value = fmt::format("{:g} m", v), .bound = fmt::format("above 0 to {:g} m", most)});
  };
  one("wave_length", wave.length_m, 1e4);
  one("amplitude", wave.amplitude_m, 1e3);
}

void check_ride_question(const RideQuestion& q, const base::Place& place, base::Problems& problems) {
  const auto within = [&](const char* key, double v, double lo, double hi, const char* unit) {
    if (v > lo && v <= hi) return;
    base::Place at = place;
    at.key += (at.key.empty() ? "" : ".") + std::string(key);
    problems.refuse({.place = at, .what = "out of range", .value = fmt::format("{:g}{}", v, unit), .bound = fmt::format("above {:g} to {:g}{}", lo, hi, unit)});
  };
  if (q.shock_m_s2) within("shock", *q.shock_m_s2, 0, 1e4, " m/s^2");
  if (q.ride_m_s2) within("ride", *q.ride_m_s2, 0, 1e4, " m/s^2");
  if (q.absorbed_power_w) within("absorbed_power", *q.absorbed_power_w, 0, 1e4, " W");
  within("fastest", q.fastest_m_s, q.slowest_m_s, 200, " m/s");
  within("peak_over_rms", q.peak_over_rms, 0, 10, "");
  if (!(std::abs(q.at_x_m) <= 100)) within("at", q.at_x_m, -100, 100, " m");
  for (const double s : q.speeds_m_s) within("speed", s, 0, 200, " m/s");
}

}  // namespace hardpan::performance
