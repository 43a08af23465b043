// SPDX-License-Identifier: Apache-2.0
// Results section: how fast rough ground may be driven, and what limits the speed of a vehicle on a zone.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/questions.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using campaign::RideAnswer;
using campaign::RideOnGround;

constexpr Measure kAcceleration{units::Dimension::acceleration};

std::string ground_words(const Printer& print, const p::RoughGround& ground) {
  if (const auto* wave = std::get_if<p::Wave>(&ground)) return "wave " + print.value(wave->length_m, kLength) + " long, " + print.value(wave->amplitude_m, kLength) + " in amplitude";
  return std::get<p::GroundSpectrum>(ground).name;
}

std::string zones_words(const campaign::Results& r, const RideAnswer& a) {
  if (a.zones.empty()) return "every zone";
  std::vector<std::string> names;
  for (const std::string& id : a.zones) names.push_back(zone_name(r, id));
  return joined(names);
}

std::string speed_of(const Printer& print, const RideOnGround& on, p::RideLimit kind) {
  for (const p::RideSpeed& s : on.answer.speeds) {
    if (s.kind == kind) return !s.speed_m_s ? "not passed" : s.standing_still ? "standing still" : s.from_the_start ? "passed at once" : print.value(*s.speed_m_s, kSpeed);
  }
  return "not asked";
}

Figure ride_figure(const campaign::Results& r, const RideAnswer& a, std::size_t number) {
  const Printer print(r.campaign.output_units);
  Figure f{.id = fmt::format("ride-{}-{}", slug(a.vehicle), number), .title = "Rough ground against speed, " + vehicle_name(r, a.vehicle)};
  double top = 0, most = 0;
  for (const RideOnGround& on : a.grounds) {
    for (const p::RidePoint& x : on.answer.curve) top = std::max(top, x.speed_m_s), most = std::max(most, x.peak_m_s2);
  }
  const InUnit speed{print.unit(top, kSpeed)}, shaken{print.unit(most, kAcceleration)};
  Panel load{.heading = "Loads of the wheels", .x = {.label = "Speed", .unit = speed.spelling(), .from_zero = true}, .y = {.label = "Varying load over load at rest", .from_zero = true}};
  Panel shock{.heading = "Vertical acceleration", .x = load.x, .y = {.label = "Peak", .unit = shaken.spelling(), .from_zero = true}, .legend = false};
  for (std::size_t k = 0; k < a.grounds.size() && k < 6; ++k) {
    Series l{.kind = Kind::line, .name = ground_words(print, a.grounds[k].ground), .style = k}, s{.kind = Kind::line, .name = l.name, .style = k};
    for (const p::RidePoint& x : a.grounds[k].answer.curve) {
      l.x.push_back(speed(x.speed_m_s));
      l.y.push_back(x.load_share);
      s.x.push_back(speed(x.speed_m_s));
      s.y.push_back(shaken(x.peak_m_s2));
    }
    load.series.push_back(std::move(l));
    shock.series.push_back(std::move(s));
  }
  load.references.push_back({Along::y, 1, "a wheel leaves the ground"});
  if (a.question.shock_m_s2) shock.references.push_back({Along::y, shaken(*a.question.shock_m_s2), "shock bound"});
  f.panels = {std::move(load), std::move(shock)};
  f.shared_x = true;
  f.caption = std::string("Above 1 the model ends: contact is lost.") + (a.grounds.size() > 6 ? " The first six grounds; the table has all." : "");
  f.provenance = small_print(r, "");
  return f;
}

void ride(Sheet& s, const RideAnswer& a, std::size_t number) {
  const std::string who = vehicle_name(s.results, a.vehicle) + " on the rough ground of " + zones_words(s.results, a);
  if (!a.why_not.empty()) {
    s.page.paragraph(who + ": not computed, " + a.why_not + ".", "missing");
    return;
  }
  Grid g{.caption = "Speeds at which a bound is passed, " + who, .columns = {"Ground", "A wheel leaves it", "Shock bound", "Ride bound"}, .right = "lrrr"};
  const bool absorbed = a.question.absorbed_power_w.has_value();
  if (absorbed) g.columns.push_back("Absorbed power"), g.right += "r";
  g.columns.push_back("First passed");
  g.right += "l";
  for (const RideOnGround& on : a.grounds) {
    const p::RideSpeed* limit = on.answer.limit();
    g.rows.push_back({ground_words(s.print, on.ground) + (on.answer.bridges_troughs ? " (narrower than a wheel: bridged, rides otherwise)" : ""), speed_of(s.print, on, p::RideLimit::wheels_leave_ground), speed_of(s.print, on, p::RideLimit::shock), speed_of(s.print, on, p::RideLimit::ride)});
    if (absorbed) g.rows.back().push_back(speed_of(s.print, on, p::RideLimit::absorbed_power));
    g.rows.back().push_back(limit ? p::name(limit->kind) : fmt::format("none up to {}", s.print.value(a.question.fastest_m_s, kSpeed)));
  }
  std::vector<std::string> notes{"Linear, in side view, on ground that does not yield; an upper bound for calm driving, no permission"};
  if (a.question.shock_m_s2) notes.push_back("Shock bound " + s.print.value(*a.question.shock_m_s2, kAcceleration));
  if (a.question.ride_m_s2) notes.push_back("Ride bound " + s.print.value(*a.question.ride_m_s2, kAcceleration) + " r.m.s." + (a.question.weighting == p::Weighting::whole_body_vertical ? ", weighted as for people" : ""));
  if (absorbed) notes.push_back("Absorbed power bound " + s.print.value(*a.question.absorbed_power_w, Measure{units::Dimension::power}) + ", of a person seated there (Pradko and Lee 1966, coefficients from memory)");
  if (std::any_of(a.grounds.begin(), a.grounds.end(), [](const RideOnGround& on) { return on.answer.speeds.front().standing_still; })) notes.push_back("Standing still: a wheel hangs free where this ground lets the other axles stand; state softer wheels or a suspension in the vehicle file");
  if (a.model.rigid) notes.push_back("Rigid: the vehicle file states no stiffness of wheels or suspension");
  else if (a.model.damping_assumed) notes.push_back(fmt::format("Damping assumed, {:g} of critical with a suspension, {:g} of tyres or spring wheels alone (common practice, no source)", p::kSpringDampingRatio, p::kWheelDampingRatio));
  if (a.model.pitch_radius_assumed) notes.push_back("Radius of gyration in pitch assumed: front and rear do not disturb each other (common practice, no source)");
  if (std::any_of(a.grounds.begin(), a.grounds.end(), [](const RideOnGround& on) { return std::holds_alternative<p::GroundSpectrum>(on.ground); })) notes.push_back(fmt::format("On a spectrum peaks are {:g} times the r.m.s. (common practice, no source)", a.question.peak_over_rms));
  g.note = joined(notes, ". ") + ".";
  s.page.table(g);
  s.page.figure(ride_figure(s.results, a, number));
}

}  // namespace

void ride_part(Sheet& s) {
  if (s.results.answers.rides.empty()) return;
  s.page.heading(3, "Rough ground", "ride");
  std::size_t number = 0;
  for (const RideAnswer& a : s.results.answers.rides) ride(s, a, ++number);
}

std::vector<Figure> ride_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (std::size_t k = 0; k < r.answers.rides.size(); ++k) {
    if (r.answers.rides[k].why_not.empty()) out.push_back(ride_figure(r, r.answers.rides[k], k + 1));
  }
  return out;
}

io::Table ride_table(const campaign::Results& r) {
  io::Table t{.name = "rough-ground", .title = "Speeds at which rough ground passes a bound", .columns = {{"vehicle", ""}, {"zones", ""}, {"ground", ""}, {"wave length", "m"}, {"amplitude", "m"}, {"bound", ""}, {"speed", "m/s"}, {"axle from the rear", ""}}};
  for (const RideAnswer& a : r.answers.rides) {
    for (const RideOnGround& on : a.grounds) {
      const auto* wave = std::get_if<p::Wave>(&on.ground);
      for (const p::RideSpeed& s : on.answer.speeds) {
        t.rows.push_back({cell(a.vehicle), cell(a.zones.empty() ? std::string("every zone") : joined(a.zones)), cell(wave ? std::string("wave") : std::get<p::GroundSpectrum>(on.ground).name), wave ? cell(wave->length_m) : io::TableCell{}, wave ? cell(wave->amplitude_m) : io::TableCell{},
                          cell(p::name(s.kind)), cell(s.speed_m_s), s.kind == p::RideLimit::wheels_leave_ground && s.speed_m_s ? count(s.axle + 1) : io::TableCell{}});
      }
    }
  }
  return t;
}

void speed_part(Sheet& s) {
  if (s.results.answers.speeds.empty()) return;
  s.page.heading(3, "What limits the speed", "speed-limits");
  for (const campaign::SpeedAnswer& a : s.results.answers.speeds) {
    Grid g{.caption = "Limits of speed, " + pair_name(s.results, a.vehicle, a.zone), .columns = {"Limit", "Best estimate", "Lower end of the 95 %", "Of"}, .right = "lrrl"};
    const campaign::SpeedRow* least = a.smallest();
    for (const campaign::SpeedRow& row : a.rows) {
      g.rows.push_back({std::string(campaign::name(row.limit)) + (&row == least ? " (smallest)" : ""), s.print.value(row.speed_m_s, kSpeed), s.print.value(row.low_m_s, kSpeed), row.detail});
    }
    if (least && *least->speed_m_s > 0) g.note = "Limited by " + std::string(campaign::name(least->limit)) + " (" + least->detail + "): " + s.print.value(least->low_m_s.value_or(*least->speed_m_s), kSpeed) + ". ";
    g.note += "Straight and level but for the turn; an upper bound, no permission.";
    if (a.tightest_turn_m && a.tips_at_rad) {
      g.note += " Tightest turn " + s.print.value(*a.tightest_turn_m, kLength) + ": sideways acceleration held to what tips the vehicle at 0.6 of its static angle of " + s.print.value(*a.tips_at_rad, kAngle) + " (common practice, no source).";
    }
    s.page.table(g);
  }
}

io::Table speed_table(const campaign::Results& r) {
  io::Table t{.name = "speed-limits", .title = "What limits the speed of each vehicle on each zone", .columns = {{"vehicle", ""}, {"zone", ""}, {"limit", ""}, {"speed", "m/s"}, {"speed, next point low", "m/s"}, {"smallest", ""}, {"detail", ""}}};
  for (const campaign::SpeedAnswer& a : r.answers.speeds) {
    const campaign::SpeedRow* least = a.smallest();
    for (const campaign::SpeedRow& row : a.rows) t.rows.push_back({cell(a.vehicle), cell(a.zone), cell(campaign::name(row.limit)), cell(row.speed_m_s), cell(row.low_m_s), yes(&row == least), cell(row.detail)});
  }
  return t;
}

}  // namespace hardpan::report::detail
