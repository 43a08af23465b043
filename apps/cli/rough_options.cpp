// SPDX-License-Identifier: Apache-2.0
#include "rough_options.hpp"

namespace hardpan::cli {

namespace p = performance;
using units::Dimension;

void RoughOptions::add_to(CLI::App& v) {
  v.add_option("--wave-length", length, "of a wave: '4 m'");
  v.add_option("--amplitude", amplitude, "of the wave, half of trough to crest: '0.1 m'");
  v.add_option("--profile", profile, "sheet of surveyed heights along a wheel path, columns x and z with units");
  v.add_option("--class", road_class, "class of roughness A to H (ISO 8608)");
  v.add_option("--shock", shock, "largest vertical acceleration that is borne: '5 m/s^2'");
  v.add_option("--ride", ride, "largest r.m.s. of vertical acceleration that is borne: '0.8 m/s^2'");
  v.add_option("--weighting", weighting, "of --ride: none, or people (Wk of ISO 2631-1)")->transform(one_of({"none", "people"}))->capture_default_str();
  v.add_option("--absorbed-power", absorbed, "largest power that a seated person may take up: '6 W' is usual");
  v.add_option("--at", at, "place of these, ahead of the centre of gravity: '0.3 m'");
  v.add_option("--damping", damping, "damping ratio of axles: 0.2");
  v.add_option("--gyration", gyration, "radius of gyration in pitch: '0.6 m'");
  v.add_option("--wheel-mass", wheel_mass, "one wheel with what moves with it: '12 kg'");
  v.add_option("--peak", peak, "on a spectrum, peaks over r.m.s.")->capture_default_str();
}

service::RideRequest RoughOptions::request(Values& val) const {
  val.needs("amplitude", !amplitude.empty(), "wave-length", !length.empty());
  service::RideRequest q;
  if (!length.empty() || !amplitude.empty()) q.wave = p::Wave{val.get("wave-length", length, Dimension::length).value_or(1), val.get("amplitude", amplitude, Dimension::length).value_or(1)};
  if (!profile.empty()) q.profile_file = profile;
  if (!road_class.empty()) q.road_class = road_class;
  q.settings = {.damping_ratio = val.get("damping", damping, Dimension::none), .pitch_radius_m = val.get("gyration", gyration, Dimension::length), .wheel_mass_kg = val.get("wheel-mass", wheel_mass, Dimension::mass).value_or(0)};
  q.question.shock_m_s2 = val.get("shock", shock, Dimension::acceleration);
  q.question.ride_m_s2 = val.get("ride", ride, Dimension::acceleration);
  if (weighting == "people") q.question.weighting = p::Weighting::whole_body_vertical;
  q.question.absorbed_power_w = val.get("absorbed-power", absorbed, Dimension::power);
  q.question.at_x_m = val.get("at", at, Dimension::length).value_or(0);
  q.question.peak_over_rms = peak;
  return q;
}

}  // namespace hardpan::cli
