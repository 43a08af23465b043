// SPDX-License-Identifier: Apache-2.0
// What is known of the soil of one zone, and samples of it.
//
// A SoilDistribution holds a centre and three covariances in one set of coordinates, so that the
// three parts of an interval (soil, instrument, model form) can be drawn together or apart. Draw k
// of possible_soils means the same possible soil wherever it is used with one seed and zone.
//
//   const PossibleSoils soils = possible_soils(distribution, form, {.seed = 7, .count = 400});
//   soils.average[k]     the mean soil of the zone in draw k
//   soils.next_point[k]  the soil at the next point met in draw k
//
// Coordinates: ln p at the reference depth z0 on width b1, the same on width b2, n, c [Pa],
// tan phi, ln K. With one modulus only (single plate) the second is not varied; an organic mat has no
// exponent, so there the third is not varied. Infeasible samples (what check_soil refuses: n <= 0,
// c < 0, tan phi < 0, ..., or a modulus not positive at a width in use) are drawn again and counted,
// never moved to the edge.
//
// How draw k is made, each part from a stream of its own:
//   mean soil    centre + t-distributed, scale `sampling`, one spread factor sqrt(dof / chi-square)
//                for the bearing and one for the shear coordinates
//   average      mean soil + normal, covariance `instrument`
//   next point   average + normal, covariance `between_points`, times the SAME spread factors: both
//                variances were estimated from the same scatter, which makes the next-point interval
//                t(dof) s sqrt(1 + 1/G) wide for a mean of G points
// Each step is drawn again, and it alone, until it is feasible on what came before. So switching a part
// off leaves the numbers of the others as they are (a sample drawn again may fall otherwise).
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "soil/soil.hpp"

namespace hardpan::soil {

inline constexpr std::size_t kCoordinates = 6;
enum class Coordinate : std::size_t { ln_p_first = 0, ln_p_second, exponent, cohesion, tan_phi, ln_k };
[[nodiscard]] const char* name(Coordinate coordinate);

using Covariance = std::array<std::array<double, kCoordinates>, kCoordinates>;  // symmetric

struct SoilDistribution {
  Soil centre;
  double first_width_m = 0.05;     // b1, a plate width that was tested
  double second_width_m = 0.1;     // b2 > b1
  double reference_depth_m = 0.05;  // z0, geometric middle of the tested depths
  Covariance sampling{};           // of the MEAN soil, from scatter between points
  // Degrees of freedom of both scatters; 0: no interval; infinite: known covariance (normal).
  double bearing_dof = 0;          // G - 1 points behind the bearing part
  double shear_dof = 0;            // runs - 2 (or points - 1) behind the shear part
  Covariance between_points{};     // of one point about the mean
  Covariance instrument{};         // calibration and the like, shared by all readings; does not shrink
  std::string population;          // over what a probability is taken: "points of zone foredune, 12 April 2026"
};

// Spread of what the wheel-soil model assumes. Defaults are stated spreads, used until the
// vehicle's own tests have set them ("not validated"). Centres are the soil's own c1, c2, K ratio and
// n1 where it states them, else kAssumedC1, kAssumedC2, 1 and slip_exponent_mean. c1 and c2 are normal,
// drawn again until both are >= 0 and c1 + c2 <= 1 (braking pairs shift by the same amounts);
// the K ratio is lognormal; n1 is |centre + sd z|, which is half-normal about a centre of 0.
struct ModelForm {
  bool vary = true;
  double c1_sd = 0.08;           // common practice, no source: covers compact (0.43) to loose (0.18) sand within 3 sd
  double c2_sd = 0.06;           // common practice, no source
  double ln_k_ratio_sd = 0.35;   // K under a wheel over K of the ring; common practice, no source
  double slip_exponent_mean = 0.0;
  double slip_exponent_sd = 0.15;  // spread of n1 of n = n0 + n1 |s|; common practice, no source
};

struct DrawSettings {
  std::uint64_t seed = 1;
  std::size_t count = 400;
  std::string stream;               // zone name; the same name gives the same draws
  bool soil_part = true;            // the three parts can be switched off one by one
  bool instrument_part = true;
  bool model_form_part = true;
  std::vector<double> widths_in_use_m;  // feasibility is tested at these besides b1 and b2
};

struct PossibleSoils {
  std::vector<Soil> average;
  std::vector<Soil> next_point;
  std::size_t redrawn = 0;     // samples thrown away as infeasible, over all parts
  std::string reason_without;  // not empty: there are no draws, and why
  std::string population;
};

// Coordinates of a soil and back. Nothing when the soil lacks a part or the sample is infeasible.
[[nodiscard]] std::optional<std::array<double, kCoordinates>> to_coordinates(const SoilDistribution& about,
                                                                             const Soil& soil);
[[nodiscard]] std::optional<Soil> from_coordinates(const SoilDistribution& about,
                                                   const std::array<double, kCoordinates>& x);

[[nodiscard]] PossibleSoils possible_soils(const SoilDistribution& distribution, const ModelForm& form,
                                           const DrawSettings& settings);

}  // namespace hardpan::soil
