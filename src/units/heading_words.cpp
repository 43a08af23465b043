// SPDX-License-Identifier: Apache-2.0
#include "units/detail/heading_words.hpp"

#include <algorithm>
#include <string>

#include "units/detail/plain_text.hpp"

namespace hardpan::units::detail {
namespace {

using D = Dimension;

struct Words {
  Dimension dimension;
  std::string_view list;  // beginnings of words, lower case, blank before and after each; English, German, French, Swedish
};
constexpr Words kWords[] = {
    {D::force, " load force pull drawbar thrust resist weight drag tow effort kraft last zug effort traction charge dragkraft "},
    {D::mass, " mass masse massa weight load gewicht vikt poids tare payload "},
    {D::length, " depth sink dist displ travel position length width diam radius height rut odom offset weg tiefe einsink spur "
                "djup langd profond enfonc largeur clearance wheelbase gauge gage settl penetr elev tape track "},
    {D::time, " time zeit tid temps elapsed duration dauer duree clock stopwatch "},
    {D::speed, " speed veloc vel geschw hastig vitesse "},
    {D::torque, " torque moment drehmo couple vridmo "},
    {D::voltage, " volt spannung batt excit tension supply "},
    {D::current, " current curr strom amper amps courant "},
    {D::power, " power leistung puissance effekt "},
    {D::energy, " energ work arbeit "},
    {D::temperature, " temp "},
    {D::acceleration, " acc gravity "},
    {D::angle, " angle pitch roll yaw slope gradient heading winkel neig vinkel steer theta alpha beta phi inclin tilt lutning "
               "turn wheel rotat encoder revol "},
    {D::pressure, " press inflat tyre tire druck tryck bearing "},
    {D::volume, " volum water "},
    {D::charge, " charge batt capac "},
};

struct Symbols {
  Dimension dimension;
  std::string_view list;  // exact case
};
constexpr Symbols kSymbols[] = {
    {D::force, " F Fx Fy Fz Fd Fh Fv P W H R DP Rc "},
    {D::length, " z x y b B r R d D h l L j s dx dy dz z0 zr "},
    {D::time, " t dt "},
    {D::speed, " v vx vy vz u "},
    {D::torque, " T M Mt "},
    {D::voltage, " U V "},
    {D::current, " I i "},
    {D::power, " P "},
    {D::mass, " m M "},
    {D::pressure, " p sigma tau "},
    {D::temperature, " T "},
    {D::angle, " theta alpha beta phi "},
};

// Words split at everything that is no letter and where a capital follows a small letter.
std::vector<std::string> split(std::string_view name) {
  std::vector<std::string> out;
  std::string word;
  char before = ' ';
  for (const char c : name) {
    const bool small_before = before >= 'a' && before <= 'z';
    if (!is_letter(c) || (small_before && c >= 'A' && c <= 'Z')) {
      if (!word.empty()) out.push_back(std::move(word));
      word.clear();
    }
    if (is_letter(c)) word += c;
    before = c;
  }
  if (!word.empty()) out.push_back(std::move(word));
  return out;
}

bool begins_with_any(const std::string& word, std::string_view list) {
  std::size_t at = 1;
  while (at < list.size()) {
    const std::size_t end = list.find(' ', at);
    const std::string_view stem = list.substr(at, end - at);
    // Three letters must match whole or with a plural; longer stems as beginnings.
    if (stem.size() <= 3 ? word == stem || word == std::string(stem) + "s" : word.starts_with(stem)) return true;
    at = end + 1;
  }
  return false;
}

}  // namespace

Hints hints(std::string_view name) {
  Hints out;
  const std::vector<std::string> words = split(name);
  for (const Words& row : kWords)
    if (std::any_of(words.begin(), words.end(), [&](const std::string& w) { return begins_with_any(lower(w), row.list); }))
      out.words.push_back(row.dimension);
  // A symbol is the whole name up to an index: "z", "F_x", "Fz1".
  std::string symbol(name.substr(0, name.find_first_of("_ ,/")));
  while (!symbol.empty() && is_digit(symbol.back()) && symbol.size() > 2) symbol.pop_back();
  if (symbol.size() <= 5 && !symbol.empty())
    for (const Symbols& row : kSymbols)
      if (row.list.find(" " + symbol + " ") != std::string_view::npos) out.symbols.push_back(row.dimension);
  return out;
}

bool contains(const std::vector<Dimension>& list, Dimension dimension) {
  return std::find(list.begin(), list.end(), dimension) != list.end();
}

}  // namespace hardpan::units::detail
