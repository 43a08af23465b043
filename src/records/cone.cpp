// SPDX-License-Identifier: Apache-2.0
// Cone index is the mean of resistance over depth in a layer, top < depth <= bottom. Stops and stones
// are recognised by the thresholds below (common practice, no source) and marked, never removed.
#include "records/cone.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include <fmt/core.h>
#include <fmt/ranges.h>

#include "math/statistics.hpp"
#include "records/detail/intervals.hpp"
#include "units/constants.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

namespace hardpan::records {
namespace {

// A base area as the standard says it: in mm^2, or in square inches.
std::string area(double m2, units::OutputUnits u, int digits = 3) {
  return u == units::OutputUnits::si ? fmt::format("{:.0f} mm^2", m2 * 1e6) : units::print_quantity(m2, units::Dimension::area, u, digits);
}

// A speed of pushing: walking speeds would print a hand push as 0.03 m/s.
std::string push_rate(double m_per_s, units::OutputUnits u) {
  return u == units::OutputUnits::si ? fmt::format("{:.0f} mm/s", m_per_s * 1e3) : units::print_number(m_per_s / units::kInch_m, 2) + " in/s";
}

std::string layer_words(double from_m, double to_m, units::OutputUnits u) {
  return u == units::OutputUnits::si ? fmt::format("{:.0f} to {:.0f} mm", from_m * 1e3, to_m * 1e3) : units::print_interval(from_m, to_m, units::Dimension::length, u);
}

// A reading is a stone when it is three times the median of the readings around it and falls back.
constexpr double kStoneRatio = 3;
constexpr std::size_t kStoneNeighbours = 4;  // each side
// The push stands still when depth advances by less than this share of its usual step.
constexpr double kStopShare = 0.05;

// top < depth <= bottom; depths typed in other units meet an edge up to a rounding.
bool inside(double depth, double from, double to) {
  constexpr double kRounding_m = 1e-9;
  return depth > from + kRounding_m && depth <= to + kRounding_m;
}

double mean_over_depth(const std::vector<double>& z, const std::vector<double>& p, double from, double to) {
  // A reading stands for the depth halfway to its neighbours: with even steps this is the plain mean.
  double sum = 0, length = 0;
  for (std::size_t i = 0; i < z.size(); ++i) {
    if (!inside(z[i], from, to)) continue;
    const double above = i > 0 ? z[i] - z[i - 1] : z.size() > 1 ? z[1] - z[0] : 1;
    const double below = i + 1 < z.size() ? z[i + 1] - z[i] : z.size() > 1 ? above : 1;
    sum += p[i] * (above + below) / 2;
    length += (above + below) / 2;
  }
  return sum / length;
}

void mark_stops(ConeProfile& profile) {
  std::vector<double> steps;
  double deepest = 0;
  for (std::size_t i = 0; i < profile.depth_m.size(); ++i) {
    if (profile.mark[i] != ConeMark::kept) continue;
    if (profile.depth_m[i] > deepest) steps.push_back(profile.depth_m[i] - deepest);
    deepest = std::max(deepest, profile.depth_m[i]);
  }
  if (steps.size() < 3) return;
  const double usual = math::median(steps);
  SetAside stopped{"push stood still: pressure relaxes", {}}, back{"cone moved back", {}};
  double reached = -1;
  for (std::size_t i = 0; i < profile.depth_m.size(); ++i) {
    if (profile.mark[i] != ConeMark::kept) continue;
    if (reached >= 0 && profile.depth_m[i] < reached - usual) {
      profile.mark[i] = ConeMark::backward;
      back.lines.push_back(profile.line[i]);
    } else if (reached >= 0 && profile.depth_m[i] <= reached + kStopShare * usual) {
      profile.mark[i] = ConeMark::stop_event;
      stopped.lines.push_back(profile.line[i]);
    }
    reached = std::max(reached, profile.depth_m[i]);
  }
  if (!stopped.lines.empty()) profile.set_aside.push_back(std::move(stopped));
  if (!back.lines.empty()) profile.set_aside.push_back(std::move(back));
}

void mark_stones(ConeProfile& profile) {
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < profile.mark.size(); ++i) {
    if (profile.mark[i] == ConeMark::kept) rows.push_back(i);
  }
  if (rows.size() < 2 * kStoneNeighbours + 1) return;
  SetAside stones{"stone: far above the readings around it", {}};
  std::vector<char> stone(rows.size(), 0);
  for (std::size_t k = 0; k < rows.size(); ++k) {
    const std::size_t lo = k < kStoneNeighbours ? 0 : k - kStoneNeighbours,
                      hi = std::min(rows.size(), k + kStoneNeighbours + 1);
    std::vector<double> near;
    for (std::size_t m = lo; m < hi; ++m) {
      if (m != k) near.push_back(profile.resistance_pa[rows[m]]);
    }
    if (profile.resistance_pa[rows[k]] > kStoneRatio * math::median(near)) stone[k] = 1;
  }
  // A rise that does not come back is refusal on something hard, not a stone.
  std::size_t last = rows.size();
  while (last > 0 && stone[last - 1]) --last;
  if (last < rows.size()) profile.refusal_depth_m = profile.depth_m[rows[last]];
  for (std::size_t k = 0; k < last; ++k) {
    if (!stone[k]) continue;
    profile.mark[rows[k]] = ConeMark::stone;
    stones.lines.push_back(profile.line[rows[k]]);
  }
  for (std::size_t k = last; k < rows.size(); ++k) {
    profile.mark[rows[k]] = ConeMark::stone;
    stones.lines.push_back(profile.line[rows[k]]);
  }
  if (!stones.lines.empty()) profile.set_aside.push_back(std::move(stones));
}

bool near(double a, double b, double share) { return std::abs(a - b) <= share * std::abs(b); }

constexpr double kAgree = 0.01;  // of a cone area; printed depths and pressures carry three digits

// The base area with which the depths and drops of one drop-cone test give its stated pressures.
struct ReproducedArea {
  double area_m2 = 0;   // median over the readings
  bool agrees = false;  // every reading gives it
};
std::optional<ReproducedArea> reproduced_area(const ConeTest& test, const Instrument& instrument) {
  if (!instrument.drop_weight_n || !instrument.drop_height_m || !instrument.rod_weight_n) return std::nullopt;
  std::vector<double> areas;
  for (std::size_t i = 0; i < std::min({test.depth_m.size(), test.resistance_pa.size(), test.drops.size()}); ++i) {
    if (!(test.depth_m[i] > 0) || !(test.resistance_pa[i] > 0) || !(test.drops[i] > 0)) continue;
    // p = (W h n / z + W + Q) / A, solved for A.
    areas.push_back(drop_cone_pressure_pa(*instrument.drop_weight_n, *instrument.drop_height_m, *instrument.rod_weight_n,
                                          test.drops[i], test.depth_m[i], 1) /
                    test.resistance_pa[i]);
  }
  if (areas.empty()) return std::nullopt;
  const double area = math::median(areas);
  return ReproducedArea{area, std::all_of(areas.begin(), areas.end(), [&](double a) { return near(a, area, kAgree); })};
}

// A drop-cone test whose pressures belong to another base than its record states joins a population of its own: layers are
// not averaged over two bases. A radius taken for a diameter is a factor 4 exactly; another base is told to two digits,
// so that the tests of one population carry one number.
void tell_population(const ConeTest& test, const Instrument& instrument, units::OutputUnits u, ConeProfile& profile) {
  const std::optional<ReproducedArea> found = reproduced_area(test, instrument);
  if (!found || !(profile.base_area_m2 > 0)) return;
  const auto join = [&](const char* words) { profile.population += (profile.population.empty() ? "" : ", ") + std::string(words); };
  if (!found->agrees) {
    join("agrees with no single base");
    return;
  }
  if (near(found->area_m2, profile.base_area_m2, 2 * kAgree)) return;
  const double stated = profile.base_area_m2, ratio = found->area_m2 / stated;
  const double digit = std::pow(10.0, std::floor(std::log10(found->area_m2)) - 1);
  profile.base_area_m2 = near(ratio, 4, 2 * kAgree)      ? 4 * stated
                         : near(ratio, 0.25, 2 * kAgree) ? stated / 4
                                                         : std::round(found->area_m2 / digit) * digit;
  join("base other than stated");
  profile.remarks.push_back(fmt::format("pressures agree with a cone base of {}, the record states {}",
                                        area(profile.base_area_m2, u), area(stated, u)));
}

}  // namespace

const char* name(ConeMark mark) {
  switch (mark) {
    case ConeMark::kept: return "kept";
    case ConeMark::stop_event: return "stop";
    case ConeMark::stone: return "stone";
    case ConeMark::not_finite: return "not a number";
    case ConeMark::backward: return "moved back";
  }
  return "unknown";
}

double cone_area_m2(double diameter_m) { return std::numbers::pi * diameter_m * diameter_m / 4; }

double rating_cone_index(double cone_index, double remoulding_index) { return cone_index * remoulding_index; }

double drop_cone_pressure_pa(double drop_weight_n, double drop_height_m, double rod_weight_n, double drops, double depth_m,
                             double base_area_m2) {
  return (drop_weight_n * drop_height_m * drops / depth_m + drop_weight_n + rod_weight_n) / base_area_m2;
}

ConeProfile reduce_cone(const ConeTest& test, const Instrument* instrument, const GroundSettings& settings) {
  ConeProfile profile;
  profile.source = test.source;
  profile.population = test.population;
  profile.base_area_m2 = test.base_area_m2;
  if (!(profile.base_area_m2 > 0) && instrument && instrument->cone_base_area_m2)
    profile.base_area_m2 = *instrument->cone_base_area_m2;
  const std::size_t n = std::min(test.depth_m.size(), test.resistance_pa.size());
  profile.depth_m.assign(test.depth_m.begin(), test.depth_m.begin() + static_cast<std::ptrdiff_t>(n));
  profile.resistance_pa.assign(test.resistance_pa.begin(), test.resistance_pa.begin() + static_cast<std::ptrdiff_t>(n));
  profile.line = test.line;
  profile.line.resize(n, 0);
  profile.mark.assign(n, ConeMark::kept);
  if (test.drop_cone && instrument) tell_population(test, *instrument, settings.output_units, profile);
  SetAside broken{"cell is not a number", {}};
  for (std::size_t i = 0; i < n; ++i) {
    if (std::isfinite(profile.depth_m[i]) && std::isfinite(profile.resistance_pa[i])) continue;
    profile.mark[i] = ConeMark::not_finite;
    broken.lines.push_back(profile.line[i]);
  }
  if (!broken.lines.empty()) profile.set_aside.push_back(std::move(broken));
  // ASABE S313.3: base 323 or 130 mm^2, 30 degrees, about 30 mm/s.
  if (!test.drop_cone) {
    if (profile.base_area_m2 > 0 && !near(profile.base_area_m2, 323e-6, 0.03) &&
        !near(profile.base_area_m2, 130e-6, 0.03)) {
      profile.remarks.push_back(fmt::format(
          "cone base {} is neither {} (ASABE S313.3): its index is not comparable with tables made with those",
          area(profile.base_area_m2, settings.output_units),
          settings.output_units == units::OutputUnits::si ? "323 nor 130 mm^2" : "0.50 nor 0.20 in^2"));
    }
    if (test.cone_angle_rad && !near(*test.cone_angle_rad, 30 * std::numbers::pi / 180, 0.05)) {
      profile.remarks.push_back(fmt::format("cone angle {:.1f} deg, the standard cone has 30",
                                            *test.cone_angle_rad * 180 / std::numbers::pi));
    }
    if (test.rate_m_per_s && !near(*test.rate_m_per_s, 0.030, 0.5)) {
      profile.remarks.push_back(
          fmt::format("pushed at {}, the standard asks for about {}", push_rate(*test.rate_m_per_s, settings.output_units), push_rate(0.030, settings.output_units)));
    }
    mark_stops(profile);
    mark_stones(profile);
  }
  std::vector<double> z, p;
  for (std::size_t i = 0; i < n; ++i) {
    if (profile.mark[i] != ConeMark::kept) continue;
    z.push_back(profile.depth_m[i]);
    p.push_back(profile.resistance_pa[i]);
  }
  for (std::size_t e = 0; e + 1 < settings.cone_layer_edges_m.size(); ++e) {
    ConeLayer layer{.from_m = settings.cone_layer_edges_m[e], .to_m = settings.cone_layer_edges_m[e + 1]};
    for (const double depth : z) layer.readings += inside(depth, layer.from_m, layer.to_m);
    if (layer.readings > 0) {
      layer.cone_index_pa = mean_over_depth(z, p, layer.from_m, layer.to_m);
      if (test.remoulding_index)
        layer.rating_cone_index_pa = rating_cone_index(*layer.cone_index_pa, *test.remoulding_index);
    }
    profile.layers.push_back(layer);
  }
  return profile;
}

ConeConsistency check_drop_cones(const std::vector<const ConeTest*>& tests, const std::vector<Instrument>& instruments,
                                 units::OutputUnits u) {
  ConeConsistency out;
  std::vector<std::pair<double, ConePopulation>> found;  // area, tests
  for (const ConeTest* test : tests) {
    if (!test->drop_cone) continue;
    const auto instrument = std::find_if(instruments.begin(), instruments.end(),
                                         [&](const Instrument& i) { return i.id == test->source.instrument; });
    if (instrument == instruments.end()) continue;
    const std::optional<ReproducedArea> area_of = reproduced_area(*test, *instrument);
    if (!area_of) continue;
    ++out.tests_checked;
    if (!area_of->agrees) {
      out.inconsistent.push_back(test->source.id);
      continue;
    }
    const double area = area_of->area_m2;
    auto at = std::find_if(found.begin(), found.end(), [&](const auto& f) { return near(f.first, area, 2 * kAgree); });
    if (at == found.end()) {
      found.push_back({area, {.base_area_m2 = area, .as_stated = near(area, test->base_area_m2, 2 * kAgree), .tests = {}}});
      at = found.end() - 1;
    }
    at->second.tests.push_back(test->source.id);
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.second.tests.size() > b.second.tests.size(); });
  for (auto& f : found) out.populations.push_back(std::move(f.second));
  if (out.tests_checked == 0) return out;
  std::vector<std::string> parts;
  for (const ConePopulation& population : out.populations) {
    parts.push_back(fmt::format("{} {} with a base of {}{}", units::print_count(population.tests.size(), "test"),
                                population.tests.size() == 1 ? "agrees" : "agree", area(population.base_area_m2, u),
                                population.as_stated ? " (as stated)" : " (not the stated one)"));
  }
  out.statement = fmt::format("{} checked: {}", units::print_count(out.tests_checked, "drop-cone test"), fmt::join(parts, ", "));
  if (!out.inconsistent.empty()) out.statement += fmt::format(", {} {} with no single base", out.inconsistent.size(), out.inconsistent.size() == 1 ? "agrees" : "agree");
  if (out.populations.size() > 1) {
    out.statement += fmt::format(
        "; two cones, or a radius taken for a diameter (areas differ by a factor {:.2f}): the record must say which",
        std::max(out.populations[0].base_area_m2, out.populations[1].base_area_m2) /
            std::min(out.populations[0].base_area_m2, out.populations[1].base_area_m2));
  }
  return out;
}

std::vector<ConeZone> reduce_cones(const std::vector<const ConeProfile*>& profiles,
                                   const std::vector<Instrument>& instruments, const GroundSettings& settings) {
  struct Key {
    std::string population;
    long area_tenth_mm2;
    bool operator<(const Key& o) const {
      return std::tie(population, area_tenth_mm2) < std::tie(o.population, o.area_tenth_mm2);
    }
  };
  std::map<Key, std::vector<const ConeProfile*>> groups;
  for (const ConeProfile* profile : profiles)
    groups[{profile->population, std::lround(profile->base_area_m2 * 1e7)}].push_back(profile);
  std::vector<ConeZone> out;
  for (const auto& [key, group] : groups) {
    ConeZone zone{.tests = group.size(), .points = 0, .population = key.population, .base_area_m2 = group.front()->base_area_m2, .layers = {}, .remarks = {}};
    std::vector<std::string> points;
    double gain = 0;
    for (const ConeProfile* profile : group) {
      const std::string where = profile->source.point.empty() ? profile->source.id : profile->source.point;
      if (std::find(points.begin(), points.end(), where) == points.end()) points.push_back(where);
      for (const std::string& remark : profile->remarks) {
        if (std::find(zone.remarks.begin(), zone.remarks.end(), remark) == zone.remarks.end())
          zone.remarks.push_back(remark);
      }
      const auto instrument = std::find_if(instruments.begin(), instruments.end(),
                                           [&](const Instrument& i) { return i.id == profile->source.instrument; });
      if (instrument != instruments.end()) gain = std::max(gain, instrument->load.gain_relative_sd);
    }
    zone.points = points.size();
    const std::size_t layers = group.front()->layers.size();
    for (std::size_t e = 0; e < layers; ++e) {
      const double from = settings.cone_layer_edges_m[e], to = settings.cone_layer_edges_m[e + 1];
      const auto reduce = [&](auto pick) -> std::optional<Parameter> {
        std::vector<double> values;
        for (const std::string& where : points) {
          std::vector<double> here;
          for (const ConeProfile* profile : group) {
            const std::string point = profile->source.point.empty() ? profile->source.id : profile->source.point;
            const std::optional<double> value = pick(profile->layers[e]);
            if (point == where && value && *value > 0) here.push_back(std::log(*value));
          }
          if (!here.empty()) values.push_back(math::mean(here));
        }
        if (values.empty()) return std::nullopt;
        const double centre = math::mean(values);
        const detail::Spread spread = detail::spread_of(values, gain * gain);
        Parameter p;
        p.unit = "Pa";
        p.estimate = detail::estimate_from_spread(centre, spread, detail::Scale::logarithmic);
        p.average_soil_only = detail::soil_only(centre, spread, detail::Scale::logarithmic);
        p.instrument_sd = gain * p.estimate.value;
        p.basis = fmt::format(
            "geometric mean over points of the mean over depth {}, cone base {}, {} at {}", layer_words(from, to, settings.output_units),
            area(group.front()->base_area_m2, settings.output_units), units::print_count(group.size(), "test"), units::print_count(values.size(), "point"));
        return p;
      };
      auto index = reduce([](const ConeLayer& layer) { return layer.cone_index_pa; });
      if (!index) continue;
      // Tables are SI; where cones of two bases were pushed, a row must say whose it is.
      const std::string meant = layer_words(from, to, units::OutputUnits::si) + (groups.size() > 1 ? ", cone base " + area(zone.base_area_m2, units::OutputUnits::si) : "");
      index->key = "CI";
      index->meaning = "cone index " + meant;
      auto rating = reduce([](const ConeLayer& layer) { return layer.rating_cone_index_pa; });
      if (rating) {
        rating->key = "RCI";
        rating->meaning = "rating cone index " + meant;
      }
      zone.layers.push_back(
          {.from_m = from, .to_m = to, .cone_index = std::move(*index), .rating_cone_index = std::move(rating)});
    }
    out.push_back(std::move(zone));
  }
  return out;
}

}  // namespace hardpan::records
