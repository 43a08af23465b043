// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/question_readers.hpp"

namespace hardpan::formats::detail {

using units::Dimension;

void read_other_gravity(const io::TomlTable& root, campaign::Questions& to, base::Problems& problems) {
  const auto t = root.table("other_gravity");
  if (!t) return;
  Keys k(*t, problems);
  campaign::GravityQuestion q;
  if (k.require_quantity("gravity", Dimension::acceleration)) q.gravity_m_s2 = within(k, "gravity", Dimension::acceleration, 1e-3, 100, "0.001 m/s^2 to 100 m/s^2").value_or(0);
  q.mass_kg = within(k, "mass", Dimension::mass, 1e-3, 1e7, "1 g to 10,000 t");
  q.self_weight_share = within(k, "self_weight_share", Dimension::none, 0, 1, "0 to 100 %");
  q.payload_height_m = within(k, "payload_height", Dimension::length, 0, 100, "0 to 100 m");
  q.length_ratio = within(k, "length_ratio", Dimension::none, 0.01, 100, "0.01 to 100").value_or(1);
  to.other_gravity = q;
}

}  // namespace hardpan::formats::detail
