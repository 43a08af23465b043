// SPDX-License-Identifier: Apache-2.0
// [[endurance]] and [[boulders]]: how far a vehicle gets on a drive profile, and over ground with rocks.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "performance/boulder_field.hpp"
#include "performance/crossing.hpp"
#include "performance/endurance.hpp"

namespace hardpan::campaign {

struct EnduranceQuestion {
  std::string vehicle, name;
  std::vector<performance::TripRow> rows;       // there, and back where asked
  std::vector<std::string> zones;               // of TripRow::ground
  std::optional<double> battery_j;              // the vehicle's own where absent
  std::optional<double> temperature_k;          // with derating
  std::vector<performance::DeratingRow> derating;
  double reserve_ratio = 0, start_ratio = 1;
};
struct EnduranceAnswer {
  std::string vehicle, name;
  std::string why_not;                          // not empty: no answer, and why
  std::vector<performance::TripRow> rows;
  std::vector<std::string> zones;
  std::optional<double> temperature_k;
  double battery_j = 0, usable_ratio = 1;       // stated, and the share at the temperature
  performance::TripSettings settings;
  std::optional<performance::Endurance> endurance;
};

struct BouldersQuestion {
  std::string name;
  std::vector<std::string> vehicles;            // empty: every vehicle
  std::optional<double> friction, step_m;       // one of the two
  std::optional<performance::RockLaw> law;      // or the map
  std::optional<std::pair<performance::RockLaw, performance::RockLaw>> law_between;  // of the ends of a stated 95 % range of the coverage, sparser first
  std::string law_words;                        // "Golombek and Rapp 1997, 10 % covered", a file
  std::vector<performance::Rock> rocks;
  std::optional<performance::Plot> plot;
  performance::RockShape shape;
  double length_m = 100;
  std::optional<performance::Run> run;
};
struct BoulderAnswer {
  std::string vehicle, name;
  std::string why_not;                          // not empty: no answer, and why
  std::string law_words;
  double length_m = 0;
  performance::RockShape shape;
  performance::Swath swath;
  std::optional<performance::ObstacleLimit> highest_step;   // where computed
  double hits_per_m = 0;                        // by the law or the map
  std::optional<math::Interval> hits_per_m_interval;        // 95 %: of the stated range of coverage, or of the rocks that a map counts
  double wheel_hits_per_m = 0;                  // of these, by rocks that stop a wheel; the others stop the body
  double clear_probability = 0;                 // of a run of length_m
  double half_clear_m = 0;                      // length that every second run gets
  std::optional<performance::MappedField> field;  // of a map, with intervals
  performance::Plot plot;
  bool plot_assumed = false;
  std::vector<performance::Rock> rocks;
  std::vector<performance::Met> met;            // on the run
  std::optional<performance::Run> run;
  // Of the law, at some diameters from the smallest stopping one.
  struct Size {
    double diameter_m = 0, number_per_m2 = 0, stopping_width_m = 0;
    std::optional<double> area_ratio;
  };
  std::vector<Size> sizes;

  // Of the chance of a clear run of length_m, by the rates.
  [[nodiscard]] std::optional<math::Interval> clear_interval() const {
    if (!hits_per_m_interval) return std::nullopt;
    return math::Interval{performance::clear_run_probability(hits_per_m_interval->hi, length_m), performance::clear_run_probability(hits_per_m_interval->lo, length_m)};
  }
  [[nodiscard]] const char* stopped_mostly_by() const {
    if (!(hits_per_m > 0)) return "nothing";
    return 2 * wheel_hits_per_m >= hits_per_m ? "rocks above the highest step" : "rocks above the clearance";
  }
};

}  // namespace hardpan::campaign
