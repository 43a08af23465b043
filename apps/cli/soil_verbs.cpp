// SPDX-License-Identifier: Apache-2.0
// Quick answers on a soil without a campaign: wheel, climb.
#include <fmt/core.h>
#include <fmt/format.h>

#include "command_line.hpp"
#include "print.hpp"
#include "service/quick.hpp"

namespace hardpan::cli {
namespace {

// As in a vehicle file.
constexpr std::pair<const char*, vehicle::ZeroSlip> kZeroSlip[] = {{"towed on hard ground", vehicle::ZeroSlip::towed_hard}, {"self-propelled on hard ground", vehicle::ZeroSlip::self_propelled_hard},
                                                                   {"towed on the test surface", vehicle::ZeroSlip::towed_soil}, {"self-propelled on the test surface", vehicle::ZeroSlip::self_propelled_soil}};

std::vector<std::string> zero_slip_words() {
  std::vector<std::string> out;
  for (const auto& [word, condition] : kZeroSlip) out.emplace_back(word);
  return out;
}

struct WheelVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  std::string load, radius, width, slip = "20 %", slip_angle, grouser, stiffness, inflation, rolling, zero_slip, gravity, hysteresis, contact_width, clearance;
  UnitsOption units_out;
  std::vector<std::string> slips, deflection;
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
    v.add_option("--grouser-height", grouser, "grouser height: '10 mm'; with grousers the answer for packed ones stands beside");
    v.add_option("--grousers", grousers, "number of grousers");
    v.add_option("--stiffness", stiffness, "radial stiffness of a tyre or spring wheel: '25 kN/m'; rigid without it or --deflection");
    v.add_option("--deflection", deflection, "instead of --stiffness, a load and the deflection measured under it: '500 N: 8 mm'; repeated, rising, 11 at most");
    v.add_option("--inflation", inflation, "tyre pressure at which that was measured: '60 kPa'; told with the answer, not computed with");
    v.add_option("--hysteresis", hysteresis, "share of the deflection work lost: '25 %'");
    v.add_option("--rolling-radius", rolling, "measured rolling radius of a tyre or spring wheel: '0.29 m'");
    v.add_option("--zero-slip", zero_slip, "how that was measured: " + fmt::format("{}", fmt::join(zero_slip_words(), ", ")))->transform(one_of(zero_slip_words()));
    v.add_option("--contact-width", contact_width, "width of the contact patch where it is not the wheel's");
    v.add_option("--clearance", clearance, "sinkage at which the belly touches: '0.2 m'");
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'; with --density for the side wall and the bulldozing estimate");
    units_out.add_to(v);
  }

  int answer(const CommandLine& line) const {
    if (list_soils) {
      line.faults().throw_if_refused();
      if (line.json) line.put_json({}, service::soils_json());
      else put(soils_text());
      return 0;
    }
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems);
    for (const auto& [option, text, example] : {std::tuple{"--load", &load, "--load '110 lbf'"}, {"--radius", &radius, "--radius '12 in'"}, {"--width", &width, "--width '8 in'"}}) {
      if (text->empty()) problems.refuse({.place = {.key = option}, .what = "not given", .remedy = std::string("for example ") + example});
    }
    service::WheelRequest q{.soil = soil.request(val)};
    q.wheel.radius_m = val.get("radius", radius, Dimension::length).value_or(0);
    q.wheel.width_m = val.get("width", width, Dimension::length).value_or(0);
    q.wheel.grouser_height_m = val.get("grouser-height", grouser, Dimension::length).value_or(0);
    q.wheel.grouser_count = grousers;
    q.wheel.rolling_radius_m = val.get("rolling-radius", rolling, Dimension::length);
    for (const auto& [word, condition] : kZeroSlip) {
      if (zero_slip == word) q.wheel.rolling_radius_condition = condition;
    }
    q.wheel.contact_width_m = val.get("contact-width", contact_width, Dimension::length);
    q.belly_clearance_m = val.get("clearance", clearance, Dimension::length);
    q.wheel.flex = flex(val, problems);
    val.needs("zero-slip", !zero_slip.empty(), "rolling-radius", !rolling.empty());
    q.load_n = val.get("load", load, Dimension::force).value_or(0);
    q.slip_ratio = val.get("slip", slip, Dimension::none).value_or(0.2);
    for (const std::string& s : slips) q.slips.push_back(val.get("slips", s, Dimension::none).value_or(0));
    q.slip_angle_rad = val.get("slip-angle", slip_angle, Dimension::angle).value_or(0);
    q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration);
    q.slip_sinkage = soil.rule();
    const auto r = val.answer([&] { return service::wheel(q); });
    line.put_answer(problems, r.remarks, [&] { return service::wheel_json(q, r); }, [&] { return wheel_text(q, r, units_out.units()); });
    for (const auto* lines : {&r.lines, &r.packed}) {
      for (const auto& at_slip : *lines) {
        if (at_slip.lead().status == contact::WheelStatus::not_converged) return 3;
      }
    }
    return 0;
  }

  // What only a wheel that flexes has is refused on a rigid one, where it would be left out in silence.
  std::optional<vehicle::Flex> flex(Values& val, base::Problems& problems) const {
    using units::Dimension;
    vehicle::Flex out{.stiffness_n_per_m = val.get("stiffness", stiffness, Dimension::stiffness), .load_deflection = val.deflection(deflection),
                      .inflation_pa = val.get("inflation", inflation, Dimension::pressure), .hysteresis_share = val.get("hysteresis", hysteresis, Dimension::none).value_or(0)};
    if (!out.stiffness_n_per_m && out.load_deflection.empty()) {
      if (!stiffness.empty() || !deflection.empty()) return std::nullopt;  // refused already; nothing is said of a wheel without them
    } else {
      return out;
    }
    for (const auto& [option, text, why] : {std::tuple{"--hysteresis", &hysteresis, "a rigid wheel has no deflection work to lose"}, {"--inflation", &inflation, "a rigid wheel has no tyre pressure"},
                                            {"--rolling-radius", &rolling, "slip and torque of a rigid wheel refer to its radius and grousers"}}) {
      if (!text->empty()) problems.refuse({.place = {.key = option}, .what = why, .value = *text, .remedy = "give --stiffness or --deflection too, or leave it out"});
    }
    return std::nullopt;
  }
};

struct ClimbVerb {
  static constexpr bool kTellsFaults = true;
  SoilOptions soil;
  std::string vehicle_file, gradient, working, gravity, need;
  UnitsOption units_out;

  void add_to(CLI::App& v) {
    soil.add_to(v);
    v.add_option("--vehicle", vehicle_file, "vehicle file")->required();
    v.add_option("--gravity", gravity, "local gravity: '9.81 m/s^2'")->required();
    v.add_option("--slip", working, "working slip; the vehicle's own where not given");
    v.add_option("--gradient", gradient, "also travel on this gradient, and whether the ground lies still on it: '10 deg'");
    v.add_option("--need", need, "gradient needed at the working slip, to tell the margin: '12 deg'");
    units_out.add_to(v);
  }

  int answer(const CommandLine& line) const {
    using units::Dimension;
    base::Problems problems = line.faults();
    Values val(problems);
    service::ClimbRequest q{.soil = soil.request(val), .vehicle_file = vehicle_file, .slip_sinkage = soil.rule()};
    q.gravity_m_s2 = val.get("gravity", gravity, Dimension::acceleration);
    q.slip_ratio = val.get("slip", working, Dimension::none);
    q.gradient_rad = val.get("gradient", gradient, Dimension::angle);
    q.needed_rad = val.get("need", need, Dimension::angle);
    const auto r = val.answer([&] { return service::climb(q); });
    line.put_answer(problems, r.remarks, [&] { return service::climb_json(q, r); }, [&] { return climb_text(q, r, units_out.units(), gradient, Values::unit_or_si(need, Dimension::angle)); });
    return r.at_working.factor == performance::LimitingFactor::not_converged ? 3 : 0;
  }
};

}  // namespace

void add_soil_verbs(CommandLine& line) {
  line.add_verb<WheelVerb>("wheel");
  line.add_verb<ClimbVerb>("climb");
}

}  // namespace hardpan::cli
