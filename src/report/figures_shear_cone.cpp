// SPDX-License-Identifier: Apache-2.0
// Shear stress against displacement with the strength line beside; cone index against depth.
#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/core.h>

#include "math/distributions.hpp"
#include "report/detail/draw.hpp"

namespace hardpan::report::detail {
namespace {

using records::ShearCurve;
using records::StrengthLine;

constexpr std::size_t kMostReadings = 60;     // drawn of one run
constexpr double kSameStress = 1.15;          // runs within this ratio share an ink
constexpr double kTenthMm2 = 1e7;              // cone bases are told apart to 0.1 mm^2
constexpr std::size_t kMostProfiles = 6;      // cone profiles told apart by ink

// Runs of about one normal stress.
struct StressGroup {
  double lowest_pa = 0, sum_pa = 0;
  std::vector<const ShearCurve*> runs;
  [[nodiscard]] double mean_pa() const { return sum_pa / static_cast<double>(runs.size()); }
};

std::vector<StressGroup> stress_groups(std::vector<const ShearCurve*> runs) {
  std::stable_sort(runs.begin(), runs.end(), [](const auto* a, const auto* b) { return a->normal_stress_pa < b->normal_stress_pa; });
  std::vector<StressGroup> out;
  for (const ShearCurve* c : runs) {
    if (out.empty() || c->normal_stress_pa > kSameStress * out.back().lowest_pa) out.push_back({c->normal_stress_pa, 0, {}});
    out.back().sum_pa += c->normal_stress_pa;
    out.back().runs.push_back(c);
  }
  return out;
}

Panel stress_panel(const records::ShearZone& zone, const std::vector<StressGroup>& groups, const InUnit& travel, const InUnit& stress, const Printer& print) {
  Panel p{.heading = "Stress against displacement", .x = {.label = "Shear displacement", .unit = travel.spelling(), .from_zero = true},
          .y = {.label = "Shear stress", .unit = stress.spelling(), .from_zero = true}, .share = 1.25};
  double longest = 0;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    bool named = false;
    for (const ShearCurve* c : groups[g].runs) {
      Series s{.kind = Kind::points, .style = g % 6};
      std::size_t kept = 0, seen = 0;
      for (const records::ShearMark m : c->mark) kept += m == records::ShearMark::kept;
      for (std::size_t i = 0; i < c->mark.size(); ++i) {
        if (c->mark[i] != records::ShearMark::kept || !std::isfinite(c->displacement_m[i]) || !std::isfinite(c->stress_pa[i])) continue;
        longest = std::max(longest, c->displacement_m[i]);
        if (seen++ % stride(kept, kMostReadings) != 0) continue;
        s.x.push_back(travel(c->displacement_m[i]));
        s.y.push_back(stress(c->stress_pa[i]));
      }
      if (s.x.empty()) continue;
      if (!named) s.name = print.value(groups[g].mean_pa(), kPressure);
      named = true;
      p.series.push_back(std::move(s));
    }
  }
  if (!zone.soil_line.ok() || !zone.shear_modulus_m || !(longest > 0)) return p;
  const soil::Shear shear{.law = zone.law, .cohesion_pa = zone.soil_line.cohesion_pa, .tan_phi = zone.soil_line.tan_phi,
                          .shear_modulus_m = zone.shear_modulus_m, .residual_ratio = zone.residual_ratio};
  for (std::size_t g = 0; g < groups.size(); ++g) {
    Series line{.kind = Kind::line, .name = g == 0 ? "c, phi and K of the zone" : "", .style = g % 6};
    for (const double j : even_steps(0, longest, 60)) {
      line.x.push_back(travel(j));
      line.y.push_back(stress(soil::shear_stress_pa(shear, groups[g].mean_pa(), j)));
    }
    p.series.push_back(std::move(line));
  }
  return p;
}

// The line with its pointwise interval. Scatter counts with the Student quantile of its degrees of freedom,
// the instrument, which no number of runs averages out, with the normal one.
void add_line(Panel& p, const StrengthLine& line, double to_pa, std::size_t style, const InUnit& stress, bool bands) {
  if (!line.ok()) return;
  Series fit{.kind = Kind::line, .name = style == 0 ? "strength line" : "on smooth metal", .style = style};
  Series average{.kind = Kind::band, .name = "95 % average ground", .style = style, .fill = Fill::tint};
  Series next{.kind = Kind::band, .name = "95 % next point", .style = style, .fill = Fill::dots};
  const double t = line.dof >= 1 ? math::student_t_quantile(0.975, line.dof) : std::nan(""), z = math::normal_quantile(0.975);
  for (const double s : even_steps(0, to_pa, 31)) {
    const auto variance = [&](const auto& m) { return m[0][0] + 2 * s * m[0][1] + s * s * m[1][1]; };
    const double mid = line.cohesion_pa + s * line.tan_phi, instrument = z * z * variance(line.instrument);
    const double a = std::sqrt(t * t * variance(line.covariance) + instrument);
    const double n = std::sqrt(t * t * (variance(line.covariance) + variance(line.between_points)) + instrument);
    fit.x.push_back(stress(s));
    fit.y.push_back(stress(mid));
    if (!bands || !std::isfinite(a) || !std::isfinite(n)) continue;
    for (auto [band, half] : {std::pair{&average, a}, {&next, n}}) {
      band->x.push_back(stress(s));
      band->y_lo.push_back(stress(std::max(0.0, mid - half)));
      band->y_hi.push_back(stress(mid + half));
    }
  }
  if (!next.x.empty()) p.series.push_back(std::move(next));
  if (!average.x.empty()) p.series.push_back(std::move(average));
  p.series.push_back(std::move(fit));
}

Panel strength_panel(const records::ShearZone& zone, const InUnit& stress) {
  Panel p{.heading = "Strength", .x = {.label = "Normal stress", .unit = stress.spelling(), .from_zero = true},
          .y = {.label = "Shear strength", .unit = stress.spelling(), .from_zero = true}};
  Series runs{.kind = Kind::points, .name = "run", .style = 0};
  Series flagged{.kind = Kind::points, .name = "run flagged", .style = 5};
  Series metal{.kind = Kind::points, .name = "run on smooth metal", .style = 1};
  double highest = 0;
  for (const records::ShearRun& run : zone.runs) {
    if (!std::isfinite(run.strength_pa) || !std::isfinite(run.normal_stress_pa)) continue;
    Series& s = run.flagged ? flagged : runs;
    s.x.push_back(stress(run.normal_stress_pa));
    s.y.push_back(stress(run.strength_pa));
    highest = std::max(highest, run.normal_stress_pa);
  }
  for (const records::ShearRun& run : zone.metal_runs) {
    if (!std::isfinite(run.strength_pa) || !std::isfinite(run.normal_stress_pa)) continue;
    metal.x.push_back(stress(run.normal_stress_pa));
    metal.y.push_back(stress(run.strength_pa));
    highest = std::max(highest, run.normal_stress_pa);
  }
  if (highest > 0) {
    add_line(p, zone.soil_line, 1.1 * highest, 0, stress, true);
    if (zone.metal_line) add_line(p, *zone.metal_line, 1.1 * highest, 1, stress, false);
  }
  for (Series* s : {&runs, &flagged, &metal}) {
    if (!s->x.empty()) p.series.push_back(std::move(*s));
  }
  return p;
}

Panel cone_panel(const records::ConeZone& cones, const std::vector<const records::ConeProfile*>& profiles, const InUnit& depth, const InUnit& stress) {
  Panel p{.heading = cones.population, .x = {.label = "Cone index", .unit = stress.spelling(), .from_zero = true},
          .y = {.label = "Depth", .unit = depth.spelling(), .from_zero = true, .reversed = true}};
  const bool few = profiles.size() <= kMostProfiles;
  for (std::size_t k = 0; k < profiles.size(); ++k) {
    Series line{.kind = Kind::line, .name = few ? (profiles[k]->source.point.empty() ? fmt::format("push {}, no point named", k + 1) : profiles[k]->source.point) : k == 0 ? "pushes" : "", .style = few ? k : std::size_t{5}};
    for (std::size_t i = 0; i < profiles[k]->mark.size(); ++i) {
      if (profiles[k]->mark[i] != records::ConeMark::kept) continue;
      line.x.push_back(stress(profiles[k]->resistance_pa[i]));
      line.y.push_back(depth(profiles[k]->depth_m[i]));
    }
    if (!line.x.empty()) p.series.push_back(std::move(line));
  }
  Series means{.kind = Kind::points, .name = "mean of the layer, 95 % average ground", .style = 0, .marker = Marker{Shape::square}};
  for (const records::ConeZoneLayer& layer : cones.layers) {
    const math::Estimate& e = layer.cone_index.estimate;
    if (!std::isfinite(e.value)) continue;
    const math::Interval i = e.average_ground.value_or(math::Interval{e.value, e.value});
    means.x.push_back(stress(e.value));
    means.x_lo.push_back(stress(i.lo));
    means.x_hi.push_back(stress(i.hi));
    means.y.push_back(depth(0.5 * (layer.from_m + layer.to_m)));
    means.y_lo.push_back(depth(layer.from_m));
    means.y_hi.push_back(depth(layer.to_m));
  }
  if (!means.x.empty()) p.series.push_back(std::move(means));
  return p;
}

}  // namespace

Slot shear_slot(const campaign::Results& r) {
  Slot slot{"shear-strength", "Shear stress against displacement and the strength line", {}, ""};
  const Printer print(r.campaign.output_units);
  for (const records::ZoneGround& zone : r.ground.zones) {
    if (!zone.shear) continue;
    std::vector<const ShearCurve*> runs;
    std::vector<double> travels, stresses;
    for (const ShearCurve& c : r.ground.shear_curves) {
      if (c.source.zone != zone.zone || c.smooth_metal) continue;
      for (std::size_t i = 0; i < c.mark.size(); ++i) {
        if (c.mark[i] != records::ShearMark::kept) continue;
        travels.push_back(c.displacement_m[i]);
        stresses.push_back(c.stress_pa[i]);
      }
      runs.push_back(&c);
    }
    for (const records::ShearRun& run : zone.shear->runs) stresses.push_back(run.normal_stress_pa);
    if (travels.empty() && zone.shear->runs.empty()) continue;
    const InUnit travel{print.common(travels, kLength)}, stress{print.common(stresses, kPressure)};
    std::string caption;
    for (const ShearCurve* c : runs) {
      if (caption.empty() && !c->geometry.empty()) caption = sentence(c->geometry);
    }
    const StrengthLine& line = zone.shear->soil_line;
    caption += line.ok() ? " Strength line: " + line.method + (line.cohesion_at_zero ? "; cohesion is held at its bound, zero." : ".")
                         : " No strength line: " + line.status + ".";
    slot.figures.push_back({.id = "shear-strength-" + slug(zone.zone.empty() ? "ground" : zone.zone),
                            .title = "Shear stress against displacement and strength line, " + zone_name(r, zone.zone),
                            .caption = caption,
                            .arrangement = Arrangement::beside,
                            .panels = {stress_panel(*zone.shear, stress_groups(runs), travel, stress, print), strength_panel(*zone.shear, stress)},
                            .provenance = small_print(r, plural(runs.size(), "run"))});
  }
  if (slot.figures.empty()) {
    slot.missing = r.ground.shear_curves.empty() ? "There is no shear test in this campaign." : "No shear run left readings to draw.";
  }
  return slot;
}

Slot cone_slot(const campaign::Results& r) {
  Slot slot{"cone-index", "Cone index against depth", {}, ""};
  const Printer print(r.campaign.output_units);
  for (const records::ZoneGround& zone : r.ground.zones) {
    std::vector<double> depths, resistances;
    for (const records::ConeProfile& c : r.ground.cone_profiles) {
      if (c.source.zone != zone.zone) continue;
      for (std::size_t i = 0; i < c.mark.size(); ++i) {
        if (c.mark[i] != records::ConeMark::kept) continue;
        depths.push_back(c.depth_m[i]);
        resistances.push_back(c.resistance_pa[i]);
      }
    }
    if (depths.empty()) continue;
    const InUnit depth{print.common(depths, kLength)}, stress{print.common(resistances, kPressure)};
    Figure f{.id = "cone-index-" + slug(zone.zone.empty() ? "ground" : zone.zone), .title = "Cone index against depth, " + zone_name(r, zone.zone),
             .arrangement = Arrangement::beside};
    std::size_t drawn = 0;
    // The reduction groups by class and base area, in this order.
    std::map<std::pair<std::string, long>, std::vector<const records::ConeProfile*>> groups;
    for (const records::ConeProfile& c : r.ground.cone_profiles) {
      if (c.source.zone == zone.zone) groups[{c.population, std::lround(c.base_area_m2 * kTenthMm2)}].push_back(&c);
    }
    std::size_t k = 0;
    for (const auto& [key, profiles] : groups) {
      records::ConeZone cones = groups.size() == zone.cones.size() ? zone.cones[k] : records::ConeZone{.population = key.first};
      ++k;
      if (groups.size() > 1) cones.population += (cones.population.empty() ? "" : ", ") + std::string("base ") + print.value(profiles.front()->base_area_m2, Measure{units::Dimension::area});
      drawn += profiles.size();
      f.panels.push_back(cone_panel(cones, profiles, depth, stress));
    }
    if (f.panels.empty() || drawn == 0) continue;
    f.caption = "Readings kept; stops and stones are excluded. Squares: mean over depth of each layer, with its depth range.";
    if (f.panels.size() > 1) f.caption += " Cones of different size or class are not averaged.";
    f.provenance = small_print(r, plural(drawn, "cone test"));
    slot.figures.push_back(std::move(f));
  }
  if (slot.figures.empty()) {
    slot.missing = r.ground.cone_profiles.empty() ? "There is no cone test in this campaign." : "No cone test left readings to draw.";
  }
  return slot;
}

}  // namespace hardpan::report::detail
