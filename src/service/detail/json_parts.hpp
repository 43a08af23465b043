// SPDX-License-Identifier: Apache-2.0
// Small pieces that the JSON of answers shares.
#pragma once

#include <cmath>
#include <optional>
#include <string>

#include "base/solve.hpp"
#include "io/json.hpp"
#include "math/estimate.hpp"

namespace hardpan::service::detail {

// JSON has no infinity and no NaN: null, with the reason beside it.
[[nodiscard]] inline io::Json number_or_null(double v) { return std::isfinite(v) ? io::Json(v) : io::Json(); }

// [lower, upper], or null.
[[nodiscard]] inline io::Json interval_json(const std::optional<math::Interval>& i) { return i ? io::Json::array({number_or_null(i->lo), number_or_null(i->hi)}) : io::Json(); }

// `unit` of residual and tolerance ends their keys: "n", "rad", "m_per_s".
[[nodiscard]] inline io::Json solve_json(const base::SolveReport& s, const std::string& unit) {
  io::Json j = io::Json::object();
  j.set("status", base::name(s.status)).set("residual_" + unit, number_or_null(s.residual)).set("tolerance_" + unit, number_or_null(s.tolerance));
  return j.set("steps", s.steps).set("evaluations", s.evaluations);
}

// What is needed of an answer and how far it is on the good side, in SI; both null where nothing is needed, the margin where the answer has no number.
inline void set_margin(io::Json& to, const std::string& unit, const std::optional<double>& needed, const std::optional<double>& margin) {
  to.set("needed_" + unit, needed ? io::Json(*needed) : io::Json()).set("margin_" + unit, margin ? io::Json(*margin) : io::Json());
}

}  // namespace hardpan::service::detail
