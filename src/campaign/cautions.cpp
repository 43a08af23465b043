// SPDX-License-Identifier: Apache-2.0
#include "campaign/results.hpp"

namespace hardpan::campaign {

const std::vector<std::string>& cautions() {
  static const std::vector<std::string> all{
      "A prediction is no permission to drive. Local rules and the judgement of a responsible, licensed person come first.",
      "First run on any slope: unmanned or tethered, lower angles first, from the bottom up, with a spotter and a stop control, and nobody "
      "on the fall line.",
      "Tip limits are static and hold for the stated load; never turn across a slope near the limit.",
      "Towing and recovery: rated line and hitch, low attachment, line damper, exclusion zone, nobody in the bight, chocks before "
      "unhitching and before digging.",
      "Loose faces, undercut edges, water, ice and tide are not in these numbers; the vehicle itself can start a slide.",
      "Batteries and hot motors; run-away when regeneration is full or the link is lost: an independent brake and a stop on loss of link.",
      "Instruments: lifting and pinching; look for buried services before driving any rod into the ground.",
      "Valid only for the ground, moisture, date, load and tyre state recorded; check again after rain or traffic."};
  return all;
}

}  // namespace hardpan::campaign
