// SPDX-License-Identifier: Apache-2.0
#include "formats/requirement_file.hpp"

#include <cmath>
#include <limits>
#include <set>

#include "formats/detail/keys.hpp"
#include "io/files.hpp"
#include "io/toml.hpp"

namespace hardpan::formats {

using detail::Keys;
using units::Dimension;
using validation::Quantity;
using validation::Requirement;

namespace {

Dimension dimension_of(Quantity q) {
  switch (q) {
    case Quantity::maximum_gradient:
    case Quantity::gradient_on_heading:
    case Quantity::tip_angle:
    case Quantity::maximum_gradient_down: return Dimension::angle;
    case Quantity::drawbar_pull: return Dimension::force;
    case Quantity::sinkage: return Dimension::length;
    case Quantity::torque_per_wheel: return Dimension::torque;
    case Quantity::energy_per_metre: return Dimension::energy_per_distance;
    case Quantity::remote_speed:
    case Quantity::rough_ground_speed:
    case Quantity::speed: return Dimension::speed;
    case Quantity::nominal_ground_pressure: return Dimension::pressure;
    case Quantity::highest_step:
    case Quantity::widest_gap:
    case Quantity::trip_distance:
    case Quantity::turning_radius: return Dimension::length;
    case Quantity::pull_coefficient:
    case Quantity::slip:
    case Quantity::clear_run:
    case Quantity::friction_margin:
    case Quantity::motion_resistance_coefficient: return Dimension::none;
  }
  return Dimension::none;
}

// A threshold that no vehicle on any ground reaches, or that every one does, is a slip of the pen.
void check_threshold(const io::TomlTable& t, const char* key, Quantity q, double si) {
  double least = 0, most = std::numeric_limits<double>::infinity();
  const char* bound = "above 0";
  switch (q) {
    case Quantity::maximum_gradient:
    case Quantity::gradient_on_heading:
    case Quantity::tip_angle:
    case Quantity::maximum_gradient_down: most = 89 * M_PI / 180, bound = "above 0, under 90 deg"; break;
    case Quantity::clear_run:
    case Quantity::slip: most = 1, bound = "above 0 %, under 100 %"; break;
    case Quantity::pull_coefficient:
    case Quantity::motion_resistance_coefficient: most = 5, bound = "above 0, under 5: a share of the weight"; break;
    case Quantity::friction_margin: least = -1e-12, most = 2, bound = "0 to below 2"; break;
    case Quantity::highest_step: most = 20, bound = "above 0, under 20 m"; break;
    case Quantity::widest_gap: most = 50, bound = "above 0, under 50 m"; break;
    case Quantity::remote_speed:
    case Quantity::rough_ground_speed: most = 100, bound = "above 0, under 100 m/s"; break;
    case Quantity::trip_distance: most = 1e7, bound = "above 0, under 10,000 km"; break;
    case Quantity::turning_radius: most = 1e5, bound = "above 0, under 100 km"; break;
    default: break;
  }
  if (!(si > least && si < most)) t.refuse(key, "a threshold that cannot be meant", bound, "check value, sign and unit");
}

// Keys of obstacles and turning; what would say nothing is refused.
void read_obstacle_keys(Keys& k, Requirement& r, bool least, bool most) {
  const io::TomlTable& t = k.table();
  const bool size = r.quantity == Quantity::highest_step || r.quantity == Quantity::widest_gap;
  r.obstacle = r.quantity == Quantity::friction_margin ? k.require_text("obstacle") : k.text("obstacle");
  if (r.quantity != Quantity::friction_margin && !r.obstacle.empty()) t.refuse("obstacle", "this quantity is not that of one obstacle", "with quantity = \"friction margin\"", "remove it");
  r.friction_ratio = k.quantity("friction", Dimension::none);
  if (r.friction_ratio && !size) {
    t.refuse("friction", "this quantity does not take a friction", "with highest step and widest gap", r.quantity == Quantity::friction_margin ? "the obstacle states its friction" : "remove it");
  } else if (r.friction_ratio && !(*r.friction_ratio > 0 && *r.friction_ratio <= 2)) {
    t.refuse("friction", "not a friction coefficient of a wheel on ground", "above 0 to 2");
  }
  if (validation::of_obstacles(r.quantity) && most && !least) t.refuse("at_most", "of an obstacle at least so much can be required", "at_least", "use at_least");
  if (r.quantity == Quantity::turning_radius && least && !most) t.refuse("at_least", "of a turning radius at most so much can be required", "at_most", "use at_most");
  if (validation::of_obstacles(r.quantity) && t.has("gradient")) t.refuse("gradient", "obstacles are met on level ground", "no gradient", "remove it");
  if ((validation::of_obstacles(r.quantity) || r.quantity == Quantity::turning_radius) && t.has("slip")) t.refuse("slip", "this quantity is found at whatever slip it takes", "no slip", "remove it");
}

// Keys of the campaign's other questions, and of headings.
void read_answer_keys(Keys& k, Requirement& r, bool least, bool most) {
  const io::TomlTable& t = k.table();
  const auto name_of = [&](const char* key, Quantity of, std::string& to) {
    to = r.quantity == of ? k.require_text(key) : k.text(key);
    if (r.quantity != of && !to.empty()) t.refuse(key, "this quantity does not ask for it", std::string("with quantity = \"") + validation::name(of) + "\"", "remove it");
  };
  name_of("trip", Quantity::trip_distance, r.trip);
  name_of("rocks", Quantity::clear_run, r.rocks);
  r.heading_rad = k.quantity("heading", Dimension::angle);
  const bool on_heading = r.quantity == Quantity::gradient_on_heading;
  if (on_heading && !t.has("heading")) t.refuse("heading", "the heading on the slope is missing", "an angle from straight uphill, left positive", "heading = \"90 deg\" is across it");
  if (!on_heading && r.heading_rad) t.refuse("heading", "this quantity does not take a heading", "with gradient on heading", "remove it");
  if (r.heading_rad && !(std::abs(*r.heading_rad) <= 2 * M_PI)) t.refuse("heading", "not a heading", "-360 to 360 deg");
  if (!on_heading && !validation::of_answers(r.quantity)) return;
  if (most && !least) t.refuse("at_most", "of this quantity at least so much can be required", "at_least", "use at_least");
  if (t.has("gradient")) t.refuse("gradient", "this quantity is not asked at a gradient", "no gradient", "remove it");
  if (t.has("slip") && !on_heading) t.refuse("slip", "this quantity is found at whatever slip it takes", "no slip", "remove it");
}

double share(Keys& k, const std::string& key, double otherwise) {
  const auto v = k.quantity(key, Dimension::none);
  if (v && !(*v > 0.5 && *v < 1)) {
    k.table().refuse(key, "not a share that can be shown", "above 50 %, below 100 %", "certainty cannot be tested; 90 % is usual");
    return otherwise;
  }
  return v.value_or(otherwise);
}

}  // namespace

std::vector<Requirement> read_requirements(const std::string& path, const std::string& name_for_messages,
                                           base::Problems& problems) {
  std::vector<Requirement> out;
  const auto bytes = io::read_file(path, problems);
  if (!bytes) return out;
  const io::TomlDocument doc = io::parse_toml(*bytes, name_for_messages, problems);
  if (!doc.readable()) return out;
  std::set<std::string> ids;
  for (const io::TomlTable& t : doc.root().tables("requirement")) {
    Keys k(t, problems);
    Requirement r;
    r.place = t.place();
    r.id = k.require_text("id");
    if (!r.id.empty() && !ids.insert(r.id).second) t.refuse("id", "two requirements have this id", "each id once");
    r.text = k.text("text");
    const std::string quantity = k.require_text("quantity");
    const auto known = validation::quantity_by_name(quantity);
    if (known) {
      r.quantity = *known;
    } else if (!quantity.empty()) {
      std::string list;
      for (const std::string& name : validation::quantity_names()) list += (list.empty() ? "" : ", ") + name;
      const auto near = io::nearest_word(quantity, validation::quantity_names());
      t.refuse("quantity", "not a quantity that can be required", list, near ? "did you mean " + *near + "?" : "use one of the list");
    }
    const bool least = t.has("at_least"), most = t.has("at_most");
    if (least == most) {
      t.refuse(least ? "at_most" : "at_least", least ? "both at_least and at_most are given" : "the threshold is missing",
               "one of at_least and at_most");
    }
    r.sense = most ? validation::Sense::at_most : validation::Sense::at_least;
    if (known) {
      const char* key = most ? "at_most" : "at_least";
      const auto threshold = k.quantity(key, dimension_of(r.quantity));
      if (threshold) check_threshold(t, key, r.quantity, *threshold);
      r.threshold_si = threshold.value_or(0);
      if (least && most) static_cast<void>(k.quantity("at_least", dimension_of(r.quantity)));
    }
    r.vehicle = k.require_text("vehicle");
    if (known) {
      read_obstacle_keys(k, r, least, most);
      read_answer_keys(k, r, least, most);
    } else {  // what belongs to a quantity that is not known is not judged
      for (const char* key : {"obstacle", "trip", "rocks"}) static_cast<void>(k.text(key));
      static_cast<void>(k.quantity("friction", Dimension::none));
      static_cast<void>(k.quantity("heading", Dimension::angle));
    }
    const bool needs_no_zone = !known || r.quantity == Quantity::nominal_ground_pressure || r.quantity == Quantity::friction_margin || r.quantity == Quantity::tip_angle || r.quantity == Quantity::trip_distance || r.quantity == Quantity::clear_run || r.friction_ratio;
    r.zone = needs_no_zone ? k.text("zone") : k.require_text("zone");
    r.condition = k.text("condition");
    r.gradient_rad = k.quantity("gradient", Dimension::angle);
    if (r.gradient_rad && !(std::abs(*r.gradient_rad) < 89 * M_PI / 180)) t.refuse("gradient", "no slope a vehicle stands on", "under 90 deg", "check the unit: 25 % is not 25 deg");
    r.slip_ratio = k.quantity("slip", Dimension::none);
    if (r.slip_ratio && !(*r.slip_ratio > 0 && *r.slip_ratio < 0.95)) t.refuse("slip", "not a driving slip", "above 0 %, below 95 %");
    r.probability_stated = t.has("probability");
    r.probability = share(k, "probability", 0.9);
    r.confidence = share(k, "confidence", 0.9);
    r.method = k.choice("method", validation::Method::analysis,
                        {{"test", validation::Method::test},
                         {"analysis", validation::Method::analysis},
                         {"inspection", validation::Method::inspection},
                         {"demonstration", validation::Method::demonstration}});
    out.push_back(r);
  }
  doc.report_unread();
  return out;
}

}  // namespace hardpan::formats
