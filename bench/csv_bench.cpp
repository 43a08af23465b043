// SPDX-License-Identifier: Apache-2.0
// A campaign with one logger file of 8 columns, 1000 rows a second: the file's bytes to columns, by blocks and into memory, and
// the campaign through the reader that every verb uses (units, checks, averaging beyond the limit, checksum of the file).
//   csv_bench --make FOLDER MEGABYTES            lays the campaign out
//   csv_bench FOLDER [threads] [repeats] [what]  measures; what: all (default), clean (the campaign only)
// Every row prints seconds, rows a second, MB a second and the peak memory of the process so far. The references are
// bench/reference/read_csv_pandas.py and clean_log_pandas.py on FOLDER/records/log.csv.
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

#include "formats/campaign_reader.hpp"
#include "io/csv.hpp"

namespace {

using namespace hardpan;

// A plain generator (Numerical Recipes' 64-bit linear congruence, Knuth's constants): the values only have to have as many
// digits as a logger writes. Faults come at fixed rows: a cell that is no number every 1009th, a time twice every 5003rd, a time
// run back every 50021st, a gap every 200003rd; the force is cut at 1990 N; the torque stands still for a while.
int make_campaign(const std::string& folder, std::uint64_t megabytes) {
  std::filesystem::create_directories(folder + "/records");
  std::filesystem::create_directories(folder + "/vehicles");
  std::ofstream(folder + "/campaign.toml") << R"([campaign]
name = "one long log, invented"
gravity = "9.81 m/s^2"
[[zone]]
id = "field"
[[point]]
id = "P1"
zone = "field"
[[record]]
id = "log"
file = "records/log.csv"
kind = "tow"
point = "P1"
vehicle = "cart"
gradient = "0 deg"
rolling_radius = "0.25 m"
load_cell_range = "1990 N"
columns = { time = "time", pull = "force", torque = "torque", ground_speed = "speed", wheel_speed = "wheel_speed", current = "current", voltage = "voltage", sinkage = "sinkage" }
)";
  std::ofstream(folder + "/vehicles/cart.toml") << R"([vehicle]
id = "cart"
name = "invented cart"
[body]
mass = "200 kg"
cg_ahead_of_rear_axle = "0.4 m"
cg_height = "0.4 m"
[[axle]]
name = "rear"
ahead_of_rear_axle = "0 m"
track_width = "1 m"
[axle.wheel]
radius = "0.25 m"
width = "0.15 m"
[[axle]]
name = "front"
ahead_of_rear_axle = "0.8 m"
track_width = "1 m"
[axle.wheel]
radius = "0.25 m"
width = "0.15 m"
)";
  std::ofstream out(folder + "/records/log.csv");
  out << "time,force,torque,speed,wheel_speed,sinkage,current,voltage\ns,N,N m,m/s,rad/s,m,A,V\n";
  std::uint64_t state = 1;
  const auto next = [&] {
    state = state * 6364136223846793005u + 1442695040888963407u;
    return static_cast<double>(state >> 11) / 9007199254740992.0;
  };
  char line[200];
  double shift = 0;
  for (std::uint64_t bytes = 0, row = 0; bytes < megabytes * 1000000; ++row) {
    if (row % 200003 == 200002) shift += 2;
    double time = static_cast<double>(row) * 0.001 + shift;
    if (row % 5003 == 5002) time -= 0.001;
    if (row % 50021 == 50020) time -= 0.5;
    const double force = std::min(1990.0, 2000 * next()), torque = row % 300007 < 400 ? 42.125 : 150 * next() - 75;
    char force_text[24];
    std::snprintf(force_text, sizeof force_text, row % 1009 == 1008 ? "nan" : "%.2f", force);
    const int n = std::snprintf(line, sizeof line, "%.3f,%s,%.3f,%.4f,%.4f,%.5f,%.3f,%.2f\n", time, force_text,
                                torque, next(), 4 * next(), 0.1 * next(), 30 * next(), 24 + next());
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
  std::printf("%-26s wall %8.3f s  processor %8.3f s %12.0f rows/s %8.1f MB/s  peak %7.1f MB  rows %zu  sum %.9g\n", what,
              s.wall, s.processor, static_cast<double>(rows) / s.wall, mb / s.wall, peak_mb(), rows, check);
}

// The whole file's rows and what was set aside, and the sum of the voltages that the record holds.
void measure_campaign(const std::string& folder, int repeats, double mb) {
  std::size_t rows = 0, aside = 0, per_row = 0, held = 0;
  double sum = 0;
  const Seconds s = best_seconds(repeats, [&] {
    base::Problems problems;
    const campaign::Campaign c = formats::read_campaign(folder, {}, problems);
    problems.throw_if_refused();
    const records::TowLog& log = c.driving.logs.front();
    rows = c.record_summaries.front().rows;
    aside = c.record_summaries.front().rows_set_aside;
    per_row = log.readings_per_row;
    held = log.time_s.size();
    sum = 0;
    for (const double v : log.voltage_v) sum += v;
  });
  print("campaign, read and clean", s, rows, mb, sum);
  std::printf("  rows set aside %zu; rows held %zu, %zu readings in one\n", aside, held, per_row);
}

int measure_bytes(const std::string& path, const io::CsvReadOptions& options, int repeats, double mb) {
  base::Problems problems;
  const auto layout = io::sniff_csv(path, {}, problems);
  problems.throw_if_refused();
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

}  // namespace

int main(int argc, char** argv) {
  if (argc == 4 && std::string(argv[1]) == "--make") return make_campaign(argv[2], std::strtoull(argv[3], nullptr, 10));
  if (argc < 2) {
    std::fprintf(stderr, "usage: csv_bench FOLDER [threads] [repeats] [all|clean] | csv_bench --make FOLDER MEGABYTES\n");
    return 2;
  }
  const std::string folder = argv[1], path = folder + "/records/log.csv", what = argc > 4 ? argv[4] : "all";
  io::CsvReadOptions options;
  if (argc > 2) options.threads = std::strtoull(argv[2], nullptr, 10);
  const int repeats = argc > 3 ? std::atoi(argv[3]) : 5;
  try {
    const double mb = static_cast<double>(std::filesystem::file_size(path)) / 1e6;
    measure_campaign(folder, repeats, mb);  // first: the peak is then its own
    return what == "clean" ? 0 : measure_bytes(path, options, repeats, mb);
  } catch (const base::InputError& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 2;
  }
}
