// SPDX-License-Identifier: Apache-2.0
// Hand cone: sand that hardens with depth, a marsh with a crust over a soft layer, a push that stood still, a stone.
#include <cmath>

#include <fmt/format.h>

#include "fieldsim/field.hpp"

namespace fieldsim {
namespace {

double resistance_kpa(const FieldPoint& p, double depth_m) {
  if (p.zone == "marsh") {
    const double crust = 230 * std::exp(-std::pow((depth_m - 0.025) / 0.02, 2));
    return (150 + 260 * depth_m + crust) * p.cone;
  }
  return (45 + 2300 * depth_m) * p.cone;
}

enum class Event { none, stood_still, stone, hard_layer };

std::string profile(const Field& field, const std::string& point, int number, const char* by, Event event) {
  const FieldPoint& p = field.point(point);
  Dice dice = field.dice(fmt::format("cone {} {}", point, number));
  const double factor = std::exp(dice.normal(0.07));
  std::string out;
  double smooth = dice.normal(0.04);
  for (int depth_mm = 25; depth_mm <= 450; depth_mm += 25) {
    smooth = 0.6 * smooth + dice.normal(0.035);
    double q = resistance_kpa(p, depth_mm / 1e3) * factor * (1 + smooth) * kConeGain;
    std::string remark;
    if (event == Event::stone && depth_mm == 225) {
      q *= 5;
      remark = "stone";
    }
    if (event == Event::hard_layer && depth_mm >= 375) {
      q = std::min(5000.0, q * (depth_mm - 325) / 12.0);
      remark = "firm layer; shells on the tip";
    }
    const auto row = [&](double kpa, const std::string& said) {
      out += fmt::format("{}-{},{},{},{},{:.0f},{}\n", point, number, point, by, depth_mm, rounded(kpa, 10), said);
    };
    row(q, remark);
    if (event == Event::stood_still && depth_mm == 200) {
      row(0.74 * q, "stood still while hands changed");
      row(0.66 * q, "");
    }
    if (event == Event::hard_layer && depth_mm >= 400) break;
  }
  return out;
}

}  // namespace

void simulate_cones(Field& field) {
  const std::string head = std::string(kSaysInvented) + "Push,Point,Operator,Depth (mm),Cone index (kPa),Remark\n";
  std::string text = head;
  for (const char* point : {"P1", "A1", "A3", "A5", "A7", "A8"}) {
    const std::string id = point;
    for (int k = 1; k <= 3; ++k) {
      const Event event = id == "A3" && k == 2 ? Event::stood_still : id == "A5" && k == 1 ? Event::stone : id == "A8" && k == 3 ? Event::hard_layer : Event::none;
      text += profile(field, id, k, k == 3 ? "BT" : "AI", event);
    }
  }
  field.add_record("records/cone_foredune.csv", text, "id = \"cone-foredune\"\nkind = \"cone\"\ninstrument = \"hand-cone\"\n");
  text = head;
  for (const char* point : {"B1", "B2", "B3", "B5", "B6"}) {
    for (int k = 1; k <= 3; ++k) text += profile(field, point, k, k == 2 ? "AI" : "BT", Event::none);
  }
  field.add_record("records/cone_marsh.csv", text,
                   "id = \"cone-marsh\"\nkind = \"cone\"\ninstrument = \"hand-cone\"\nremoulding_index = 0.72\n");
}

}  // namespace fieldsim
