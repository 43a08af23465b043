// SPDX-License-Identifier: Apache-2.0
// amendments.csv: exclusions and corrections of single lines and cells, applied to a copy that lives
// as long as the object; the records themselves are never changed.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/problems.hpp"
#include "campaign/campaign.hpp"

namespace hardpan::formats::detail {

class AmendedFiles {
 public:
  [[nodiscard]] std::optional<std::string> path_of(const std::string& file) const;
  void set(const std::string& file, const std::string& path) { paths_[file] = path; }
  void keep(std::shared_ptr<void> folder) { folder_ = std::move(folder); }

 private:
  std::map<std::string, std::string> paths_;
  std::shared_ptr<void> folder_;   // removes the copies when the last owner goes
};

[[nodiscard]] std::vector<campaign::Amendment> read_amendments(const std::string& folder, base::Problems& problems);
[[nodiscard]] AmendedFiles apply_amendments(const std::string& folder, const std::vector<campaign::Amendment>& amendments,
                                            base::Problems& problems);

}  // namespace hardpan::formats::detail
