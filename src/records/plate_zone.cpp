// SPDX-License-Identifier: Apache-2.0
// Order: layers decide the window; readings are condensed and weighed; the relation is chosen; every
// estimator is evaluated on all points and on all but one; intervals follow from the pseudo-values.
#include "records/plate_zone.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/core.h>
#include <fmt/ranges.h>

#include "math/statistics.hpp"
#include "records/detail/intervals.hpp"
#include "records/detail/plate_estimators.hpp"
#include "records/detail/plate_words.hpp"

namespace hardpan::records {
namespace {

using detail::Coordinates;
using detail::PlateData;
using detail::Spread;
using soil::PressureLaw;

const double kHalfDecade = std::sqrt(10.0);

// The part of the push that one law may describe.
void narrow_to_layer(std::vector<PlateCurve*>& curves, const ZoneLayers& layers) {
  for (PlateCurve* curve : curves) {
    for (std::size_t i = 0; i < curve->mark.size(); ++i) {
      if (curve->mark[i] != Mark::kept) continue;
      if ((layers.window_from_m && curve->depth_m[i] < *layers.window_from_m) ||
          (layers.window_to_m && curve->depth_m[i] > *layers.window_to_m)) {
        curve->mark[i] = Mark::outside_window;
      }
    }
  }
}

// Robust weights back to the rows they came from; a row that counts for nothing is named.
void write_weights(const PlateData& data, std::vector<PlateCurve*>& curves) {
  for (const detail::Push& push : data.pushes) {
    PlateCurve& curve = *curves[push.curve];
    curve.fit_weight.assign(curve.mark.size(), 0);
    SetAside odd{"far from the push's own curve: counts for less than a tenth in the joint fit", {}};
    for (std::size_t i = 0; i < curve.mark.size(); ++i) {
      if (curve.mark[i] != Mark::kept) continue;
      const double residual =
          std::log(curve.pressure_pa[i]) - curve.drift_ln_p - detail::own_curve(push, data.z0, curve.depth_m[i]);
      curve.fit_weight[i] = push.own_scale > 0 ? detail::bisquare(residual, push.own_scale) : 1;
      if (curve.fit_weight[i] < 0.1) {
        curve.mark[i] = Mark::spike;
        odd.lines.push_back(curve.line[i]);
      }
    }
    if (!odd.lines.empty()) curve.set_aside.push_back(std::move(odd));
  }
}

// Gains are shared by all readings of an instrument: ln p moves by g_load - n g_depth at a fixed depth.
PlateZone::Matrix3 instrument_part(const PlateData& data, const std::vector<PlateCurve*>& curves,
                                   const std::vector<Instrument>& instruments, double n,
                                   std::vector<std::string>& remarks) {
  PlateZone::Matrix3 out{};
  std::vector<std::string> ids;
  for (const detail::Push& push : data.pushes) {
    const std::string& id = curves[push.curve]->source.instrument;
    if (std::find(ids.begin(), ids.end(), id) == ids.end()) ids.push_back(id);
  }
  for (const std::string& id : ids) {
    std::array<double, 2> share{}, count{};
    for (const detail::Push& push : data.pushes) {
      const bool here = curves[push.curve]->source.instrument == id;
      if (push.b == data.b1) {
        count[0] += 1;
        share[0] += here ? 1 : 0;
      }
      if (push.b == data.b2) {
        count[1] += 1;
        share[1] += here ? 1 : 0;
      }
    }
    for (std::size_t w = 0; w < 2; ++w) share[w] = count[w] > 0 ? share[w] / count[w] : 0;
    const auto found =
        std::find_if(instruments.begin(), instruments.end(), [&](const Instrument& i) { return i.id == id; });
    if (found == instruments.end()) {
      remarks.push_back(
          id.empty()
              ? "plate records name no instrument: its part of the intervals is taken as none"
              : fmt::format("instrument \"{}\" is not described: its part of the intervals is taken as none", id));
      continue;
    }
    if (!found->load.gain_stated) {
      remarks.push_back(fmt::format(
          "instrument \"{}\" states no uncertainty of its load calibration: its part of the intervals is taken as none",
          id));
    }
    const double variance = found->load.gain_relative_sd * found->load.gain_relative_sd +
                            n * n * found->depth.gain_relative_sd * found->depth.gain_relative_sd;
    for (std::size_t i = 0; i < 2; ++i) {
      for (std::size_t j = 0; j < 2; ++j) out[i][j] += share[i] * share[j] * variance;
    }
  }
  return out;
}

double rms_ln(const PlateData& data, const PlateFit& fit, const Coordinates& x) {
  double sum = 0, rows = 0;
  for (std::size_t k = 0; k < data.pushes.size(); ++k) {
    for (std::size_t i = 0; i < data.raw_z[k].size(); ++i) {
      if (!(data.raw_z[k][i] > 0) || !(data.raw_p[k][i] > 0)) continue;
      const auto predicted = detail::ln_pressure(fit.law, data, x, data.pushes[k].b, data.raw_z[k][i]);
      if (!predicted) continue;
      const double e = std::log(data.raw_p[k][i]) - *predicted;
      sum += e * e;
      rows += 1;
    }
  }
  return rows > 0 ? std::sqrt(sum / rows) : std::numeric_limits<double>::quiet_NaN();
}

double rms_pressure(const PlateData& data, const PlateFit& fit, const Coordinates& x) {
  double sum = 0, rows = 0;
  for (std::size_t k = 0; k < data.pushes.size(); ++k) {
    for (std::size_t i = 0; i < data.raw_z[k].size(); ++i) {
      const auto predicted = detail::ln_pressure(fit.law, data, x, data.pushes[k].b, data.raw_z[k][i]);
      if (!predicted) continue;
      const double e = data.raw_p[k][i] - std::exp(*predicted);
      sum += e * e;
      rows += 1;
    }
  }
  return rows > 0 ? std::sqrt(sum / rows) : std::numeric_limits<double>::quiet_NaN();
}

PlateFit describe_fit(const detail::Estimator& estimator, const PlateData& data, PlateEstimator kind, PressureLaw law,
                      std::size_t tests, const GroundSettings& settings) {
  PlateFit fit;
  fit.estimator = kind;
  fit.law = law;
  fit.first_width_m = data.b1;
  fit.second_width_m = data.b2;
  fit.reference_depth_m = data.z0;
  fit.window_from_m = data.from_m;
  fit.window_to_m = data.to_m;
  fit.pressure_from_pa = data.pressure_from_pa;
  fit.pressure_to_pa = data.pressure_to_pa;
  fit.points = data.points.size();
  fit.tests = tests;
  fit.readings = data.readings;
  fit.basis = detail::basis_of(data, kind, law, tests, settings);
  detail::JointFit joint;
  const std::vector<char> use(data.points.size(), 1);
  const std::optional<Coordinates> x = estimator(kind, law, use, &joint);
  if (kind == PlateEstimator::joint) fit.report = joint.report;
  else
    fit.report = {.status = x ? base::SolveStatus::converged : base::SolveStatus::no_solution,
                  .residual = 0,
                  .tolerance = 0,
                  .steps = 1};
  if (!x) {
    fit.status = law == PressureLaw::muskeg ? "not a power law: this estimator does not give it"
                                            : "the readings do not determine this law";
    return fit;
  }
  fit.ln_p_first = x->ln_p_first;
  fit.ln_p_second = x->ln_p_second;
  fit.n = x->n;
  fit.bearing = detail::to_bearing(law, data, *x);
  fit.rms_ln_p = kind == PlateEstimator::joint ? joint.rms_ln_p : rms_ln(data, fit, *x);
  fit.rms_pa = rms_pressure(data, fit, *x);
  fit.status = math::kStatusOk;
  if (joint.shape_at_bound) fit.basis += "; mm is held at its bound 0";
  return fit;
}

// One point alone: level at each width tested there, slope common to its pushes.
std::vector<PlatePoint> points_alone(const PlateData& data, const detail::Estimator& estimator, PressureLaw law) {
  std::vector<PlatePoint> out;
  std::vector<char> use(data.points.size(), 0);
  for (std::size_t g = 0; g < data.points.size(); ++g) {
    PlatePoint point{.point = data.points[g]};
    std::vector<double> first, second, slopes;
    for (std::size_t k = 0; k < data.pushes.size(); ++k) {
      const detail::Push& push = data.pushes[k];
      if (push.point != g) continue;
      ++point.tests;
      point.readings += data.raw_z[k].size();
      slopes.push_back(push.own_n);
      if (push.b == data.b1) first.push_back(push.own_ln_p);
      if (push.b == data.b2) second.push_back(push.own_ln_p);
    }
    point.has_first = !first.empty();
    point.has_second = !second.empty();
    const double nan = std::numeric_limits<double>::quiet_NaN();
    point.ln_p_first = first.empty() ? nan : math::mean(first);
    point.ln_p_second = second.empty() ? nan : math::mean(second);
    point.n = math::mean(slopes);
    if (point.has_first && point.has_second) {
      use[g] = 1;
      if (const auto x = estimator(PlateEstimator::joint, law, use)) {
        point.ln_p_first = x->ln_p_first;
        point.ln_p_second = x->ln_p_second;
        point.n = x->n;
      }
      use[g] = 0;
    }
    out.push_back(std::move(point));
  }
  return out;
}

// Sampling by the jackknife; one point's scatter is G times that, or, where points fall into strata, the
// stratum's own number times that, with the levels of the widths taken to move together.
void set_covariances(PlateZone& zone, const PlateData& data, const detail::Replicates& replicates,
                     const std::vector<std::size_t>& strata) {
  const std::size_t layers = *std::max_element(strata.begin(), strata.end()) + 1;
  std::vector<double> members(layers, 0);
  for (const std::size_t h : strata) members[h] += 1;
  const double fewest = *std::min_element(members.begin(), members.end());
  if (fewest < 2) return;
  const double g = static_cast<double>(data.points.size());
  // Levels are means of their stratum, the exponent is a mean of all.
  const std::vector<std::size_t> one_stratum(strata.size(), 0);
  const auto column = [&](double Coordinates::*member, const std::vector<std::size_t>& within) {
    std::vector<double> without;
    for (const Coordinates& x : replicates.without) without.push_back(x.*member);
    return detail::jackknife_deviations(without, within);
  };
  const std::array<std::vector<double>, 3> u = {column(&Coordinates::ln_p_first, strata),
                                                column(&Coordinates::ln_p_second, strata),
                                                column(&Coordinates::n, one_stratum)};
  zone.dof = fewest - 1;
  const std::array<double, 3> factor = {layers > 1 ? members.front() : g, layers > 1 ? members.back() : g, g};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      for (std::size_t k = 0; k < u[i].size(); ++k) zone.sampling[i][j] += u[i][k] * u[j][k];
      zone.between_points[i][j] = zone.sampling[i][j] * (i == j ? factor[i] : g);
    }
  }
  if (layers > 1) {
    const double both = std::sqrt(zone.between_points[0][0] * zone.between_points[1][1]);
    zone.between_points[0][1] = zone.between_points[1][0] = both;
  }
}

struct Builder {
  PlateZone& zone;
  const PlateData& data;
  const GroundSettings& settings;
  const detail::Replicates& replicates;
  PressureLaw law;
  std::vector<std::size_t> strata;  // all 0: points are alike
  std::string basis;
  [[nodiscard]] bool stratified() const { return *std::max_element(strata.begin(), strata.end()) > 0; }

  // Variance of a scalar from that of the coordinates, by its derivatives.
  template <class F>
  double by_derivatives(const PlateZone::Matrix3& covariance, F f) const {
    std::array<double, 3> slope{};
    for (std::size_t i = 0; i < 3; ++i) {
      constexpr double kStep = 1e-5;
      Coordinates up = replicates.all, down = replicates.all;
      double Coordinates::*member =
          i == 0 ? &Coordinates::ln_p_first : i == 1 ? &Coordinates::ln_p_second : &Coordinates::n;
      up.*member += kStep;
      down.*member -= kStep;
      const std::optional<double> a = f(up), b = f(down);
      if (a && b) slope[i] = (*a - *b) / (2 * kStep);
    }
    double sum = 0;
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) sum += slope[i] * covariance[i][j] * slope[j];
    }
    return sum;
  }

  // A scalar of the law by the jackknife; `f` gives it on the scattered scale, nothing where it has none.
  template <class F>
  void add(std::string key, std::string meaning, std::string unit, double instrument_variance, detail::Scale scale, F f) {
    const std::optional<double> all = f(replicates.all);
    if (!all) return;
    std::vector<double> without;
    for (const Coordinates& x : replicates.without) {
      if (const auto value = f(x)) without.push_back(*value);
    }
    const bool whole = replicates.complete && zone.dof > 0 && without.size() == data.points.size();
    std::vector<double> pseudo = whole ? detail::pseudo_values(*all, without) : std::vector<double>(1, *all);
    Spread spread = detail::spread_of(pseudo, instrument_variance);
    if (whole && stratified()) {
      spread.sampling = by_derivatives(zone.sampling, f);
      spread.between = by_derivatives(zone.between_points, f);
      spread.dof = key == "n" ? static_cast<double>(data.points.size()) - 1 : zone.dof;
      pseudo.clear();  // no bootstrap: points of different strata do not replace each other
    }
    spread.n = data.points.size();
    if (!whole && data.points.size() > 1) spread.reason = "one point carries it alone: it cannot be left out";
    Parameter p{.key = std::move(key),
                .meaning = std::move(meaning),
                .unit = std::move(unit),
                .estimate = detail::estimate_from_spread(*all, spread, scale),
                .average_soil_only = detail::soil_only(*all, spread, scale),
                .bootstrap = std::nullopt,
                .instrument_sd = std::nullopt,
                .at_depth_m = std::nullopt,
                .at_width_m = std::nullopt,
                .basis = basis};
    p.instrument_sd = std::sqrt(instrument_variance) * (scale == detail::Scale::logarithmic ? p.estimate.value : 1);
    if (whole) {
      if (const auto half = detail::bootstrap_half_width(pseudo, settings.seed, p.meaning, settings.bootstrap_count)) {
        p.bootstrap = math::Interval{*all - *half, *all + *half};
        if (scale == detail::Scale::logarithmic)
          p.bootstrap = math::Interval{std::exp(*all - *half), std::exp(*all + *half)};
      }
    }
    zone.parameters.push_back(std::move(p));
  }
};

void add_parameters(Builder& b) {
  using detail::Scale;
  const PlateZone::Matrix3& instrument = b.zone.instrument;
  const PlateData& data = b.data;
  const double n = b.replicates.all.n;
  const PressureLaw law = b.law;
  const auto modulus = [&](auto pick) {
    return [&, pick](const Coordinates& x) -> std::optional<double> {
      return pick(detail::to_bearing_at(law, data, x, law == PressureLaw::muskeg ? x.n : n));
    };
  };
  const auto first = [](const soil::Bearing& s) { return s.first_modulus; };
  const auto second = [](const soil::Bearing& s) { return s.second_modulus; };
  const soil::Bearing centre = detail::to_bearing(law, data, b.replicates.all);
  if (law != PressureLaw::muskeg) {
    b.add("n", "exponent of sinkage", "1", 0, Scale::linear, [](const Coordinates& x) { return std::optional(x.n); });
  }
  const double gain = instrument[0][0];  // relative variance: all moduli scale with the load gain
  const auto scaled = [&](double value) { return value * value * gain; };
  switch (law) {
    case PressureLaw::bekker:
      b.add("kc", fmt::format("cohesive modulus at n = {:.3f}", n), fmt::format("N/m^{:.3f}", n + 1),
            scaled(centre.first_modulus), Scale::linear, modulus(first));
      b.add("kphi", fmt::format("frictional modulus at n = {:.3f}", n), fmt::format("N/m^{:.3f}", n + 2),
            scaled(centre.second_modulus), Scale::linear, modulus(second));
      break;
    case PressureLaw::reece:
      b.add("c k1", fmt::format("cohesive modulus at n = {:.3f}", n), "Pa", scaled(centre.first_modulus), Scale::linear,
            modulus(first));
      b.add("gamma k2", fmt::format("frictional modulus at n = {:.3f}, unit weight included", n), "N/m^3",
            scaled(centre.second_modulus), Scale::linear, modulus(second));
      break;
    case PressureLaw::single_plate:
      b.add("k", fmt::format("modulus at n = {:.3f}, for the width tested", n), fmt::format("N/m^{:.3f}", n + 2), gain,
            Scale::logarithmic, [&](const Coordinates& x) {
              return std::optional(std::log(detail::to_bearing_at(law, data, x, n).first_modulus));
            });
      break;
    case PressureLaw::muskeg:
      b.add("kp", "stiffness under the mat", "N/m^3", scaled(centre.first_modulus), Scale::linear, modulus(first));
      b.add("mm", "strength of the mat", "N/m^3", scaled(centre.second_modulus), Scale::linear, modulus(second));
      break;
  }
  const std::array<double, 3> depths = {data.typical_from_m, data.z0, data.typical_to_m};
  for (std::size_t w = 0; w < data.widths.size(); ++w) {
    for (const double z : depths) {
      b.add("p", fmt::format("pressure at {:.3g} mm on b = {:.3g} mm", z * 1e3, data.widths[w] * 1e3), "Pa",
            instrument[w == 0 ? 0 : 1][w == 0 ? 0 : 1], Scale::logarithmic,
            [&, w, z](const Coordinates& x) { return detail::ln_pressure(law, data, x, data.widths[w], z); });
      b.zone.parameters.back().at_depth_m = z;
      b.zone.parameters.back().at_width_m = data.widths[w];
    }
  }
}

}  // namespace

PlateZone reduce_plates(std::vector<PlateCurve*> curves, const std::vector<Instrument>& instruments,
                        const GroundSettings& settings) {
  PlateZone zone;
  zone.tests = curves.size();
  const std::vector<const PlateCurve*> seen(curves.begin(), curves.end());
  if (settings.cleaning) {
    std::vector<PushLayers> layers;
    for (const PlateCurve* curve : seen) layers.push_back(find_layers(*curve));
    zone.layers = zone_layers(seen, layers, settings.layer, settings.output_units);
    if (settings.layer != LayerChoice::refuse) narrow_to_layer(curves, zone.layers);
  }
  std::vector<UnloadLoop> loops;
  for (const PlateCurve* curve : seen) loops.insert(loops.end(), curve->loops.begin(), curve->loops.end());
  zone.reload = reload_law(loops);

  const PlateData data = detail::collect(seen, settings);
  zone.points = data.points.size();
  zone.readings = data.readings;
  zone.widths_m = data.widths;
  if (data.pushes.empty()) {
    zone.status = "no push has two readings left";
    return zone;
  }
  if (settings.cleaning) write_weights(data, curves);
  zone.paired = data.widths_differ && data.paired_points == data.points.size();
  const detail::Estimator estimator(data, settings);
  zone.choice = detail::choose_law(estimator, data, settings);
  const PressureLaw law = zone.choice.law;

  std::vector<PlateEstimator> kinds = {PlateEstimator::joint, PlateEstimator::two_step};
  for (const PlateEstimator kind : {settings.estimator, settings.beside}) {
    if (std::find(kinds.begin(), kinds.end(), kind) == kinds.end()) kinds.push_back(kind);
  }
  for (const PlateEstimator kind : kinds) {
    zone.fits.push_back(describe_fit(estimator, data, kind, law, zone.tests, settings));
    if (kind == settings.estimator) zone.chosen = zone.fits.back();
  }
  if (zone.layers.below && zone.chosen.ok()) zone.chosen.bearing.below = zone.layers.below;
  for (PlateFit& fit : zone.fits) {
    if (zone.layers.below && fit.ok()) fit.bearing.below = zone.layers.below;
  }
  detail::say_what_is_not_identified(data, settings.output_units, zone);
  if (!zone.chosen.ok()) {
    zone.status = zone.chosen.status;
    return zone;
  }
  const std::optional<detail::Replicates> replicates = detail::leave_one_out(estimator, data, settings.estimator, law);
  zone.centre = {replicates->all.ln_p_first, replicates->all.ln_p_second, replicates->all.n};
  zone.instrument = instrument_part(data, curves, instruments, zone.chosen.n, zone.remarks);
  const std::vector<std::size_t> strata = data.strata(law);
  if (replicates->complete) set_covariances(zone, data, *replicates, strata);
  Builder builder{zone, data, settings, *replicates, law, strata, zone.chosen.basis};
  add_parameters(builder);
  zone.each_point = points_alone(data, estimator, law);
  detail::flag_points(data, settings.output_units, zone);
  detail::describe_residuals(data, zone.chosen, replicates->all, zone);
  detail::compare_estimators(data, settings.output_units, zone);
  zone.status = detail::law_status(data, zone, settings);
  return zone;
}

}  // namespace hardpan::records
