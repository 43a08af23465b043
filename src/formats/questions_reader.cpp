// SPDX-License-Identifier: Apache-2.0
#include "formats/questions_reader.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "formats/detail/question_readers.hpp"
#include "io/toml.hpp"

namespace hardpan::formats {
namespace {

using campaign::Campaign;
using detail::Keys;
using detail::know_vehicle;
using detail::know_zone;
using units::Dimension;

std::string trimmed(std::string text) {
  while (!text.empty() && text.front() == ' ') text.erase(0, 1);
  while (!text.empty() && text.back() == ' ') text.pop_back();
  return text;
}

campaign::RemoteQuestion read_remote(Keys k) {
  campaign::RemoteQuestion q;
  const auto bounded = [&](const char* key, Dimension dimension, double& to, double lo, double hi, const char* bound) {
    const auto v = k.quantity(key, dimension);
    if (v && !(*v >= lo && *v <= hi)) k.table().refuse(key, "out of range", bound);
    else if (v) to = *v;
    return v.has_value();
  };
  k.require_quantity("sight", Dimension::length);
  bounded("sight", Dimension::length, q.sight_m, 1e-3, 1e5, "1 mm to 100 km");
  k.require_quantity("corridor", Dimension::length);
  bounded("corridor", Dimension::length, q.corridor_m, 1e-3, 1e3, "1 mm to 1 km");
  const bool parts = k.table().has("downlink") || k.table().has("uplink") || k.table().has("reaction");
  if (parts && k.table().has("delay")) k.table().refuse("delay", "the delay is given whole and in parts", "delay, or downlink, reaction and uplink", "remove one");
  if (parts) {
    for (const char* key : {"downlink", "reaction", "uplink"}) k.require_quantity(key, Dimension::time);
    bounded("downlink", Dimension::time, q.link.delay.downlink_s, 0, 1e5, "0 or more");
    bounded("reaction", Dimension::time, q.link.delay.reaction_s, 0, 1e5, "0 or more");
    bounded("uplink", Dimension::time, q.link.delay.uplink_s, 0, 1e5, "0 or more");
  } else {
    double whole = 0;
    k.require_quantity("delay", Dimension::time);
    // Whole: half goes down and half up; which half does not matter to the speeds told.
    if (bounded("delay", Dimension::time, whole, 0, 1e5, "0 or more")) q.link.delay.downlink_s = q.link.delay.uplink_s = 0.5 * whole;
  }
  q.link.image_interval_s = 0.1;
  bounded("jitter", Dimension::time, q.link.jitter_s, 0, 1e4, "0 or more");
  bounded("image_interval", Dimension::time, q.link.image_interval_s, 1e-3, 1e4, "1 ms or more");
  bounded("image_loss", Dimension::none, q.link.image_loss_ratio, 0, 0.99, "0 to 99 %");
  bounded("look_ahead", Dimension::length, q.look_ahead_m, 1e-2, 1e3, "10 mm to 1 km");
  bounded("anticipation", Dimension::none, q.anticipation_ratio, 0, 1, "0 to 1");
  bounded("thinking", Dimension::time, q.thinking_s, 0, 1e5, "0 or more");
  bounded("gradient", Dimension::angle, q.gradient_rad, -1.4, 1.4, "-80 to 80 deg");
  bounded("slalom", Dimension::length, q.slalom_amplitude_m, 0, 100, "0 to 100 m");
  bounded("wave_length", Dimension::length, q.slalom_wave_length_m, 0.1, 1e4, "0.1 m to 10 km");
  double fastest = 0;
  if (bounded("fastest", Dimension::speed, fastest, 1e-4, 100, "above 0 to 100 m/s") && fastest > 0) q.fastest_m_s = fastest;
  return q;
}

// Through a delay a vehicle drives at most at its own speed: without one there is no answer, told before somebody waits for it.
void remark_no_speed(const Campaign& c, const io::TomlTable& t, base::Problems& problems) {
  for (const vehicle::Vehicle& v : c.vehicles) {
    if (std::any_of(v.axles.begin(), v.axles.end(), [](const vehicle::Axle& a) { return a.drive.driven && a.drive.max_speed_rad_per_s; })) continue;
    problems.remark({.place = t.place_of("fastest"), .what = "this vehicle states no top speed: nothing is answered about driving it through a delay", .value = v.id, .bound = "a top speed",
                     .remedy = "state fastest in [remote], or max_speed of its drives"});
  }
}

}  // namespace

std::optional<performance::Variation> parse_variation(const std::string& text, const base::Place& place, base::Problems& problems) {
  const auto refuse = [&](std::string what, std::string bound) {
    problems.refuse({.place = place, .what = std::move(what), .value = text, .bound = std::move(bound), .remedy = "for example 'wheel diameter: 0.4 m to 1.0 m in 7'"});
    return std::nullopt;
  };
  const std::size_t colon = text.find(':'), to = text.find(" to ");
  if (colon == std::string::npos || to == std::string::npos || to < colon) return refuse("not a parameter with the range it is varied over", "PARAMETER: FROM to TO in NUMBER");
  const auto what = performance::varied_by_name(trimmed(text.substr(0, colon)));
  if (!what) {
    std::string known;
    for (const performance::Varied v : performance::kVaried) known += (known.empty() ? "" : ", ") + std::string(performance::name(v));
    return refuse("no such parameter to vary", known);
  }
  performance::Variation out{.what = *what, .steps = 7};
  const std::size_t in = text.find(" in ", to);
  if (in != std::string::npos) {
    const std::string count = trimmed(text.substr(in + 4));
    const auto read = std::from_chars(count.data(), count.data() + count.size(), out.steps);
    if (read.ec != std::errc() || read.ptr != count.data() + count.size()) return refuse("not a number of values", "2 to 41");
  }
  const std::string ends[] = {trimmed(text.substr(colon + 1, to - colon - 1)), trimmed(text.substr(to + 4, in == std::string::npos ? std::string::npos : in - to - 4))};
  double* const values[] = {&out.from, &out.to};
  for (int i = 0; i < 2; ++i) {
    const units::QuantityText q = units::parse_quantity(ends[i], performance::dimension(*what));
    if (!q.ok()) {
      problems.refuse(units::refusal(q, ends[i], place));
      return std::nullopt;
    }
    *values[i] = q.si;
    if (q.unit) out.typed_unit = q.unit->spelling;
  }
  return out;
}

campaign::Questions read_questions(const Campaign& c, const io::TomlTable& root, base::Problems& problems) {
  campaign::Questions out;
  if (const auto t = root.table("remote")) {
    out.remote = read_remote(Keys(*t, problems));
    if (!out.remote->fastest_m_s) remark_no_speed(c, *t, problems);
  }
  for (const io::TomlTable& t : root.tables("compare")) {
    Keys k(t, problems);
    campaign::VersusQuestion q{.zone = k.require_text("zone")};
    const std::vector<std::string> names = k.texts("vehicles");
    if (names.size() != 2 || names[0] == names[1]) {
      t.refuse("vehicles", "not two vehicles", "vehicles = [\"one\", \"other\"]");
      continue;
    }
    q.a = names[0];
    q.b = names[1];
    know_vehicle(c, k, "vehicles", q.a, problems);
    know_vehicle(c, k, "vehicles", q.b, problems);
    know_zone(c, k, "zone", q.zone, problems);
    out.versus.push_back(q);
  }
  for (const io::TomlTable& t : root.tables("study")) {
    Keys k(t, problems);
    campaign::StudyQuestion q{.vehicle = k.require_text("vehicle"), .zone = k.require_text("zone")};
    using performance::Studied;
    q.quantity = k.choice("quantity", Studied::gradient_at_slip, {{"maximum gradient", Studied::gradient_at_slip}, {"maximum gradient over slip", Studied::gradient_maximum}, {"pull coefficient", Studied::pull_at_slip},
                                                                  {"energy", Studied::energy_level}, {"ride", Studied::ride_margin}});
    q.slip_ratio = k.quantity("slip", Dimension::none);
    if (q.slip_ratio && !(*q.slip_ratio > 0 && *q.slip_ratio <= 0.95)) t.refuse("slip", "not a slip", "above 0 to 95 %");
    for (const std::string& text : k.texts("vary")) {
      if (const auto v = parse_variation(text, k.place("vary"), problems)) q.variations.push_back(*v);
    }
    if (!t.has("vary")) t.refuse("vary", "nothing is varied", "one or two texts such as \"wheel diameter: 0.4 m to 1.0 m in 7\"");
    q.speed_m_s = k.quantity("speed", Dimension::speed);
    q.needed = k.quantity("need", performance::dimension(q.quantity));
    base::Place at = k.place("vary");
    at.key = t.place().key;
    if (t.has("vary") && !problems.refused()) performance::check_study(q.variations, {.quantity = q.quantity, .slip_ratio = q.slip_ratio.value_or(0.2), .speed_m_s = q.speed_m_s, .needed = q.needed}, at, problems);
    know_vehicle(c, k, "vehicle", q.vehicle, problems);
    know_zone(c, k, "zone", q.zone, problems);
    out.studies.push_back(q);
  }
  detail::read_rides(c, root, out, problems);
  detail::read_other_gravity(root, out, problems);
  detail::read_endurance(c, root, out, problems);
  detail::read_boulders(c, root, out, problems);
  detail::read_turns(c, root, out, problems);
  return out;
}

}  // namespace hardpan::formats
