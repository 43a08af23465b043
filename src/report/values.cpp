// SPDX-License-Identifier: Apache-2.0
#include "report/detail/values.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include <fmt/core.h>

#include "performance/travel.hpp"
#include "units/count.hpp"

namespace hardpan::report::detail {
namespace {

constexpr double kNearWord = 1e-9;

units::Unit percent_unit() { return {.factor = 0.01, .offset = 0, .dimension = units::Dimension::none, .percent_grade = false, .spelling = "%"}; }

std::string spelt(const units::Unit& unit) { return unit.spelling == "1" || unit.spelling.empty() ? "" : " " + unit.spelling; }

constexpr double kNoWidth = 1e-4;  // an interval narrower than this share of its ends is printed by digits

// Decimals that show the width of an interval with two significant digits, three where it begins with 1 or 2.
int decimals_for(double width) {
  const double magnitude = std::floor(std::log10(width * (1 + 1e-9)));
  const bool small_lead = width / std::pow(10, magnitude) < 3;
  return std::clamp((small_lead ? 2 : 1) - static_cast<int>(magnitude), 0, 8);
}

bool has_width(double lo, double hi) {
  const double width = std::abs(hi - lo);
  return std::isfinite(width) && width > kNoWidth * std::max(std::abs(lo), std::abs(hi)) && width > 0;
}

std::string ends(double lo, double hi, const units::Unit& unit, Measure measure) {
  const std::string a = Printer::word(lo, measure), b = Printer::word(hi, measure);
  if (!a.empty() && a == b) return a;
  const double x = units::from_si(lo, unit), y = units::from_si(hi, unit);
  const bool plain = a.empty() && b.empty() && has_width(x, y);
  const auto end = [&](double v, const std::string& word) {
    if (!word.empty()) return word;
    return plain ? units::print_fixed(v, decimals_for(std::abs(y - x))) : units::print_number(v, 3);
  };
  if (a.empty() && b.empty() && !has_width(x, y)) return end(x, a);
  return end(x, a) + " to " + end(y, b);
}

}  // namespace

Measure measure_of(validation::Quantity quantity) {
  using validation::Quantity;
  switch (quantity) {
    case Quantity::maximum_gradient: return kGradient;
    case Quantity::maximum_gradient_down: return kDescent;
    case Quantity::drawbar_pull: return kForce;
    case Quantity::pull_coefficient: return kPullCoefficient;
    case Quantity::slip: return kTravelSlip;
    case Quantity::sinkage: return kSinkage;
    case Quantity::motion_resistance_coefficient: return {units::Dimension::none, false, Special::infinite_is_immobilised};
    case Quantity::torque_per_wheel: return kWheelTorque;
    case Quantity::energy_per_metre: return kEnergy;
    case Quantity::speed: return kTravelSpeed;
    case Quantity::nominal_ground_pressure: return kPressure;
    case Quantity::friction_margin: return kNumber;
    case Quantity::highest_step:
    case Quantity::widest_gap: return kLength;
    case Quantity::gradient_on_heading:
    case Quantity::tip_angle: return kAngle;
    case Quantity::remote_speed:
    case Quantity::rough_ground_speed: return {units::Dimension::speed};
    case Quantity::trip_distance: return kLength;
    case Quantity::clear_run: return kShare;
    case Quantity::turning_radius: return {units::Dimension::length, false, Special::infinite_is_immobilised};
  }
  return kNumber;
}

Measure measure_of_unit(const std::string& si_unit) {
  using units::Dimension;
  for (const Dimension d : units::kDimensions) {
    if (d != Dimension::none && si_unit == units::si_unit(d)) {
      if (si_unit == "N m") return kTorque;  // a torque and an energy share their base units
      return {d};
    }
  }
  if (si_unit == "N m" || si_unit == "Nm") return kTorque;
  return kNumber;
}

Printer::Printer(campaign::OutputUnits units)
    : units_(units == campaign::OutputUnits::si ? units::OutputUnits::si : units::OutputUnits::us) {}

std::string Printer::word(double v, Measure measure) {
  if (std::isnan(v)) return units::kNoValue;
  switch (measure.special) {
    case Special::straight_down_is_immobilised:
      if (v <= performance::kNoGradient + kNearWord) return "immobilised";
      break;
    case Special::one_is_immobilised:
      if (v >= 1 - kNearWord) return "immobilised";
      break;
    case Special::minus_one_is_immobilised:
      if (v <= -1 + kNearWord) return "immobilised";
      break;
    case Special::zero_is_none:
      if (v == 0) return "none";
      break;
    case Special::infinite_is_unlimited:
      if (std::isinf(v)) return v > 0 ? "not limited" : units::kNoValue;
      break;
    case Special::infinite_is_immobilised:
      if (std::isinf(v)) return "immobilised";
      break;
    case Special::none: break;
  }
  return std::isinf(v) ? units::kNoValue : "";
}

units::Unit Printer::unit(double largest_si, Measure measure) const {
  if (measure.percent) return percent_unit();
  return units::output_unit(largest_si, measure.dimension, units_);
}

units::Unit Printer::common(const std::vector<double>& values_si, Measure measure) const {
  double largest = 0;
  for (const double v : values_si) {
    if (word(v, measure).empty()) largest = std::max(largest, std::abs(v));
  }
  return unit(largest, measure);
}

std::string Printer::value(double v, Measure measure, int digits) const {
  if (std::string w = word(v, measure); !w.empty()) return w;
  return units::print_in(v, unit(v, measure), digits);
}

std::string Printer::value(const std::optional<double>& v, Measure measure, int digits) const {
  return v ? value(*v, measure, digits) : "-";
}

std::string Printer::interval(double lo, double hi, Measure measure) const {
  const units::Unit u = common({lo, hi}, measure);
  const bool any = word(lo, measure).empty() || word(hi, measure).empty();
  // "12.0 deg to immobilised" reads better than the unit behind the word.
  if (any && word(lo, measure).empty() && !word(hi, measure).empty()) {
    return units::print_number(units::from_si(lo, u), 3) + spelt(u) + " to " + word(hi, measure);
  }
  return ends(lo, hi, u, measure) + (any ? spelt(u) : "");
}

std::string Printer::interval(const std::optional<math::Interval>& i, Measure measure) const {
  return i ? interval(i->lo, i->hi, measure) : "none";
}

Printed Printer::estimate(const math::Estimate& e, Measure measure) const {
  std::vector<double> all{e.value};
  for (const auto* i : {&e.average_ground, &e.next_point}) {
    if (!*i) continue;
    all.push_back((*i)->lo);
    all.push_back((*i)->hi);
  }
  return estimate_in(e, common(all, measure), measure);
}

Printed Printer::estimate_in(const math::Estimate& e, const units::Unit& u, Measure measure) {
  const std::optional<math::Interval>* narrowest = e.average_ground ? &e.average_ground : e.next_point ? &e.next_point : nullptr;
  Printed out;
  if (std::string w = word(e.value, measure); !w.empty()) {
    out.value = w;
  } else if (narrowest && has_width((*narrowest)->lo, (*narrowest)->hi)) {
    // As many decimals as the interval carries, but at least three significant digits of the value itself.
    const double v = units::from_si(e.value, u);
    const int own = v == 0 ? 0 : std::clamp(2 - static_cast<int>(std::floor(std::log10(std::abs(v)))), 0, 8);
    const double width = std::abs(units::from_si((*narrowest)->hi, u) - units::from_si((*narrowest)->lo, u));
    out.value = units::print_fixed(v, std::max(own, decimals_for(width))) + spelt(u);
  } else {
    out.value = units::print_in(e.value, u);
  }
  const auto print = [&](const std::optional<math::Interval>& i) -> std::string {
    if (!i) return "none";
    const bool both_words = !word(i->lo, measure).empty() && !word(i->hi, measure).empty();
    if (word(i->lo, measure).empty() && !word(i->hi, measure).empty()) {
      return units::print_number(units::from_si(i->lo, u), 3) + spelt(u) + " to " + word(i->hi, measure);
    }
    return ends(i->lo, i->hi, u, measure) + (both_words ? "" : spelt(u));
  };
  out.average_ground = print(e.average_ground);
  out.next_point = print(e.next_point);
  return out;
}

std::string Printer::with_next_point(const math::Estimate& e, Measure measure) const {
  const Printed p = estimate(e, measure);
  return e.next_point ? p.value + " (next point " + p.next_point + ")" : e.average_ground ? p.value + " (95 %: " + p.average_ground + ")" : p.value;
}

std::string Printer::bare(double v, const units::Unit& unit, Measure measure, int digits) {
  if (std::string w = word(v, measure); !w.empty()) return w;
  return units::print_number(units::from_si(v, unit), digits);
}

std::string Printer::bare(const std::optional<double>& v, const units::Unit& unit, Measure measure, int digits) {
  return v ? bare(*v, unit, measure, digits) : "-";
}

std::string headed(const std::string& heading, const units::Unit& unit) {
  return unit.spelling == "1" || unit.spelling.empty() ? heading : heading + " (" + unit.spelling + ")";
}

std::string plural(std::size_t count, const std::string& word) { return units::print_count(count, word); }

std::string joined(const std::vector<std::string>& parts, const std::string& between) {
  std::string out;
  for (const std::string& p : parts) out += (out.empty() ? "" : between) + p;
  return out;
}

std::string clock_words(std::string iso) {
  if (iso.size() > 10 && iso[10] == 'T') iso[10] = ' ';
  return iso;
}

std::string sentence(std::string text) {
  while (!text.empty() && text.back() == ' ') text.pop_back();
  if (text.empty()) return text;
  if (text[0] >= 'a' && text[0] <= 'z' && (text.size() < 2 || text[1] != ' ' || text[0] == 'a')) text[0] = static_cast<char>(text[0] - 'a' + 'A');
  if (text.back() != '.' && text.back() != '?' && text.back() != '!') text += '.';
  return text;
}

std::vector<std::string> sentences(std::vector<std::string> all) {
  for (std::string& s : all) s = sentence(std::move(s));
  return all;
}

std::vector<std::string> merged(const std::vector<std::string>& all) {
  struct Group {
    std::string before, after;
    std::vector<std::string> tests;
  };
  std::vector<Group> groups;
  for (const std::string& text : all) {
    // The name of a test holds a slash and ends at a colon.
    const std::size_t slash = text.find('/'), from = slash == std::string::npos ? slash : text.rfind(' ', slash);
    const std::size_t to = slash == std::string::npos ? slash : text.find(": ", slash);
    Group g{text, "", {}};
    if (to != std::string::npos) {
      const std::size_t begin = from == std::string::npos ? 0 : from + 1;
      g = {text.substr(0, begin), text.substr(to), {text.substr(begin, to - begin)}};
      if (g.tests[0].find(' ') != std::string::npos) g = {text, "", {}};
    }
    Group* same = nullptr;
    for (Group& k : groups) {
      if (!g.tests.empty() && !k.tests.empty() && k.before == g.before && k.after == g.after) same = &k;
    }
    if (same) same->tests.push_back(g.tests[0]);
    else groups.push_back(std::move(g));
  }
  std::vector<std::string> out;
  for (const Group& g : groups) {
    if (g.tests.size() < 2) out.push_back(g.before + (g.tests.empty() ? "" : g.tests[0]) + g.after);
    else if (g.tests.size() == 2) out.push_back(g.before + g.tests[0] + " and " + g.tests[1] + g.after);
    else out.push_back(fmt::format("{}{} tests, {} to {}{}", g.before, g.tests.size(), g.tests.front(), g.tests.back(), g.after));
  }
  return out;
}

std::string slug(const std::string& name) {
  std::string out;
  for (const char c : name) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z');
    if (letter) out += c;
    else if (!out.empty() && out.back() != '-') out += '-';
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  if (out == name) return out;
  // Two names may come down to the same letters: a short sum of the whole name keeps ids apart.
  std::uint32_t sum = 2166136261u;  // FNV-1a, 32 bit
  for (const unsigned char c : name) sum = (sum ^ c) * 16777619u;
  return fmt::format("{}{}{:04x}", out, out.empty() ? "" : "-", sum & 0xffffu);
}

}  // namespace hardpan::report::detail
