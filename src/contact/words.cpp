// SPDX-License-Identifier: Apache-2.0
// What states and flags are called in print.
#include "contact/wheel_soil.hpp"

namespace hardpan::contact {
namespace {

struct Words {
  Flag flag;
  const char* name;
  const char* sentence;
};

constexpr Words kWords[] = {
    {Flag::peak_stress_limit_acts, "peak stress limit acts",
     "The place of the largest normal stress is held at 0.8 of the entry angle; the soil's c1 and c2 would put it further forward."},
    {Flag::deep_sinkage, "deep sinkage",
     "The wheel sinks more than a tenth of its diameter; the soil pushed up ahead of it is not in the model, so resistance is underrated."},
    {Flag::below_lug_height, "sinkage below grouser height", "The wheel sinks less than its grouser height: the rim hardly touches and the grousers carry."},
    {Flag::contact_shorter_than_k, "contact shorter than K",
     "The contact is shorter than K: on ground this firm the soil law underrates traction."},
    {Flag::hard_ground_friction_used, "hard-ground friction used",
     "Contact shorter than K: sliding friction of the surface was used for traction."},
    {Flag::soil_yields_before_carcass, "soil yields before the carcass",
     "The ground yields before the tyre flattens; the wheel behaves as a rigid one, whose answer stands beside."},
    {Flag::c1_c2_assumed, "c1 and c2 assumed", "The place of the largest normal stress is assumed (loose sand, c1 = 0.18, c2 = 0.32)."},
    {Flag::braking_c1_c2_as_driving, "braking c1 and c2 as driving",
     "The place of the largest normal stress while braking is taken from driving, for want of braking values."},
    {Flag::contact_shorter_than_wide, "contact shorter than wide",
     "The contact is shorter than the width used in the pressure-sinkage relation; its smaller side would be the length."},
    {Flag::side_wall_left_out, "side wall left out", "Soil density or gravity is unknown: the side force is without the side wall, a lower bound."},
    {Flag::locked_wheel, "locked wheel", "The wheel is locked: full strength all along the contact, an upper bound."},
    {Flag::smooth_metal_governs, "smooth metal governs", "Somewhere along the contact the soil slips on metal before it shears."},
    {Flag::slip_sinkage_on, "slip sinkage on", "Computed with slip sinkage."},
    {Flag::flexing_loss_counted, "flexing loss counted", "The torque contains the loss in the flexing carcass."},
    {Flag::fully_mobilised, "fully mobilised", "Shear at full strength against the sliding velocity."},
    {Flag::rolling_radius_assumed, "rolling radius assumed",
     "The rolling radius is assumed to be the radius less a third of the deflection (common practice, no source)."},
};

}  // namespace

const char* name(Flag one) {
  for (const Words& words : kWords) {
    if (words.flag == one) return words.name;
  }
  return one == Flag::none ? "none" : "several flags";
}

std::vector<std::string> sentences(Flag set) {
  std::vector<std::string> out;
  for (const Words& words : kWords) {
    if (has(set, words.flag)) out.emplace_back(words.sentence);
  }
  return out;
}

const char* name(WheelStatus status) {
  switch (status) {
    case WheelStatus::carried: return "carried";
    case WheelStatus::traction_lost_hard_ground: return "traction not known on ground this hard";
    case WheelStatus::bogs_down: return "bogs down";
    case WheelStatus::belly_contact: return "belly touches the ground";
    case WheelStatus::beyond_deflection_table: return "load beyond what the tyre is known to bear";
    case WheelStatus::not_converged: return "not converged";
  }
  return "unknown";
}

}  // namespace hardpan::contact
