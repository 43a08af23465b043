// SPDX-License-Identifier: Apache-2.0
// Parts still to come; each leaves only its heading. This file goes away with them.
#include "report/detail/parts.hpp"

namespace hardpan::report::detail {
namespace {
void empty_section(Sheet& s, const char* id, const char* heading) {
  s.page.open(id, heading);
  s.page.close();
}
Slot none(const char* id, const char* title) { return {id, title, {}, "This version does not draw it yet."}; }
}  // namespace
void item_part(Sheet& s) { empty_section(s, "item", "Item tested"); }
void ground_part(Sheet& s) { empty_section(s, "ground", "Ground"); }
void method_part(Sheet& s) { empty_section(s, "method", "Method and deviations"); }
void soil_results(Sheet&) {}
void vehicle_results(Sheet&) {}
void prediction_results(Sheet&) {}
void validation_part(Sheet& s) { empty_section(s, "validation", "Validation"); }
void uncertainty_part(Sheet& s) { empty_section(s, "uncertainty", "Uncertainty"); }
void limits_part(Sheet& s) { empty_section(s, "limits", "Limits"); }
void annex_part(Sheet& s) { empty_section(s, "annexes", "Annexes"); }
Slot pressure_sinkage_slot(const campaign::Results&) { return none("pressure-sinkage", "Pressure against sinkage"); }
Slot shear_slot(const campaign::Results&) { return none("shear-strength", "Shear stress against displacement"); }
Slot cone_slot(const campaign::Results&) { return none("cone-index", "Cone index against depth"); }
Slot reference_slot(const campaign::Results&) { return none("reference-point", "Reference point against clock time"); }
Slot tow_slot(const campaign::Results&) { return none("tow-strip", "Time strip of a tow run"); }
Slot pull_slip_slot(const campaign::Results&) { return none("pull-slip", "Pull coefficient against slip"); }
Slot sinkage_slip_slot(const campaign::Results&) { return none("sinkage-slip", "Sinkage against slip"); }
Slot slip_gradient_slot(const campaign::Results&) { return none("slip-gradient", "Slip against gradient"); }
Slot validation_slot(const campaign::Results&) { return none("predicted-measured", "Predicted against measured"); }
Slot sensitivity_slot(const campaign::Results&) { return none("sensitivity", "Sensitivity"); }
std::vector<io::Table> ground_tables(const campaign::Results&) { return {}; }
std::vector<io::Table> vehicle_tables(const campaign::Results&) { return {}; }
std::vector<io::Table> judgement_tables(const campaign::Results&) { return {}; }
}  // namespace hardpan::report::detail
