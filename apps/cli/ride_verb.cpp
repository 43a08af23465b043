// SPDX-License-Identifier: Apache-2.0
// Quick answer: how fast rough ground may be driven over.
#include <fmt/core.h>

#include <cmath>

#include "print.hpp"
#include "print_parts.hpp"
#include "rough_options.hpp"
#include "service/ride.hpp"
#include "way_verbs.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using units::Dimension;

std::string ride_text(const service::RideRequest& q, const service::RideResult& r, units::OutputUnits u, const UnitsOption::ToldIn& need) {
  std::string out = fmt::format("{} over {}\n", r.vehicle, r.ground.words(u));
  const units::Unit speed_unit = column_unit(Dimension::speed, u), acceleration_unit = column_unit(Dimension::acceleration, u);
  const p::RideSpeed* limit = r.answer.limit();
  const auto speed = [&](double m_s) { return number(units::from_si(m_s, speed_unit)) + " " + speed_unit.spelling; };
  if (limit && limit->standing_still) {
    out += fmt::format("  Loses contact standing still: axle {} from the rear hangs free where this ground lets the other axles stand.\n"
                       "  Wheels and suspension are too stiff for it: state a softer wheel (stiffness, deflection) or a suspension in the vehicle file.\n", limit->axle + 1);
  } else {
    out += limit ? fmt::format("  Up to {}; first passed: {}\n", speed(*limit->speed_m_s), p::name(limit->kind)) : fmt::format("  No limit is passed up to {}\n", speed(q.question.fastest_m_s));
  }
  if (q.needed_m_s) out += fmt::format("  Speed: {}{}.\n", limit ? "" : "at least ", margin_words(r.margin_m_s(q), *q.needed_m_s, need.unit, limit ? p::name(limit->kind) : "the fastest looked at", need.digits));
  for (const p::RideSpeed& s : r.answer.speeds) {
    if (s.standing_still) continue;
    const std::string axle = s.kind == p::RideLimit::wheels_leave_ground && s.speed_m_s ? fmt::format(" (axle {} from the rear)", s.axle + 1) : "";
    out += fmt::format("    {}: {}{}\n", p::name(s.kind), !s.speed_m_s ? "not passed" : s.from_the_start ? "already at " + speed(*s.speed_m_s) + ", the slowest looked at" : "from " + speed(*s.speed_m_s), axle);
  }
  if (r.point_on_wave_m_s) out += fmt::format("  A point on this wave leaves it at {}: (length / 2 pi) sqrt(g / amplitude)\n", speed(*r.point_on_wave_m_s));
  const auto heading = [](const char* what, const units::Unit& unit) { return fmt::format("{} ({})", what, unit.spelling); };
  std::vector<std::vector<std::string>> rows{{heading("speed", speed_unit), "varying load over load at rest", heading("peak", acceleration_unit),
                                              heading(q.question.weighting == p::Weighting::none ? "r.m.s." : "weighted r.m.s.", acceleration_unit), "absorbed (W)"}};
  for (const p::RidePoint& x : r.answer.curve) {
    rows.push_back({number(units::from_si(x.speed_m_s, speed_unit)), number(x.load_share), number(units::from_si(x.peak_m_s2, acceleration_unit)), number(units::from_si(x.weighted_rms_m_s2, acceleration_unit)),
                    number(x.absorbed_power_w)});
  }
  if (!q.question.absorbed_power_w) {
    for (auto& row : rows) row.pop_back();
  }
  if (rows.size() > 1) out += table(rows);
  if (r.model.rigid) out += "  Rigid: the vehicle file states no stiffness of wheels or suspension.\n";
  else if (r.model.damping_assumed) out += fmt::format("  Damping assumed: {:g} of critical with a suspension, {:g} of tyres or spring wheels alone (common practice, no source); --damping states it.\n", p::kSpringDampingRatio, p::kWheelDampingRatio);
  if (r.model.pitch_radius_assumed) out += "  Radius of gyration in pitch assumed: front and rear do not disturb each other (common practice, no source); " + std::string(r.model.parts.size() > 1 ? "pitch_inertia of each body in the vehicle file" : "--gyration") + " states it.\n";
  if (!q.wave) out += fmt::format("  Peaks are {:g} times the r.m.s. (common practice, no source).\n", q.question.peak_over_rms);
  if (q.question.absorbed_power_w) out += "  Absorbed power: of a person seated there (Pradko and Lee 1966, coefficients from memory).\n";
  if (r.answer.bridges_troughs) out += "  A wheel is wider than the trough: it bridges it and rides otherwise than told here.\n";
  out += "  Linear, in side view, on ground that does not yield. An upper bound for calm driving, no permission.\n";
  return out;
}

struct RideVerb {
  static constexpr bool kTellsFaults = true;
  RoughOptions rough;
  UnitsOption units_out;
  std::string vehicle_file, gravity, fastest, need;
  std::vector<std::string> speeds;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    rough.add_to(v);
    v.add_option("--fastest", fastest, "look up to this speed; 30 m/s where not given");
    v.add_option("--need", need, "speed needed, at most --fastest, to tell the margin: '3 m/s'");
    v.add_option("--speed", speeds, "tell the table at this speed; repeated");
    units_out.add_to(v);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    service::RideRequest q = rough.request(val);
    q.vehicle_file = vehicle_file;
    q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0);
    q.question.fastest_m_s = val.get("fastest", fastest, Dimension::speed).value_or(30);
    for (const std::string& s : speeds) q.question.speeds_m_s.push_back(val.get("speed", s, Dimension::speed).value_or(1));
    q.needed_m_s = val.get("need", need, Dimension::speed);
    const auto r = val.answer([&] { return service::ride(q); });
    line.put_answer(problems, r.remarks, [&] { return service::ride_json(q, r); }, [&] { return ride_text(q, r, units_out.units(), units_out.told_in(need, Dimension::speed)); });
    return 0;
  }
};

}  // namespace

void add_ride_verb(CommandLine& line) { line.add_verb<RideVerb>("ride"); }

}  // namespace hardpan::cli
