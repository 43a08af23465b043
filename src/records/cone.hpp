// SPDX-License-Identifier: Apache-2.0
// Cone profiles to cone index by layer and rating cone index (ASABE S313.3 cones; EP542 procedure).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "records/ground_records.hpp"
#include "records/ground_settings.hpp"
#include "records/plate_curve.hpp"
#include "units/print.hpp"

namespace hardpan::records {

[[nodiscard]] double cone_area_m2(double diameter_m);
[[nodiscard]] double rating_cone_index(double cone_index, double remoulding_index);  // same unit as cone_index
// Resistance of a drop cone after `drops` falls to `depth`: p = (W h n / z + W + Q) / A.
[[nodiscard]] double drop_cone_pressure_pa(double drop_weight_n, double drop_height_m, double rod_weight_n,
                                           double drops, double depth_m, double base_area_m2);

enum class ConeMark { kept, stop_event, stone, not_finite, backward };
[[nodiscard]] const char* name(ConeMark mark);

struct ConeLayer {
  double from_m = 0, to_m = 0;       // top < depth <= bottom
  std::size_t readings = 0;
  std::optional<double> cone_index_pa;         // mean over depth of the kept readings
  std::optional<double> rating_cone_index_pa;  // where the remoulding index is known
};

struct ConeProfile {
  TestSource source;
  std::string population;
  double base_area_m2 = 0;
  std::vector<double> depth_m, resistance_pa;
  std::vector<ConeMark> mark;
  std::vector<std::size_t> line;
  std::vector<ConeLayer> layers;
  std::optional<double> refusal_depth_m;  // stopped on something hard
  std::vector<SetAside> set_aside;
  std::vector<std::string> remarks;       // cone size, rate
};
[[nodiscard]] ConeProfile reduce_cone(const ConeTest& test, const Instrument* instrument, const GroundSettings& settings);

// Pressures stated in a record against those its depths and cone area give, and which cone area
// each test agrees with. Tests fall apart into populations when they agree with different areas.
struct ConePopulation {
  double base_area_m2 = 0;     // the area that reproduces the stated pressures
  bool as_stated = false;      // that is the area of the record
  std::vector<std::string> tests;
};
struct ConeConsistency {
  std::size_t tests_checked = 0;
  std::vector<ConePopulation> populations;  // most tests first
  std::vector<std::string> inconsistent;    // tests that agree with no single area
  std::string statement;
};
[[nodiscard]] ConeConsistency check_drop_cones(const std::vector<const ConeTest*>& tests,
                                               const std::vector<Instrument>& instruments,
                                               units::OutputUnits units = units::OutputUnits::si);

struct ConeZoneLayer {
  double from_m = 0, to_m = 0;
  Parameter cone_index;
  std::optional<Parameter> rating_cone_index;
};
struct ConeZone {
  std::size_t tests = 0, points = 0;
  std::string population;
  double base_area_m2 = 0;
  std::vector<ConeZoneLayer> layers;
  std::vector<std::string> remarks;
};
// One ConeZone a population: cones of different size are not averaged.
[[nodiscard]] std::vector<ConeZone> reduce_cones(const std::vector<const ConeProfile*>& profiles,
                                                 const std::vector<Instrument>& instruments,
                                                 const GroundSettings& settings);

}  // namespace hardpan::records
