// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "report/detail/parts.hpp"
#include "report/detail/table_rows.hpp"

namespace hardpan::report::detail {
namespace {

void add_parameter(io::Table& t, const std::string& zone, const std::string& kind, const records::Parameter& p) {
  Row row{cell(zone), cell(kind), cell(p.key), cell(p.meaning), cell(p.unit)};
  estimate_cells(row, p.estimate);
  row.push_back(p.average_soil_only ? cell(p.average_soil_only->lo) : io::TableCell{});
  row.push_back(p.average_soil_only ? cell(p.average_soil_only->hi) : io::TableCell{});
  row.push_back(cell(p.instrument_sd));
  row.push_back(count(p.estimate.n));
  row.push_back(cell(p.estimate.status));
  row.push_back(cell(p.basis));
  t.rows.push_back(std::move(row));
}

io::Table parameters(const campaign::Results& r) {
  io::Table t{.name = "soil-parameters", .title = "Soil parameters with intervals; the unit of each row stands in its unit column",
              .columns = {{"zone", ""}, {"tests", ""}, {"parameter", ""}, {"meaning", ""}, {"unit", ""}}};
  estimate_columns(t.columns, "value", "unit of the row");
  for (const char* c : {"average, soil scatter alone, low", "average, soil scatter alone, high", "instrument, one standard deviation"}) t.columns.push_back({c, "unit of the row"});
  for (const char* c : {"points", "status", "basis"}) t.columns.push_back({c, ""});
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

io::Table fits(const campaign::Results& r) {
  io::Table t{.name = "plate-fits", .title = "Pressure-sinkage estimators side by side",
              .columns = {{"zone", ""}, {"estimator", ""}, {"relation", ""}, {"n", "1"}, {"first modulus", "N, m by n"}, {"second modulus", "N, m by n"}, {"window from", "m"}, {"window to", "m"},
                          {"tests", ""}, {"readings", ""}, {"misfit", "Pa"}, {"misfit of ln p", "1"}, {"status", ""}, {"basis", ""}}};
  for (const records::ZoneGround& z : r.ground.zones) {
    if (!z.plates) continue;
    for (const records::PlateFit& f : z.plates->fits) {
      t.rows.push_back({cell(z.zone), cell(records::name(f.estimator)), cell(soil::name(f.law)), cell(f.bearing.n), cell(f.bearing.first_modulus), cell(f.bearing.second_modulus), cell(f.window_from_m),
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
              .columns = {{"test", ""}, {"file", ""}, {"line", ""}, {"zone", ""}, {"point", ""}, {"width b", "m"}, {"sinkage", "m"}, {"pressure", "Pa"}, {"taken as", ""}, {"weight in the fit", "1"}}};
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
