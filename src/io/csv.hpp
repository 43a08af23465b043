// SPDX-License-Identifier: Apache-2.0
// Reading delimited text: csv_layout.hpp finds the layout, csv_table.hpp reads hand sheets as
// text, csv_columns.hpp reads logger files as numbers. Writing: csv_out.hpp.
#pragma once

#include "io/csv_columns.hpp"
#include "io/csv_layout.hpp"
#include "io/csv_number.hpp"
#include "io/csv_table.hpp"
