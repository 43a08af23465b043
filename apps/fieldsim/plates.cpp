// SPDX-License-Identifier: Apache-2.0
// Plate pushes: two plates side by side at each point, order alternated, the reference point again and again.
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "fieldsim/field.hpp"

namespace fieldsim {
namespace {

struct PlateSize {
  const char* id;
  double width_m, area_m2;
};
constexpr PlateSize kRound{"round 150", 0.075, std::numbers::pi * 0.075 * 0.075};
constexpr PlateSize kOblong{"oblong 210", 0.21, 0.21 * 0.30};

struct Push {
  std::string name;
  const FieldPoint* point;
  PlateSize plate;
  double hours;              // clock time
  std::string by, remark;
  double depth_m;            // true sinkage at the end
  std::size_t rows;
  std::size_t stone_at = 0;  // row where the plate meets a stone; 0: none
};

const PlateTruth& truth_of(const FieldPoint& p) { return p.zone == "marsh" ? kMarshPlates : kForedunePlates; }

double pressure_pa(const PlateTruth& t, const FieldPoint& p, double width_m, double depth_m, double hours) {
  if (!(depth_m > 0)) return 0;
  double out = (t.kc_n / width_m + t.kphi_n) * std::pow(depth_m, t.n) * std::pow(depth_m / 0.04, p.exponent);
  if (t.crust_pa > 0) {
    const double x = depth_m / t.crust_depth_m;
    out += t.crust_pa * x * std::exp((1 - x * x) / 2);
  }
  return out * std::exp(p.level + t.drift_per_hour * (hours - 12));
}

// What a reader of dial and load display writes down, one row a few millimetres.
std::string hand_rows(const Field& field, const Push& push) {
  Dice dice = field.dice("push " + push.name);
  const PlateTruth& truth = truth_of(*push.point);
  const double factor = std::exp(dice.normal(truth.push_sd)) * (push.by == "BT" ? kSecondOperator : 1);
  const double contact_mm = dice.uniform(0, 0.6), zero_n = dice.normal(4);
  std::string out;
  for (std::size_t i = 0; i < push.rows; ++i) {
    double z_mm = 0, load_n = 0;
    if (i > 0) {
      const double share = static_cast<double>(i) / static_cast<double>(push.rows - 1);
      const double z = push.depth_m * std::pow(share, 1.15);
      load_n = pressure_pa(truth, *push.point, push.plate.width_m, z, push.hours) * push.plate.area_m2 * factor;
      if (push.stone_at > 0 && i >= push.stone_at && i < push.stone_at + 2) load_n *= 1.7;
      z_mm = 1e3 * (z + load_n / kFrame_n_per_m) + contact_mm + dice.normal(0.15);
    }
    const double read_n = load_n * kPressGain * (1 + dice.normal(0.012)) + zero_n + dice.normal(3);
    out += fmt::format("{},{},{},{},{},{:.1f},{:.0f},{}\n", push.name, push.point->id, push.plate.id, stamp(*push.point, push.hours), push.by,
                       std::max(0.0, rounded(z_mm, 0.5)), std::max(0.0, rounded(read_n, 5)),
                       i == 0 ? push.remark : push.stone_at > 0 && i == push.stone_at ? "grates on a stone?" : "");
  }
  return out;
}

// A logged push at 10 Hz with an unload and reload loop: steady rate, zero stretch first.
std::string logged_push(const Field& field, const Push& push, double rate_m_s) {
  constexpr double kStep_s = 0.1;
  Dice dice = field.dice("push " + push.name);
  const PlateTruth& truth = truth_of(*push.point);
  const double factor = std::exp(dice.normal(truth.push_sd));
  const double turn_m = 0.55 * push.depth_m, back_m = 0.004;  // loop: lifted by 4 mm and pushed on
  std::string out = std::string(kSaysInvented) + "Time (s),Sinkage (mm),Load (N)\n";
  double travel = 0, deepest = 0, t = 0;
  enum class Phase { zero, first, lift, again } phase = Phase::zero;
  for (int i = 0; deepest < push.depth_m; ++i, t = i * kStep_s) {
    if (t >= 3 && phase == Phase::zero) phase = Phase::first;
    if (phase == Phase::first || phase == Phase::again) travel += rate_m_s * kStep_s;
    if (phase == Phase::lift) travel -= 0.25 * rate_m_s * kStep_s;
    if (phase == Phase::first && travel >= turn_m) phase = Phase::lift;
    if (phase == Phase::lift && travel <= turn_m - back_m) phase = Phase::again;
    deepest = std::max(deepest, travel);
    const double virgin_pa = pressure_pa(truth, *push.point, push.plate.width_m, deepest, push.hours);
    const double p = std::max(0.0, virgin_pa - (deepest - travel) / back_m * 0.85 * virgin_pa);
    const double load = p * push.plate.area_m2 * factor;
    const double z_mm = 1e3 * (travel + load / kFrame_n_per_m) + dice.normal(0.08);
    out += fmt::format("{:.1f},{:.2f},{:.1f}\n", t, z_mm, load * kPressGain * (1 + dice.normal(0.006)) + 14 + dice.normal(3));
  }
  return out;
}

std::string heading() {
  return std::string(kSaysInvented) + "Push,Point,Plate,Clock,Operator,Sinkage (mm),Load (N),Remark\n";
}

struct Visit {
  const char* point;
  double hours;
  const char* by;
};

// Both plates at one point; the order changes from point to point.
void add_pair(std::vector<Push>& pushes, const Field& field, const Visit& v, double round_m, double oblong_m, std::size_t rows) {
  const bool round_first = pushes.size() % 4 == 0;
  const FieldPoint* p = &field.point(v.point);
  const std::string suffix = std::string(v.by) == "BT" ? "b" : "";
  Push round{.name = fmt::format("{}-r{}", v.point, suffix), .point = p, .plate = kRound, .hours = v.hours + (round_first ? 0 : 0.2), .by = v.by,
             .remark = "", .depth_m = round_m, .rows = rows};
  Push oblong{.name = fmt::format("{}-o{}", v.point, suffix), .point = p, .plate = kOblong, .hours = v.hours + (round_first ? 0.2 : 0), .by = v.by,
              .remark = "", .depth_m = oblong_m, .rows = rows};
  pushes.push_back(round_first ? round : oblong);
  pushes.push_back(round_first ? oblong : round);
}

}  // namespace

void simulate_plates(Field& field) {
  std::vector<Push> dune, marsh;
  for (const Visit& v : {Visit{"A1", 8.9, "AI"}, Visit{"A2", 9.6, "AI"}, Visit{"A3", 10.7, "AI"}, Visit{"A4", 11.45, "AI"}, Visit{"A5", 12.7, "AI"},
                         Visit{"A6", 14.4, "AI"}, Visit{"A8", 16.4, "AI"}}) {
    add_pair(dune, field, v, 0.115, 0.065, 26);
  }
  for (const Visit& v : {Visit{"A2", 10.1, "BT"}, Visit{"A5", 13.15, "BT"}, Visit{"A6", 14.85, "BT"}}) add_pair(dune, field, v, 0.105, 0.06, 22);
  std::string text = heading();
  for (Push& p : dune) {
    if (p.name == "A4-o") p.stone_at = 15;
    text += hand_rows(field, p);
  }
  const std::size_t stone = line_of(text, "A4-o") + 15;
  field.add_record("records/plates_foredune.csv", text,
                   "id = \"plates-foredune\"\nkind = \"plate\"\ninstrument = \"press\"\nrate = \"20 mm/s\"\ntilt = \"1.5 deg\"\n");
  field.amend("records/plates_foredune.csv", stone, "", "exclude", "", "", "AI", "2026-04-12T19:10",
              "the plate grated on a shell bank; dug out afterwards and seen");

  for (const Visit& v : {Visit{"B1", 8.8, "AI"}, Visit{"B2", 9.5, "AI"}, Visit{"B3", 10.3, "BT"}, Visit{"B4", 11.2, "AI"}, Visit{"B5", 12.9, "AI"},
                         Visit{"B6", 13.8, "BT"}}) {
    add_pair(marsh, field, v, 0.20, 0.20, 38);
  }
  for (const Visit& v : {Visit{"B2", 9.9, "BT"}}) add_pair(marsh, field, v, 0.18, 0.18, 32);
  text = heading();
  for (const Push& p : marsh) text += hand_rows(field, p);
  field.add_record("records/plates_marsh.csv", text,
                   "id = \"plates-marsh\"\nkind = \"plate\"\ninstrument = \"press\"\nrate = \"20 mm/s\"\n");

  // The reference point through the first day, round plate only, both plates at the first and last visit.
  text = heading();
  int visit = 0;
  for (const double hours : {8.3, 10.1, 11.9, 13.7, 15.6, 17.2}) {
    ++visit;
    const FieldPoint* p = &field.point("P1");
    text += hand_rows(field, {.name = fmt::format("P1-{}r", visit), .point = p, .plate = kRound, .hours = hours, .by = "AI", .remark = "reference point",
                              .depth_m = 0.105, .rows = 24});
    if (visit == 1 || visit == 6) {
      text += hand_rows(field, {.name = fmt::format("P1-{}o", visit), .point = p, .plate = kOblong, .hours = hours + 0.15, .by = "AI",
                                .remark = "reference point", .depth_m = 0.06, .rows = 24});
    }
  }
  field.add_record("records/plates_reference.csv", text,
                   "id = \"plates-reference\"\nkind = \"plate\"\ninstrument = \"press\"\nrate = \"20 mm/s\"\n");

  const FieldPoint* a7 = &field.point("A7");
  const Push round{.name = "A7-r", .point = a7, .plate = kRound, .hours = 15.2, .by = "AI", .remark = "", .depth_m = 0.115, .rows = 0};
  const Push oblong{.name = "A7-o", .point = a7, .plate = kOblong, .hours = 15.4, .by = "AI", .remark = "", .depth_m = 0.062, .rows = 0};
  const auto keys = [](const char* id, const char* plate, const char* time) {
    return fmt::format("id = \"{}\"\nkind = \"plate\"\ninstrument = \"press\"\npoint = \"A7\"\nplate = \"{}\"\noperator = \"AI\"\ntime = \"{}\"\nrate = \"8 mm/s\"\n",
                       id, plate, time);
  };
  field.add_record("records/plate_A7_round.csv", logged_push(field, round, 0.008), keys("plate-a7-round", "round 150", "2026-04-12T15:12"));
  field.add_record("records/plate_A7_oblong.csv", logged_push(field, oblong, 0.008), keys("plate-a7-oblong", "oblong 210", "2026-04-12T15:24"));
}

}  // namespace fieldsim
