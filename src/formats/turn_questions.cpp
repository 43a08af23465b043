// SPDX-License-Identifier: Apache-2.0
#include <cmath>

#include "formats/detail/question_readers.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

void read_turns(const campaign::Campaign& c, const io::TomlTable& root, campaign::Questions& to, base::Problems& problems) {
  for (const io::TomlTable& t : root.tables("turn")) {
    Keys k(t, problems);
    campaign::TurnAsked q{.vehicles = k.texts("vehicles"), .zones = k.texts("zones")};
    for (const std::string& v : q.vehicles) know_vehicle(c, k, "vehicles", v, problems);
    for (const std::string& z : q.zones) know_zone(c, k, "zones", z, problems);
    for (const std::string& text : k.texts("radii")) {
      const units::QuantityText v = units::parse_quantity(text, Dimension::length);
      if (!v.ok()) problems.refuse(units::refusal(v, text, k.place("radii")));
      else if (!(v.si >= 0 && v.si <= 1e5)) t.refuse("radii", "not a turning radius", "\"0 m\" (on the spot) to \"100 km\"");
      else q.question.radii_m.push_back(v.si);
    }
    if (q.question.radii_m.size() > 12) t.refuse("radii", "too many radii", "up to 12");
    q.to_right = k.choice("to", false, {{"left", false}, {"right", true}});
    auto& turn = q.question.turn;
    turn.radius_m = q.to_right ? -1 : 1;
    turn.gradient_rad = within(k, "gradient", Dimension::angle, 0, 1.39, "0 to below 80 deg: the heading tells uphill from downhill").value_or(0);
    turn.heading_rad = within(k, "heading", Dimension::angle, -2 * M_PI, 2 * M_PI, "-360 to 360 deg").value_or(0);
    turn.speed_m_s = within(k, "speed", Dimension::speed, 0, 30, "0 to 30 m/s").value_or(0);
    if (const auto fall = within(k, "crest", Dimension::angle, 1e-6, 1.04, "above 0, below 60 deg")) turn.crest = performance::Crest{.fall_rad = *fall};
    if (const auto line = within(k, "crest_line", Dimension::angle, -M_PI, M_PI, "-180 to 180 deg")) {
      if (turn.crest) turn.crest->line_rad = *line;
      else t.refuse("crest_line", "says nothing without a crest", "with crest");
    }
    to.turns.push_back(std::move(q));
  }
}

}  // namespace hardpan::formats::detail
