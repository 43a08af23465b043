// SPDX-License-Identifier: Apache-2.0
// Order of the steps: cells that are not numbers, load zero and contact, frame compliance, knocks of
// the depth sensor, loops, window. Each step only marks rows; no row is removed.
#include "records/plate_curve.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

#include <fmt/core.h>

#include "math/statistics.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

namespace hardpan::records {
namespace {

// From this many rows on a record is a logger's: noise can be taken from its differences.
constexpr std::size_t kLoggerRows = 60;
// Depth noise where neither a resolution nor a logger's differences tell it: a dial read to 0.1 mm.
constexpr double kDialDepthNoise_m = 0.0001;
constexpr double kReversalInNoises = 6;

struct Rows {  // the finite rows of a test, with their place in the file order
  std::vector<double> z, f;
  std::vector<std::size_t> at;
};

Rows finite_rows(const PlateTest& test, const Instrument* instrument, PlateCurve& curve) {
  const double load_sign = instrument ? instrument->load_sign : 1;
  const double depth_sign = instrument ? instrument->depth_sign : 1;
  Rows rows;
  SetAside broken{"cell is not a number", {}};
  for (std::size_t i = 0; i < test.sinkage_m.size(); ++i) {
    if (std::isfinite(test.sinkage_m[i]) && std::isfinite(test.load_n[i])) {
      rows.z.push_back(depth_sign * test.sinkage_m[i]);
      rows.f.push_back(load_sign * test.load_n[i]);
      rows.at.push_back(i);
    } else {
      curve.mark[i] = Mark::not_finite;
      broken.lines.push_back(curve.line[i]);
    }
  }
  if (!broken.lines.empty()) curve.set_aside.push_back(std::move(broken));
  return rows;
}

// Standard deviation of white noise under a smooth signal, from differences of order two: a straight
// trend cancels, and var(x0 - 2 x1 + x2) = 6 s^2.
double difference_noise(std::span<const double> x) {
  if (x.size() < 8) return 0;
  std::vector<double> d;
  for (std::size_t i = 2; i < x.size(); ++i) d.push_back(x[i] - 2 * x[i - 1] + x[i - 2]);
  return math::robust_scale(d) / std::sqrt(6.0);
}

struct Contact {
  std::size_t first = 0;   // first loaded row (index into Rows)
  double load_zero = 0, depth_zero = 0, noise = 0;
  bool below = false;      // the record begins already loaded
  std::string how, noise_from;
};

// Leading rows without load give the zero. A logger's zero ends where the mean of `span` rows leaves
// the zero level by more than four standard errors; a sheet's where a load stands that is not
// the reading of the unloaded dial (the first rows, where they agree).
Contact find_contact(const Rows& rows, const PlateTest& test, const Instrument* instrument, units::OutputUnits u) {
  Contact out;
  const std::size_t n = rows.f.size();
  const double largest = *std::max_element(rows.f.begin(), rows.f.end());
  const double resolution = instrument && instrument->load.resolution_si ? *instrument->load.resolution_si : 0;
  const bool logger = n >= kLoggerRows;
  const std::size_t head = std::max<std::size_t>(12, n / 20);
  const double noise = logger ? std::max(difference_noise(std::span(rows.f).first(std::min(head, n))),
                                         resolution / std::sqrt(12.0))
                              : resolution / std::sqrt(12.0);
  if (!logger) {
    // A dial that was not set to zero shows the same load in its first rows.
    const double dial = !test.zero_taken && n > 2 && rows.f[0] == rows.f[1] ? rows.f[0] : 0;
    const double limit = dial + std::max(0.0005 * (largest - dial), resolution);
    std::size_t i = 0;
    while (i < n && rows.f[i] <= limit) ++i;
    out.first = i;
    if (i == 0) {
      out.below = rows.z[0] != 0;
      out.how = "the sheet begins under load; its own sinkage zero is kept";
      out.depth_zero = 0;
    } else {
      out.depth_zero = rows.z[i - 1];
      if (!test.zero_taken) out.load_zero = math::mean(std::span(rows.f).first(i));
      out.how = i == 1 ? std::string("the one unloaded row") : fmt::format("last of {} unloaded rows", i);
    }
    if (resolution > 0) {
      out.noise = noise;
      out.noise_from = "resolution of the load channel over sqrt(12)";
    } else {
      out.noise = 0.005 * largest;
      out.noise_from = "assumed half a per cent of the largest pressure (no zero stretch, no resolution stated)";
    }
    return out;
  }
  const std::size_t span = std::clamp<std::size_t>(n / 200, 4, 25);
  const double deepest = *std::max_element(rows.z.begin(), rows.z.end());
  double level = 0;
  if (!test.zero_taken) {
    // A flat beginning is an offset of the load cell; a rising one is load.
    const std::span<const double> start(rows.f.data(), span);
    const double spread = *std::max_element(start.begin(), start.end()) - *std::min_element(start.begin(), start.end());
    if (spread <= 8 * noise) level = math::median(start);
    // Begins at a depth and under load: that load is no offset.
    if (std::abs(level) > 0.02 * largest && rows.z[0] > std::max(0.0002, 0.005 * deepest)) level = 0;
  }
  // Loaded where the mean of a span leaves the zero by four standard errors and the next span stays away.
  std::size_t i = 0;
  double sum = 0;
  for (; i + 2 * span <= n; sum += rows.f[i], ++i) {
    if (!test.zero_taken && i >= span) level = sum / static_cast<double>(i);
    const double so_far = static_cast<double>(std::max(i, span));
    const double limit = 4 * noise * std::sqrt(1 / static_cast<double>(span) + (test.zero_taken ? 0 : 1 / so_far));
    if (math::mean(std::span(rows.f).subspan(i, span)) - level > limit &&
        math::mean(std::span(rows.f).subspan(i + span, span)) - level > limit) {
      break;
    }
  }
  if (i + 2 * span > n) i = n;  // never loaded
  // The mean over the span leaves the zero before its first row does.
  while (i > 0 && i + 1 < n && rows.f[i] - level <= 2 * noise) ++i;
  out.first = i;
  out.noise = noise;
  out.noise_from = "differences of the first rows";
  if (i == 0) {
    out.below = rows.z[0] > 0;
    out.how = out.below ? fmt::format("the record begins loaded at {}; its own sinkage zero is kept",
                                      units::print_quantity(rows.z[0], units::Dimension::length, u))
                        : "loaded from the first row; the file's sinkage zero is kept";
    out.load_zero = test.zero_taken ? 0 : (out.below ? 0 : level);
    return out;
  }
  const std::span<const double> zero(rows.f.data(), i);
  if (!test.zero_taken) out.load_zero = math::median(zero);
  if (i >= 10) {
    out.noise = std::max(math::robust_scale(zero), noise);
    out.noise_from = "zero stretch of " + units::print_count(i, "row");
  }
  out.depth_zero = rows.z[i - 1];
  out.how = "load leaves the zero stretch after " + units::print_count(i, "row");
  return out;
}

double depth_noise(const Rows& rows, const Instrument* instrument) {
  const double resolution = instrument && instrument->depth.resolution_si ? *instrument->depth.resolution_si : 0;
  if (rows.z.size() >= kLoggerRows) {
    return std::max({difference_noise(rows.z), resolution / std::sqrt(12.0), 1e-6});
  }
  return resolution > 0 ? resolution / std::sqrt(12.0) : kDialDepthNoise_m;
}

// Depth cells of a logger that jump ahead for one row and come back. Marked before the search for loops: a
// spike would otherwise end one loop and begin the next.
void mark_depth_spikes(PlateCurve& curve, const Rows& rows, std::size_t first, double reversal) {
  SetAside knocked{"depth jumps for one row and comes back", {}};
  for (std::size_t i = first + 1; i + 1 < rows.z.size(); ++i) {
    if (rows.z[i] - rows.z[i - 1] > 3 * reversal && rows.z[i] - rows.z[i + 1] > 3 * reversal) {
      curve.mark[rows.at[i]] = Mark::spike;
      knocked.lines.push_back(curve.line[rows.at[i]]);
    }
  }
  if (!knocked.lines.empty()) curve.set_aside.push_back(std::move(knocked));
}

// Reversed by more than its noise: everything after the deepest row is a loop until that depth is passed.
void mark_loops(PlateCurve& curve, const Rows& all, std::size_t first, double noise) {
  const double reversal = kReversalInNoises * noise;
  if (all.z.size() >= kLoggerRows) mark_depth_spikes(curve, all, first, reversal);
  std::vector<std::size_t> at;  // rows that can tell, in file order
  for (std::size_t i = first; i < all.z.size(); ++i) {
    if (curve.mark[all.at[i]] == Mark::kept) at.push_back(all.at[i]);
  }
  std::size_t deepest = 0;
  for (std::size_t i = 1; i < at.size(); ++i) {
    const double z = curve.depth_m[at[i]], top = curve.depth_m[at[deepest]];
    if (z >= top) {
      deepest = i;
      continue;
    }
    if (z > top - reversal) continue;
    UnloadLoop loop{
        .depth_m = top, .pressure_pa = curve.pressure_pa[at[deepest]], .back_to_m = top, .first_row = at[deepest]};
    std::size_t lowest = at[deepest];
    std::size_t k = deepest + 1;
    for (; k < at.size() && !(curve.depth_m[at[k]] > top); ++k) {
      curve.mark[at[k]] = Mark::loop;
      if (curve.depth_m[at[k]] < loop.back_to_m) {
        loop.back_to_m = curve.depth_m[at[k]];
        lowest = at[k];
      }
    }
    loop.last_row = at[k - 1];
    loop.stiffness_pa_per_m = (loop.pressure_pa - curve.pressure_pa[lowest]) / (loop.depth_m - loop.back_to_m);
    curve.loops.push_back(loop);
    if (k == at.size()) break;
    deepest = i = k;
  }
}

// Rows far from the running median of their neighbours: knocks, stones shifting, dropped cells.
void mark_knocks(PlateCurve& curve) {
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < curve.mark.size(); ++i) {
    if (curve.mark[i] == Mark::kept && curve.pressure_pa[i] > 0) rows.push_back(i);
  }
  if (rows.size() < kLoggerRows) return;
  constexpr std::size_t kHalf = 7;
  std::vector<double> residual(rows.size());
  for (std::size_t k = 0; k < rows.size(); ++k) {
    const std::size_t half = std::min({kHalf, k, rows.size() - 1 - k});  // even, so that a slope is no residual
    const std::size_t lo = k - half, hi = k + half + 1;
    std::vector<double> near;
    for (std::size_t m = lo; m < hi; ++m) near.push_back(curve.pressure_pa[rows[m]]);
    residual[k] = curve.pressure_pa[rows[k]] - math::median(near);
  }
  const double scale = math::robust_scale(residual);
  SetAside knocked{"pressure far from the readings around it", {}};
  for (std::size_t k = 0; k < rows.size(); ++k) {
    // Eight robust standard deviations and a tenth of the pressure: noise alone does not get there.
    if (std::abs(residual[k]) > 8 * scale && std::abs(residual[k]) > 0.1 * curve.pressure_pa[rows[k]]) {
      curve.mark[rows[k]] = Mark::spike;
      knocked.lines.push_back(curve.line[rows[k]]);
    }
  }
  if (!knocked.lines.empty()) curve.set_aside.push_back(std::move(knocked));
}

void mark_window(PlateCurve& curve, const GroundSettings& settings) {
  double deepest = 0;
  for (std::size_t i = 0; i < curve.mark.size(); ++i) {
    if (curve.mark[i] == Mark::kept) deepest = std::max(deepest, curve.depth_m[i]);
  }
  // Below five contact offsets, or a fiftieth of the depth reached, depth itself is not known well
  // enough for a logarithm.
  const double from = settings.window_from_m.value_or(
      settings.cleaning ? std::max(5 * settings.contact_offset_sd_m, deepest / 50) : 0);
  const double to = settings.window_to_m.value_or(std::numeric_limits<double>::infinity());
  for (std::size_t i = 0; i < curve.mark.size(); ++i) {
    if (curve.mark[i] != Mark::kept) continue;
    // Cells written in millimetres reach the window's ends only up to a rounding.
    const double slack = 1e-12 + 1e-9 * curve.depth_m[i];
    if (curve.depth_m[i] < from - slack || curve.depth_m[i] > to + slack) {
      curve.mark[i] = Mark::outside_window;
    } else if (!(curve.depth_m[i] > 0) || !(curve.pressure_pa[i] > 0)) {
      curve.mark[i] = Mark::not_positive;
    }
  }
}

}  // namespace

const char* name(Mark mark) {
  switch (mark) {
    case Mark::kept: return "kept";
    case Mark::before_contact: return "before contact";
    case Mark::loop: return "unload-reload loop";
    case Mark::outside_window: return "outside the fit window";
    case Mark::spike: return "spike";
    case Mark::not_finite: return "not a number";
    case Mark::not_positive: return "no pressure or no depth";
  }
  return "unknown";
}

std::size_t PlateCurve::count(Mark what) const {
  return static_cast<std::size_t>(std::count(mark.begin(), mark.end(), what));
}

PlateCurve clean_plate(const PlateTest& test, const Instrument* instrument, const GroundSettings& settings) {
  PlateCurve curve;
  curve.source = test.source;
  curve.plate = test.plate;
  const std::size_t n = std::min(test.sinkage_m.size(), test.load_n.size());
  curve.line = test.line;
  curve.line.resize(n, 0);
  curve.mark.assign(n, Mark::kept);
  curve.depth_m.assign(n, 0);
  curve.pressure_pa.assign(n, 0);
  const Rows rows = finite_rows(test, instrument, curve);
  const double area = test.plate.area_m2();
  if (rows.z.empty() || !(area > 0)) {
    curve.contact_how = "no usable row";
    return curve;
  }
  Contact contact;
  contact.how = "cleaning off: the rows as they stand";
  contact.noise_from = "cleaning off: not taken";
  if (settings.cleaning) contact = find_contact(rows, test, instrument, settings.output_units);
  curve.load_zero_n = contact.load_zero;
  curve.depth_zero_m = contact.depth_zero;
  curve.noise_pa = contact.noise / area;
  curve.noise_from = contact.noise_from;
  curve.contact_how = contact.how;
  curve.starts_below_contact = contact.below;
  const bool frame = settings.cleaning && instrument && instrument->frame_stiffness_n_per_m;
  curve.frame_corrected = frame;
  for (std::size_t k = 0; k < rows.z.size(); ++k) {
    const std::size_t i = rows.at[k];
    const double load = rows.f[k] - contact.load_zero;
    curve.pressure_pa[i] = load / area;
    curve.depth_m[i] = rows.z[k] - contact.depth_zero - (frame ? load / *instrument->frame_stiffness_n_per_m : 0);
    if (k < contact.first) curve.mark[i] = Mark::before_contact;
  }
  if (settings.cleaning) {
    Rows corrected = rows;
    for (std::size_t k = 0; k < rows.z.size(); ++k) corrected.z[k] = curve.depth_m[rows.at[k]];
    mark_loops(curve, corrected, contact.first, depth_noise(rows, instrument));
    mark_knocks(curve);
  }
  mark_window(curve, settings);
  return curve;
}

namespace {

bool virgin(Mark mark) {
  return mark == Mark::kept || mark == Mark::outside_window || mark == Mark::not_positive ||
         mark == Mark::before_contact;
}

// First crossing of `level` by `x`, with `y` interpolated there.
std::optional<double> first_crossing(const PlateCurve& curve, const std::vector<double>& x,
                                     const std::vector<double>& y, double level) {
  std::optional<std::size_t> last;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!virgin(curve.mark[i])) continue;
    if (x[i] >= level) {
      if (!last) return x[i] == level ? std::optional(y[i]) : std::nullopt;
      const double share = (level - x[*last]) / (x[i] - x[*last]);
      return y[*last] + share * (y[i] - y[*last]);
    }
    last = i;
  }
  return std::nullopt;
}

}  // namespace

std::optional<double> sinkage_at_pressure(const PlateCurve& curve, double pressure_pa) {
  return first_crossing(curve, curve.pressure_pa, curve.depth_m, pressure_pa);
}

std::optional<double> pressure_at_sinkage(const PlateCurve& curve, double depth_m) {
  return first_crossing(curve, curve.depth_m, curve.pressure_pa, depth_m);
}

std::optional<soil::Reload> reload_law(const std::vector<UnloadLoop>& loops) {
  std::vector<double> depth, stiffness;
  for (const UnloadLoop& loop : loops) {
    if (loop.stiffness_pa_per_m > 0) {
      depth.push_back(loop.depth_m);
      stiffness.push_back(loop.stiffness_pa_per_m);
    }
  }
  if (depth.empty()) return std::nullopt;
  const auto [least, most] = std::minmax_element(depth.begin(), depth.end());
  if (depth.size() < 3 || *most - *least < 0.2 * *most) {
    return soil::Reload{.k0_pa_per_m = math::mean(stiffness), .au_pa_per_m2 = 0};
  }
  const math::LineFit line = math::fit_line(depth, stiffness);  // Wong 1980: ku = k0 + Au zu
  if (line.status != math::kStatusOk || !(line.intercept >= 0) || !(line.slope >= 0)) {
    return soil::Reload{.k0_pa_per_m = math::mean(stiffness), .au_pa_per_m2 = 0};
  }
  return soil::Reload{.k0_pa_per_m = line.intercept, .au_pa_per_m2 = line.slope};
}

}  // namespace hardpan::records
