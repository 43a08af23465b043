// SPDX-License-Identifier: Apache-2.0
// Runs over drive profiles, among rocks and over rough ground: as driven, and beside what the campaign's questions answer.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "report/detail/draw.hpp"
#include "report/detail/trials.hpp"

namespace hardpan::report::detail {
namespace {

const Measure kJoule{units::Dimension::energy}, kSeconds{units::Dimension::time}, kShaking{units::Dimension::acceleration};

std::string who(const Sheet& s, const std::string& vehicle, const char* between, const std::string& way) {
  return vehicle_name(s.results, vehicle) + between + (way.empty() ? "the way as described" : way);
}
std::string line_of(const records::TestSource& source, std::size_t line) { return fmt::format("{}:{}", source.file, line); }

void trip(Sheet& s, const records::TripRuns& k) {
  const std::string name = who(s, k.vehicle, " along ", k.trip);
  s.page.heading(4, name);
  s.page.paragraph(sentence(k.text));
  if (k.chance_of_arriving) s.page.paragraph("Chance of arriving, 95 %: " + s.print.interval(k.chance_of_arriving, kShare) + ".");
  Grid g{.caption = "Runs, " + name, .columns = {"Where", "Outcome", "Driven", "Energy", "Time", "Remark"}, .right = "llrrrl"};
  for (const records::TripRun& t : k.runs) {
    g.rows.push_back({line_of(t.source, t.line), records::name(t.outcome), s.print.value(t.distance_m, kLength), s.print.value(t.energy_j, kJoule), s.print.value(t.time_s, kSeconds), t.source.remark});
  }
  g.note = "Energy taken from the battery; time from start to end, halts included.";
  drop_untold(g, 4);
  drop_untold(g, 3);
  s.page.table(g);
}

void rocks(Sheet& s, const records::RockRuns& k) {
  const std::string name = who(s, k.vehicle, " among ", k.rocks);
  s.page.heading(4, name);
  s.page.paragraph(sentence(k.text));
  Grid g{.caption = "Runs, " + name, .columns = {"Where", "Outcome", "Driven straight", "Remark"}, .right = "llrl"};
  for (const records::RockRun& t : k.runs) g.rows.push_back({line_of(t.source, t.line), records::name(t.outcome), s.print.value(t.distance_m, kLength), t.source.remark});
  s.page.table(g);
}

void rough(Sheet& s, const records::RoughRuns& k) {
  const std::string name = who(s, k.vehicle, " over ", k.ride.empty() ? zone_name(s.results, k.zone) : k.ride);
  s.page.heading(4, name);
  s.page.paragraph(sentence(k.text));
  Grid g{.caption = "Shaking by speed, " + name, .columns = {"Speed", "Runs", "A wheel lifted", "Largest acceleration (95 % mean)", "r.m.s. acceleration (95 % mean)"}, .right = "rrrrr"};
  for (const records::ShakingAtSpeed& x : k.shaking) {
    g.rows.push_back({s.print.value(x.speed_m_per_s, kSpeed), std::to_string(x.runs), std::to_string(x.lifted), mean_and_next(s.print, x.peak_m_per_s2, kShaking), mean_and_next(s.print, x.rms_m_per_s2, kShaking)});
  }
  g.note = "Vertical, gravity taken out.";
  drop_untold(g, 4);
  drop_untold(g, 3);
  s.page.table(g);
  if (const auto f = rough_figure(s.results, k)) s.page.figure(*f);
}

const validation::RoughComparison* compared_rough(const campaign::Results& r, const records::RoughRuns& k) {
  for (std::size_t i = 0; i < r.trials.rough.size() && i < r.trials.reduced.rough.size(); ++i) {
    if (&r.trials.reduced.rough[i] == &k) return &r.trials.rough[i];
  }
  return nullptr;
}

}  // namespace

std::optional<Figure> rough_figure(const campaign::Results& r, const records::RoughRuns& k) {
  const Printer print(r.campaign.output_units);
  std::vector<double> peaks, speeds;
  for (const records::RoughRun& t : k.runs) {
    speeds.push_back(t.speed_m_per_s);
    if (t.peak_m_per_s2) peaks.push_back(*t.peak_m_per_s2);
  }
  if (peaks.size() < 2) return std::nullopt;
  const InUnit x{print.common(speeds, kSpeed)}, y{print.common(peaks, kShaking)};
  const std::string way = k.ride.empty() ? zone_name(r, k.zone) : k.ride;
  Figure f{.id = "rough-shaking-" + slug(k.vehicle) + "-" + slug(way), .title = "Largest acceleration over rough ground, " + vehicle_name(r, k.vehicle) + " over " + way};
  Panel p{.x = {.label = "Speed", .unit = x.spelling(), .from_zero = true}, .y = {.label = "Largest vertical acceleration", .unit = y.spelling(), .from_zero = true}};
  if (const validation::RoughComparison* c = compared_rough(r, k)) {
    Series line{.kind = Kind::line, .name = "computed", .style = 0};
    for (const validation::ShakingCompared& v : c->shaking) {
      line.x.push_back(x(v.speed_m_per_s));
      line.y.push_back(y(v.predicted_peak_m_per_s2));
    }
    if (line.x.size() > 1 && std::any_of(line.y.begin(), line.y.end(), [](double v) { return v > 0; })) p.series.push_back(std::move(line));
    if (c->predicted_m_per_s && *c->predicted_m_per_s <= 1.5 * *std::max_element(speeds.begin(), speeds.end())) p.references.push_back({Along::x, x(*c->predicted_m_per_s), "a wheel lifts, computed"});
  }
  Series held{.kind = Kind::points, .name = "held the ground", .style = 1}, lifted{.kind = Kind::points, .name = "a wheel lifted", .style = 2};
  for (const records::RoughRun& t : k.runs) {
    if (!t.peak_m_per_s2) continue;
    Series& to = t.outcome == records::RoughOutcome::lifted ? lifted : held;
    to.x.push_back(x(t.speed_m_per_s));
    to.y.push_back(y(*t.peak_m_per_s2));
  }
  for (Series* one : {&held, &lifted}) {
    if (!one->x.empty()) p.series.push_back(std::move(*one));
  }
  f.caption = "One mark a run. The line is the largest over the rough grounds of the way, at the speeds driven.";
  f.panels.push_back(std::move(p));
  f.provenance = small_print(r, plural(k.runs.size(), "run"));
  return f;
}

void way_run_results(Sheet& s) {
  const records::TrialResult& t = s.results.trials.reduced;
  for (const records::TripRuns& k : t.trips) trip(s, k);
  for (const records::RockRuns& k : t.rocks) rocks(s, k);
  for (const records::RoughRuns& k : t.rough) rough(s, k);
}

void way_run_comparisons(Sheet& s) {
  const campaign::TrialResults& t = s.results.trials;
  const auto told = [&](const char* heading, const auto& all, const auto& name) {
    if (all.empty()) return;
    s.page.heading(4, heading);
    std::vector<std::string> said;
    for (const auto& c : all) said.push_back(sentence(name(c)) + " " + sentence(c.statement));
    s.page.list(said);
  };
  told("Drive profiles", t.trips, [&](const validation::TripComparison& c) { return who(s, c.vehicle, " along ", c.trip); });
  told("Rocks in the way", t.rocks, [&](const validation::RockComparison& c) { return who(s, c.vehicle, " among ", c.rocks); });
  told("Rough ground", t.rough, [&](const validation::RoughComparison& c) { return who(s, c.vehicle, " over ", c.ride.empty() ? zone_name(s.results, c.zone) : c.ride); });
  Grid g{.caption = "Shaking over rough ground, measured and computed", .columns = {"Vehicle", "Speed", "Largest acceleration (95 % mean)", "Computed", "r.m.s. acceleration (95 % mean)", "Computed"}, .right = "lrrrrr"};
  for (const validation::RoughComparison& c : t.rough) {
    for (const validation::ShakingCompared& x : c.shaking) {
      if (!x.peak_m_per_s2 && !x.rms_m_per_s2) continue;
      g.rows.push_back({vehicle_name(s.results, c.vehicle), s.print.value(x.speed_m_per_s, kSpeed), mean_and_next(s.print, x.peak_m_per_s2, kShaking), s.print.value(x.predicted_peak_m_per_s2, kShaking),
                        mean_and_next(s.print, x.rms_m_per_s2, kShaking), s.print.value(x.predicted_rms_m_per_s2, kShaking)});
    }
  }
  s.page.table(g);
}

}  // namespace hardpan::report::detail
