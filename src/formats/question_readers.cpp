// SPDX-License-Identifier: Apache-2.0
#include "formats/detail/question_readers.hpp"

namespace hardpan::formats::detail {

namespace {

std::string near_words(const std::string& id, const std::vector<std::string>& names, const char* otherwise) {
  const auto near = io::nearest_word(id, names);
  return near ? "did you mean " + *near + "?" : otherwise;
}

std::string trimmed(std::string text) {
  while (!text.empty() && text.front() == ' ') text.erase(0, 1);
  while (!text.empty() && text.back() == ' ') text.pop_back();
  return text;
}

}  // namespace

std::optional<double> within(Keys& k, const char* key, units::Dimension dimension, double lo, double hi, const char* bound) {
  const auto v = k.quantity(key, dimension);
  if (!v || (*v >= lo && *v <= hi)) return v;
  k.table().refuse(key, "out of range", bound);
  return std::nullopt;
}

void know_vehicle(const campaign::Campaign& c, const Keys& k, const char* key, const std::string& id, base::Problems& problems) {
  if (id.empty() || c.vehicle_by_id(id)) return;
  std::vector<std::string> names;
  for (const auto& v : c.vehicles) names.push_back(v.id);
  problems.refuse({.place = k.place(key), .what = "no vehicle of this id under vehicles/", .value = id, .remedy = near_words(id, names, "add it, or correct the name")});
}

void know_zone(const campaign::Campaign& c, const Keys& k, const char* key, const std::string& id, base::Problems& problems) {
  if (id.empty() || c.zone(id)) return;
  std::vector<std::string> names;
  for (const auto& z : c.zones) names.push_back(z.id);
  problems.refuse({.place = k.place(key), .what = "no zone of this id in campaign.toml", .value = id, .remedy = near_words(id, names, "add the zone")});
}

std::optional<std::pair<double, double>> pair_of_quantities(const Keys& k, const char* key, const std::string& text, units::Dimension first, units::Dimension second, const char* example, base::Problems& problems) {
  const std::size_t colon = text.find(':');
  if (colon == std::string::npos) {
    problems.refuse({.place = k.place(key), .what = "not two values with a colon between", .value = text, .remedy = std::string("for example \"") + example + "\""});
    return std::nullopt;
  }
  std::pair<double, double> out;
  const std::string parts[] = {trimmed(text.substr(0, colon)), trimmed(text.substr(colon + 1))};
  const units::Dimension dimensions[] = {first, second};
  double* const to[] = {&out.first, &out.second};
  for (int i = 0; i < 2; ++i) {
    const units::QuantityText q = units::parse_quantity(parts[i], dimensions[i]);
    if (!q.ok()) {
      problems.refuse(units::refusal(q, parts[i], k.place(key)));
      return std::nullopt;
    }
    *to[i] = q.si;
  }
  return out;
}

std::optional<std::string> file_of(const campaign::Campaign& c, Keys& k, const char* key, campaign::Questions& to) {
  const std::string name = k.text(key);
  if (name.empty()) return std::nullopt;
  to.files.push_back(name);
  return c.folder + "/" + name;
}

}  // namespace hardpan::formats::detail
