// SPDX-License-Identifier: Apache-2.0
// Derivatives are central differences of 0.005 prior standard deviations: the equilibrium is solved to 1e-9, so
// a derivative is good to about 1e-4 of itself. Readings of one class (gradient to 0.5 degrees, weight to 1 %) that are
// more than kNodes share nodes over slip with cubic interpolation in the cube root of slip.
#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>

#include "math/distributions.hpp"
#include "validation/detail/vehicle_model.hpp"

namespace hardpan::validation::detail {
namespace {

using performance::OnSoil;

constexpr double kStep = 0.005;          // of a prior standard deviation
constexpr std::size_t kNodes = 12;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

// A normal of the same 95 % interval as the t with these degrees of freedom has its scale times this.
double spread_of(double dof) {
  return std::isinf(dof) ? 1 : math::student_t_quantile(0.975, dof) / math::normal_quantile(0.975);
}

std::array<double, 3> read(const OnSoil& on, const performance::State& s, double gradient_rad) {
  if (!s.balanced()) return {kNan, kNan, kNan};
  double torque = 0;
  for (std::size_t k = 0; k < s.axles; ++k) {
    if (on.plain.axle[k].driven) torque += on.plain.axle[k].wheels * s.wheel[k].torque_n_m;
  }
  return {s.net_force_n / (on.plain.weight_n * std::cos(gradient_rad)), torque, s.deepest_m()};
}

// Weights of Lagrange's cubic over the four nodes about x (fewer where there are fewer), first node returned.
std::size_t interpolation(const std::vector<double>& nodes, double x, std::array<double, 4>& weights, std::size_t& count) {
  count = std::min<std::size_t>(4, nodes.size());
  const auto above = static_cast<std::size_t>(std::upper_bound(nodes.begin(), nodes.end(), x) - nodes.begin());
  const std::size_t first = std::min(above >= count / 2 ? above - count / 2 : 0, nodes.size() - count);
  for (std::size_t i = 0; i < count; ++i) {
    weights[i] = 1;
    for (std::size_t j = 0; j < count; ++j) {
      if (j != i) weights[i] *= (x - nodes[first + j]) / (nodes[first + i] - nodes[first + j]);
    }
  }
  return first;
}

}  // namespace

const char* name(Kind kind) {
  switch (kind) {
    case Kind::pull: return "pull coefficient";
    case Kind::torque: return "torque";
    case Kind::sinkage: return "sinkage";
  }
  return "";
}
const char* unit(Kind kind) {
  switch (kind) {
    case Kind::pull: return "";
    case Kind::torque: return "N m";
    case Kind::sinkage: return "m";
  }
  return "";
}

SoilParameters::SoilParameters(const performance::Ground& ground, const performance::DrawPlan& plan) : ground_(ground) {
  const soil::SoilDistribution& about = *ground.distribution;
  const soil::Soil& centre = about.centre;
  centre_ = soil::to_coordinates(about, centre).value_or(centre_);
  slip_exponent_ = centre.slip_exponent.value_or(plan.form.slip_exponent_mean);
  const auto spread = [&](std::size_t i) { return spread_of(i < 3 ? about.bearing_dof : about.shear_dof); };
  const auto covariance = [&](std::size_t i, std::size_t j) {
    double v = 0;
    if (plan.soil_part) v += about.sampling[i][j] * spread(i) * spread(j);
    if (plan.instrument_part) v += about.instrument[i][j];
    return v;
  };
  for (std::size_t i = 0; i < soil::kCoordinates; ++i) {
    if (!(covariance(i, i) > 0)) continue;
    kinds_.push_back({What::coordinate, i});
    PriorParameter p{.name = soil::name(static_cast<soil::Coordinate>(i)), .centre = centre_[i]};
    if (i >= 2 && i <= 4) p.lower = 0;  // exponent, cohesion, tan phi
    prior_.parameters.push_back(p);
  }
  std::vector<double> form_sd;
  const auto add_form = [&](What what, const char* words, double at, double sd, double lower) {
    if (!plan.model_form_part || !plan.form.vary || !(sd > 0)) return;
    kinds_.push_back({what});
    prior_.parameters.push_back({.name = words, .centre = at, .lower = lower});
    form_sd.push_back(sd);
  };
  const double unbounded = -std::numeric_limits<double>::infinity();
  add_form(What::c1, "c1, place of the largest stress", centre.c1.value_or(soil::kAssumedC1), plan.form.c1_sd, 0);
  add_form(What::c2, "c2, its change with slip", centre.c2.value_or(soil::kAssumedC2), plan.form.c2_sd, 0);
  add_form(What::ln_k_ratio, "ln of K under the wheel over K of the ring", std::log(centre.wheel_k_ratio), plan.form.ln_k_ratio_sd, unbounded);
  if (ground.loose && ground.slip_sinkage == soil::SlipSinkage::exponent) {
    add_form(What::slip_exponent, "n1, growth of the exponent with slip", slip_exponent_, plan.form.slip_exponent_sd, 0);
  }
  const std::size_t p = kinds_.size(), soils = p - form_sd.size();
  prior_.covariance.assign(p * p, 0);
  prior_.between.assign(p * p, 0);
  for (std::size_t j = 0; j < soils; ++j) {
    for (std::size_t k = 0; k < soils; ++k) {
      prior_.covariance[j * p + k] = covariance(kinds_[j].coordinate, kinds_[k].coordinate);
      if (plan.soil_part) prior_.between[j * p + k] = about.between_points[kinds_[j].coordinate][kinds_[k].coordinate];
    }
  }
  for (std::size_t k = soils; k < p; ++k) prior_.covariance[k * p + k] = form_sd[k - soils] * form_sd[k - soils];
  prior_.between_dof = std::min(about.bearing_dof, about.shear_dof);
}

double SoilParameters::sd(std::size_t k) const { return std::sqrt(prior_.covariance[k * size() + k]); }

SoilParameters::Shown SoilParameters::shown(std::size_t k) const {
  const soil::SoilDistribution& about = *ground_.distribution;
  const auto pressure = [&](double width_m) -> Shown {
    return {.name = "pressure at " + std::to_string(std::lround(about.reference_depth_m * 1000)) + " mm, width " + std::to_string(std::lround(width_m * 1000)) + " mm",
            .unit_si = "Pa", .logarithm = true, .at_depth_m = about.reference_depth_m, .at_width_m = width_m};
  };
  switch (kinds_[k].what) {
    case What::coordinate:
      switch (static_cast<soil::Coordinate>(kinds_[k].coordinate)) {
        case soil::Coordinate::ln_p_first: return pressure(about.first_width_m);
        case soil::Coordinate::ln_p_second: return pressure(about.second_width_m);
        case soil::Coordinate::exponent: return {.name = "exponent n", .unit_si = "1"};
        case soil::Coordinate::cohesion: return {.name = "cohesion c", .unit_si = "Pa"};
        case soil::Coordinate::tan_phi: return {.name = "tan phi", .unit_si = "1"};
        case soil::Coordinate::ln_k: return {.name = "shear displacement modulus K", .unit_si = "m", .logarithm = true};
      }
      break;
    case What::ln_k_ratio: return {.name = "K under the wheel over K of the ring", .unit_si = "1", .logarithm = true};
    case What::c1: case What::c2: case What::slip_exponent: break;
  }
  return {.name = prior_.parameters[k].name, .unit_si = "1"};
}

std::vector<double> SoilParameters::of(const soil::Soil& soil) const {
  const auto x = soil::to_coordinates(*ground_.distribution, soil);
  std::vector<double> out;
  for (const Varied& v : kinds_) {
    switch (v.what) {
      case What::coordinate: out.push_back(x ? (*x)[v.coordinate] : kNan); break;
      case What::c1: out.push_back(soil.c1.value_or(soil::kAssumedC1)); break;
      case What::c2: out.push_back(soil.c2.value_or(soil::kAssumedC2)); break;
      case What::ln_k_ratio: out.push_back(std::log(soil.wheel_k_ratio)); break;
      case What::slip_exponent: out.push_back(soil.slip_exponent.value_or(slip_exponent_)); break;
    }
  }
  return out;
}

std::optional<soil::Soil> SoilParameters::soil(std::span<const double> parameters) const {
  auto x = centre_;
  for (std::size_t k = 0; k < size(); ++k) {
    if (kinds_[k].what == What::coordinate) x[kinds_[k].coordinate] = parameters[k];
  }
  auto out = soil::from_coordinates(*ground_.distribution, x);
  if (!out) return std::nullopt;
  const double c1 = out->c1.value_or(soil::kAssumedC1), c2 = out->c2.value_or(soil::kAssumedC2);
  out->slip_exponent = slip_exponent_;
  for (std::size_t k = 0; k < size(); ++k) {
    switch (kinds_[k].what) {
      case What::coordinate: break;
      case What::c1:  // braking pairs move by the same amount
        out->c1 = parameters[k];
        if (out->c1_braking) *out->c1_braking += parameters[k] - c1;
        break;
      case What::c2:
        out->c2 = parameters[k];
        if (out->c2_braking) *out->c2_braking += parameters[k] - c2;
        break;
      case What::ln_k_ratio: out->wheel_k_ratio = std::exp(parameters[k]); break;
      case What::slip_exponent: out->slip_exponent = parameters[k]; break;
    }
  }
  base::Problems problems;
  soil::check_soil(*out, {}, problems);
  return problems.refused() ? std::nullopt : out;
}

VehicleModel::VehicleModel(const vehicle::Vehicle& vehicle, const performance::Ground& ground, const performance::DrawPlan& plan,
                           const SoilParameters& parameters, const std::vector<Reading>& readings)
    : vehicle_(vehicle), ground_(ground), plan_(plan), parameters_(parameters), readings_(readings) {
  std::map<std::pair<long, long>, Class> by;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Reading& r = readings[i];
    Class& c = by[{std::lround(r.gradient_rad * 360 / std::numbers::pi), std::lround(std::log(r.weight_n) / 0.01)}];
    c.gradient_rad += r.gradient_rad;
    c.weight_n += r.weight_n;
    c.members.push_back(i);
  }
  for (auto& [key, c] : by) {
    c.gradient_rad /= static_cast<double>(c.members.size());
    c.weight_n /= static_cast<double>(c.members.size());
    for (const std::size_t i : c.members) c.slips.push_back(readings[i].slip_ratio);
    std::sort(c.slips.begin(), c.slips.end());
    c.slips.erase(std::unique(c.slips.begin(), c.slips.end()), c.slips.end());
    if (c.slips.size() > kNodes) {
      const double a = std::cbrt(c.slips.front()), b = std::cbrt(c.slips.back());
      c.slips.resize(kNodes);
      for (std::size_t j = 0; j < kNodes; ++j) {
        const double t = a + (b - a) * static_cast<double>(j) / (kNodes - 1);
        c.slips[j] = t * t * t;
      }
    }
    classes_.push_back(std::move(c));
  }
}

std::optional<OnSoil> VehicleModel::place(const soil::Soil& soil) const {
  base::Problems problems;
  auto on = performance::on_soil(vehicle_, soil, plan_.gravity_m_s2, ground_.loose ? ground_.slip_sinkage : soil::SlipSinkage::none, {}, problems, ground_.rut);
  if (on && ground_.disturbed) performance::disturb_following(*on, performance::about(*ground_.disturbed, ground_.centre, soil));
  return on;
}

std::vector<std::vector<double>> VehicleModel::predict(const std::vector<std::vector<double>>& sets, double slip_shift) const {
  std::vector<OnSoil> on;
  std::vector<std::size_t> owner;
  for (std::size_t s = 0; s < sets.size(); ++s) {
    const auto soil = parameters_.soil(sets[s]);
    auto placed = soil ? place(*soil) : std::nullopt;
    if (!placed) continue;
    on.push_back(*placed);
    owner.push_back(s);
  }
  std::vector<std::pair<std::size_t, std::size_t>> nodes;  // class, node
  for (std::size_t c = 0; c < classes_.size(); ++c) {
    for (std::size_t j = 0; j < classes_[c].slips.size(); ++j) nodes.emplace_back(c, j);
  }
  std::vector<std::vector<std::array<double, 3>>> at(nodes.size());  // [node][soil]
  base::ThreadPool(plan_.threads).for_chunks(nodes.size(), 1, {}, [&](std::size_t begin, std::size_t end) {
    performance::Workspace space;
    space.target = plan_.target;
    std::vector<OnSoil> weighted = on;
    std::vector<performance::State> states(on.size());
    for (std::size_t m = begin; m < end; ++m) {
      const Class& c = classes_[nodes[m].first];
      for (OnSoil& o : weighted) {
        o.plain.weight_n = c.weight_n;
        if (o.sinking) o.sinking->weight_n = c.weight_n;
      }
      performance::states_at_slip(weighted, c.slips[nodes[m].second] + slip_shift, c.gradient_rad, states, space);
      for (std::size_t k = 0; k < on.size(); ++k) at[m].push_back(read(weighted[k], states[k], c.gradient_rad));
    }
  });
  std::vector<std::vector<double>> out(sets.size(), std::vector<double>(readings_.size(), kNan));
  std::size_t first_node = 0;
  for (const Class& c : classes_) {
    std::vector<double> roots;
    for (const double s : c.slips) roots.push_back(std::cbrt(s));
    for (const std::size_t i : c.members) {
      std::array<double, 4> weight{};
      std::size_t count = 0;
      const std::size_t first = first_node + interpolation(roots, std::cbrt(readings_[i].slip_ratio), weight, count);
      const auto which = static_cast<std::size_t>(readings_[i].kind);
      for (std::size_t k = 0; k < on.size(); ++k) {
        double sum = 0;
        // A node of no weight may be one without an answer.
        for (std::size_t j = 0; j < count; ++j) sum += weight[j] == 0 ? 0 : weight[j] * at[first + j][k][which];
        out[owner[k]][i] = sum;
      }
    }
    first_node += c.slips.size();
  }
  return out;
}

Linearised VehicleModel::operator()(std::span<const double> parameters, bool with_jacobian) const {
  const std::size_t p = parameters_.size(), n = readings_.size();
  const std::vector<double> centre(parameters.begin(), parameters.begin() + static_cast<std::ptrdiff_t>(p));
  std::vector<std::vector<double>> sets{centre};
  std::vector<std::array<double, 2>> ends(p);
  for (std::size_t k = 0; with_jacobian && k < p; ++k) {
    const double h = kStep * parameters_.sd(k);
    for (const int side : {0, 1}) {
      std::vector<double> moved = centre;
      moved[k] += side == 0 ? -h : h;
      // At the edge of what is possible the difference is taken to one side.
      if (!parameters_.soil(moved)) moved[k] = centre[k];
      ends[k][static_cast<std::size_t>(side)] = moved[k];
      sets.push_back(std::move(moved));
    }
  }
  const auto values = predict(sets, 0);
  Linearised out{.values = values[0]};
  if (!with_jacobian) return out;
  out.jacobian.resize(n * p);
  for (std::size_t k = 0; k < p; ++k) {
    for (std::size_t i = 0; i < n; ++i) {
      out.jacobian[i * p + k] = (values[2 + 2 * k][i] - values[1 + 2 * k][i]) / (ends[k][1] - ends[k][0]);
    }
  }
  return out;
}

std::vector<double> VehicleModel::slip_slopes(std::span<const double> parameters) const {
  const std::vector<std::vector<double>> one{{parameters.begin(), parameters.begin() + static_cast<std::ptrdiff_t>(parameters_.size())}};
  constexpr double kShift = 1e-4;
  const auto up = predict(one, kShift), down = predict(one, -kShift);
  std::vector<double> out(readings_.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = (up[0][i] - down[0][i]) / (2 * kShift);
  return out;
}

}  // namespace hardpan::validation::detail
