// SPDX-License-Identifier: Apache-2.0
#include "report/document.hpp"

#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/detail/questions.hpp"
#include "report/detail/trials.hpp"

namespace hardpan::report {
namespace detail {

Sheet::Sheet(const campaign::Results& r) : results(r), print(r.campaign.output_units), slots(ten_figures(r)) {}

void Sheet::slot(const std::string& id) {
  for (const Slot& s : slots) {
    if (s.id != id) continue;
    page.raw("<div class=\"slot\" id=\"slot-" + id + "\">\n");
    for (const Figure& f : s.figures) page.figure(f);
    if (s.figures.empty()) page.paragraph(s.title + ": not drawn. " + s.missing, "missing");
    page.raw("</div>\n");
  }
}

std::vector<Slot> ten_figures(const campaign::Results& r) {
  return {pressure_sinkage_slot(r), shear_slot(r),        cone_slot(r),       reference_slot(r), tow_slot(r), pull_slip_slot(r),
          sinkage_slip_slot(r),     slip_gradient_slot(r), validation_slot(r), sensitivity_slot(r)};
}

namespace {

struct Chapter {
  const char* id;
  const char* heading;
};
constexpr Chapter kContents[] = {{"findings", "Findings"}, {"item", "Item tested"}, {"ground", "Ground"}, {"method", "Method and deviations"},
                                 {"results", "Results"}, {"validation", "Validation"}, {"uncertainty", "Uncertainty"}, {"limits", "Limits"},
                                 {"cautions", "Cautions"}, {"annexes", "Annexes"}};

void head(Sheet& s) {
  const campaign::Campaign& c = s.results.campaign;
  const std::string name = c.name.empty() ? "Field campaign" : c.name;
  s.page.raw("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
             "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>" +
             rich(name) + " - mobility test report</title>\n<style>\n" + style_sheet() + "</style>\n</head>\n<body>\n"
             "<a class=\"skip\" href=\"#findings\">Go to the findings</a>\n<header class=\"top\">\n");
  s.page.raw("<p class=\"kind\">Mobility test report</p>\n<h1>" + rich(name) + "</h1>\n");
  std::vector<std::pair<std::string, std::string>> rows{{"Where", c.where}, {"When", c.when}, {"Who", joined(c.who)},
                                                        {"Written", clock_words(s.results.provenance.finished)}};
  s.page.terms(rows);
  s.page.paragraph(c.notes, "notes");
  s.page.raw("</header>\n<nav class=\"contents\" aria-label=\"Contents\">\n<ol>\n");
  for (const Chapter& k : kContents) s.page.raw(fmt::format("<li><a href=\"#{}\">{}</a></li>\n", k.id, k.heading));
  s.page.raw("</ol>\n</nav>\n<main>\n");
}

void foot(Sheet& s) {
  const campaign::Provenance& p = s.results.provenance;
  s.page.raw("</main>\n<footer>\n");
  s.page.paragraph("Hardpan " + p.version + (p.key.empty() ? "" : ", inputs " + p.key.substr(0, 16)) + (p.finished.empty() ? "" : ", " + clock_words(p.finished)) +
                   ". A prediction is no permission to drive.");
  s.page.raw("</footer>\n</body>\n</html>\n");
}

}  // namespace
}  // namespace detail

std::vector<std::pair<std::string, Figure>> figures(const campaign::Results& results) {
  std::vector<std::pair<std::string, Figure>> out;
  for (detail::Slot& s : detail::ten_figures(results)) {
    for (Figure& f : s.figures) {
      std::string id = f.id;
      out.emplace_back(std::move(id), std::move(f));
    }
  }
  for (Figure& f : detail::trial_figures(results)) {
    std::string id = f.id;
    out.emplace_back(std::move(id), std::move(f));
  }
  for (Figure& f : detail::question_figures(results)) {
    std::string id = f.id;
    out.emplace_back(std::move(id), std::move(f));
  }
  for (const campaign::PairResult& p : results.pairs) {
    if (p.slopes.over_soils) out.emplace_back("slopes-" + detail::slug(p.vehicle) + "-" + detail::slug(p.zone), detail::slopes_picture(results, p));
  }
  for (Figure& f : detail::obstacle_figures(results)) {
    std::string id = f.id;
    out.emplace_back(std::move(id), std::move(f));
  }
  return out;
}

std::vector<std::pair<std::string, std::string>> films(const campaign::Results& results) { return detail::obstacle_films(results); }

std::vector<io::Table> tables(const campaign::Results& results) {
  std::vector<io::Table> out;
  for (auto part : {detail::judgement_tables(results), detail::ground_tables(results), detail::vehicle_tables(results), detail::trial_tables(results), detail::question_tables(results)}) {
    for (io::Table& t : part) {
      if (!t.rows.empty()) out.push_back(std::move(t));
    }
  }
  return out;
}

std::string html(const campaign::Results& results) {
  detail::Sheet s(results);
  detail::head(s);
  detail::findings_part(s);
  detail::item_part(s);
  detail::ground_part(s);
  detail::method_part(s);
  s.page.open("results", "Results");
  detail::soil_results(s);
  detail::vehicle_results(s);
  detail::trial_results(s);
  detail::prediction_results(s);
  detail::slopes_part(s);
  detail::whole_vehicle_part(s);
  detail::questions_part(s);
  detail::obstacles_part(s);
  s.page.close();
  detail::validation_part(s);
  detail::uncertainty_part(s);
  detail::limits_part(s);
  s.page.open("cautions", "Cautions");
  s.page.list(campaign::cautions(), "cautions");
  s.page.close();
  detail::annex_part(s);
  detail::foot(s);
  return s.page.take();
}

}  // namespace hardpan::report
