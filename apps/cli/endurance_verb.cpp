// SPDX-License-Identifier: Apache-2.0
// Quick answer: how far a vehicle gets on a drive profile.
#include <fmt/core.h>
#include <fmt/format.h>

#include <cmath>

#include "print.hpp"
#include "print_parts.hpp"
#include "service/endurance.hpp"
#include "units/unit_text.hpp"
#include "way_verbs.hpp"

namespace hardpan::cli {
namespace {

namespace p = performance;
using units::Dimension;

std::string hours(double s) { return s < 120 ? fmt::format("{:.0f} s", s) : s < 7200 ? fmt::format("{:.1f} min", s / 60) : fmt::format("{:.2f} h", s / 3600); }

std::string endurance_text(const service::EnduranceResult& r, units::OutputUnits u) {
  const p::Trip& t = r.trip;
  const units::Unit far = *units::find_unit(u == units::OutputUnits::us ? "mi" : "km"), near = column_unit(Dimension::length, u), speed = column_unit(Dimension::speed, u), torque = column_unit(Dimension::torque, u);
  const auto in = [](double si, const units::Unit& unit, int digits = 3) { return number(units::from_si(si, unit), digits); };
  std::string out = fmt::format("{}: {} Wh usable{}, reserve {:.0f} %\n", r.vehicle, number(r.settings.usable_j / 3600, 4), r.usable_ratio != 1 ? fmt::format(" ({} % of {} at the temperature)", number(100 * r.usable_ratio), number(r.battery_j / 3600, 4)) : "", 100 * r.settings.reserve_ratio);
  double whole = 0;
  for (const p::TripRow& row : r.rows) whole += row.distance_m;
  if (t.arrives()) {
    out += fmt::format("  Arrives: {} {} in {}, {} Wh, {:.0f} % left\n", in(t.distance_m, far, 4), far.spelling, hours(t.time_s), number(t.energy_j / 3600, 4), 100 * t.charge_ratio);
  } else {
    out += fmt::format("  Ends in row {} after {} of {} {} and {}: {}{}; {} Wh used, {:.0f} % left\n", t.row + 1, in(t.distance_m, far, 4), in(whole, far, 4), far.spelling, hours(t.time_s), p::name(t.stopped_by),
                       t.stopped_by == p::TripLimit::ground ? fmt::format(" ({})", p::name(t.factor)) : "", number(t.energy_j / 3600, 4), 100 * t.charge_ratio);
  }
  std::vector<std::vector<std::string>> rows{{"row", "ground", "gradient (deg)", fmt::format("driven ({})", near.spelling), fmt::format("speed ({})", speed.spelling), "slip (%)", fmt::format("torque ({})", torque.spelling), "Wh", "charge after (%)",
                                              "drive heat (%)", "remark"}};
  bool as_fast = false;
  for (std::size_t i = 0; i < t.legs.size(); ++i) {
    const p::TripLeg& l = t.legs[i];
    const p::TripRow& row = r.rows[i];
    std::vector<std::string> remarks;
    // A speed asked for is held where the drives give it.
    if (row.speed_m_s && std::isfinite(l.speed_m_s) && l.speed_m_s < *row.speed_m_s) remarks.push_back(fmt::format("asked {} {}, the drives give {} here", in(*row.speed_m_s, speed), speed.spelling, in(l.speed_m_s, speed)));
    as_fast = as_fast || !row.speed_m_s;
    if (l.holds_s) remarks.push_back(fmt::format("torque held for {}", hours(*l.holds_s)));
    if (l.heat_unknown) remarks.push_back("over the continuous torque, no time stated: not judged");
    if (l.lost_j > 0) remarks.push_back(fmt::format("full battery refuses {} Wh", number(l.lost_j / 3600)));
    rows.push_back({fmt::format("{}{}", i + 1, row.name.empty() ? "" : " " + row.name), r.grounds[row.ground].id, fixed(row.gradient_rad * kDeg, 1), fixed(units::from_si(l.distance_m, near), 0), in(l.speed_m_s, speed), number(100 * l.slip_ratio),
                    in(l.torque_n_m, torque), number(l.energy_j / 3600), fixed(100 * l.charge_ratio, 0), fixed(100 * l.heat_ratio, 0), fmt::format("{}", fmt::join(remarks, "; "))});
  }
  out += table(rows);
  if (as_fast) out += "  Rows without a speed are driven as fast as drives and power allow.\n";
  out += "  One soil a ground, no interval; steady driving, no turning, starting or wind. Keep the way back in the reserve.\n";
  return out;
}

struct EnduranceVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  UnitsOption units_out;
  std::string vehicle_file, trip, gravity, battery, temperature, reserve, charge;
  std::vector<std::string> derating;
  bool and_back = false;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--trip", trip, "sheet of the drive profile: distance, gradient; speed, halt, ground, name where wanted")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--battery", battery, "usable energy instead of the vehicle's own: '2 kWh'");
    v.add_option("--temperature", temperature, "of the battery: '-10 degC'; with");
    v.add_option("--derating", derating, "temperature and usable share, rising: '-20 degC: 60 %' '20 degC: 100 %'");
    v.add_option("--reserve", reserve, "share of the usable energy that stays: '20 %'");
    v.add_option("--charge", charge, "share at the start: '90 %'; full where not given");
    v.add_flag("--and-back", and_back, "the same way back, gradients turned, halts again");
    units_out.add_to(v);
    soil.add_to(v);
  }

  int answer(const CommandLine& line) const {
    base::Problems problems = line.faults();
    Values val(problems);
    service::EnduranceRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .trip_file = trip, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0),
                                .battery_j = val.get("battery", battery, Dimension::energy), .temperature_k = val.get("temperature", temperature, Dimension::temperature),
                                .reserve_ratio = val.get("reserve", reserve, Dimension::none).value_or(0), .start_ratio = val.get("charge", charge, Dimension::none).value_or(1), .and_back = and_back, .slip_sinkage = soil.rule()};
    for (const std::string& row : derating) {
      const std::size_t colon = row.find(':');
      if (colon == std::string::npos) {
        problems.refuse({.place = {.key = "--derating"}, .what = "no colon between temperature and share", .value = row, .remedy = "type --derating '-20 degC: 60 %'"});
        continue;
      }
      const auto at = val.get("derating", row.substr(0, colon), Dimension::temperature), share = val.get("derating", row.substr(colon + 1), Dimension::none);
      if (at && share) q.derating.push_back({*at, *share});
    }
    const auto r = val.answer([&] { return service::endurance(q); });
    line.put_answer(problems, r.remarks, [&] { return service::endurance_json(r); }, [&] { return endurance_text(r, units_out.units()); });
    return r.trip.stopped_by == p::TripLimit::not_converged ? 3 : 0;
  }
};

}  // namespace

void add_endurance_verb(CommandLine& line) { line.add_verb<EnduranceVerb>("endurance"); }

}  // namespace hardpan::cli
