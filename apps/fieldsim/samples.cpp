// SPDX-License-Identifier: Apache-2.0
// Repose (three kinds, kept apart), bulk density and moisture samples.
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "fieldsim/field.hpp"

namespace fieldsim {
namespace {

void reposes(Field& field) {
  Dice dice = field.dice("repose");
  std::string pile = std::string(kSaysInvented) + "Point,Height (mm),Base diameter (mm),Remark\n";
  std::string face = std::string(kSaysInvented) + "Point,Angle (deg),Remark\n";
  std::string slide = std::string(kSaysInvented) + "Point,Angle (deg),Remark\n";
  for (const char* point : {"P1", "A2", "A4", "A6", "A8"}) {
    const double height_mm = dice.uniform(150, 190), angle = (31.2 + dice.normal(0.5)) * std::numbers::pi / 180;
    pile += fmt::format("{},{:.0f},{:.0f},\n", point, height_mm, rounded(2 * height_mm / std::tan(angle), 5));
  }
  for (const char* point : {"A3", "A6", "A8"}) face += fmt::format("{},{:.1f},surveyed profile\n", point, rounded(32.4 + dice.normal(0.4), 0.5));
  for (const char* point : {"P1", "A4", "A8"}) slide += fmt::format("{},{:.1f},tray tilted by hand\n", point, rounded(34.3 + dice.normal(0.6), 0.5));
  const auto keys = [](const char* id, const char* kind) {
    return fmt::format("id = \"{}\"\nkind = \"repose\"\nrepose = \"{}\"\noperator = \"BT\"\n", id, kind);
  };
  field.add_record("records/repose_pile.csv", pile, keys("repose-pile", "poured pile"));
  field.add_record("records/repose_face.csv", face, keys("repose-face", "slip face"));
  field.add_record("records/repose_slide.csv", slide, keys("repose-slide", "slide start"));
}

}  // namespace

void simulate_samples(Field& field) {
  reposes(field);
  Dice dice = field.dice("samples");
  std::string density = std::string(kSaysInvented) + "Point,Sample depth (cm),Mass (g),Volume (cm3),Remark\n";
  std::string moisture = std::string(kSaysInvented) + "Point,Sample depth (cm),Wet mass (g),Dry mass (g),Tare (g),Remark\n";
  for (const FieldPoint& p : field.points) {
    if (p.id[0] != 'A' && p.id[0] != 'B' && p.id != "P1") continue;
    const bool marsh = p.zone == "marsh";
    for (const int depth_cm : {5, 15}) {
      const double water = depth_cm == 5 ? p.moisture_5cm : p.moisture_15cm;
      const double bulk = (marsh ? 1420 : 1505) * (1 + dice.normal(0.02)) + (depth_cm == 15 ? 25 : 0);
      const double volume = 502.7;  // ring 80 mm wide, 100 mm high
      density += fmt::format("{},{},{:.1f},{:.1f},\n", p.id, depth_cm, bulk * volume * 1e-3 + dice.normal(0.3), volume);
      const double tare = 21.3 + dice.normal(0.4), dry = dice.uniform(78, 96);
      moisture += fmt::format("{},{},{:.1f},{:.1f},{:.1f},{}\n", p.id, depth_cm, tare + dry * (1 + water * (1 + dice.normal(0.04))), tare + dry, tare,
                              depth_cm == 5 && p.id == "B4" ? "sampled in light rain" : "");
    }
  }
  field.add_record("records/density.csv", density, "id = \"density\"\nkind = \"density\"\ninstrument = \"field-scale\"\noperator = \"BT\"\n");
  field.add_record("records/moisture.csv", moisture, "id = \"moisture\"\nkind = \"moisture\"\ninstrument = \"field-scale\"\noperator = \"BT\"\n");
}

}  // namespace fieldsim
