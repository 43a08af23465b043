// SPDX-License-Identifier: Apache-2.0
#include "io/files.hpp"

#include <gtest/gtest.h>

#include <cerrno>
#include <filesystem>
#include <fstream>

namespace hardpan::io {
namespace {

TEST(Files, ReadsAFileWholeAndRefusesOneThatIsTooLong) {
  const std::string path = (std::filesystem::temp_directory_path() / ("hardpan-files-" + std::to_string(::getpid()))).string();
  const std::string content = "abc" + std::string(200000, 'x');
  std::ofstream(path, std::ios::binary) << content;
  base::Problems problems;
  EXPECT_EQ(read_file(path, problems), content);
  EXPECT_FALSE(read_file(path, problems, 1000));
  ASSERT_EQ(problems.list().size(), 1u);
  EXPECT_EQ(problems.list()[0].text(),
            path + ": the file is too long to be read here (found \"200003 bytes\"); accepted: 1000 bytes or fewer");
  std::filesystem::remove(path);
}

TEST(Files, NamesAFolderAndAMissingFile) {
  base::Problems problems;
  EXPECT_FALSE(read_file("/tmp", problems));
  EXPECT_FALSE(read_file("/nowhere/x", problems));
  EXPECT_FALSE(digest_file("/nowhere/x", problems));
  ASSERT_EQ(problems.list().size(), 3u);
  EXPECT_EQ(problems.list()[0].text(), "/tmp: this is a folder, not a file");
  EXPECT_EQ(problems.list()[1].what, "there is no such file");
}

TEST(Files, DigestsAFileAsItsBytes) {
  const std::string path = (std::filesystem::temp_directory_path() / ("hardpan-digest-" + std::to_string(::getpid()))).string();
  std::ofstream(path, std::ios::binary) << "abc";
  base::Problems problems;
  const auto digest = digest_file(path, problems);
  ASSERT_TRUE(digest);
  // NIST example for FIPS 180-4.
  EXPECT_EQ(digest->sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(digest->bytes, 3u);
  std::filesystem::remove(path);
}

TEST(Files, SaysInPlainWordsWhatTheSystemRefuses) {
  EXPECT_STREQ(environment_error("write", "out/a", ENOSPC).what(),
               "cannot write out/a: the disk is full; free some space and run again");
  EXPECT_NE(std::string(environment_error("write", "a", EROFS).what()).find("read-only"), std::string::npos);
  EXPECT_NE(std::string(environment_error("write", "a", EACCES).what()).find("permission"), std::string::npos);
}

}  // namespace
}  // namespace hardpan::io
