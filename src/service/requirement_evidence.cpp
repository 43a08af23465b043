// SPDX-License-Identifier: Apache-2.0
#include "service/requirement_evidence.hpp"

#include <algorithm>

#include "service/obstacles.hpp"
#include "service/turning.hpp"

namespace hardpan::service {

using validation::Quantity;

std::optional<performance::Profile> whole_vehicle_evidence(validation::Evidence& e, const campaign::Results& r, const validation::Requirement& q) {
  e.trials = &r.trials.reduced;
  const vehicle::Vehicle* v = r.campaign.vehicle_by_id(q.vehicle);
  if (!v) return std::nullopt;
  validation::Finding::Compared compared;
  const auto count = [&](const auto& c, bool same) {
    if (!same || !c.judged || c.vehicle != q.vehicle || (!q.zone.empty() && c.zone != q.zone)) return;
    ++compared.judged;
    compared.agree += c.consistent ? 1 : 0;
  };
  if (q.quantity == Quantity::turning_radius) {
    e.why_not = why_no_turn(*v);
    for (const auto& c : r.trials.turns) count(c, true);
    e.compared = compared;
    return std::nullopt;
  }
  if (!validation::of_obstacles(q.quantity)) return std::nullopt;
  e.friction = q.friction_ratio;
  if (q.quantity != Quantity::friction_margin) {
    const auto kind = q.quantity == Quantity::widest_gap ? records::ObstacleKind::gap : records::ObstacleKind::step_up;
    for (const auto& c : r.trials.obstacles) count(c, c.obstacle == kind);
    e.compared = compared;
    return std::nullopt;
  }
  const auto& all = r.campaign.questions.obstacles;
  const auto o = std::find_if(all.begin(), all.end(), [&](const auto& x) { return x.id == q.obstacle; });
  const auto side = performance::profile_vehicle(*v, r.campaign.gravity_m_s2);
  if (o == all.end() || !side) return std::nullopt;
  e.friction = o->friction;
  return profile_of(*o, *side);
}

}  // namespace hardpan::service
