// SPDX-License-Identifier: Apache-2.0
// Shear ring turns at several dead loads: torque integrated over the ring from the stress law of the ground.
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "fieldsim/field.hpp"

namespace fieldsim {
namespace {

constexpr double kInner_m = 0.090, kOuter_m = 0.125, kOwnWeight_n = 25;
constexpr double kArea_m2 = std::numbers::pi * (kOuter_m * kOuter_m - kInner_m * kInner_m);

double torque_n_m(const ShearTruth& t, const FieldPoint& p, double sigma_pa, double angle_rad) {
  const double strength = t.cohesion_pa * p.cohesion + sigma_pa * std::tan(t.phi_deg * std::numbers::pi / 180) * p.tan_phi;
  const double modulus = t.modulus_m * p.modulus;
  constexpr int kStrips = 40;
  double sum = 0;
  for (int i = 0; i < kStrips; ++i) {
    const double r = kInner_m + (i + 0.5) * (kOuter_m - kInner_m) / kStrips;
    sum += 2 * std::numbers::pi * r * r * strength * (1 - std::exp(-angle_rad * r / modulus)) * (kOuter_m - kInner_m) / kStrips;
  }
  return sum;
}

std::string turns_at(const Field& field, const ShearTruth& truth, const std::string& point, const std::vector<double>& dead_loads_n,
                     const std::string& by, int& number) {
  const FieldPoint& p = field.point(point);
  std::string out;
  for (const double dead_n : dead_loads_n) {
    ++number;
    Dice dice = field.dice(fmt::format("turn {} {}", point, number));
    const double factor = std::exp(dice.normal(truth.turn_sd)), slack_deg = dice.uniform(0, 0.4);
    const double sigma = (dead_n + kOwnWeight_n) / kArea_m2;
    for (int i = 0; i <= 24; ++i) {
      const double turned_deg = i < 10 ? 1.5 * i : 13.5 + 3.0 * (i - 9);  // finer at first
      const double angle = std::max(0.0, turned_deg - slack_deg) * std::numbers::pi / 180;
      const double torque = torque_n_m(truth, p, sigma, angle) * factor * kRingGain * (1 + dice.normal(0.01)) + dice.normal(0.03);
      out += fmt::format("{}-{},{},{},{:.0f},{:.1f},{:.2f},{}\n", point, number, point, by, dead_n, turned_deg,
                         std::max(0.0, rounded(torque, 0.05)), i == 0 && dead_n > 1000 ? "weights steadied by hand" : "");
    }
  }
  return out;
}

}  // namespace

void simulate_rings(Field& field) {
  const std::string head = std::string(kSaysInvented) + "Turn,Point,Operator,Dead load (N),Rotation (deg),Torque (N m),Remark\n";
  const std::vector<double> full{20, 100, 280, 600, 1200}, weak{20, 100, 280, 600, 1000}, coarse{60, 240, 520, 950};
  int number = 0;
  std::string text = head;
  for (const char* point : {"A1", "A2", "A4", "A5", "A6", "A8"}) text += turns_at(field, kForeduneShear, point, full, "AI", number);
  field.add_record("records/ring_foredune.csv", text,
                   "id = \"ring-foredune\"\nkind = \"shear-ring\"\ninstrument = \"ring\"\ncolumns = { vertical_load = \"Dead load (N)\" }\n");
  text = head;
  for (const char* point : {"B1", "B2", "B4", "B5", "B6"}) text += turns_at(field, kMarshShear, point, weak, "BT", number);
  field.add_record("records/ring_marsh.csv", text,
                   "id = \"ring-marsh\"\nkind = \"shear-ring\"\ninstrument = \"ring\"\ncolumns = { vertical_load = \"Dead load (N)\" }\n");
  text = head;
  for (const char* point : {"C1", "C2", "C3"}) text += turns_at(field, kShingleShear, point, coarse, "AI", number);
  field.add_record("records/ring_shingle.csv", text,
                   "id = \"ring-shingle\"\nkind = \"shear-ring\"\ninstrument = \"ring\"\ncolumns = { vertical_load = \"Dead load (N)\" }\n");
}

}  // namespace fieldsim
