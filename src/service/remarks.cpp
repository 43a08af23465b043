// SPDX-License-Identifier: Apache-2.0
#include "service/detail/remarks.hpp"

#include <set>

namespace hardpan::service::detail {

base::Problems remarks_of(const base::Problems& found) {
  base::Problems out;
  std::set<std::string> told;
  for (const base::Problem& p : found.list()) {
    if (p.severity == base::Severity::remark && told.insert(p.text()).second) out.remark(p);
  }
  return out;
}

}  // namespace hardpan::service::detail
