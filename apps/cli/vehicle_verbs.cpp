// SPDX-License-Identifier: Apache-2.0
// Quick answers on a vehicle on hard ground and on its driver: tipover, obstacle, stopping.
#include <cmath>
#include <string>

#include "command_line.hpp"
#include "print.hpp"
#include "print_parts.hpp"
#include "service/obstacle.hpp"
#include "service/remote.hpp"
#include "service/stance.hpp"
#include "units/print.hpp"

namespace hardpan::cli {
namespace {

struct TipOverVerb {
  static constexpr bool kTellsFaults = true;
  std::string vehicle_file, gravity, rut, hitch_pull, line_angle, need;
  UnitsOption units_out;
  int directions = 8;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--rut", rut, "how much deeper the low side stands: '50 mm'");
    v.add_option("--hitch-pull", hitch_pull, "pull along the vehicle, rearward: '500 N'");
    v.add_option("--line-angle", line_angle, "tow line down towards the load: '10 deg'");
    v.add_option("--need", need, "slope needed within the working limit, all round, to tell margins: '20 deg'");
    v.add_option("--directions", directions, "of the fall line, evenly round")->capture_default_str();
    units_out.add_to(v);
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems);
    val.needs("line-angle", !line_angle.empty(), "hitch-pull", !hitch_pull.empty());
    service::TipOverRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0),
                              .low_side_rut_m = val.get("rut", rut, Dimension::length).value_or(0), .hitch_pull_n = val.get("hitch-pull", hitch_pull, Dimension::force),
                              .line_angle_rad = val.get("line-angle", line_angle, Dimension::angle).value_or(0), .directions = directions,
                              .needed_rad = val.get("need", need, Dimension::angle)};
    const auto r = val.answer([&] { return service::tip_over(q); });
    line.put_answer(problems, r.remarks, [&] { return service::tip_over_json(q, r); }, [&] { return tip_over_text(q, r, units_out.units(), Values::unit_or_si(need, Dimension::angle)); });
    return 0;
  }
};

struct ObstacleVerb {
  static constexpr std::size_t kMostFrames = 120;   // five seconds at 24 a second
  static constexpr bool kTellsFaults = true;
  std::string vehicle_file, gravity, step, gap, profile_file, friction, picture, frames;
  UnitsOption units_out;
  bool equal_torques = false;

  void add_to(CLI::App& v) {
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--step", step, "height of a vertical step: '120 mm'; negative: down");
    v.add_option("--gap", gap, "width of a gap without a bottom: '0.4 m'");
    v.add_option("--profile", profile_file, "sheet of the ground in side view, columns x and z with units");
    v.add_option("--friction", friction, "friction coefficient of wheels on this ground: 0.6");
    v.add_flag("--equal-torques", equal_torques, "every driven axle takes the same torque, instead of the best split");
    v.add_option("--picture", picture, "file for a film strip of six places: step.svg");
    v.add_option("--frames", frames, "folder for the pictures of an animation: frame-0001.svg and on");
    units_out.add_to(v);
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems);
    service::ObstacleRequest q{.vehicle_file = vehicle_file, .gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0),
                               .step_m = val.get("step", step, Dimension::length), .gap_m = val.get("gap", gap, Dimension::length),
                               .profile_file = profile_file.empty() ? std::nullopt : std::optional(profile_file),
                               .friction = val.get("friction", friction, Dimension::none), .equal_torques = equal_torques};
    const bool shape = q.step_m || q.gap_m || q.profile_file;
    val.needs("picture", !picture.empty(), "step, --gap or --profile", shape);
    val.needs("frames", !frames.empty(), "step, --gap or --profile", shape);
    auto r = val.answer([&] { return service::obstacle(q); });
    if (!line.json) {
      // The length as it was typed, in its own unit.
      const auto typed = [&](double m, const std::string& text) { return as_typed(std::abs(m), Values::unit(text, Dimension::length).value_or(units::si(Dimension::length))); };
      if (q.step_m) r.obstacle = std::string("a step ") + (*q.step_m < 0 ? "down of " : "up of ") + typed(*q.step_m, step);
      if (q.gap_m) r.obstacle = "a gap of " + typed(*q.gap_m, gap) + " without a bottom";
    }
    const units::OutputUnits u = units_out.units();
    const bool solved = r.crossing && r.crossing->solve.converged();
    if (solved && !picture.empty()) service::write_obstacle_picture(r, picture, u);
    if (solved && !frames.empty()) service::write_obstacle_frames(r, frames, kMostFrames, u);
    line.put_answer(problems, r.remarks, [&] { return service::obstacle_json(q, r); }, [&] { return obstacle_text(q, r, u); });
    return r.unsolved() ? 3 : 0;
  }
};

struct StoppingVerb {
  static constexpr bool kTellsFaults = true;
  std::string need, sight, delay, downlink, reaction, uplink, braking, slope, fastest, room, look_ahead, turning_radius, drift, jitter, image_interval, image_loss, anticipation, thinking,
      amplitude, wave_length, gravity;
  UnitsOption units_out;  // not given: speeds in the unit of --fastest
  std::vector<std::string> at_delay;
  std::uint64_t seed = 1;

  void add_to(CLI::App& v) {
    v.add_option("--sight", sight, "how far ahead an obstacle is seen in time: '10 m'")->required();
    v.add_option("--delay", delay, "whole delay between seeing and acting; or its three parts:");
    v.add_option("--downlink", downlink, "camera to screen: '1.3 s'");
    v.add_option("--reaction", reaction, "of the driver");
    v.add_option("--uplink", uplink, "command to wheels");
    v.add_option("--braking", braking, "braking force over normal load on this ground, from trials or 'hardpan climb': 0.4")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--gradient", slope, "in the direction of travel, downhill negative: '-8 deg'; level where not given");
    v.add_option("--fastest", fastest, "the vehicle's own largest speed: '2 m/s'");
    v.add_option("--room", room, "room for error either side of the path, half of corridor less vehicle; 0.5 m where not given");
    v.add_option("--look-ahead", look_ahead, "how far ahead the driver steers for; 4 m where not given (common practice, no source)");
    v.add_option("--turning-radius", turning_radius, "smallest radius the vehicle turns; on the spot where not given");
    v.add_option("--drift", drift, "angle of travel beside the heading, left positive, as across a slope: '3 deg'");
    v.add_option("--jitter", jitter, "standard deviation added to downlink and uplink");
    v.add_option("--image-interval", image_interval, "time between images; 0.1 s where not given");
    v.add_option("--image-loss", image_loss, "share of images that never arrive: 5 %");
    v.add_option("--anticipation", anticipation, "how far the driver allows for commands under way: 0 (not) to 1 (wholly); 0 where not given");
    v.add_option("--thinking", thinking, "time to think at each stop, besides the delay");
    v.add_option("--slalom", amplitude, "amplitude of the path steered; 1 m where not given, 0 m for a straight one");
    v.add_option("--wave-length", wave_length, "wave length of the path steered; 25 m where not given");
    v.add_option("--need", need, "speed needed, to tell the margin: '1.5 m/s'");
    v.add_option("--at-delay", at_delay, "also at this whole delay; may be given several times");
    v.add_option("--seed", seed, "of jitter and lost images")->capture_default_str();
    units_out.add_to(v, "SI or US; not given: speeds in the unit of --fastest, lengths as --sight");
  }

  // Lengths in US units where --units or the unit of --sight says so.
  [[nodiscard]] bool us_lengths() const {
    if (units_out.given()) return units_out.units() == units::OutputUnits::us;
    const auto unit = Values::unit(sight, units::Dimension::length);
    return unit && (unit->spelling == "ft" || unit->spelling == "in" || unit->spelling == "yd" || unit->spelling == "mi");
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems);
    service::StoppingRequest q{.seed = seed};
    q.sensing_range_m = val.get("sight", sight, Dimension::length).value_or(0);
    const bool parts = !downlink.empty() || !reaction.empty() || !uplink.empty();
    if (parts == !delay.empty()) {
      problems.refuse({.place = {.key = "--delay"}, .what = parts ? "given whole and in parts" : "no delay is given", .remedy = "--delay '3 s', or all of --downlink, --reaction and --uplink, '0 s' for none"});
    }
    if (parts && delay.empty()) {
      // A part left out would count as none: faster than the driver can stop.
      for (const auto& [option, text, what] : {std::tuple{"--downlink", &downlink, "camera to screen"}, {"--reaction", &reaction, "of the driver"}, {"--uplink", &uplink, "command to wheels"}}) {
        if (text->empty()) problems.refuse({.place = {.key = option}, .what = std::string("this part of the delay (") + what + ") is not given", .remedy = "give all three parts, '0 s' for none"});
      }
    }
    q.delay = {val.get("downlink", downlink, Dimension::time).value_or(0), val.get("reaction", reaction, Dimension::time).value_or(0), val.get("uplink", uplink, Dimension::time).value_or(0)};
    if (const auto whole = val.get("delay", delay, Dimension::time)) q.delay = {0.5 * *whole, 0, 0.5 * *whole}, q.delay_whole = true;
    q.braking_coefficient = val.get("braking", braking, Dimension::none).value_or(0);
    q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration).value_or(0);
    q.gradient_rad = val.get("gradient", slope, Dimension::angle).value_or(0);
    q.needed_m_s = val.get("need", need, Dimension::speed);
    q.fastest_m_s = val.get("fastest", fastest, Dimension::speed);
    for (const auto& [option, text] : {std::pair{"--room", &room}, {"--look-ahead", &look_ahead}, {"--turning-radius", &turning_radius}, {"--drift", &drift}, {"--jitter", &jitter}, {"--image-interval", &image_interval}, {"--image-loss", &image_loss},
                                       {"--anticipation", &anticipation}, {"--thinking", &thinking}, {"--slalom", &amplitude}, {"--wave-length", &wave_length}}) {
      if (fastest.empty() && !text->empty()) problems.refuse({.place = {.key = option}, .what = "says nothing without --fastest", .value = *text, .remedy = "give the vehicle's own speed limit"});
    }
    const auto over = [&](double& to, const char* option, const std::string& text, Dimension d) { to = val.get(option, text, d).value_or(to); };
    over(q.half_width_m, "room", room, Dimension::length);
    over(q.look_ahead_m, "look-ahead", look_ahead, Dimension::length);
    over(q.smallest_radius_m, "turning-radius", turning_radius, Dimension::length);
    over(q.drift_angle_rad, "drift", drift, Dimension::angle);
    over(q.jitter_s, "jitter", jitter, Dimension::time);
    over(q.image_interval_s, "image-interval", image_interval, Dimension::time);
    over(q.image_loss_ratio, "image-loss", image_loss, Dimension::none);
    over(q.anticipation_ratio, "anticipation", anticipation, Dimension::none);
    over(q.thinking_s, "thinking", thinking, Dimension::time);
    over(q.slalom_amplitude_m, "slalom", amplitude, Dimension::length);
    over(q.slalom_wave_length_m, "wave-length", wave_length, Dimension::length);
    for (const std::string& d : at_delay) q.delays_s.push_back(val.get("at-delay", d, Dimension::time).value_or(-1));
    const auto r = val.answer([&] { return service::stopping(q); });
    line.put_answer(problems, {}, [&] { return service::stopping_json(q, r); },
                    [&] { return stopping_text(q, r, us_lengths(), units_out.given() ? std::nullopt : Values::unit(fastest, Dimension::speed), Values::unit_or_si(need, Dimension::speed)); });
    return 0;
  }
};

}  // namespace

void add_vehicle_verbs(CommandLine& line) {
  line.add_verb<TipOverVerb>("tipover");
  line.add_verb<ObstacleVerb>("obstacle");
  line.add_verb<StoppingVerb>("stopping");
}

}  // namespace hardpan::cli
