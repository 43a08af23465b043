// SPDX-License-Identifier: Apache-2.0
// Page one: what was asked, what was found, how sure that is.
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "campaign/no_travel.hpp"
#include "report/detail/parts.hpp"

namespace hardpan::report::detail {
namespace {

using validation::Finding;
using validation::Verdict;

// Disc with a tick, square with a cross, open diamond with a bar: told apart without colour, beside the word.
std::string mark(Verdict verdict) {
  const char* inside = "";
  const char* css = "";
  switch (verdict) {
    case Verdict::met:
      css = "met";
      inside = "<circle cx=\"10\" cy=\"10\" r=\"9\"/><path d=\"M5.5 10.4l3.2 3.3 5.9-7\" class=\"in\"/>";
      break;
    case Verdict::not_met:
      css = "not-met";
      inside = "<rect x=\"1.5\" y=\"1.5\" width=\"17\" height=\"17\"/><path d=\"M6 6l8 8M14 6l-8 8\" class=\"in\"/>";
      break;
    case Verdict::not_shown:
      css = "not-shown";
      inside = "<path d=\"M10 1l9 9-9 9-9-9z\"/><path d=\"M6.2 10h7.6\" class=\"in\"/>";
      break;
  }
  return fmt::format("<span class=\"verdict {0}\"><svg viewBox=\"0 0 20 20\" aria-hidden=\"true\" focusable=\"false\">{1}</svg>{2}</span>",
                     css, inside, validation::name(verdict));
}

std::string percent_of(const std::optional<double>& share) {
  if (!share || !std::isfinite(*share)) return "not known";
  // A share over possible soils is never certain: its ends are said as such.
  if (*share >= 0.995 && *share < 1) return "over 99 %";
  if (*share <= 0.005 && *share > 0) return "under 1 %";
  return fmt::format("{:.0f} %", 100 * *share);
}

std::string margin_words(const Printer& print, const Finding& f) {
  if (!f.margin_known || !std::isfinite(f.margin_si)) return "not known";
  if (campaign::margin_from_no_travel(f)) return "short: " + Printer::word(performance::kNoGradient, kGradient);
  Measure m = measure_of(f.requirement.quantity);
  m.special = Special::none;  // a difference is no position on the scale of the quantity
  if (f.margin_si == 0) return "none";
  return print.value(std::abs(f.margin_si), m, 2) + (f.margin_si > 0 ? " to spare" : " short");
}

std::string found_words(const Printer& print, const Finding& f) {
  if (!std::isnan(f.value.value)) return print.with_next_point(f.value, measure_of(f.requirement.quantity));
  if (f.requirement.method == validation::Method::demonstration && f.probability) return percent_of(f.probability) + " of trials";
  return "no value";
}

std::string shown_words(const Finding& f) {
  if (!f.probability && !f.confidence) return "none";
  return percent_of(f.probability) + ", confidence " + percent_of(f.confidence);
}

std::string summary(const campaign::Results& r) {
  const campaign::Campaign& c = r.campaign;
  std::string out;
  std::vector<std::string> vehicles, zones;
  for (const auto& v : c.vehicles) vehicles.push_back(v.name.empty() ? v.id : v.name);
  for (const auto& z : r.ground.zones) {
    if (!z.zone.empty()) zones.push_back(z.zone);
  }
  std::size_t tests = r.ground.plate_curves.size() + r.ground.shear_curves.size() + r.ground.cone_profiles.size();
  if (tests > 0) {
    out += fmt::format("{} of the ground ({} plate, {} shear, {} cone){}", plural(tests, "test"), r.ground.plate_curves.size(),
                       r.ground.shear_curves.size(), r.ground.cone_profiles.size(),
                       zones.empty() ? "" : " in " + plural(zones.size(), "zone") + " (" + joined(zones) + ")");
  } else {
    out += "No plate, shear or cone test of the ground was recorded";
  }
  std::size_t trials = 0;
  for (const auto& s : r.drawbar.slopes) trials += s.trials.size();
  if (!r.drawbar.windows.empty() || trials > 0) {
    out += fmt::format(" and {} with {} of vehicle tests", plural(r.drawbar.windows.size(), "pull window"), plural(trials, "slope trial"));
  }
  out += vehicles.empty() ? "; no vehicle is described. " : "; " + joined(vehicles, " and ") + (vehicles.size() == 1 ? " is the vehicle. " : " are the vehicles. ");
  if (r.findings.empty()) {
    out += "No requirement was stated or judged: this report describes what was measured and computed.";
    return out;
  }
  std::size_t met = 0, not_met = 0, not_shown = 0;
  const Finding* tightest = nullptr;
  for (const Finding& f : r.findings) {
    met += f.verdict == Verdict::met;
    not_met += f.verdict == Verdict::not_met;
    not_shown += f.verdict == Verdict::not_shown;
    if (f.verdict == Verdict::met && f.confidence && (!tightest || *f.confidence < *tightest->confidence)) tightest = &f;
  }
  out += fmt::format("Of {}, {} {} met, {} not met and {} not shown.", plural(r.findings.size(), "requirement"), met, met == 1 ? "is" : "are",
                     not_met, not_shown);
  for (const Finding& f : r.findings) {
    if (f.verdict == Verdict::not_met) {
      out += fmt::format(" {} is not met{}.", f.requirement.id, f.limiting_factor.empty() || f.limiting_factor == "none" ? "" : ": limited by " + f.limiting_factor);
    }
  }
  if (tightest) out += fmt::format(" The least certain of those met is {} with {} confidence.", tightest->requirement.id, percent_of(tightest->confidence));
  if (not_shown > 0) out += " Not shown means that the evidence decides neither way; what would decide it stands with each finding.";
  return out;
}

void overview(Sheet& s) {
  // A table by hand: the verdict cell carries a picture.
  s.page.raw("<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-labelledby=\"overview\">\n<table class=\"overview\">\n"
             "<caption id=\"overview\">Findings against requirements</caption>\n<thead><tr><th scope=\"col\">Requirement</th>"
             "<th scope=\"col\">Asked</th><th scope=\"col\">Found</th><th scope=\"col\">Margin</th><th scope=\"col\">Probability</th>"
             "<th scope=\"col\">Limited by</th><th scope=\"col\">Finding</th></tr></thead>\n<tbody>\n");
  for (const Finding& f : s.results.findings) {
    s.page.raw("<tr><th scope=\"row\"><a href=\"#finding-" + slug(f.requirement.id) + "\">" + rich(f.requirement.id) + "</a></th><td data-of=\"Asked\">" +
               rich(quantity_words(f.requirement.quantity) + " " + threshold_words(s.print, f.requirement)) + "</td><td data-of=\"Found\">" +
               rich(found_words(s.print, f)) + "</td><td data-of=\"Margin\">" + rich(margin_words(s.print, f)) + "</td><td data-of=\"Probability\">" +
               rich(shown_words(f)) + "</td><td data-of=\"Limited by\">" + rich(f.limiting_factor.empty() ? "not known" : f.limiting_factor) + "</td><td>" +
               mark(f.verdict) + "</td></tr>\n");
  }
  s.page.raw("</tbody>\n</table>\n</div>\n");
  s.page.paragraph("Probability: share of next points (or trials) that satisfy it, and the confidence that enough of them do. Margin: of the worst of the required share of next points, so smaller than that of the value. Intervals are 95 %.", "small");
}

void card(Sheet& s, const Finding& f) {
  const validation::Requirement& q = f.requirement;
  const Measure m = measure_of(q.quantity);
  const std::string id = slug(q.id);
  s.page.raw("<article class=\"finding\" id=\"finding-" + id + "\" aria-labelledby=\"finding-" + id + "-h\">\n<h3 id=\"finding-" + id + "-h\">" +
             rich(q.id) + " " + mark(f.verdict) + "</h3>\n");
  if (on_textbook_soil(s.results, q.vehicle, q.zone)) s.page.paragraph("textbook soil, not your ground", "textbook");
  s.page.paragraph(q.text, "asked");
  const Printed v = s.print.estimate(f.value, m);
  const bool any = !std::isnan(f.value.value);
  std::vector<std::pair<std::string, std::string>> rows{
      {"Requirement", fmt::format("{} {}: {}", quantity_words(q.quantity), threshold_words(s.print, q), condition_words(s.results, s.print, q))},
      {"Probability asked", fmt::format("{:.0f} % of next points, with {:.0f} % confidence{}; shown by {}", 100 * q.probability, 100 * q.confidence,
                                        q.probability_stated ? "" : " (not stated: usual values taken)", validation::name(q.method))},
      {"Value", any ? v.value : found_words(s.print, f)},
      {f.value.next_point ? "95 % average ground" : "95 % interval", any && f.value.average_ground ? v.average_ground : ""},
      {"95 % next point", any && f.value.next_point ? v.next_point : ""},
      {"Interval", any && !f.value.next_point && !f.value.average_ground ? (f.value.status.empty() || f.value.status == math::kStatusOk ? "none" : f.value.status) : ""},
  };
  if (f.value_without_measured_difference) {
    rows.emplace_back("Without the measured difference", s.print.with_next_point(*f.value_without_measured_difference, m));
  }
  if (f.value_before_learning && f.verdict_before_learning) {
    rows.emplace_back("Before vehicle tests updated the soil", s.print.with_next_point(*f.value_before_learning, m) + ": " + validation::name(*f.verdict_before_learning));
  }
  rows.emplace_back("Margin", margin_words(s.print, f) + (f.probability && f.margin_known ? " at the required probability" : ""));
  rows.emplace_back("Probability", f.probability || f.confidence ? percent_of(f.probability) + " satisfy it; confidence that enough do: " + percent_of(f.confidence) : "none");
  rows.emplace_back("Over", f.population.empty() ? "no population: no probability is stated" : f.population);
  rows.emplace_back("Limiting factor", f.limiting_factor);
  rows.emplace_back("Against what was tested", validation::name(f.guard));
  rows.emplace_back("Based on records", f.records.empty() ? "no record" : joined(f.records));
  if (f.compared && f.compared->judged > 0) rows.emplace_back("Trials beside the prediction", fmt::format("{} of {} agree", f.compared->agree, plural(f.compared->judged, "group")));
  rows.emplace_back("Decision rule", f.rule);
  s.page.terms(rows);
  if (!f.reasons.empty()) {
    s.page.heading(4, "Why");
    s.page.list(sentences(f.reasons));
  }
  if (!f.would_change.empty()) {
    s.page.heading(4, "What would change it");
    s.page.list(sentences(f.would_change));
  }
  s.page.raw("</article>\n");
}

}  // namespace

void findings_part(Sheet& s) {
  s.page.open("findings", "Findings");
  s.page.paragraph(summary(s.results), "lead");
  bool textbook = false;
  for (const Finding& f : s.results.findings) textbook = textbook || on_textbook_soil(s.results, f.requirement.vehicle, f.requirement.zone);
  if (textbook) s.page.paragraph("Some answers below stand on a textbook soil, not your ground; each is marked, and none of them says go by analysis.", "textbook");
  if (s.results.findings.empty()) {
    s.page.paragraph(s.results.campaign.requirements.empty() ? "There are no requirements in this campaign, so nothing is judged."
                                                             : "The requirements below were not judged in this run.");
    std::vector<std::string> stated;
    for (const validation::Requirement& q : s.results.campaign.requirements) {
      stated.push_back(q.id + ": " + quantity_words(q.quantity) + " " + threshold_words(s.print, q) + ", " + condition_words(s.results, s.print, q) + " - not judged");
    }
    s.page.list(stated);
  } else {
    overview(s);
  }
  if (!s.results.missing.empty()) {
    s.page.heading(3, "What this run could not do");
    s.page.list(s.results.missing);
  }
  if (!s.results.findings.empty()) s.page.raw("<div class=\"cards\">\n");
  for (const Finding& f : s.results.findings) card(s, f);
  if (!s.results.findings.empty()) s.page.raw("</div>\n");
  s.page.close();
}

}  // namespace hardpan::report::detail
