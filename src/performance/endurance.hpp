// SPDX-License-Identifier: Apache-2.0
// How far a vehicle gets on a drive profile: energy and time row by row, battery with reserve and temperature, drives that grow hot.
//
// A row is a stretch of one gradient on one ground, driven at a speed asked for, with a halt after it. Its travel (travel.hpp) gives slip, torque and
// work at the battery; idle loads run all the time; braking gives back what the drives' regeneration says, and nothing to a full battery. A drive over its
// continuous torque Tc warms with (T/Tc)^2 and one time constant and is hot when it reaches what Tc would give in the long run: from cold after
// t = -tau ln(1 - (Tc/T)^2). The way ends at the first row that the ground, the battery or a hot drive does not allow. docs/theory/endurance.md.
// Left out: speeding up and slowing down, turning, wind, battery losses that grow with current, drives that share heat.
//
//   const Trip t = drive(rows, travels, vehicle, {.usable_j = 3.6e6, .reserve_ratio = 0.2});
//   say(t.distance_m, name(t.stopped_by));
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/possible_runs.hpp"

namespace hardpan::performance {

struct TripRow {
  std::string name;
  double distance_m = 0;               // above 0
  double gradient_rad = 0;             // nose up positive
  std::optional<double> speed_m_s;     // asked for; absent: as fast as drives and power allow
  double halt_s = 0;                   // after it, idle loads on
  std::size_t ground = 0;              // which of the grounds given
};
// There, and the same way back: rows in reverse order with the other sign of gradient, halts again at the same places.
[[nodiscard]] std::vector<TripRow> there_and_back(std::vector<TripRow> rows);
void check_trip(const std::vector<TripRow>& rows, std::size_t grounds, const base::Place& place, base::Problems& problems);

// Share of a battery's energy that is usable at a temperature, by measurement or data sheet: linear between rows, nothing beyond them. None is assumed.
struct DeratingRow {
  double temperature_k = 0, usable_ratio = 1;
};
[[nodiscard]] std::optional<double> usable_ratio(const std::vector<DeratingRow>& rows, double temperature_k);
// Rows rise in temperature, shares in [0, 1.5] (above 1 where the energy is stated at another temperature).
void check_derating(const std::vector<DeratingRow>& rows, const base::Place& place, base::Problems& problems);

struct TripSettings {
  double usable_j = 0;                 // at the temperature of the day, above 0
  double reserve_ratio = 0;            // of usable_j, never touched: [0, 1)
  double start_ratio = 1;              // charge at the start over usable_j, (0, 1]
};

enum class TripLimit { none /* arrived */, ground, battery, hot_drive, no_speed, not_converged };
[[nodiscard]] const char* name(TripLimit limit);

struct TripLeg {
  double distance_m = 0, time_s = 0;   // driven of this row; with the part of the halt that was reached
  double speed_m_s = 0;
  double energy_j = 0;                 // taken from the battery; negative: given back
  double lost_j = 0;                   // offered back to a full battery
  double charge_ratio = 0;             // left at the end of it, of usable_j
  double slip_ratio = 0, torque_n_m = 0, sinkage_m = 0;
  double heat_ratio = 0;               // hottest drive at the end of the drive: 1 is hot
  std::optional<double> holds_s;       // how long the torque is held from the heat at its start, where it is over the continuous one
  base::SolveReport solve;             // of the balance of forces on this row
  bool heat_unknown = false;           // over the continuous torque, and no time is stated
};
struct Trip {
  double distance_m = 0, time_s = 0, energy_j = 0;
  double charge_ratio = 0;             // left
  TripLimit stopped_by = TripLimit::none;
  LimitingFactor factor = LimitingFactor::none;  // of the ground
  std::size_t row = 0;                 // that stopped it; number of rows where it arrived
  std::vector<TripLeg> legs;           // up to and with that row
  [[nodiscard]] bool arrives() const { return stopped_by == TripLimit::none; }
};
// travels[i]: of row i, on its gradient and ground. Heat and halts need the vehicle's drives and idle loads.
[[nodiscard]] Trip drive(const std::vector<TripRow>& rows, const std::vector<Travel>& travels, const vehicle::Vehicle& vehicle, const TripSettings& settings);
// One soil a ground.
[[nodiscard]] Trip drive(const std::vector<TripRow>& rows, const std::vector<OnSoil>& grounds, const vehicle::Vehicle& vehicle, const TripSettings& settings);

// Over possible soils: draw k is the same possible soil in every row of a ground. `placed` one a ground, all with the same seed and count.
struct Endurance {
  Trip centre;                         // best-estimate soils
  math::Estimate distance_m, energy_j, time_s;   // as far as it gets; energy and time of the trips that arrive, absent below 20
  std::vector<double> average_distance_m, next_distance_m;  // of each possible soil; NaN without a numerical answer
  double arrival_ratio = 0;            // share of next-point draws that arrive; of the centre alone without draws (0 or 1)
  std::size_t draws = 0, not_converged = 0;
  std::vector<std::pair<TripLimit, double>> limits;         // of next-point draws, most frequent first
  std::vector<std::size_t> stopped_in_row;                  // next-point draws stopped in each row; one more for arrived
  // Of each row, among draws that reach its end, whose intervals are absent below 20: charge left after it, energy taken and time spent in it with its halt.
  std::vector<math::Estimate> charge_after, row_energy_j, row_time_s;
  std::string reason_without;
};
[[nodiscard]] Endurance endurance(const std::vector<TripRow>& rows, const std::vector<const Placed*>& placed, const vehicle::Vehicle& vehicle, const TripSettings& settings);

}  // namespace hardpan::performance
