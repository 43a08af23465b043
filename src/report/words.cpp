// SPDX-License-Identifier: Apache-2.0
// Names and clauses that several parts of the document use.
#include "report/detail/parts.hpp"

namespace hardpan::report::detail {

std::string zone_name(const campaign::Results& r, const std::string& id) {
  if (id.empty()) return "ground without a zone name";
  const campaign::Zone* z = r.campaign.zone(id);
  return z && !z->description.empty() ? id + " (" + z->description + ")" : id;
}

std::string vehicle_name(const campaign::Results& r, const std::string& id) {
  const vehicle::Vehicle* v = r.campaign.vehicle_by_id(id);
  return v && !v->name.empty() ? v->name : id.empty() ? "vehicle without a name" : id;
}

std::string pair_name(const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  return vehicle_name(r, vehicle) + " on " + (zone.empty() ? "ground without a zone name" : zone);
}

std::string quantity_words(validation::Quantity quantity) {
  using validation::Quantity;
  switch (quantity) {
    case Quantity::maximum_gradient: return "maximum gradient up";
    case Quantity::maximum_gradient_down: return "steepest descent the brakes hold";
    case Quantity::drawbar_pull: return "drawbar pull";
    case Quantity::pull_coefficient: return "pull coefficient";
    case Quantity::slip: return "slip";
    case Quantity::sinkage: return "sinkage of the deepest wheel";
    case Quantity::motion_resistance_coefficient: return "motion resistance coefficient";
    case Quantity::torque_per_wheel: return "torque of the most loaded wheel";
    case Quantity::energy_per_metre: return "energy over distance";
    case Quantity::speed: return "speed";
    case Quantity::nominal_ground_pressure: return "nominal ground pressure";
    case Quantity::friction_margin: return "friction left over at the obstacle";
    case Quantity::highest_step: return "highest step";
    case Quantity::widest_gap: return "widest gap";
    case Quantity::turning_radius: return "smallest turning radius";
    case Quantity::gradient_on_heading: return "steepest slope on the heading";
    case Quantity::tip_angle: return "working tip limit";
    case Quantity::remote_speed: return "speed through the link";
    case Quantity::rough_ground_speed: return "speed on rough ground";
    case Quantity::trip_distance: return "distance driven of the trip";
    case Quantity::clear_run: return "chance of a clear run";
  }
  return "";
}

std::string outcome_words(records::TrialOutcome outcome) {
  return outcome == records::TrialOutcome::sled_limited ? "stopped by the sled" : records::name(outcome);
}

std::string threshold_words(const Printer& print, const validation::Requirement& q) {
  return std::string(q.sense == validation::Sense::at_least ? "at least " : "at most ") + print.value(q.threshold_si, measure_of(q.quantity));
}

std::string condition_words(const campaign::Results& r, const Printer& print, const validation::Requirement& q) {
  std::string out = vehicle_name(r, q.vehicle);
  if (!q.zone.empty()) out += ", zone " + q.zone;
  if (!q.condition.empty()) {
    out += ", " + q.condition;
    for (const campaign::Condition& c : r.campaign.conditions) {
      if (c.id == q.condition && !c.description.empty()) out += " (" + c.description + ")";
    }
  }
  if (!q.obstacle.empty()) out += ", obstacle " + q.obstacle;
  if (!q.trip.empty()) out += ", trip " + q.trip;
  if (!q.rocks.empty()) out += ", rocks of " + q.rocks;
  if (q.heading_rad) out += ", heading " + print.value(*q.heading_rad, kAngle) + " from straight uphill";
  if (q.friction_ratio) out += ", at a friction of " + print.value(*q.friction_ratio, kNumber);
  if (q.gradient_rad) out += ", on a gradient of " + print.value(*q.gradient_rad, kAngle);
  if (q.slip_ratio) out += ", at " + print.value(*q.slip_ratio, kShare) + " slip";
  return out;
}

const campaign::PairResult* pair_of(const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  for (const campaign::PairResult& p : r.pairs) {
    if (p.vehicle == vehicle && p.zone == zone) return &p;
  }
  return nullptr;
}

bool on_textbook_soil(const campaign::Results& r, const std::string& vehicle, const std::string& zone) {
  const campaign::PairResult* p = pair_of(r, vehicle, zone);
  return p && p->prediction.textbook;
}

}  // namespace hardpan::report::detail
