// SPDX-License-Identifier: Apache-2.0
// What limits the speed of each pair: the drives and their power on this ground, roughness, the link, tip-over in turns.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "driving/remote_speed.hpp"
#include "performance/tip_over.hpp"
#include "service/detail/campaign_questions.hpp"
#include "service/detail/json_parts.hpp"

namespace hardpan::service::detail {

using campaign::SpeedLimit;
using campaign::SpeedRow;
using io::Json;
namespace p = performance;

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

// The same vehicle with power, or with a speed of its drives, without end.
p::Placed lifted(p::Placed placed, double p::AxleOnSoil::* limit) {
  const auto lift = [limit](p::OnSoil& on) {
    for (p::Machine* m : {&on.plain, on.sinking ? &*on.sinking : nullptr}) {
      for (std::size_t k = 0; m && k < m->axles; ++k) m->axle[k].*limit = kInfinity;
    }
  };
  lift(placed.centre);
  for (auto* soils : {&placed.average, &placed.next_point}) std::for_each(soils->begin(), soils->end(), lift);
  return placed;
}

// Speed on the level over possible soils with one of the two limits alone.
SpeedRow on_the_level(SpeedLimit limit, const p::Placed& placed, double p::AxleOnSoil::* other, const char* unlimited) {
  const p::Outcome o = p::travel_outcome(lifted(placed, other), p::TravelQuantity::speed, 0);
  SpeedRow row{.limit = limit};
  if (std::isnan(o.centre)) {
    row.detail = "no numerical answer on the level";
  } else if (o.centre == 0) {
    row = {.limit = SpeedLimit::ground, .speed_m_s = 0.0, .low_m_s = 0.0, .detail = std::string("does not go on the level: ") + p::name(o.centre_factor)};
  } else if (std::isinf(o.centre)) {
    row.detail = unlimited;
  } else {
    row.speed_m_s = o.centre;
    if (o.estimate.next_point && std::isfinite(o.estimate.next_point->lo)) row.low_m_s = o.estimate.next_point->lo;
    row.detail = "level ground, with its slip";
    if (o.estimate.next_point && o.estimate.next_point->lo == 0) row.detail = "level ground; immobilised at the lower end";
  }
  return row;
}

SpeedRow by_roughness(const campaign::Results& r, const campaign::PairResult& pair) {
  SpeedRow row{.limit = SpeedLimit::roughness, .detail = "not asked: [[ride]]"};
  for (const campaign::RideAnswer& a : r.answers.rides) {
    if (a.vehicle != pair.vehicle || (!a.zones.empty() && std::find(a.zones.begin(), a.zones.end(), pair.zone) == a.zones.end())) continue;
    const campaign::RideOnGround* on = a.slowest();
    if (!on) {
      if (!row.speed_m_s) row.detail = a.why_not.empty() ? "no bound is passed up to the fastest speed looked at" : a.why_not;
      continue;
    }
    const p::RideSpeed& limit = *on->answer.limit();
    if (row.speed_m_s && *row.speed_m_s <= *limit.speed_m_s) continue;
    row.speed_m_s = *limit.speed_m_s;
    row.detail = limit.standing_still ? "wheels hang free standing still: wheels and suspension are too stiff for this ground" : p::name(limit.kind);
  }
  return row;
}

SpeedRow by_remote(const campaign::Results& r, const campaign::PairResult& pair) {
  SpeedRow row{.limit = SpeedLimit::remote, .detail = "not asked: [remote]"};
  for (const campaign::RemoteAnswer& a : r.answers.remote) {
    if (a.vehicle != pair.vehicle || a.zone != pair.zone) continue;
    if (!a.why_not.empty()) {
      row.detail = a.why_not;
      return row;
    }
    // Of the vehicle's own speed the drives tell.
    const auto link = [](const driving::RemoteSpeed& s) { return std::max(std::min(s.stop_limited_m_s, s.steering.speed_m_s), s.move_and_wait_m_s); };
    if (link(a.at_delay) >= a.fastest_m_s) {
      row.detail = "not below the vehicle's own speed";
      return row;
    }
    row.speed_m_s = link(a.at_delay);
    row.detail = a.at_delay.move_and_wait_m_s >= std::min(a.at_delay.stop_limited_m_s, a.at_delay.steering.speed_m_s) ? "driving a stretch and waiting"
                 : a.at_delay.stop_limited_m_s <= a.at_delay.steering.speed_m_s                                       ? "stopping within sight"
                                                                                                                     : "holding the corridor";
    if (a.over_delay_best.empty()) return row;
    row.low_m_s = row.speed_m_s;
    for (std::size_t k = 0; k < a.over_delay.size() && k < a.over_delay_best.size(); ++k) {
      if (a.over_delay[k].delay_s == r.campaign.questions.remote->link.delay.total_s()) row.speed_m_s = link(a.over_delay_best[k].speed);
    }
  }
  return row;
}

// Sideways acceleration v^2 / R on level hard ground tips the vehicle where g times the tangent of its static tip angle is reached; held to the working share of that angle.
SpeedRow by_tip_over(const campaign::Results& r, campaign::SpeedAnswer& out) {
  SpeedRow row{.limit = SpeedLimit::tip_over, .detail = "no tightest turn is stated: [[ride]] or [remote]"};
  for (const campaign::RideQuestion& q : r.campaign.questions.rides) {
    const bool here = q.zones.empty() || std::find(q.zones.begin(), q.zones.end(), out.zone) != q.zones.end();
    if (q.tightest_turn_m && here) out.tightest_turn_m = std::min(out.tightest_turn_m.value_or(kInfinity), *q.tightest_turn_m);
  }
  if (const auto& q = r.campaign.questions.remote; !out.tightest_turn_m && q && q->slalom_amplitude_m > 0) {
    // Of a sine: R = (lambda / 2 pi)^2 / A at its crests.
    out.tightest_turn_m = std::pow(q->slalom_wave_length_m / (2 * std::numbers::pi), 2) / q->slalom_amplitude_m;
  }
  if (!out.tightest_turn_m) return row;
  std::optional<double> least_working_rad;  // lower end of the 95 %
  for (const campaign::VehicleResult& v : r.vehicles) {
    if (v.vehicle != out.vehicle) continue;
    for (std::size_t i = 0; i < v.tips.size(); ++i) {
      const p::TipDirection& t = v.tips[i];
      if (std::abs(std::abs(std::sin(t.fall_rad)) - 1) > 1e-9) continue;
      const double angle = t.settled.stands_settled ? std::min(t.still.angle_rad, t.settled.tip.angle_rad) : 0;
      out.tips_at_rad = std::min(out.tips_at_rad.value_or(kInfinity), angle);
      if (v.tips_doubt) least_working_rad = std::min(least_working_rad.value_or(kInfinity), v.tips_doubt->working_rad[i].lo);
    }
  }
  if (!out.tips_at_rad) {
    row.detail = "stands on fewer than three wheels";
    return row;
  }
  const auto speed = [&](double rad) { return std::sqrt(r.campaign.gravity_m_s2 * *out.tightest_turn_m * std::tan(rad)); };
  row.speed_m_s = speed(p::kWorkingShare * *out.tips_at_rad);
  if (least_working_rad) row.low_m_s = speed(*least_working_rad);
  row.detail = "in the tightest turn, on level hard ground";
  return row;
}

}  // namespace

void answer_speeds(const Asked& a) {
  campaign::Results& r = a.results;
  for (std::size_t i = 0; i < r.pairs.size() && i < a.placed.size(); ++i) {
    if (a.options.stop.stop_requested()) return;
    campaign::SpeedAnswer out{.vehicle = r.pairs[i].vehicle, .zone = r.pairs[i].zone};
    out.rows.push_back(on_the_level(SpeedLimit::drives, a.placed[i], &p::AxleOnSoil::peak_power_w, "the file states no speed limit of the drives"));
    if (out.rows.front().limit != SpeedLimit::ground) out.rows.push_back(on_the_level(SpeedLimit::power, a.placed[i], &p::AxleOnSoil::max_speed_rad_per_s, "the file states no peak power"));
    out.rows.push_back(by_roughness(r, r.pairs[i]));
    out.rows.push_back(by_remote(r, r.pairs[i]));
    out.rows.push_back(by_tip_over(r, out));
    r.answers.speeds.push_back(std::move(out));
  }
}

Json speeds_json(const campaign::Answers& answers) {
  Json out = Json::array();
  for (const campaign::SpeedAnswer& x : answers.speeds) {
    Json j = Json::object(), rows = Json::array();
    const SpeedRow* least = x.smallest();
    j.set("vehicle", x.vehicle).set("zone", x.zone).set("limited_by", least ? Json(campaign::name(least->limit)) : Json()).set("speed_m_per_s", least ? Json(least->low_m_s.value_or(*least->speed_m_s)) : Json());
    j.set("tightest_turn_m", x.tightest_turn_m).set("tips_sideways_at_rad", x.tips_at_rad);
    for (const SpeedRow& row : x.rows) {
      rows.push(Json::object().set("limit", campaign::name(row.limit)).set("speed_m_per_s", row.speed_m_s).set("next_point_low_m_per_s", row.low_m_s).set("detail", row.detail));
    }
    out.push(j.set("limits", rows));
  }
  return out;
}

}  // namespace hardpan::service::detail
