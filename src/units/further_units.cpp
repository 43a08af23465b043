// SPDX-License-Identifier: Apache-2.0
#include "units/detail/further_units.hpp"

#include <udunits2.h>

#include <atomic>
#include <cmath>
#include <memory>
#include <mutex>
#include <string>

#include <fmt/format.h>

#include "units/detail/plain_text.hpp"
#include "units/detail/unit_names.hpp"

namespace hardpan::units::detail {
namespace {

constexpr std::size_t kMaxText = 64;
constexpr std::size_t kMinName = 3;

struct FreeUnit {
  void operator()(ut_unit* unit) const { ut_free(unit); }
};
struct FreeConverter {
  void operator()(cv_converter* converter) const { cv_free(converter); }
};
struct FreeSystem {
  void operator()(ut_system* system) const { ut_free_system(system); }
};
using UnitPtr = std::unique_ptr<ut_unit, FreeUnit>;

std::atomic<bool> loaded{false};

// The library is not safe to call from two threads; every call is made under this lock.
struct Tables {
  std::mutex mutex;
  std::unique_ptr<ut_system, FreeSystem> system;
};
Tables& tables() {
  static Tables held;
  return held;
}

// "kg^1.m^-1.s^-2" in the library's syntax. Its radian is a named ratio, so it can be left out.
std::string base_units(const Powers& p, bool with_radian) {
  std::string out = "1";
  const auto add = [&](const char* symbol, int power) {
    if (power != 0) out += fmt::format(".{}^{}", symbol, power);
  };
  add("kg", p.kg);
  add("m", p.m);
  add("s", p.s);
  add("A", p.a);
  add("K", p.k);
  if (with_radian) add("rad", p.rad);
  return out;
}

bool knows_word(const ut_system* system, const std::string& word) {
  if (word.size() < kMinName) return false;
  return UnitPtr(ut_get_unit_by_name(system, word.c_str())) != nullptr ||
         UnitPtr(ut_get_unit_by_symbol(system, word.c_str())) != nullptr;
}

// The text as it may be handed over, or nothing.
std::optional<std::string> checked_text(const ut_system* system, std::string_view plain) {
  std::string out;
  bool divided = false;
  std::size_t i = 0;
  while (i < plain.size()) {
    if (!is_letter(plain[i])) return std::nullopt;
    std::size_t end = i;
    while (end < plain.size() && (is_letter(plain[end]) || plain[end] == '_')) ++end;
    const std::string word(plain.substr(i, end - i));
    if (find_refused(word) != nullptr) return std::nullopt;
    if (const UnitName* ours = find_name(word)) {
      if (ours->offset != 0.0 && !out.empty()) return std::nullopt;
      out += fmt::format("({:.17g} {})", ours->factor, base_units(powers(ours->dimension), true));
      if (ours->offset != 0.0) return std::nullopt;
    } else if (knows_word(system, word)) {
      out += word;
    } else {
      return std::nullopt;
    }
    i = end;
    if (i < plain.size() && plain[i] == '^') ++i;
    const bool minus = i + 1 < plain.size() && plain[i] == '-' && is_digit(plain[i + 1]);
    if (minus) ++i;
    if (i < plain.size() && is_digit(plain[i])) {
      out += fmt::format("^{}{}", minus ? "-" : "", plain[i]);
      ++i;
      if (i < plain.size() && (is_digit(plain[i]) || plain[i] == '.' || plain[i] == ',')) return std::nullopt;
    } else if (plain[i - 1] == '^') {
      return std::nullopt;
    }
    if (i == plain.size()) break;
    bool divides = false, separated = false;
    while (i < plain.size() && !is_letter(plain[i])) {
      const char c = plain[i++];
      if (c == '/' && !divides) divides = true;
      else if (c != ' ' && c != '*' && c != '-') return std::nullopt;
      separated = true;
    }
    if (!separated || i == plain.size() || (divided && !divides)) return std::nullopt;
    divided = divided || divides;
    out += divides ? " / " : " . ";
  }
  return out.empty() ? std::nullopt : std::optional(out);
}

bool has_radian(const ut_unit* unit) {
  char text[256];
  const int size = ut_format(unit, text, sizeof text - 1, UT_ASCII | UT_DEFINITION);
  if (size < 0) return false;
  return std::string_view(text, static_cast<std::size_t>(size)).find("rad") != std::string_view::npos;
}

// Fills factor and offset when the conversion is a straight line; the library also offers
// reciprocals (seconds to hertz) and logarithms.
bool straight_line(ut_unit* from, ut_unit* to, Unit& out) {
  const std::unique_ptr<cv_converter, FreeConverter> converter(ut_get_converter(from, to));
  if (!converter) return false;
  const double at_0 = cv_convert_double(converter.get(), 0.0);
  const double at_1 = cv_convert_double(converter.get(), 1.0);
  const double at_3 = cv_convert_double(converter.get(), 3.0);
  out.factor = at_1 - at_0;
  out.offset = at_0;
  const double size = std::abs(at_3) + std::abs(at_0);
  return std::isfinite(at_0) && std::isfinite(at_3) && out.factor > 0.0 &&
         std::abs(at_0 + 3.0 * out.factor - at_3) <= 1e-12 * size;  // rounding of three values
}

std::optional<Unit> classify(ut_system* system, ut_unit* unit, std::string_view plain) {
  if (ut_is_dimensionless(unit) != 0 && !has_radian(unit)) {
    // The tables hold counts and numbers beside ratios; parts per million and the like are ratios.
    if (!plain.starts_with("pp")) return std::nullopt;
  }
  for (const Dimension d : kDimensions) {
    const UnitPtr target(ut_parse(system, base_units(powers(d), false).c_str(), UT_ASCII));
    if (!target || ut_are_convertible(unit, target.get()) == 0) continue;
    if (has_radian(unit) != (powers(d).rad != 0)) continue;
    Unit out{.dimension = d, .spelling = std::string(plain)};
    if (!straight_line(unit, target.get(), out)) continue;
    if (out.offset != 0.0 && d != Dimension::temperature) continue;
    // Equal base units: without a force in it, a product of the second kind is an energy.
    if (d == Dimension::torque) out.dimension = Dimension::energy;
    return out;
  }
  return std::nullopt;
}

}  // namespace

FurtherUnit find_further_unit(std::string_view plain) {
  if (plain.empty() || plain.size() > kMaxText) return {};
  Tables& held = tables();
  const std::lock_guard lock(held.mutex);
  if (!held.system) {
    ut_set_error_message_handler(ut_ignore);
    held.system.reset(ut_read_xml(nullptr));
    loaded = true;
  }
  if (!held.system) return {.unit = {}, .tables_missing = true};
  const std::optional<std::string> text = checked_text(held.system.get(), plain);
  if (!text) return {};
  const UnitPtr unit(ut_parse(held.system.get(), text->c_str(), UT_ASCII));
  if (!unit) return {};
  return {.unit = classify(held.system.get(), unit.get(), plain)};
}

bool further_units_loaded() { return loaded; }

}  // namespace hardpan::units::detail
