// SPDX-License-Identifier: Apache-2.0
// A vehicle of several bodies bent about the upright joint it steers by. For the module alone; docs/theory/turning.md, on soil.
#pragma once

#include "performance/tip_over.hpp"

namespace hardpan::performance::detail {

// Writes bodies and joints of `out` as they are with all ahead of joint `joint` of the straight stance turned about it, left positive; supports are left as
// they are. The joint itself pitches and rolls about the axes of the body behind it, joints ahead of it about those they are carried to.
void bend(const Stance& straight, std::size_t joint, double angle_rad, Stance& out);

}  // namespace hardpan::performance::detail
