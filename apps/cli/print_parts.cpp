// SPDX-License-Identifier: Apache-2.0
#include "print_parts.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "service/quick.hpp"
#include "units/column_blocks.hpp"

namespace hardpan::cli {

using units::Dimension;
using units::OutputUnits;

namespace {

std::vector<std::string> lines_of(const std::string& cell) {
  std::vector<std::string> out{""};
  for (const char c : cell) {
    if (c == '\n') out.emplace_back();
    else out.back() += c;
  }
  return out;
}

std::vector<std::size_t> widths(const std::vector<std::vector<std::string>>& rows) {
  std::vector<std::size_t> width;
  for (const auto& row : rows) {
    width.resize(std::max(width.size(), row.size()), 0);
    for (std::size_t c = 0; c < row.size(); ++c) {
      for (const std::string& line : lines_of(row[c])) width[c] = std::max(width[c], line.size());
    }
  }
  return width;
}

}  // namespace

std::string table(const std::vector<std::vector<std::string>>& rows) {
  if (rows.empty()) return "";
  const std::vector<std::size_t> width = widths(rows);
  std::string out;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    std::vector<std::vector<std::string>> cells;
    std::size_t high = 1;
    for (const std::string& cell : rows[r]) {
      cells.push_back(lines_of(cell));
      high = std::max(high, cells.back().size());
    }
    for (std::size_t k = 0; k < high; ++k) {
      std::string line = "  ";
      for (std::size_t c = 0; c < cells.size(); ++c) {
        const std::string text = k < cells[c].size() ? cells[c][k] : "";
        line += c + 1 < cells.size() ? fmt::format("{:<{}}  ", text, width[c]) : text;
      }
      while (!line.empty() && line.back() == ' ') line.pop_back();
      out += line + "\n";
    }
    if (r == 0) {
      std::size_t total = 0;
      for (const std::size_t w : width) total += w + 2;
      out += "  " + std::string(total - 2, '-') + "\n";
    }
  }
  return out;
}

std::string table_in_blocks(const std::vector<std::vector<std::string>>& rows) {
  constexpr std::size_t kIndent = 2;
  std::string out;
  for (const units::ColumnBlock& b : units::column_blocks(widths(rows), units::kReadableWidth - kIndent)) {
    std::vector<std::vector<std::string>> block;
    for (const auto& row : rows) {
      block.push_back({row.front()});
      for (std::size_t c = b.from; c < std::min(b.to, row.size()); ++c) block.back().push_back(row[c]);
    }
    out += (out.empty() ? "" : "\n") + table(block);
  }
  return out;
}

std::string wrapped(const std::string& text, std::size_t width) {
  std::string out;
  std::size_t at = 0;  // characters of the line so far
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t space = text.find(' ', from);
    const std::string word = text.substr(from, space == std::string::npos ? space : space - from);
    if (at > 0 && at + 1 + word.size() > width) {
      out += "\n  " + word;
      at = 2 + word.size();
    } else {
      out += (at > 0 ? " " : "") + word;
      at += (at > 0 ? 1 : 0) + word.size();
    }
    from = space == std::string::npos ? text.size() : space + 1;
  }
  return out;
}

units::Unit column_unit(Dimension dimension, OutputUnits u) { return units::output_unit(1, dimension, u); }

namespace {

std::string word(double v) { return std::isnan(v) ? "no answer" : v > 0 ? "immobilised" : "none"; }

}  // namespace

std::string number(double v, int digits) { return std::isfinite(v) ? units::print_number(v, digits) : word(v); }
std::string fixed(double v, int decimals) { return std::isfinite(v) ? units::print_fixed(v, decimals) : word(v); }

std::string as_typed(double v_si, const units::Unit& unit, int digits) {
  std::string out = number(units::from_si(v_si, unit), digits);
  if (out.find('.') != std::string::npos && out.find('e') == std::string::npos) out.erase(out.find_last_not_of('0') + 1);
  if (out.back() == '.') out.pop_back();
  return out + (unit.spelling == "1" ? "" : " " + unit.spelling);
}

std::string margin_words(const std::optional<double>& margin_si, double needed_si, const units::Unit& unit, const std::string& limited_by, int needed_digits) {
  const std::string to = " to the " + as_typed(needed_si, unit, needed_digits) + " needed; limited by " + limited_by;
  if (!margin_si) return "no margin" + to;
  return std::string("margin ") + (*margin_si > 0 ? "+" : "") + as_typed(*margin_si, unit, 3) + to;
}

std::string degrees(double rad) {
  if (std::isnan(rad)) return "no answer";
  if (rad <= performance::kNoGradient + 1e-9) return "none";
  return units::print_fixed(rad * kDeg, 1);
}

std::string with_unit(double v, const std::string& unit, OutputUnits u) {
  const Dimension d = unit == "Pa" ? Dimension::pressure : unit == "m" ? Dimension::length : unit == "rad" ? Dimension::angle : unit == "N" ? Dimension::force
                    : unit == "N m" ? Dimension::torque : unit == "m/s" ? Dimension::speed : unit == "J/m" ? Dimension::energy_per_distance : unit == "kg" ? Dimension::mass : Dimension::none;
  if (!std::isfinite(v) || d == Dimension::none) return number(v, 4) + (unit.empty() || unit == "1" ? "" : " " + unit);
  return units::print_quantity(v, d, u);
}

}  // namespace hardpan::cli
