// SPDX-License-Identifier: Apache-2.0
#include "units/detail/compound.hpp"

#include <cmath>

#include "units/detail/plain_text.hpp"
#include "units/detail/unit_names.hpp"

namespace hardpan::units::detail {
namespace {

constexpr int kMaxExponent = 4;  // no quantity of this trade goes beyond the fourth power of a length
constexpr int kMaxDepth = 4;     // brackets within brackets

struct Product {
  double factor = 1.0;
  Powers powers;
  bool force = false, energy = false, pressure = false;
  int names = 0;
  std::string above, below;  // spellings over and under the slash
};

void add_powers(Powers& to, const Powers& p, int exponent) {
  to.kg += p.kg * exponent;
  to.m += p.m * exponent;
  to.s += p.s * exponent;
  to.a += p.a * exponent;
  to.k += p.k * exponent;
  to.rad += p.rad * exponent;
}

void add_spelling(Product& product, std::string_view spelling, int exponent) {
  std::string& side = exponent > 0 ? product.above : product.below;
  if (!side.empty()) side += ' ';
  side += spelling;
  if (const int size = std::abs(exponent); size != 1) side += "^" + std::to_string(size);
}

class Reader {
 public:
  explicit Reader(std::string_view text) : text_(text) {}

  bool read(Product& out) { return product(out, 1, 0) && at_ == text_.size() && out.names > 0; }
  std::string error, remedy;

 private:
  [[nodiscard]] char peek(std::size_t ahead = 0) const {
    return at_ + ahead < text_.size() ? text_[at_ + ahead] : '\0';
  }

  // Steps over what stands between two factors. Returns '*', '/', ')' , '\0' (end) or '?'.
  char separator() {
    char kind = '\0';
    for (; at_ < text_.size(); ++at_) {
      const char c = peek();
      if (c == ' ' || c == '.' || c == '*' || (c == '-' && (is_letter(peek(1)) || peek(1) == ' '))) {
        if (kind == '\0') kind = '*';
        continue;
      }
      if (c == '/') {
        if (kind == '/') return '?';
        kind = '/';
        continue;
      }
      if (word() == "per") {
        if (kind == '/') return '?';
        kind = '/';
        at_ += 2;  // the loop steps over the third letter
        continue;
      }
      break;
    }
    if (peek() == ')') return ')';
    return at_ == text_.size() && kind == '*' ? '\0' : kind == '\0' && at_ < text_.size() ? '?' : kind;
  }

  [[nodiscard]] std::string_view word() const {
    std::size_t end = at_;
    while (end < text_.size() && is_letter(text_[end])) ++end;
    return text_.substr(at_, end - at_);
  }

  bool product(Product& out, int sign, int depth) {
    if (depth > kMaxDepth) return false;
    int next_sign = sign;
    bool divided = false;
    if (peek() == '1' && (peek(1) == '/' || peek(1) == ' ')) {
      ++at_;
      if (separator() != '/') return false;
      next_sign = -sign;
      divided = true;
    }
    while (true) {
      if (!factor(out, next_sign, depth)) return false;
      const char between = separator();
      if (between == ')' || between == '\0') return true;
      if (between == '?') return false;
      if (between == '/') {
        next_sign = -sign;
        divided = true;
      } else if (divided) {
        error = "has a multiplication after a division";
        remedy = "put the divisor in brackets, for example N/(m s)";
        return false;
      }
    }
  }

  bool factor(Product& out, int sign, int depth) {
    if (peek() == '(') {
      ++at_;
      Product inner;
      if (!product(inner, 1, depth + 1) || peek() != ')') return false;
      ++at_;
      const int exponent = read_exponent() * sign;
      if (exponent == 0) return false;
      out.factor *= std::pow(inner.factor, exponent);
      add_powers(out.powers, inner.powers, exponent);
      out.force |= inner.force, out.energy |= inner.energy, out.pressure |= inner.pressure;
      out.names += inner.names;
      if (std::abs(exponent) != 1) return false;  // not needed, and hard to spell back
      if (!inner.below.empty()) return false;
      if (!inner.above.empty()) add_spelling(out, inner.above, exponent);
      return true;
    }
    int preset = 1;
    std::string_view name = word();
    const std::string plain_name = lower(name);
    if (plain_name == "sq" || plain_name == "square" || plain_name == "cu" || plain_name == "cubic") {
      preset = plain_name[0] == 's' ? 2 : 3;
      at_ += name.size();
      while (peek() == '.' || peek() == ' ') ++at_;
      name = word();
    }
    if (name.empty()) return false;
    const UnitName* unit = find_name(name);
    if (unit == nullptr) {
      if (const RefusedName* refused = find_refused(name)) {
        error = "contains '" + std::string(name) + "', which " + std::string(refused->why);
        remedy = refused->remedy;
      }
      return false;
    }
    if (!unit->atom) return false;
    at_ += name.size();
    const int exponent = read_exponent() * preset * sign;
    if (exponent == 0 || std::abs(exponent) > kMaxExponent) return false;
    out.factor *= std::pow(unit->factor, exponent);
    add_powers(out.powers, powers(unit->dimension), exponent);
    out.force |= unit->flavour == Flavour::force;
    out.energy |= unit->flavour == Flavour::energy;
    out.pressure |= unit->flavour == Flavour::pressure;
    ++out.names;
    add_spelling(out, unit->spelling, exponent);
    return true;
  }

  // 1 when there is none, 0 when it cannot be read.
  int read_exponent() {
    bool raised = false;
    if (peek() == '^') ++at_, raised = true;
    else if (peek() == '*' && peek(1) == '*') at_ += 2, raised = true;
    const bool minus = peek() == '-' && is_digit(peek(1));
    if (minus) ++at_;
    else if (raised && peek() == '+') ++at_;
    if (!is_digit(peek())) {
      if (raised) say_modulus();
      return raised ? 0 : 1;
    }
    const int size = peek() - '0';
    ++at_;
    if (is_digit(peek())) return 0;
    if ((peek() == '.' || peek() == ',' || peek() == '/') && is_digit(peek(1))) {
      say_modulus();
      return 0;
    }
    return minus ? -size : size;
  }

  void say_modulus() {
    error = "has an exponent that is no whole number";
    remedy = "a pressure-sinkage modulus is typed as a number beside its n; its unit follows from n";
  }

  std::string_view text_;
  std::size_t at_ = 0;
};

std::optional<Dimension> classify(const Product& p) {
  std::optional<Dimension> found;
  const auto is = [&](Dimension d) { return p.powers == powers(d); };
  if (is(Dimension::torque)) found = p.energy || !p.force ? Dimension::energy : Dimension::torque;
  else if (is(Dimension::force)) found = p.energy ? Dimension::energy_per_distance : Dimension::force;
  else if (is(Dimension::unit_weight)) found = p.pressure ? Dimension::pressure_gradient : Dimension::unit_weight;
  else
    for (const Dimension d : kDimensions)
      if (is(d)) found = d;
  // Energy over a volume or an area has the base units of a pressure or a stiffness and is neither.
  const bool energetic = found == Dimension::energy || found == Dimension::power || found == Dimension::energy_per_distance ||
                         found == Dimension::none;
  if (p.energy && !energetic) return std::nullopt;
  return found;
}

}  // namespace

UnitLookup read_compound(std::string_view plain) {
  Product product;
  Reader reader(plain);
  if (!reader.read(product)) return {.unit = {}, .error = reader.error, .remedy = reader.remedy};
  const std::optional<Dimension> dimension = classify(product);
  if (!dimension) {
    return {.unit = {}, .error = "is a product of units for no quantity this program knows",
            .remedy = "check the unit"};
  }
  std::string spelling = product.above.empty() ? "1" : product.above;
  if (!product.below.empty()) {
    const bool many = product.below.find(' ') != std::string::npos;
    spelling += many ? "/(" + product.below + ")" : "/" + product.below;
  }
  return {.unit = Unit{.factor = product.factor, .dimension = *dimension, .spelling = spelling}, .error = {}, .remedy = {}};
}

}  // namespace hardpan::units::detail
