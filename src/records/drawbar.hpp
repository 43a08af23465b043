// SPDX-License-Identifier: Apache-2.0
// Vehicle records to measured vehicle behaviour: pull against slip, efficiency, motion resistance,
// bracketed gradients, ruts. Nothing is predicted here.
//
// Windows and hand pulls are grouped by vehicle, zone and weight class; the run is the unit of scatter.
// Signs: gradient nose up positive, driving slip positive, pull positive when it holds the vehicle back.
// Intervals named average_ground are over the mean of runs, next_point over the next run.
//
//   base::Problems problems;
//   DrawbarResult r = reduce_drawbar(records, {.tow = {.gravity_m_per_s2 = 9.81}}, problems);
//   for (const DrawbarGroup& g : r.groups) use(g.curve.at_20_percent);
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "math/estimate.hpp"
#include "records/pull_slip.hpp"
#include "records/rut.hpp"
#include "records/slip.hpp"
#include "records/slope_trial.hpp"
#include "records/tow.hpp"
#include "records/vehicle_records.hpp"
#include "units/print.hpp"

namespace hardpan::records {

struct DrawbarSettings {
  TowSettings tow;
  PullSlipSettings curve;
  SlopeTrialSettings slopes;
  RutSettings ruts;
  double weight_class_relative = 0.05;      // windows within this share of weight form one group
  double repeat_pull_relative = 0.05;       // hand pulls this close are repeats of one load
  bool use_paired_gradient = true;          // where a lane's gradient was not stated
  // All slips are told with this radius where given; else with the radius most windows of the group have.
  std::optional<RollingRadius> common_radius;
  units::OutputUnits output_units = units::OutputUnits::si;  // of the values inside statements; results are SI
};

// Hand pulls at one load: what repeats scatter, beside what reading resolution explains.
struct HandRepeats {
  std::string vehicle, zone;
  double pull_n = 0;
  std::size_t n = 0;
  math::Estimate slip_ratio;
  math::Estimate coefficient;
  double slip_reading_se = 0;               // of one pull, from resolution alone
};

// Two runs both ways on one lane.
struct LanePair {
  std::string lane, vehicle, zone;
  std::string run_out, run_back;
  std::size_t compared = 0;                 // windows compared at equal slip
  double gradient_rad = 0;                  // of the lane in the direction "out"; from the pulls alone
  double gradient_se_rad = 0;
  std::optional<double> stated_rad;         // as stated for the run out
  bool used = false;                        // taken for the correction
  std::string note;
};

enum class ResistanceMethod { towed, coast_down, self_propelled_torque, zero_slip_of_curve };
[[nodiscard]] const char* name(ResistanceMethod method);

// One run's share in a motion resistance: what a prediction is compared with.
struct ResistanceRun {
  std::string run, file;
  std::size_t first_line = 0;
  double coefficient = 0;                   // mean of its windows
  double standard_error = 0;                // of that mean, from the windows' own errors
  std::size_t windows = 0;
};

struct MotionResistance {
  std::string vehicle, zone;
  ResistanceMethod method = ResistanceMethod::towed;
  math::Estimate coefficient;               // resistance over normal load
  double weight_n = 0;
  std::optional<double> speed_m_per_s;      // mean
  std::optional<double> speed_slope_s2_per_m2;  // coast-down: change of the coefficient with v^2
  double gain_relative_sd = 0;
  std::string note;
  std::vector<ResistanceRun> runs;          // behind the mean; empty for zero_slip_of_curve
};

// Efficiency against slip: coefficient (1 - s) / input coefficient, both as fitted curves.
struct EfficiencyCurve {
  EfficiencyKind kind = EfficiencyKind::none;
  std::string label;                        // "tractive efficiency" or "overall efficiency"
  std::string power_basis;
  std::optional<math::Estimate> best;       // largest inside the tested slips
  std::optional<math::Estimate> slip_at_best;
  bool best_at_end_of_range = false;
  std::vector<BandPoint> band;              // efficiency in `coefficient`
  std::string note;
};

struct DrawbarGroup {
  std::string vehicle, zone;
  double weight_n = 0;                      // mean
  RollingRadius radius;                     // the one every slip of the group is told with
  std::size_t slips_converted = 0;          // windows whose own radius differed
  std::vector<std::size_t> windows;         // indices into DrawbarResult::windows
  PullSlipCurve curve;
  EfficiencyCurve efficiency;
  // atan of the coefficient: first order only, for sinkage and weight transfer change on a slope.
  std::optional<math::Estimate> gradeability_at_20_percent_rad, gradeability_at_working_slip_rad,
      gradeability_at_peak_rad;
  std::vector<HandRepeats> repeats;
  std::vector<std::string> remarks;
};

// Radii found from the records themselves, to convert slips between zero conditions.
struct FoundRadius {
  std::string vehicle, zone, run, file;
  RollingRadius radius;
  bool used_for_slip = false;
};

struct DrawbarResult {
  std::vector<PullWindow> windows;          // logs and hand pulls, every kind; all that validation needs
  std::vector<TowReduction> logs;           // how each log was read; its windows are moved to `windows`
  std::vector<FoundRadius> found_radii;
  std::vector<LanePair> lanes;
  std::vector<DrawbarGroup> groups;
  std::vector<MotionResistance> resistances;
  std::vector<SlopeLimits> slopes;
  RutResult ruts;
  std::vector<std::string> conventions;     // sentences the report prints with every table
};

[[nodiscard]] DrawbarResult reduce_drawbar(const VehicleRecords& records, const DrawbarSettings& settings,
                                           base::Problems& problems);

}  // namespace hardpan::records
