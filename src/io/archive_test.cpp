// SPDX-License-Identifier: Apache-2.0
// Archives are read by Debian's python3 (zipfile): a reader that shares nothing with the writer.
#include "io/archive.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace hardpan::io {
namespace {

std::string run(const std::string& command) {
  std::string out;
  FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
  if (pipe == nullptr) return "cannot run";
  std::array<char, 4096> buffer{};
  while (const std::size_t n = std::fread(buffer.data(), 1, buffer.size(), pipe)) out.append(buffer.data(), n);
  const int status = ::pclose(pipe);
  return status == 0 ? out : out + "status " + std::to_string(status);
}

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream out;
  out << in.rdbuf();
  return out.str();
}

constexpr const char* kReader = R"PY(
import sys, zipfile, zlib
z = zipfile.ZipFile(sys.argv[1])
assert z.testzip() is None
for i in z.infolist():
    data = z.read(i)
    print(i.filename, i.file_size, i.compress_type, '%08x' % zlib.crc32(data), data[:3], i.date_time[:3], oct(i.external_attr >> 16), 45 if i.extract_version == 45 else 20)
)PY";

class ArchiveTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = (std::filesystem::temp_directory_path() / ("hardpan-zip-" + std::to_string(::getpid()))).string();
    std::filesystem::create_directories(folder_);
    std::ofstream(folder_ + "/read.py") << kReader;
    std::ofstream(folder_ + "/source.csv", std::ios::binary) << std::string(700000, 'a');
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::vector<ArchiveEntry> entries() const {
    return {{.name = "campaign.toml", .bytes = "123456789"},
            {.name = "records/a \xC2\xB0.csv", .source_path = folder_ + "/source.csv"},
            {.name = "empty", .bytes = ""}};
  }
  std::string read(const std::string& path) { return run("/usr/bin/python3 " + folder_ + "/read.py " + path); }
  std::string folder_;
};

// cbf43926 is the published check value of CRC-32 over "123456789"; the other by python3's zlib.crc32.
TEST_F(ArchiveTest, IsReadByAnIndependentReader) {
  for (const bool deflate : {true, false}) {
    for (const bool zip64 : {true, false}) {
      const std::string path = folder_ + "/p.zip";
      write_zip(path, entries(), {.deflate = deflate, .always_zip64 = zip64});
      const std::string tail = std::string(" (1980, 1, 1) 0o100644 ") + (zip64 ? "45" : "20") + "\n";
      const std::string method = deflate ? "8" : "0";
      EXPECT_EQ(read(path), "campaign.toml 9 " + method + " cbf43926 b'123'" + tail +
                                "records/a \xC2\xB0.csv 700000 " + method + " ab78d960 b'aaa'" + tail +
                                "empty 0 " + method + " 00000000 b''" + tail);
      base::Problems problems;
      const auto listing = verify_zip(path, problems);
      EXPECT_TRUE(problems.list().empty());
      ASSERT_EQ(listing.size(), 3u);
      EXPECT_EQ(listing[0].crc32, 0xcbf43926u);
      EXPECT_EQ(listing[1].bytes, 700000u);
    }
  }
}

TEST_F(ArchiveTest, TheSameContentGivesTheSameBytes) {
  write_zip(folder_ + "/1.zip", entries(), {});
  write_zip(folder_ + "/2.zip", entries(), {});
  EXPECT_EQ(bytes_of(folder_ + "/1.zip"), bytes_of(folder_ + "/2.zip"));
}

TEST_F(ArchiveTest, EveryFlippedByteOfTheContentIsFound) {
  const std::string path = folder_ + "/p.zip";
  write_zip(path, {{.name = "a", .bytes = "the content of a file"}}, {.deflate = false});
  const std::string good = bytes_of(path);
  for (std::size_t i = 31; i < 31 + 21; ++i) {
    std::string bad = good;
    bad[i] = static_cast<char>(bad[i] ^ 0x10);
    std::ofstream(path, std::ios::binary) << bad;
    base::Problems problems;
    (void)verify_zip(path, problems);
    EXPECT_TRUE(problems.refused()) << "byte " << i;
  }
}

TEST_F(ArchiveTest, ACutArchiveIsRefusedWhereverItIsCut) {
  const std::string path = folder_ + "/p.zip";
  write_zip(path, {{.name = "a", .bytes = "some content"}, {.name = "b", .bytes = "more content"}}, {.always_zip64 = true});
  const std::string good = bytes_of(path);
  for (std::size_t n = 0; n < good.size(); ++n) {
    std::ofstream(path, std::ios::binary) << good.substr(0, n);
    base::Problems problems;
    (void)verify_zip(path, problems);
    EXPECT_TRUE(problems.refused()) << n << " bytes";
  }
}

TEST_F(ArchiveTest, RefusesNamesThatLeaveTheFolderOrStandTwice) {
  const std::string path = folder_ + "/p.zip";
  for (const char* name : {"/etc/x", "../x", "a/../../x", "", "a/", "a\\b", "\xFF"}) {
    EXPECT_THROW(write_zip(path, {{.name = name, .bytes = "x"}}, {}), base::InputError) << name;
  }
  EXPECT_THROW(write_zip(path, {{.name = "a"}, {.name = "a"}}, {}), base::InputError);
  EXPECT_FALSE(std::filesystem::exists(path));
}

TEST_F(ArchiveTest, AMissingSourceIsNamedAndNothingIsLeft) {
  try {
    write_zip(folder_ + "/p.zip", {{.name = "a", .source_path = folder_ + "/none.csv"}}, {});
    FAIL() << "packed a file that is not there";
  } catch (const base::InputError& error) {
    EXPECT_NE(std::string(error.what()).find("none.csv: there is no such file"), std::string::npos) << error.what();
  }
  EXPECT_THROW(write_zip(folder_ + "/none/p.zip", entries(), {}), base::EnvironmentError);
  std::size_t files = 0;
  for ([[maybe_unused]] const auto& e : std::filesystem::directory_iterator(folder_)) ++files;
  EXPECT_EQ(files, 2u) << "read.py and source.csv";
}

}  // namespace
}  // namespace hardpan::io
