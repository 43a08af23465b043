// SPDX-License-Identifier: Apache-2.0
// Quick answers on a soil without a campaign: wheel, climb; and what changes with gravity.
#include <fmt/core.h>

#include "command_line.hpp"
#include "print.hpp"
#include "service/quick.hpp"

namespace hardpan::cli {
namespace {

struct WheelVerb {
  SoilOptions soil;
  std::string load, radius, width, slip = "20 %", slip_angle, grouser, stiffness, rolling, gravity, hysteresis, pressure_width, units_out = "SI";
  std::vector<std::string> slips;
  int grousers = 0;
  bool list_soils = false;

  void add_to(CLI::App& v) {
    soil.add_to(v);
    v.add_flag("--soils", list_soils, "list the built-in soils and stop");
    v.add_option("--load", load, "load on the wheel: '500 N'");
    v.add_option("--radius", radius, "rim or unloaded tyre radius: '0.3 m'");
    v.add_option("--width", width, "width: '0.2 m'");
    v.add_option("--slip", slip, "slip, negative braking: '20 %'")->capture_default_str();
    v.add_option("--slips", slips, "several slips: a table over them");
    v.add_option("--slip-angle", slip_angle, "slip angle: '5 deg'");
    v.add_option("--grouser-height", grouser, "grouser height: '10 mm'");
    v.add_option("--grousers", grousers, "number of grousers");
    v.add_option("--stiffness", stiffness, "radial stiffness of a tyre or spring wheel: '25 kN/m'; rigid without it");
    v.add_option("--hysteresis", hysteresis, "share of the deflection work lost: '25 %'");
    v.add_option("--rolling-radius", rolling, "measured rolling radius: '0.29 m'");
    v.add_option("--contact-width", pressure_width, "width of the contact patch where it is not the wheel's");
    v.add_option("--gravity", gravity, "local gravity, with --density for the side wall: '9.81 m/s^2'");
    v.add_option("--units", units_out, "SI or US")->check(CLI::IsMember({"SI", "US"}))->capture_default_str();
  }

  int answer(const CommandLine& line) const {
    if (list_soils) {
      put(soils_text());
      return 0;
    }
    using units::Dimension;
    base::Problems problems;
    Values val(problems);
    const bool numbers = soil.n && soil.kc && soil.kphi && !soil.cohesion.empty() && !soil.friction.empty();
    if (soil.soil.empty() && !numbers) {
      problems.refuse({.place = {.key = "--soil"}, .what = "no soil is given",
                       .remedy = "--soil with an id of --soils or a soil file, or all of --n --kc --kphi --cohesion --friction-angle; 'hardpan wheel --help' shows an example"});
    }
    for (const auto& [option, text, example] : {std::tuple{"--load", &load, "--load '110 lbf'"}, {"--radius", &radius, "--radius '12 in'"}, {"--width", &width, "--width '8 in'"}}) {
      if (text->empty()) problems.refuse({.place = {.key = option}, .what = "not given", .remedy = std::string("for example ") + example});
    }
    if (soil.soil.empty() && !numbers) problems.throw_if_refused();
    service::WheelRequest q{.soil = soil.request(val)};
    q.wheel.radius_m = val.get("radius", radius, Dimension::length).value_or(0);
    q.wheel.width_m = val.get("width", width, Dimension::length).value_or(0);
    q.wheel.grouser_height_m = val.get("grouser-height", grouser, Dimension::length).value_or(0);
    q.wheel.grouser_count = grousers;
    q.wheel.rolling_radius_m = val.get("rolling-radius", rolling, Dimension::length);
    q.wheel.contact_width_m = val.get("contact-width", pressure_width, Dimension::length);
    const auto share = val.get("hysteresis", hysteresis, Dimension::none);
    if (share && !(*share >= 0 && *share < 1)) problems.refuse({.place = {.key = "--hysteresis"}, .what = "not a share of the deflection work", .value = hysteresis, .bound = "0 % or more, below 100 %"});
    if (share && stiffness.empty()) problems.refuse({.place = {.key = "--hysteresis"}, .what = "a rigid wheel has no deflection work to lose", .remedy = "give --stiffness too"});
    if (const auto k = val.get("stiffness", stiffness, Dimension::stiffness)) {
      q.wheel.flex = vehicle::Flex{.stiffness_n_per_m = *k, .hysteresis_share = share.value_or(0)};
    }
    if (grousers < 0 || (grousers > 0) != (q.wheel.grouser_height_m > 0)) {
      problems.refuse({.place = {.key = "--grousers"}, .what = "number and height of grousers disagree", .value = fmt::format("{} of '{}'", grousers, grouser),
                       .bound = "both above 0, or neither given", .remedy = "give --grousers and --grouser-height"});
    }
    q.load_n = val.get("load", load, Dimension::force).value_or(0);
    q.slip_ratio = val.get("slip", slip, Dimension::none).value_or(0.2);
    for (const std::string& s : slips) q.slips.push_back(val.get("slips", s, Dimension::none).value_or(0));
    q.slip_angle_rad = val.get("slip-angle", slip_angle, Dimension::angle).value_or(0);
    q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration);
    q.slip_sinkage = soil.rule();
    problems.throw_if_refused();
    const auto r = service::wheel(q);
    if (line.json) line.put_json(problems, service::wheel_json(q, r));
    else put(wheel_text(q, r, units_out == "US"));
    for (const auto& at_slip : r.lines) {
      if (at_slip.lead().status == contact::WheelStatus::not_converged) return 3;
    }
    return 0;
  }
};

struct ClimbVerb {
  SoilOptions soil;
  std::string vehicle_file, gradient, working, gravity, units_out = "SI";

  void add_to(CLI::App& v) {
    soil.add_to(v);
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'");
    v.add_option("--slip", working, "working slip; the vehicle's own where not given");
    v.add_option("--gradient", gradient, "also travel on this gradient: '10 deg'");
    v.add_option("--units", units_out, "SI or US")->check(CLI::IsMember({"SI", "US"}))->capture_default_str();
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems;
    Values val(problems);
    service::ClimbRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .slip_sinkage = soil.rule()};
    q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration);
    q.slip_ratio = val.get("slip", working, Dimension::none);
    q.gradient_rad = val.get("gradient", gradient, Dimension::angle);
    problems.throw_if_refused();
    const auto r = service::climb(q);
    if (line.json) line.put_json(problems, service::climb_json(r));
    else put(climb_text(r, units_out == "US", gradient));
    return r.at_working.factor == performance::LimitingFactor::not_converged ? 3 : 0;
  }
};

struct GravityVerb {
  std::string mass, from, to, target;
  double length_ratio = 1, mass_ratio = 1;

  void add_to(CLI::App& v) {
    v.add_option("--mass", mass, "mass of the tested vehicle: '420 kg'")->required();
    v.add_option("--from", from, "gravity of the tests: '9.81 m/s^2'")->required();
    v.add_option("--to", to, "gravity it is meant for: '1.62 m/s^2'")->required();
    v.add_option("--target-mass", target, "true mass of the vehicle meant for there");
    v.add_option("--length-ratio", length_ratio, "granular scaling: length there over length here")->capture_default_str();
    v.add_option("--mass-ratio", mass_ratio, "granular scaling: mass there over mass here")->capture_default_str();
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems;
    Values val(problems);
    service::GravityRequest q{.mass_kg = val.get("mass", mass, Dimension::mass).value_or(0), .from_m_s2 = val.get("from", from, Dimension::acceleration).value_or(0),
                              .to_m_s2 = val.get("to", to, Dimension::acceleration).value_or(0), .target_mass_kg = val.get("target-mass", target, Dimension::mass),
                              .length_ratio = length_ratio, .mass_ratio = mass_ratio};
    problems.throw_if_refused();
    const auto r = service::gravity(q);
    if (line.json) line.put_json(problems, service::gravity_json(q, r));
    else put(gravity_text(q, r, Values::unit(mass, Dimension::mass).value_or(units::si(Dimension::mass))));
    return 0;
  }
};

}  // namespace

void add_soil_verbs(CommandLine& line) {
  line.add_verb<WheelVerb>("wheel");
  line.add_verb<ClimbVerb>("climb");
  line.add_verb<GravityVerb>("gravity");
}

}  // namespace hardpan::cli
