// SPDX-License-Identifier: Apache-2.0
// The vehicle as a model of its own readings: soil parameters in, pull coefficient, torque and sinkage at every
// reading's slip, gradient and weight out. For update.cpp.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "performance/possible_runs.hpp"
#include "validation/posterior.hpp"

namespace hardpan::validation::detail {

enum class Kind { pull, torque, sinkage };
[[nodiscard]] const char* name(Kind kind);
[[nodiscard]] const char* unit(Kind kind);

struct Reading {
  Kind kind = Kind::pull;
  std::string file, run;
  double slip_ratio = 0, slip_se = 0;  // told with the model's radius
  double gradient_rad = 0, weight_n = 0;
  double value = 0, standard_error = 0;
  double gain_relative_sd = 0;         // shared by all readings of the instrument
};

// The numbers of a possible soil that vary, as one vector: soil coordinates, c1, c2, ln of the K ratio, n1.
class SoilParameters {
 public:
  SoilParameters(const performance::Ground& ground, const performance::DrawPlan& plan);

  [[nodiscard]] const Prior& prior() const { return prior_; }
  [[nodiscard]] std::size_t size() const { return kinds_.size(); }
  [[nodiscard]] double sd(std::size_t k) const;
  // How parameter k is shown: its name, SI unit, and whether it is the logarithm of what is shown.
  struct Shown {
    std::string name, unit_si;
    bool logarithm = false;
    std::optional<double> at_depth_m = std::nullopt, at_width_m = std::nullopt;  // of a pressure
  };
  [[nodiscard]] Shown shown(std::size_t k) const;
  [[nodiscard]] std::vector<double> of(const soil::Soil& soil) const;
  [[nodiscard]] std::optional<soil::Soil> soil(std::span<const double> parameters) const;  // nothing: infeasible

 private:
  enum class What { coordinate, c1, c2, ln_k_ratio, slip_exponent };
  struct Varied {
    What what;
    std::size_t coordinate = 0;
  };
  const performance::Ground& ground_;
  double slip_exponent_ = 0;
  std::vector<Varied> kinds_;
  std::array<double, soil::kCoordinates> centre_{};
  Prior prior_;
};

class VehicleModel {
 public:
  VehicleModel(const vehicle::Vehicle& vehicle, const performance::Ground& ground, const performance::DrawPlan& plan,
               const SoilParameters& parameters, const std::vector<Reading>& readings);

  // Values and derivatives by the soil parameters, central differences.
  [[nodiscard]] Linearised operator()(std::span<const double> parameters, bool with_jacobian) const;
  // d value / d slip of every reading.
  [[nodiscard]] std::vector<double> slip_slopes(std::span<const double> parameters) const;
  [[nodiscard]] std::optional<performance::OnSoil> place(const soil::Soil& soil) const;

 private:
  struct Class {
    double gradient_rad = 0, weight_n = 0;
    std::vector<std::size_t> members;
    std::vector<double> slips;         // nodes, rising
  };
  [[nodiscard]] std::vector<std::vector<double>> predict(const std::vector<std::vector<double>>& sets,
                                                         double slip_shift) const;
  const vehicle::Vehicle& vehicle_;
  const performance::Ground& ground_;
  const performance::DrawPlan& plan_;
  const SoilParameters& parameters_;
  const std::vector<Reading>& readings_;
  std::vector<Class> classes_;
};

}  // namespace hardpan::validation::detail
