// SPDX-License-Identifier: Apache-2.0
// Vehicle trials on a terminal: obstacles, turns, remote runs, two vehicles in turn, ruts by pass.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "print.hpp"
#include "print_parts.hpp"
#include "units/constants.hpp"

namespace hardpan::cli {

using units::Dimension;
using units::OutputUnits;

namespace {

OutputUnits units_of(const campaign::Results& r) { return r.campaign.output_units == campaign::OutputUnits::us ? OutputUnits::us : OutputUnits::si; }

std::string mean_of(const std::optional<math::Estimate>& e, Dimension d, OutputUnits u) {
  if (!e || !std::isfinite(e->value)) return "-";
  return units::print_quantity(e->value, d, u) + (e->average_ground ? " (" + units::print_interval(e->average_ground->lo, e->average_ground->hi, d, u) + ")" : "");
}

// A column in the unit of its largest number, so that it does not mix mm and m.
std::vector<std::string> column_of(const std::vector<std::optional<math::Estimate>>& estimates, Dimension d, OutputUnits u) {
  double most = 0;
  for (const auto& e : estimates) {
    if (!e || !std::isfinite(e->value)) continue;
    most = std::max(most, std::abs(e->value));
    if (e->average_ground) most = std::max({most, std::abs(e->average_ground->lo), std::abs(e->average_ground->hi)});
  }
  const units::Unit unit = units::output_unit(most, d, u);
  // Two significant digits of its width, as print_interval has them.
  const auto interval = [&](const math::Interval& i) {
    const double lo = units::from_si(i.lo, unit), hi = units::from_si(i.hi, unit);
    const int decimals = hi > lo ? std::max(0, 1 - static_cast<int>(std::floor(std::log10(hi - lo)))) : 2;
    return fixed(lo, decimals) + " to " + fixed(hi, decimals) + " " + unit.spelling;
  };
  std::vector<std::string> out;
  for (const auto& e : estimates) {
    if (!e || !std::isfinite(e->value)) out.emplace_back("-");
    else out.push_back(units::print_in(e->value, unit) + (e->average_ground ? " (" + interval(*e->average_ground) + ")" : ""));
  }
  return out;
}

}  // namespace

std::string trials_text(const campaign::Results& r) {
  const OutputUnits u = units_of(r);
  const records::TrialResult& t = r.trials.reduced;
  std::string out;
  for (const auto& k : t.obstacles) out += fmt::format("  {} at {}{}: {}\n", k.vehicle, k.profile.empty() ? "a " : "", records::group_words(k), k.text);
  for (const auto& k : t.turns) {
    out += fmt::format("  {} on {} to the {}, radius of the {}: {}\n", k.vehicle, k.zone, k.right ? "right" : "left", records::name(k.path), k.text);
    for (const auto& x : k.torque) {
      if (x.torque_n_m) out += fmt::format("    torque at {}: {}, {}\n", units::print_quantity(x.radius_m, Dimension::length, u), mean_of(x.torque_n_m, Dimension::torque, u), x.turns == 1 ? "one turn" : fmt::format("{} turns", x.turns));
    }
  }
  for (const auto& c : t.remote) {
    out += fmt::format("  remote runs of {}{}\n", c.vehicle, c.course.empty() ? "" : ", course " + c.course);
    std::vector<std::vector<std::string>> rows{{"operator", "delay", "finished", "speed, mean 95 %", "largest sideways error, mean 95 %"}};
    std::vector<std::optional<math::Estimate>> errors;
    for (const auto& k : c.by_operator) errors.push_back(k.largest_error_m);
    const std::vector<std::string> error = column_of(errors, Dimension::length, u);
    for (std::size_t i = 0; i < c.by_operator.size(); ++i) {
      const auto& k = c.by_operator[i];
      rows.push_back({k.operator_name, units::print_quantity(k.delay_s, Dimension::time, u), fmt::format("{} of {}", k.finished, k.runs), mean_of(k.speed_m_per_s, Dimension::speed, u), error[i]});
    }
    out += table(rows);
    if (c.pace.delay) {
      const double foot = u == OutputUnits::us ? units::kFoot_m : 1;
      const char* unit = u == OutputUnits::us ? "s/ft" : "s/m";
      const auto seconds = [&](const math::Estimate& e) { return number(foot * e.value) + (e.average_ground ? " (" + number(foot * e.average_ground->lo) + " to " + number(foot * e.average_ground->hi) + ")" : ""); };
      out += fmt::format("    a second of delay costs {} {} over {} runs", seconds(*c.pace.delay), unit, c.pace.runs);
      if (c.pace.practice && c.pace.delay_alone) out += fmt::format("; practice not counted it would seem to cost {} {}", number(foot * c.pace.delay_alone->value), unit);
      out += "\n";
    } else {
      out += "    no line of speed against delay: " + c.pace.status + "\n";
    }
    for (const auto& s : c.remarks) out += "    " + s + "\n";
    for (const auto& d : c.differences) {
      out += fmt::format("    {}, {} to {}: {} over {}{}\n", d.what, d.first, d.second, mean_of(d.speed_m_per_s, Dimension::speed, u), d.operators == 1 ? "one operator" : fmt::format("{} operators", d.operators),
                         d.speed_equal_practice_m_per_s ? ", at equal practice " + mean_of(d.speed_equal_practice_m_per_s, Dimension::speed, u) : "");
    }
  }
  for (const auto& k : t.trips) out += fmt::format("  {} along {}: {}\n", k.vehicle, k.trip.empty() ? "its way" : k.trip, k.text);
  for (const auto& k : t.rocks) out += fmt::format("  {} among {}: {}\n", k.vehicle, k.rocks.empty() ? "rocks" : k.rocks, k.text);
  for (const auto& k : t.rough) out += fmt::format("  {} over {}: {}\n", k.vehicle, k.ride.empty() ? "rough ground" : k.ride, k.text);
  for (const auto& p : t.pairs) {
    const auto& d = p.difference;
    const auto print = [&](double v) { return p.quantity == "slip on a slope" ? fmt::format("{:.1f} %", 100 * v) : with_unit(v, p.unit_si, u); };
    out += fmt::format("  {}, {}, {}: {} less {} {}{} over {} pairs{}\n", p.zone, p.quantity, p.condition, d.first, d.second, print(d.difference.value),
                       d.difference.average_ground ? " (" + print(d.difference.average_ground->lo) + " to " + print(d.difference.average_ground->hi) + ")" : "", d.pairs, d.note.empty() ? "" : "; " + d.note);
  }
  for (const auto& s : t.notes) out += "  " + s + "\n";
  return out;
}

std::string compared_trials_text(const campaign::Results& r) {
  std::string out;
  const campaign::TrialResults& t = r.trials;
  if (!t.obstacles.empty() || !t.turns.empty() || !t.remote.empty() || !t.trips.empty() || !t.rocks.empty() || !t.rough.empty() || !t.ruts.empty()) out += "trials\n";
  for (const auto& c : t.obstacles) out += fmt::format("  {}: {}\n", c.vehicle, c.statement);
  for (const auto& c : t.turns) out += fmt::format("  {} on {}: {}\n", c.vehicle, c.zone, c.statement);
  for (const auto& c : t.remote) out += fmt::format("  {} on {}: {}\n", c.vehicle, c.zone, c.statement);
  for (const auto& c : t.trips) out += fmt::format("  {} along {}: {}\n", c.vehicle, c.trip.empty() ? "its way" : c.trip, c.statement);
  for (const auto& c : t.rocks) out += fmt::format("  {} among {}: {}\n", c.vehicle, c.rocks.empty() ? "rocks" : c.rocks, c.statement);
  for (const auto& c : t.rough) out += fmt::format("  {} over {}: {}\n", c.vehicle, c.ride.empty() ? "rough ground" : c.ride, c.statement);
  for (const auto& c : t.ruts) out += fmt::format("  {} on {}: {}\n", c.vehicle, c.zone, c.statement);
  return out;
}

}  // namespace hardpan::cli
