// SPDX-License-Identifier: Apache-2.0
// Tables as CSV after RFC 4180 (2005): comma, CRLF, quotes where needed, UTF-8, decimal point. One
// heading line "name [unit]". Numbers have the fewest digits that read back to the same double.
#pragma once

#include <string>

#include "io/table.hpp"

namespace hardpan::io {

[[nodiscard]] std::string csv_text(const Table& table);
void write_csv(const std::string& path, const Table& table);  // whole or not at all

}  // namespace hardpan::io
