// SPDX-License-Identifier: Apache-2.0
// Logged pulls against a loaded sled, both ways on lanes at three gradients, towed runs, and the spin sheet.
#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include <fmt/format.h>

#include "fieldsim/field.hpp"

namespace fieldsim {
namespace {

// How a logger writes its file.
enum class Layout { plain, three_headings_decimal_comma, byte_order_mark, road_units };

struct Run {
  std::string id, vehicle, lane, direction, time;
  const PullTruth* truth;
  double gradient_deg = 0;           // nose up positive along the direction driven
  std::vector<double> slips;         // one steady stretch a sled weight
  double rate_hz = 20;
  Layout layout = Layout::plain;
  bool torque = false, current = false, pitch = true, mark_zero = true, stand_at_end = true;
  bool gap = false, repeat_row = false, stuck_pitch = false;
  bool towed = false;
  std::string remark = {};
};

struct Sample {
  double t, pull_n, wheel_left, wheel_right, ground, torque, current, pitch_deg;
};

constexpr double kStand_s = 6, kSteady_s = 8, kChange_s = 2.5, kEnd_s = 5;

double eased(double x) {  // 0 to 1, level at both ends
  x = std::clamp(x, 0.0, 1.0);
  return x * x * (3 - 2 * x);
}

// Slip asked of the vehicle at time t: from plateau to plateau; nothing while it stands.
std::optional<double> slip_course(const Run& run, double t) {
  t -= kStand_s;
  const double stretch = kSteady_s + kChange_s, whole = stretch * static_cast<double>(run.slips.size());
  if (t < 0 || t >= whole) return std::nullopt;
  const auto k = static_cast<std::size_t>(t / stretch);
  const double inside = t - static_cast<double>(k) * stretch;
  const double from = k == 0 ? run.slips[0] : run.slips[k - 1];
  return from + (run.slips[k] - from) * eased(inside / kChange_s);
}

std::vector<Sample> simulate(const Field& field, const Run& run) {
  Dice dice = field.dice("run " + run.id);
  const PullTruth& truth = *run.truth;
  const double step = 1 / run.rate_hz, slope = run.gradient_deg * std::numbers::pi / 180;
  const double factor = std::exp(dice.normal(truth.run_sd)), normal_n = kWeight_n * std::cos(slope);
  const double zero_n = dice.uniform(20, 50), drift = dice.normal(0.04), rim_speed = 0.62;
  const double pitch_zero = dice.normal(0.15), torque_zero = dice.normal(3);
  const double moving_s = (kSteady_s + kChange_s) * static_cast<double>(run.slips.size());
  const double end = kStand_s + moving_s + (run.stand_at_end ? kEnd_s : 0);
  Wander slip_wander(dice, 0.006, step, 0.8), ground_wander(dice, 0.008, step, 0.4), speed_wander(dice, 0.012, step, 1.5),
      pitch_wander(dice, 0.35, step, 0.6);
  const auto lag = static_cast<std::size_t>(std::lround(kTowLag_s * run.rate_hz));
  std::vector<double> pulls;
  std::vector<Sample> out;
  double last_speed = 0;
  for (std::size_t i = 0; static_cast<double>(i) * step < end; ++i) {
    const double t = static_cast<double>(i) * step;
    const std::optional<double> asked = slip_course(run, t);
    double slip = 0, omega = 0, speed = 0, pull = 0, torque = 0;
    if (asked) {
      const double start = eased((t - kStand_s) / 1.5), stop = eased((kStand_s + moving_s - t) / 1.2);
      const double rim = rim_speed * std::min(start, stop) * (1 + speed_wander.next());
      slip = std::clamp(*asked + slip_wander.next(), -0.2, 0.95);
      omega = rim / truth.radius_m;
      speed = rim * (1 - slip);
      const double inertia = kMass_kg * (speed - last_speed) / step;
      const double bumps = ground_wander.next() * kWeight_n;
      if (run.towed) {
        pull = truth.towed_resistance * factor * normal_n + kWeight_n * std::sin(slope) + inertia + bumps;
      } else {
        pull = pull_coefficient(truth, slip) * factor * normal_n - kWeight_n * std::sin(slope) - inertia + bumps;
        torque = torque_coefficient(truth, slip) * (0.5 + 0.5 * factor) * normal_n * truth.radius_m * std::min(1.0, rim / 0.1);
      }
      pull = std::max(pull, 0.0);  // a line cannot push
    }
    last_speed = speed;
    pulls.push_back(pull);
    const double felt = i >= lag ? pulls[i - lag] : 0;
    const double pitch = run.stuck_pitch && t > 30 ? run.gradient_deg + pitch_zero
                                                   : run.gradient_deg + pitch_zero + (asked ? pitch_wander.next() : 0) + dice.normal(0.05);
    out.push_back({.t = t,
                   .pull_n = felt * kTowCellGain + zero_n + drift * t + dice.normal(7),
                   .wheel_left = omega * 1.002 + (asked ? dice.normal(0.012) : 0),
                   .wheel_right = omega * 0.998 + (asked ? dice.normal(0.012) : 0),
                   .ground = speed + (asked ? dice.normal(0.006) : 0),
                   .torque = torque + torque_zero + dice.normal(5),
                   .current = (torque > 0 ? torque / kTorquePerAmpere_n_m + kIdleCurrent_a : 0) + dice.normal(0.25),
                   .pitch_deg = pitch});
  }
  return out;
}

struct Channel {
  const char *name, *unit;
  double Sample::*value;
  double factor;
  int digits;
};

std::vector<Channel> channels(const Run& run) {
  const bool road = run.layout == Layout::road_units;
  std::vector<Channel> c{{"Time", "s", &Sample::t, 1, 2}};
  c.push_back(road ? Channel{"Drawbar pull", "kN", &Sample::pull_n, 1e-3, 4} : Channel{"Drawbar pull", "N", &Sample::pull_n, 1, 1});
  const double rpm = 30 / std::numbers::pi;
  c.push_back(road ? Channel{"Wheel speed left", "rpm", &Sample::wheel_left, rpm, 2} : Channel{"Wheel speed left", "rad/s", &Sample::wheel_left, 1, 4});
  c.push_back(road ? Channel{"Wheel speed right", "rpm", &Sample::wheel_right, rpm, 2} : Channel{"Wheel speed right", "rad/s", &Sample::wheel_right, 1, 4});
  c.push_back(road ? Channel{"Ground speed", "km/h", &Sample::ground, 3.6, 3} : Channel{"Ground speed", "m/s", &Sample::ground, 1, 4});
  if (run.torque) c.push_back({"Axle torque", "N m", &Sample::torque, 1, 1});
  if (run.current) c.push_back({"Motor current", "A", &Sample::current, 1, 2});
  if (run.pitch) c.push_back({"Pitch", "deg", &Sample::pitch_deg, 1, 2});
  return c;
}

std::string written(const Run& run, const std::vector<Sample>& samples) {
  const std::vector<Channel> all = channels(run);
  const bool european = run.layout == Layout::three_headings_decimal_comma;
  const std::string cut = european ? ";" : ",", end = european ? "\r\n" : "\n";
  std::string out = run.layout == Layout::byte_order_mark ? "\xEF\xBB\xBF" : "";
  out += "# Tern Spit: invented data, simulated by fieldsim; nothing here was measured." + end;
  const auto line = [&](auto&& cell) {
    for (std::size_t i = 0; i < all.size(); ++i) out += (i == 0 ? "" : cut) + cell(all[i], i);
    out += end;
  };
  if (european) {
    line([](const Channel& c, std::size_t) { return std::string(c.name); });
    line([](const Channel& c, std::size_t) { return std::string(c.unit); });
    line([](const Channel&, std::size_t i) { return fmt::format("CH{:02}", i); });
  } else {
    line([](const Channel& c, std::size_t) { return fmt::format("{} ({})", c.name, c.unit); });
  }
  for (std::size_t k = 0; k < samples.size(); ++k) {
    if (run.gap && k > 900 && k < 960) continue;  // the logger lost three seconds
    const auto row = [&](const Channel& c, std::size_t) {
      std::string cell = fmt::format("{:.{}f}", samples[k].*c.value * c.factor, c.digits);
      if (european) std::replace(cell.begin(), cell.end(), '.', ',');
      return cell;
    };
    line(row);
    if (run.repeat_row && k % 500 == 250) line(row);
  }
  return out;
}

void add_run(Field& field, const Run& run) {
  std::string keys = fmt::format("id = \"{}\"\nkind = \"{}\"\ninstrument = \"tow-cell\"\npoint = \"{}\"\nvehicle = \"{}\"\noperator = \"AI\"\ntime = \"{}\"\n"
                                 "gradient = \"{:g} deg\"\nlane = \"{}\"\ndirection = \"{}\"\nrun = \"{}\"\nrolling_radius = \"{:g} m\"\n"
                                 "zero_slip = \"towed on hard ground\"\nhitch_height = \"0.35 m\"\nline_angle = \"0 deg\"\n",
                                 run.id, run.towed ? "towed" : "tow", run.lane, run.vehicle, run.time, run.gradient_deg, run.lane, run.direction, run.id,
                                 run.truth->radius_m);
  if (run.mark_zero) keys += "zero_stretch = [\"0.5 s\", \"5 s\"]\n";
  if (run.current && !run.torque) keys += "torque_source = \"motor current\"\n";
  if (!run.remark.empty()) keys += fmt::format("remark = \"{}\"\n", run.remark);
  std::string file = run.id;
  std::replace(file.begin(), file.end(), '-', '_');
  field.add_record("records/" + file + ".csv", written(run, simulate(field, run)), keys);
}

void spin_sheet(Field& field) {
  Dice dice = field.dice("spin");
  std::string text = std::string(kSaysInvented) + "Motor current (A),Axle torque (N m),Wheel speed (rpm),Remark\n";
  for (const double torque : {0.0, 60.0, 120.0, 200.0, 280.0, 360.0, 440.0, 520.0, 600.0}) {
    const double current = torque / kTorquePerAmpere_n_m + kIdleCurrent_a + dice.normal(0.15);
    text += fmt::format("{:.1f},{:.0f},{:.0f},{}\n", current, torque, 20 + dice.normal(0.4), torque == 0 ? "on blocks; brake free; all four motors" : "");
  }
  field.add_record("records/spin_dunlin.csv", text, "id = \"spin-dunlin\"\nkind = \"spin\"\nvehicle = \"dunlin\"\npoint = \"L0\"\noperator = \"BT\"\n");
}

}  // namespace

void simulate_tow_logs(Field& field) {
  const std::vector<double> whole{0.03, 0.06, 0.10, 0.15, 0.20, 0.27, 0.35, 0.45, 0.55}, uphill4{0.06, 0.10, 0.15, 0.20, 0.26, 0.34, 0.42},
      downhill{0.03, 0.06, 0.10, 0.16, 0.22, 0.30, 0.40, 0.50}, uphill8{0.10, 0.14, 0.18, 0.23, 0.30, 0.36};
  const PullTruth *tyres = &kTyresForedune, *lugs = &kLugsForedune, *marsh = &kTyresMarsh;
  const std::vector<Run> runs{
      {.id = "tow-L0-out", .vehicle = "dunlin", .lane = "L0", .direction = "out", .time = "2026-04-14T09:20", .truth = tyres, .slips = whole, .torque = true},
      {.id = "tow-L0-back", .vehicle = "dunlin", .lane = "L0", .direction = "back", .time = "2026-04-14T09:40", .truth = tyres, .slips = whole, .torque = true},
      {.id = "tow-L0-out-2", .vehicle = "dunlin", .lane = "L0", .direction = "out", .time = "2026-04-14T10:00", .truth = tyres, .slips = whole,
       .layout = Layout::road_units, .current = true, .mark_zero = false},
      {.id = "tow-L0-back-2", .vehicle = "dunlin", .lane = "L0", .direction = "back", .time = "2026-04-14T10:20", .truth = tyres, .slips = downhill,
       .rate_hz = 10, .layout = Layout::byte_order_mark, .current = true},
      {.id = "tow-L4-up", .vehicle = "dunlin", .lane = "L4", .direction = "out", .time = "2026-04-14T11:10", .truth = tyres, .gradient_deg = 4, .slips = uphill4,
       .torque = true},
      {.id = "tow-L4-down", .vehicle = "dunlin", .lane = "L4", .direction = "back", .time = "2026-04-14T11:30", .truth = tyres, .gradient_deg = -4,
       .slips = downhill, .torque = true, .mark_zero = false},
      {.id = "tow-L8-up", .vehicle = "dunlin", .lane = "L8", .direction = "out", .time = "2026-04-14T13:40", .truth = tyres, .gradient_deg = 8, .slips = uphill8,
       .rate_hz = 10},
      {.id = "tow-L8-down", .vehicle = "dunlin", .lane = "L8", .direction = "back", .time = "2026-04-14T14:00", .truth = tyres, .gradient_deg = -8,
       .slips = downhill, .stuck_pitch = true, .remark = "pitch sensor found unplugged at the end"},
      {.id = "tow-lugs-L0-out", .vehicle = "dunlin-lugs", .lane = "L0", .direction = "out", .time = "2026-04-16T09:20", .truth = lugs, .slips = whole,
       .layout = Layout::three_headings_decimal_comma, .torque = true},
      {.id = "tow-lugs-L0-back", .vehicle = "dunlin-lugs", .lane = "L0", .direction = "back", .time = "2026-04-16T09:45", .truth = lugs, .slips = whole,
       .layout = Layout::three_headings_decimal_comma, .torque = true, .mark_zero = false},
      {.id = "tow-lugs-L0-out-2", .vehicle = "dunlin-lugs", .lane = "L0", .direction = "out", .time = "2026-04-16T10:10", .truth = lugs, .slips = downhill,
       .rate_hz = 10},
      {.id = "tow-lugs-L4-down", .vehicle = "dunlin-lugs", .lane = "L4", .direction = "back", .time = "2026-04-16T11:00", .truth = lugs, .gradient_deg = -4,
       .slips = downhill},
      {.id = "tow-M0-out", .vehicle = "dunlin", .lane = "M0", .direction = "out", .time = "2026-04-15T10:10", .truth = marsh, .slips = whole, .torque = true,
       .gap = true},
      {.id = "tow-M0-back", .vehicle = "dunlin", .lane = "M0", .direction = "back", .time = "2026-04-15T10:35", .truth = marsh, .slips = whole, .torque = true,
       .repeat_row = true},
      {.id = "tow-M0-out-2", .vehicle = "dunlin", .lane = "M0", .direction = "out", .time = "2026-04-15T11:05", .truth = marsh, .slips = downhill, .rate_hz = 10},
      {.id = "towed-L0-out", .vehicle = "dunlin", .lane = "L0", .direction = "out", .time = "2026-04-14T16:20", .truth = tyres, .slips = {-0.02, -0.02, -0.02},
       .towed = true},
      {.id = "towed-L0-back", .vehicle = "dunlin", .lane = "L0", .direction = "back", .time = "2026-04-14T16:35", .truth = tyres, .slips = {-0.02, -0.02, -0.02},
       .towed = true},
      {.id = "towed-M0-out", .vehicle = "dunlin", .lane = "M0", .direction = "out", .time = "2026-04-15T11:40", .truth = marsh, .slips = {-0.03, -0.03, -0.03},
       .towed = true},
  };
  for (const Run& run : runs) add_run(field, run);
  spin_sheet(field);
}

}  // namespace fieldsim
