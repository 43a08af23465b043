// SPDX-License-Identifier: Apache-2.0
// Multivariate t with separate degrees of freedom for two groups of coordinates: a normal vector,
// each group multiplied by its own sqrt(dof / chi-square) [Kotz2004, section 1.2]. The next point
// shares the mean's factor, as in the prediction interval of a normal sample.
// Notation: p pressure [Pa], z0 reference depth [m], b width [m], A = p / z0^n [Pa/m^n].
#include "soil/possible_soils.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "math/matrix.hpp"
#include "math/random.hpp"

namespace hardpan::soil {
namespace {

using Point = std::array<double, kCoordinates>;
constexpr std::size_t kBearing = 3;  // coordinates before this one are the bearing's, the rest the shear's
constexpr std::size_t kMaxTries = 1000;
constexpr std::uint64_t kTrySlots = 1024, kNumberSlots = 8;  // addresses kept apart for one try, one number

std::uint64_t address(std::size_t draw, std::size_t attempt) {
  return (static_cast<std::uint64_t>(draw) * kTrySlots + attempt) * kNumberSlots;
}

Bearing bearing_from(const SoilDistribution& about, PressureLaw law, const Point& x) {
  const double z0 = about.reference_depth_m, b1 = about.first_width_m, b2 = about.second_width_m;
  const double p1 = std::exp(x[0]), p2 = std::exp(x[1]), n = x[2];
  switch (law) {
    case PressureLaw::bekker: {  // A = kc / b + kphi
      const double a1 = p1 / std::pow(z0, n), a2 = p2 / std::pow(z0, n);
      const double kc = (a1 - a2) * b1 * b2 / (b2 - b1);
      return bekker(n, kc, a1 - kc / b1);
    }
    case PressureLaw::reece: {  // A b^n = c k1 + gamma k2 b
      const double a1 = p1 * std::pow(b1 / z0, n), a2 = p2 * std::pow(b2 / z0, n);
      const double frictional = (a2 - a1) / (b2 - b1);
      return reece(n, a1 - frictional * b1, frictional);
    }
    case PressureLaw::single_plate: return single_plate(n, p1 / std::pow(z0, n));
    case PressureLaw::muskeg: {  // p = kp z + 2 mm z^2 / b
      const double mm = (p1 - p2) * b1 * b2 / (2 * z0 * z0 * (b2 - b1));
      return muskeg(p1 / z0 - 2 * mm * z0 / b1, mm);
    }
  }
  return {};
}

bool widths_are_usable(const SoilDistribution& about) {
  return about.first_width_m > 0 && about.second_width_m > about.first_width_m &&
         std::isfinite(about.second_width_m) && about.reference_depth_m > 0 &&
         std::isfinite(about.reference_depth_m);
}

bool positive_at(const Bearing& bearing, const std::vector<double>& widths_m) {
  return std::all_of(widths_m.begin(), widths_m.end(),
                     [&](double b) { return depth_law(bearing, b).has_value(); });
}

// Normal numbers of one part with its covariance.
class Part {
 public:
  // Nothing where the covariance is not positive semidefinite.
  static std::optional<Part> make(const Covariance& covariance, std::uint64_t seed, const std::string& stream) {
    std::vector<double> flat;
    for (const auto& row : covariance) flat.insert(flat.end(), row.begin(), row.end());
    auto lower = math::cholesky_semidefinite(flat, kCoordinates);
    if (!lower) return std::nullopt;
    return Part(std::move(*lower), math::Stream(seed, math::stream_id(stream)));
  }
  [[nodiscard]] Point sample(std::size_t draw, std::size_t attempt) const {
    Point z{}, x{};
    stream_.fill_normal(address(draw, attempt), z);
    for (std::size_t i = 0; i < kCoordinates; ++i) {
      for (std::size_t j = 0; j <= i; ++j) x[i] += lower_[i * kCoordinates + j] * z[j];
    }
    return x;
  }

 private:
  Part(std::vector<double> lower, math::Stream stream) : lower_(std::move(lower)), stream_(stream) {}
  std::vector<double> lower_;
  math::Stream stream_;
};

// Spread factors sqrt(dof / chi-square), one for bearing and one for shear.
struct Spread {
  double bearing = 1, shear = 1;
};
Spread spread(const SoilDistribution& about, const math::Stream& stream, std::size_t draw, std::size_t attempt) {
  const auto factor = [&](std::uint64_t number, double dof) {
    return std::isinf(dof) ? 1.0 : std::sqrt(dof / stream.chi_square(address(draw, attempt) + number, dof));
  };
  return {factor(0, about.bearing_dof), factor(1, about.shear_dof)};
}

Point moved(const Point& from, const Point& by, const Spread& factor = {}) {
  Point out = from;
  for (std::size_t i = 0; i < kCoordinates; ++i) out[i] += (i < kBearing ? factor.bearing : factor.shear) * by[i];
  return out;
}

struct FormDraw {
  double d_c1 = 0, d_c2 = 0, k_factor = 1, slip_exponent = 0;
};

// Draw k of the model form; nothing when no try is feasible.
std::optional<FormDraw> draw_form(const Soil& centre, const ModelForm& form, const math::Stream& stream,
                                  std::size_t draw, std::size_t& redrawn) {
  const double c1 = centre.c1.value_or(kAssumedC1), c2 = centre.c2.value_or(kAssumedC2);
  const double c1_braking = centre.c1_braking.value_or(c1), c2_braking = centre.c2_braking.value_or(c2);
  const auto holds = [](double a, double b) { return a >= 0 && b >= 0 && a + b <= 1; };
  for (std::size_t attempt = 0; attempt < kMaxTries; ++attempt) {
    const std::uint64_t at = address(draw, attempt);
    const double d1 = form.c1_sd * stream.normal(at), d2 = form.c2_sd * stream.normal(at + 1);
    if (!holds(c1 + d1, c2 + d2) || !holds(c1_braking + d1, c2_braking + d2)) {
      ++redrawn;
      continue;
    }
    // These two need no second try; their addresses do not follow the tries of c1 and c2.
    const std::uint64_t first = address(draw, 0);
    const double n1 = centre.slip_exponent.value_or(form.slip_exponent_mean);
    return FormDraw{d1, d2, std::exp(form.ln_k_ratio_sd * stream.normal(first + 2)),
                    std::abs(n1 + form.slip_exponent_sd * stream.normal(first + 3))};
  }
  return std::nullopt;
}

void apply_form(Soil& soil, const FormDraw& form) {
  if (soil.c1_braking) *soil.c1_braking += form.d_c1;
  if (soil.c2_braking) *soil.c2_braking += form.d_c2;
  soil.c1 = soil.c1.value_or(kAssumedC1) + form.d_c1;
  soil.c2 = soil.c2.value_or(kAssumedC2) + form.d_c2;
  soil.wheel_k_ratio *= form.k_factor;
  soil.slip_exponent = form.slip_exponent;
}

// Why there can be no draws; empty when there can.
std::string obstacle(const SoilDistribution& about, const ModelForm& form, const DrawSettings& settings) {
  const Soil& centre = about.centre;
  if (!centre.bearing) return "no draws: the soil has no pressure-sinkage relation";
  if (!centre.shear) return "no draws: the soil has no shear strength";
  if (!centre.shear->shear_modulus_m) return "no draws: the soil has no shear displacement modulus K";
  if (!widths_are_usable(about)) return "no draws: widths and reference depth must be above 0, b2 above b1";
  base::Problems problems;
  check_soil(centre, {}, problems);
  if (problems.refused()) return "no draws: the centre is no possible soil: " + problems.list().front().text();
  if (!positive_at(*centre.bearing, {about.first_width_m, about.second_width_m}) ||
      !positive_at(*centre.bearing, settings.widths_in_use_m)) {
    return "no draws: the centre has no positive modulus at a width in use";
  }
  if (settings.soil_part) {
    // Written so that NaN fails.
    if (!(about.bearing_dof > 0)) return "no draws: no degrees of freedom behind the bearing part (one point or none)";
    if (!(about.shear_dof > 0)) return "no draws: no degrees of freedom behind the shear part (too few points or runs)";
  }
  if (settings.model_form_part && form.vary) {
    for (const double sd : {form.c1_sd, form.c2_sd, form.ln_k_ratio_sd, form.slip_exponent_sd}) {
      if (!(sd >= 0) || !std::isfinite(sd)) return "no draws: a spread of the model form is negative or not finite";
    }
  }
  if (settings.count == 0) return "no draws: none were asked for";
  return "";
}

}  // namespace

const char* name(Coordinate coordinate) {
  switch (coordinate) {
    case Coordinate::ln_p_first: return "ln pressure at the reference depth, first width";
    case Coordinate::ln_p_second: return "ln pressure at the reference depth, second width";
    case Coordinate::exponent: return "exponent n";
    case Coordinate::cohesion: return "cohesion c";
    case Coordinate::tan_phi: return "tan phi";
    case Coordinate::ln_k: return "ln shear displacement modulus K";
  }
  return "";
}

std::optional<Point> to_coordinates(const SoilDistribution& about, const Soil& soil) {
  if (!soil.bearing || !soil.shear || !soil.shear->shear_modulus_m || !widths_are_usable(about)) return std::nullopt;
  Bearing upper = *soil.bearing;  // the coordinates are those of the upper layer
  upper.below.reset();
  const auto first = depth_law(upper, about.first_width_m);
  const auto second = depth_law(upper, about.second_width_m);
  if (!first || !second || !(*soil.shear->shear_modulus_m > 0)) return std::nullopt;
  const double z0 = about.reference_depth_m;
  return Point{std::log(first->pressure_pa(z0)), std::log(second->pressure_pa(z0)), soil.bearing->n,
               soil.shear->cohesion_pa, soil.shear->tan_phi, std::log(*soil.shear->shear_modulus_m)};
}

std::optional<Soil> from_coordinates(const SoilDistribution& about, const Point& x) {
  if (!about.centre.bearing || !about.centre.shear || !widths_are_usable(about)) return std::nullopt;
  Soil soil = about.centre;
  soil.bearing = bearing_from(about, about.centre.bearing->law, x);
  soil.bearing->below = about.centre.bearing->below;  // stated, not varied
  soil.shear->cohesion_pa = x[3];
  soil.shear->tan_phi = x[4];
  soil.shear->shear_modulus_m = std::exp(x[5]);
  base::Problems problems;
  check_soil(soil, {}, problems);
  if (problems.refused() || !depth_law(*soil.bearing, about.first_width_m) ||
      !depth_law(*soil.bearing, about.second_width_m)) {
    return std::nullopt;
  }
  return soil;
}

PossibleSoils possible_soils(const SoilDistribution& about, const ModelForm& form, const DrawSettings& settings) {
  PossibleSoils out;
  out.population = about.population;
  const auto without = [&](std::string reason) {
    out.average.clear();
    out.next_point.clear();
    out.reason_without = std::move(reason);
    return out;
  };
  if (std::string reason = obstacle(about, form, settings); !reason.empty()) return without(reason);

  const auto stream_name = [&](const char* part) { return settings.stream + "/" + part; };
  const auto stream = [&](const char* part) {
    return math::Stream(settings.seed, math::stream_id(stream_name(part)));
  };
  const auto sampling = Part::make(about.sampling, settings.seed, stream_name("mean soil"));
  const auto between = Part::make(about.between_points, settings.seed, stream_name("between points"));
  const auto instrument = Part::make(about.instrument, settings.seed, stream_name("instrument"));
  if (!sampling || !between || !instrument) {
    return without("no draws: a covariance is not symmetric, not finite or not positive semidefinite");
  }
  const math::Stream spreads = stream("spread"), forms = stream("model form");

  const Point centre = *to_coordinates(about, about.centre);
  std::size_t draw = 0;
  // Tries x = sample(attempt) until it is a possible soil.
  const auto until_feasible = [&](auto&& sample, Point& x) -> std::optional<Soil> {
    for (std::size_t attempt = 0; attempt < kMaxTries; ++attempt) {
      x = sample(attempt);
      std::optional<Soil> soil = from_coordinates(about, x);
      if (soil && positive_at(*soil->bearing, settings.widths_in_use_m)) return soil;
      ++out.redrawn;
    }
    return std::nullopt;
  };
  const auto stayed_infeasible = [&](const char* part) {
    return without(fmt::format("no draws: the {} of draw {} stayed infeasible after {} tries", part, draw + 1,
                               kMaxTries));
  };

  for (; draw < settings.count; ++draw) {
    Point mean = centre;
    std::optional<Soil> average = about.centre;
    Spread factor;
    if (settings.soil_part) {
      average = until_feasible([&](std::size_t attempt) {
        factor = spread(about, spreads, draw, attempt);
        return moved(centre, sampling->sample(draw, attempt), factor);
      }, mean);
      if (!average) return stayed_infeasible("mean soil");
    }
    Point at_average = mean;
    if (settings.instrument_part) {
      average = until_feasible([&](std::size_t attempt) { return moved(mean, instrument->sample(draw, attempt)); },
                               at_average);
      if (!average) return stayed_infeasible("instrument part");
    }
    std::optional<Soil> next = average;
    if (settings.soil_part) {
      Point x = at_average;
      next = until_feasible(
          [&](std::size_t attempt) { return moved(at_average, between->sample(draw, attempt), factor); }, x);
      if (!next) return stayed_infeasible("next point");
    }
    if (settings.model_form_part && form.vary) {
      const std::optional<FormDraw> drawn = draw_form(about.centre, form, forms, draw, out.redrawn);
      if (!drawn) return stayed_infeasible("model form");
      apply_form(*average, *drawn);
      apply_form(*next, *drawn);
    }
    out.average.push_back(std::move(*average));
    out.next_point.push_back(std::move(*next));
  }
  return out;
}

}  // namespace hardpan::soil
