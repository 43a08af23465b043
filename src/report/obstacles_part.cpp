// SPDX-License-Identifier: Apache-2.0
// Results section: the obstacles that the campaign asks about, vehicle by vehicle.
#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/core.h>

#include "campaign/flattening.hpp"
#include "report/crossing_picture.hpp"
#include "report/detail/draw.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using campaign::ObstacleAnswer;
using campaign::ObstacleQuestion;
using campaign::ObstacleRule;

std::string shape_words(const Printer& print, const ObstacleQuestion& q) {
  if (q.step_m) return std::string("a step ") + (*q.step_m < 0 ? "down of " : "up of ") + print.value(std::abs(*q.step_m), kLength);
  if (q.gap_m) return "a gap of " + print.value(*q.gap_m, kLength) + " without a bottom";
  return "the profile " + q.profile_file;
}
std::string heading_words(const Printer& print, const ObstacleQuestion& q) {
  const std::string shape = shape_words(print, q);
  return q.description.empty() ? q.id + ": " + shape : q.id + ": " + q.description + " (" + shape + ")";
}
std::string pair_slug(const ObstacleAnswer& a) { return slug(a.obstacle) + "-" + slug(a.vehicle); }
std::string picture_title(const campaign::Results& r, const Printer& print, const ObstacleQuestion& q, const ObstacleAnswer& a) {
  return vehicle_name(r, a.vehicle) + " over " + shape_words(print, q) + (a.textbook ? " (textbook soil, not your ground)" : "");
}

std::string friction_or(double v, const char* none) { return std::isfinite(v) ? fmt::format("{:.2f}", v) : std::string(none); }

std::string verdict(const Printer& print, const ObstacleAnswer& a, const ObstacleRule& r) {
  const p::Crossing& c = r.crossing;
  if (!c.solve.converged()) return std::string("no numerical answer: ") + base::name(c.solve.status);
  if (c.passes && a.textbook) return "would cross, were the ground the table's";
  if (c.passes) return r.margin.next_point && r.margin.next_point->lo < 0 ? "crosses at the best estimate, not at every next point" : "crosses";
  return std::string(a.textbook ? "would not cross: " : "does not cross: ") + p::name(*c.stopped_by) + " at " + print.value(c.stopped_at_m, kLength);
}

void friction_table(Sheet& s, const std::vector<const ObstacleAnswer*>& answers) {
  Grid g{.caption = "Friction needed and friction there", .columns = {"Vehicle", "Torques", "Needed", "There", "Margin", "95 % next point", "Soils with enough", "Hardest at", "Answer"}, .right = "llrrrrrrl"};
  for (const ObstacleAnswer* a : answers) {
    if (!a->why_not.empty()) {
      g.rows.push_back({vehicle_name(s.results, a->vehicle), "-", "-", friction_or(a->friction.value, "-"), "-", "-", "-", "-", a->why_not});
      continue;
    }
    for (const auto& [words, rule] : {std::pair{"best split", &a->best}, {"equal", &a->equal}}) {
      const p::Crossing& c = rule->crossing;
      g.rows.push_back({vehicle_name(s.results, a->vehicle), words, friction_or(c.least_friction, "-"), friction_or(a->friction.value, "-"), std::isfinite(rule->margin.value) ? fmt::format("{:+.2f}", rule->margin.value) : "-",
                        rule->margin.next_point && std::isfinite(rule->margin.value) ? fmt::format("{:+.2f} to {:+.2f}", rule->margin.next_point->lo, rule->margin.next_point->hi) : "none",
                        rule->enough_ratio ? fmt::format("{:.0f} %", 100 * *rule->enough_ratio) : "-", std::isfinite(c.critical_m) ? s.print.value(c.critical_m, kLength) : "-", verdict(s.print, *a, *rule)});
    }
  }
  const ObstacleAnswer& first = *answers.front();
  g.note = first.friction_from == "campaign.toml"
               ? "Friction there: as campaign.toml states it, without an interval."
               : "Friction there: of " + first.friction_from + ", the tangent of the steepest slope that the vehicle climbs steadily on it with drives of any torque (rut resistance taken off), no more than the soil's own tan phi. Margin: there less needed; a requirement on an obstacle counts besides how far tow tests fell short of the predicted pull.";
  g.note += " Best split: the least that any sharing of the torque could do with; equal: the same torque on every driven axle that touches. Places: travel of the middle of the axles, from the obstacle's own zero.";
  s.page.table(g);
}

// Torque needed of every axle beside what its drives give.
void torque_table(Sheet& s, const std::vector<const ObstacleAnswer*>& answers) {
  Grid g{.caption = "Torque needed of each axle", .columns = {"Vehicle", "Axle", "Best split", "Equal", "Peak of its drives", "Continuous", "Share of the peak"}, .right = "llrrrrr"};
  for (const ObstacleAnswer* a : answers) {
    const vehicle::Vehicle* v = s.results.campaign.vehicle_by_id(a->vehicle);
    if (!a->why_not.empty() || !v) continue;
    for (std::size_t k = 0; k < v->axles.size() && k < a->side.axles.size(); ++k) {
      const vehicle::Axle& axle = v->axles[k];
      if (!axle.drive.driven) continue;
      const auto needed = [&](const ObstacleRule& r) { return std::isfinite(r.crossing.largest_torque_n_m) ? std::optional(r.crossing.axle_torque_n_m[k]) : std::nullopt; };
      const auto gives = [&](const std::optional<double>& wheel) { return wheel ? std::optional(*wheel * axle.wheels) : std::nullopt; };
      const auto best = needed(a->best), equal = needed(a->equal), peak = gives(axle.drive.peak_torque_n_m);
      g.rows.push_back({vehicle_name(s.results, a->vehicle), axle.name, s.print.value(best, kTorque), s.print.value(equal, kTorque), s.print.value(peak, kTorque), s.print.value(gives(axle.drive.continuous_torque_n_m), kTorque),
                        best && peak ? fmt::format("{:.0f} %", 100 * *best / *peak) : "-"});
    }
  }
  g.note = "All wheels of an axle together, the largest over the way; least possible with the friction there, one way of several to share it. \"-\": something else stops the vehicle first, or the file does not say. "
           "Above the continuous torque the motors warm up.";
  s.page.table(g);
}

std::string stops_words(const p::ObstacleLimit& l) { return l.stopped_by ? p::name(*l.stopped_by) : "-"; }
std::string limit_words(const Printer& print, const p::ObstacleLimit& l) {
  if (l.solve.status == base::SolveStatus::out_of_range) return "over " + print.value(l.passes_m, kLength);
  if (!l.solve.converged()) return std::string("no numerical answer: ") + base::name(l.solve.status);
  return print.value(l.passes_m, kLength);
}

void limits_table(Sheet& s) {
  Grid g{.caption = "Highest step and widest gap", .columns = {"Vehicle", "Friction of", "Coefficient", "Highest step", "Then stopped by", "Widest gap", "Then stopped by"}, .right = "llrrlrl"};
  std::set<std::pair<std::string, std::string>> told;
  for (const ObstacleAnswer& a : s.results.answers.obstacles) {
    const auto row = [&](const std::string& from, double mu, const p::ObstacleLimit& step, const p::ObstacleLimit& gap) {
      if (!told.insert({a.vehicle, from + friction_or(mu, "-")}).second) return;
      g.rows.push_back({vehicle_name(s.results, a.vehicle), from, friction_or(mu, "-"), limit_words(s.print, step), stops_words(step), limit_words(s.print, gap), stops_words(gap)});
    };
    if (!a.why_not.empty()) continue;
    row(a.friction_from, a.friction.value, a.step, a.gap);
    if (a.step_low && a.gap_low && a.friction.next_point) row(a.friction_from + ", low end of the next point", a.friction.next_point->lo, *a.step_low, *a.gap_low);
  }
  g.note = "Vertical faces, forwards, best split of torque; the first size from below that stops it. A gap has no bottom.";
  s.page.table(g);
}

// Wheels that flatten, drops, and pressing beyond the table of a wheel's deflections.
void remarks_of(Sheet& s, const std::vector<const ObstacleAnswer*>& answers) {
  std::vector<std::string> out;
  for (const ObstacleAnswer* a : answers) {
    const p::Crossing& c = a->best.crossing;
    if (!a->why_not.empty() || !c.solve.converged()) continue;
    const std::string name = vehicle_name(s.results, a->vehicle);
    if (c.drops > 0) out.push_back(fmt::format("{} drops or rocks over {}, the deepest by {}: cautiously, or not at all.", name, c.drops == 1 ? "once" : fmt::format("{} times", c.drops), s.print.value(c.deepest_drop_m, kLength)));
    if (c.largest_deflection_m > 0) out.push_back(name + ": its wheels flatten by up to " + s.print.value(c.largest_deflection_m, kLength) + " as on flat ground under the same load.");
    if (const auto flattened = campaign::flattened_ratio(a->side, c); flattened && *flattened > campaign::kMuchFlattened) {
      out.push_back(fmt::format("{}: that is {:.0f} % of the radius; over a quarter a wheel no longer deflects as its file says (common practice, no source). Do not rely on this crossing; check stiffness, inflation pressure and load.", name, 100 * *flattened));
    }
    if (c.beyond_table) out.push_back(name + ": a wheel is pressed deeper than the table of its deflections goes; from there its last slope was carried on. Measure further before relying on this answer.");
  }
  s.page.list(out);
}

Figure need_figure(const campaign::Results& r, const ObstacleQuestion& q, const ObstacleAnswer& a) {
  const Printer print(r.campaign.output_units);
  Figure f{.id = "obstacle-" + pair_slug(a), .title = "Friction needed along the way, " + picture_title(r, print, q, a)};
  const InUnit unit{print.unit(1, kLength)};
  Panel panel{.x = {.label = "Travel of the middle of the axles", .unit = unit.spelling()}, .y = {.label = "Friction coefficient", .from_zero = true}};
  if (a.friction.next_point) panel.shades.push_back({Along::y, a.friction.next_point->lo, a.friction.next_point->hi, "95 % next point", Fill::tint});
  std::size_t none = 0, style = 0;
  double highest = a.friction.value;
  const p::Way way = p::way_over(a.side, *a.ground);
  for (const auto& [words, rule] : {std::pair{"needed, best split", &a.best}, {"needed, equal torques", &a.equal}}) {
    Series line{.kind = Kind::line, .name = words, .style = style++};
    for (const campaign::NeededFriction& n : rule->curve) {
      if (n.travel_m < way.from_m || n.travel_m > way.to_m) continue;
      none += std::isnan(n.friction) ? 1 : 0;
      line.x.push_back(unit(n.travel_m));
      line.y.push_back(n.friction);
      if (std::isfinite(n.friction)) highest = std::max(highest, n.friction);
    }
    panel.series.push_back(std::move(line));
  }
  panel.references.push_back({Along::y, a.friction.value, "there"});
  const p::Crossing& c = a.best.crossing;
  if (std::isfinite(c.critical_m) && c.least_friction > 0) panel.references.push_back({Along::x, unit(c.critical_m), "hardest"});
  else if (c.stopped_by) panel.references.push_back({Along::x, unit(c.stopped_at_m), p::name(*c.stopped_by)});
  // Needs far above what is there would flatten everything else.
  const double most = std::max(2.5 * a.friction.value, 1.0);
  if (highest > most) panel.y.max = most;
  f.panels.push_back(std::move(panel));
  f.caption = "Least friction in every pose, of each 1/240 of the way the largest; " + std::string(highest > most ? "needs above the top of the axis leave the frame; " : "") + (none > 0 ? "gaps where no friction would do; " : "") +
              "downhill what holds it from slipping. " + sentence("friction there: " + (a.friction_from == "campaign.toml" ? std::string("as stated") : "of " + a.friction_from));
  f.provenance = small_print(r, "");
  return f;
}

std::string film_of(const campaign::Results& r, const ObstacleQuestion& q, const ObstacleAnswer& a) {
  const Printer print(r.campaign.output_units);
  return film_strip(a.side, *a.ground, {a.film, a.critical}, picture_title(r, print, q, a), print.units());
}

bool drawn(const ObstacleAnswer& a) { return a.why_not.empty() && a.best.crossing.solve.converged() && !a.film.empty(); }

const ObstacleQuestion& question_of(const campaign::Results& r, const ObstacleAnswer& a) {
  const auto& all = r.campaign.questions.obstacles;
  return *std::find_if(all.begin(), all.end(), [&](const ObstacleQuestion& q) { return q.id == a.obstacle; });
}

}  // namespace

void obstacles_part(Sheet& s) {
  if (s.results.answers.obstacles.empty()) return;
  s.page.heading(3, "Obstacles", "obstacles");
  s.page.paragraph("Crossed slowly, forwards, left and right alike, on hard ground of one friction coefficient. The edge of a step, a ditch or a gap in soil breaks under a wheel: nothing is computed of that, and a crossing told here is then the best case. "
                   "Keep off undercut edges, probe first, try it low first with a spotter, and hold measured trials above these numbers.");
  for (const ObstacleQuestion& q : s.results.campaign.questions.obstacles) {
    std::vector<const ObstacleAnswer*> answers;
    for (const ObstacleAnswer& a : s.results.answers.obstacles) {
      if (a.obstacle == q.id) answers.push_back(&a);
    }
    if (answers.empty()) continue;
    s.page.heading(4, heading_words(s.print, q), "obstacle-" + slug(q.id));
    if (answers.front()->textbook) s.page.paragraph("Textbook soil, not your ground.", "missing");
    friction_table(s, answers);
    torque_table(s, answers);
    remarks_of(s, answers);
    for (const ObstacleAnswer* a : answers) {
      if (!drawn(*a)) continue;
      s.page.figure(need_figure(s.results, q, *a));
      s.page.raw("<figure id=\"film-" + pair_slug(*a) + "\" class=\"drawing\">\n" + film_of(s.results, q, *a) + "<figcaption>" + rich(picture_title(s.results, s.print, q, *a) + ", to scale; the hardest place has the heavy frame.") + "</figcaption>\n</figure>\n");
    }
  }
  limits_table(s);
}

std::vector<Figure> obstacle_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (const ObstacleAnswer& a : r.answers.obstacles) {
    if (drawn(a)) out.push_back(need_figure(r, question_of(r, a), a));
  }
  return out;
}

std::vector<std::pair<std::string, std::string>> obstacle_films(const campaign::Results& r) {
  std::vector<std::pair<std::string, std::string>> out;
  for (const ObstacleAnswer& a : r.answers.obstacles) {
    if (drawn(a)) out.emplace_back("film-" + pair_slug(a), film_of(r, question_of(r, a), a));
  }
  return out;
}

}  // namespace hardpan::report::detail
