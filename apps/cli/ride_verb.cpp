// SPDX-License-Identifier: Apache-2.0
// Quick answer: how fast rough ground may be driven over.
#include <fmt/core.h>

#include <cmath>

#include "print.hpp"
#include "print_parts.hpp"
#include "service/ride.hpp"
#include "way_verbs.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using units::Dimension;

std::string ride_text(const service::RideRequest& q, const service::RideResult& r) {
  std::string out = fmt::format("{} over {}\n", r.vehicle, r.ground);
  const p::RideSpeed* limit = r.answer.limit();
  out += limit ? fmt::format("  Up to {:.2f} m/s; first passed: {}\n", *limit->speed_m_s, p::name(limit->kind)) : fmt::format("  No limit is passed up to {:g} m/s\n", q.question.fastest_m_s);
  for (const p::RideSpeed& s : r.answer.speeds) {
    const std::string axle = s.kind == p::RideLimit::wheels_leave_ground && s.speed_m_s ? fmt::format(" (axle {} from the rear)", s.axle + 1) : "";
    out += fmt::format("    {}: {}{}\n", p::name(s.kind), !s.speed_m_s ? "not passed" : s.from_the_start ? fmt::format("already at {:.2f} m/s, the slowest looked at", *s.speed_m_s) : fmt::format("from {:.2f} m/s", *s.speed_m_s), axle);
  }
  if (r.point_on_wave_m_s) out += fmt::format("  A point on this wave leaves it at {:.2f} m/s: (length / 2 pi) sqrt(g / amplitude)\n", *r.point_on_wave_m_s);
  std::vector<std::vector<std::string>> rows{{"speed (m/s)", "varying load over load at rest", "peak (m/s^2)", q.question.weighting == p::Weighting::none ? "r.m.s. (m/s^2)" : "weighted r.m.s. (m/s^2)"}};
  for (const p::RidePoint& x : r.answer.curve) rows.push_back({fmt::format("{:.2f}", x.speed_m_s), fmt::format("{:.2f}", x.load_share), fmt::format("{:.2f}", x.peak_m_s2), fmt::format("{:.2f}", x.weighted_rms_m_s2)});
  out += table(rows);
  if (r.model.rigid) out += "  Rigid: the vehicle file states no stiffness of wheels or suspension.\n";
  else if (r.model.damping_assumed) out += fmt::format("  Damping assumed: {:g} of critical with a suspension, {:g} of tyres or spring wheels alone (common practice, no source); --damping states it.\n", p::kSpringDampingRatio, p::kWheelDampingRatio);
  if (r.model.pitch_radius_assumed) out += "  Radius of gyration in pitch assumed: front and rear do not disturb each other (common practice, no source); --gyration states it.\n";
  if (!q.wave) out += fmt::format("  Peaks are {:g} times the r.m.s. (common practice, no source).\n", q.question.peak_over_rms);
  if (r.answer.bridges_troughs) out += "  A wheel is wider than the trough: it bridges it and rides otherwise than told here.\n";
  out += "  Linear, in side view, on ground that does not yield. An upper bound for calm driving, no permission.\n";
  return out;
}

struct RideVerb {
  static constexpr bool kTellsFaults = true;
  std::string vehicle_file, gravity, length, amplitude, profile, road_class, shock, ride, weighting = "none", at, damping, gyration, wheel_mass, fastest;
  double peak = 3;
  std::vector<std::string> speeds;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--wave-length", length, "of a wave: '4 m'");
    v.add_option("--amplitude", amplitude, "of the wave, half of trough to crest: '0.1 m'");
    v.add_option("--profile", profile, "sheet of surveyed heights along a wheel path, columns x and z with units");
    v.add_option("--class", road_class, "class of roughness A to H (ISO 8608)");
    v.add_option("--shock", shock, "largest vertical acceleration that is borne: '5 m/s^2'");
    v.add_option("--ride", ride, "largest r.m.s. of vertical acceleration that is borne: '0.8 m/s^2'");
    v.add_option("--weighting", weighting, "of --ride: none, or people (Wk of ISO 2631-1)")->transform(one_of({"none", "people"}))->capture_default_str();
    v.add_option("--at", at, "place of both, ahead of the centre of gravity: '0.3 m'");
    v.add_option("--damping", damping, "damping ratio of axles: 0.2");
    v.add_option("--gyration", gyration, "radius of gyration in pitch: '0.6 m'");
    v.add_option("--wheel-mass", wheel_mass, "one wheel with what moves with it: '12 kg'");
    v.add_option("--fastest", fastest, "look up to this speed; 30 m/s where not given");
    v.add_option("--peak", peak, "on a spectrum, peaks over r.m.s.")->capture_default_str();
    v.add_option("--speed", speeds, "tell the table at this speed; repeated");
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    val.needs("amplitude", !amplitude.empty(), "wave-length", !length.empty());
    service::RideRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0)};
    if (!length.empty() || !amplitude.empty()) q.wave = p::Wave{val.get("wave-length", length, Dimension::length).value_or(1), val.get("amplitude", amplitude, Dimension::length).value_or(1)};
    if (!profile.empty()) q.profile_file = profile;
    if (!road_class.empty()) q.road_class = road_class;
    q.settings = {.damping_ratio = val.get("damping", damping, Dimension::none), .pitch_radius_m = val.get("gyration", gyration, Dimension::length), .wheel_mass_kg = val.get("wheel-mass", wheel_mass, Dimension::mass).value_or(0)};
    q.question.shock_m_s2 = val.get("shock", shock, Dimension::acceleration);
    q.question.ride_m_s2 = val.get("ride", ride, Dimension::acceleration);
    if (weighting == "people") q.question.weighting = p::Weighting::whole_body_vertical;
    q.question.at_x_m = val.get("at", at, Dimension::length).value_or(0);
    q.question.fastest_m_s = val.get("fastest", fastest, Dimension::speed).value_or(30);
    q.question.peak_over_rms = peak;
    for (const std::string& s : speeds) q.question.speeds_m_s.push_back(val.get("speed", s, Dimension::speed).value_or(1));
    const auto r = val.answer([&] { return service::ride(q); });
    if (line.json) line.put_json(problems, service::ride_json(q, r));
    else put(ride_text(q, r));
    return 0;
  }
};

}  // namespace

void add_ride_verb(CommandLine& line) { line.add_verb<RideVerb>("ride"); }

}  // namespace hardpan::cli
