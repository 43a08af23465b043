// SPDX-License-Identifier: Apache-2.0
#include "formats/instrument_file.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "formats/detail/keys.hpp"
#include "io/files.hpp"
#include "io/toml.hpp"

namespace hardpan::formats {

using detail::Keys;
using records::Instrument;
using units::Dimension;

namespace {

records::ChannelTrust channel(Keys& k, const std::string& prefix, Dimension dimension) {
  records::ChannelTrust c;
  c.range_si = k.positive(prefix + "_range", dimension);
  c.resolution_si = k.positive(prefix + "_resolution", dimension);
  if (const auto sd = k.quantity(prefix + "_gain_sd", Dimension::none)) {
    c.gain_relative_sd = *sd;
    c.gain_stated = true;
    if (!(*sd >= 0 && *sd < 0.5)) k.table().refuse(prefix + "_gain_sd", "a calibration this loose is no calibration", "0 % to 50 %");
  }
  return c;
}

constexpr double kLargestHandTool = 2;  // [m]; nobody carries a larger one

std::optional<double> radius(Keys& k, const std::string& name) {
  const auto check = [&](const std::string& key, double r) {
    if (r > kLargestHandTool / 2) k.table().refuse(key, "no ring is turned by hand in this size", "at most 2 m across", "check value and unit");
    return r;
  };
  if (const auto r = k.not_negative(name + "_radius", Dimension::length)) return check(name + "_radius", *r);
  if (const auto d = k.not_negative(name + "_diameter", Dimension::length)) return check(name + "_diameter", *d / 2);
  return std::nullopt;
}

records::Plate read_plate(Keys k) {
  records::Plate p;
  p.id = k.require_text("id");
  const auto d = k.quantity("diameter", Dimension::length);
  const auto sides = k.texts("sides");
  if (d) {
    p.radius_m = *d / 2;
    if (!(*d > 0 && *d <= kLargestHandTool)) k.table().refuse("diameter", "no plate is pushed by hand in this size", "above 0, at most 2 m", "check value and unit");
  } else if (sides.size() == 2) {
    const auto a = units::parse_quantity(sides[0], Dimension::length), b = units::parse_quantity(sides[1], Dimension::length);
    if (!a.ok() || !b.ok() || !(a.si > 0 && a.si <= kLargestHandTool) || !(b.si > 0 && b.si <= kLargestHandTool)) {
      k.table().refuse("sides", a.ok() ? (b.ok() ? "no plate is pushed by hand in this size" : b.error) : a.error, "two lengths above 0, at most 2 m", "check values and units");
      return p;
    }
    p.shape = records::PlateShape::rectangle;
    p.short_side_m = std::min(a.si, b.si);
    p.long_side_m = std::max(a.si, b.si);
  } else {
    k.table().refuse("diameter", "a plate needs its size", "diameter = \"100 mm\" or sides = [\"100 mm\", \"300 mm\"]");
  }
  return p;
}

void check_kind(const std::string& kind, const io::TomlTable& t) {
  static const std::vector<std::string> kinds{"plate press", "shear ring", "shear plate", "shear box", "cone penetrometer", "drop cone",
                                              "load cell", "tape", "inclinometer", "scale", "torque wrench"};
  if (kind.empty() || std::find(kinds.begin(), kinds.end(), kind) != kinds.end()) return;
  std::string list;
  for (const std::string& k : kinds) list += (list.empty() ? "" : ", ") + k;
  const auto near = io::nearest_word(kind, kinds);
  t.refuse("kind", "no kind of instrument has this name", list, near ? "did you mean " + *near + "?" : "use one of the list");
}

void read_span_check(const io::TomlTable& t, Instrument& out, base::Problems& problems) {
  Keys k(t, problems);
  records::SpanCheck s;
  s.after = k.choice("when", false, {{"before", false}, {"after", true}});
  const Dimension d = out.kind == "torque wrench" ? Dimension::torque : out.kind == "tape" ? Dimension::length : Dimension::force;
  const auto applied = k.quantity("applied", d), read = k.quantity("read", d);
  s.tolerance_relative = k.quantity("tolerance", Dimension::none).value_or(0.02);
  if (!applied || !read || !(*applied > 0)) {
    t.refuse("applied", "a span check needs what was applied and what was read", "both, above 0");
    return;
  }
  s.applied_si = *applied;
  s.read_si = *read;
  out.span_checks.push_back(s);
}

}  // namespace

std::vector<Instrument> read_instruments(const std::string& path, const std::string& name_for_messages,
                                         base::Problems& problems) {
  std::vector<Instrument> out;
  const auto bytes = io::read_file(path, problems);
  if (!bytes) return out;
  const io::TomlDocument doc = io::parse_toml(*bytes, name_for_messages, problems);
  if (!doc.readable()) return out;
  std::set<std::string> ids;
  for (const io::TomlTable& t : doc.root().tables("instrument")) {
    Keys k(t, problems);
    Instrument i;
    i.id = k.require_text("id");
    if (!i.id.empty() && !ids.insert(i.id).second) t.refuse("id", "two instruments have this id", "each id once");
    i.kind = k.require_text("kind");
    check_kind(i.kind, t);
    std::set<std::string> plates;
    for (const io::TomlTable& p : t.tables("plate")) {
      i.plates.push_back(read_plate(Keys(p, problems)));
      const std::string& plate = i.plates.back().id;
      if (!plate.empty() && !plates.insert(plate).second) p.refuse("id", "two plates of this instrument have this id", "each id once");
    }
    i.ring_inner_radius_m = radius(k, "inner");
    i.ring_outer_radius_m = radius(k, "outer");
    if (i.ring_inner_radius_m && i.ring_outer_radius_m && !(*i.ring_outer_radius_m > *i.ring_inner_radius_m && *i.ring_inner_radius_m >= 0)) {
      t.refuse("outer_radius", "a ring's outer radius is larger than its inner one", "outer above inner, inner at least 0");
    }
    i.ring_weight_n = k.not_negative("own_weight", Dimension::force);
    i.shear_length_m = k.positive("length", Dimension::length);
    i.shear_width_m = k.positive("width", Dimension::length);
    i.cone_base_area_m2 = k.positive("base_area", Dimension::area);
    if (const auto d = k.positive("base_diameter", Dimension::length)) i.cone_base_area_m2 = std::numbers::pi * *d * *d / 4;
    if (i.cone_base_area_m2 && *i.cone_base_area_m2 > 0.1) {
      t.refuse(t.has("base_diameter") ? "base_diameter" : "base_area", "no cone is pushed by hand in this size", "some 1 to 20 cm^2", "check value and unit");
    }
    i.cone_angle_rad = k.positive("cone_angle", Dimension::angle);
    i.cone_rate_m_per_s = k.positive("rate", Dimension::speed);
    i.drop_weight_n = k.positive("drop_weight", Dimension::force);
    i.drop_height_m = k.positive("drop_height", Dimension::length);
    i.rod_weight_n = k.not_negative("rod_weight", Dimension::force);
    i.frame_stiffness_n_per_m = k.positive("frame_stiffness", Dimension::stiffness);
    i.load_sign = static_cast<double>(k.integer("load_sign").value_or(1));
    i.depth_sign = static_cast<double>(k.integer("depth_sign").value_or(1));
    if (std::abs(i.load_sign) != 1 || std::abs(i.depth_sign) != 1) t.refuse("load_sign", "a sign is 1 or -1", "1 or -1");
    i.load = channel(k, "load", Dimension::force);
    i.depth = channel(k, "depth", Dimension::length);
    i.torque = channel(k, "torque", Dimension::torque);
    i.angle = channel(k, "angle", Dimension::angle);
    i.calibrated_on = k.date("calibrated");
    i.calibration_due = k.date("calibration_due");
    if (!i.calibrated_on.empty() && !i.calibration_due.empty() && i.calibration_due < i.calibrated_on) {
      t.refuse("calibration_due", "lies before the day of calibration", "on or after " + i.calibrated_on, "check both dates");
    }
    for (const io::TomlTable& s : t.tables("span_check")) read_span_check(s, i, problems);
    out.push_back(i);
  }
  doc.report_unread();
  return out;
}

}  // namespace hardpan::formats
