// SPDX-License-Identifier: Apache-2.0
// The hidden truth of Tern Spit. Everything here is invented; no number was measured anywhere.
//
// Ground. Pressure under a plate of width b (radius of a circle, smaller side of a rectangle):
//   p = (kc / b + kphi) z^n, in the marsh plus a crust that peaks at crust_depth and is gone at thrice that depth.
// Each point multiplies p by exp(u) and by (z / 40 mm)^v, u and v normal about 0; each push again by a smaller
// factor. The foredune dries through the first day: p falls by drift_per_hour.
// Shear stress in the ring: (c + sigma tan phi) (1 - exp(-j / K)), each of c, tan phi and K scattered by point.
//
// Vehicle. No wheel-soil model stands behind the pulls. Net pull over normal load, at slip s told with the rolling
// radius of the vehicle file, follows an empirical curve with a peak:
//   mu(s) = a (1 - exp(-(s - s0) / k)) - d max(0, s - s1),
// times one factor a run. Levels below 20 % slip were chosen near what a bearing and exponential-shear theory of the
// wheel gives for this ground; at 5 % it lies above, and beyond 25 % it falls, to less than half of its peak at 50 %,
// which such a theory cannot do with any soil parameters. That difference of shape is what a validation of the demo has to find.
// Gross torque over (normal load x radius): t0 + t1 (1 - exp(-s / kt)). Sinkage under the wheel: z0 + z1 s, growing
// with pass^q; the rut rebounds by a fixed depth.
//
// Instruments (true errors; instruments.toml states only their standard deviations):
//   press gain 0.8 % high, frame 250 kN/m; ring torque 1.2 % low; tow load cell 0.9 % high with a zero of 20 to 50 N that
//   drifts; pull lags speed by 0.3 s; hand cone 5.5 % high after the work (its span check says so);
//   spring balance past its calibration date; second operator pushes a third faster and reads 3 % more pressure.
//
// Trials at limits and by remote control. Whether a step is climbed, how a turn goes and how fast the course could be driven is computed with
// Hardpan's model from the ground above and the numbers below; drivers then keep a share of that speed.
#pragma once

namespace fieldsim {

inline constexpr double kGravity = 9.81;  // m/s^2, as the campaign states
inline constexpr double kMass_kg = 420;   // both vehicles, with payload
inline constexpr double kWeight_n = kMass_kg * kGravity;

struct PlateTruth {
  double n, kc_n, kphi_n;                 // N/m^(n+1), N/m^(n+2)
  double level_sd, exponent_sd, push_sd;  // of ln p by point, of n by point, of ln p by push
  double crust_pa, crust_depth_m;         // 0: no crust
  double drift_per_hour;                  // of ln p
};
inline constexpr PlateTruth kForedunePlates{1.0, 2.0e3, 1.0e6, 0.13, 0.05, 0.03, 0, 0, -0.02};
inline constexpr PlateTruth kMarshPlates{0.5, 5.0e3, 85.0e3, 0.14, 0.04, 0.04, 24.0e3, 0.012, 0};

struct ShearTruth {
  double cohesion_pa, phi_deg, modulus_m;
  double cohesion_sd, tan_phi_sd, modulus_sd, turn_sd;  // relative
};
inline constexpr ShearTruth kForeduneShear{400, 31, 0.018, 0.25, 0.03, 0.12, 0.02};
inline constexpr ShearTruth kMarshShear{5000, 8, 0.012, 0.12, 0.10, 0.14, 0.03};
inline constexpr ShearTruth kShingleShear{50, 37, 0.022, 0.30, 0.03, 0.12, 0.03};

struct PullTruth {
  double a, k, s0, d, s1;
  double run_sd;            // relative, one factor a run
  double t0, t1, kt;        // gross torque
  double z0_m, z1_m, pass_exponent, rebound_m;
  double towed_resistance;  // over normal load
  double radius_m;          // rolling radius, towed on hard ground
};
inline constexpr PullTruth kTyresForedune{0.335, 0.065, 0.004, 0.70, 0.17, 0.045, 0.10, 0.43, 0.085, 0.037, 0.036, 0.15, 0.006, 0.085, 0.291};
inline constexpr PullTruth kLugsForedune{0.195, 0.085, 0.010, 0.22, 0.20, 0.05, 0.22, 0.27, 0.10, 0.047, 0.045, 0.13, 0.005, 0.130, 0.308};
inline constexpr PullTruth kTyresMarsh{0.185, 0.065, 0.012, 0.30, 0.20, 0.06, 0.13, 0.25, 0.08, 0.056, 0.042, 0.20, 0.009, 0.110, 0.291};

inline constexpr double kPressGain = 1.008, kFrame_n_per_m = 250e3;
inline constexpr double kRingGain = 0.988;
inline constexpr double kTowCellGain = 1.009, kTowLag_s = 0.3;
inline constexpr double kConeGain = 1.055;
inline constexpr double kSecondOperator = 1.03;
inline constexpr double kTorquePerAmpere_n_m = 12.0, kIdleCurrent_a = 2.4;  // four motors together, at the axles

inline constexpr double kBoardwalkFriction = 0.58, kBoardwalkFriction_sd = 0.05;    // of a wheel on wet planks; sd of its logarithm, a try
inline constexpr double kCutFriction = 0.45, kCutFriction_sd = 0.06;                // of a braked wheel on the sand of the cut
inline constexpr double kReaction_s = 0.35;                                         // of either driver
inline constexpr double kFirstDriverShare = 0.72, kSecondDriverShare = 0.62, kPracticeGain = 0.08, kDriver_sd = 0.05;
inline constexpr double kInTurn_sd = 0.02, kDryingSlip_per_hour = 0.002;            // of two vehicles climbing in turn

// The ways that campaign.toml describes and that are driven: nothing is hidden here but how the runs scatter.
struct Stretch {
  const char *name, *zone;
  double distance_m, gradient_deg, speed_m_s, halt_min;
};
inline constexpr Stretch kFarNest[]{{"up the foredune", "foredune", 60, 5, 0.5, 0}, {"down into the marsh", "foredune", 90, -3, 0.5, 0}, {"along the marsh", "marsh", 1200, 0, 1, 15}};
inline constexpr double kBattery_j = 4.2 * 3.6e6, kColdShare = 0.85;                // of the vehicle file; of the derating rows at 5 degC
inline constexpr double kTripEnergy_sd = 0.03;                                      // of its logarithm, a run: driving and reading
struct Point {
  double x_m, z_m;
};
inline constexpr Point kTideCut[]{{-2, 0}, {0, 0}, {0.25, -0.11}, {0.7, -0.14}, {1.0, -0.02}, {1.5, 0.05}, {3.5, 0.14}};
struct TrackWave {
  double length_m, amplitude_m;
};
inline constexpr TrackWave kTrackWaves[]{{3, 0.06}, {1.2, 0.02}};
inline constexpr double kTrackShaking = 1.1, kTrackShaking_sd = 0.08;               // measured over computed: ruts are no clean waves
inline constexpr double kShingleCoverage = 0.05, kShingleFriction = 0.6;

}  // namespace fieldsim
