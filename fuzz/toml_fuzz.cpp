// SPDX-License-Identifier: Apache-2.0
// libFuzzer: any bytes as TOML. Every value is visited with every getter; a document that was refused must
// say why, one that was read must give a place for each of its values. The same bytes go through the JSON reader.
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <source_location>
#include <string_view>

#include "io/json.hpp"
#include "io/toml.hpp"

namespace {

using namespace hardpan;

void require(bool holds, std::source_location at = std::source_location::current()) {
  if (holds) return;
  std::fprintf(stderr, "line %u does not hold\n", static_cast<unsigned>(at.line()));
  std::abort();
}

void visit(const io::TomlTable& table);

void visit(const io::TomlValue& value) {
  require(value.place().file == "fuzz.toml" && value.place().line > 0);
  (void)value.as_typed();
  for (const io::TomlValue& item : value.items()) visit(item);
  if (const auto below = value.table()) visit(*below);
}

void visit(const io::TomlTable& table) {
  for (const auto& [key, value] : table.members()) {
    require(table.has(key));
    (void)table.text(key);
    (void)table.date(key);
    (void)table.integer(key);
    (void)table.number(key);
    (void)table.boolean(key);
    (void)table.texts(key);
    (void)table.numbers(key);
    (void)table.tables(key);
    visit(value);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  base::Problems problems;
  const io::TomlDocument document = io::parse_toml(bytes, "fuzz.toml", problems);
  require(document.readable() != problems.refused());
  if (document.readable()) {
    document.report_unread();
    visit(document.root());
    (void)document.root().require_text("name");
  }
  for (const base::Problem& p : problems.list()) require(!p.text().empty());

  base::Problems json_problems;
  if (const auto json = io::parse_json(bytes, "fuzz.json", json_problems)) {
    const auto again = io::parse_json(json->dump(), "fuzz.json", json_problems);
    require(again && again->dump() == json->dump());
  } else {
    require(json_problems.refused());
  }
  return 0;
}
