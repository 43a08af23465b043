// SPDX-License-Identifier: Apache-2.0
// Sources: Brixius 1987 (ASAE paper 87-1622), ASABE D497 (section on traction), Wismer and Luth 1974 (Trans. ASAE
// 17), Freitag 1965, Turnage 1972. Constants from memory.
#include "contact/cone_index.hpp"

#include <fmt/format.h>

#include <cmath>

namespace hardpan::contact {
namespace {

ConeTraction with_net(double numeric, double gross, double resistance, double slip_ratio) {
  ConeTraction out;
  out.numeric = numeric;
  out.gross = gross;
  out.resistance = resistance;
  out.net = gross - resistance;
  if (gross > 0) out.efficiency = out.net / gross * (1 - slip_ratio);
  return out;
}

void note(ConeTraction& out, bool inside, const char* what, double value, const char* range) {
  if (!inside) out.out_of_range.push_back(fmt::format("{} = {:.3g}, fitted for {}", what, value, range));
}

}  // namespace

double wheel_numeric(const TyreOnCone& tyre) { return tyre.cone_index_pa * tyre.width_m * tyre.diameter_m / tyre.load_n; }

double mobility_number(const TyreOnCone& tyre) {
  return wheel_numeric(tyre) * (1 + 5 * tyre.deflection_m / tyre.section_height_m) / (1 + 3 * tyre.width_m / tyre.diameter_m);
}

ConeTraction brixius_bias_ply(double bn, double s) {
  const double gross = 0.88 * (1 - std::exp(-0.1 * bn)) * (1 - std::exp(-7.5 * s)) + 0.04;
  const double resistance = 1 / bn + 0.04 + 0.5 * s / std::sqrt(bn);
  return with_net(bn, gross, resistance, s);
}

ConeTraction brixius_bias_ply(const TyreOnCone& tyre, double s) {
  ConeTraction out = brixius_bias_ply(mobility_number(tyre), s);
  const double slender = tyre.width_m / tyre.diameter_m, flat = tyre.deflection_m / tyre.section_height_m;
  note(out, slender >= 0.1 && slender <= 0.7, "b/d", slender, "0.1 to 0.7");
  note(out, flat >= 0.1 && flat <= 0.3, "delta/h", flat, "0.1 to 0.3");
  note(out, s >= 0 && s <= 0.5, "slip", s, "0 to 0.5");
  return out;
}

ConeTraction wismer_luth(double cn, double s) {
  const double gross = 0.75 * (1 - std::exp(-0.3 * cn * s));
  const double resistance = 1.2 / cn + 0.04;
  return with_net(cn, gross, resistance, s);
}

ConeTraction wismer_luth(const TyreOnCone& tyre, double s) {
  ConeTraction out = wismer_luth(wheel_numeric(tyre), s);
  const double slender = tyre.width_m / tyre.diameter_m, flat = tyre.deflection_m / tyre.section_height_m;
  note(out, slender >= 0.2 && slender <= 0.4, "b/d", slender, "about 0.3");
  note(out, flat >= 0.15 && flat <= 0.25, "delta/h", flat, "about 0.2");
  note(out, s >= 0 && s <= 0.5, "slip", s, "0 to 0.5");
  return out;
}

double sand_numeric(const TyreOnCone& tyre, double gradient) {
  return gradient * std::pow(tyre.width_m * tyre.diameter_m, 1.5) / tyre.load_n * tyre.deflection_m / tyre.section_height_m;
}

double clay_numeric(const TyreOnCone& tyre) {
  return wheel_numeric(tyre) * std::sqrt(tyre.deflection_m / tyre.section_height_m) / (1 + tyre.width_m / (2 * tyre.diameter_m));
}

}  // namespace hardpan::contact
