// SPDX-License-Identifier: Apache-2.0
// One plate push made ready for a fit: zero, contact, frame compliance, virgin loading branch.
//
// No reading is dropped without a mark, and none is selected for being a pressure maximum.
// A loop is found by sinkage reversing by more than its noise; readings are virgin again once
// sinkage passes the depth of reversal.
//
//   PlateCurve curve = clean_plate(test, instrument, settings);
//   for (i...) if (curve.mark[i] == Mark::kept) use(curve.depth_m[i], curve.pressure_pa[i]);
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "records/ground_records.hpp"
#include "records/ground_settings.hpp"
#include "soil/soil.hpp"

namespace hardpan::records {

enum class Mark {
  kept,           // virgin loading, inside the fit window
  before_contact, // the stretch that gives the zero
  loop,           // unloading or reloading below the depth of reversal
  outside_window, // virgin, outside the window
  spike,          // far from its own curve (stone, root, knock): weight below one half in the fit
  not_finite,     // a cell without a number
  not_positive    // no pressure or no depth: has no logarithm
};
[[nodiscard]] const char* name(Mark mark);

struct UnloadLoop {
  double depth_m = 0;        // where sinkage turned back
  double pressure_pa = 0;    // pressure there
  double back_to_m = 0;      // least depth of the loop
  double stiffness_pa_per_m = 0;  // ku, slope of the unloading line
  std::size_t first_row = 0, last_row = 0;
};

struct SetAside {
  std::string reason;
  std::vector<std::size_t> lines;  // lines of the file
};

struct PlateCurve {
  TestSource source;
  Plate plate;
  std::vector<double> depth_m, pressure_pa;  // corrected, all rows in file order
  std::vector<Mark> mark;
  std::vector<std::size_t> line;
  std::vector<double> fit_weight;  // robust weight of each reading in the joint fit, 0..1; empty before a fit
  double load_zero_n = 0;       // subtracted from the load
  double depth_zero_m = 0;      // subtracted from the sinkage
  double noise_pa = 0;          // of the zero stretch, or of the curve where there is none
  std::string noise_from;       // where the noise was taken from
  std::string contact_how;      // how sinkage zero was found
  bool starts_below_contact = false;  // the record begins already loaded: sinkage zero is the file's
  bool frame_corrected = false;
  double drift_ln_p = 0;        // trend of the day at this push's time; taken off ln p in the fit only
  std::vector<UnloadLoop> loops;
  std::vector<SetAside> set_aside;
  [[nodiscard]] std::size_t count(Mark what) const;
};

[[nodiscard]] PlateCurve clean_plate(const PlateTest& test, const Instrument* instrument,
                                     const GroundSettings& settings);

// First depth at which the pressure is reached, and pressure at a depth, by linear interpolation
// over the virgin readings in file order. Nothing when the record does not get there.
[[nodiscard]] std::optional<double> sinkage_at_pressure(const PlateCurve& curve, double pressure_pa);
[[nodiscard]] std::optional<double> pressure_at_sinkage(const PlateCurve& curve, double depth_m);

// ku = k0 + Au zu over the loops of several pushes (Wong 1980). One loop gives k0 alone.
[[nodiscard]] std::optional<soil::Reload> reload_law(const std::vector<UnloadLoop>& loops);

}  // namespace hardpan::records
