// SPDX-License-Identifier: Apache-2.0
// What all simulated sheets share: the files being written, dice by name, the points and their own ground.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "fieldsim/truth.hpp"
#include "math/random.hpp"

namespace fieldsim {

// Random numbers of one purpose: the same seed and name give the same sequence whatever else is drawn.
class Dice {
 public:
  Dice(std::uint64_t seed, const std::string& name) : stream_(seed, hardpan::math::stream_id(name)) {}
  double normal(double sd = 1) { return sd * stream_.normal(next_++); }
  double uniform(double lo, double hi) { return lo + (hi - lo) * stream_.uniform(next_++); }

 private:
  hardpan::math::Stream stream_;
  std::uint64_t next_ = 0;
};

// A correlated series: each step forgets a part of the last.
class Wander {
 public:
  Wander(Dice& dice, double sd, double step_s, double time_s);
  double next();

 private:
  Dice& dice_;
  double keep_, push_, value_;
};

struct FieldPoint {
  std::string id, zone, position, time, weather;
  double moisture_5cm, moisture_15cm;     // ratios
  double level = 0, exponent = 0;         // u and v of the plates
  double cohesion = 1, tan_phi = 1, modulus = 1, cone = 1;  // factors
};

// The folder in the making: path -> bytes, and the [[record]] entries of campaign.toml in order.
struct Field {
  explicit Field(std::uint64_t seed);

  std::uint64_t seed;
  std::vector<FieldPoint> points;
  std::map<std::string, std::string> files;
  std::string records;                    // text of the [[record]] entries
  std::string amendments;                 // lines of amendments.csv

  [[nodiscard]] const FieldPoint& point(const std::string& id) const;
  [[nodiscard]] Dice dice(const std::string& name) const { return {seed, name}; }
  void add_record(const std::string& path, const std::string& bytes, const std::string& keys);
  void amend(const std::string& path, std::size_t line, const std::string& column, const std::string& action, const std::string& old_value,
             const std::string& new_value, const std::string& initials, const std::string& time, const std::string& reason);
};

inline constexpr const char* kSaysInvented = "# Tern Spit: invented data, simulated by fieldsim; nothing here was measured.\n";

// To the nearest step of the instrument.
[[nodiscard]] double rounded(double value, double step);
// "3 1/4": to the nearest quarter.
[[nodiscard]] std::string quarters(double value);
// Hours after midnight on the day of the point, as "2026-04-12T10:05".
[[nodiscard]] std::string stamp(const FieldPoint& point, double hours);
// The line in `text` (counted from 1) that starts with `start`; 0 when there is none.
[[nodiscard]] std::size_t line_of(const std::string& text, const std::string& start);

[[nodiscard]] double pull_coefficient(const PullTruth& truth, double slip_ratio);
[[nodiscard]] double torque_coefficient(const PullTruth& truth, double slip_ratio);
// The least slip at which the curve reaches `coefficient`, or a negative number when it never does.
[[nodiscard]] double slip_at(const PullTruth& truth, double run_factor, double coefficient);

// One function a group of instruments; each adds files and record entries.
void simulate_plates(Field& field);
void simulate_rings(Field& field);
void simulate_cones(Field& field);
void simulate_samples(Field& field);
void simulate_tow_logs(Field& field);
void simulate_hand_sheets(Field& field);
// The two vehicles.
void write_vehicles(Field& field);
// Tries at a step, turns, remote runs and climbs of two vehicles in turn; vehicle_path: the written file of dunlin.
void simulate_trials(Field& field, const std::string& vehicle_path);
// Tries at the cut, the trip, runs among rocks and over the rutted track; likewise.
void simulate_ways(Field& field, const std::string& vehicle_path);
// campaign.toml, instruments.toml, requirements.toml, amendments.csv; after all the others.
void write_campaign_text(Field& field);

}  // namespace fieldsim
