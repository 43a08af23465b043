// SPDX-License-Identifier: Apache-2.0
// Writes the demo campaign Tern Spit: fieldsim DIR [--seed N]. Everything in it is invented and says so. The hidden
// truth stands in truth.hpp; the same seed gives the same bytes.
#include <charconv>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "base/problems.hpp"
#include "fieldsim/field.hpp"
#include "io/atomic_files.hpp"

namespace {

constexpr std::uint64_t kSeed = 20260412;

int usage(const char* what) {
  std::fprintf(stderr, "fieldsim: %s\nfieldsim DIR [--seed N] writes the invented demo campaign Tern Spit into the new folder DIR\n", what);
  return 2;
}

}  // namespace

int main(int argc, char** argv) {
  std::string folder;
  std::uint64_t seed = kSeed;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (word == "--seed") {
      if (++i == argc) return usage("--seed needs a whole number");
      const char* end = argv[i] + std::strlen(argv[i]);
      const auto [at, error] = std::from_chars(argv[i], end, seed);
      if (error != std::errc() || at != end) return usage("--seed needs a whole number, 0 or more");
    } else if (word.starts_with("-")) {
      return usage(("no option " + word).c_str());
    } else if (!folder.empty()) {
      return usage("one folder only");
    } else {
      folder = word;
    }
  }
  if (folder.empty()) return usage("the folder is missing");
  std::error_code error;
  if (std::filesystem::exists(folder, error) && !std::filesystem::is_empty(folder, error)) {
    return usage(("the folder " + folder + " is there already and not empty; it is not overwritten").c_str());
  }
  fieldsim::Field field(seed);
  const auto put = [&](const std::string& path) {
    const std::filesystem::path to = std::filesystem::path(folder) / path;
    std::filesystem::create_directories(to.parent_path());
    hardpan::io::write_file(to.string(), field.files.at(path));
    return to.string();
  };
  fieldsim::simulate_plates(field);
  fieldsim::simulate_rings(field);
  fieldsim::simulate_cones(field);
  fieldsim::simulate_samples(field);
  fieldsim::simulate_tow_logs(field);
  fieldsim::simulate_hand_sheets(field);
  fieldsim::write_vehicles(field);
  try {
    const std::string dunlin = put("vehicles/dunlin.toml");
    fieldsim::simulate_trials(field, dunlin);
    fieldsim::simulate_ways(field, dunlin);
    fieldsim::write_campaign_text(field);
    for (const auto& [path, bytes] : field.files) put(path);
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "fieldsim: %s\n", fault.what());
    return 4;
  }
  std::printf("%zu files of the invented campaign Tern Spit in %s (seed %llu)\n", field.files.size(), folder.c_str(),
              static_cast<unsigned long long>(seed));
  return 0;
}
