// SPDX-License-Identifier: Apache-2.0
#include "io/csv_out.hpp"

#include <cmath>

#include "base/assertion.hpp"
#include "io/atomic_files.hpp"
#include "io/json.hpp"

namespace hardpan::io {
namespace {

void append_text(std::string& out, const std::string& text) {
  const bool edge_blank = !text.empty() && (text.front() == ' ' || text.back() == ' ');
  if (!edge_blank && text.find_first_of(",\"\r\n") == std::string::npos) {
    out += text;
    return;
  }
  out += '"';
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  out += '"';
}

}  // namespace

std::string csv_text(const Table& table) {
  std::string out;
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    if (i > 0) out += ',';
    append_text(out, table.columns[i].text());
  }
  out += "\r\n";
  for (const auto& row : table.rows) {
    HARDPAN_ASSERT(row.size() == table.columns.size());
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (i > 0) out += ',';
      if (const auto* number = std::get_if<double>(&row[i])) {
        out += std::isfinite(*number) ? json_number(*number) : "not finite";
      } else if (const auto* text = std::get_if<std::string>(&row[i])) {
        append_text(out, *text);
      }
    }
    out += "\r\n";
  }
  return out;
}

void write_csv(const std::string& path, const Table& table) { write_file(path, csv_text(table)); }

}  // namespace hardpan::io
