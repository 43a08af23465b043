// SPDX-License-Identifier: Apache-2.0
// One tow, towed or coast-down log to windows: zero, lag, filter, steady stretches or sweep bins, means
// with standard errors that count correlated readings for what they are worth.
//
// The filter serves to find windows and to draw; means and errors come from the unfiltered, zeroed,
// lag-shifted channels. Slip of a window is that of its mean speeds (distance rolled against distance
// travelled), not a mean of momentary slips, which noise biases.
//
//   TowReduction r = reduce_tow_log(log, settings, spins, problems);
//   for (const PullWindow& w : r.windows) use(w.coefficient, w.slip_ratio);
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "math/estimate.hpp"
#include "records/slip.hpp"
#include "records/vehicle_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

enum class WindowMode { automatic, steady, sweep };
[[nodiscard]] const char* name(WindowMode mode);
enum class ZeroSource { marked, found, found_both_ends, none };
[[nodiscard]] const char* name(ZeroSource source);
enum class LagSource { stated, estimated, not_identified, not_applicable };
[[nodiscard]] const char* name(LagSource source);
enum class GradientSource { stated, pitch, paired_runs, assumed_level };
[[nodiscard]] const char* name(GradientSource source);
// tractive: pull power over axle power. overall: pull power over electric or motor power.
enum class EfficiencyKind { none, tractive, overall };
[[nodiscard]] const char* name(EfficiencyKind kind);

// A load cell's gain found by a span check: readings of this instrument are multiplied by it.
struct PullScale {
  std::string instrument;
  double factor = 1;
  double relative_sd = 0;
};

struct TowSettings {
  std::optional<double> gravity_m_per_s2;   // for the inertia term; absent: no inertia term, and said so
  double rotating_mass_share = 0;           // m_eff = m (1 + share); 0 is stated in the output
  std::vector<PullScale> pull_scales;

  double cut_off_hz = 1.0;                  // -3 dB of the two passes together (common practice, no source)
  double gap_samples = 5;                   // a step in time over this many intervals splits the log
  double set_aside_share_max = 0.2;         // beyond it the record is refused

  double zero_min_s = 2.0;                  // a stationary stretch lasts at least this
  double still_speed_m_per_s = 0.02;        // |speed| below it is standing still
  double zero_share_max = 0.2;              // a found zero over this share of the largest pull needs a second that agrees
  double zero_drift_share_max = 0.05;       // zeros before and after further apart than this share: the later is not taken
  double lag_max_s = 2.0;                   // searched both ways
  double lag_correlation_min = 0.5;         // below it the lag is not identified and 0 is used

  WindowMode mode = WindowMode::automatic;
  double moving_speed_m_per_s = 0.05;       // the wheels (or the vehicle) move at least this fast in a window
  double window_min_s = 3.0, window_max_s = 10.0;
  // A stretch is steady when over window_min_s the change along it stays below these.
  double steady_pull_change_of_weight = 0.03;
  double steady_slip_change = 0.03;
  double steady_inertia_of_weight = 0.01;
  double steady_speed_change = 0.1;         // of the mean wheel speed, where neither pull nor slip is known
  double steady_share_min = 0.5;            // automatic: less of the moving time steady means a sweep
  double sweep_bin_slip = 0.02;             // width of a sweep bin
  double sweep_bin_min_s = 0.5;
  double pitch_disagreement_rad = 0.0175;   // stated gradient against pitch: beyond it a remark
  double zero_pull_of_weight = 0.02;        // self-propelled: pull below this share of weight
  bool trace = false;
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values inside remarks; results are SI
};

// One steady stretch, sweep bin or hand pull; everything a prediction must reproduce to be compared.
struct PullWindow {
  std::string file, id, record, zone, point, vehicle, run, lane, direction;
  std::size_t first_line = 0, last_line = 0;
  double from_s = 0, to_s = 0;              // log time; both 0 for a hand pull
  bool by_hand = false, sweep_bin = false;
  LogKind kind = LogKind::tow;

  std::optional<double> slip_ratio;         // absent: see slip_status
  double slip_se = 0;
  std::string slip_status;                  // "ok" or why slip is refused
  double rolling_radius_m = 0;              // with every slip
  double rolling_radius_se_m = 0;
  vehicle::ZeroSlip zero_slip = vehicle::ZeroSlip::not_stated;
  std::string radius_source;
  std::optional<double> wheel_speed_rad_per_s, travel_speed_m_per_s;  // window means
  std::optional<double> distance_per_radian_se_share;  // relative standard error of travel / wheel speed

  std::optional<double> pull_n;             // along the line, zeroed
  std::size_t saturated = 0;                // readings at the end of the load cell's range; over 0: not in the curve
  double pull_se_n = 0;                     // of the window mean, with the zero's error
  double line_angle_rad = 0;
  bool line_angle_stated = false;
  std::optional<double> hitch_height_m;
  double gradient_rad = 0;                  // nose up positive
  double gradient_se_rad = 0;
  GradientSource gradient_source = GradientSource::assumed_level;
  std::optional<double> pitch_rad;          // mean recorded
  double weight_n = 0;
  double normal_load_n = 0;                 // W cos a + P sin(line angle)
  double acceleration_m_per_s2 = 0;
  double inertia_n = 0;                     // m_eff dv/dt, 0 without gravity
  double inertia_se_n = 0;

  // (P cos + W sin a + m_eff dv/dt) / normal load; for towed and coast-down minus the resistance coefficient.
  std::optional<double> coefficient;
  double coefficient_se = 0;
  std::optional<double> pull_over_weight;   // as measured, uncorrected
  double gain_relative_sd = 0;              // load cell, shared by all its windows: not in the errors above

  std::optional<double> torque_n_m, current_a, power_in_w, power_out_w;
  double power_in_se_w = 0;
  EfficiencyKind efficiency_kind = EfficiencyKind::none;
  std::string power_basis;                  // "axle torque", "axle torque by spin test", "current x voltage" ...
  std::optional<double> efficiency;
  double efficiency_se = 0;
  std::optional<double> input_coefficient;  // power in / (normal load x rolling speed)

  std::optional<double> sinkage_m;          // hand sheet
  std::size_t samples = 0;
  double n_effective = 0;                   // of the pull (of the speed where no pull)
  std::vector<std::string> remarks;
};

struct TraceMark {
  std::size_t begin = 0, end = 0;           // sample range, end excluded
  std::string what;                         // "zero", "window 3", "set aside"
};

// Every step of one log on one clock; filled when settings.trace.
struct Trace {
  std::string id, file;
  std::vector<double> time_s;
  std::vector<std::size_t> line;
  std::vector<double> pull_raw_n, pull_zeroed_n, pull_shifted_n, pull_filtered_n;
  std::vector<double> wheel_speed_rad_per_s, wheel_speed_filtered_rad_per_s;
  std::vector<double> ground_speed_m_per_s, ground_speed_filtered_m_per_s;
  std::vector<double> slip_filtered;        // NaN where both speeds are near zero
  std::vector<double> torque_n_m, pitch_rad;  // channels not recorded stay empty
  std::vector<TraceMark> marks;
};

struct ZeroReading {
  ZeroSource source = ZeroSource::none;
  double from_s = 0, to_s = 0;
  double pull_n = 0, pull_sd_n = 0;         // value taken off, and its standard error
  double drift_n_per_s = 0;                 // between two stretches, else 0
  double noise_sd_n = 0;                    // of single readings while standing
  double torque_n_m = 0, current_a = 0, ground_speed_m_per_s = 0;
  std::string note;
};

struct LagReading {
  LagSource source = LagSource::not_applicable;
  double lag_s = 0;                         // used: pull behind speed
  std::optional<double> estimated_s;        // also where a stated value overrides it
  double standard_error_s = 0;
  double correlation = 0;                   // at the peak
  std::string against;                      // "rolling minus travel speed", "acceleration"
};

struct TowReduction {
  std::string id, file, vehicle, run;
  LogKind kind = LogKind::tow;
  std::size_t rows = 0, rows_set_aside = 0;
  double interval_s = 0;                    // median
  bool resampled = false;                   // time was uneven: channels interpolated onto an even clock
  bool filtered = false;
  double cut_off_hz = 0;
  ZeroReading zero;
  LagReading lag;
  WindowMode mode_asked = WindowMode::automatic, mode_used = WindowMode::steady;
  RollingRadius radius;
  std::string slip_status;                  // "ok" or why slip is refused for the whole log
  std::string status;                       // "ok" or why there are no windows
  std::vector<PullWindow> windows;
  std::optional<Trace> trace;
};

// Slip needs a ground speed, wheel speeds and a rolling radius: conditions.rolling_radius_m, or
// `fallback` (found from other logs of the same vehicle), in this order. `spins` belong to this vehicle.
[[nodiscard]] TowReduction reduce_tow_log(const TowLog& log, const TowSettings& settings,
                                          const std::vector<SpinReading>& spins,
                                          const std::optional<RollingRadius>& fallback,
                                          base::Problems& problems);

// Sets gradient and its source, then every value that follows from it.
void set_gradient(PullWindow& window, double gradient_rad, double gradient_se_rad, GradientSource source);
// Sets slip and its radius; conversion of an earlier slip included.
void set_rolling_radius(PullWindow& window, const RollingRadius& radius);

}  // namespace hardpan::records
