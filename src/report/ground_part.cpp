// SPDX-License-Identifier: Apache-2.0
// The ground as tested: zones, points, instruments, records; then how all of it was reduced and where
// the work departed from its own rules.
#include <cmath>
#include <set>

#include <fmt/core.h>

#include "report/detail/parts.hpp"

namespace hardpan::report::detail {
namespace {

const records::ZoneGround* ground_of(const campaign::Results& r, const std::string& zone) {
  for (const records::ZoneGround& z : r.ground.zones) {
    if (z.zone == zone) return &z;
  }
  return nullptr;
}

void zones(Sheet& s) {
  const campaign::Campaign& c = s.results.campaign;
  Grid g{.caption = "Zones of ground", .columns = {"Zone", "Description", "Soil from", "Tests", "Dates", "Slip sinkage"}};
  std::set<std::string> seen;
  const auto add = [&](const std::string& id, const campaign::Zone* z) {
    if (!seen.insert(id).second) return;
    const records::ZoneGround* ground = ground_of(s.results, id);
    std::string from = ground && ground->soil ? "tests of this campaign" : "no complete soil";
    if (z && z->soil_from_elsewhere && !(ground && ground->soil)) {
      from = z->soil_from_elsewhere->name + ", " + z->soil_from_elsewhere->source + (z->soil_from_elsewhere->read_in_source ? "" : " (from memory, not checked against the source)");
      if (z->soil_from_elsewhere->textbook) from += ": textbook soil, not your ground";
    }
    std::vector<std::string> tests;
    if (ground && ground->plates) tests.push_back(std::to_string(ground->plates->tests) + " plate");
    if (ground && ground->shear) tests.push_back(std::to_string(ground->shear->runs.size() + ground->shear->metal_runs.size()) + " shear");
    std::size_t cones = 0;
    if (ground) {
      for (const auto& k : ground->cones) cones += k.tests;
    }
    if (cones > 0) tests.push_back(std::to_string(cones) + " cone");
    g.rows.push_back({id.empty() ? "(no name)" : id, z ? z->description : "", from, tests.empty() ? "none" : joined(tests), ground ? ground->dates : "",
                      z ? (z->loose ? soil::name(z->slip_sinkage) : "not loose: none") : ""});
  };
  for (const campaign::Zone& z : c.zones) add(z.id, &z);
  for (const records::ZoneGround& z : s.results.ground.zones) add(z.zone, c.zone(z.zone));
  s.page.table(g);
}

void points(Sheet& s) {
  Grid g{.caption = "Points where instruments were used", .columns = {"Point", "Zone", "Position", "Datum", "Accuracy", "Date and time", "Weather", "Moisture at " + s.print.value(0.05, kLength, 2), "at " + s.print.value(0.15, kLength, 2)},
         .right = "llllrllrr"};
  for (const campaign::Point& p : s.results.campaign.points) {
    g.rows.push_back({p.id, p.zone, p.position, p.datum, s.print.value(p.accuracy_m, kLength, 2), clock_words(p.time), p.weather, s.print.value(p.moisture_5cm_ratio, kShare),
                      s.print.value(p.moisture_15cm_ratio, kShare)});
  }
  if (!s.results.campaign.reference_point.empty()) g.note = "Reference point, repeated through the day: " + s.results.campaign.reference_point + ".";
  s.page.table(g);
}

std::string trust(const records::ChannelTrust& t) {
  return t.gain_stated ? fmt::format("{:.2g} %", 100 * t.gain_relative_sd) : "not stated, taken as 0";
}

void instruments(Sheet& s) {
  Grid g{.caption = "Instruments", .columns = {"Instrument", "Kind", "Calibrated", "Due", "Load, one standard deviation", "Other channels", "Span checks"}};
  for (const records::Instrument& i : s.results.campaign.instruments) {
    std::vector<std::string> other, checks;
    for (const auto& [name, t] : {std::pair{"depth", &i.depth}, {"torque", &i.torque}, {"angle", &i.angle}}) {
      if (t->gain_stated) other.push_back(std::string(name) + " " + trust(*t));
    }
    for (const records::SpanCheck& c : i.span_checks) {
      if (!(c.applied_si != 0)) continue;
      const double off = c.read_si / c.applied_si - 1;
      checks.push_back(fmt::format("{} {:+.1f} % {}", c.after ? "after" : "before", 100 * off, std::abs(off) > c.tolerance_relative ? "(failed)" : "(passed)"));
    }
    g.rows.push_back({i.id, i.kind, i.calibrated_on.empty() ? "not stated" : i.calibrated_on, i.calibration_due.empty() ? "not stated" : i.calibration_due, trust(i.load),
                      other.empty() ? "-" : joined(other), checks.empty() ? "none" : joined(checks)});
  }
  s.page.table(g);
}

void record_list(Sheet& s) {
  Grid g{.caption = "Records", .columns = {"Record", "Kind", "File", "Instrument", "Point", "Vehicle", "Tests", "Rows", "Excluded", "Limitations"}, .right = "llllllrrrl"};
  for (const campaign::RecordSummary& r : s.results.campaign.record_summaries) {
    g.rows.push_back({r.id, r.kind, r.file, r.instrument, r.point, r.vehicle, std::to_string(r.tests), std::to_string(r.rows), std::to_string(r.rows_set_aside), joined(r.downgrades, "; ")});
  }
  s.page.table(g);
}

std::string law_words(const Printer& print, const records::GroundSettings& g) {
  std::string out = std::string("Soil parameters: ") + records::name(g.estimator) + (g.cleaning ? "" : ", on rows as they stand without cleaning") + "; for comparison " +
                    records::name(records::PlateEstimator::two_step) + " and " + records::name(g.beside) + ". ";
  out += g.law ? std::string("Relation set by the user: ") + soil::name(*g.law) + ". " : "Relation chosen by leaving one point out, where there are three points or more. ";
  out += fmt::format("Error of one reading: {:g} % of the pressure and {}. ", 100 * g.relative_error,
                     g.absolute_error_pa ? print.value(*g.absolute_error_pa, kPressure) : std::string("the noise of each push's zero stretch"));
  out += "Pressure-sinkage width b: the radius of a circular plate, the smaller side of a rectangle or of a wheel's contact.";
  return out;
}

void tow_logs(Sheet& s) {
  Grid g{.caption = "How each log was read", .columns = {"Log", "Kind", "Run", "Rows (excluded)", "Zero", "Lag of the pull (s)", "Smoothing", "Windows by", "Rolling radius", "Slip"}, .right = "lllrlrllrl"};
  for (const records::TowReduction& log : s.results.drawbar.logs) {
    const char* kind = log.kind == records::LogKind::tow ? "tow" : log.kind == records::LogKind::towed ? "towed" : "coast-down";
    std::string lag = records::name(log.lag.source);
    if (log.lag.source == records::LagSource::stated || log.lag.source == records::LagSource::estimated) lag = fmt::format("{:.2f}, {}", log.lag.lag_s, lag);
    g.rows.push_back({log.id, kind, log.run, fmt::format("{} ({})", log.rows, log.rows_set_aside), records::name(log.zero.source), lag,
                      log.filtered ? fmt::format("{:g} Hz", log.cut_off_hz) : "none", records::name(log.mode_used),
                      log.radius.radius_m > 0 ? s.print.value(log.radius.radius_m, kLength) + ", " + vehicle::name(log.radius.condition) : "none",
                      log.slip_status == math::kStatusOk || log.slip_status.empty() ? "computed" : "refused: " + log.slip_status});
  }
  s.page.table(g);
}

void radii(Sheet& s) {
  Grid g{.caption = "Zero-slip conditions: rolling radii found in the records", .columns = {"Vehicle", "Zone", "Run", "Rolling radius", "Standard error", "Condition", "Source", "Used for slip"}, .right = "lllrr"};
  for (const records::FoundRadius& f : s.results.drawbar.found_radii) {
    g.rows.push_back({vehicle_name(s.results, f.vehicle), f.zone, f.run, s.print.value(f.radius.radius_m, kLength, 4), s.print.value(f.radius.standard_error_m, kLength, 2),
                      vehicle::name(f.radius.condition), f.radius.source, f.used_for_slip ? "yes" : "no"});
  }
  s.page.table(g);
}

// What was not done as it should have been, by name.
std::vector<std::string> deviations(const campaign::Results& r) {
  std::vector<std::string> out;
  std::set<std::string> seen;
  const auto add = [&](const std::string& text) {
    if (!text.empty() && seen.insert(text).second) out.push_back(text);
  };
  for (const records::ZoneGround& z : r.ground.zones) {
    for (const std::string& d : z.downgrades) add("Zone " + z.zone + ": " + d);
    for (const std::string& d : z.remarks) add("Zone " + z.zone + ": " + d);
    for (const records::OperatorPair& o : z.operators) add("Zone " + z.zone + ": " + o.statement);
    if (z.plates) {
      for (const std::string& d : z.plates->disagreement) add("Zone " + z.zone + ": " + d);
    }
  }
  for (const campaign::RecordSummary& rec : r.campaign.record_summaries) {
    for (const std::string& d : rec.downgrades) add("Record " + rec.id + ": " + d);
  }
  for (const records::DrawbarGroup& g : r.drawbar.groups) {
    for (const std::string& d : g.remarks) add(vehicle_name(r, g.vehicle) + " on " + g.zone + ": " + d);
    if (g.slips_converted > 0) add(fmt::format("{} on {}: {} recomputed with the common rolling radius, not their own.", vehicle_name(r, g.vehicle), g.zone, plural(g.slips_converted, "slip")));
  }
  if (!r.ground.drift.statement.empty()) add(r.ground.drift.statement);
  return sentences(merged(out));
}

}  // namespace

void ground_part(Sheet& s) {
  s.page.open("ground", "Ground");
  const campaign::Campaign& c = s.results.campaign;
  if (c.zones.empty() && c.points.empty() && s.results.ground.zones.empty()) s.page.paragraph("No zone, no point and no test of the ground is recorded.", "missing");
  zones(s);
  points(s);
  instruments(s);
  record_list(s);
  s.page.close();
}

void method_part(Sheet& s) {
  s.page.open("method", "Method and deviations");
  const campaign::Campaign& c = s.results.campaign;
  s.page.heading(3, "Method");
  s.page.paragraph(law_words(s.print, s.results.ground.settings));
  s.page.paragraph("Intervals are central 95 %, of two kinds. Average ground: where the mean over the zone lies. Next point: where the next place met lies; a vehicle "
                   "sticks at the worst place, so go and no-go are judged by this one.");
  if (!s.results.pairs.empty()) {
    s.page.paragraph(fmt::format("Prediction: wheel-soil equilibrium of every axle on {} possible soils a zone, drawn jointly from scatter between points, instruments and model form; "
                                 "seed {}. Gravity {}.", c.draws, c.seed, s.print.value(c.gravity_m_s2, Measure{units::Dimension::acceleration}, 4)));
  }
  if (!c.abort_rule.empty()) s.page.paragraph("Abort rule of the trials: " + c.abort_rule);
  s.page.paragraph(fmt::format("Repeats asked for: {}. A record with more than {:.0f} % of its rows excluded is refused.", c.repeats, 100 * c.remark_share));
  if (!s.results.drawbar.conventions.empty()) {
    s.page.heading(3, "Conventions of the vehicle tests");
    s.page.list(sentences(s.results.drawbar.conventions));
  }
  radii(s);
  tow_logs(s);
  s.page.heading(3, "Deviations and limitations of records");
  const std::vector<std::string> d = deviations(s.results);
  if (d.empty()) s.page.paragraph("None was found.");
  s.page.list(d);
  s.page.close();
}

}  // namespace hardpan::report::detail
