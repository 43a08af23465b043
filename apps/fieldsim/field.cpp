// SPDX-License-Identifier: Apache-2.0
#include "fieldsim/field.hpp"

#include <cmath>
#include <stdexcept>

#include <fmt/format.h>

namespace fieldsim {
namespace {

struct Listed {
  const char *id, *zone, *position, *time, *weather;
  double moisture_5cm, moisture_15cm;
};

// Where the work was done. P1 is the reference point; L and M are towing lanes, S the slope lanes.
constexpr Listed kListed[] = {
    {"P1", "foredune", "101.0 m E, 40.5 m N", "2026-04-12T08:20", "wind 4 m/s, dry", 0.031, 0.038},
    {"A1", "foredune", "112.4 m E, 58.1 m N", "2026-04-12T08:50", "wind 4 m/s, dry", 0.029, 0.036},
    {"A2", "foredune", "126.9 m E, 63.7 m N", "2026-04-12T09:35", "wind 5 m/s, dry", 0.028, 0.035},
    {"A3", "foredune", "141.2 m E, 55.0 m N", "2026-04-12T10:40", "wind 5 m/s, dry", 0.025, 0.034},
    {"A4", "foredune", "158.8 m E, 71.3 m N", "2026-04-12T11:25", "wind 6 m/s, dry", 0.024, 0.033},
    {"A5", "foredune", "173.5 m E, 66.2 m N", "2026-04-12T12:40", "wind 6 m/s, dry", 0.021, 0.032},
    {"A6", "foredune", "190.1 m E, 79.8 m N", "2026-04-12T14:20", "wind 6 m/s, dry", 0.019, 0.031},
    {"A7", "foredune", "204.7 m E, 83.4 m N", "2026-04-12T15:10", "wind 5 m/s, dry", 0.018, 0.031},
    {"A8", "foredune", "221.3 m E, 90.6 m N", "2026-04-12T16:20", "wind 4 m/s, dry", 0.017, 0.030},
    {"B1", "marsh", "64.2 m E, 188.3 m N", "2026-04-13T08:40", "overcast", 0.41, 0.47},
    {"B2", "marsh", "71.8 m E, 199.1 m N", "2026-04-13T09:25", "overcast", 0.39, 0.46},
    {"B3", "marsh", "80.5 m E, 211.6 m N", "2026-04-13T10:15", "overcast", 0.43, 0.49},
    {"B4", "marsh", "93.0 m E, 205.4 m N", "2026-04-13T11:10", "light rain from 11:30", 0.42, 0.48},
    {"B5", "marsh", "104.6 m E, 218.7 m N", "2026-04-13T12:50", "overcast", 0.40, 0.47},
    {"B6", "marsh", "117.9 m E, 209.2 m N", "2026-04-13T13:40", "overcast", 0.44, 0.50},
    {"C1", "shingle", "58.0 m E, 12.5 m N", "2026-04-13T15:20", "overcast", 0.04, 0.05},
    {"C2", "shingle", "77.3 m E, 14.9 m N", "2026-04-13T15:50", "overcast", 0.04, 0.05},
    {"C3", "shingle", "95.6 m E, 11.7 m N", "2026-04-13T16:15", "overcast", 0.03, 0.05},
    {"L0", "foredune", "150 m E, 60 m N to 190 m E, 75 m N", "2026-04-14T09:00", "wind 3 m/s, dry", 0.022, 0.033},
    {"L4", "foredune", "196 m E, 80 m N to 225 m E, 104 m N", "2026-04-14T11:00", "wind 3 m/s, dry", 0.020, 0.032},
    {"L8", "foredune", "230 m E, 95 m N to 248 m E, 121 m N", "2026-04-14T13:30", "wind 4 m/s, dry", 0.018, 0.031},
    {"S1", "foredune", "252 m E, 99 m N", "2026-04-14T15:30", "wind 4 m/s, dry", 0.017, 0.030},
    {"M0", "marsh", "70 m E, 195 m N to 112 m E, 214 m N", "2026-04-15T10:00", "overcast", 0.42, 0.48},
};

const ShearTruth& shear_of(const std::string& zone) {
  return zone == "marsh" ? kMarshShear : zone == "shingle" ? kShingleShear : kForeduneShear;
}

}  // namespace

Wander::Wander(Dice& dice, double sd, double step_s, double time_s)
    : dice_(dice), keep_(std::exp(-step_s / time_s)), push_(sd * std::sqrt(1 - keep_ * keep_)), value_(dice.normal(sd)) {}

double Wander::next() {
  value_ = keep_ * value_ + dice_.normal(push_);
  return value_;
}

Field::Field(std::uint64_t s) : seed(s) {
  for (const Listed& l : kListed) {
    FieldPoint p{.id = l.id, .zone = l.zone, .position = l.position, .time = l.time, .weather = l.weather,
                 .moisture_5cm = l.moisture_5cm, .moisture_15cm = l.moisture_15cm};
    Dice d = dice("ground of point " + p.id);
    const PlateTruth& plate = p.zone == "marsh" ? kMarshPlates : kForedunePlates;
    const ShearTruth& shear = shear_of(p.zone);
    p.level = d.normal(plate.level_sd);
    p.exponent = d.normal(plate.exponent_sd);
    p.cohesion = std::exp(d.normal(shear.cohesion_sd));
    p.tan_phi = std::exp(d.normal(shear.tan_phi_sd));
    p.modulus = std::exp(d.normal(shear.modulus_sd));
    p.cone = std::exp(0.8 * p.level + d.normal(0.08));  // a firmer point is firmer for the cone too
    points.push_back(p);
  }
}

const FieldPoint& Field::point(const std::string& id) const {
  for (const FieldPoint& p : points) {
    if (p.id == id) return p;
  }
  throw std::logic_error("no point " + id);
}

void Field::add_record(const std::string& path, const std::string& bytes, const std::string& keys) {
  if (!files.emplace(path, bytes).second) throw std::logic_error("two records write " + path);
  records += fmt::format("[[record]]\nfile = \"{}\"\n{}\n", path, keys);
}

void Field::amend(const std::string& path, std::size_t line, const std::string& column, const std::string& action, const std::string& old_value,
                  const std::string& new_value, const std::string& initials, const std::string& time, const std::string& reason) {
  if (line == 0) throw std::logic_error("nothing to amend in " + path);
  amendments += fmt::format("{},{},{},{},{},{},{},{},{}\n", path, line, column, action, old_value, new_value, initials, time, reason);
}

double rounded(double value, double step) {
  const double r = std::round(value / step) * step;
  return r == 0 ? 0 : r;  // no "-0"
}

std::string quarters(double value) {
  const auto count = static_cast<long>(std::lround(4 * value));
  constexpr const char* kParts[] = {"", "1/4", "1/2", "3/4"};
  const long whole = count / 4, part = count % 4;
  if (part == 0) return fmt::format("{}", whole);
  return whole == 0 ? kParts[part] : fmt::format("{} {}", whole, kParts[part]);
}

std::string stamp(const FieldPoint& point, double hours) {
  const auto minutes = static_cast<int>(std::lround(60 * hours));
  return fmt::format("{}T{:02}:{:02}", point.time.substr(0, 10), minutes / 60, minutes % 60);
}

std::size_t line_of(const std::string& text, const std::string& start) {
  std::size_t line = 1, at = 0;
  while (at < text.size()) {
    if (text.compare(at, start.size(), start) == 0) return line;
    const auto end = text.find('\n', at);
    if (end == std::string::npos) break;
    at = end + 1;
    ++line;
  }
  return 0;
}

double pull_coefficient(const PullTruth& t, double slip) {
  return t.a * (1 - std::exp(-(slip - t.s0) / t.k)) - t.d * std::max(0.0, slip - t.s1);
}

double torque_coefficient(const PullTruth& t, double slip) { return t.t0 + t.t1 * (1 - std::exp(-slip / t.kt)); }

double slip_at(const PullTruth& t, double run_factor, double coefficient) {
  for (int i = -50; i <= 900; ++i) {
    const double slip = i / 1000.0;
    if (run_factor * pull_coefficient(t, slip) >= coefficient) return slip;
  }
  return -1;
}

}  // namespace fieldsim
