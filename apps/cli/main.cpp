// SPDX-License-Identifier: Apache-2.0
// Parses the command line, calls the service, prints. Results on stdout, talk on stderr.
// Exit codes: 0 done, 1 fault in the program, 2 input or command line refused, 3 an asked number has no
// numerical answer, 4 environment (disk full, read-only, locked), 130 cancelled.
#include <csignal>
#include <cstdio>
#include <new>
#include <stop_token>

#include "command_line.hpp"

namespace {

std::stop_source g_stop;
extern "C" void on_interrupt(int) { g_stop.request_stop(); }

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGINT, on_interrupt);
  std::signal(SIGTERM, on_interrupt);
  std::signal(SIGPIPE, SIG_IGN);
  try {
    hardpan::cli::CommandLine line(g_stop.get_token());
    hardpan::cli::add_campaign_verbs(line);
    hardpan::cli::add_soil_verbs(line);
    hardpan::cli::add_way_verbs(line);
    hardpan::cli::add_vehicle_verbs(line);
    hardpan::cli::add_slope_verb(line);
    hardpan::cli::add_turn_verb(line);
    hardpan::cli::add_weights_verb(line);
    return line.run(argc, argv);
  } catch (const std::bad_alloc&) {
    std::fputs("out of memory\n", stderr);
    return 4;
  } catch (const std::exception& e) {
    std::fprintf(stderr, "fault in the program: %s\n", e.what());
    return 1;
  }
}
