// SPDX-License-Identifier: Apache-2.0
// Prediction against measurement, the parts of the uncertainty, and how far the answers reach.
#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/detail/trials.hpp"

namespace hardpan::report::detail {
namespace {

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

void comparisons(Sheet& s, const campaign::PairResult& pair) {
  Grid g{.caption = "Measured less predicted, " + pair_name(s.results, pair.vehicle, pair.zone),
         .columns = {"Quantity", "Difference", "95 % over runs", "Bias claimed", "Readings inside", "Share inside, binomial limits", "Runs"}, .right = "lrrrrrr"};
  Grid bands{.caption = "By slip, " + pair_name(s.results, pair.vehicle, pair.zone), .columns = {"Quantity", "Slip", "Difference", "95 % over runs", "Claimed", "Readings", "Runs"}, .right = "lrrrrrr"};
  std::vector<std::string> statements;
  for (const validation::Comparison& c : pair.comparisons) {
    const Measure m = measure_of_unit(c.unit_si);
    const Printed v = s.print.estimate(c.bias, m);
    if (!c.readings.empty()) g.rows.push_back({c.quantity, v.value, v.average_ground, c.bias_claimed ? "yes" : "not shown", fmt::format("{} of {}", c.inside, c.readings.size()), s.print.interval(c.coverage, kShare), std::to_string(c.runs)});
    for (const validation::SlipBand& b : c.bands) {
      const Printed w = s.print.estimate(b.difference, m);
      bands.rows.push_back({c.quantity, s.print.interval(b.lo, b.hi, kShare), w.value, w.average_ground, b.claimed ? "yes" : "not shown", std::to_string(b.readings), std::to_string(b.runs)});
    }
    std::string said = c.statement;
    if (c.shape.shown && said.ends_with(c.shape.statement)) said.resize(said.size() - c.shape.statement.size());
    if (!said.empty()) statements.push_back(sentence(capital(c.quantity) + ". " + said));
  }
  s.page.table(g);
  s.page.list(statements);
  // Set apart from the list: what no soil parameter can mend must not be overlooked.
  for (const validation::Comparison& c : pair.comparisons) {
    if (c.shape.shown) s.page.paragraph(sentence(c.shape.statement), "shape");
  }
  s.page.table(bands);
  Grid slopes{.caption = "Bracketed gradients, " + pair_name(s.results, pair.vehicle, pair.zone), .columns = {"Measured", "Predicted, all slips", "95 % next point", "Up to the working slip", "Agree"}, .right = "lrrr"};
  for (const validation::GradientComparison& k : pair.gradients) {
    std::string measured = "not bracketed";
    if (k.bracket.go_rad && k.bracket.no_go_rad) measured = "go at " + s.print.value(*k.bracket.go_rad, kAngle) + ", no-go at " + s.print.value(*k.bracket.no_go_rad, kAngle);
    else if (k.bracket.go_rad) measured = "go at " + s.print.value(*k.bracket.go_rad, kAngle) + ", no no-go met";
    else if (k.bracket.no_go_rad) measured = "no-go at " + s.print.value(*k.bracket.no_go_rad, kAngle) + ", no go met";
    const Printed v = s.print.estimate(k.predicted_rad, kGradient);
    slopes.rows.push_back({measured, v.value, v.next_point, s.print.value(k.predicted_working_rad.value, kGradient), !k.judged ? "cannot be said" : !k.consistent ? "no" : k.bracketed ? "yes" : "yes, bounded from one side"});
  }
  s.page.table(slopes);
  for (const validation::GradientComparison& k : pair.gradients) s.page.paragraph(sentence(k.statement));
  Grid across{.caption = "Slopes across and oblique, " + pair_name(s.results, pair.vehicle, pair.zone), .columns = {"Heading", "Measured", "Predicted", "95 % next point", "Ends it", "Drift measured", "Drift computed there", "Agree"}, .right = "llrrlrrr"};
  for (const validation::HeadingComparison& k : pair.headings) {
    across.rows.push_back({records::heading_words(k.heading_rad), k.bracket.text, std::isfinite(k.predicted_rad) ? s.print.value(k.predicted_rad, kAngle) : "-", s.print.interval(k.next_point_rad, kAngle), performance::name(k.factor),
                           s.print.value(k.drift_measured_rad, kAngle), s.print.value(k.drift_predicted_rad, kAngle), !k.judged ? "cannot be said" : !k.consistent ? "no" : k.bracketed ? "yes" : "yes, bounded from one side"});
  }
  s.page.table(across);
  for (const validation::HeadingComparison& k : pair.headings) s.page.paragraph(sentence(k.statement));
}

void updated(Sheet& s, const campaign::PairResult& pair) {
  if (!pair.learning) return;
  const validation::Learning& l = *pair.learning;
  const std::string who = pair_name(s.results, pair.vehicle, pair.zone);
  s.page.heading(4, "Soil updated by vehicle tests");
  s.page.paragraph(sentence(l.statement), l.status == validation::LearningStatus::updated ? "" : "missing");
  if (l.shape.shown) s.page.paragraph(sentence(l.shape.statement), "shape");
  s.page.list(sentences(l.remarks));
  Grid g{.caption = "Before and after the vehicle tests, " + who, .columns = {"Parameter", "Before", "95 % average ground", "After", "95 % average ground", "Moved, prior standard deviations", "Spread left"}, .right = "lrrrrrr"};
  for (const validation::TaughtParameter& p : l.parameters) {
    const Measure m = measure_of_unit(p.unit_si);
    g.rows.push_back({validation::said_name(p, s.print.units()), s.print.value(p.before, m), s.print.interval(p.before_95, m), s.print.value(p.after, m) + (p.at_edge ? " (edge)" : ""), s.print.interval(p.after_95, m),
                      fmt::format("{:+.1f}{}", p.shift_sd, p.flagged ? ": disagrees" : ""), fmt::format("{:.0f} %", 100 * p.spread_ratio)});
  }
  g.note = fmt::format("Before: bench tests and the stated spreads of the model form. After: with {} of {}. Moved by more than {:.0f} standard deviations, what was known before and the tests disagree. The fit {} after {} in {}; {:.1f} directions of {} were taught.",
                       plural(l.readings, "reading"), joined(l.records), validation::kShiftFlagged, base::name(l.report.status), plural(static_cast<std::size_t>(l.report.steps), "step"),
                       plural(static_cast<std::size_t>(l.rounds), "round"), l.directions_taught, l.parameters.size());
  s.page.table(g);
  Grid h{.caption = "Runs that did not teach, before and after, " + who, .columns = {"Quantity", "Runs", "Difference before", "Difference after", "95 % over runs, after", "Inside before", "Inside after", "Mean width before", "Mean width after"}, .right = "lrrrrrrrr"};
  for (const validation::HeldOut& k : l.held_out) {
    const Measure m = measure_of_unit(k.unit_si);
    const Printed before = s.print.estimate(k.bias_before, m), after = s.print.estimate(k.bias_after, m);
    h.rows.push_back({k.quantity, std::to_string(k.runs), before.value, after.value, after.average_ground, fmt::format("{} of {}", k.inside_before, k.readings), fmt::format("{} of {}", k.inside_after, k.readings),
                      s.print.value(k.width_before, m), s.print.value(k.width_after, m)});
  }
  h.note = "Difference: measured less predicted. Inside and width are of the 95 % next-point interval. A run of which any reading taught is not in this table.";
  s.page.table(h);
}

void guard(Sheet& s, const campaign::PairResult& pair) {
  Grid g{.caption = "Under the wheels against what was tested, " + pair_name(s.results, pair.vehicle, pair.zone), .columns = {"Quantity", "Under the wheels", "Tested", "Verdict"}, .right = "lrrl"};
  for (const validation::GuardRow& row : pair.guard) {
    const Measure m = row.quantity == "slip" ? kShare : measure_of_unit(row.unit_si);
    const bool one = row.used.lo == row.used.hi;
    g.rows.push_back({row.quantity, one ? s.print.value(row.used.lo, m) : s.print.interval(row.used.lo, row.used.hi, m), row.tested ? s.print.interval(*row.tested, m) : "not tested", validation::name(row.level)});
  }
  g.note = "At the working slip on the level, best-estimate soil. \"Beyond\" is more than twice outside, or on a crust that the wheels do not break: it never yields a plain go.";
  s.page.table(g);
}

void parts(Sheet& s, const campaign::PairResult& pair) {
  const performance::Prediction& p = pair.prediction;
  Grid g{.caption = "Parts of the interval, apart and together, " + pair_name(s.results, pair.vehicle, pair.zone), .columns = {"Quantity", "Part that varies", "Best-estimate soil", "95 % next point"}, .right = "llrr"};
  for (const performance::SensitivityBar& b : p.sensitivity) {
    const Measure m = b.quantity.find("gradient") != std::string::npos ? kGradient : kPullCoefficient;
    g.rows.push_back({b.quantity, b.part, s.print.value(b.centre, m), s.print.interval(b.next_point, m)});
  }
  if (!g.rows.empty()) {
    g.rows.push_back({"maximum gradient at the working slip", "all together", s.print.value(p.gradient_working.centre, kGradient), s.print.interval(p.gradient_working.estimate.next_point, kGradient)});
    if (p.working_slip == 0.2) {
      g.rows.push_back({"pull coefficient at the working slip", "all together", s.print.value(p.pull_20.centre, kPullCoefficient), s.print.interval(p.pull_20.estimate.next_point, kPullCoefficient)});
    }
  } else {
    s.page.paragraph(pair_name(s.results, pair.vehicle, pair.zone) + ": no interval" + (p.reason_without.empty() ? "." : ": " + p.reason_without + "."), "missing");
  }
  s.page.table(g);
}

bool was_towed(const campaign::PairResult& pair) {
  for (const validation::Comparison& c : pair.comparisons) {
    if (c.quantity == "pull coefficient" && !c.readings.empty()) return true;
  }
  return false;
}

}  // namespace

void validation_part(Sheet& s) {
  s.page.open("validation", "Validation");
  s.page.paragraph("Each measured window, trial and reading is set against the prediction at its own slip, gradient and weight. The run is the unit of scatter; a bias is claimed only where its 95 % interval over runs excludes zero.");
  if (s.results.pairs.empty()) s.page.paragraph("Nothing was predicted, so nothing is validated.", "missing");
  for (const campaign::PairResult& pair : s.results.pairs) {
    s.page.heading(3, pair_name(s.results, pair.vehicle, pair.zone));
    if (pair.prediction.textbook) s.page.paragraph("textbook soil, not your ground", "textbook");
    const bool compared = std::any_of(pair.comparisons.begin(), pair.comparisons.end(), [](const validation::Comparison& c) { return !c.readings.empty(); });
    if (!compared && pair.gradients.empty() && pair.headings.empty()) s.page.paragraph(pair.comparisons.empty() ? "Not validated: no test of this vehicle on this ground." : "Not validated: no reading of this vehicle on this ground can be compared.", "missing");
    comparisons(s, pair);
    updated(s, pair);
  }
  trial_comparisons(s);
  s.slot("predicted-measured");
  s.page.close();
}

void uncertainty_part(Sheet& s) {
  s.page.open("uncertainty", "Uncertainty");
  s.page.paragraph("Every interval holds three parts. Soil: scatter between points. Instrument: calibration, zero, geometry; shared by all readings of an instrument, so more points do not shrink it. "
                   "Model form: where the largest stress lies under the wheel, the shear modulus under a wheel against that of the ring, slip sinkage.");
  std::vector<std::string> open;
  for (const campaign::PairResult& pair : s.results.pairs) {
    if (!was_towed(pair)) open.push_back(pair_name(s.results, pair.vehicle, pair.zone) + ": not validated; the model form has its stated default spreads.");
  }
  s.page.list(open);
  for (const campaign::PairResult& pair : s.results.pairs) {
    if (pair.prediction.textbook) s.page.paragraph("textbook soil, not your ground", "textbook");
    parts(s, pair);
    guard(s, pair);
  }
  s.slot("sensitivity");
  s.page.close();
}

namespace {

// What a vehicle may meet and this campaign does not ask about; empty where it asks about all of it.
std::string unasked_words(const campaign::Results& r) {
  const campaign::Answers& a = r.answers;
  const auto required = [&](const auto& of) { return std::any_of(r.findings.begin(), r.findings.end(), [&](const auto& f) { return of(f.requirement.quantity); }); };
  const bool obstacles = required(validation::of_obstacles), turns = required([](auto q) { return q == validation::Quantity::turning_radius; });
  std::vector<std::string> out;
  for (const auto& [missing, words] : {std::pair{a.obstacles.empty() && !obstacles, "obstacles"}, {a.turns.empty() && !turns, "turning"}, {a.rides.empty(), "rough ground"}, {a.boulders.empty(), "rocks in the way"}, {a.remote.empty(), "driving through a delay"}, {a.endurance.empty(), "a whole drive"}}) {
    if (missing) out.emplace_back(words);
  }
  return out.empty() ? "" : "Not asked, and nothing here speaks for it: " + joined(out) + ".";
}

}  // namespace

void limits_part(Sheet& s) {
  s.page.open("limits", "Limits");
  std::vector<std::string> items{
      "Gradients, pull, sinkage and energy are those of steady straight travel up and down. Whatever else is told under Results holds within what its own notes say; edges of steps and gaps that break are not computed.",
      "The answers hold for the ground, moisture, date, load and tyre state recorded, and not for other ground of the same name."};
  if (std::string unasked = unasked_words(s.results); !unasked.empty()) items.push_back(std::move(unasked));
  std::set<std::string> seen;
  for (const campaign::PairResult& pair : s.results.pairs) {
    for (const std::string& n : pair.prediction.notes) {
      if (seen.insert(n).second) items.push_back(n);
    }
    for (const validation::GuardRow& g : pair.guard) {
      if (g.level < validation::GuardLevel::up_to_twice) continue;
      const std::string text = pair_name(s.results, pair.vehicle, pair.zone) + ": " + g.quantity + " under the wheels is " + (g.level == validation::GuardLevel::beyond ? "beyond what was tested (over twice, or on an unbroken crust)"
                                   : g.level == validation::GuardLevel::up_to_twice ? "up to twice outside what was tested" : "not tested") + ".";
      if (seen.insert(text).second) items.push_back(text);
    }
  }
  for (const records::ZoneGround& z : s.results.ground.zones) {
    if (!z.dates.empty()) items.push_back("Zone " + (z.zone.empty() ? std::string("without a name") : z.zone) + " was tested on " + z.dates + ".");
  }
  for (const std::string& m : s.results.missing) items.push_back(m);
  s.page.list(items);
  s.page.close();
}

}  // namespace hardpan::report::detail
