// SPDX-License-Identifier: Apache-2.0
// campaign.toml, instruments.toml, requirements.toml, the two vehicles and the amendments, as an engineer types them.
#include <fmt/format.h>

#include "fieldsim/field.hpp"

namespace fieldsim {
namespace {

constexpr const char* kHead = R"([campaign]
name = "Tern Spit"
where = "an invented barrier beach"
when = "2026-04-12"
who = ["A. Invented", "B. Thought-Up"]
gravity = "9.81 m/s^2"
output_units = "SI"
seed = 20260412
draws = 400
reference_point = "P1"
remark_share = "20 %"
repeats = 3
abort_rule = "stop at 15 deg of roll, or when the belly touches"
notes = "Everything is invented: the beach, the ground, the vehicles, the people and every reading. Written by fieldsim."

# Two of the three tow runs in the marsh update its soil; the third is held out.
[learning]
learn_from = ["tow-M0-out", "tow-M0-out-2"]

# Dunlin is driven from the hut over a relayed link.
[remote]
sight = "10 m"
corridor = "3 m"
delay = "1.2 s"
jitter = "0.1 s"
image_interval = "0.2 s"
image_loss = "2 %"
thinking = "4 s"

# Where the nest path leaves the boardwalk, and the cut the tide made at the foot of the dune (its edges firm when it was levelled).
[[obstacle]]
id = "boardwalk"
description = "up onto the boardwalk, wet planks"
step = "140 mm"
friction = 0.6

[[obstacle]]
id = "tide-cut"
description = "cut at the foot of the dune"
profile = "site/tide-cut.csv"
zone = "foredune"

# The track over the foredune is rutted by eye: waves and bounds are invented like the rest.
[[ride]]
name = "rutted track"
zones = ["foredune"]
)";

constexpr const char* kQuestions = R"(shock = "3 m/s^2"
tightest_turn = "6 m"

[[turn]]
zones = ["foredune"]
radii = ["20 m", "8 m", "4 m", "2 m", "0 m"]

[[boulders]]
name = "shingle ridge"
vehicles = ["dunlin"]
coverage = "5 %"
coverage_between = ["3 %", "8 %"]
friction = 0.6
smallest = "0.1 m"
length = "50 m"

# Out to the far nest over the foredune and along the marsh, and back.
[[endurance]]
vehicle = "dunlin"
name = "the far nest and back"
and_back = true
reserve = "20 %"
temperature = "5 degC"
derating = ["-10 degC: 70 %", "20 degC: 100 %"]

)";

constexpr const char* kMoreQuestions = R"(# A sister of Dunlin for a world of lower gravity; how much of the sand's stiffness is its own weight is assumed.
[other_gravity]
gravity = "1.62 m/s^2"
self_weight_share = "50 %"
payload_height = "1.1 m"

[[compare]]
vehicles = ["dunlin", "dunlin-lugs"]
zone = "foredune"

[[study]]
vehicle = "dunlin"
zone = "foredune"
vary = ["wheel width: 0.14 m to 0.32 m in 7"]

[[study]]
vehicle = "dunlin"
zone = "foredune"
vary = ["speed: 0.4 m/s to 1.6 m/s in 5"]
need = "8 deg"

[[study]]
vehicle = "dunlin"
zone = "foredune"
quantity = "ride"
vary = ["speed: 0.5 m/s to 4 m/s in 8", "mass: 300 kg to 500 kg in 3"]

[[study]]
vehicle = "dunlin"
zone = "foredune"
vary = ["speed: 0.6 m/s to 2.1 m/s in 6", "mass: 300 kg to 600 kg in 4"]
need = "8 deg"

[[zone]]
id = "foredune"
description = "dry, loose blown sand on the seaward side"
slip_sinkage = "stretch"
loose = true

[[zone]]
id = "marsh"
description = "silty back marsh under a rooted crust"
slip_sinkage = "stretch"
loose = false

[[zone]]
id = "shingle"
description = "shingle ridge; only the ring was carried there"
loose = true

[[condition]]
id = "dry"
description = "no rain for three days"

)";

constexpr const char* kInstruments = R"(# Tern Spit: every instrument is invented.

[[instrument]]
id = "press"
kind = "plate press"               # frame under a tracked dumper
frame_stiffness = "250 kN/m"
load_range = "8 kN"
load_resolution = "5 N"
load_gain_sd = "1 %"
depth_range = "300 mm"
depth_resolution = "0.5 mm"
depth_gain_sd = "0.5 %"
load_sign = 1
calibrated = "2026-03-02"
calibration_due = "2027-03-02"

[[instrument.plate]]
id = "round 150"
diameter = "150 mm"

[[instrument.plate]]
id = "oblong 210"
sides = ["210 mm", "300 mm"]

[[instrument.span_check]]
when = "before"
applied = "2000 N"
read = "2014 N"
tolerance = "2 %"

[[instrument.span_check]]
when = "after"
applied = "2000 N"
read = "2019 N"
tolerance = "2 %"

[[instrument]]
id = "ring"
kind = "shear ring"
inner_radius = "90 mm"
outer_radius = "125 mm"
own_weight = "25 N"
torque_range = "120 N m"
torque_resolution = "0.05 N m"
torque_gain_sd = "1.5 %"
angle_resolution = "0.5 deg"
load_gain_sd = "0.5 %"
calibrated = "2026-03-03"
calibration_due = "2027-03-03"

[[instrument]]
id = "hand-cone"
kind = "cone penetrometer"
base_area = "323 mm^2"
cone_angle = "30 deg"
rate = "30 mm/s"
load_range = "1.7 kN"
load_gain_sd = "2 %"
calibrated = "2026-02-20"
calibration_due = "2027-02-20"

[[instrument.span_check]]
when = "before"
applied = "500 N"
read = "506 N"
tolerance = "2 %"

[[instrument.span_check]]
when = "after"
applied = "500 N"
read = "527 N"                     # outside its tolerance
tolerance = "2 %"

[[instrument]]
id = "tow-cell"
kind = "load cell"
load_range = "2500 N"
load_resolution = "1 N"
load_gain_sd = "1 %"
calibrated = "2026-03-05"
calibration_due = "2027-03-05"

[[instrument.span_check]]
when = "before"
applied = "1000 N"
read = "1007 N"
tolerance = "2 %"

[[instrument]]
id = "spring-balance"
kind = "load cell"
load_range = "500 lbf"
load_resolution = "2 lbf"
load_gain_sd = "2 %"
calibrated = "2024-05-10"
calibration_due = "2025-05-10"     # past its date

[[instrument]]
id = "slope-level"
kind = "inclinometer"
angle_resolution = "0.1 deg"
calibrated = "2026-03-01"
calibration_due = "2027-03-01"

[[instrument]]
id = "tape"
kind = "tape"
depth_resolution = "1 mm"

[[instrument]]
id = "field-scale"
kind = "scale"
calibrated = "2026-01-15"
calibration_due = "2027-01-15"
)";

constexpr const char* kRequirements = R"(# Tern Spit: invented requirements of an invented carrier.

[[requirement]]
id = "R1"
text = "climbs the landward face of the foredune with the camera mast up"
quantity = "maximum gradient"
at_least = "9 deg"
vehicle = "dunlin"
zone = "foredune"
condition = "dry"
probability = "90 %"
confidence = "90 %"
method = "analysis"

[[requirement]]
id = "R2"
text = "is shown to climb 14 degrees on the foredune"
quantity = "maximum gradient"
at_least = "14 deg"
vehicle = "dunlin"
zone = "foredune"
condition = "dry"
probability = "90 %"
confidence = "90 %"
method = "demonstration"

[[requirement]]
id = "R3"
text = "leaves the nests' surroundings in the marsh nearly unmarked"
quantity = "sinkage"
at_most = "40 mm"
vehicle = "dunlin"
zone = "marsh"
gradient = "0 deg"
probability = "90 %"
confidence = "90 %"
method = "analysis"

[[requirement]]
id = "R4"
text = "pulls the loaded tern-hide sled on level foredune sand"
quantity = "drawbar pull"
at_least = "800 N"
vehicle = "dunlin"
zone = "foredune"
condition = "dry"
gradient = "0 deg"
slip = "20 %"
probability = "90 %"
confidence = "90 %"
method = "test"

[[requirement]]
id = "R5"
text = "presses on the ground no harder than the reserve allows"
quantity = "nominal ground pressure"
at_most = "20 kPa"
vehicle = "dunlin"
method = "inspection"

[[requirement]]
id = "R6"
text = "gets through the cut at the foot of the dune"
quantity = "friction margin"
at_least = 0
vehicle = "dunlin"
obstacle = "tide-cut"

[[requirement]]
id = "R7"
text = "turns round between the fences on the foredune"
quantity = "turning radius"
at_most = "12 m"
vehicle = "dunlin"
zone = "foredune"

[[requirement]]
id = "R8"
text = "follows the contour along the foredune"
quantity = "gradient on heading"
at_least = "8 deg"
heading = "90 deg"
vehicle = "dunlin"
zone = "foredune"

[[requirement]]
id = "R9"
text = "stands on any slope of the reserve with room to spare"
quantity = "tip angle"
at_least = "20 deg"
vehicle = "dunlin"

[[requirement]]
id = "R10"
text = "is back on the link before the tide turns"
quantity = "remote speed"
at_least = "0.5 m/s"
vehicle = "dunlin"
zone = "foredune"

[[requirement]]
id = "R11"
text = "reaches the far nest and comes back"
quantity = "trip distance"
at_least = "2 km"
vehicle = "dunlin"
trip = "the far nest and back"

[[requirement]]
id = "R12"
text = "crosses the shingle ridge without picking its way"
quantity = "clear run"
at_least = "50 %"
vehicle = "dunlin"
rocks = "shingle ridge"

[[requirement]]
id = "R13"
text = "keeps its wheels on the rutted track"
quantity = "rough ground speed"
at_least = "1 m/s"
vehicle = "dunlin"
zone = "foredune"
probability = "90 %"
confidence = "90 %"
method = "demonstration"
)";

constexpr const char* kBody = R"(
[body]
mass = "390 kg"
cg_ahead_of_rear_axle = "0.62 m"
cg_left = "0 m"
cg_height = "0.56 m"
cg_ahead_sd = "5 mm"
cg_left_sd = "4 mm"
cg_height_sd = "12 mm"
clearance = "0.24 m"
underbody = [["-0.35 m", "0.42 m"], ["-0.10 m", "0.26 m"], ["0.30 m", "0.24 m"], ["1.05 m", "0.24 m"], ["1.45 m", "0.30 m"], ["1.65 m", "0.45 m"]]

[[payload]]
name = "camera mast"
mass = "30 kg"
ahead_of_rear_axle = "0.40 m"
left = "0 m"
height = "1.10 m"
allowed_ahead = ["0.20 m", "1.00 m"]
)";

constexpr const char* kDrive = R"(
[axle.drive]
driven = true
peak_torque = "280 N m"
continuous_torque = "190 N m"
peak_power = "900 W"
max_speed = "60 rpm"
efficiency = 0.78
regeneration = 0.3
brake = true
)";

constexpr const char* kTyre = R"(
[axle.wheel]
radius = "0.30 m"
width = "0.20 m"
stiffness = "73 kN/m"
inflation = "60 kPa"
hysteresis = 0.2
rolling_radius = "0.291 m"
zero_slip = "towed on hard ground"
)";

constexpr const char* kLugged = R"(
[axle.wheel]
radius = "0.28 m"
width = "0.20 m"
grouser_height = "30 mm"
grousers = 16
rolling_radius = "0.308 m"
zero_slip = "towed on hard ground"
)";

constexpr const char* kScales = R"(
[hitch]
ahead_of_rear_axle = "-0.25 m"
height = "0.35 m"

[[scale_weight]]
axle = "rear"
load = "2215 N"
with_payload = true

[[scale_weight]]
axle = "front"
load = "1905 N"
with_payload = true

[[scale_weight]]
axle = "rear"
load = "2010 N"
with_payload = false

[[scale_weight]]
axle = "front"
load = "1815 N"
with_payload = false
)";

std::string vehicle_text(const char* id, const char* name, const char* wheel) {
  std::string out = fmt::format("# Tern Spit: an invented vehicle.\n[vehicle]\nid = \"{}\"\nname = \"{}\"\ncontrol = \"common speed\"\n"
                                "working_slip = \"20 %\"\nbattery = \"4.2 kWh\"\nidle_power = \"90 W\"\n", id, name);
  out += kBody;
  for (const auto& [axle, ahead] : {std::pair{"rear", "0 m"}, std::pair{"front", "1.30 m"}}) {
    out += fmt::format("\n[[axle]]\nname = \"{}\"\nahead_of_rear_axle = \"{}\"\ntrack_width = \"1.05 m\"\nwheels = 2\n", axle, ahead);
    out += wheel;
    out += kDrive;
  }
  return out + kScales;
}

}  // namespace

void write_vehicles(Field& field) {
  field.files["vehicles/dunlin.toml"] = vehicle_text("dunlin", "Dunlin on soft tyres", kTyre);
  field.files["vehicles/dunlin-lugs.toml"] = vehicle_text("dunlin-lugs", "Dunlin on rigid lugged wheels", kLugged);
}

void write_campaign_text(Field& field) {
  std::string text = "# Tern Spit: an invented campaign, simulated by fieldsim; nothing in this folder was measured.\n";
  text += kHead;
  text += "waves = [";
  for (const TrackWave& w : kTrackWaves) text += fmt::format("{}\"{:g} m: {:g} m\"", &w == kTrackWaves ? "" : ", ", w.length_m, w.amplitude_m);
  text += "]\n";
  text += kQuestions;
  for (const Stretch& w : kFarNest) {
    text += fmt::format("[[endurance.stretch]]\nname = \"{}\"\nzone = \"{}\"\ndistance = \"{:g} m\"\n", w.name, w.zone, w.distance_m);
    if (w.gradient_deg != 0) text += fmt::format("gradient = \"{:g} deg\"\n", w.gradient_deg);
    text += fmt::format("speed = \"{:g} m/s\"\n", w.speed_m_s);
    if (w.halt_min > 0) text += fmt::format("halt = \"{:g} min\"\n", w.halt_min);
    text += "\n";
  }
  text += kMoreQuestions;
  for (const FieldPoint& p : field.points) {
    text += fmt::format("[[point]]\nid = \"{}\"\nzone = \"{}\"\nposition = \"{}\"\ndatum = \"local grid\"\naccuracy = \"0.5 m\"\ntime = \"{}\"\n"
                        "weather = \"{}\"\nmoisture_5cm = \"{:.1f} %\"\nmoisture_15cm = \"{:.1f} %\"\n\n",
                        p.id, p.zone, p.position, p.time, p.weather, 100 * p.moisture_5cm, 100 * p.moisture_15cm);
  }
  text += field.records;
  field.files["campaign.toml"] = text;
  field.files["instruments.toml"] = kInstruments;
  field.files["requirements.toml"] = kRequirements;
  std::string cut = "# Tern Spit: invented data.\nx (m),z (m)\n";
  for (const Point& point : kTideCut) cut += fmt::format("{:g},{:g}\n", point.x_m, point.z_m);
  field.files["site/tide-cut.csv"] = cut;
  field.files["amendments.csv"] = "# Tern Spit: invented data.\nfile,line,column,action,old,new,initials,time,reason\n" + field.amendments;
}

}  // namespace fieldsim
