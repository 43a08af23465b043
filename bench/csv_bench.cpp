// SPDX-License-Identifier: Apache-2.0
// Reads every column of a logger file and prints seconds, rows a second, MB a second and peak
// memory, for reading into columns and for reading by blocks.
//   csv_bench FILE [threads] [repeats]      measures
//   csv_bench --make FILE MEGABYTES         writes a numeric file of 8 columns to read
// The reference is bench/reference/read_csv_pandas.py on the same file.
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "io/csv.hpp"

namespace {

using namespace hardpan;

// A plain generator (Numerical Recipes' 64-bit linear congruence, Knuth's constants): the values only
// have to have as many digits as a logger writes.
int make_file(const std::string& path, std::uint64_t megabytes) {
  std::ofstream out(path);
  out << "time,force,torque,speed,wheel_speed,sinkage,current,voltage\ns,N,Nm,m/s,rad/s,m,A,V\n";
  std::uint64_t state = 1;
  const auto next = [&] {
    state = state * 6364136223846793005u + 1442695040888963407u;
    return static_cast<double>(state >> 11) / 9007199254740992.0;
  };
  char line[200];
  for (std::uint64_t bytes = 0, row = 0; bytes < megabytes * 1000000; ++row) {
    const int n = std::snprintf(line, sizeof line, "%.3f,%.2f,%.3f,%.4f,%.4f,%.5f,%.3f,%.2f\n", static_cast<double>(row) * 0.001,
                                2000 * next(), 150 * next() - 75, next(), 4 * next(), 0.1 * next(), 30 * next(), 24 + next());
    out.write(line, n);
    bytes += static_cast<std::uint64_t>(n);
  }
  return out.good() ? 0 : 4;
}

double peak_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024.0;
}

// The fastest run, and the least processor time (user and system, all threads): on a machine that is
// shared with others only the second is repeatable.
struct Seconds {
  double wall = 1e300;
  double processor = 1e300;
};

double processor_now() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  const auto seconds = [](const timeval& t) { return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec); };
  return seconds(usage.ru_utime) + seconds(usage.ru_stime);
}

template <class Body>
Seconds best_seconds(int repeats, Body&& body) {
  Seconds best;
  for (int i = 0; i < repeats; ++i) {
    const double processor = processor_now();
    const auto begin = std::chrono::steady_clock::now();
    body();
    best.wall = std::min(best.wall, std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
    best.processor = std::min(best.processor, processor_now() - processor);
  }
  return best;
}

void print(const char* what, Seconds s, std::size_t rows, double mb, double check) {
  std::printf("%-24s wall %8.3f s  processor %8.3f s %12.0f rows/s %8.1f MB/s  peak %7.1f MB  rows %zu  sum %.9g\n", what,
              s.wall, s.processor, static_cast<double>(rows) / s.wall, mb / s.wall, peak_mb(), rows, check);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc == 4 && std::string(argv[1]) == "--make") return make_file(argv[2], std::strtoull(argv[3], nullptr, 10));
  if (argc < 2) {
    std::fprintf(stderr, "usage: csv_bench FILE [threads] [repeats] | csv_bench --make FILE MEGABYTES\n");
    return 2;
  }
  const std::string path = argv[1];
  io::CsvReadOptions options;
  if (argc > 2) options.threads = std::strtoull(argv[2], nullptr, 10);
  const int repeats = argc > 3 ? std::atoi(argv[3]) : 5;
  const double mb = static_cast<double>(std::filesystem::file_size(path)) / 1e6;
  base::Problems problems;
  const auto layout = io::sniff_csv(path, {}, problems);
  if (!layout) {
    std::fprintf(stderr, "%s\n", base::InputError(problems).what());
    return 2;
  }
  std::vector<io::WantedColumn> wanted;
  for (std::size_t c = 0; c < layout->columns; ++c) wanted.push_back({c});

  std::size_t rows = 0;
  double sum = 0;
  const Seconds blocks_s = best_seconds(repeats, [&] {
    sum = 0;
    const auto summary = io::for_csv_blocks(path, *layout, wanted, 65536, options, problems, [&](const io::CsvBlock& b) {
      for (std::size_t i = 0; i < b.rows; ++i) sum += b.columns.back().values[i];
    });
    rows = summary.rows;
  });
  print("by blocks of 65536", blocks_s, rows, mb, sum);
  if (mb > 2000) return 0;  // whole columns of a file that large are not the point
  const Seconds columns_s = best_seconds(repeats, [&] {
    const auto data = io::read_csv_columns(path, *layout, wanted, options, problems);
    rows = data.summary.rows;
    sum = 0;
    for (const double v : data.columns.back().values) sum += v;
  });
  print("into columns", columns_s, rows, mb, sum);
  return problems.refused() ? 2 : 0;
}
