// SPDX-License-Identifier: Apache-2.0
// For tests only: an invented campaign with a known truth, and a reader of the Cullinan files.
//
// The truth is written here from the published relations, with no code of the reduction.
#pragma once

#include <array>
#include <cmath>
#include <fstream>
#include <numbers>
#include <sstream>
#include <string>
#include <vector>

#include "math/random.hpp"
#include "records/ground.hpp"

namespace hardpan::records::testing {

struct Truth {
  double b1 = 0.05, b2 = 0.10, z0 = 0.03;
  double ln_p1 = std::log(60e3), ln_p2 = std::log(48e3), n = 0.9;  // at z0
  double c = 2000, tan_phi = 0.6, k = 0.012;
  // Scatter of a point about the mean.
  double sd_level = 0.20, sd_contrast = 0.06, sd_n = 0.06, sd_c = 400, sd_tan_phi = 0.04, sd_ln_k = 0.15;
  // Of a reading and of a push or run about its point.
  double reading = 0.03, push = 0.03, run = 0.03, offset_m = 0.0002;
  double gain = 0.0;  // one standard deviation of every instrument's calibration

  [[nodiscard]] double pressure(double b, double z) const {
    return std::exp((b == b1 ? ln_p1 : ln_p2) + n * std::log(z / z0));
  }
};

struct PointTruth {
  double ln_p1, ln_p2, n, c, tan_phi, k;
};

inline PointTruth draw_point(const Truth& t, const math::Stream& s, std::size_t index) {
  const std::size_t at = 16 * index;
  const double level = t.sd_level * s.normal(at);
  return {t.ln_p1 + level - 0.5 * t.sd_contrast * s.normal(at + 1),
          t.ln_p2 + level + 0.5 * t.sd_contrast * s.normal(at + 1),
          t.n + t.sd_n * s.normal(at + 2),
          t.c + t.sd_c * s.normal(at + 3),
          t.tan_phi + t.sd_tan_phi * s.normal(at + 4),
          t.k * std::exp(t.sd_ln_k * s.normal(at + 5))};
}

struct CampaignSettings {
  std::size_t points = 8;
  std::uint64_t seed = 1;
  bool plates = true, shears = true;
  std::vector<double> widths = {0.05, 0.10};
  bool paired = true;  // false: points take the widths in turn
  std::vector<double> normal_stress_pa = {4e3, 12e3, 30e3};
  std::size_t readings = 14;
};

inline GroundRecords simulate(const Truth& t, const CampaignSettings& s) {
  const math::Stream points(s.seed, math::stream_id("points")), noise(s.seed, math::stream_id("noise")),
      gains(s.seed, math::stream_id("gains"));
  std::size_t drawn = 0;
  const auto normal = [&] { return noise.normal(drawn++); };
  const double load_gain = 1 + t.gain * gains.normal(0), torque_gain = 1 + t.gain * gains.normal(1),
               ring_load_gain = 1 + t.gain * gains.normal(2);
  GroundRecords records;
  Instrument press{.id = "press", .kind = "plate press"};
  press.load.gain_relative_sd = t.gain;
  press.load.gain_stated = true;
  Instrument ring{.id = "ring", .kind = "shear ring"};
  ring.torque.gain_relative_sd = ring.load.gain_relative_sd = t.gain;
  ring.torque.gain_stated = ring.load.gain_stated = true;
  records.instruments = {press, ring};
  for (std::size_t g = 0; g < s.points; ++g) {
    const PointTruth here = draw_point(t, points, g);
    const std::string point = "P" + std::to_string(g + 1);
    for (std::size_t w = 0; s.plates && w < s.widths.size(); ++w) {
      if (!s.paired && g % s.widths.size() != w) continue;
      const double b = s.widths[w];
      PlateTest test;
      test.source = {.id = "plates/" + point + "/" + std::to_string(w),
                     .file = "plates.csv",
                     .record = "plates",
                     .point = point,
                     .zone = "bar",
                     .instrument = "press",
                     .operator_name = "A"};
      test.plate = {.id = "plate", .shape = PlateShape::circle, .radius_m = b};
      const double level = (b == t.b1 ? here.ln_p1 : here.ln_p2) + t.push * normal();
      const double offset = t.offset_m * normal();
      test.sinkage_m.push_back(0);
      test.load_n.push_back(0);
      test.line.push_back(2);
      for (std::size_t i = 0; i < s.readings; ++i) {
        const double z = 0.004 * std::pow(25.0, static_cast<double>(i) / static_cast<double>(s.readings - 1));
        const double p = std::exp(level + here.n * std::log(z / t.z0)) * (1 + t.reading * normal());
        test.sinkage_m.push_back(z + offset);
        test.load_n.push_back(p * load_gain * std::numbers::pi * b * b);
        test.line.push_back(3 + i);
      }
      records.plates.push_back(std::move(test));
    }
    for (std::size_t r = 0; s.shears && r < s.normal_stress_pa.size(); ++r) {
      ShearTest test;
      test.source = {.id = "ring/" + point + "/" + std::to_string(r),
                     .file = "ring.csv",
                     .record = "ring",
                     .point = point,
                     .zone = "bar",
                     .instrument = "ring",
                     .operator_name = "A"};
      const double ri = 0.0425, ro = 0.055;
      test.inner_radius_m = ri;
      test.outer_radius_m = ro;
      const double area = std::numbers::pi * (ro * ro - ri * ri);
      const double sigma = s.normal_stress_pa[r];
      test.vertical_load_n = sigma * ring_load_gain * area;
      const double strength = (here.c + sigma * here.tan_phi) * std::exp(t.run * normal());
      const double radius = 0.75 * (std::pow(ro, 4) - std::pow(ri, 4)) / (std::pow(ro, 3) - std::pow(ri, 3));
      const double k = here.k * std::exp(0.03 * normal());
      for (std::size_t i = 0; i <= 20; ++i) {
        const double j = 0.003 * static_cast<double>(i);
        const double tau = strength * (1 - std::exp(-j / k)) * (1 + t.reading * normal());
        test.travel.push_back(j / radius);
        test.effort.push_back(tau * torque_gain * 2 * std::numbers::pi / 3 * (std::pow(ro, 3) - std::pow(ri, 3)));
        test.line.push_back(2 + i);
      }
      records.shears.push_back(std::move(test));
    }
  }
  return records;
}

// Two columns after one heading line.
inline std::vector<std::array<double, 2>> read_two_columns(const std::string& name) {
  std::ifstream in(std::string(HARDPAN_SOURCE_DIR) + "/examples/cullinan-sand/records/" + name);
  std::vector<std::array<double, 2>> rows;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const std::size_t comma = line.find(',');
    rows.push_back({std::stod(line.substr(0, comma)), std::stod(line.substr(comma + 1))});
  }
  return rows;
}

// Cullinan plate: 0.018 m2 (the authors' force axis), taken as a circle.
inline PlateTest cullinan_plate(const std::string& name, const std::string& zone) {
  PlateTest test;
  test.source = {.id = name, .file = name + ".csv", .record = name, .point = name, .zone = zone};
  test.plate = {.id = "plate", .shape = PlateShape::circle, .radius_m = std::sqrt(0.018 / std::numbers::pi)};
  std::size_t line = 2;
  for (const auto& [z_mm, p_kpa] : read_two_columns(name + ".csv")) {
    test.sinkage_m.push_back(z_mm * 1e-3);
    test.load_n.push_back(p_kpa * 1e3 * 0.018);
    test.line.push_back(line++);
  }
  return test;
}

inline const Parameter* find(const std::vector<Parameter>& parameters, const std::string& key) {
  for (const Parameter& p : parameters) {
    if (p.key == key) return &p;
  }
  return nullptr;
}

}  // namespace hardpan::records::testing
