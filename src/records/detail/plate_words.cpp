// SPDX-License-Identifier: Apache-2.0
#include "records/detail/plate_words.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/core.h>
#include <fmt/ranges.h>

#include "math/statistics.hpp"
#include "units/count.hpp"
#include "units/print.hpp"

namespace hardpan::records::detail {
namespace {

double median_depth_ratio(const PlateData& data) {
  std::vector<double> ratios;
  for (const auto& z : data.raw_z) {
    const auto [least, most] = std::minmax_element(z.begin(), z.end());
    ratios.push_back(*least > 0 ? *most / *least : 1e9);
  }
  return math::median(ratios);
}

std::string length(double m, units::OutputUnits u) { return units::print_quantity(m, units::Dimension::length, u); }
std::string pressure_at(const PlateData& data, double width_m, units::OutputUnits u) {
  return fmt::format("pressure at {} on b = {}", length(data.z0, u), length(width_m, u));
}

bool half_a_decade(const PlateData& data) { return median_depth_ratio(data) >= std::sqrt(10.0); }

}  // namespace

std::string basis_of(const PlateData& data, PlateEstimator kind, soil::PressureLaw law, std::size_t tests,
                     const GroundSettings& settings) {
  std::vector<std::string> widths;
  const units::OutputUnits u = settings.output_units;
  for (const double b : data.widths) widths.push_back(units::print_quantity(b, units::Dimension::length, u, 4));
  std::string errors;
  if (kind == PlateEstimator::joint) {
    std::vector<double> noise;
    for (const Push& push : data.pushes) noise.push_back(push.noise_pa);
    errors = fmt::format(", reading error {:.3g} % and {}{}", settings.relative_error * 100,
                         units::print_quantity(math::median(noise), units::Dimension::pressure, u),
                         settings.absolute_error_pa ? "" : " (median noise of the pushes)");
  }
  return fmt::format("{}, {}, sinkage {}, b = {} ({}), {}, {}, {}{}", name(kind), soil::name(law),
                     units::print_interval(data.from_m, data.to_m, units::Dimension::length, u), fmt::join(data.width_words, " or "),
                     fmt::join(widths, ", "), units::print_count(data.points.size(), "point"), units::print_count(tests, "test"),
                     units::print_count(data.readings, "reading"), errors);
}

void say_what_is_not_identified(const PlateData& data, units::OutputUnits u, PlateZone& zone) {
  if (data.widths.size() < 2) {
    zone.not_identified.push_back(fmt::format(
        "kc and kphi: one plate size (b = {}) cannot tell them apart; the single-plate law is offered, it holds "
        "for this width. Push a second plate of b = {} or more beside each point",
        length(data.b1, u), length(2 * data.b1, u)));
  } else if (!data.widths_differ) {
    zone.not_identified.push_back(
        fmt::format("kc and kphi: plates of nearly equal width (b = {} and {}, ratio {:.2f}, at least "
                    "{:.2f} is needed) cannot tell "
                    "them apart; the single-plate law is offered",
                    length(data.b1, u), length(data.b2, u), data.b2 / data.b1, kLeastWidthRatio));
  } else if (data.paired_points == 0) {
    if (std::min(data.points_with[0], data.points_with[1]) < 2) {
      zone.not_identified.push_back(
          "kc and kphi: the plates were not pushed in pairs and one size was used at one point only, so that soil "
          "scatter cannot be told from "
          "the effect of width; the single-plate law is offered. Push both plates at every point");
    } else {
      zone.not_identified.push_back(
          "kc and kphi rest on plates at different points: the scatter between points widens them. Push both plates at "
          "every point");
    }
  } else if (data.paired_points < data.points.size()) {
    zone.not_identified.push_back(
        fmt::format("the effect of width rests on the {} of {} points where two sizes were pushed", data.paired_points,
                    data.points.size()));
  }
  if (!half_a_decade(data)) {
    zone.not_identified.push_back(fmt::format(
        "n: sinkage spans a factor {:.2f} in the typical push, half a decade (3.16) is needed; push deeper or read "
        "shallower depths",
        median_depth_ratio(data)));
  }
}

void flag_points(const PlateData& data, units::OutputUnits u, PlateZone& zone) {
  // Below five points a median and its scatter cannot tell which one is odd.
  if (zone.each_point.size() < 5) return;
  constexpr double kFlag = 3.5;  // robust standard deviations (Iglewicz and Hoaglin 1993)
  struct Column {
    std::string what;
    double floor;
    double PlatePoint::*member;
    bool logarithmic;
  };
  const std::array<Column, 3> columns = {
      Column{pressure_at(data, data.b1, u), 0.05,
             &PlatePoint::ln_p_first, true},
      Column{pressure_at(data, data.b2, u), 0.05,
             &PlatePoint::ln_p_second, true},
      Column{"exponent n", 0.05, &PlatePoint::n, false}};
  for (std::size_t c = 0; c < columns.size(); ++c) {
    if (c == 1 && !data.widths_differ) continue;
    std::vector<double> values;
    for (const PlatePoint& point : zone.each_point) {
      if (std::isfinite(point.*columns[c].member)) values.push_back(point.*columns[c].member);
    }
    if (values.size() < 5) continue;
    const double middle = math::median(values);
    const double scale = std::max(math::robust_scale(values), columns[c].floor);
    for (PlatePoint& point : zone.each_point) {
      const double x = point.*columns[c].member;
      if (!std::isfinite(x) || std::abs(x - middle) <= kFlag * scale) continue;
      point.flagged = true;
      if (!point.reason.empty()) point.reason += "; ";
      point.reason += columns[c].logarithmic
                          ? fmt::format("{} is {:.2f} times the middle point's ({:.1f} robust standard deviations)",
                                        columns[c].what, std::exp(x - middle), std::abs(x - middle) / scale)
                          : fmt::format("{} is {:.2f}, the middle point's {:.2f} ({:.1f} robust standard deviations)",
                                        columns[c].what, x, middle, std::abs(x - middle) / scale);
    }
  }
}

void describe_residuals(const PlateData& data, const PlateFit& fit, const Coordinates& x, PlateZone& zone) {
  // By thirds of ln z, about each push's own mean deviation: does the law bend against the data?
  std::array<double, 3> sum{}, count{};
  std::vector<double> lag;
  double squares = 0, rows = 0, between = 0;
  for (std::size_t k = 0; k < data.pushes.size(); ++k) {
    const Push& push = data.pushes[k];
    std::vector<double> e;
    double mean = 0, weight = 0;
    for (const Reading& r : push.readings) {
      const auto predicted = ln_pressure(fit.law, data, x, push.b, r.z);
      if (!predicted) continue;
      e.push_back(std::log(r.p) - *predicted);
      mean += r.robust * e.back();
      weight += r.robust;
    }
    if (e.size() != push.readings.size() || !(weight > 0)) continue;
    mean /= weight;
    between += mean * mean;
    for (std::size_t i = 0; i < e.size(); ++i) {
      const Reading& r = push.readings[i];
      const double share = std::log(r.z / data.typical_from_m) / std::log(data.typical_to_m / data.typical_from_m);
      const std::size_t third = share < 1.0 / 3 ? 0 : share < 2.0 / 3 ? 1 : 2;
      sum[third] += r.robust * (e[i] - mean);
      count[third] += r.robust;
      squares += r.robust * (e[i] - mean) * (e[i] - mean);
      rows += r.robust;
    }
    if (e.size() >= 8) lag.push_back(math::autocorrelation(e, 1));
  }
  if (!(rows > 0)) return;
  zone.residuals.push_back(
      fmt::format("ln p deviates from the law by {:.3f} within a push and by {:.3f} from push to push (root mean square)",
                  std::sqrt(squares / rows), std::sqrt(between / static_cast<double>(data.pushes.size()))));
  if (count[0] > 0 && count[1] > 0 && count[2] > 0) {
    std::array<double, 3> mean{};
    for (std::size_t i = 0; i < 3; ++i) mean[i] = std::expm1(sum[i] / count[i]) * 100;
    const double bow = mean[1] - 0.5 * (mean[0] + mean[2]);
    if (std::abs(bow) > 5) {
      zone.residuals.push_back(
          fmt::format("the data bend away from the law: measured pressure {:+.0f} % off it at shallow, {:+.0f} % at middle and {:+.0f} % at large sinkage",
                      mean[0], mean[1], mean[2]));
    }
  }
  if (!lag.empty() && math::mean(lag) > 0.3) {
    zone.residuals.push_back(
        fmt::format("neighbouring readings are correlated ({:.2f}): a push is one observation, not {}", math::mean(lag),
                    data.readings / data.pushes.size()));
  }
}

void compare_estimators(const PlateData& data, units::OutputUnits u, PlateZone& zone) {
  // Against the interval of the mean soil from the scatter between points.
  const auto parameter = std::find_if(zone.parameters.begin(), zone.parameters.end(), [&](const Parameter& p) {
    return p.key == "p" && p.meaning == fmt::format("pressure at {:.3g} mm on b = {:.3g} mm", data.z0 * 1e3, data.b1 * 1e3);
  });
  const auto exponent =
      std::find_if(zone.parameters.begin(), zone.parameters.end(), [](const Parameter& p) { return p.key == "n"; });
  for (const PlateFit& fit : zone.fits) {
    if (!fit.ok() || fit.estimator == zone.chosen.estimator) continue;
    if (parameter != zone.parameters.end() && parameter->estimate.average_ground &&
        !parameter->estimate.average_ground->contains(std::exp(fit.ln_p_first))) {
      zone.disagreement.push_back(fmt::format("{}: {} by the {}, outside the interval of the {}", pressure_at(data, data.b1, u),
                                              units::print_quantity(std::exp(fit.ln_p_first), units::Dimension::pressure, u),
                                              name(fit.estimator), name(zone.chosen.estimator)));
    }
    if (exponent != zone.parameters.end() && exponent->estimate.average_ground &&
        !exponent->estimate.average_ground->contains(fit.n)) {
      zone.disagreement.push_back(fmt::format("n: {:.3f} by the {}, outside the interval of the {}", fit.n,
                                              name(fit.estimator), name(zone.chosen.estimator)));
    }
  }
}

std::string law_status(const PlateData& data, const PlateZone& zone, const GroundSettings& settings) {
  if (!half_a_decade(data) && zone.chosen.law != soil::PressureLaw::muskeg) {
    return fmt::format("n is not identified: sinkage spans a factor {:.2f}, half a decade is needed",
                       median_depth_ratio(data));
  }
  if (settings.layer == LayerChoice::refuse && (zone.layers.crust || zone.layers.layered)) {
    return "refused: " + zone.layers.statement;
  }
  if (!soil::depth_law(zone.chosen.bearing, data.b1) || !soil::depth_law(zone.chosen.bearing, data.b2)) {
    return "the law gives no positive pressure at a width that was tested";
  }
  if (!(zone.chosen.n > 0)) return fmt::format("pressure does not rise with depth (n = {:.3f})", zone.chosen.n);
  return math::kStatusOk;
}

}  // namespace hardpan::records::detail
