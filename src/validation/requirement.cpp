// SPDX-License-Identifier: Apache-2.0
#include "validation/requirement.hpp"

#include <array>

namespace hardpan::validation {
namespace {

struct Row {
  Quantity quantity;
  const char* name;
  const char* unit;
};
constexpr std::array<Row, 21> kRows{{
    {Quantity::maximum_gradient, "maximum gradient", "rad"},
    {Quantity::maximum_gradient_down, "maximum gradient down", "rad"},
    {Quantity::drawbar_pull, "drawbar pull", "N"},
    {Quantity::pull_coefficient, "pull coefficient", ""},
    {Quantity::slip, "slip", ""},
    {Quantity::sinkage, "sinkage", "m"},
    {Quantity::motion_resistance_coefficient, "motion resistance coefficient", ""},
    {Quantity::torque_per_wheel, "torque per wheel", "N m"},
    {Quantity::energy_per_metre, "energy per metre", "J/m"},
    {Quantity::speed, "speed", "m/s"},
    {Quantity::nominal_ground_pressure, "nominal ground pressure", "Pa"},
    {Quantity::friction_margin, "friction margin", ""},
    {Quantity::highest_step, "highest step", "m"},
    {Quantity::widest_gap, "widest gap", "m"},
    {Quantity::turning_radius, "turning radius", "m"},
    {Quantity::gradient_on_heading, "gradient on heading", "rad"},
    {Quantity::tip_angle, "tip angle", "rad"},
    {Quantity::remote_speed, "remote speed", "m/s"},
    {Quantity::rough_ground_speed, "rough ground speed", "m/s"},
    {Quantity::trip_distance, "trip distance", "m"},
    {Quantity::clear_run, "clear run", ""},
}};

}  // namespace

const char* name(Quantity quantity) {
  for (const Row& r : kRows) {
    if (r.quantity == quantity) return r.name;
  }
  return "";
}
std::optional<Quantity> quantity_by_name(const std::string& text) {
  for (const Row& r : kRows) {
    if (text == r.name) return r.quantity;
  }
  return std::nullopt;
}
const std::vector<std::string>& quantity_names() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> out;
    for (const Row& r : kRows) out.emplace_back(r.name);
    return out;
  }();
  return names;
}
const char* si_unit(Quantity quantity) {
  for (const Row& r : kRows) {
    if (r.quantity == quantity) return r.unit;
  }
  return "";
}
bool of_obstacles(Quantity quantity) { return quantity == Quantity::friction_margin || quantity == Quantity::highest_step || quantity == Quantity::widest_gap; }
bool of_answers(Quantity quantity) {
  return quantity == Quantity::tip_angle || quantity == Quantity::remote_speed || quantity == Quantity::rough_ground_speed || quantity == Quantity::trip_distance || quantity == Quantity::clear_run;
}
const char* name(Method method) {
  switch (method) {
    case Method::test: return "test";
    case Method::analysis: return "analysis";
    case Method::inspection: return "inspection";
    case Method::demonstration: return "demonstration";
  }
  return "";
}

}  // namespace hardpan::validation
