// SPDX-License-Identifier: Apache-2.0
// Results as text on a terminal. Only formatting: every number comes from the service.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "campaign/results.hpp"
#include "service/outputs.hpp"
#include "service/plan.hpp"
#include "service/quick.hpp"
#include "service/remote.hpp"
#include "service/obstacle.hpp"
#include "service/stance.hpp"
#include "units/unit.hpp"

namespace hardpan::cli {

[[nodiscard]] std::string problems_text(const base::Problems& problems);
[[nodiscard]] std::string check_text(const campaign::Campaign& campaign);
[[nodiscard]] std::string ground_text(const campaign::Results& results);
[[nodiscard]] std::string drawbar_text(const campaign::Results& results);
[[nodiscard]] std::string predict_text(const campaign::Results& results);
[[nodiscard]] std::string validate_text(const campaign::Results& results);
[[nodiscard]] std::string findings_text(const campaign::Results& results);
[[nodiscard]] std::string trials_text(const campaign::Results& results);           // part of drawbar_text
[[nodiscard]] std::string compared_trials_text(const campaign::Results& results);  // part of validate_text
// The short table from results.json of an unchanged run.
[[nodiscard]] std::string findings_text(const io::Json& results);
[[nodiscard]] std::string plan_text(const service::Plan& plan);
[[nodiscard]] std::string wheel_text(const service::WheelRequest& request, const service::WheelResult& result, units::OutputUnits units);
// `gradient`: of travel, as typed. `need_unit`: of what is needed, as typed.
[[nodiscard]] std::string climb_text(const service::ClimbRequest& request, const service::ClimbResult& result, units::OutputUnits units, const std::string& gradient, const units::Unit& need_unit);
// Forces in lbf where masses stand in lb.
[[nodiscard]] std::string gravity_text(const service::GravityRequest& request, const service::GravityResult& result, const units::Unit& mass_unit, units::OutputUnits units);
[[nodiscard]] std::string stopping_text(const service::StoppingRequest& request, const service::StoppingResult& result, bool us_units,
                                        const std::optional<units::Unit>& speed_unit,  // of all speeds, where one was typed
                                        const units::Unit& need_unit);
[[nodiscard]] std::string obstacle_text(const service::ObstacleRequest& request, const service::ObstacleResult& result, units::OutputUnits units);
[[nodiscard]] std::string tip_over_text(const service::TipOverRequest& request, const service::TipOverResult& result, units::OutputUnits units, const units::Unit& need_unit);
[[nodiscard]] std::string soils_text();

}  // namespace hardpan::cli
