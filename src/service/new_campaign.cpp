// SPDX-License-Identifier: Apache-2.0
#include "service/new_campaign.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <ctime>
#include <filesystem>

#include "base/problems.hpp"
#include "formats/campaign_reader.hpp"
#include "io/atomic_files.hpp"
#include "io/files.hpp"
#include "units/unit_text.hpp"

namespace hardpan::service {

namespace fs = std::filesystem;

namespace {

std::string today() {
  const std::time_t t = std::time(nullptr);
  std::tm local{};
  localtime_r(&t, &local);
  char text[16];
  std::strftime(text, sizeof text, "%Y-%m-%d", &local);
  return text;
}

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) >= 0x20) out += c;
  }
  return out + "\"";
}

}  // namespace

void make_folder(const std::string& path) {
  std::error_code error;
  fs::create_directories(path, error);
  if (error) throw io::environment_error("make the folder", path, error.value());
}

std::vector<std::string> new_campaign(const NewRequest& q) {
  base::Problems problems;
  std::error_code error;
  if (fs::exists(q.folder, error) && !(fs::is_directory(q.folder, error) && fs::is_empty(q.folder, error))) {
    problems.refuse({.place = {.file = q.folder}, .what = "there is something here already", .remedy = "choose another folder; nothing is overwritten"});
  }
  for (std::size_t k = 0; k < q.zones.size(); ++k) {
    if (std::find(q.zones.begin(), q.zones.begin() + static_cast<std::ptrdiff_t>(k), q.zones[k]) != q.zones.begin() + static_cast<std::ptrdiff_t>(k)) {
      problems.refuse({.place = {.key = "--zone"}, .what = "given twice", .value = q.zones[k], .remedy = "name each zone once"});
    }
  }
  const std::string gravity = q.gravity.empty() ? "" : q.gravity;
  if (gravity.empty()) {
    problems.refuse({.place = {.key = "--gravity"}, .what = "the local gravity is not stated", .remedy = "for example --gravity '9.81 m/s^2'; there is no default"});
  } else if (const auto g = units::parse_quantity(gravity, units::Dimension::acceleration); !g.ok()) {
    problems.refuse(units::refusal(g, gravity, {.key = "--gravity"}));
  } else if (!formats::gravity_possible(g.si)) {
    problems.refuse({.place = {.key = "--gravity"}, .what = "not the gravity of ground a vehicle drives on", .value = gravity, .bound = "0.1 m/s^2 to 30 m/s^2", .remedy = "check value and unit"});
  }
  if (!q.when.empty() && !(q.when.size() >= 10 && formats::date_exists(q.when))) {
    problems.refuse({.place = {.key = "--when"}, .what = "not a date that exists", .value = q.when, .bound = "an ISO date such as 2026-04-12"});
  }
  if (q.name.empty()) problems.refuse({.place = {.key = "--name"}, .what = "the campaign has no name", .remedy = "--name 'Tern Spit, spring'"});
  problems.throw_if_refused();
  make_folder(q.folder);
  make_folder(q.folder + "/records");
  make_folder(q.folder + "/vehicles");
  std::vector<std::string> written;
  const auto put = [&](const std::string& name, const std::string& text) {
    io::write_file(q.folder + "/" + name, text);
    written.push_back(name);
  };
  const std::string when = q.when.empty() ? today() : q.when;
  std::string campaign = fmt::format(
      "# Campaign. Values are text with a unit; the guide docs/guide/campaign-files.md lists every key.\n\n"
      "[campaign]\nname = {}\nwhere = {}\nwhen = \"{}\"\nwho = [{}]\ngravity = {}\noutput_units = \"SI\"\nseed = {}\ndraws = 400\n"
      "remark_share = \"20 %\"\nrepeats = 3\nabort_rule = \"stop at 25 % slip, at 15 deg of roll, or when anyone says stop\"\n",
      quoted(q.name), quoted(q.where), when, quoted(q.who), quoted(gravity), when.size() >= 10 ? when.substr(0, 4) + when.substr(5, 2) + when.substr(8, 2) : "1");
  const std::vector<std::string> zones = q.zones.empty() ? std::vector<std::string>{"ground"} : q.zones;
  for (const std::string& z : zones) campaign += fmt::format("\n[[zone]]\nid = {}\ndescription = \"\"\nloose = true\n", quoted(z));
  campaign += fmt::format(
      "\n# One [[point]] for each place where instruments are used.\n# [[point]]\n# id = \"A1\"\n# zone = {}\n# position = \"\"\n# datum = \"\"\n# accuracy = \"3 m\"\n"
      "# time = \"{}T09:00\"\n\n# One [[record]] for each file under records/.\n# [[record]]\n# id = \"plates\"\n# file = \"records/plates.csv\"\n# kind = \"plate\"\n"
      "# instrument = \"press\"\n# point = \"A1\"\n",
      quoted(zones.front()), when);
  put("campaign.toml", campaign);
  put("instruments.toml",
      "# One [[instrument]] for each thing that reads. A calibration without a stated sd counts as exact, and the report says so.\n"
      "# [[instrument]]\n# id = \"press\"\n# kind = \"plate press\"\n# frame_stiffness = \"250 kN/m\"\n# load_range = \"2 kN\"\n# load_gain_sd = \"1 %\"\n"
      "# calibrated = \"2026-01-15\"\n# calibration_due = \"2027-01-15\"\n#   [[instrument.plate]]\n#   id = \"small\"\n#   diameter = \"50 mm\"\n"
      "#   [[instrument.plate]]\n#   id = \"large\"\n#   diameter = \"100 mm\"\n");
  put("requirements.toml", fmt::format(
      "# What must be shown. Quantities: maximum gradient, maximum gradient down, drawbar pull, pull coefficient, slip, sinkage,\n"
      "# motion resistance coefficient, torque per wheel, energy per metre, speed, nominal ground pressure.\n"
      "# [[requirement]]\n# id = \"R1\"\n# text = \"climbs the bank\"\n# quantity = \"maximum gradient\"\n# at_least = \"12 deg\"\n# vehicle = \"carrier\"\n"
      "# zone = {}\n# probability = \"90 %\"\n# confidence = \"90 %\"\n# method = \"analysis\"\n", quoted(zones.front())));
  put("vehicles/carrier.toml.example",
      "# Rename to carrier.toml and put in the vehicle as tested: weighed, measured, with payload and batteries where they are.\n"
      "[vehicle]\nid = \"carrier\"\nname = \"carrier\"\nworking_slip = \"20 %\"\n\n[body]\nmass = \"400 kg\"\ncg_ahead_of_rear_axle = \"0.6 m\"\ncg_height = \"0.5 m\"\nclearance = \"0.2 m\"\n\n"
      "[[axle]]\nname = \"rear\"\nahead_of_rear_axle = \"0 m\"\ntrack_width = \"1.0 m\"\n  [axle.wheel]\n  radius = \"0.25 m\"\n  width = \"0.2 m\"\n  [axle.drive]\n  driven = true\n  peak_torque = \"150 N m\"\n\n"
      "[[axle]]\nname = \"front\"\nahead_of_rear_axle = \"1.3 m\"\ntrack_width = \"1.0 m\"\n  [axle.wheel]\n  radius = \"0.25 m\"\n  width = \"0.2 m\"\n  [axle.drive]\n  driven = true\n  peak_torque = \"150 N m\"\n");
  put("amendments.csv", "file,line,column,action,old,new,initials,time,reason\n");
  return written;
}

}  // namespace hardpan::service
