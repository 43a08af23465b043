// SPDX-License-Identifier: Apache-2.0
#include "records/detail/plate_estimators.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/core.h>

#include "math/statistics.hpp"

namespace hardpan::records::detail {

PlateData collect(std::span<const PlateCurve* const> curves, const GroundSettings& settings) {
  PlateData data;
  std::vector<double> least, most;
  data.from_m = data.pressure_from_pa = std::numeric_limits<double>::infinity();
  for (std::size_t c = 0; c < curves.size(); ++c) {
    const PlateCurve& curve = *curves[c];
    Push push;
    push.curve = c;
    push.readings = condense(curve);
    if (push.readings.size() < 2) continue;
    push.b = curve.plate.width_m();
    push.noise_pa = settings.absolute_error_pa.value_or(curve.noise_pa);
    const std::string where = curve.source.point.empty() ? curve.source.id : curve.source.point;
    const auto at = std::find(data.points.begin(), data.points.end(), where);
    push.point = static_cast<std::size_t>(at - data.points.begin());
    if (at == data.points.end()) data.points.push_back(where);
    const char* word =
        curve.plate.shape == PlateShape::circle ? "radius of a circular plate" : "smaller side of a rectangular plate";
    if (std::find(data.width_words.begin(), data.width_words.end(), word) == data.width_words.end()) {
      data.width_words.emplace_back(word);
    }
    double lo = std::numeric_limits<double>::infinity(), hi = 0;
    std::vector<double> z, p;
    for (std::size_t i = 0; i < curve.mark.size(); ++i) {
      if (curve.mark[i] != Mark::kept) continue;
      z.push_back(curve.depth_m[i]);
      p.push_back(curve.pressure_pa[i] * std::exp(-curve.drift_ln_p));
      lo = std::min(lo, z.back());
      hi = std::max(hi, z.back());
      data.pressure_from_pa = std::min(data.pressure_from_pa, p.back());
      data.pressure_to_pa = std::max(data.pressure_to_pa, p.back());
    }
    data.readings += z.size();
    data.from_m = std::min(data.from_m, lo);
    data.to_m = std::max(data.to_m, hi);
    least.push_back(lo);
    most.push_back(hi);
    // Where an offset of one standard deviation moves the shallowest pressure by more than 2 %.
    push.fit_offset = settings.cleaning && settings.contact_offset_sd_m > 0 &&
                      settings.contact_offset_sd_m / push.readings.front().z > 0.02;
    data.raw_z.push_back(std::move(z));
    data.raw_p.push_back(std::move(p));
    data.pushes.push_back(std::move(push));
    data.widths.push_back(data.pushes.back().b);
  }
  if (data.pushes.empty()) return data;
  std::sort(data.widths.begin(), data.widths.end());
  // Plates of one nominal size that differ in the last digits are one width.
  std::vector<double> distinct;
  for (const double b : data.widths) {
    if (distinct.empty() || b > distinct.back() * (1 + 1e-6)) distinct.push_back(b);
  }
  data.widths = distinct;
  data.b1 = distinct.front();
  data.b2 = distinct.back();
  for (Push& push : data.pushes) {
    for (const double b : distinct) {
      if (std::abs(push.b / b - 1) < 1e-5) push.b = b;
    }
  }
  data.widths_differ = data.b2 / data.b1 >= kLeastWidthRatio;
  data.typical_from_m = math::median(least);
  data.typical_to_m = math::median(most);
  data.z0 = std::sqrt(data.typical_from_m * data.typical_to_m);
  for (Push& push : data.pushes) weigh_readings(push, data.z0, settings.relative_error, settings.contact_offset_sd_m);
  for (std::size_t g = 0; g < data.points.size(); ++g) {
    std::vector<double> seen;
    bool first = false, second = false;
    for (const Push& push : data.pushes) {
      if (push.point != g) continue;
      if (std::find(seen.begin(), seen.end(), push.b) == seen.end()) seen.push_back(push.b);
      first = first || push.b == data.b1;
      second = second || push.b == data.b2;
    }
    if (seen.size() > 1) ++data.paired_points;
    data.points_with[0] += first;
    data.points_with[1] += second;
  }
  return data;
}

soil::Bearing to_bearing_at(soil::PressureLaw law, const PlateData& data, const Coordinates& x, double n) {
  const double p1 = std::exp(x.ln_p_first), p2 = std::exp(x.ln_p_second);
  const double k1 = p1 / std::pow(data.z0, n), k2 = p2 / std::pow(data.z0, n);
  switch (law) {
    case soil::PressureLaw::bekker: {
      const double kc = (k1 - k2) * data.b1 * data.b2 / (data.b2 - data.b1);
      return soil::bekker(n, kc, k1 - kc / data.b1);
    }
    case soil::PressureLaw::reece: {
      const double q1 = k1 * std::pow(data.b1, n), q2 = k2 * std::pow(data.b2, n);
      const double frictional = (q2 - q1) / (data.b2 - data.b1);
      return soil::reece(n, q1 - frictional * data.b1, frictional);
    }
    case soil::PressureLaw::single_plate: return soil::single_plate(n, k1);
    case soil::PressureLaw::muskeg: {
      const double quadratic_part = (n - 1) * p1;  // z dp/dz = n p; p = kp z + q z^2
      return soil::muskeg((p1 - quadratic_part) / data.z0,
                          quadratic_part * data.b1 / (2 * data.z0 * data.z0));
    }
  }
  return {};
}

soil::Bearing to_bearing(soil::PressureLaw law, const PlateData& data, const Coordinates& x) {
  return to_bearing_at(law, data, x, x.n);
}

std::optional<double> ln_pressure(soil::PressureLaw law, const PlateData& data, const Coordinates& x, double width_m,
                                  double depth_m) {
  const std::optional<soil::DepthLaw> depth_law = soil::depth_law(to_bearing(law, data, x), width_m);
  if (!depth_law) return std::nullopt;
  return std::log(depth_law->pressure_pa(depth_m));
}

// Means and central sums updated one by one (Welford), so that no digits cancel.
void LogSums::add(double weight, double xi, double yi) {
  w += weight;
  const double share = weight / w, dx = xi - x, dy = yi - y;
  x += share * dx;
  y += share * dy;
  xx += share * ((1 - share) * dx * dx - xx);
  xy += share * ((1 - share) * dx * dy - xy);
}

Estimator::Estimator(const PlateData& data, const GroundSettings& settings) : data_(data), settings_(settings) {
  for (std::size_t k = 0; k < data.pushes.size(); ++k) {
    LogSums plain, weighted;
    for (std::size_t i = 0; i < data.raw_z[k].size(); ++i) {
      if (!(data.raw_z[k][i] > 0) || !(data.raw_p[k][i] > 0)) continue;
      const double x = std::log(data.raw_z[k][i] / data.z0), y = std::log(data.raw_p[k][i]);
      plain.add(1, x, y);
      weighted.add(data.raw_p[k][i] * data.raw_p[k][i], x, y);
    }
    plain_.push_back(plain);
    weighted_.push_back(weighted);
    // The search of the unweighted fit reads every row some eighty times: only where it is asked for.
    const bool asked = settings.estimator == PlateEstimator::unweighted || settings.beside == PlateEstimator::unweighted;
    if (asked) unweighted_.push_back(fit_unweighted(data.raw_z[k], data.raw_p[k]));
  }
}

JointProblem Estimator::problem(soil::PressureLaw law) const {
  return {.law = law, .b1 = data_.b1, .b2 = data_.b2, .z0 = data_.z0, .relative_error = settings_.relative_error,
          .offset_sd_m = settings_.contact_offset_sd_m, .contrast = data_.widths_differ && !data_.unpaired()};
}

namespace {

// ln p at z0 of each width (NaN: none) to the two coordinates: K(b) on 1/b (Bekker) or K(b) b^n on b (Reece) is a
// straight line through the widths there are.
std::optional<Coordinates> from_widths(soil::PressureLaw law, const PlateData& data, const std::vector<double>& ln_p,
                                       double n) {
  std::vector<double> x, y;
  for (std::size_t w = 0; w < data.widths.size(); ++w) {
    if (!std::isfinite(ln_p[w])) continue;
    const double b = data.widths[w], p = std::exp(ln_p[w]);
    x.push_back(law == soil::PressureLaw::bekker ? 1 / b : b);
    y.push_back(law == soil::PressureLaw::bekker ? p : p * std::pow(b, n));
  }
  if (x.size() < 2) return std::nullopt;
  const math::LineFit line = math::fit_line(x, y);
  const auto at = [&](double b) {
    return law == soil::PressureLaw::bekker ? line.intercept + line.slope / b
                                            : (line.intercept + line.slope * b) / std::pow(b, n);
  };
  if (!(at(data.b1) > 0) || !(at(data.b2) > 0)) return std::nullopt;
  return Coordinates{std::log(at(data.b1)), std::log(at(data.b2)), n};
}

bool tells_widths_apart(soil::PressureLaw law) {
  return law == soil::PressureLaw::bekker || law == soil::PressureLaw::reece;
}

}  // namespace

std::vector<std::size_t> PlateData::strata(soil::PressureLaw law) const {
  std::vector<std::size_t> out(points.size(), 0);
  if (!unpaired() || !tells_widths_apart(law)) return out;
  for (const Push& push : pushes) {
    out[push.point] = static_cast<std::size_t>(std::find(widths.begin(), widths.end(), push.b) - widths.begin());
  }
  return out;
}

std::vector<double> jackknife_deviations(std::span<const double> without, const std::vector<std::size_t>& strata) {
  std::vector<double> out(without.size(), 0);
  const std::size_t most = *std::max_element(strata.begin(), strata.end());
  for (std::size_t h = 0; h <= most; ++h) {
    double sum = 0, count = 0;
    for (std::size_t g = 0; g < without.size(); ++g) {
      if (strata[g] != h) continue;
      sum += without[g];
      count += 1;
    }
    for (std::size_t g = 0; g < without.size(); ++g) {
      if (strata[g] == h) out[g] = std::sqrt((count - 1) / count) * (without[g] - sum / count);
    }
  }
  return out;
}

std::optional<Coordinates> Estimator::operator()(PlateEstimator kind, soil::PressureLaw law,
                                                 const std::vector<char>& use, JointFit* joint) const {
  if (kind != PlateEstimator::joint) return classical(kind, law, use);
  JointFit fit = solve_joint(data_.pushes, use, problem(law));
  if (joint != nullptr) *joint = fit;
  if (!fit.ok) return std::nullopt;
  if (!data_.unpaired() || !tells_widths_apart(law)) return Coordinates{fit.ln_p_first, fit.ln_p_second, fit.n};
  // Levels stand for the width of their own point.
  const std::vector<std::size_t> width = data_.strata(law);
  std::vector<double> sum(data_.widths.size(), 0), count(data_.widths.size(), 0);
  for (std::size_t g = 0; g < use.size(); ++g) {
    if (!use[g] || !std::isfinite(fit.level[g])) continue;
    sum[width[g]] += fit.level[g];
    count[width[g]] += 1;
  }
  for (std::size_t w = 0; w < sum.size(); ++w) sum[w] /= count[w];  // 0/0 is NaN: no point of this width
  return from_widths(law, data_, sum, fit.n);
}

// Push by push, then points, then widths: [Wong1980] with the moduli refitted at the common exponent.
std::optional<Coordinates> Estimator::classical(PlateEstimator kind, soil::PressureLaw law,
                                                const std::vector<char>& use) const {
  if (law == soil::PressureLaw::muskeg) return std::nullopt;  // not a power law
  const bool unweighted = kind == PlateEstimator::unweighted;
  const std::vector<LogSums>& sums = kind == PlateEstimator::two_step ? weighted_ : plain_;
  const auto usable = [&](std::size_t k) {
    return use[data_.pushes[k].point] &&
           (unweighted ? k < unweighted_.size() && unweighted_[k].ok() : sums[k].spread() > 0);
  };
  double n_sum = 0, weight_sum = 0;
  for (std::size_t k = 0; k < data_.pushes.size(); ++k) {
    if (!usable(k)) continue;
    // The two-step mean is weighted by the spread of ln z under the weights p^2.
    const double weight = kind == PlateEstimator::two_step ? sums[k].spread() : 1;
    n_sum += weight * (unweighted ? unweighted_[k].n : sums[k].slope());
    weight_sum += weight;
  }
  if (!(weight_sum > 0)) return std::nullopt;
  const double n = n_sum / weight_sum;
  // ln p at z0 of each push with the common exponent, averaged at a point, then over points.
  std::vector<double> ln_p(data_.widths.size(), 0), count(data_.widths.size(), 0);
  double all = 0, all_count = 0;
  for (std::size_t g = 0; g < data_.points.size(); ++g) {
    for (std::size_t w = 0; w < data_.widths.size(); ++w) {
      std::vector<double> levels;
      for (std::size_t k = 0; k < data_.pushes.size(); ++k) {
        if (data_.pushes[k].point != g || data_.pushes[k].b != data_.widths[w] || !usable(k)) continue;
        levels.push_back(unweighted ? unweighted_level(k, n) : sums[k].level(n));
      }
      if (levels.empty()) continue;
      ln_p[w] += math::mean(levels);
      count[w] += 1;
      all += math::mean(levels);
      all_count += 1;
    }
  }
  if (!tells_widths_apart(law) || !data_.widths_differ) return Coordinates{all / all_count, all / all_count, n};
  for (std::size_t w = 0; w < ln_p.size(); ++w) ln_p[w] /= count[w];
  return from_widths(law, data_, ln_p, n);
}

// The level that minimises (9) at a given exponent.
double Estimator::unweighted_level(std::size_t push, double n) const {
  double py = 0, yy = 0;
  for (std::size_t i = 0; i < data_.raw_z[push].size(); ++i) {
    const double y = std::pow(data_.raw_z[push][i] / data_.z0, n);
    py += data_.raw_p[push][i] * y;
    yy += y * y;
  }
  return std::log(py / yy);
}

std::optional<Replicates> leave_one_out(const Estimator& estimator, const PlateData& data, PlateEstimator kind,
                                        soil::PressureLaw law) {
  std::vector<char> use(data.points.size(), 1);
  const std::optional<Coordinates> all = estimator(kind, law, use);
  if (!all) return std::nullopt;
  Replicates out{.all = *all, .without = {}, .complete = data.points.size() > 1};
  if (data.points.size() < 2) return out;
  for (std::size_t g = 0; g < data.points.size(); ++g) {
    use[g] = 0;
    const std::optional<Coordinates> without = estimator(kind, law, use);
    use[g] = 1;
    if (!without) {
      out.complete = false;
      out.without.clear();
      return out;
    }
    out.without.push_back(*without);
  }
  return out;
}

}  // namespace hardpan::records::detail
