// SPDX-License-Identifier: Apache-2.0
// The parts of the document, each in a file of its own, and the ten figures a reviewer needs.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "campaign/results.hpp"
#include "io/table.hpp"
#include "report/detail/page.hpp"
#include "report/detail/values.hpp"
#include "report/figure.hpp"

namespace hardpan::report::detail {

// One of the ten figures: as many pictures as there are zones or pairs for it, or why there is none.
struct Slot {
  std::string id;       // "pressure-sinkage"; element "slot-pressure-sinkage" of the document
  std::string title;
  std::vector<Figure> figures;
  std::string missing;  // a sentence; empty when there are figures
};

// What every part is written from.
struct Sheet {
  const campaign::Results& results;
  Printer print;
  Page page;
  std::vector<Slot> slots;

  explicit Sheet(const campaign::Results& r);
  void slot(const std::string& id);  // puts the figures of this slot here, or its sentence
};

[[nodiscard]] std::vector<Slot> ten_figures(const campaign::Results& results);

// Names as the report writes them.
[[nodiscard]] std::string zone_name(const campaign::Results& results, const std::string& id);
[[nodiscard]] std::string vehicle_name(const campaign::Results& results, const std::string& id);
[[nodiscard]] std::string pair_name(const campaign::Results& results, const std::string& vehicle, const std::string& zone);
[[nodiscard]] std::string quantity_words(validation::Quantity quantity);   // "maximum gradient"
[[nodiscard]] std::string outcome_words(records::TrialOutcome outcome);      // "stopped by the sled"
[[nodiscard]] std::string threshold_words(const Printer& print, const validation::Requirement& requirement);
[[nodiscard]] std::string condition_words(const campaign::Results& results, const Printer& print, const validation::Requirement& requirement);
[[nodiscard]] const campaign::PairResult* pair_of(const campaign::Results& results, const std::string& vehicle, const std::string& zone);
[[nodiscard]] bool on_textbook_soil(const campaign::Results& results, const std::string& vehicle, const std::string& zone);

// Sections, in the order of the document.
void findings_part(Sheet& sheet);
void item_part(Sheet& sheet);
void ground_part(Sheet& sheet);
void method_part(Sheet& sheet);
void soil_results(Sheet& sheet);      // inside the results section
void vehicle_results(Sheet& sheet);   // likewise
void prediction_results(Sheet& sheet);
void whole_vehicle_part(Sheet& sheet); // likewise: what no soil enters, vehicle by vehicle
void questions_part(Sheet& sheet);    // likewise: driving through a delay, vehicles against each other, studies
void obstacles_part(Sheet& sheet);    // likewise: what the campaign asks vehicles to cross
void slopes_part(Sheet& sheet);        // likewise: slopes on any heading, pair by pair
void validation_part(Sheet& sheet);
void uncertainty_part(Sheet& sheet);
void limits_part(Sheet& sheet);
void annex_part(Sheet& sheet);

// The polar figure of a pair that has slopes on any heading.
[[nodiscard]] Figure slopes_picture(const campaign::Results& results, const campaign::PairResult& pair);

// Curves of friction needed, and film strips as SVG by file name, of every obstacle and vehicle answered.
[[nodiscard]] std::vector<Figure> obstacle_figures(const campaign::Results& results);
[[nodiscard]] std::vector<std::pair<std::string, std::string>> obstacle_films(const campaign::Results& results);

// Slots by subject.
[[nodiscard]] Slot pressure_sinkage_slot(const campaign::Results& results);
[[nodiscard]] Slot shear_slot(const campaign::Results& results);
[[nodiscard]] Slot cone_slot(const campaign::Results& results);
[[nodiscard]] Slot reference_slot(const campaign::Results& results);
[[nodiscard]] Slot tow_slot(const campaign::Results& results);
[[nodiscard]] Slot pull_slip_slot(const campaign::Results& results);
[[nodiscard]] Slot sinkage_slip_slot(const campaign::Results& results);
[[nodiscard]] Slot slip_gradient_slot(const campaign::Results& results);
[[nodiscard]] Slot validation_slot(const campaign::Results& results);
[[nodiscard]] Slot sensitivity_slot(const campaign::Results& results);

// Tables on their way to files.
[[nodiscard]] std::vector<io::Table> ground_tables(const campaign::Results& results);
[[nodiscard]] std::vector<io::Table> vehicle_tables(const campaign::Results& results);
[[nodiscard]] std::vector<io::Table> judgement_tables(const campaign::Results& results);

}  // namespace hardpan::report::detail
