// SPDX-License-Identifier: Apache-2.0
// Sheets of plate, shear, cone, repose, density and moisture tests to typed records.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "formats/detail/plausible.hpp"
#include "formats/detail/record_entry.hpp"
#include "records/cone.hpp"
#include "units/count.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

namespace {

constexpr double kReposeReading_rad = 3 * M_PI / 180;  // an angle read off a slope and one from height and width of the pile agree to this (common practice, no source)

std::vector<Role> roles_of(const std::string& kind) {
  const Role load{.name = "load", .dimensions = {Dimension::force}, .headings = {"load", "force", "plate load", "axial load", "load cell", "kraft", "last"}};
  const Role time{.name = "time", .dimensions = {Dimension::time}, .headings = {"time", "t", "elapsed time", "elapsed", "zeit"}};
  std::vector<Role> r;
  if (kind == "plate") {
    r = {time, load,
         {.name = "sinkage", .dimensions = {Dimension::length}, .headings = {"sinkage", "depth", "penetration", "displacement", "settlement", "z", "einsinkung"}},
         {.name = "pressure", .dimensions = {Dimension::pressure}, .headings = {"pressure", "plate pressure", "p", "druck"}},
         {.name = "plate", .dimensions = {}, .headings = {"plate", "plate id"}}};
  } else if (kind == "shear-ring") {
    r = {time,
         {.name = "rotation", .dimensions = {Dimension::angle}, .headings = {"rotation", "angle", "twist", "ring angle", "angle of rotation", "drehwinkel"}},
         {.name = "torque", .dimensions = {Dimension::torque}, .headings = {"torque", "moment", "ring torque", "drehmoment"}},
         {.name = "stress", .dimensions = {Dimension::pressure}, .headings = {"shear stress", "tau"}},
         {.name = "vertical_load", .dimensions = {Dimension::force}, .headings = {"vertical load", "normal load", "dead load"}},
         {.name = "normal_stress", .dimensions = {Dimension::pressure}, .headings = {"normal stress", "vertical stress", "sigma"}}};
  } else if (kind == "shear-plate" || kind == "shear-box") {
    r = {time,
         {.name = "displacement", .dimensions = {Dimension::length}, .headings = {"displacement", "travel", "shear displacement", "j", "weg"}},
         {.name = "force", .dimensions = {Dimension::force}, .headings = {"shear force", "force", "pull"}},
         {.name = "stress", .dimensions = {Dimension::pressure}, .headings = {"shear stress", "tau", "stress"}},
         {.name = "vertical_load", .dimensions = {Dimension::force}, .headings = {"vertical load", "normal load"}},
         {.name = "normal_stress", .dimensions = {Dimension::pressure}, .headings = {"normal stress", "vertical stress", "sigma"}}};
  } else if (kind == "cone") {
    r = {{.name = "depth", .dimensions = {Dimension::length}, .headings = {"depth", "penetration", "z", "penetration length"}},
         {.name = "force", .dimensions = {Dimension::force}, .headings = {"force", "load", "cone force"}},
         {.name = "resistance", .dimensions = {Dimension::pressure}, .headings = {"cone index", "ci", "cone resistance", "resistance", "qc"}, .by_unit_without = "force"},
         {.name = "drops", .dimensions = {Dimension::none}, .headings = {"drops", "blows"}, .count = true},
         {.name = "population", .dimensions = {}, .headings = {"population", "class"}}};
  } else if (kind == "repose") {
    r = {{.name = "angle", .dimensions = {Dimension::angle}, .headings = {"angle", "angle of repose", "slope"}, .may_be_blank = true},
         {.name = "height", .dimensions = {Dimension::length}, .headings = {"height", "pile height", "h"}, .may_be_blank = true},
         {.name = "diameter", .dimensions = {Dimension::length}, .headings = {"diameter", "base diameter", "d"}, .may_be_blank = true},
         {.name = "repose", .dimensions = {}, .headings = {"kind", "repose"}}};
  } else if (kind == "density") {
    r = {{.name = "mass", .dimensions = {Dimension::mass}, .headings = {"mass", "sample mass", "weight"}},
         {.name = "volume", .dimensions = {Dimension::volume}, .headings = {"volume", "sample volume"}},
         {.name = "sample_depth", .dimensions = {Dimension::length}, .headings = {"sample depth", "depth"}, .may_be_blank = true}};
  } else if (kind == "moisture") {
    r = {{.name = "wet", .dimensions = {Dimension::mass}, .headings = {"wet", "wet mass", "wet weight"}},
         {.name = "dry", .dimensions = {Dimension::mass}, .headings = {"dry", "dry mass", "dry weight"}},
         {.name = "tare", .dimensions = {Dimension::mass}, .headings = {"tare", "tin", "can", "container"}, .may_be_blank = true},
         {.name = "sample_depth", .dimensions = {Dimension::length}, .headings = {"sample depth", "depth"}, .may_be_blank = true}};
  }
  return with_common_roles(std::move(r));
}

// Refuses a sheet that lacks a role, naming what it has.
bool require(const RecordEntry& entry, const Sheet& sheet, std::initializer_list<const char*> any_of, base::Problems& problems) {
  std::string list;
  for (const char* role : any_of) {
    if (sheet.has(role)) return true;
    list += (list.empty() ? "" : " or ") + std::string(role);
  }
  std::string headings;
  for (const std::string& h : sheet.headings) headings += (headings.empty() ? "" : ", ") + h;
  problems.refuse({.place = {.file = entry.file, .line = 1}, .what = fmt::format("a {} record needs a column for {}", entry.kind, list),
                   .value = headings, .remedy = "map it in campaign.toml: columns = { " + std::string(*any_of.begin()) + " = \"heading\" }"});
  return false;
}

// Rows where a needed number is absent are set aside and counted.
bool drop_incomplete(const RecordEntry& entry, Sheet& sheet, std::initializer_list<const char*> roles, base::Problems& problems) {
  std::vector<char> keep(sheet.line.size(), 1);
  for (const char* role : roles) {
    const Column* c = sheet.number(role);
    for (std::size_t i = 0; c && i < keep.size(); ++i) {
      if (std::isnan(c->values[i])) keep[i] = 0;
    }
  }
  const auto dropped = static_cast<std::size_t>(std::count(keep.begin(), keep.end(), 0));
  if (dropped > 0) keep_rows(sheet, keep);
  sheet.rows_set_aside += dropped;
  return share_kept(sheet, entry.file, entry.request.remark_share, problems);
}

double at(const Sheet& sheet, const char* role, std::size_t row) {
  const Column* c = sheet.number(role);
  return c ? c->values[row] : std::nan("");
}

const records::Instrument* need_instrument(const RecordEntry& entry, const char* what, base::Problems& problems) {
  if (!entry.instrument) {
    problems.refuse({.place = {.file = entry.place.file, .line = entry.place.line, .key = entry.place.key + ".instrument"},
                     .what = fmt::format("this record needs an instrument: {}", what), .remedy = "name one of instruments.toml"});
  }
  return entry.instrument;
}

void plates(const RecordEntry& entry, Keys& keys, Sheet& sheet, Surroundings& around, base::Problems& problems) {
  const std::string plate_key = keys.text("plate");
  const auto rate = keys.quantity("rate", Dimension::speed);
  const auto tilt = keys.quantity("tilt", Dimension::angle);
  const auto order = keys.integer("order");
  const bool zeroed = keys.boolean("zeroed", false);
  const records::Instrument* instrument = need_instrument(entry, "the plate sizes stand there", problems);
  if (!require(entry, sheet, {"sinkage"}, problems) || !require(entry, sheet, {"load", "pressure"}, problems) || !instrument) return;
  if (!drop_incomplete(entry, sheet, {"sinkage", "load", "pressure"}, problems)) return;
  set_aside_beyond_range(entry, sheet, "load", instrument->load.range_si, problems);
  set_aside_beyond_range(entry, sheet, "sinkage", instrument->depth.range_si, problems);
  if (!share_kept(sheet, entry.file, entry.request.remark_share, problems) || !check_values(entry, sheet, problems)) return;
  if (!sheet.has("test") && sheet.number("time") && !check_signals(sheet, entry.file, {}, entry.request.remark_share, problems)) return;
  std::vector<std::string> known;
  for (const records::Plate& plate : instrument->plates) known.push_back(plate.id);
  const auto refuse_plate = [&](std::size_t row, const std::string& plate) {
    std::string ids;
    for (const std::string& id : known) ids += (ids.empty() ? "" : ", ") + id;
    const auto near = io::nearest_word(plate, known);
    problems.refuse({.place = {.file = entry.file, .line = sheet.line[row]}, .what = plate.empty() ? "which plate was pushed is not known" : "the press has no plate of this name",
                     .value = plate, .bound = ids, .remedy = near ? "did you mean " + *near + "?" : "set plate = \"...\" in the record or add a column \"plate\""});
  };
  bool plates_known = true;
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    const std::string plate = sheet.text("plate", r);
    if (plate.empty() || std::find(known.begin(), known.end(), plate) != known.end()) continue;
    refuse_plate(r, plate);
    if (!std::exchange(plates_known, false)) break;  // the second row of its kind: enough said
  }
  const auto groups = rows_by_test(sheet);
  for (const auto& [test, rows] : groups) {
    records::PlateTest p;
    p.source = source_of(entry, sheet, rows.front(), test, around, problems);
    if (!check_once_a_test(entry, sheet, rows, "point", problems) || !plates_known || !check_once_a_test(entry, sheet, rows, "plate", problems)) continue;
    p.source.tilt_rad = tilt;
    p.zero_taken = zeroed;
    p.rate_m_per_s = rate;
    if (order) p.order_in_point = static_cast<int>(*order);
    std::string plate = sheet.text("plate", rows.front());
    if (plate.empty()) plate = plate_key;
    if (plate.empty() && instrument->plates.size() == 1) plate = instrument->plates.front().id;
    const auto found = std::find_if(instrument->plates.begin(), instrument->plates.end(), [&](const records::Plate& x) { return x.id == plate; });
    if (found == instrument->plates.end()) {
      refuse_plate(rows.front(), plate);
      continue;
    }
    p.plate = *found;
    for (const std::size_t i : rows) {
      // Signs stay as the instrument gave them: the reduction of plates turns them.
      p.sinkage_m.push_back(at(sheet, "sinkage", i));
      p.load_n.push_back(sheet.has("load") ? at(sheet, "load", i) : at(sheet, "pressure", i) * p.plate.area_m2());
      if (sheet.number("time")) p.time_s.push_back(at(sheet, "time", i));
      p.line.push_back(sheet.line[i]);
    }
    remark_backward(entry, sheet, rows, "sinkage", sheet.has("load") ? "load" : "pressure", problems);
    remark_push(entry, p, output_units(around), problems);
    around.campaign->ground.plates.push_back(std::move(p));
  }
  summarise(entry, sheet, groups.size(), around, problems);
}

// A slip of the pen in a shear test that a machine would not make: the two readings of a row fit between their neighbours only
// when exchanged. A remark only: it is a possible reading.
constexpr double kSlipShare = 0.05;  // exchanged readings lie further outside than scatter puts them

void remark_exchanged(const RecordEntry& entry, const Sheet& sheet, const std::vector<std::size_t>& rows, const char* travel_role,
                        const char* effort_role, base::Problems& problems) {
  const Column* travel = sheet.number(travel_role);
  const Column* effort = sheet.number(effort_role) ? sheet.number(effort_role) : sheet.number("stress");
  if (sheet.logger || rows.size() < 3 || !travel || !effort) return;  // a machine does not slip, and its noise goes both ways
  const auto typed = [](const Column* c, std::size_t row) { return units::from_si(c->values[row], c->unit); };
  const auto between = [](double x, double a, double b) { return x >= std::min(a, b) && x <= std::max(a, b); };
  for (std::size_t k = 1; k + 1 < rows.size(); ++k) {
    const double u = typed(travel, rows[k]), w = typed(effort, rows[k]);
    const double u0 = typed(travel, rows[k - 1]), u1 = typed(travel, rows[k + 1]);
    const double w0 = typed(effort, rows[k - 1]), w1 = typed(effort, rows[k + 1]);
    // How far a reading lies outside its neighbours, in shares of the pair: a scattered one is no slip.
    const auto outside = [](double x, double a, double b) { return std::max({std::min(a, b) - x, x - std::max(a, b), 0.0}); };
    const double written = outside(u, u0, u1) + outside(w, w0, w1);
    if (!(written > kSlipShare * (std::abs(u) + std::abs(w))) || !between(w, u0, u1) || !between(u, w0, w1)) continue;
    problems.remark({.place = {.file = entry.file, .line = sheet.line[rows[k]]},
                     .what = fmt::format("columns \"{}\" and \"{}\" fit the rows above and below only when exchanged", travel->heading, effort->heading),
                     .value = fmt::format("{:g} and {:g}", u, w), .remedy = "look at the sheet; correct the row in amendments.csv if it was typed so"});
  }
}

// Shear effort levels off with travel; exchanged columns make it rise ever faster: at half the travel under a third of the largest.
bool rises_ever_faster(const Sheet& sheet, const std::vector<std::size_t>& rows, const char* travel_role, const char* effort_role) {
  const Column* travel = sheet.number(travel_role);
  const Column* effort = sheet.number(effort_role) ? sheet.number(effort_role) : sheet.number("stress");
  if (rows.size() < 5 || !travel || !effort) return false;
  double far = 0, most = 0;
  for (const std::size_t r : rows) {
    far = std::max(far, std::abs(travel->values[r]));
    most = std::max(most, std::abs(effort->values[r]));
  }
  double reached = 0;
  for (const std::size_t r : rows) {
    if (std::abs(travel->values[r]) <= 0.5 * far) reached = std::max(reached, std::abs(effort->values[r]));
  }
  return far > 0 && reached > 0 && reached < most / 3;
}

void shears(const RecordEntry& entry, Keys& keys, Sheet& sheet, Surroundings& around, base::Problems& problems) {
  const auto load_key = keys.quantity("vertical_load", Dimension::force, entry.request.unit_rules);
  const auto stress_key = keys.quantity("normal_stress", Dimension::pressure);
  const bool smooth = keys.boolean("smooth_metal", false);
  const bool ring = entry.kind == "shear-ring";
  const char* travel = ring ? "rotation" : "displacement";
  const char* effort = ring ? "torque" : "force";
  const records::Instrument* i = need_instrument(entry, "the size of the shear surface stands there", problems);
  if (!require(entry, sheet, {travel}, problems) || !require(entry, sheet, {effort, "stress"}, problems) || !i) return;
  if (ring && (!i->ring_inner_radius_m || !i->ring_outer_radius_m)) {
    problems.refuse({.place = {.file = "instruments.toml", .key = i->id + ".outer_radius"}, .what = "a shear ring needs inner and outer radius",
                     .remedy = "add inner_radius and outer_radius"});
    return;
  }
  const bool sized = ring || (i->shear_length_m && i->shear_width_m);
  if (!sized && !sheet.has("stress")) {
    problems.refuse({.place = {.file = "instruments.toml", .key = i->id + ".length"}, .what = "a shear plate or box needs length and width",
                     .remedy = "add length and width, or give shear stress in place of force"});
    return;
  }
  if (!drop_incomplete(entry, sheet, {travel, effort, "stress"}, problems)) return;
  set_aside_beyond_range(entry, sheet, travel, ring ? i->angle.range_si : i->depth.range_si, problems);
  set_aside_beyond_range(entry, sheet, effort, ring ? i->torque.range_si : i->load.range_si, problems);
  if (!share_kept(sheet, entry.file, entry.request.remark_share, problems) || !check_values(entry, sheet, problems)) return;
  if (!sheet.has("test") && sheet.number("time") && !check_signals(sheet, entry.file, {}, entry.request.remark_share, problems)) return;
  const double length = i->shear_length_m.value_or(1), width = i->shear_width_m.value_or(1);  // stress given: unit area
  const double ro = i->ring_outer_radius_m.value_or(0), ri = i->ring_inner_radius_m.value_or(0);
  const double area = ring ? M_PI * (ro * ro - ri * ri) : length * width;
  const double per_stress = ring ? 2 * M_PI * (ro * ro * ro - ri * ri * ri) / 3 : area;  // torque or force of a uniform stress
  const auto groups = rows_by_test(sheet);
  std::size_t rises_faster = 0;
  for (const auto& [test, rows] : groups) {
    records::ShearTest s;
    s.source = source_of(entry, sheet, rows.front(), test, around, problems);
    bool once = true;
    for (const char* role : {"point", "vertical_load", "normal_stress"}) once = check_once_a_test(entry, sheet, rows, role, problems) && once;
    if (!once) continue;
    remark_backward(entry, sheet, rows, travel, nullptr, problems);
    remark_exchanged(entry, sheet, rows, travel, effort, problems);
    rises_faster += rises_ever_faster(sheet, rows, travel, effort) ? 1 : 0;
    s.tool = ring ? records::ShearTool::ring : entry.kind == "shear-plate" ? records::ShearTool::plate : records::ShearTool::box;
    if (ring) {
      s.inner_radius_m = ri;
      s.outer_radius_m = ro;
    } else {
      s.length_m = length;
      s.width_m = width;
    }
    s.smooth_metal = smooth;
    double load = at(sheet, "vertical_load", rows.front());
    if (std::isnan(load) && sheet.number("normal_stress")) load = at(sheet, "normal_stress", rows.front()) * area;
    if (std::isnan(load) && load_key) load = *load_key;
    if (std::isnan(load) && stress_key) load = *stress_key * area;
    if (!(load > 0)) {
      const bool in_sheet = sheet.number("vertical_load") || sheet.number("normal_stress");
      problems.refuse({.place = in_sheet ? base::Place{.file = entry.file, .line = sheet.line[rows.front()]}
                                         : base::Place{.file = entry.place.file, .line = entry.place.line, .key = entry.place.key + ".vertical_load"},
                       .what = "the vertical load of test \"" + s.source.id + "\" is not known or not positive", .remedy = "give vertical_load or normal_stress"});
      continue;
    }
    // The tool's own weight is part of the load where the load was put on top of it.
    s.vertical_load_n = load + (stress_key || sheet.number("normal_stress") ? 0 : i->ring_weight_n.value_or(0));
    for (const std::size_t r : rows) {
      s.travel.push_back(at(sheet, travel, r));
      s.effort.push_back(i->load_sign * (sheet.has(effort) ? at(sheet, effort, r) : at(sheet, "stress", r) * per_stress));
      if (sheet.number("time")) s.time_s.push_back(at(sheet, "time", r));
      s.line.push_back(sheet.line[r]);
    }
    around.campaign->ground.shears.push_back(std::move(s));
  }
  if (3 * rises_faster > 2 * groups.size()) {
    problems.remark({.place = {.file = entry.file}, .what = fmt::format("in {} of {} the {} rises ever faster with the {}, where soil yields: are the two columns exchanged?", rises_faster,
                                                                         units::print_count(groups.size(), "test"), sheet.has(effort) ? effort : "stress", travel),
                     .remedy = "compare the headings with the paper sheet"});
  }
  summarise(entry, sheet, groups.size(), around, problems);
}

void cones(const RecordEntry& entry, Keys& keys, Sheet& sheet, Surroundings& around, base::Problems& problems) {
  const auto remoulding = keys.number("remoulding_index");
  const std::string population = keys.text("population");
  const auto rate = keys.quantity("rate", Dimension::speed);
  const records::Instrument* i = need_instrument(entry, "the base area of the cone stands there", problems);
  if (!i) return;
  if (!i->cone_base_area_m2) {
    problems.refuse({.place = {.file = "instruments.toml", .key = i->id + ".base_area"}, .what = "the base area of the cone is not stated",
                     .remedy = "add base_area or base_diameter: cone index depends on it"});
    return;
  }
  const bool drop = i->drop_weight_n && i->drop_height_m;
  if (entry.series.empty() && !require(entry, sheet, {"depth"}, problems)) return;
  if (entry.series.empty() && !drop && !require(entry, sheet, {"resistance", "force"}, problems)) return;
  if (entry.series.empty() && !drop_incomplete(entry, sheet, {"depth", "resistance", "force"}, problems)) return;
  set_aside_beyond_range(entry, sheet, "depth", i->depth.range_si, problems);
  set_aside_beyond_range(entry, sheet, "force", i->load.range_si, problems);
  if (!share_kept(sheet, entry.file, entry.request.remark_share, problems) || !check_values(entry, sheet, problems)) return;
  const auto make = [&](std::size_t row, const std::string& test) {
    records::ConeTest c;
    c.source = source_of(entry, sheet, row, test, around, problems);
    c.base_area_m2 = *i->cone_base_area_m2;
    c.cone_angle_rad = i->cone_angle_rad;
    c.remoulding_index = remoulding;
    c.rate_m_per_s = rate ? rate : i->cone_rate_m_per_s;
    c.drop_cone = drop;
    c.population = sheet.text("population", row).empty() ? population : sheet.text("population", row);
    return c;
  };
  std::size_t tests = 0;
  if (!entry.series.empty()) {
    // One row a test; depth (and stated resistance) after so many drops in columns of their own.
    std::size_t blanks = 0;
    for (std::size_t row = 0; row < sheet.line.size(); ++row) {
      records::ConeTest c = make(row, sheet.text("test", row).empty() ? fmt::format("line {}", sheet.line[row]) : sheet.text("test", row));
      for (std::size_t n = 0; n < entry.series.size(); ++n) {
        const double depth = at(sheet, fmt::format("depth_{}", n).c_str(), row);
        if (!(depth > 0)) {
          ++blanks;
          continue;
        }
        double resistance = at(sheet, fmt::format("resistance_{}", n).c_str(), row);
        if (std::isnan(resistance) && drop) {
          resistance = records::drop_cone_pressure_pa(*i->drop_weight_n, *i->drop_height_m, i->rod_weight_n.value_or(0),
                                                      entry.series[n].drops, depth, *i->cone_base_area_m2);
        }
        c.depth_m.push_back(depth);
        c.resistance_pa.push_back(resistance);
        c.drops.push_back(entry.series[n].drops);
        c.line.push_back(sheet.line[row]);
      }
      if (c.depth_m.empty()) continue;
      ++tests;
      around.campaign->ground.cones.push_back(std::move(c));
    }
    if (blanks > 0) problems.remark({.place = {.file = entry.file}, .what = "reading of a drop series left blank", .count = blanks});
  } else {
    const auto groups = rows_by_test(sheet);
    for (const auto& [test, rows] : groups) {
      if (!check_once_a_test(entry, sheet, rows, "point", problems)) continue;
      records::ConeTest c = make(rows.front(), test);
      remark_backward(entry, sheet, rows, "depth", nullptr, problems);
      for (const std::size_t r : rows) {
        c.depth_m.push_back(i->depth_sign * at(sheet, "depth", r));
        c.resistance_pa.push_back(i->load_sign * (sheet.has("resistance") ? at(sheet, "resistance", r) : at(sheet, "force", r) / c.base_area_m2));
        c.line.push_back(sheet.line[r]);
      }
      ++tests;
      around.campaign->ground.cones.push_back(std::move(c));
    }
  }
  summarise(entry, sheet, tests, around, problems);
}

void reposes(const RecordEntry& entry, Keys& keys, Sheet& sheet, Surroundings& around, base::Problems& problems) {
  const std::string kind_key = keys.text("repose");
  if (!require(entry, sheet, {"angle", "height"}, problems)) return;
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    records::ReposeTest t;
    t.source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    const std::string kind = sheet.text("repose", r).empty() ? kind_key : sheet.text("repose", r);
    if (kind == "poured pile") t.kind = records::ReposeKind::poured_pile;
    else if (kind == "slip face") t.kind = records::ReposeKind::slip_face;
    else if (kind == "slide start") t.kind = records::ReposeKind::slide_start;
    else {
      problems.refuse({.place = {.file = entry.file, .line = sheet.line[r]}, .what = "which of the three angles this is", .value = kind,
                       .bound = "\"poured pile\", \"slip face\", \"slide start\"", .remedy = "set repose = \"...\" in the record: they are different numbers"});
      continue;
    }
    const double h = at(sheet, "height", r), d = at(sheet, "diameter", r);
    t.angle_rad = at(sheet, "angle", r);
    if (std::isnan(t.angle_rad) && h > 0 && d > 0) {
      t.height_m = h;
      t.base_diameter_m = d;
      t.angle_rad = std::atan(2 * h / d);
    } else if (h > 0 && d > 0 && std::abs(std::atan(2 * h / d) - t.angle_rad) > kReposeReading_rad) {
      problems.refuse({.place = {.file = entry.file, .line = sheet.line[r]}, .what = "angle of repose contradicts height and base diameter beside it", .value = fmt::format("{:.3g} deg and {:.3g} deg", t.angle_rad * 180 / M_PI, std::atan(2 * h / d) * 180 / M_PI),
                       .bound = fmt::format("alike within {:.0f} deg", kReposeReading_rad * 180 / M_PI), .remedy = "leave the wrong one blank"});
      continue;
    }
    if (!(t.angle_rad > 0 && t.angle_rad < M_PI / 2)) {
      problems.refuse({.place = {.file = entry.file, .line = sheet.line[r]}, .what = "no angle of repose", .bound = "an angle, or height and base diameter"});
      continue;
    }
    if (t.angle_rad < 15 * M_PI / 180 || t.angle_rad > 50 * M_PI / 180) {  // common practice, no source: dry sand 28 to 35 deg, angular rubble to 45
      problems.remark({.place = {.file = entry.file, .line = sheet.line[r]}, .what = "unusual angle of repose for loose ground", .value = fmt::format("{:.3g} deg", t.angle_rad * 180 / M_PI),
                       .bound = "15 to 50 deg", .remedy = "check the angle, or height and diameter"});
    }
    around.campaign->ground.reposes.push_back(t);
  }
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

void bulk(const RecordEntry& entry, Keys& keys, Sheet& sheet, Surroundings& around, base::Problems& problems) {
  const auto depth_key = keys.quantity("sample_depth", Dimension::length);
  const auto sd = [&]() -> std::optional<double> {
    if (!entry.instrument || !entry.instrument->load.resolution_si) return std::nullopt;
    return *entry.instrument->load.resolution_si;
  }();
  const bool density = entry.kind == "density";
  const units::OutputUnits u = output_units(around);
  if (!require(entry, sheet, {density ? "mass" : "wet"}, problems) || !require(entry, sheet, {density ? "volume" : "dry"}, problems)) return;
  for (std::size_t r = 0; r < sheet.line.size(); ++r) {
    const auto source = source_of(entry, sheet, r, fmt::format("line {}", sheet.line[r]), around, problems);
    const double d = at(sheet, "sample_depth", r);
    const auto depth = std::isnan(d) ? depth_key : std::optional(d);
    const double a = at(sheet, density ? "mass" : "wet", r), b = at(sheet, density ? "volume" : "dry", r);
    const double tare = density || std::isnan(at(sheet, "tare", r)) ? 0 : at(sheet, "tare", r);
    const bool good = density ? a > 0 && b > 0 : a >= b && b > tare && tare >= 0;
    if (!good) {
      problems.refuse({.place = {.file = entry.file, .line = sheet.line[r]},
                       .what = density ? "mass or volume is not positive" : "wet, dry and tare masses cannot be: wet is at least dry, dry is above tare",
                       .value = fmt::format("{:g}, {:g}", a, b), .remedy = "check the columns and their units"});
      continue;
    }
    if (density && !(a / b >= 200 && a / b <= 4000)) {
      problems.remark({.place = {.file = entry.file, .line = sheet.line[r]}, .what = "unusual density: are mass and volume exchanged, or a unit wrong?", .value = units::print_quantity(a / b, Dimension::density, u),
                       .bound = units::print_interval(200, 4000, Dimension::density, u), .remedy = "check the columns and their units"});
    }
    if (density) around.campaign->ground.densities.push_back({.source = source, .mass_kg = a, .volume_m3 = b, .mass_sd_kg = sd, .depth_m = depth});
    else around.campaign->ground.moistures.push_back({.source = source, .wet_kg = a, .dry_kg = b, .tare_kg = tare, .scale_sd_kg = sd, .depth_m = depth});
  }
  summarise(entry, sheet, sheet.line.size(), around, problems);
}

}  // namespace

void read_ground_record(const RecordEntry& given, Keys& keys, Surroundings& around, base::Problems& problems) {
  RecordEntry entry = given;
  entry.request.roles = roles_of(entry.kind);
  if (!entry.series.empty()) {  // their columns are named one by one
    for (Role& r : entry.request.roles) r.by_unit_without.reset();
  }
  for (std::size_t n = 0; n < entry.series.size(); ++n) {
    const SeriesStep& s = entry.series[n];
    const auto add = [&](const std::string& role, Dimension d, const std::string& heading, const std::string& unit) {
      if (heading.empty()) return;
      entry.request.roles.push_back({.name = role, .dimensions = {d}});
      entry.request.columns[role] = {heading};
      if (!unit.empty()) entry.request.unit_texts[role] = unit;
    };
    add(fmt::format("depth_{}", n), Dimension::length, s.depth, s.depth_unit);
    add(fmt::format("resistance_{}", n), Dimension::pressure, s.resistance, s.resistance_unit);
  }
  auto sheet = read_sheet(entry.request, problems);
  if (!sheet) return;
  if (entry.kind == "plate") plates(entry, keys, *sheet, around, problems);
  else if (entry.kind.starts_with("shear")) shears(entry, keys, *sheet, around, problems);
  else if (entry.kind == "cone") cones(entry, keys, *sheet, around, problems);
  else if (entry.kind == "repose") reposes(entry, keys, *sheet, around, problems);
  else bulk(entry, keys, *sheet, around, problems);
}

}  // namespace hardpan::formats::detail
