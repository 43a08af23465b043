// SPDX-License-Identifier: Apache-2.0
#include "performance/detail/tally.hpp"

#include <algorithm>
#include <cmath>

namespace hardpan::performance::detail {

Tally::Tally(const CrossingSettings& settings, double size_m, Torque torque)
    : settings_(&settings), size_(size_m), allowed_(settings.friction.value_or(settings.most_friction)), torque_(std::move(torque)) {
  out_.solve = {.status = base::SolveStatus::converged, .residual = 0, .residual_unit = "N"};
  met_.reserve(1024);
}

void Tally::met(Obstruction reason, double travel) {
  auto& f = first_[static_cast<std::size_t>(reason)];
  if (!f) f = travel;
}

void Tally::fell(int drops, double deepest_m) {
  out_.drops = drops;
  out_.deepest_drop_m = deepest_m;
}

bool Tally::meet(const Pose& pose, const Forces& f) {
  ++out_.poses;
  if (pose.belly_depth_m > 1e-9 * size_) met(Obstruction::hang_up, pose.travel_m);
  for (std::size_t k = 0; k < pose.axles; ++k) out_.largest_deflection_m = std::max(out_.largest_deflection_m, pose.wheel[k].deflection_m);
  out_.solve.tolerance = f.solve.tolerance;
  out_.solve.steps += f.solve.steps;
  out_.solve.evaluations += f.solve.evaluations;
  if (f.solve.converged()) {
    out_.solve.residual = std::max(out_.solve.residual, f.solve.residual);
  } else if (f.solve.status != base::SolveStatus::no_solution) {
    if (!blocked()) out_.solve.residual = f.solve.residual;
    lost(f.solve.status);
    return false;
  }
  met_.push_back({pose, f});
  if (!climbs(pose) && !settings_->descents_held) return true;
  if (!f.solve.converged()) met(f.tips ? Obstruction::tip_over : Obstruction::friction, pose.travel_m);
  else if (f.friction > allowed_) met(Obstruction::friction, pose.travel_m);
  return true;
}

void Tally::lost(base::SolveStatus status) {
  if (!blocked()) out_.solve.status = status;
}

// Into a hole when one of the wheels hangs more than half the vehicle's length over the ground, else over.
void Tally::ended(const Pose& last, const Ground& ground, double travel) {
  double deepest = 0;
  for (std::size_t k = 0; k < last.axles; ++k) {
    const WheelContact& w = last.wheel[k];
    deepest = std::max(deepest, w.centre.z_m - ground.height_m(w.centre.x_m));
  }
  met(deepest > 0.5 * size_ ? Obstruction::no_ground : Obstruction::tip_over, travel);
}

// Largest over the poses of the least torque at this friction. The forces of the least friction hold a pose too: where their torques are no more than what
// is needed elsewhere, nothing better is looked for. From those that could need most.
void Tally::torques(double friction, bool judged) {
  double torque = 0, share = 0, at = std::numeric_limits<double>::quiet_NaN();
  const auto tell = [&](const Frame& f, const Forces& t) {
    for (std::size_t k = 0; k < f.pose.axles; ++k) out_.axle_torque_n_m[k] = std::max(out_.axle_torque_n_m[k], std::abs(t.axle[k].torque_n_m));
  };
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < met_.size(); ++i) {
    const Frame& f = met_[i];
    if (f.forces.solve.converged() && (climbs(f.pose) || settings_->descents_held) && !(judged && f.forces.friction > friction)) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return met_[a].forces.torque_n_m > met_[b].forces.torque_n_m; });
  std::optional<double> stopped_at;
  for (const std::size_t i : order) {
    const Frame& f = met_[i];
    if (!std::isnan(at) && f.forces.torque_n_m <= torque && f.forces.torque_share <= std::min(share, 1.0)) {
      tell(f, f.forces);
      continue;
    }
    // The edge of what friction allows is left by a hair, or rounding would call it infeasible.
    const Forces t = torque_(i, f, std::max(friction, f.forces.friction + 1e-8));
    out_.solve.steps += t.solve.steps;
    out_.solve.evaluations += t.solve.evaluations;
    if (!t.solve.converged()) {
      out_.solve.status = t.solve.status;
      return;
    }
    share = std::max(share, t.torque_share);
    tell(f, t);
    if (t.torque_share > 1 + 1e-9) stopped_at = std::min(stopped_at.value_or(f.pose.travel_m), f.pose.travel_m);
    if (t.torque_n_m > torque || std::isnan(at)) {
      torque = t.torque_n_m;
      at = f.pose.travel_m;
    }
  }
  if (stopped_at) met(Obstruction::torque, *stopped_at);
  out_.largest_torque_n_m = torque;
  out_.largest_torque_share = share;
  out_.torque_at_m = at;
}

Crossing Tally::conclude(const Hardest& climbing, const Hardest& holding) {
  out_.climbing = climbing;
  out_.holding = holding;
  if (settings_->frames_every_m > 0) {
    double next = -std::numeric_limits<double>::infinity();
    for (const Frame& f : met_) {
      if (f.pose.travel_m < next) continue;
      out_.frames.push_back(f);
      next = f.pose.travel_m + settings_->frames_every_m;
    }
  }
  if (!out_.solve.converged()) return std::move(out_);
  // A peak between two poses may be over what is allowed where neither of them is.
  // What no friction would do (NaN) is the worst of all.
  const bool holds_count = settings_->descents_held && !std::isnan(climbing.friction) && !(holding.friction <= climbing.friction);
  const Hardest& worst = holds_count ? holding : climbing;
  if (worst.friction > allowed_) met(Obstruction::friction, worst.travel_m);
  if (!blocked()) {
    out_.least_friction = worst.friction;
    out_.critical_m = worst.travel_m;
    if (settings_->friction && !of(Obstruction::friction)) torques(*settings_->friction, true);
    // With just the friction the crossing needs, where none was given.
    if (!settings_->friction && std::isfinite(worst.friction)) torques(std::max(worst.friction * (1 + 1e-9), 1e-9), false);
    if (!out_.solve.converged()) return std::move(out_);
  }
  for (const Obstruction reason : {Obstruction::no_ground, Obstruction::tip_over, Obstruction::hang_up}) {
    const auto& at = of(reason);
    if (at && !(out_.stopped_at_m <= *at)) {
      out_.stopped_by = reason;
      out_.stopped_at_m = *at;
    }
  }
  for (const Obstruction reason : {Obstruction::friction, Obstruction::torque}) {
    if (!out_.stopped_by && of(reason)) {
      out_.stopped_by = reason;
      out_.stopped_at_m = *of(reason);
    }
  }
  out_.passes = !out_.stopped_by;
  return std::move(out_);
}

}  // namespace hardpan::performance::detail
