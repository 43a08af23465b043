// SPDX-License-Identifier: Apache-2.0
// The relation that predicts a point left out, not the one that fits the points in hand.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "math/statistics.hpp"
#include "records/detail/plate_estimators.hpp"

namespace hardpan::records::detail {

LawChoice choose_law(const Estimator& estimator, const PlateData& data, const GroundSettings& settings) {
  using soil::PressureLaw;
  LawChoice out;
  // Widths that can be told apart and, where no point saw both, two points of each at least.
  const bool contrast =
      data.widths_differ && (data.paired_points > 0 || std::min(data.points_with[0], data.points_with[1]) >= 2);
  const PressureLaw fallback = contrast ? PressureLaw::bekker : PressureLaw::single_plate;
  out.law = fallback;
  struct Scored {
    LawScore score;
    std::vector<double> squares;  // one a point
  };
  std::vector<Scored> scored;
  for (const PressureLaw law : {PressureLaw::bekker, PressureLaw::reece, PressureLaw::single_plate, PressureLaw::muskeg}) {
    Scored one{.score = {.law = law}, .squares = {}};
    if ((law == PressureLaw::bekker || law == PressureLaw::reece) && !contrast) {
      one.score.reason_without = "needs two plate sizes that can be told apart";
    } else if (law == PressureLaw::reece && data.widths.size() == 2) {
      one.score.reason_without =
          "with two widths it runs through the same pressures as Bekker; only a third width tells them apart";
    } else if (law == PressureLaw::single_plate && contrast && data.unpaired()) {
      one.score.reason_without = "without pairs the scatter between points hides the effect of width: none shown is not none";
    } else if (data.points.size() < 3) {
      one.score.reason_without = "fewer than three points: leaving one out leaves nothing to judge by";
    } else {
      std::vector<char> use(data.points.size(), 1);
      for (std::size_t g = 0; g < data.points.size() && one.score.reason_without.empty(); ++g) {
        use[g] = 0;
        const std::optional<Coordinates> without = estimator(PlateEstimator::joint, law, use);
        use[g] = 1;
        if (!without) {
          one.score.reason_without = "not determined when a point is left out";
          break;
        }
        double sum = 0, weights = 0;
        for (const Push& push : data.pushes) {
          if (push.point != g) continue;
          double of_push = 0, rows = 0;
          for (const Reading& r : push.readings) {
            const std::optional<double> predicted = ln_pressure(law, data, *without, push.b, r.z);
            if (!predicted) continue;
            const double e = std::log(r.p) - *predicted;
            of_push += r.robust * e * e;
            rows += r.robust;
          }
          if (rows > 0) {
            sum += of_push / rows;
            weights += 1;
          }
        }
        if (weights > 0) one.squares.push_back(sum / weights);
      }
      one.score.offered = one.score.reason_without.empty() && one.squares.size() == data.points.size();
      if (one.score.offered) one.score.rms_ln_p = std::sqrt(math::mean(one.squares));
    }
    scored.push_back(std::move(one));
  }
  const Scored* best = nullptr;
  for (const Scored& one : scored) {
    if (one.score.offered && (best == nullptr || one.score.rms_ln_p < best->score.rms_ln_p)) best = &one;
  }
  if (best == nullptr) {
    out.statement = data.points.size() < 3
                        ? fmt::format("relation not chosen by leaving one point out (fewer than three points); {} is used",
                                      soil::name(fallback))
                        : fmt::format("no relation could be judged; {} is used", soil::name(fallback));
  } else {
    const Scored* taken = best;
    for (Scored& one : scored) {
      if (!one.score.offered) continue;
      std::vector<double> difference;
      for (std::size_t g = 0; g < one.squares.size(); ++g) difference.push_back(one.squares[g] - best->squares[g]);
      one.score.worse_than_best = math::mean(difference);
      one.score.standard_error = std::sqrt(math::variance(difference) / static_cast<double>(difference.size()));
    }
    // Where the best is not better by two standard errors, the first in the trade's order is kept: its moduli
    // are estimated at both widths and none is assumed. (A choice made more easily shortens intervals
    // without need: at one standard error unpaired campaigns were held at 92 % instead of 95.)
    for (const Scored& one : scored) {
      if (one.score.offered && one.score.worse_than_best <= 2 * one.score.standard_error) {
        taken = &one;
        break;
      }
    }
    out.law = taken->score.law;
    out.statement = taken == best ? fmt::format("{} predicts a point left out best: ln p within {:.3f}",
                                                soil::name(best->score.law), best->score.rms_ln_p)
                                  : fmt::format(
                                        "{} is kept: {} predicts a point left out better (ln p within {:.3f} against "
                                        "{:.3f}), but by less than "
                                        "two standard errors of the difference",
                                        soil::name(taken->score.law), soil::name(best->score.law), best->score.rms_ln_p,
                                        taken->score.rms_ln_p);
  }
  for (Scored& one : scored) out.scores.push_back(one.score);
  if (settings.law) {
    const bool needs_contrast = *settings.law == PressureLaw::bekker || *settings.law == PressureLaw::reece;
    if (needs_contrast && !contrast) {
      out.law = PressureLaw::single_plate;
      out.statement = fmt::format("{} was asked for, but needs two plate sizes that can be told apart; {} is used",
                                  soil::name(*settings.law), soil::name(out.law));
    } else {
      out.law = *settings.law;
      out.statement = fmt::format("{} was asked for. {}", soil::name(out.law), out.statement);
    }
  }
  return out;
}

}  // namespace hardpan::records::detail
