// SPDX-License-Identifier: Apache-2.0
// For the records module alone: the steps of reduce_drawbar, in the order they run.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "records/drawbar.hpp"

namespace hardpan::records::detail {

// Rolling radii from towed windows and from windows without pull on the level, one entry a log.
[[nodiscard]] std::vector<FoundRadius> find_radii(const TowReduction& log, const TowSettings& settings);
// The one to use where a record states none: towed before self-propelled, same zone before another.
[[nodiscard]] std::optional<RollingRadius> radius_for(std::vector<FoundRadius>& found, const std::string& vehicle,
                                                      const std::string& zone);

// One window a usable row. Rows that cannot be are set aside with a remark.
[[nodiscard]] std::vector<PullWindow> hand_windows(const std::vector<HandPull>& pulls, std::vector<FoundRadius>& found,
                                                   units::OutputUnits units, base::Problems& problems);
[[nodiscard]] std::vector<HandRepeats> hand_repeats(const std::vector<PullWindow>& windows,
                                                    const std::vector<std::size_t>& group, double pull_relative,
                                                    double level);

// Pairs runs both ways on one lane, and corrects windows whose gradient was only assumed.
[[nodiscard]] std::vector<LanePair> pair_lanes(std::vector<PullWindow>& windows, bool use_for_correction,
                                               base::Problems& problems);

// Windows by vehicle, zone and weight class; every slip told with one radius.
[[nodiscard]] std::vector<DrawbarGroup> make_groups(std::vector<PullWindow>& windows, const DrawbarSettings& settings,
                                                    base::Problems& problems);
[[nodiscard]] EfficiencyCurve efficiency_of(const std::vector<PullWindow>& windows, const DrawbarGroup& group,
                                            const PullSlipSettings& settings);
[[nodiscard]] std::vector<MotionResistance> resistances_of(const std::vector<PullWindow>& windows,
                                                           const std::vector<DrawbarGroup>& groups,
                                                           const DrawbarSettings& settings);

}  // namespace hardpan::records::detail
