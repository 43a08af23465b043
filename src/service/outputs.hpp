// SPDX-License-Identifier: Apache-2.0
// What a run leaves in the campaign folder: out/ (whole or not at all) and the ledger.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "campaign/results.hpp"
#include "io/json.hpp"
#include "service/job.hpp"

namespace hardpan::service {

// One run at a time in a campaign folder: held from before the inputs are read until the outputs are
// in place. Throws EnvironmentError when another run holds it.
class Lock {
 public:
  explicit Lock(const std::string& folder);
  ~Lock();
  Lock(const Lock&) = delete;
  Lock& operator=(const Lock&) = delete;

 private:
  struct Held;
  std::unique_ptr<Held> held_;
};

struct Written {
  std::string report;                  // path of report.html
  std::vector<std::string> files;      // everything written, from the campaign folder
};

// Writes out/report.html, results.json, tables/, figures/ and, with traces, trace/; enters the run in the
// ledger. The caller holds a Lock. Throws EnvironmentError (disk full, read-only, another run).
[[nodiscard]] Written write_outputs(const std::string& folder, const campaign::Results& results, const base::Problems& problems);

// Every vehicle of a campaign drawn to scale, one SVG a vehicle in a folder of the user's choice. Throws EnvironmentError.
[[nodiscard]] std::vector<std::string> write_drawings(const std::string& folder, const campaign::Campaign& campaign);

// The last run of the ledger, when out/ still holds what it wrote and its key is `key`.
struct LastRun {
  std::string report;
  io::Json results;                    // as in out/results.json
};
[[nodiscard]] std::optional<LastRun> unchanged_since(const std::string& folder, const std::string& key);

// Results of earlier runs, the newest first: time and results.json.
struct EarlierRun {
  std::string time, version, key;
  io::Json results;
};
[[nodiscard]] std::vector<EarlierRun> earlier_runs(const std::string& folder, std::size_t most);

// What differs between two results, in plain names and display units; empty when nothing does. `before` is empty
// where a whole thing is new, changed or gone.
struct Change {
  std::string what, before, after;
};
[[nodiscard]] std::vector<Change> changes_between(const io::Json& before, const io::Json& after);

// Seals inputs, results and report with checksums and a data dictionary into one zip file. Refused when the
// report was not computed from the files as they are now, unless `as_it_is`: then the dictionary says so first.
struct Packed {
  std::string path;
  std::size_t files = 0;
  bool has_report = false;
  std::vector<std::string> stale;   // why report and files do not belong together, in sentences
  std::vector<std::string> beside;  // files in the zip that the report does not rest on
};
[[nodiscard]] Packed pack(const std::string& folder, const std::string& zip_path, bool as_it_is = false);

}  // namespace hardpan::service
