// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/question_readers.hpp"
#include "formats/survey_sheets.hpp"

namespace hardpan::formats::detail {

namespace p = performance;
using units::Dimension;

namespace {

// One of waves, class, profile.
void read_grounds(const campaign::Campaign& c, Keys& k, campaign::RideQuestion& q, campaign::Questions& to, base::Problems& problems) {
  const io::TomlTable& t = k.table();
  if (t.has("waves") + t.has("class") + t.has("profile") != 1) t.refuse("waves", "the ground is not given, or more than once", "one of waves, class and profile");
  for (const std::string& text : k.texts("waves")) {
    const auto v = pair_of_quantities(k, "waves", text, Dimension::length, Dimension::length, "4 m: 0.1 m", problems);
    if (!v) continue;
    const p::Wave wave{.length_m = v->first, .amplitude_m = v->second};
    base::Problems found;
    p::check_wave(wave, k.place("waves"), found);
    problems.add(found);
    q.grounds.push_back(wave);
  }
  if (t.has("waves") && q.grounds.empty() && !problems.refused()) t.refuse("waves", "no wave is given", "texts such as \"4 m: 0.1 m\": length, and half of trough to crest");
  if (q.grounds.size() > 12) t.refuse("waves", "too many waves", "1 to 12");
  if (t.has("class")) {
    const std::string letter = k.text("class");
    const auto spectrum = letter.size() == 1 ? p::class_spectrum(letter.front()) : std::nullopt;
    if (spectrum) q.grounds.push_back(*spectrum);
    else t.refuse("class", "no such class of roughness", "\"A\" (smooth) to \"H\" (very rough)");
  }
  const std::string name = k.text("profile");
  const auto file = file_of(c, k, "profile", to);
  if (!file) return;
  const auto points = read_heights(*file, name, problems);
  if (!points) return;
  if (auto spectrum = p::profile_spectrum(*points, k.place("profile"), problems)) {
    spectrum->name = "heights of " + name;
    q.grounds.push_back(*spectrum);
  }
}

}  // namespace

void read_rides(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems) {
  for (const io::TomlTable& t : root.tables("ride")) {
    Keys k(t, problems);
    campaign::RideQuestion q{.name = k.text("name"), .zones = k.texts("zones")};
    for (const std::string& zone : q.zones) know_zone(c, k, "zones", zone, problems);
    read_grounds(c, k, q, to, problems);
    q.settings = {.damping_ratio = within(k, "damping", Dimension::none, 0.005, 2, "0.005 to 2"), .pitch_radius_m = within(k, "gyration", Dimension::length, 1e-3, 100, "1 mm to 100 m"),
                  .wheel_mass_kg = within(k, "wheel_mass", Dimension::mass, 0, 1e5, "0 or more").value_or(0)};
    q.question.shock_m_s2 = within(k, "shock", Dimension::acceleration, 1e-3, 1e4, "above 0");
    q.question.ride_m_s2 = within(k, "ride", Dimension::acceleration, 1e-4, 1e3, "above 0");
    q.question.weighting = k.choice("weighting", p::Weighting::none, {{"none", p::Weighting::none}, {"people", p::Weighting::whole_body_vertical}});
    q.question.absorbed_power_w = within(k, "absorbed_power", Dimension::power, 1e-3, 1e4, "above 0");
    q.question.at_x_m = within(k, "at", Dimension::length, -100, 100, "-100 to 100 m").value_or(0);
    q.question.peak_over_rms = within(k, "peak", Dimension::none, 1, 10, "1 to 10").value_or(q.question.peak_over_rms);
    q.question.fastest_m_s = within(k, "fastest", Dimension::speed, 0.05, 100, "0.05 to 100 m/s").value_or(q.question.fastest_m_s);
    q.tightest_turn_m = within(k, "tightest_turn", Dimension::length, 0.01, 1e5, "10 mm to 100 km");
    to.rides.push_back(std::move(q));
  }
}

}  // namespace hardpan::formats::detail
