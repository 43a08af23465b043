// SPDX-License-Identifier: Apache-2.0
// Results section: driving through a delay, vehicles against each other on common possible soils; and the other questions in their order.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/questions.hpp"

namespace hardpan::report::detail {
namespace {

namespace p = performance;
using campaign::RemoteAnswer;
using campaign::VersusAnswer;

std::string speed(const Sheet& s, double m_s) { return std::isfinite(m_s) ? s.print.value(m_s, kSpeed) : std::string("any"); }

Figure delay_figure(const campaign::Results& r, const RemoteAnswer& a) {
  Figure f{.id = "speed-delay-" + slug(a.vehicle) + "-" + slug(a.zone), .title = "Speed against delay, " + pair_name(r, a.vehicle, a.zone)};
  const InUnit unit{Printer(r.campaign.output_units).unit(a.fastest_m_s, kSpeed)};
  Panel panel{.x = {.label = "Delay, from a thing in view to the command that answers it", .unit = "s", .scale = Scale::log10}, .y = {.label = "Speed", .unit = unit.spelling(), .from_zero = true}};
  Series allowed{.kind = Kind::points, .name = "may be driven", .style = 0, .marker = Marker{Shape::circle, false}}, stopping{.kind = Kind::line, .name = "stops within sight", .style = 1},
      steering{.kind = Kind::line, .name = "holds the corridor", .style = 2}, waiting{.kind = Kind::line, .name = "drives a stretch and waits", .style = 3};
  for (const driving::DelayPoint& x : a.over_delay) {
    for (const auto& [series, v] : {std::pair{&allowed, x.speed.speed_m_s}, {&stopping, std::min(x.speed.stop_limited_m_s, a.fastest_m_s)}, {&steering, std::min(x.speed.steering.speed_m_s, a.fastest_m_s)}, {&waiting, x.speed.move_and_wait_m_s}}) {
      series->x.push_back(x.delay_s);
      series->y.push_back(unit(v));
    }
  }
  panel.series = {std::move(stopping), std::move(steering), std::move(waiting), std::move(allowed)};
  if (r.campaign.questions.remote) panel.references.push_back({Along::x, r.campaign.questions.remote->link.delay.total_s(), "this link"});
  panel.references.push_back({Along::y, unit(a.fastest_m_s), "the vehicle's own"});
  f.panels.push_back(std::move(panel));
  f.caption = "Driving on is held to the lowest of the vehicle's own speed, stopping and steering; where waiting between stretches is faster, that is done." +
              std::string(a.braking_low ? " Braking at the lower end of the next point." : " Braking of the best-estimate soil.");
  f.provenance = small_print(r, "");
  return f;
}

void remote(Sheet& s) {
  if (s.results.answers.remote.empty()) return;
  s.page.heading(3, "Driving through a delay", "remote");
  const auto& q = *s.results.campaign.questions.remote;
  s.page.paragraph(fmt::format("Sight {}, delay {}, corridor {}. Upper bounds for a rested driver who sees well; an independent brake and a stop on loss of link are needed at any speed.", s.print.value(q.sight_m, kLength),
                               s.print.value(q.link.delay.total_s(), Measure{units::Dimension::time}), s.print.value(q.corridor_m, kLength)));
  Grid g{.caption = "Speed through the campaign's own link", .columns = {"Vehicle and ground", "May be driven", "Next point, 95 %", "Limited by", "Stops within sight", "Holds the corridor", "Drives and waits", "Braking over load"}, .right = "lrrlrrrr"};
  for (const RemoteAnswer& a : s.results.answers.remote) {
    if (!a.why_not.empty()) {
      g.rows.push_back({pair_name(s.results, a.vehicle, a.zone), "-", "-", a.why_not, "-", "-", "-", "-"});
      continue;
    }
    g.rows.push_back({pair_name(s.results, a.vehicle, a.zone), speed(s, a.at_delay.speed_m_s), s.print.interval(a.speed_m_s.estimate.next_point, Measure{units::Dimension::speed}), driving::name(a.at_delay.limited_by), speed(s, a.at_delay.stop_limited_m_s), speed(s, a.at_delay.steering.speed_m_s), speed(s, a.at_delay.move_and_wait_m_s),
                      fmt::format("{:.2f}{}", a.braking_coefficient, a.braking_low ? fmt::format(", low {:.2f}", *a.braking_low) : "")});
  }
  g.note = "Braking: tangent of the steepest descent that the brakes hold on this ground, no more than its own friction; speeds take the lower end of the next point where there is one. Own speed from the drives, or campaign.toml. "
           "Drives and waits: as far as is seen, braked to rest at the end; speeding up again is not counted.";
  s.page.table(g);
  for (const RemoteAnswer& a : s.results.answers.remote) {
    if (!a.why_not.empty()) continue;
    s.page.figure(delay_figure(s.results, a));
    Grid t{.caption = "Speed against delay, " + pair_name(s.results, a.vehicle, a.zone), .columns = {"Delay", "May be driven", "Limited by", "Stops within sight", "Holds the corridor", "Drives and waits"}, .right = "rrlrrr"};
    if (!a.over_delay_best.empty()) t.columns.push_back("Best-estimate braking"), t.right += "r";
    for (std::size_t k = 0; k < a.over_delay.size(); ++k) {
      const driving::DelayPoint& x = a.over_delay[k];
      t.rows.push_back({s.print.value(x.delay_s, Measure{units::Dimension::time}), speed(s, x.speed.speed_m_s), driving::name(x.speed.limited_by), speed(s, x.speed.stop_limited_m_s), speed(s, x.speed.steering.speed_m_s), speed(s, x.speed.move_and_wait_m_s)});
      if (!a.over_delay_best.empty()) t.rows.back().push_back(speed(s, a.over_delay_best[k].speed.speed_m_s));
    }
    s.page.table(t);
  }
}

Measure measure_of(p::Compared quantity) {
  switch (quantity) {
    case p::Compared::gradient_working:
    case p::Compared::gradient_maximum: return kGradient;
    case p::Compared::descent: return kDescent;
    case p::Compared::sinkage_20: return kSinkage;
    case p::Compared::energy_level: return kEnergy;
    case p::Compared::pull_20: return kPullCoefficient;
    case p::Compared::towed_resistance: return kNumber;
  }
  return kNumber;
}

// Nothing without possible soils.
std::optional<Figure> better_figure(const campaign::Results& r, const VersusAnswer& a) {
  Figure f{.id = "better-" + slug(a.a) + "-" + slug(a.b) + "-" + slug(a.zone), .title = "Share of possible soils on which " + vehicle_name(r, a.a) + " is the better"};
  Panel panel{.x = {.label = "Share of possible soils", .unit = "%", .min = 0, .max = 100}, .y = {.scale = Scale::category}, .legend = false};
  Series bars{.kind = Kind::bars, .style = 0, .fill = Fill::tint};
  for (const campaign::VersusRow& row : a.rows) {
    if (!row.a_better_ratio) continue;
    panel.y.categories.push_back(p::name(row.quantity));
    bars.x.push_back(100 * *row.a_better_ratio);
    bars.y.push_back(static_cast<double>(bars.y.size()));
    bars.text.push_back(fmt::format("{:.0f} %", 100 * *row.a_better_ratio));
  }
  if (bars.x.empty()) return std::nullopt;
  panel.series.push_back(std::move(bars));
  panel.references.push_back({Along::x, 50, "neither"});
  f.panels.push_back(std::move(panel));
  f.caption = "By quantity, over next points; where less is better, less counts as better.";
  f.provenance = small_print(r, "");
  return f;
}

std::string limits_words(const campaign::VersusRow& row) {
  const auto word = [](const std::string& limit) { return limit.empty() ? std::string("-") : limit; };
  return row.a_limited_by == row.b_limited_by ? word(row.a_limited_by) : word(row.a_limited_by) + "; " + word(row.b_limited_by);
}

void versus(Sheet& s) {
  for (const VersusAnswer& a : s.results.answers.versus) {
    const std::string first = vehicle_name(s.results, a.a), second = vehicle_name(s.results, a.b);
    s.page.heading(3, first + " against " + second + " on " + zone_name(s.results, a.zone), "compare-" + slug(a.a) + "-" + slug(a.b) + "-" + slug(a.zone));
    if (!a.why_not.empty()) {
      s.page.paragraph("Not compared: " + a.why_not + ".");
      continue;
    }
    Grid g{.caption = "Paired over the same possible soils", .columns = {"Quantity", first, second, "First less second", "95 % average ground", "95 % next point", "First is better", "Limited by"}, .right = "lrrrrrrl"};
    for (const campaign::VersusRow& row : a.rows) {
      const Measure m = measure_of(row.quantity);
      // A difference from a vehicle that does not travel is no number: the word stands for no place on the scale.
      const Measure plain{m.dimension, m.percent, Special::none};
      Printed d = s.print.estimate(row.difference, plain);
      const auto worded = [&](const std::optional<math::Interval>& i) { return i && (!Printer::word(i->lo, m).empty() || !Printer::word(i->hi, m).empty()); };
      if (!Printer::word(row.a.value, m).empty() || !Printer::word(row.b.value, m).empty()) d.value = "-";
      if (worded(row.a.average_ground) || worded(row.b.average_ground)) d.average_ground = "-";
      if (worded(row.a.next_point) || worded(row.b.next_point)) d.next_point = "-";
      g.rows.push_back({std::string(p::name(row.quantity)) + (p::more_is_better(row.quantity) ? "" : " (less is better)"), s.print.estimate(row.a, m).value, s.print.estimate(row.b, m).value, d.value, d.average_ground, d.next_point,
                        row.a_better_ratio ? fmt::format("{:.0f} %", 100 * *row.a_better_ratio) : "-", limits_words(row)});
    }
    const std::size_t draws = a.rows.empty() ? 0 : a.rows.front().draws;
    g.note = draws > 0 ? "Both meet the same " + plural(draws, "possible soil") + "; what they share drops out of the difference. Ties count half. Limited by: the first; the second where it differs; most frequent over the next points." : "No share and no interval: " + a.reason_without + ".";
    s.page.table(g);
    if (const auto f = better_figure(s.results, a)) s.page.figure(*f);
  }
}

}  // namespace

std::vector<Figure> remote_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (const RemoteAnswer& a : r.answers.remote) {
    if (a.why_not.empty()) out.push_back(delay_figure(r, a));
  }
  return out;
}
std::vector<Figure> versus_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (const VersusAnswer& a : r.answers.versus) {
    if (auto f = better_figure(r, a)) out.push_back(std::move(*f));
  }
  return out;
}
void questions_part(Sheet& s) {
  remote(s);
  ride_part(s);
  speed_part(s);
  turn_part(s);
  boulders_part(s);
  endurance_part(s);
  gravity_part(s);
  versus(s);
  studies_part(s);
}

}  // namespace hardpan::report::detail
