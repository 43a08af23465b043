// SPDX-License-Identifier: Apache-2.0
// Runs a script of bench/reference on the same cases and reads its answers: one number a line, then its own processor time a case.
#pragma once

#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <functional>
#include <optional>
#include <random>
#include <string>
#include <vector>

namespace bench {

inline double processor_seconds() {
  timespec now{};
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

struct Beside {
  std::vector<double> values;
  double seconds = 0;   // of one processor, a case
};

// `write` puts the cases into the file and returns how many; the last line of the answers begins with `seconds_key`. Nothing, with a line that says why, where the script
// does not run or answers otherwise.
inline std::optional<Beside> beside_scipy(const std::string& script, const std::string& seconds_key, const std::function<std::size_t(std::FILE*)>& write) {
  const auto folder = std::filesystem::temp_directory_path() / ("hardpan-bench-" + std::to_string(std::random_device{}()));
  std::filesystem::create_directories(folder);
  const std::string in = (folder / "in.csv").string(), out = (folder / "out.csv").string();
  std::optional<Beside> found;
  if (std::FILE* file = std::fopen(in.c_str(), "w")) {
    const std::size_t count = write(file);
    std::fclose(file);
    if (std::system(("/usr/bin/python3 -W ignore " HARDPAN_SOURCE_DIR "/bench/reference/" + script + " < " + in + " > " + out).c_str()) != 0) {
      std::printf("bench/reference/%s did not run (Debian: python3-scipy)\n", script.c_str());
    } else if (std::FILE* answers = std::fopen(out.c_str(), "r")) {
      Beside b{std::vector<double>(count), 0};
      bool read = true;
      for (double& value : b.values) read = read && std::fscanf(answers, "%lf\n", &value) == 1;
      read = read && std::fscanf(answers, (seconds_key + ",%lf").c_str(), &b.seconds) == 1;
      std::fclose(answers);
      if (read) found = std::move(b);
      else std::printf("bench/reference/%s did not answer %zu cases\n", script.c_str(), count);
    }
  }
  std::filesystem::remove_all(folder);
  return found;
}

}  // namespace bench
