// SPDX-License-Identifier: Apache-2.0
// Quick answer: how tightly a vehicle turns, by its geometry and on soil.
#include <fmt/core.h>

#include <cmath>
#include <numbers>

#include "command_line.hpp"
#include "print.hpp"
#include "print_parts.hpp"
#include "service/turning.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using vehicle::SteeringKind;

constexpr double kDeg = 180 / std::numbers::pi;

using units::OutputUnits;

// Lengths of one table in one unit, whatever their size.
std::string length(double m, OutputUnits u) { return u == OutputUnits::us ? fixed(units::from_si(m, *units::find_unit("ft")), 2) + " ft" : fmt::format("{:.2f} m", m); }
std::string radius(double m, OutputUnits u) { return std::isinf(m) ? "straight" : length(std::abs(m), u); }
std::string degrees(double rad) { return units::print_fixed(rad * kDeg, 1) + " deg"; }
// US: in the units of the report. A joule a radian is a newton metre.
std::string torque(double n_m, OutputUnits u) { return u == OutputUnits::us ? units::print_quantity(n_m, units::Dimension::torque, u) : number(n_m) + " N m"; }
std::string per_radian(double j_per_rad, OutputUnits u) { return u == OutputUnits::us ? torque(j_per_rad, u) + "/rad" : number(j_per_rad) + " J/rad"; }
std::string power(double w, OutputUnits u) { return u == OutputUnits::us ? units::print_quantity(w, units::Dimension::power, u) : number(w) + " W"; }
std::string per_distance(double j_per_m, OutputUnits u) { return u == OutputUnits::us ? units::print_quantity(j_per_m, units::Dimension::energy_per_distance, u) : number(j_per_m) + " J/m"; }
std::string percent(double share) { return std::isfinite(share) ? fmt::format("{:.0f} %", 100 * share) : "-"; }

std::string geometry_text(const service::TurningResult& r, OutputUnits u) {
  std::string out;
  const bool skid = r.steering.kind == SteeringKind::skid;
  const char* angles = r.steering.kind == SteeringKind::frame ? "between the halves" : "inner / outer wheel";
  const bool followed = !r.lines.empty() && (!r.lines.front().geometry.followers.empty() || !r.lines.front().geometry.followed);
  if (std::isinf(r.smallest.radius_m)) {
    out += "  Geometry: no radius up to 10 km lets what follows come round.\n";
  } else if (skid && followed) {
    out += fmt::format("  Geometry: smallest radius that what follows comes round at {}; all wheels then stay within a circle of {}.\n", radius(r.smallest.radius_m, u), length(2 * r.smallest.outermost_m, u));
  } else if (skid) {
    out += fmt::format("  Geometry: turns on the spot; its wheels then stay within a circle of {}.\n", length(2 * r.smallest.outermost_m, u));
  } else {
    out += fmt::format("  Geometry: smallest radius {}{} at {} ({}); turning circle {} over the outer wheel's centre, {} over wheel corners.\n", radius(r.smallest.radius_m, u),
                       followed ? " of the towing bodies" : "", degrees(r.smallest.inner_angle_rad), angles, length(2 * r.smallest.outer_wheel_radius_m, u), length(2 * r.smallest.outermost_m, u));
  }
  std::vector<std::vector<std::string>> rows{{"radius", "steering", "outer wheel's path", "inner wheel's path", "swept width", "by geometry"}};
  if (followed) rows.front().insert(rows.front().begin() + 5, "joints bend by");
  for (const service::TurningLine& l : r.lines) {
    const p::Turn& t = l.geometry;
    const std::string steering = skid ? "-" : r.steering.kind == SteeringKind::frame ? degrees(t.inner_angle_rad) : degrees(t.inner_angle_rad) + " / " + degrees(t.outer_angle_rad);
    rows.push_back({radius(t.radius_m, u), steering, radius(t.outer_wheel_radius_m, u), radius(t.inner_wheel_radius_m, u), length(t.swept_width_m, u), t.steerable ? "can" : t.followed ? "beyond the stop" : "folds up, or at a stop"});
    if (!t.followed) std::fill(rows.back().begin() + 2, rows.back().begin() + 5, "-");
    if (!followed) continue;
    std::string angles_at;
    for (const p::Follower& f : t.followers) angles_at += (angles_at.empty() ? "" : ", ") + degrees(std::abs(f.angle_rad));
    rows.back().insert(rows.back().begin() + 5, angles_at.empty() ? "-" : angles_at);
  }
  out += table(rows);
  if (followed) out += "  Bodies follow at joints that yaw freely: after a long turn, the middle of the axles of each square to the turning centre.\n  Going into the turn they cut the corner less; backward they fold up.\n";
  return out;
}

std::string smallest_text(const service::TurningResult& r, OutputUnits u) {
  const p::SmallestTurn& s = r.smallest_on_soil();
  if (s.limit == p::TurnLimit::none) return "  Turns down to the spot on this soil.\n";
  if (s.solve.status == base::SolveStatus::no_solution) return fmt::format("  No turn at all: not even straight ahead ({}).\n", p::name(s.limit));
  return fmt::format("  Smallest radius from straight ahead: {}, then: {} ({}).\n", radius(s.goes_m, u), p::name(s.limit), base::name(s.solve.status));
}

std::string soil_text(const service::TurningRequest& q, const service::TurningResult& r, OutputUnits u, const UnitsOption::ToldIn& need) {
  std::string out = fmt::format("On {}{}", r.soil->id == "given" ? "soil from the command line, not your ground's tests" : r.soil->name, r.soil->textbook ? ": textbook soil, not your ground" : "");
  if (q.gradient_rad > 0) out += fmt::format("; gradient {}, heading {} to the left of straight uphill, turning {}", degrees(q.gradient_rad), degrees(q.heading_rad), q.to_right ? "right" : "left");
  if (q.crest_rad) out += fmt::format("; on a crest, ground falling by {} on either side of a line at {} to the vehicle", degrees(*q.crest_rad), degrees(q.crest_line_rad));
  out += "\n" + smallest_text(r, u);
  if (q.needed_m && r.without) out += "  Radius: " + margin_words(r.margin_m(q), *q.needed_m, need.unit, p::name(r.smallest_on_soil().limit), need.digits) + ".\n";
  const bool skid = r.steering.kind == SteeringKind::skid;
  std::vector<std::vector<std::string>> rows{{"radius", skid ? "drift" : "steering", "slip", "slip angle", "torque", "of peak", q.speed_m_s > 0 ? "power" : "work", "result"}};
  for (const service::TurningLine& l : r.lines) {
    const p::TurnState& s = l.on_soil->lead();
    if (l.limit == p::TurnLimit::steering && s.balanced()) {
      // Wheels that cannot be turned so far have no slip and no torque there.
      rows.push_back({radius(l.geometry.radius_m, u), "-", "-", "-", "-", "-", "-", fmt::format("beyond the stop: needs {} of {}", degrees(std::abs(s.inner_angle_rad)), degrees(r.steering.largest_angle_rad))});
      continue;
    }
    const std::string result = l.limit == p::TurnLimit::none ? "goes" : l.limit == p::TurnLimit::not_converged ? "no numerical answer" : p::name(l.limit);
    if (!s.balanced()) {
      rows.push_back({radius(l.geometry.radius_m, u), "-", "-", "-", "-", "-", "-", result});
      continue;
    }
    double slip = 0, angle = 0;
    bool sliding = false;
    for (const p::WheelInTurn& w : s.wheels) {
      if (!(w.load_n > 0)) continue;
      if (std::isfinite(w.answer.slip_ratio)) slip = std::abs(w.answer.slip_ratio) > std::abs(slip) ? w.answer.slip_ratio : slip;
      else sliding = true;
      angle = std::max(angle, std::abs(w.answer.slip_angle_rad));
    }
    const bool spot = l.geometry.radius_m == 0;
    const std::string work = spot ? per_radian(s.work_j_per_rad, u) : q.speed_m_s > 0 ? power(s.work_j_per_m * q.speed_m_s, u) : per_distance(s.work_j_per_m, u);
    rows.push_back({radius(l.geometry.radius_m, u), skid && spot ? "-" : degrees(skid ? s.drift_rad : s.inner_angle_rad), percent(slip) + (sliding ? ", one against its travel" : ""), degrees(angle),
                    torque(s.largest_torque_n_m, u), s.torque_share > 0 ? percent(s.torque_share) : "-", work, result});
  }
  out += table(rows);
  contact::Flag flags = contact::Flag::none;
  for (const service::TurningLine& l : r.lines) flags |= l.on_soil->lead().flags;
  for (const contact::Flag one : {contact::Flag::side_wall_left_out, contact::Flag::deep_sinkage, contact::Flag::contact_shorter_than_k, contact::Flag::c1_c2_assumed}) {
    if (contact::has(flags, one)) out += "  Note: " + contact::sentences(one).front() + "\n";
  }
  out += "  Largest of any wheel; without and with slip sinkage, whichever needs more. Slow and steady, every wheel on virgin soil, loads in balance; a rut resists more.\n";
  return out;
}

std::string turn_text(const service::TurningRequest& q, const service::TurningResult& r, OutputUnits u, const UnitsOption::ToldIn& need) {
  std::string out = fmt::format("{}: {} steering\n", r.vehicle, vehicle::name(r.steering.kind));
  if (r.crab) {
    const p::CrabTravel& c = *r.crab;
    out += fmt::format("  All wheels at {}{}: {:.2f} {} ahead, swept width {}. It does not turn.\n", degrees(c.angle_rad), c.steerable ? "" : ", which is beyond the stop,", c.sideways_per_m,
                       u == OutputUnits::us ? "ft sideways for each foot" : "m sideways for each metre", length(c.swept_width_m, u));
    return out;
  }
  out += geometry_text(r, u);
  if (r.soil) out += soil_text(q, r, u, need);
  out += "  Radius from the turning centre square to the middle plane of the vehicle (of the rear half of a frame). Swept by wheels and a body no wider than they: add what stands out.\n";
  out += "  A prediction is no permission to drive: never turn across a slope near its tip-over limit ('hardpan tipover').\n";
  return out;
}

struct TurnVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  UnitsOption units_out;
  std::string vehicle_file, gravity, gradient, heading, speed, crest, crest_line, crab, need, to = "left";
  std::vector<std::string> radii;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--radius", radii, "turning radius: '4 m'; '0 m' is on the spot; may be given several times");
    v.add_option("--to", to, "side of the turn")->transform(one_of({"left", "right"}))->capture_default_str();
    v.add_option("--gradient", gradient, "of the ground: '10 deg'");
    v.add_option("--heading", heading, "of travel from straight uphill to the left: '90 deg' has the downhill side on its left, '180 deg' goes down");
    v.add_option("--speed", speed, "along the turn: '1 m/s'; tells power and counts centrifugal force");
    v.add_option("--crest", crest, "fall of the ground on either side of a ridge under the vehicle: '2 deg'");
    v.add_option("--crest-line", crest_line, "direction of the ridge against the vehicle, left positive: '-38 deg'; along it where not given");
    v.add_option("--crab", crab, "angle of all wheels of a vehicle with crab steering: '20 deg'");
    v.add_option("--need", need, "radius needed on the soil, at most, to tell the margin: '4 m'");
    units_out.add_to(v);
    soil.add_to(v);
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems, {{"radius", "'4 m'"}});
    val.needs("heading", !heading.empty(), "gradient", !gradient.empty());
    val.needs("crest-line", !crest_line.empty(), "crest", !crest.empty());
    service::TurningRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0), .slip_sinkage = soil.rule(), .to_right = to == "right",
                              .gradient_rad = val.get("gradient", gradient, Dimension::angle).value_or(0), .heading_rad = val.get("heading", heading, Dimension::angle).value_or(0),
                              .speed_m_s = val.get("speed", speed, Dimension::speed).value_or(0), .crest_rad = val.get("crest", crest, Dimension::angle),
                              .crest_line_rad = val.get("crest-line", crest_line, Dimension::angle).value_or(0), .crab_rad = val.get("crab", crab, Dimension::angle)};
    for (const std::string& r : radii) q.radii_m.push_back(val.get("radius", r, Dimension::length).value_or(-1));
    const service::SoilRequest asked = soil.request(val);
    if (!asked.soil.empty() || asked.n || asked.kphi || asked.cohesion_pa) q.soil = asked;
    q.needed_m = val.get("need", need, Dimension::length);
    val.needs("need", !need.empty(), "soil", q.soil.has_value());
    val.needs("gradient", !gradient.empty(), "soil", q.soil.has_value());
    val.needs("crest", !crest.empty(), "soil", q.soil.has_value());
    val.needs("speed", !speed.empty(), "soil", q.soil.has_value());
    const auto r = val.answer([&] { return service::turning(q); });
    line.put_answer(problems, r.remarks, [&] { return service::turning_json(q, r); }, [&] { return turn_text(q, r, units_out.units(), units_out.told_in(need, Dimension::length)); });
    return r.unsolved() ? 3 : 0;
  }
};

}  // namespace

void add_turn_verb(CommandLine& line) { line.add_verb<TurnVerb>("turn"); }

}  // namespace hardpan::cli
