// SPDX-License-Identifier: Apache-2.0
// The rows stand in textbook_table.inc, made by tools/textbook_soils.py.
#include "soil/textbook.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

namespace hardpan::soil {
namespace {

struct Row {
  const char* id;
  const char* name;
  const char* source;
  bool read_in_source;
  std::optional<double> moisture_percent;
  double n, kc, kphi, cohesion_pa, phi_deg;
  std::optional<double> shear_modulus_m, density_kg_m3;
};

const Row kRows[] = {
#include "soil/textbook_table.inc"
};

NamedSoil named(const Row& row) {
  NamedSoil out{.id = row.id, .name = row.name, .source = row.source, .read_in_source = row.read_in_source,
                .textbook = true, .moisture_percent = row.moisture_percent};
  out.soil.bearing = bekker(row.n, row.kc, row.kphi);
  out.soil.shear = Shear{.cohesion_pa = row.cohesion_pa, .tan_phi = std::tan(row.phi_deg * std::numbers::pi / 180),
                         .shear_modulus_m = row.shear_modulus_m};
  out.soil.density_kg_m3 = row.density_kg_m3;
  return out;
}

}  // namespace

const std::vector<NamedSoil>& textbook_soils() {
  static const std::vector<NamedSoil> soils = [] {
    std::vector<NamedSoil> out;
    for (const Row& row : kRows) out.push_back(named(row));
    return out;
  }();
  return soils;
}

const NamedSoil* find_textbook_soil(std::string_view id) {
  const auto& soils = textbook_soils();
  const auto found = std::find_if(soils.begin(), soils.end(), [&](const NamedSoil& s) { return s.id == id; });
  return found == soils.end() ? nullptr : &*found;
}

}  // namespace hardpan::soil
