// SPDX-License-Identifier: Apache-2.0
#include "report/detail/figure_axis.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>

#include "base/assertion.hpp"

namespace hardpan::report {

std::string Axis::text() const { return unit.empty() ? label : fmt::format("{} ({})", label, unit); }

std::string Tally::text() const {
  std::string list;
  const auto item = [&](std::size_t n, const char* what) {
    if (n > 0) list += fmt::format("{}{} {} {}", list.empty() ? "" : ", ", n, n == 1 ? "value" : "values", what);
  };
  item(not_finite, "not finite");
  item(not_positive, "not positive on a log axis");
  item(outside, "outside the axis range");
  return list.empty() ? list : "Not drawn: " + list + ".";
}

Tally tally(const Figure& figure) {
  Tally sum;
  const auto xs = detail::extents(figure, Along::x), ys = detail::extents(figure, Along::y);
  for (std::size_t i = 0; i < figure.panels.size(); ++i) {
    const Panel& p = figure.panels[i];
    const Tally t = detail::tally(p, detail::plan_axis(p.x, xs[i], 8), detail::plan_axis(p.y, ys[i], 8));
    sum.drawn += t.drawn;
    sum.not_finite += t.not_finite;
    sum.not_positive += t.not_positive;
    sum.outside += t.outside;
    sum.cut += t.cut;
  }
  return sum;
}

namespace detail {
namespace {

// i * m * 10^k with one rounding, so that tick 3 of step 0.1 is the double nearest to 0.3.
double multiple(double i, int m, int k) { return k >= 0 ? i * m * std::pow(10.0, k) : i * m / std::pow(10.0, -k); }

std::string decimal(double v, int decimals) {
  if (std::abs(v) >= 1e7 || decimals > 5) return fmt::format("{:.6g}", v);
  const std::string text = fmt::format("{:.{}f}", v, decimals);
  return text.find_first_of("123456789") == std::string::npos && text[0] == '-' ? text.substr(1) : text;
}

void widen_when_flat(double& lo, double& hi, bool free_lo, bool free_hi) {
  const double size = std::max(std::abs(lo), std::abs(hi));
  if (hi - lo > 1e-9 * size && hi > lo) return;
  const double half = size > 0 ? 0.05 * size : 0.5;
  if (free_lo || !free_hi) lo -= half;
  if (free_hi || !free_lo) hi += half;
}

// Ticks at `at(i)`, a rising sequence of whole i with spacing near `step`.
template <class At>
std::pair<double, double> ends(double lo, double hi, double step, bool free_lo, bool free_hi, At at) {
  double first = std::floor(lo / step), last = std::ceil(hi / step);
  while (at(first) > lo) first -= 1;
  while (at(first + 1) <= lo) first += 1;
  while (at(last) < hi) last += 1;
  while (at(last - 1) >= hi) last -= 1;
  if (!free_lo && at(first) < lo) first += 1;
  if (!free_hi && at(last) > hi) last -= 1;
  return {first, last};
}

// Few ticks are far apart: a free end then stops at a part of a step, when that saves 0.4 of a step or more of
// blank paper and leaves three ticks.
void trim(Ticked& t, double lo, double hi, int m, int k, bool free_lo, bool free_hi) {
  if (t.ticks.size() > 5) return;
  const int part = m == 1 ? 5 : 1, decade = m == 1 ? k - 1 : k;  // a half of 1 and 2, a fifth of 5
  const auto at = [&](double i) { return multiple(i, part, decade); };
  const auto [first, last] = ends(lo, hi, at(1), true, true, at);
  const double worth = 0.4 * multiple(1, m, k);
  if (free_hi && t.ticks.size() > 3 && t.hi - at(last) >= worth) {
    t.hi = at(last);
    t.ticks.pop_back();
  }
  if (free_lo && t.ticks.size() > 3 && at(first) - t.lo >= worth) {
    t.lo = at(first);
    t.ticks.erase(t.ticks.begin());
  }
}

}  // namespace

Ticked linear_ticks(double lo, double hi, int most, bool free_lo, bool free_hi) {
  HARDPAN_ASSERT(std::isfinite(lo) && std::isfinite(hi) && lo <= hi && most >= 3);
  widen_when_flat(lo, hi, free_lo, free_hi);
  static constexpr std::array<int, 3> kMantissas{1, 2, 5};
  for (int k = static_cast<int>(std::floor(std::log10((hi - lo) / most))) - 1;; ++k) {
    for (const int m : kMantissas) {
      const auto at = [&](double i) { return multiple(i, m, k); };
      const auto [first, last] = ends(lo, hi, at(1), free_lo, free_hi, at);
      if (last - first + 1 > most) continue;
      Ticked out{.lo = free_lo ? at(first) : lo, .hi = free_hi ? at(last) : hi, .ticks = {}};
      for (double i = first; i <= last; i += 1) out.ticks.push_back({at(i), decimal(at(i), std::max(0, -k))});
      trim(out, lo, hi, m, k, free_lo, free_hi);
      return out;
    }
  }
}

Ticked log_ticks(double lo, double hi, int most, bool free_lo, bool free_hi) {
  HARDPAN_ASSERT(lo > 0 && std::isfinite(hi) && lo <= hi && most >= 3);
  const auto round_out = [](double v, bool up) {
    const int k = static_cast<int>(std::floor(std::log10(v))) + (up ? -1 : 1);
    static constexpr std::array<int, 3> kDown{5, 2, 1}, kUp{1, 2, 5};
    for (int d = 0;; d += up ? 1 : -1)
      for (const int m : up ? kUp : kDown)
        if (const double r = multiple(1, m, k + d); up ? r >= v : r <= v) return r;
  };
  if (free_lo) lo = round_out(lo, false);
  if (free_hi) hi = round_out(hi, true);
  if (!(lo < hi)) (free_hi ? hi : lo) = free_hi ? round_out(lo * 1.5, true) : round_out(hi / 1.5, false);
  Ticked out{.lo = lo, .hi = hi, .ticks = {}};
  const int k0 = static_cast<int>(std::floor(std::log10(lo))) - 1, k1 = static_cast<int>(std::ceil(std::log10(hi))) + 1;
  const auto collect = [&](std::initializer_list<int> mantissas, int stride) {
    std::vector<Tick> list;
    for (int k = k0; k <= k1; ++k)
      for (const int m : mantissas)
        if (const double v = multiple(1, m, k); v >= lo && v <= hi && k % stride == 0)
          list.push_back({v, fmt::format("{}", v)});
    return list;
  };
  const auto fits = [&](const std::vector<Tick>& list) {
    return list.size() >= 3 && list.size() <= static_cast<std::size_t>(most);
  };
  std::vector<Tick> major = collect({1}, 1);
  int stride = 1;
  if (major.size() < 3) {
    for (const std::initializer_list<int> set :
         {std::initializer_list<int>{1, 2, 5}, {1, 3}, {1, 5}, {1, 2, 3, 4, 5, 6, 7, 8, 9}})
      if (const auto list = collect(set, 1); !fits(major) && fits(list)) major = list;
    if (!fits(major)) major = linear_ticks(lo, hi, std::max(4, most), false, false).ticks;
  }
  while (major.size() > static_cast<std::size_t>(most)) major = collect({1}, ++stride);
  out.ticks = major;
  for (const Tick& t : collect({1, 2, 3, 4, 5, 6, 7, 8, 9}, 1)) {
    const bool is_major = std::any_of(major.begin(), major.end(), [&](const Tick& m) { return m.value == t.value; });
    if (!is_major && stride == 1 && k1 - k0 < 12) out.ticks.push_back({t.value, "", false});
  }
  std::sort(out.ticks.begin(), out.ticks.end(), [](const Tick& a, const Tick& b) { return a.value < b.value; });
  return out;
}

Ticked clock_ticks(double lo, double hi, int most, bool free_lo, bool free_hi) {
  HARDPAN_ASSERT(std::isfinite(lo) && std::isfinite(hi) && lo <= hi && most >= 3);
  if (hi - lo < 2) {
    lo -= free_lo ? 1 : 0;
    hi += free_hi ? 1 : 0;
  }
  static constexpr std::array<int, 18> kSteps{1,   2,   5,    10,   15,   30,    60,    120,   300,
                                              600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400};
  for (double whole = 1;; whole *= 2) {  // beyond a day: 1, 2, 4 ... days
    for (const int s : kSteps) {
      const double step = s * whole;
      if (whole > 1 && s != 86400) continue;
      const auto [first, last] = ends(lo, hi, step, free_lo, free_hi, [&](double i) { return i * step; });
      if (last - first + 1 > most) continue;
      Ticked out{.lo = free_lo ? first * step : lo, .hi = free_hi ? last * step : hi, .ticks = {}};
      for (double i = first; i <= last; i += 1) {
        const double day = std::fmod(std::fmod(i * step, 86400) + 86400, 86400);
        const int t = static_cast<int>(day);
        out.ticks.push_back({i * step, s < 60 ? fmt::format("{:02}:{:02}:{:02}", t / 3600, t / 60 % 60, t % 60)
                                              : fmt::format("{:02}:{:02}", t / 3600, t / 60 % 60)});
      }
      return out;
    }
  }
}

Extent extent(const Panel& panel, Along along) {
  const bool is_x = along == Along::x;
  const bool log = (is_x ? panel.x : panel.y).scale == Scale::log10;
  Extent e;
  const auto add = [&](double v) {
    if (!std::isfinite(v) || (log && v <= 0)) return false;
    e.lo = std::min(e.lo, v);
    e.hi = std::max(e.hi, v);
    return true;
  };
  for (const Series& s : panel.series) {
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      const bool band = s.kind == Kind::band;
      if (fate(panel, s.x[i], band ? s.y_lo[i] : s.y[i]) != Fate::drawn) continue;
      if (band && fate(panel, s.x[i], s.y_hi[i]) != Fate::drawn) continue;
      if (is_x) {
        e.values += add(s.x[i]) ? 1 : 0;
      } else if (!band) {
        e.values += add(s.y[i]) ? 1 : 0;
      }
      const auto& lo = is_x ? s.x_lo : s.y_lo;
      const auto& hi = is_x ? s.x_hi : s.y_hi;
      if (!lo.empty()) e.values += add(lo[i]) ? 1 : 0;
      if (!hi.empty()) e.values += add(hi[i]) ? 1 : 0;
    }
    if (is_x && s.kind == Kind::bars) add(s.base);
  }
  for (const Reference& r : panel.references)
    if (r.axis == along) add(r.value);
  for (const Shade& s : panel.shades)
    if (s.axis == along) add(s.lo), add(s.hi);
  for (const Note& n : panel.notes) add(is_x ? n.x : n.y);
  return e;
}

std::vector<Extent> extents(const Figure& figure, Along axis) {
  std::vector<Extent> list;
  for (const Panel& p : figure.panels) list.push_back(extent(p, axis));
  if (axis == Along::x && figure.shared_x && figure.arrangement == Arrangement::stacked) {
    Extent all;
    for (const Extent& e : list) all = {std::min(all.lo, e.lo), std::max(all.hi, e.hi), all.values + e.values};
    std::fill(list.begin(), list.end(), all);
  }
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (!figure.panels[i].same_range) continue;
    const Extent other = extent(figure.panels[i], axis == Along::x ? Along::y : Along::x);
    list[i] = {std::min(list[i].lo, other.lo), std::max(list[i].hi, other.hi), list[i].values};
  }
  return list;
}

Ticked plan_axis(const Axis& axis, const Extent& data, int most) {
  const bool log = axis.scale == Scale::log10;
  HARDPAN_ASSERT(!axis.min || (std::isfinite(*axis.min) && (!log || *axis.min > 0)));
  HARDPAN_ASSERT(!axis.max || (std::isfinite(*axis.max) && (!axis.min || *axis.min < *axis.max)));
  if (axis.scale == Scale::category) {
    Ticked out{.lo = -0.5, .hi = static_cast<double>(axis.categories.size()) - 0.5, .ticks = {}};
    for (std::size_t i = 0; i < axis.categories.size(); ++i)
      out.ticks.push_back({static_cast<double>(i), axis.categories[i]});
    if (axis.categories.empty()) out.hi = 0.5;
    return out;
  }
  double lo = data.any() ? data.lo : log ? 1 : 0, hi = data.any() ? data.hi : log ? 10 : 1;
  if (axis.from_zero && !log) lo = std::min(lo, 0.0), hi = std::max(hi, 0.0);
  if (axis.min) lo = *axis.min;
  if (axis.max) hi = *axis.max;
  if (axis.min && hi < lo) hi = lo;  // all data lie beyond the one fixed end: they are counted as outside
  if (axis.max && lo > hi) lo = hi;
  if (!axis.at.empty()) {
    HARDPAN_ASSERT(axis.scale == Scale::linear && lo < hi);
    Ticked out{.lo = lo, .hi = hi, .ticks = {}};
    const std::size_t every = (axis.at.size() + static_cast<std::size_t>(most) - 1) / static_cast<std::size_t>(most);
    // All with as many decimals as tell neighbours apart to a hundredth of their distance.
    int decimals = 0;
    const double step = axis.at.size() > 1 ? axis.at[1] - axis.at[0] : axis.at[0];
    const auto rounded = [&](double v) { return std::round(v * std::pow(10, decimals)) / std::pow(10, decimals); };
    while (decimals < 6 && std::any_of(axis.at.begin(), axis.at.end(), [&](double v) { return std::abs(rounded(v) - v) > 0.005 * std::abs(step); })) ++decimals;
    for (std::size_t i = 0; i < axis.at.size(); ++i) {
      const bool major = i % every == 0;
      if (out.holds(axis.at[i])) out.ticks.push_back({axis.at[i], major ? decimal(axis.at[i], decimals) : "", major});
    }
    return out;
  }
  const auto ticks = log ? log_ticks : axis.scale == Scale::clock ? clock_ticks : linear_ticks;
  return ticks(lo, hi, most, !axis.min, !axis.max);
}

Fate fate(const Panel& panel, double x, double y) {
  if (!std::isfinite(x) || !std::isfinite(y)) return Fate::not_finite;
  const bool cut = (panel.x.scale == Scale::log10 && x <= 0) || (panel.y.scale == Scale::log10 && y <= 0);
  return cut ? Fate::not_positive : Fate::drawn;
}

Tally tally(const Panel& panel, const Ticked& tx, const Ticked& ty) {
  Tally t;
  for (const Series& s : panel.series) {
    const bool band = s.kind == Kind::band;
    HARDPAN_ASSERT(band ? s.y_lo.size() == s.x.size() && s.y_hi.size() == s.x.size() : s.y.size() == s.x.size());
    for (const auto* list : {&s.x_lo, &s.x_hi, &s.y_lo, &s.y_hi})
      HARDPAN_ASSERT(list->empty() || list->size() == s.x.size());
    HARDPAN_ASSERT(s.text.empty() || s.text.size() == s.x.size());
    if (s.kind == Kind::cells) HARDPAN_ASSERT(s.x_lo.size() == s.x.size() && s.x_hi.size() == s.x.size() && s.y_lo.size() == s.x.size() && s.y_hi.size() == s.x.size());
    for (std::size_t i = 0; i < s.x.size(); ++i) {
      const Fate one = fate(panel, s.x[i], band ? s.y_lo[i] : s.y[i]);
      const Fate other = band ? fate(panel, s.x[i], s.y_hi[i]) : one;
      const Fate f = one == Fate::drawn ? other : one;
      if (f == Fate::not_finite) ++t.not_finite;
      if (f == Fate::not_positive) ++t.not_positive;
      if (f != Fate::drawn) continue;
      const bool inside = band ? tx.holds(s.x[i]) : tx.holds(s.x[i]) && ty.holds(s.y[i]);
      const bool leaves = s.kind == Kind::line || band;  // seen to leave the frame: not counted as lost
      ++(inside ? t.drawn : leaves ? t.cut : t.outside);
      if (band) continue;
      for (const auto* list : {&s.x_lo, &s.x_hi, &s.y_lo, &s.y_hi}) {
        if (list->empty()) continue;
        const bool of_x = list == &s.x_lo || list == &s.x_hi;
        const Fate end = of_x ? fate(panel, (*list)[i], s.y[i]) : fate(panel, s.x[i], (*list)[i]);
        if (end == Fate::not_finite) ++t.not_finite;
        if (end == Fate::not_positive) ++t.not_positive;
      }
    }
  }
  return t;
}

std::string why_empty(const Panel& panel, const Tally& t) {
  if (t.drawn > 0) return {};
  if (!panel.empty_reason.empty()) return "no data: " + panel.empty_reason;
  if (t.outside + t.cut > 0)
    return t.outside + t.cut == 1 ? std::string("no data: the one finite value lies outside the axis range") : fmt::format("no data: all {} finite values lie outside the axis range", t.outside + t.cut);
  if (t.not_positive > 0 && t.not_finite == 0)
    return t.not_positive == 1 ? std::string("no data: the one value is zero or negative on a log axis") : fmt::format("no data: all {} values are zero or negative on a log axis", t.not_positive);
  if (t.not_finite + t.not_positive > 0)
    return t.not_finite + t.not_positive == 1 ? std::string("no data: the one value cannot be drawn") : fmt::format("no data: none of {} values can be drawn", t.not_finite + t.not_positive);
  return panel.series.empty() ? "no data: no series was given" : "no data: the series are empty";
}

Transform transform(const Ticked& t, Scale scale, double at_lo, double at_hi) {
  Transform out{.log = scale == Scale::log10};
  const double lo = out.log ? std::log10(t.lo) : t.lo, hi = out.log ? std::log10(t.hi) : t.hi;
  out.b = (at_hi - at_lo) / (hi - lo);
  out.a = at_lo - out.b * lo;
  return out;
}

std::vector<std::string> code_points(const std::string& text) {
  std::vector<std::string> list;
  for (std::size_t i = 0; i < text.size();) {
    const unsigned char c = static_cast<unsigned char>(text[i]);
    const std::size_t n = c < 0x80                ? 1
                          : c >= 0xC2 && c < 0xE0 ? 2
                          : c >= 0xE0 && c < 0xF0 ? 3
                          : c >= 0xF0 && c < 0xF5 ? 4
                                                  : 0;
    bool whole = n > 0 && i + n <= text.size() && c != 0x7F && (c >= 0x20 || n > 1);
    for (std::size_t k = 1; whole && k < n; ++k) whole = (static_cast<unsigned char>(text[i + k]) & 0xC0) == 0x80;
    if (whole && n == 3) {  // overlong forms, surrogates, and the two non-characters XML forbids
      const unsigned v = (c & 15u) << 12 | (static_cast<unsigned char>(text[i + 1]) & 63u) << 6 |
                         (static_cast<unsigned char>(text[i + 2]) & 63u);
      whole = v >= 0x800 && !(v >= 0xD800 && v < 0xE000) && v < 0xFFFE;
    }
    if (whole && n == 4) {
      const unsigned char d = static_cast<unsigned char>(text[i + 1]);
      whole = (c > 0xF0 || d >= 0x90) && (c < 0xF4 || d < 0x90);
    }
    list.push_back(whole ? text.substr(i, n) : c == '\t' || c == '\n' || c == '\r' ? " " : "?");
    i += whole ? n : 1;
  }
  return list;
}

}  // namespace detail
}  // namespace hardpan::report
