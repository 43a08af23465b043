// SPDX-License-Identifier: Apache-2.0
#include "units/heading.hpp"

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "units/detail/compound.hpp"
#include "units/detail/heading_words.hpp"
#include "units/detail/plain_text.hpp"
#include "units/detail/unit_names.hpp"

namespace hardpan::units {
namespace {

using detail::is_letter;
using detail::trim;

constexpr std::size_t kMaxText = 200;  // a heading, not a paragraph

// How a unit outside brackets is set off from the name, strongest first.
enum class Joint { comma, slash, blank, underscore };

struct Suffix {
  std::string name;
  std::string unit_text;
  std::optional<Unit> unit;
  std::string error, remedy;  // a name that is refused as a unit
};

// The allow-list and its products only: the further tables know too many ordinary words.
std::optional<Unit> listed_unit(std::string_view text) {
  if (text.empty() || text == "-" || text == "1") return std::nullopt;
  if (text.size() > 2 && text.back() == '.') text.remove_suffix(1);
  if (detail::find_name(text) != nullptr) return find_unit(text);
  return detail::read_compound(text).unit;
}

// Units spelt like ordinary words or like an index.
bool is_weak(std::string_view text) {
  if (text.size() == 1) return text != "%";
  static constexpr std::array<std::string_view, 24> kWords{
      "in", "min", "bar", "rad", "rev", "turn", "ps", "us", "mi", "day", "days", "second", "minute", "foot", "feet", "yard",
      "mile", "pond", "slug", "kilo", "va", "''", "dan", "per"};
  const std::string small = detail::lower(text);
  return std::find(kWords.begin(), kWords.end(), small) != kWords.end();
}

bool counts_turns(std::string_view text) {
  const std::string small = detail::lower(text);
  return small == "turns" || small == "revs" || small == "revolutions" || small == "umdrehungen" || small == "varv";
}

bool acceptable(std::string_view text, const Unit& unit, std::string_view name, Joint joint) {
  if (!is_weak(text)) return true;
  const detail::Hints about = detail::hints(name);
  if (!about.words.empty()) return detail::contains(about.words, unit.dimension);
  const bool capital = text.size() == 1 && text[0] >= 'A' && text[0] <= 'Z';
  if (detail::contains(about.symbols, unit.dimension) && detail::lower(text) != "min") {
    // "F_N" may be the normal force, "I_A" the current of motor A; "F/N" and "Fz_N" are plain.
    return !(capital && name.size() == 1 && (joint == Joint::underscore || joint == Joint::blank));
  }
  return about.symbols.empty() && joint == Joint::comma && !capital;
}

std::string clean_name(std::string_view name) {
  std::string out(trim(name));
  while (!out.empty() && std::string_view(" ,;:/_-").find(out.back()) != std::string_view::npos) out.pop_back();
  while (!out.empty() && std::string_view(" ,;:/_").find(out.front()) != std::string_view::npos) out.erase(0, 1);
  return out;
}

std::optional<Suffix> try_suffix(std::string_view name, std::string_view text, Joint joint) {
  text = trim(text);
  const std::string cleaned = clean_name(name);
  if (cleaned.empty()) return std::nullopt;
  if (const auto unit = listed_unit(text)) {
    if (!acceptable(text, *unit, cleaned, joint)) return std::nullopt;
    return Suffix{.name = cleaned, .unit_text = std::string(text), .unit = unit, .error = {}, .remedy = {}};
  }
  const auto* refused = detail::find_refused(text);
  const bool says_unit = (refused != nullptr && !refused->word && text.size() > 1) ||
                         (text.find_first_of("#^") != std::string_view::npos && joint == Joint::comma);
  if (!says_unit) return std::nullopt;
  const UnitLookup why = look_up_unit(text);
  return Suffix{.name = cleaned, .unit_text = std::string(text), .unit = why.unit, .error = why.error, .remedy = why.remedy};
}

std::vector<std::string_view> split(std::string_view text, char at) {
  std::vector<std::string_view> out;
  while (true) {
    const auto next = text.find(at);
    out.push_back(text.substr(0, next));
    if (next == std::string_view::npos) return out;
    text.remove_prefix(next + 1);
  }
}

// Underscores stand for a blank, a slash or a multiplication: "kg_m3", "deg_C", "torque_N_m".
std::string join_underscored(const std::vector<std::string_view>& parts, std::size_t first, std::string_view name) {
  std::string joined;
  for (std::size_t i = first; i < parts.size(); ++i) {
    if (i != first) joined += '_';
    joined += parts[i];
  }
  static constexpr std::array<std::string_view, 26> kQuotients{
      "kg_m3", "g_cm3", "m_s", "km_h", "mm_s", "cm_s", "rad_s", "deg_s", "m_s2", "kN_m2", "kN_m3", "N_mm2", "ft_s",
      "rev_min", "r_min", "lbf_in2", "lb_in2", "lb_ft3", "lbf_ft3", "Wh_km", "mV_V", "kgf_cm2", "kPa_m", "MPa_m", "in_s", "N_m2"};
  if (std::find(kQuotients.begin(), kQuotients.end(), joined) != kQuotients.end())
    return std::string(parts[first]) + "/" + std::string(parts[first + 1]);
  static constexpr std::array<std::string_view, 6> kEither{"N_m", "kN_m", "N_mm", "kN_mm", "lbf_in", "lbf_ft"};
  if (std::find(kEither.begin(), kEither.end(), joined) != kEither.end()) {
    const std::string small = detail::lower(name);
    const bool stiff = small.find("stiff") != std::string::npos || small.find("spring") != std::string::npos;
    if (stiff) return std::string(parts[first]) + "/" + std::string(parts[first + 1]);
    if (detail::contains(detail::hints(name).words, Dimension::torque))
      return std::string(parts[first]) + " " + std::string(parts[first + 1]);
    return {};
  }
  if (joined.find("_per_") != std::string::npos || joined.starts_with("deg_") || joined == "ft_lb" || joined == "ft_lbf" ||
      joined == "in_lbf" || joined == "pct_grade") {
    std::replace(joined.begin(), joined.end(), '_', ' ');
    return joined;
  }
  return {};
}

std::optional<Suffix> underscored(std::string_view text) {
  const auto parts = split(text, '_');
  if (parts.size() < 2) return std::nullopt;
  const auto name_before = [&](std::size_t first) {
    return text.substr(0, static_cast<std::size_t>(parts[first].data() - text.data()));
  };
  for (std::size_t count = std::min<std::size_t>(4, parts.size() - 1); count >= 2; --count) {
    const std::size_t first = parts.size() - count;
    const std::string joined = join_underscored(parts, first, name_before(first));
    if (joined.empty()) continue;
    if (auto found = try_suffix(name_before(first), joined, Joint::underscore)) return found;
  }
  // "x_N_m": two units in a row and nothing that says how they belong together.
  const std::size_t last = parts.size() - 1;
  if (last >= 2 && listed_unit(parts[last - 1]) && listed_unit(parts[last])) return std::nullopt;
  return try_suffix(name_before(last), parts[last], Joint::underscore);
}

std::optional<Suffix> find_suffix(std::string_view text) {
  if (const auto whole = listed_unit(text); whole && (!is_weak(text) || counts_turns(text))) {
    // "N/kN" is a symbol over its unit sooner than a ratio.
    if (whole->dimension != Dimension::none || text.find('/') == std::string_view::npos)
      return Suffix{.name = std::string(text), .unit_text = std::string(text), .unit = whole, .error = {}, .remedy = {}};
  }
  if (const auto at = text.find_last_of(",;:"); at != std::string_view::npos)
    if (auto found = try_suffix(text.substr(0, at), text.substr(at + 1), Joint::comma)) return found;
  if (const auto at = text.rfind(" in "); at != std::string_view::npos)
    if (auto found = try_suffix(text.substr(0, at), text.substr(at + 4), Joint::comma)) return found;
  const auto words = split(text, ' ');
  for (std::size_t count = std::min<std::size_t>(3, words.size() - 1); count >= 1; --count) {
    const auto start = static_cast<std::size_t>(words[words.size() - count].data() - text.data());
    const std::string_view tail = text.substr(start);
    auto found = try_suffix(text.substr(0, start), tail, Joint::blank);
    if (!found) continue;
    if (counts_turns(tail)) found->name = std::string(text);  // the count is the quantity
    return found;
  }
  if (auto found = underscored(text)) return found;
  if (const auto at = text.find('/'); at != std::string_view::npos)
    if (auto found = try_suffix(text.substr(0, at), text.substr(at + 1), Joint::slash)) return found;
  return std::nullopt;
}

struct Group {
  std::size_t begin = 0, end = 0;  // with the brackets
  std::string_view content;
};

std::vector<Group> find_groups(std::string_view text) {
  std::vector<Group> out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto kind = std::string_view("([{").find(text[i]);
    if (kind == std::string_view::npos) continue;
    const char open = text[i], close = ")]}"[kind];
    int depth = 0;
    for (std::size_t k = i; k < text.size(); ++k) {
      if (text[k] == open) ++depth;
      if (text[k] == close) --depth;
      if (depth != 0) continue;
      out.push_back({i, k + 1, trim(text.substr(i + 1, k - i - 1))});
      i = k;
      break;
    }
  }
  return out;
}

std::string without(std::string_view text, const std::vector<Group>& groups) {
  std::string out;
  std::size_t from = 0;
  for (const Group& g : groups) {
    out += std::string(trim(text.substr(from, g.begin - from)));
    if (g.end < text.size() && text[g.end] == ' ' && !out.empty()) out += ' ';
    from = g.end;
  }
  out += std::string(trim(text.substr(from)));
  return out;
}

UnitLookup bracketed_unit(std::string_view content) {
  UnitLookup found = look_up_unit(content);
  if (!found.unit && content.starts_with("in ")) found = look_up_unit(content.substr(3));
  return found;
}

// "front" in "Load (front)": a remark, not a failed unit.
bool is_remark(std::string_view content) {
  if (detail::find_refused(content) != nullptr) return false;
  const auto letters = std::count_if(content.begin(), content.end(), is_letter);
  return letters >= 4 && content.find_first_of("/^#%") == std::string_view::npos;
}

bool same(const Unit& a, const Unit& b) {
  return a.dimension == b.dimension && a.factor == b.factor && a.offset == b.offset && a.percent_grade == b.percent_grade;
}

Heading two_units(std::string_view text, const std::string& a, const std::string& b) {
  return {.name = std::string(text), .unit_text = a + " and " + b, .unit = {},
          .error = "the heading names two units, " + a + " and " + b, .remedy = "leave the one the numbers are in"};
}

// "Load (lbf) x 1000": the factor would be lost.
Heading without_multiplier(Heading heading) {
  const std::string small = detail::lower(heading.name);
  for (std::size_t i = 0; i + 2 < small.size(); ++i) {
    if (small[i] != 'x' && small[i] != '*') continue;
    if (i > 0 && is_letter(small[i - 1])) continue;
    const std::size_t digits = small[i + 1] == ' ' ? i + 2 : i + 1;
    if (small.compare(digits, 2, "10") != 0) continue;
    heading.unit.reset();
    heading.error = "the heading multiplies its unit by a number";
    heading.remedy = "write the unit the numbers are in, for example kN, or scale the numbers";
    return heading;
  }
  return heading;
}

}  // namespace

Heading read_heading(std::string_view raw) {
  std::string plain = detail::plain_text(raw.substr(0, kMaxText));
  if (plain.size() > 2 && plain.front() == '"' && plain.back() == '"') plain = std::string(trim(std::string_view(plain).substr(1, plain.size() - 2)));
  const std::string_view text = plain;
  Heading out;
  out.name = clean_name(text);
  const std::vector<Group> groups = find_groups(text);

  std::vector<std::pair<std::size_t, Unit>> units;  // group and what it reads as
  UnitLookup last_failure;
  for (std::size_t i = 0; i < groups.size(); ++i) {
    const UnitLookup read = bracketed_unit(groups[i].content);
    if (read.unit) units.emplace_back(i, *read.unit);
    else last_failure = read;
  }
  const auto suffix = find_suffix(clean_name(without(text, groups)));
  const bool strong_suffix =
      suffix && suffix->unit && !is_weak(suffix->unit_text) && !counts_turns(suffix->unit_text);
  // "Load (1) [kN]", "Load kN (A)": one sign in round brackets is a label beside another unit.
  std::vector<std::pair<std::size_t, Unit>> kept;
  const auto is_one_sign = [&](const Group& group) {
    return group.content.size() == 1 && group.content != "%" && text[group.begin] == '(';
  };
  for (const auto& entry : units) {
    const bool beside_suffix = strong_suffix && suffix->unit->dimension != entry.second.dimension;
    const bool beside_group = std::any_of(units.begin(), units.end(), [&](const auto& other) {
      return !is_one_sign(groups[other.first]) && other.second.dimension != entry.second.dimension;
    });
    if (!is_one_sign(groups[entry.first]) || !(beside_suffix || beside_group)) kept.push_back(entry);
  }
  if (!kept.empty()) {
    const auto& [first, unit] = kept.front();
    out.unit_text = std::string(groups[first].content);
    for (const auto& [other, other_unit] : kept)
      if (!same(unit, other_unit)) return two_units(text, *out.unit_text, std::string(groups[other].content));
    if (strong_suffix && !same(*suffix->unit, unit)) return two_units(text, suffix->unit_text, *out.unit_text);
    out.unit = unit;
    out.name = clean_name(without(text, {groups[first]}));
    return without_multiplier(std::move(out));
  }

  if (suffix) {
    out.name = suffix->name;
    for (const Group& g : groups) {
      out.name += ' ';
      out.name += text.substr(g.begin, g.end - g.begin);
    }
    out.unit_text = suffix->unit_text;
    out.unit = suffix->unit;
    out.error = suffix->error;
    out.remedy = suffix->remedy;
    return without_multiplier(std::move(out));
  }
  if (!groups.empty() && !groups.back().content.empty() && !is_remark(groups.back().content)) {
    out.unit_text = std::string(groups.back().content);
    out.error = last_failure.error;
    out.remedy = last_failure.remedy;
  }
  return out;
}

UnitLookup accept_heading(const Heading& heading, Dimension expected, const UnitRules& rules) {
  if (heading.unit) return accept_unit(*heading.unit, expected, rules);
  if (heading.unit_text) return {.unit = {}, .error = heading.error, .remedy = heading.remedy};
  const std::string_view unit = expected == Dimension::none ? "%" : expected == Dimension::angle ? "deg" : si_unit(expected);
  return {.unit = {}, .error = "the heading '" + heading.name + "' names no unit", .remedy = fmt::format("write it in brackets after the name, for example \"{} ({})\"", heading.name, unit)};
}

}  // namespace hardpan::units
