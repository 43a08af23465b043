// SPDX-License-Identifier: Apache-2.0
#include "performance/endurance.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "math/draws.hpp"

namespace hardpan::performance {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

// Warming of one axle's drives: h' = ((T/Tc)^2 - h) / tau, hot at 1.
struct Warming {
  double drive_ratio = 0;              // (T/Tc)^2
  double tau_s = kInfinity;
  bool unknown = false;

  [[nodiscard]] double after(double heat, double time_s) const { return std::isinf(tau_s) ? heat : drive_ratio + (heat - drive_ratio) * std::exp(-time_s / tau_s); }
  [[nodiscard]] double time_to_hot_s(double heat) const {
    if (!(drive_ratio > 1) || std::isinf(tau_s)) return kInfinity;
    return heat >= 1 ? 0 : -tau_s * std::log((drive_ratio - 1) / (drive_ratio - heat));
  }
};

Warming warming_of(const vehicle::Drive& d, double torque_n_m) {
  Warming w;
  if (!d.driven || !d.continuous_torque_n_m) return w;
  w.drive_ratio = std::pow(torque_n_m / *d.continuous_torque_n_m, 2);
  if (const auto tau = vehicle::thermal_time_s(d)) w.tau_s = *tau;
  else w.unknown = w.drive_ratio > 1;
  return w;
}

// Battery work a metre without idle loads, which Travel counts at its own speed.
double work_j_per_m(const Travel& t, double idle_w) { return t.energy_j_per_m - (std::isfinite(t.speed_m_s) && t.speed_m_s > 0 ? idle_w / t.speed_m_s : 0); }

struct Progress {
  Trip trip;
  double charge_j = 0;
  std::vector<double> heat;
};

// Lets `power_w` (negative: given back) act for a time; how much of it passes before the battery is down to the reserve.
double battery_time_s(double power_w, double charge_j, double reserve_j) { return power_w > 0 ? std::max(0.0, (charge_j - reserve_j) / power_w) : kInfinity; }

void take(Progress& p, TripLeg& leg, double power_w, double time_s, double full_j) {
  const double wanted = power_w * time_s, given = std::max(wanted, p.charge_j - full_j);   // a full battery takes nothing back
  leg.lost_j += given - wanted;
  leg.energy_j += given;
  leg.time_s += time_s;
  p.charge_j -= given;
}

void drive_row(Progress& p, const TripRow& row, const Travel& t, const vehicle::Vehicle& v, const TripSettings& s) {
  TripLeg leg{.slip_ratio = t.slip_ratio, .torque_n_m = t.torque_n_m, .sinkage_m = t.sinkage_m, .solve = t.state.solve};
  const auto stop = [&](TripLimit why) { p.trip.stopped_by = why; };
  const double reserve_j = s.reserve_ratio * s.usable_j;
  leg.speed_m_s = std::min(row.speed_m_s.value_or(kInfinity), t.speed_m_s);
  if (t.factor == LimitingFactor::not_converged) {
    stop(TripLimit::not_converged);
  } else if (!t.goes) {
    stop(TripLimit::ground);
    p.trip.factor = t.factor;
  } else if (!std::isfinite(leg.speed_m_s) || !(leg.speed_m_s > 0)) {
    stop(TripLimit::no_speed);
  }
  if (p.trip.stopped_by == TripLimit::none) {
    std::vector<Warming> warm;
    double hot_s = kInfinity;
    bool over = false;
    for (std::size_t i = 0; i < v.axles.size(); ++i) {
      warm.push_back(warming_of(v.axles[i].drive, t.state.wheel[i].torque_n_m));
      hot_s = std::min(hot_s, warm[i].time_to_hot_s(p.heat[i]));
      over = over || (warm[i].drive_ratio > 1 && !warm[i].unknown);
      leg.heat_unknown = leg.heat_unknown || warm[i].unknown;
    }
    if (over) leg.holds_s = hot_s;
    const double power_w = work_j_per_m(t, v.idle_power_w) * leg.speed_m_s + v.idle_power_w;
    const double whole_s = row.distance_m / leg.speed_m_s, battery_s = battery_time_s(power_w, p.charge_j, reserve_j);
    const double time_s = std::min({whole_s, hot_s, battery_s});
    take(p, leg, power_w, time_s, s.usable_j);
    leg.distance_m = time_s == whole_s ? row.distance_m : leg.speed_m_s * time_s;
    for (std::size_t i = 0; i < warm.size(); ++i) {
      p.heat[i] = warm[i].after(p.heat[i], time_s);
      leg.heat_ratio = std::max(leg.heat_ratio, p.heat[i]);
    }
    if (time_s < whole_s) {
      stop(battery_s <= hot_s ? TripLimit::battery : TripLimit::hot_drive);
    } else if (row.halt_s > 0) {
      const double halt_s = std::min(row.halt_s, battery_time_s(v.idle_power_w, p.charge_j, reserve_j));
      take(p, leg, v.idle_power_w, halt_s, s.usable_j);
      for (std::size_t i = 0; i < warm.size(); ++i) {
        warm[i].drive_ratio = 0;
        p.heat[i] = warm[i].after(p.heat[i], halt_s);
      }
      if (halt_s < row.halt_s) stop(TripLimit::battery);
    }
  }
  leg.charge_ratio = p.charge_j / s.usable_j;
  p.trip.distance_m += leg.distance_m;
  p.trip.time_s += leg.time_s;
  p.trip.energy_j += leg.energy_j;
  p.trip.legs.push_back(leg);
}

struct Kind {
  std::size_t ground = 0;
  double gradient_rad = 0;
  auto operator<=>(const Kind&) const = default;
};

std::optional<math::Interval> central(std::vector<double> values) {
  std::erase_if(values, [](double v) { return !std::isfinite(v); });
  if (values.size() < math::kFewestDrawsForInterval) return std::nullopt;
  std::sort(values.begin(), values.end());
  const double last = static_cast<double>(values.size() - 1), tail = 0.5 * (1 - math::kIntervalLevel);
  return math::Interval{values[static_cast<std::size_t>(std::floor(tail * last))], values[static_cast<std::size_t>(std::ceil((1 - tail) * last))]};
}

math::Estimate estimate(double centre, const std::vector<double>& average, const std::vector<double>& next, const Placed& placed, const std::string& reason) {
  if (!reason.empty() || next.empty()) return math::estimate_without_interval(centre, reason.empty() ? "no trip gets so far" : reason, placed.points);
  math::Estimate e{.value = centre, .average_ground = central(average), .next_point = central(next), .n = placed.points, .status = math::kStatusOk};
  if (!e.next_point) e.status = fmt::format("no interval: {} of the possible soils get so far", next.size());
  if (e.next_point && e.average_ground) e.next_point = math::Interval{std::min(e.next_point->lo, e.average_ground->lo), std::max(e.next_point->hi, e.average_ground->hi)};
  return e;
}

}  // namespace

const char* name(TripLimit limit) {
  switch (limit) {
    case TripLimit::none: return "arrives";
    case TripLimit::ground: return "the ground";
    case TripLimit::battery: return "the battery, down to its reserve";
    case TripLimit::hot_drive: return "a drive grows hot";
    case TripLimit::no_speed: return "no speed is stated or left";
    case TripLimit::not_converged: return "no numerical answer";
  }
  return "";
}

std::vector<TripRow> there_and_back(std::vector<TripRow> rows) {
  const std::size_t n = rows.size();
  for (std::size_t i = n; i-- > 0;) {
    TripRow back = rows[i];
    back.gradient_rad = -back.gradient_rad;
    back.halt_s = i > 0 ? rows[i - 1].halt_s : 0;
    if (!back.name.empty()) back.name += ", back";
    rows.push_back(back);
  }
  return rows;
}

void check_trip(const std::vector<TripRow>& rows, std::size_t grounds, const base::Place& place, base::Problems& problems) {
  const auto refuse = [&](std::size_t k, const char* key, const char* what, std::string value, const char* bound) {
    base::Place at = place;
    if (at.line > 0) at.line += k;
    at.key += (at.key.empty() ? "" : ".") + fmt::format("row[{}].{}", k + 1, key);
    problems.refuse({.place = at, .what = what, .value = std::move(value), .bound = bound});
  };
  if (rows.empty()) problems.refuse({.place = place, .what = "a drive profile without rows", .bound = "1 or more"});
  for (std::size_t k = 0; k < rows.size(); ++k) {
    const TripRow& r = rows[k];
    if (!(r.distance_m > 0 && r.distance_m <= 1e7)) refuse(k, "distance", "not a distance to drive", fmt::format("{:g} m", r.distance_m), "above 0 to 10,000 km");
    if (!(std::abs(r.gradient_rad) <= 1.3)) refuse(k, "gradient", "not a gradient a vehicle drives on", fmt::format("{:g} deg", r.gradient_rad * 57.29577951308232), "-74 to 74 deg");
    if (r.speed_m_s && !(*r.speed_m_s > 0 && *r.speed_m_s <= 200)) refuse(k, "speed", "not a speed", fmt::format("{:g} m/s", *r.speed_m_s), "above 0 to 200 m/s");
    if (!(r.halt_s >= 0 && r.halt_s <= 1e8)) refuse(k, "halt", "not a time to stand", fmt::format("{:g} s", r.halt_s), "0 or more");
    if (r.ground >= grounds) refuse(k, "ground", "no such ground", std::to_string(r.ground), "one of those given");
  }
}

std::optional<double> usable_ratio(const std::vector<DeratingRow>& rows, double temperature_k) {
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (temperature_k == rows[i].temperature_k) return rows[i].usable_ratio;
    if (i > 0 && temperature_k > rows[i - 1].temperature_k && temperature_k < rows[i].temperature_k) {
      const double share = (temperature_k - rows[i - 1].temperature_k) / (rows[i].temperature_k - rows[i - 1].temperature_k);
      return rows[i - 1].usable_ratio + share * (rows[i].usable_ratio - rows[i - 1].usable_ratio);
    }
  }
  return std::nullopt;
}

void check_derating(const std::vector<DeratingRow>& rows, const base::Place& place, base::Problems& problems) {
  for (std::size_t k = 0; k < rows.size(); ++k) {
    base::Place at = place;
    at.key += fmt::format("[{}]", k + 1);
    if (!(rows[k].temperature_k > 0 && rows[k].temperature_k < 1000)) problems.refuse({.place = at, .what = "not a temperature of a battery", .value = fmt::format("{:g} K", rows[k].temperature_k), .bound = "above 0, below 1000 K"});
    else if (k > 0 && !(rows[k].temperature_k > rows[k - 1].temperature_k)) problems.refuse({.place = at, .what = "temperatures do not rise", .value = fmt::format("{:g} K", rows[k].temperature_k)});
    if (!(rows[k].usable_ratio >= 0 && rows[k].usable_ratio <= 1.5)) problems.refuse({.place = at, .what = "not a share of the battery's energy", .value = fmt::format("{:g}", rows[k].usable_ratio), .bound = "0 to 1.5"});
  }
}

Trip drive(const std::vector<TripRow>& rows, const std::vector<Travel>& travels, const vehicle::Vehicle& vehicle, const TripSettings& settings) {
  Progress p{.charge_j = settings.start_ratio * settings.usable_j, .heat = std::vector<double>(vehicle.axles.size(), 0.0)};
  std::size_t i = 0;
  for (; i < rows.size() && p.trip.stopped_by == TripLimit::none; ++i) drive_row(p, rows[i], travels[i], vehicle, settings);
  p.trip.row = p.trip.arrives() ? rows.size() : i - 1;
  p.trip.charge_ratio = p.charge_j / settings.usable_j;
  return p.trip;
}

Trip drive(const std::vector<TripRow>& rows, const std::vector<OnSoil>& grounds, const vehicle::Vehicle& vehicle, const TripSettings& settings) {
  Workspace space;
  std::vector<Travel> travels(rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i) performance::travels({&grounds[rows[i].ground], 1}, rows[i].gradient_rad, 0, {&travels[i], 1}, space);
  return drive(rows, travels, vehicle, settings);
}

Endurance endurance(const std::vector<TripRow>& rows, const std::vector<const Placed*>& placed, const vehicle::Vehicle& vehicle, const TripSettings& settings) {
  Endurance out;
  std::map<Kind, std::size_t> kinds;   // rows of one ground and gradient travel alike
  for (const TripRow& r : rows) kinds.emplace(Kind{r.ground, r.gradient_rad}, kinds.size());
  std::size_t draws = placed.empty() ? 0 : std::numeric_limits<std::size_t>::max();
  for (const TripRow& r : rows) {
    const Placed& g = *placed[r.ground];
    draws = std::min(draws, g.next_point.size());
    if (g.next_point.empty() && out.reason_without.empty()) out.reason_without = g.reason_without.empty() ? "no possible soils" : g.reason_without;
  }
  const auto all_travels = [&](auto&& soils_of, std::size_t count) {
    std::vector<std::vector<Travel>> by_kind(kinds.size());
    for (const auto& [kind, place] : kinds) {
      const Placed& g = *placed[kind.ground];
      const std::span<const OnSoil> on = soils_of(g);
      std::vector<Travel>& to = by_kind[place];
      to.resize(count);
      base::ThreadPool(g.plan.threads).for_chunks(count, base::kDrawsPerChunk, {}, [&](std::size_t begin, std::size_t end) {
        thread_local Workspace space;
        space.target = g.plan.target;
        travels(on.subspan(begin, end - begin), kind.gradient_rad, 0, std::span<Travel>(to).subspan(begin, end - begin), space);
      });
    }
    std::vector<Trip> trips(count);
    for (std::size_t k = 0; k < count; ++k) {
      std::vector<Travel> own;
      for (const TripRow& r : rows) own.push_back(by_kind[kinds.at({r.ground, r.gradient_rad})][k]);
      trips[k] = drive(rows, own, vehicle, settings);
    }
    return trips;
  };
  out.centre = all_travels([](const Placed& g) { return std::span<const OnSoil>(&g.centre, 1); }, 1).front();
  const Placed& first = *placed[rows.front().ground];
  std::vector<Trip> average, next;
  if (out.reason_without.empty()) {
    average = all_travels([](const Placed& g) { return std::span<const OnSoil>(g.average); }, draws);
    next = all_travels([](const Placed& g) { return std::span<const OnSoil>(g.next_point); }, draws);
  }
  out.draws = next.size();
  out.arrival_ratio = out.centre.arrives() ? 1 : 0;
  out.stopped_in_row.assign(rows.size() + 1, 0);
  std::map<TripLimit, std::size_t> counts;
  std::size_t arrived = 0;
  for (const Trip& t : next) {
    ++out.stopped_in_row[t.row];
    ++counts[t.stopped_by];
    arrived += t.arrives() ? 1 : 0;
    out.not_converged += t.stopped_by == TripLimit::not_converged ? 1 : 0;
  }
  if (!next.empty()) out.arrival_ratio = static_cast<double>(arrived) / static_cast<double>(next.size());
  for (const auto& [limit, n] : counts) out.limits.emplace_back(limit, static_cast<double>(n) / static_cast<double>(next.size()));
  std::stable_sort(out.limits.begin(), out.limits.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
  const auto told = [&](auto&& of, double centre) {
    std::vector<double> a, n;
    for (const Trip& t : average) if (const auto v = of(t)) a.push_back(*v);
    for (const Trip& t : next) if (const auto v = of(t)) n.push_back(*v);
    return estimate(centre, a, n, first, out.reason_without);
  };
  const auto solved = [](const Trip& t) { return t.stopped_by != TripLimit::not_converged; };
  out.distance_m = told([&](const Trip& t) { return solved(t) ? std::optional(t.distance_m) : std::nullopt; }, solved(out.centre) ? out.centre.distance_m : kNaN);
  for (const Trip& t : average) out.average_distance_m.push_back(solved(t) ? t.distance_m : kNaN);
  for (const Trip& t : next) out.next_distance_m.push_back(solved(t) ? t.distance_m : kNaN);
  out.energy_j = told([&](const Trip& t) { return t.arrives() ? std::optional(t.energy_j) : std::nullopt; }, out.centre.arrives() ? out.centre.energy_j : kNaN);
  out.time_s = told([&](const Trip& t) { return t.arrives() ? std::optional(t.time_s) : std::nullopt; }, out.centre.arrives() ? out.centre.time_s : kNaN);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (const auto& [to, of] : {std::pair{&out.charge_after, &TripLeg::charge_ratio}, {&out.row_energy_j, &TripLeg::energy_j}, {&out.row_time_s, &TripLeg::time_s}}) {
      const auto at_end = [&](const Trip& t) { return t.row > i ? std::optional(t.legs[i].*of) : std::nullopt; };
      to->push_back(told(at_end, at_end(out.centre).value_or(kNaN)));
    }
  }
  return out;
}

}  // namespace hardpan::performance
