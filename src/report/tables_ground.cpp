// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/detail/table_rows.hpp"
#include "units/print.hpp"

namespace hardpan::report::detail {
namespace {

void add_parameter(io::Table& t, const std::string& zone, const std::string& kind, const records::Parameter& p) {
  const RowUnit unit = row_unit(p.unit);
  Row row{cell(zone), cell(kind), cell(p.key), cell(p.meaning), cell(unit.name)};
  estimate_cells(row, p.estimate, unit);
  row.push_back(low(p.average_soil_only, unit));
  row.push_back(high(p.average_soil_only, unit));
  row.push_back(p.instrument_sd ? cell(*p.instrument_sd, unit) : io::TableCell{});
  row.push_back(count(p.estimate.n));
  row.push_back(cell(p.estimate.status));
  row.push_back(cell(p.basis));
  t.rows.push_back(std::move(row));
}

io::Table parameters(const campaign::Results& r) {
  io::Table t{.name = "soil-parameters", .title = "Soil parameters with intervals",
              .columns = {{"zone", ""}, {"tests", ""}, {"parameter", ""}, {"meaning", ""}, {"unit", ""}}};
  estimate_columns(t.columns, "value");
  for (const char* c : {"average, soil scatter alone, low", "average, soil scatter alone, high", "instrument, one standard deviation", "points", "status", "basis"}) t.columns.push_back({c, ""});
  for (const records::ZoneGround& z : r.ground.zones) {
    if (z.plates) for (const auto& p : z.plates->parameters) add_parameter(t, z.zone, "plate", p);
    if (z.shear) for (const auto& p : z.shear->parameters) add_parameter(t, z.zone, "shear", p);
    for (const auto& c : z.cones) {
      for (const auto& layer : c.layers) {
        add_parameter(t, z.zone, "cone", layer.cone_index);
        if (layer.rating_cone_index) add_parameter(t, z.zone, "cone", *layer.rating_cone_index);
      }
    }
    if (z.bulk) for (const auto& p : z.bulk->parameters) add_parameter(t, z.zone, "repose, density, moisture", p);
  }
  return t;
}

// SI units of the two moduli, which the relation and its exponent imply.
std::pair<std::string, std::string> modulus_units(const records::PlateFit& f) {
  const auto lengths = [&](int more) { return "N/m^" + units::print_number(f.bearing.n + more, 4); };
  if (!f.ok()) return {};
  switch (f.law) {
    case soil::PressureLaw::bekker: return {lengths(1), lengths(2)};
    case soil::PressureLaw::single_plate: return {lengths(2), ""};
    case soil::PressureLaw::reece: return {"Pa", "N/m^3"};
    case soil::PressureLaw::muskeg: return {"N/m^3", "N/m^3"};
  }
  return {};
}

io::Table fits(const campaign::Results& r) {
  io::Table t{.name = "plate-fits", .title = "Pressure-sinkage estimators side by side",
              .columns = {{"zone", ""}, {"estimator", ""}, {"relation", ""}, {"n", "-"}, {"unit of the first modulus", ""}, {"first modulus", ""}, {"unit of the second modulus", ""}, {"second modulus", ""}, {"window from", "m"}, {"window to", "m"},
                          {"tests", ""}, {"readings", ""}, {"misfit", "Pa"}, {"misfit of ln p", "-"}, {"status", ""}, {"basis", ""}}};
  for (const records::ZoneGround& z : r.ground.zones) {
    if (!z.plates) continue;
    for (const records::PlateFit& f : z.plates->fits) {
      const auto [first, second] = modulus_units(f);
      t.rows.push_back({cell(z.zone), cell(records::name(f.estimator)), cell(soil::name(f.law)), cell(f.bearing.n), cell(first), cell(f.bearing.first_modulus), cell(second), cell(f.bearing.second_modulus), cell(f.window_from_m),
                        cell(f.window_to_m), count(f.tests), count(f.readings), cell(f.rms_pa), cell(f.rms_ln_p), cell(f.status), cell(f.basis)});
    }
  }
  return t;
}

io::Table shear_runs(const campaign::Results& r) {
  io::Table t{.name = "shear-runs", .title = "Shear runs",
              .columns = {{"zone", ""}, {"run", ""}, {"point", ""}, {"surface", ""}, {"normal stress", "Pa"}, {"strength", "Pa"}, {"relation", ""}, {"shear displacement modulus", "m"}, {"misfit", "Pa"}, {"flagged", ""}, {"reason", ""}}};
  for (const records::ZoneGround& z : r.ground.zones) {
    if (!z.shear) continue;
    const auto add = [&](const records::ShearRun& run, const char* surface) {
      io::TableCell k, rms;
      for (const auto& f : run.fits) {
        if (f.law != run.better || !f.ok()) continue;
        k = cell(f.shear_modulus_m);
        rms = cell(f.rms_pa);
      }
      t.rows.push_back({cell(z.zone), cell(run.test), cell(run.point), cell(surface), cell(run.normal_stress_pa), cell(run.strength_pa), cell(soil::name(run.better)), k, rms, yes(run.flagged), cell(run.reason)});
    };
    for (const auto& run : z.shear->runs) add(run, "soil");
    for (const auto& run : z.shear->metal_runs) add(run, "smooth metal");
  }
  return t;
}

io::Table cone_layers(const campaign::Results& r) {
  io::Table t{.name = "cone-layers", .title = "Cone index of each push by layer",
              .columns = {{"zone", ""}, {"test", ""}, {"point", ""}, {"class", ""}, {"base area", "m^2"}, {"from", "m"}, {"to", "m"}, {"readings", ""}, {"cone index", "Pa"}, {"rating cone index", "Pa"}}};
  for (const records::ConeProfile& c : r.ground.cone_profiles) {
    for (const records::ConeLayer& layer : c.layers) {
      t.rows.push_back({cell(c.source.zone), cell(c.source.id), cell(c.source.point), cell(c.population), cell(c.base_area_m2), cell(layer.from_m), cell(layer.to_m), count(layer.readings), cell(layer.cone_index_pa), cell(layer.rating_cone_index_pa)});
    }
  }
  return t;
}

io::Table plate_readings(const campaign::Results& r) {
  io::Table t{.name = "plate-readings", .title = "Plate readings after zero, contact and frame correction, with what each was taken for",
              .columns = {{"test", ""}, {"file", ""}, {"line", ""}, {"zone", ""}, {"point", ""}, {"width b", "m"}, {"sinkage", "m"}, {"pressure", "Pa"}, {"taken as", ""}, {"weight in the fit", "-"}}};
  for (const records::PlateCurve& c : r.ground.plate_curves) {
    for (std::size_t i = 0; i < c.mark.size(); ++i) {
      t.rows.push_back({cell(c.source.id), cell(c.source.file), i < c.line.size() ? count(c.line[i]) : io::TableCell{}, cell(c.source.zone), cell(c.source.point), cell(c.plate.width_m()),
                        cell(c.depth_m[i]), cell(c.pressure_pa[i]), cell(records::name(c.mark[i])), i < c.fit_weight.size() ? cell(c.fit_weight[i]) : io::TableCell{}});
    }
  }
  return t;
}

}  // namespace

std::vector<io::Table> ground_tables(const campaign::Results& r) { return {parameters(r), fits(r), shear_runs(r), cone_layers(r), plate_readings(r)}; }

}  // namespace hardpan::report::detail
