// SPDX-License-Identifier: Apache-2.0
#include "report/detail/study_words.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>

namespace hardpan::report::detail {

namespace p = performance;

std::string capital(std::string text) {
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text;
}

Measure measure_of(p::Studied quantity) {
  switch (quantity) {
    case p::Studied::gradient_at_slip:
    case p::Studied::gradient_maximum: return kGradient;
    case p::Studied::pull_at_slip: return kPullCoefficient;
    case p::Studied::energy_level: return kEnergy;
    case p::Studied::ride_margin: return kNumber;
  }
  return kNumber;
}

Measure measure_of(p::Varied what) { return what == p::Varied::slip ? kShare : Measure{p::dimension(what)}; }

std::string short_name(p::Studied quantity) {
  switch (quantity) {
    case p::Studied::gradient_at_slip:
    case p::Studied::gradient_maximum: return "Maximum gradient";
    case p::Studied::pull_at_slip: return "Pull coefficient";
    case p::Studied::energy_level: return "Energy per distance";
    case p::Studied::ride_margin: return "Margin of the ride";
  }
  return "";
}

std::string spoken(const p::Study& st, std::string text) {
  static const std::string kWord = "immobilised";
  const bool at_speed = st.speed_m_s || std::any_of(st.variations.begin(), st.variations.end(), [](const p::Variation& v) { return v.what == p::Varied::speed; });
  for (std::size_t at = 0; at_speed && (at = text.find(kWord)) != std::string::npos;) text.replace(at, kWord.size(), "not driven");
  return text;
}

units::Unit unit_of(const Printer& print, const p::Variation& v) {
  if (v.what == p::Varied::slip) return *units::find_unit("%");
  const auto typed = v.typed_unit.empty() || print.units() != units::OutputUnits::si ? std::nullopt : units::find_unit(v.typed_unit);
  return typed ? *typed : print.unit(v.to, measure_of(v.what));
}
std::string text_of(const Printer& print, const p::Variation& v, double si) { return units::print_in(si, unit_of(print, v)); }

units::Unit unit_of(const Printer& print, const p::Study& st) {
  std::vector<double> all{st.as_it_is.why_not.empty() ? st.as_it_is.outcome.centre : 0};
  for (const p::StudyCell& c : st.cells) all.push_back(c.why_not.empty() ? c.outcome.centre : 0);
  return print.common(all, measure_of(st.quantity));
}

std::string value_text(const p::Study& st, const units::Unit& unit, double si) {
  if (const std::string word = Printer::word(si, measure_of(st.quantity)); !word.empty()) return spoken(st, word);
  const double v = units::from_si(si, unit);
  return unit.spelling == "deg" ? units::print_fixed(v, 1) : units::print_number(v, 3);
}

std::string margin_text(const p::Study& st, const units::Unit& unit, const std::optional<double>& margin) {
  if (!margin) return "-";
  if (!std::isfinite(*margin)) return "missed";
  const double v = units::from_si(*margin, unit);
  if (unit.spelling == "deg") return (v > 0 ? "+" : "") + units::print_fixed(v, 1);
  return (v > 0 ? "+" : "") + (st.quantity == p::Studied::pull_at_slip || st.quantity == p::Studied::ride_margin ? units::print_fixed(v, 3) : units::print_number(v, 3));
}

std::string margin_of(const p::Study& st, const units::Unit& unit, const p::StudyCell& c) {
  if (!c.why_not.empty()) return "-";
  return Printer::word(c.outcome.centre, measure_of(st.quantity)).empty() ? margin_text(st, unit, st.margin(c.outcome.centre)) : "missed";
}

}  // namespace hardpan::report::detail
