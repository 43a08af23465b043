// SPDX-License-Identifier: Apache-2.0
#include "report/detail/page.hpp"

#include <algorithm>
#include <cctype>

#include <fmt/core.h>

#include "report/detail/figure_ink.hpp"
#include "units/column_blocks.hpp"

namespace hardpan::report::detail {
namespace {

bool digit(char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; }

// Long names (paths, tests) may break behind a slash or an underscore; units such as kN/m do not.
std::string in_cell(const std::string& plain) {
  constexpr std::size_t kLongWord = 14;
  const std::string text = rich(plain);
  std::string out;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    const std::string word = text.substr(begin, end - begin);
    const bool breaks = word.size() > kLongWord && word.find('<') == std::string::npos;
    for (const char c : word) {
      out += c;
      if (breaks && (c == '/' || c == '_')) out += "<wbr>";
    }
    if (end < text.size()) out += ' ';
    begin = end + 1;
  }
  return out;
}

constexpr std::size_t kShortTable = 14;  // rows up to which a table is kept on one page
constexpr std::size_t kUnbroken = 30;    // characters up to which a number with its unit is kept on one line
constexpr std::size_t kUnbrokenAmongLonger = 16;
constexpr std::size_t kLongText = 52;    // characters from which a term takes the whole width of a card

// In characters; what is longer than a line keeps together breaks.
std::vector<std::size_t> widths(const Grid& grid) {
  std::vector<std::size_t> out;
  for (const std::string& heading : grid.columns) out.push_back(std::min(heading.size(), kUnbroken));
  for (const auto& row : grid.rows) {
    for (std::size_t k = 0; k < std::min(row.size(), out.size()); ++k) out[k] = std::max(out[k], std::min(row[k].size(), kUnbroken));
  }
  return out;
}

// The figure for wide windows and paper, and the one for narrow windows.
constexpr SvgOptions kWide{.width_px = 720, .height_px = 360}, kNarrow{.width_px = 380, .height_px = 340};

}  // namespace

std::string rich(const std::string& plain) {
  const std::string text = escape(plain);
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char before = i == 0 ? ' ' : text[i - 1], after = i + 1 < text.size() ? text[i + 1] : ' ';
    // A date does not break at its hyphens.
    const auto is_date = [&] {
      if (i + 10 > text.size() || digit(before) || before == '-') return false;
      for (std::size_t k = 0; k < 10; ++k) {
        if (k == 4 || k == 7 ? text[i + k] != '-' : !digit(text[i + k])) return false;
      }
      return true;
    };
    if (digit(text[i]) && is_date()) {
      out += "<span class=\"date\">" + text.substr(i, 10) + "</span>";
      i += 9;
    } else if (text[i] == '^' && (digit(after) || (after == '-' && i + 2 < text.size() && digit(text[i + 2])))) {
      std::size_t end = i + 2;
      while (end < text.size() && (digit(text[end]) || (text[end] == '.' && end + 1 < text.size() && digit(text[end + 1])))) ++end;
      out += "<sup>" + (after == '-' ? "&#8722;" + text.substr(i + 2, end - i - 2) : text.substr(i + 1, end - i - 1)) + "</sup>";
      i = end - 1;
    } else if (text.compare(i, 3, "+/-") == 0) {
      out += "&#177;";
      i += 2;
    } else if (text[i] == '-' && digit(after) && (before == ' ' || before == '(' || before == '[')) {
      out += "&#8722;";
    } else {
      out += text[i];
    }
  }
  return out;
}

void Page::open(const std::string& id, const std::string& heading) {
  out_ += fmt::format("<section id=\"{0}\" aria-labelledby=\"{0}-h\">\n<h2 id=\"{0}-h\">{1}</h2>\n", id, rich(heading));
}
void Page::close() { out_ += "</section>\n"; }

void Page::heading(int level, const std::string& text, const std::string& id) {
  out_ += fmt::format("<h{0}{1}>{2}</h{0}>\n", level, id.empty() ? "" : " id=\"" + id + "\"", rich(text));
}

void Page::paragraph(const std::string& text, const std::string& css_class) {
  if (text.empty()) return;
  out_ += "<p" + (css_class.empty() ? "" : " class=\"" + css_class + "\"") + ">" + rich(text) + "</p>\n";
}

void Page::list(const std::vector<std::string>& items, const std::string& css_class) {
  if (items.empty()) return;
  out_ += "<ul" + (css_class.empty() ? "" : " class=\"" + css_class + "\"") + ">\n";
  for (const std::string& item : items) out_ += "<li>" + rich(item) + "</li>\n";
  out_ += "</ul>\n";
}

void Page::terms(const std::vector<std::pair<std::string, std::string>>& items) {
  std::string inside;
  for (const auto& [term, text] : items) {
    if (!text.empty()) inside += std::string(text.size() > kLongText ? "<div class=\"long\">" : "<div>") + "<dt>" + rich(term) + "</dt><dd>" + in_cell(text) + "</dd></div>\n";
  }
  if (!inside.empty()) out_ += "<dl>\n" + inside + "</dl>\n";
}

void Page::table(const Grid& grid) {
  if (grid.rows.empty()) return;
  const std::string id = fmt::format("table-{}", ++tables_), name = fmt::format("<b>Table {}.</b> ", tables_);
  if (grid.in_blocks) {
    const auto blocks = units::column_blocks(widths(grid));
    for (std::size_t k = 0; k < blocks.size(); ++k) {
      block(grid, blocks[k].from, blocks[k].to, k == 0 ? id : fmt::format("{}-{}", id, k + 1), name + (k == 0 ? rich(grid.caption) : fmt::format("Block {} of {}", k + 1, blocks.size())));
    }
  } else {
    block(grid, 1, grid.columns.size(), id, name + rich(grid.caption));
  }
  if (!grid.note.empty()) paragraph(grid.note, "small");
}

void Page::block(const Grid& grid, std::size_t from, std::size_t to, const std::string& id, const std::string& caption) {
  std::vector<std::size_t> columns{0};
  for (std::size_t k = from; k < to; ++k) columns.push_back(k);
  const auto side = [&](std::size_t k) { return k < grid.right.size() && grid.right[k] == 'r' ? " class=\"r\"" : ""; };
  out_ += fmt::format("<div class=\"wide{}\" role=\"region\" tabindex=\"0\" aria-labelledby=\"{}\">\n<table{}>\n", grid.rows.size() <= kShortTable ? " short" : "", id,
                      columns.size() > 7 ? " class=\"many\"" : "");
  out_ += fmt::format("<caption id=\"{}\">{}</caption>\n<thead><tr>", id, caption);
  for (const std::size_t k : columns) out_ += fmt::format("<th scope=\"col\"{}>{}</th>", side(k), rich(grid.columns[k]));
  out_ += "</tr></thead>\n<tbody>\n";
  // Where a column holds longer texts, only short ones stay on one line: columns of like texts are as wide as each other.
  std::vector<std::size_t> unbroken(grid.columns.size(), kUnbroken);
  for (const auto& row : grid.rows) {
    for (std::size_t k = 0; k < std::min(row.size(), unbroken.size()); ++k) unbroken[k] = row[k].size() > kUnbroken ? kUnbrokenAmongLonger : unbroken[k];
  }
  for (const auto& row : grid.rows) {
    out_ += "<tr>";
    for (const std::size_t k : columns) {
      const bool head = k == 0 && grid.row_heads;
      const bool figure = k < row.size() && row[k].size() <= unbroken[k] && k < grid.right.size() && grid.right[k] == 'r';
      out_ += fmt::format("<{}{}>{}</{}>", head ? "th scope=\"row\"" : "td", figure ? " class=\"r n\"" : side(k), k < row.size() ? in_cell(row[k]) : "", head ? "th" : "td");
    }
    out_ += "</tr>\n";
  }
  out_ += "</tbody>\n</table>\n</div>\n";
}

void Page::figure(const Figure& figure) {
  ++figures_;
  out_ += fmt::format("<figure id=\"figure-{}\">\n<div class=\"at-wide\">{}</div>\n<div class=\"at-narrow\">{}</div>\n", figure.id,
                      to_svg(figure, kWide), to_svg(figure, kNarrow));
  // The picture shows its own title.
  out_ += fmt::format("<figcaption><b>Figure {}.</b> {}</figcaption>\n</figure>\n", figures_, rich(figure.caption.empty() ? figure.title : figure.caption));
}

}  // namespace hardpan::report::detail
