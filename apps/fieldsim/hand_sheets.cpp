// SPDX-License-Identifier: Apache-2.0
// Sheets of the vehicle tests written by hand: pulls by turns and tape, slope trials, ruts.
#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "fieldsim/field.hpp"

namespace fieldsim {
namespace {

constexpr double kPoundForce_n = 4.4482216152605;  // defined: 0.45359237 kg x 9.80665 m/s^2

void hand_tow_sheet(Field& field) {
  Dice dice = field.dice("hand tow");
  std::string text = std::string(kSaysInvented) + "Run,Direction,Turns,Distance (ft),Pull (lbf),Gradient (deg),Sinkage (mm),Remark\n";
  const double metres_a_turn = 2 * std::numbers::pi * kTyresForedune.radius_m;
  for (int run = 1; run <= 5; ++run) {
    const double factor = std::exp(dice.normal(kTyresForedune.run_sd)), gradient = run == 5 ? 4 : 0;
    const double slope = gradient * std::numbers::pi / 180;
    for (const double aimed : {0.05, 0.10, 0.16, 0.22}) {
      const double slip = aimed + dice.normal(0.008), turns = rounded(dice.uniform(3.1, 4.4), 0.25);
      const double pull = kWeight_n * (factor * pull_coefficient(kTyresForedune, slip) * std::cos(slope) - std::sin(slope));
      const double feet = turns * metres_a_turn * (1 - slip) / 0.3048;
      const double pounds = rounded(pull / kPoundForce_n * (1 + dice.normal(0.02)), 2);
      const bool slip_of_the_pen = run == 3 && aimed == 0.16;  // a nought too many
      text += fmt::format("H{},{},{},{},{:.0f},{:g},{:.0f},{}\n", run, run % 2 ? "out" : "back", quarters(turns), quarters(feet),
                          slip_of_the_pen ? 10 * pounds : pounds, gradient,
                          rounded(1e3 * (kTyresForedune.z0_m + kTyresForedune.z1_m * slip) + dice.normal(2.5), 1), aimed == 0.22 ? "wheels throw sand" : "");
      if (!slip_of_the_pen) continue;
      const auto line = static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
      field.amend("records/hand_tow.csv", line, "Pull (lbf)", "correct", fmt::format("{:.0f}", 10 * pounds), fmt::format("{:.0f}", pounds), "BT",
                  "2026-04-14T19:30", "a nought too many; the balance reads to 500 lbf");
    }
  }
  field.add_record("records/hand_tow.csv", text,
                   "id = \"hand-tow\"\nkind = \"tow\"\ninstrument = \"spring-balance\"\npoint = \"L4\"\nvehicle = \"dunlin\"\noperator = \"BT\"\n"
                   "time = \"2026-04-14T12:10\"\nrolling_radius = \"0.291 m\"\nzero_slip = \"towed on hard ground\"\nhitch_height = \"0.35 m\"\n"
                   "line_angle = \"0 deg\"\nturns_resolution = 0.25\ndistance_resolution = \"0.25 ft\"\npull_resolution = \"2 lbf\"\n");
}

struct Trial {
  double angle_deg;
  bool rolling, down;
  const char *forced, *why;  // an outcome that is not the ground's
};

std::string trials(const Field& field, const std::string& name, const PullTruth& truth, const std::vector<Trial>& list) {
  Dice dice = field.dice("slope trials " + name);
  std::string text = std::string(kSaysInvented) +
                     "Trial,Travel,Slope 1 (deg),Slope 2 (deg),Slope 3 (deg),Start,Length (m),Slip (%),Sinkage (mm),Outcome,Why stopped,Assisted,Remark\n";
  int number = 0;
  for (const Trial& t : list) {
    const double factor = std::exp(dice.normal(truth.run_sd)), mean = t.angle_deg + dice.normal(0.15);
    std::string angles;
    for (int k = 0; k < 3; ++k) angles += fmt::format("{:.1f},", rounded(mean + dice.normal(0.4), 0.1));
    const double need = std::tan(mean * std::numbers::pi / 180);
    const double slip = t.down ? std::max(-0.15, -0.01 - 0.25 * std::max(0.0, need - truth.towed_resistance)) : slip_at(truth, factor, need);
    const bool passes = t.down || slip >= 0;
    const std::string outcome = *t.forced ? t.forced : passes ? "go" : "no-go";
    const std::string why = *t.why ? t.why : passes ? "" : "wheels dig in";
    const double length = outcome == "go" ? 12 : outcome == "no-go" ? dice.uniform(1.5, 5) : dice.uniform(3, 7);
    const std::string slip_cell = outcome == "go" || outcome == "sled-limited" ? fmt::format("{:.0f}", 100 * slip) : "-";
    const double sinkage = 1e3 * (truth.z0_m + truth.z1_m * (outcome == "no-go" ? 0.7 : std::abs(slip))) + dice.normal(3);
    text += fmt::format("{}{},{},{}{},{:.1f},{},{:.0f},{},{},no,{}\n", name, ++number, t.down ? "down" : "up", angles, t.rolling ? "rolling" : "standing",
                        rounded(length, 0.5), slip_cell, sinkage, outcome, why, outcome == "no-go" ? "backed off under control" : "");
  }
  return text;
}

void slope_trials(Field& field) {
  const std::vector<Trial> tyres{{10, false, false, "", ""}, {12, false, false, "", ""}, {13, false, false, "sled-limited", "sled left on by mistake"},
                                 {14, false, false, "", ""}, {15, false, false, "", ""}, {16, false, false, "aborted", "roll above the abort rule"},
                                 {16, false, false, "", ""}, {17, false, false, "", ""}, {18, false, false, "", ""}, {20, false, false, "", ""},
                                 {10, false, true, "", ""}, {15, false, true, "", ""}, {20, false, true, "", ""}};
  const std::vector<Trial> lugs{{6, false, false, "", ""}, {8, false, false, "", ""}, {10, false, false, "", ""}, {12, false, false, "", ""}};
  const auto keys = [](const char* id, const char* vehicle, const char* time, double radius_m) {
    return fmt::format("id = \"{}\"\nkind = \"slope-trial\"\ninstrument = \"slope-level\"\npoint = \"S1\"\nvehicle = \"{}\"\noperator = \"AI\"\ntime = \"{}\"\n"
                       "rolling_radius = \"{:g} m\"\nzero_slip = \"towed on hard ground\"\n", id, vehicle, time, radius_m);
  };
  field.add_record("records/slope_dunlin.csv", trials(field, "T", kTyresForedune, tyres),
                   keys("slope-dunlin", "dunlin", "2026-04-14T15:30", kTyresForedune.radius_m));
  field.add_record("records/slope_dunlin_lugs.csv", trials(field, "U", kLugsForedune, lugs),
                   keys("slope-dunlin-lugs", "dunlin-lugs", "2026-04-16T14:00", kLugsForedune.radius_m));
}

void rut_sheet(Field& field, const std::string& name, const std::string& vehicle, const std::string& point, const std::string& time,
               const PullTruth& truth, const std::vector<double>& slips) {
  Dice dice = field.dice("ruts " + name);
  std::string text = std::string(kSaysInvented) + "Run,Wheel path,Pass,Slip (%),Depth loaded (mm),Depth after (mm),Remark\n";
  int run = 0;
  for (const double slip : slips) {
    ++run;
    const double factor = std::exp(dice.normal(0.07));
    for (int pass = 1; pass <= 3; ++pass) {
      for (const char* path : {"left", "right"}) {
        for (int place = 0; place < 2; ++place) {
          const double loaded = 1e3 * (truth.z0_m + truth.z1_m * slip) * factor * std::pow(pass, truth.pass_exponent) + dice.normal(2.0);
          const double after = loaded - 1e3 * truth.rebound_m + dice.normal(1.2);
          text += fmt::format("R{},{},{},{:.0f},{:.0f},{:.0f},\n", run, path, pass, 100 * slip + dice.normal(0.4), loaded, after);
        }
      }
    }
  }
  field.add_record("records/" + name + ".csv", text,
                   fmt::format("id = \"{}\"\nkind = \"rut\"\ninstrument = \"tape\"\npoint = \"{}\"\nvehicle = \"{}\"\noperator = \"BT\"\ntime = \"{}\"\n"
                               "gradient = \"0 deg\"\nrolling_radius = \"{:g} m\"\nzero_slip = \"towed on hard ground\"\n",
                               name, point, vehicle, time, truth.radius_m));
}

}  // namespace

void simulate_hand_sheets(Field& field) {
  hand_tow_sheet(field);
  slope_trials(field);
  rut_sheet(field, "ruts_foredune", "dunlin", "L0", "2026-04-14T10:45", kTyresForedune, {0.04, 0.10, 0.20, 0.30});
  rut_sheet(field, "ruts_foredune_lugs", "dunlin-lugs", "L0", "2026-04-16T10:40", kLugsForedune, {0.05, 0.20});
  rut_sheet(field, "ruts_marsh", "dunlin", "M0", "2026-04-15T12:05", kTyresMarsh, {0.05, 0.12, 0.20});
}

}  // namespace fieldsim
