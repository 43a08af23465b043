// SPDX-License-Identifier: Apache-2.0
#include "formats/obstacles_reader.hpp"

#include <cmath>
#include <filesystem>
#include <set>

#include "formats/detail/question_readers.hpp"
#include "formats/profile_file.hpp"

namespace hardpan::formats {
namespace {

using campaign::ObstacleQuestion;
using detail::Keys;
using units::Dimension;
namespace fs = std::filesystem;

void read_profile_of(ObstacleQuestion& q, const campaign::Campaign& c, const Keys& k, base::Problems& problems) {
  const fs::path relative(q.profile_file);
  if (relative.is_absolute() || q.profile_file.find("..") != std::string::npos) {
    k.table().refuse("profile", "a profile lies inside the campaign folder", "a path such as site/ditch.csv", "copy the file into the campaign");
    return;
  }
  std::error_code error;
  if (!fs::is_regular_file(c.folder + "/" + q.profile_file, error)) {
    k.table().refuse("profile", "there is no such file", "", "check the name; it counts from the campaign folder");
    return;
  }
  q.profile = read_profile(c.folder + "/" + q.profile_file, q.profile_file, problems);
}

}  // namespace

std::vector<ObstacleQuestion> read_obstacles(const campaign::Campaign& c, const io::TomlTable& root, base::Problems& problems) {
  std::vector<ObstacleQuestion> out;
  std::set<std::string> ids;
  for (const io::TomlTable& t : root.tables("obstacle")) {
    Keys k(t, problems);
    ObstacleQuestion q{.id = k.require_text("id"), .description = k.text("description"), .vehicles = k.texts("vehicles")};
    if (!q.id.empty() && !ids.insert(q.id).second) t.refuse("id", "two obstacles have this id", "each id once");
    for (const std::string& id : q.vehicles) detail::know_vehicle(c, k, "vehicles", id, problems);
    q.step_m = k.quantity("step", Dimension::length);
    if (q.step_m && !(std::abs(*q.step_m) <= 20 && *q.step_m != 0)) t.refuse("step", "not the height of a step", "-20 to 20 m, negative: down, not 0");
    q.gap_m = k.quantity("gap", Dimension::length);
    if (q.gap_m && !(*q.gap_m > 0 && *q.gap_m <= 50)) t.refuse("gap", "not the width of a gap", "above 0 to 50 m");
    q.profile_file = k.text("profile");
    const int given = (t.has("step") ? 1 : 0) + (t.has("gap") ? 1 : 0) + (t.has("profile") ? 1 : 0);
    if (given != 1) t.refuse(given == 0 ? "step" : t.has("gap") ? "gap" : "profile", given == 0 ? "the obstacle has no shape" : "the obstacle has more than one shape", "one of step, gap and profile");
    else if (!q.profile_file.empty()) read_profile_of(q, c, k, problems);
    q.friction = k.quantity("friction", Dimension::none);
    if (q.friction && !(*q.friction > 0 && *q.friction <= 2)) t.refuse("friction", "not a friction coefficient of a wheel on ground", "above 0 to 2");
    q.zone = k.text("zone");
    detail::know_zone(c, k, "zone", q.zone, problems);
    if (t.has("friction") == t.has("zone")) {
      t.refuse("friction", t.has("zone") ? "friction is given as a number and by a zone" : "the friction of wheels on this obstacle is not told", "friction, a coefficient, or zone, whose ground gives it", t.has("zone") ? "remove one" : "state one");
    }
    out.push_back(std::move(q));
  }
  return out;
}

}  // namespace hardpan::formats
