// SPDX-License-Identifier: Apache-2.0
#include "service/obstacle.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <filesystem>

#include "base/problems.hpp"
#include "formats/profile_file.hpp"
#include "formats/vehicle_file.hpp"
#include "io/atomic_files.hpp"
#include "performance/obstacle_view.hpp"
#include "report/crossing_picture.hpp"
#include "service/detail/remarks.hpp"
#include "service/obstacles.hpp"

namespace hardpan::service {

using io::Json;
namespace p = performance;

namespace {
constexpr std::size_t kFilmPlaces = 6;
}

ObstacleResult obstacle(const ObstacleRequest& q) {
  base::Problems problems;
  if (!(q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100)) {
    problems.refuse({.place = {.key = "--gravity"}, .what = "gravity is not stated or out of range", .value = fmt::format("{:g} m/s^2", q.gravity_m_s2), .bound = "above 0 to 100 m/s^2"});
  }
  if (q.friction && !(*q.friction > 0 && *q.friction <= 2)) {
    problems.refuse({.place = {.key = "--friction"}, .what = "not a friction coefficient of a wheel on ground", .value = fmt::format("{:g}", *q.friction), .bound = "above 0 to 2"});
  }
  if (q.step_m && !(std::abs(*q.step_m) <= 20)) problems.refuse({.place = {.key = "--step"}, .what = "out of range", .value = fmt::format("{:g} m", *q.step_m), .bound = "-20 to 20 m"});
  if (q.gap_m && !(*q.gap_m > 0 && *q.gap_m <= 50)) problems.refuse({.place = {.key = "--gap"}, .what = "out of range", .value = fmt::format("{:g} m", *q.gap_m), .bound = "above 0 to 50 m"});
  if (q.step_m.has_value() + q.gap_m.has_value() + q.profile_file.has_value() > 1) {
    problems.refuse({.place = {.key = "--step"}, .what = "more than one obstacle is given", .bound = "one of --step, --gap and --profile"});
  }
  if (!q.friction && !q.step_m && !q.gap_m && !q.profile_file) {
    problems.refuse({.place = {.key = "--friction"}, .what = "neither an obstacle nor a friction coefficient is given", .remedy = "give --step, --gap or --profile, or --friction for the limits"});
  }
  const double gravity_m_s2 = q.gravity_m_s2 > 0 && q.gravity_m_s2 <= 100 ? q.gravity_m_s2 : 9.81;  // refused, and the files are read all the same
  const auto v = formats::read_vehicle(q.vehicle_file, q.vehicle_file, gravity_m_s2, problems);
  std::optional<p::Profile> profile;
  if (q.profile_file) profile = formats::read_profile(*q.profile_file, *q.profile_file, problems);
  problems.throw_if_refused();
  const auto side = p::profile_vehicle(*v, q.gravity_m_s2);
  if (!side || side->axles.size() < 2) {
    problems.refuse({.place = {.file = q.vehicle_file, .key = "axle"}, .what = "a vehicle of this many axles is not crossed with", .value = std::to_string(v->axles.size()), .bound = fmt::format("2 to {}", p::kMostAxles)});
    problems.throw_if_refused();
  }
  if (profile) {
    // 50 poses a wheel radius, each kept for the torques: 350 MB and some seconds at this length.
    constexpr double kLongest = 4000;
    double smallest = std::numeric_limits<double>::infinity();
    for (const p::ProfileAxle& a : side->axles) smallest = std::min(smallest, a.radius_m);
    const double length = profile->points().back().x_m - profile->points().front().x_m;
    if (!(length <= kLongest * smallest)) {
      problems.refuse({.place = {.file = *q.profile_file}, .what = "a profile longer than a crossing is followed", .value = fmt::format("{:g} m", length), .bound = fmt::format("at most {:.0f} m, {:.0f} wheel radii", kLongest * smallest, kLongest),
                       .remedy = "cut out the stretch with the obstacle, or check the unit of x"});
      problems.throw_if_refused();
    }
    if (const double base = side->axles.back().x_m - side->axles.front().x_m; length < base) {
      problems.remark({.place = {.file = *q.profile_file}, .what = "the profile is shorter than the vehicle between its outer axles", .value = fmt::format("{:g} m", length), .bound = fmt::format("{:g} m or more", base),
                       .remedy = "beyond its ends the ground goes on straight, as its first and last piece run: survey a vehicle's length on either side, or mean that"});
    }
  }
  ObstacleResult r{.vehicle = v->name, .axles = side->axles.size(), .side = *side, .remarks = detail::remarks_of(problems)};
  if (q.step_m) profile = p::Profile::step(*q.step_m);
  if (q.gap_m) profile = p::Profile::gap(*q.gap_m, p::no_bottom_m(*side));
  r.obstacle = q.step_m ? fmt::format("a step {} of {:.4g} m", *q.step_m < 0 ? "down" : "up", std::abs(*q.step_m)) : q.gap_m ? fmt::format("a gap of {:.4g} m without a bottom", *q.gap_m) : q.profile_file ? "the profile of " + *q.profile_file : "";
  p::CrossingSettings settings{.friction = q.friction, .split = q.equal_torques ? p::TorqueSplit::equal : p::TorqueSplit::best};
  r.ground = profile;
  settings.frames_every_m = p::kEveryPose_m;
  if (profile) r.crossing = p::cross(*side, *profile, settings);
  if (q.friction) {
    r.step = p::highest_step(*side, settings, {});
    r.gap = p::widest_gap(*side, settings, {});
  }
  return r;
}

void write_obstacle_picture(const ObstacleResult& r, const std::string& path, units::OutputUnits units) {
  io::write_file(path, report::film_strip(r.side, *r.ground, p::film_of(r.crossing->frames, *r.crossing, r.side, *r.ground, kFilmPlaces), r.vehicle + " over " + r.obstacle, units));
}

std::size_t write_obstacle_frames(const ObstacleResult& r, const std::string& folder, std::size_t most, units::OutputUnits units) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  const p::Film film = p::film_of(r.crossing->frames, *r.crossing, r.side, *r.ground, most);
  for (std::size_t i = 0; i < film.frames.size(); ++i) {
    io::write_file(fmt::format("{}/frame-{:04}.svg", folder, i + 1), report::crossing_frame(r.side, *r.ground, film.frames[i], i + 1, film.frames.size(), r.vehicle + " over " + r.obstacle, units));
  }
  return film.frames.size();
}

bool ObstacleResult::unsolved() const {
  const auto open = [](const std::optional<p::ObstacleLimit>& l) { return l && !l->solve.converged() && l->solve.status != base::SolveStatus::out_of_range; };
  return (crossing && !crossing->solve.converged()) || open(step) || open(gap);
}

std::optional<double> ObstacleResult::friction_margin(const ObstacleRequest& q) const {
  if (!q.friction || !crossing || !crossing->solve.converged() || !std::isfinite(crossing->least_friction)) return std::nullopt;
  return *q.friction - crossing->least_friction;
}

Json obstacle_json(const ObstacleRequest& q, const ObstacleResult& r) {
  Json j = Json::object();
  j.set("vehicle", r.vehicle).set("axles", r.axles).set("obstacle", r.obstacle).set("friction_ratio", q.friction ? Json(*q.friction) : Json());
  j.set("torque_split", q.equal_torques ? "equal" : "best");
  if (r.crossing) {
    const auto margin = r.friction_margin(q);
    j.set("crossing", crossing_json(r.side, *r.crossing)).set("friction_margin_ratio", margin ? Json(*margin) : Json());
  }
  if (r.step) j.set("highest_step", obstacle_limit_json(*r.step));
  if (r.gap) j.set("widest_gap", obstacle_limit_json(*r.gap));
  return j;
}

}  // namespace hardpan::service
