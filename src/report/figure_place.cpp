// SPDX-License-Identifier: Apache-2.0
#include "report/detail/figure_place.hpp"

#include <algorithm>
#include <cmath>

#include "report/detail/figure_axis.hpp"

namespace hardpan::report::detail {
namespace {
constexpr double kCell = 3;
int cell(double v) { return static_cast<int>(std::floor(std::clamp(v, -1e6, 1e6) / kCell)); }
}  // namespace

Clutter::Clutter(Box area)
    : area_(area),
      columns_(std::max(1, static_cast<int>(area.w / kCell))),
      rows_(std::max(1, static_cast<int>(area.h / kCell))),
      cells_(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_), 0) {}

template <class Change>
void Clutter::each(Box b, Change change) {
  for (int r = std::max(0, cell(b.y - area_.y)); r <= std::min(rows_ - 1, cell(b.bottom() - area_.y)); ++r)
    for (int c = std::max(0, cell(b.x - area_.x)); c <= std::min(columns_ - 1, cell(b.right() - area_.x)); ++c)
      change(cells_[static_cast<std::size_t>(r) * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(c)]);
}

void Clutter::add_box(Box b, int weight) {
  each(b, [&](int& v) { v = std::max(v, weight); });
}

void Clutter::clear(Box b) {
  each(b, [](int& v) { v = 0; });
}

void Clutter::add_line(double x0, double y0, double x1, double y1, int weight) {
  // Only the part near the area matters; far ends would cost time for nothing.
  const double reach = std::max(std::abs(x1 - x0), std::abs(y1 - y0));
  const int steps = static_cast<int>(std::clamp(reach / kCell * 1.5, 1.0, 4000.0));
  for (int i = 0; i <= steps; ++i) {
    const double t = static_cast<double>(i) / steps;
    add_box({x0 + t * (x1 - x0), y0 + t * (y1 - y0), 0, 0}, weight);
  }
}

double Clutter::cost(Box b) const {
  double sum = 0;
  for (int r = cell(b.y - area_.y); r <= cell(b.bottom() - area_.y); ++r)
    for (int c = cell(b.x - area_.x); c <= cell(b.right() - area_.x); ++c)
      sum +=
          r < 0 || c < 0 || r >= rows_ || c >= columns_
              ? 1000
              : cells_[static_cast<std::size_t>(r) * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(c)];
  return sum;
}

int Clutter::worst(Box b) const {
  int most = 0;
  for (int r = std::max(0, cell(b.y - area_.y)); r <= std::min(rows_ - 1, cell(b.bottom() - area_.y)); ++r)
    for (int c = std::max(0, cell(b.x - area_.x)); c <= std::min(columns_ - 1, cell(b.right() - area_.x)); ++c)
      most = std::max(
          most, cells_[static_cast<std::size_t>(r) * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(c)]);
  return most;
}

double text_width(const std::string& text, double size_px, bool bold) {
  double em = 0;
  for (const std::string& p : code_points(text)) {
    const char c = p.size() == 1 ? p[0] : 'n';
    if (std::string_view("ijl.,:;'|! I").find(c) != std::string_view::npos)
      em += 0.33;
    else if (std::string_view("frt()[]/-").find(c) != std::string_view::npos)
      em += 0.40;
    else if (std::string_view("mwMW%@").find(c) != std::string_view::npos)
      em += 0.93;
    else if (std::string_view("+=<>~").find(c) != std::string_view::npos)
      em += 0.84;
    else
      em += c >= 'A' && c <= 'Z' ? 0.72 : 0.63;
  }
  return em * size_px * (bold ? 1.12 : 1);
}

std::vector<std::string> wrap(const std::string& text, double size_px, double width_px, bool bold) {
  std::vector<std::string> words;
  bool apart = true;
  for (const char c : text) {
    const bool space = c == ' ' || c == '\n' || c == '\t';
    if (!space && apart) words.emplace_back();
    if (!space) words.back() += c;
    apart = space;
  }
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < words.size(); ++i) {
    std::string word = words[i];  // a number keeps its unit
    if (word.find_first_not_of("0123456789.,-") == std::string::npos && i + 1 < words.size() &&
        words[i + 1].size() <= 4)
      word += " " + words[++i];
    if (!lines.empty() && text_width(lines.back() + " " + word, size_px, bold) <= width_px)
      lines.back() += " " + word;
    else
      lines.push_back(word);
  }
  return lines;
}

}  // namespace hardpan::report::detail
