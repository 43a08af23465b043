// SPDX-License-Identifier: Apache-2.0
// Annexes: what was read, with what it was computed, what was remarked, what was amended.
#include <cmath>

#include <fmt/core.h>

#include "report/detail/parts.hpp"

namespace hardpan::report::detail {
namespace {

void inputs(Sheet& s) {
  Grid g{.caption = "Files read", .columns = {"File", "What", "Bytes", "Rows", "Excluded", "SHA-256"}, .right = "llrrr"};
  for (const campaign::InputFile& f : s.results.campaign.inputs) {
    g.rows.push_back({f.path, f.role, std::to_string(f.bytes), f.rows > 0 ? std::to_string(f.rows) : "-", f.rows > 0 ? std::to_string(f.rows_set_aside) : "-", f.sha256});
  }
  if (g.rows.empty()) s.page.paragraph("No file is listed.", "missing");
  s.page.raw("<div class=\"sums\">\n");
  s.page.table(g);
  s.page.raw("</div>\n");
}

void versions(Sheet& s) {
  const campaign::Provenance& p = s.results.provenance;
  std::vector<std::pair<std::string, std::string>> rows{{"Program", "Hardpan " + p.version}, {"Arithmetic", p.simd_target}, {"Started", clock_words(p.started)}, {"Finished", clock_words(p.finished)},
                                                        {"Took", p.seconds > 0 ? fmt::format("{:.1f} s", p.seconds) : ""}, {"Checksum of version, settings and inputs", p.key}};
  for (const auto& [name, value] : p.settings) rows.emplace_back(name, value);
  s.page.terms(rows);
}

void remarks(Sheet& s) {
  Grid g{.caption = "Remarks of reading and reduction", .columns = {"Where", "What", "Found", "Accepted", "Remedy", "Rows"}, .right = "lllllr"};
  // Remarks that differ only in the test they name stand as one.
  struct Group {
    base::Problem first;
    std::vector<std::string> what;
    std::size_t count = 0;
  };
  std::vector<Group> groups;
  for (const base::Problem& p : s.results.campaign.problems.list()) {
    Group* same = nullptr;
    for (Group& k : groups) {
      if (k.first.place != p.place || k.first.value != p.value || k.first.bound != p.bound || k.first.remedy != p.remedy) continue;
      if (merged({k.what.front(), p.what}).size() == 1) same = &k;
    }
    if (!same) same = &groups.emplace_back(Group{p, {}, 0});
    same->what.push_back(p.what);
    same->count += p.count;
  }
  for (const Group& k : groups) g.rows.push_back({k.first.place.text(), merged(k.what).front(), k.first.value, k.first.bound, k.first.remedy, std::to_string(k.count)});
  if (g.rows.empty()) s.page.paragraph("Nothing was remarked.");
  s.page.table(g);
}

void set_aside(Sheet& s) {
  Grid g{.caption = "Readings excluded, by test", .columns = {"Test", "Reason", "Readings", "Lines"}, .right = "llrl"};
  const auto add = [&](const std::string& test, const std::vector<records::SetAside>& all) {
    for (const records::SetAside& a : all) {
      std::string lines;
      for (std::size_t i = 0; i < a.lines.size() && i < 12; ++i) lines += (i == 0 ? "" : ", ") + std::to_string(a.lines[i]);
      if (a.lines.size() > 12) lines += " ...";
      g.rows.push_back({test, a.reason, std::to_string(a.lines.size()), lines});
    }
  };
  for (const auto& c : s.results.ground.plate_curves) add(c.source.id, c.set_aside);
  for (const auto& c : s.results.ground.shear_curves) add(c.source.id, c.set_aside);
  for (const auto& c : s.results.ground.cone_profiles) add(c.source.id, c.set_aside);
  s.page.table(g);
}

void amendments(Sheet& s) {
  const campaign::Campaign& c = s.results.campaign;
  if (c.amendments.empty()) {
    s.page.paragraph("The records were not amended.");
    return;
  }
  if (!c.amendments_applied) s.page.paragraph("The amendments below were NOT applied in this run.");
  Grid g{.caption = "Amendments to the records", .columns = {"File and line", "Column", "Action", "Old", "New", "By", "When", "Reason"}};
  for (const campaign::Amendment& a : c.amendments) g.rows.push_back({fmt::format("{}:{}", a.file, a.target_line), a.column, a.action, a.old_value, a.new_value, a.initials, clock_words(a.time), a.reason});
  s.page.table(g);
  Grid e{.caption = "The answer with and without the amendments", .columns = {"Requirement", "With: finding", "With: value", "Without: finding", "Without: value"}, .right = "llrlr"};
  for (const campaign::AmendmentEffect& a : s.results.amendment_effects) {
    Measure m = kNumber;
    for (const validation::Requirement& q : c.requirements) {
      if (q.id == a.requirement) m = measure_of(q.quantity);
    }
    e.rows.push_back({a.requirement, a.verdict_with, s.print.value(a.value_with_si, m), a.verdict_without, s.print.value(a.value_without_si, m)});
  }
  if (e.rows.empty()) s.page.paragraph("The answer without them was not computed in this run.");
  s.page.table(e);
}

}  // namespace

void annex_part(Sheet& s) {
  s.page.open("annexes", "Annexes");
  s.page.heading(3, "Amendments");
  amendments(s);
  s.page.heading(3, "Remarks");
  remarks(s);
  set_aside(s);
  s.page.heading(3, "Inputs");
  inputs(s);
  s.page.heading(3, "Versions and settings");
  versions(s);
  s.page.close();
}

}  // namespace hardpan::report::detail
