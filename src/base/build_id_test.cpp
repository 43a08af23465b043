// SPDX-License-Identifier: Apache-2.0
#include "base/build_id.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <string>

namespace hardpan::base {
namespace {

// readelf of the GNU binary utilities, which come with the compiler, reads the same note.
TEST(BuildId, IsTheOneTheLinkerWrote) {
  const std::string id = build_id();
  ASSERT_FALSE(id.empty()) << "linked without --build-id";
  std::string notes;
  FILE* pipe = popen("readelf -n " HARDPAN_BIN_DIR "/base_test 2>/dev/null", "r");
  ASSERT_NE(pipe, nullptr);
  char line[256];
  while (std::fgets(line, sizeof line, pipe)) notes += line;
  pclose(pipe);
  EXPECT_NE(notes.find("Build ID: " + id), std::string::npos) << id << "\n" << notes;
}

}  // namespace
}  // namespace hardpan::base
