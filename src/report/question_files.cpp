// SPDX-License-Identifier: Apache-2.0
// Figures and tables of the answers to a campaign's questions, on their way to files.
#include <iterator>
#include <utility>

#include "report/detail/questions.hpp"

namespace hardpan::report::detail {

void add_bands(Panel& panel, BandSeries next_point, BandSeries average_ground) {
  next_point.series.name = "95 % next point";
  next_point.series.fill = Fill::dots;
  average_ground.series.name = "95 % average ground";
  average_ground.series.fill = Fill::tint;
  for (BandSeries* b : {&next_point, &average_ground}) {
    b->series.style = 0;
    if (b->series.x.size() > 1) panel.series.push_back(std::move(b->series));
  }
}

std::vector<Figure> question_figures(const campaign::Results& r) {
  std::vector<Figure> out;
  for (auto* of : {remote_figures, ride_figures, turning_figures, boulders_figures, endurance_figures, gravity_figures, versus_figures, study_figures}) {
    std::vector<Figure> some = of(r);
    out.insert(out.end(), std::make_move_iterator(some.begin()), std::make_move_iterator(some.end()));
  }
  return out;
}

std::vector<io::Table> question_tables(const campaign::Results& r) { return {obstacles_table(r), remote_table(r), ride_table(r), speed_table(r), turning_table(r), boulders_table(r), endurance_table(r), gravity_table(r), versus_table(r), study_table(r)}; }

}  // namespace hardpan::report::detail
