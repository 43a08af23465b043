// SPDX-License-Identifier: Apache-2.0
#include "io/atomic_files.hpp"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <functional>
#include <random>
#include <set>
#include <sstream>
#include <thread>

#include "base/problems.hpp"

namespace hardpan::io {
namespace {

namespace fs = std::filesystem;

class AtomicFilesTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = (fs::temp_directory_path() / ("hardpan-atomic-" + std::to_string(::getpid()))).string();
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }
  std::string folder_;
};

std::string content(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::stringstream out;
  out << in.rdbuf();
  return out.str();
}

std::set<std::string> names(const std::string& folder) {
  std::set<std::string> out;
  for (const auto& e : fs::directory_iterator(folder)) out.insert(e.path().filename().string());
  return out;
}

std::string what_is_thrown(const std::function<void()>& body) {
  try {
    body();
  } catch (const base::EnvironmentError& error) {
    return error.what();
  }
  return "nothing";
}

TEST_F(AtomicFilesTest, WritesAFileAndLeavesNothingBeside) {
  const std::string path = folder_ + "/a.txt";
  write_file(path, "one");
  ::chmod(path.c_str(), 0640);
  write_file(path, std::string(300000, 'x'));
  EXPECT_EQ(content(path).size(), 300000u);
  EXPECT_EQ(names(folder_), (std::set<std::string>{"a.txt"}));
  struct stat info {};
  ::stat(path.c_str(), &info);
  EXPECT_EQ(info.st_mode & 07777, 0640u) << "the rights of the old file are kept";
}

TEST_F(AtomicFilesTest, WritesThroughALink) {
  write_file(folder_ + "/real", "old");
  fs::create_symlink("real", folder_ + "/link");
  write_file(folder_ + "/link", "new");
  EXPECT_TRUE(fs::is_symlink(folder_ + "/link"));
  EXPECT_EQ(content(folder_ + "/real"), "new");
}

TEST_F(AtomicFilesTest, SaysWhatStandsInTheWay) {
  fs::create_directory(folder_ + "/sub");
  EXPECT_NE(what_is_thrown([&] { write_file(folder_ + "/sub", "x"); }).find("a folder stands in its place"), std::string::npos);
  EXPECT_NE(what_is_thrown([&] { write_file(folder_ + "/none/x", "x"); }).find("the folder does not exist"), std::string::npos);
  EXPECT_EQ(names(folder_), (std::set<std::string>{"sub"}));
}

TEST_F(AtomicFilesTest, ClearsPartsOfDeadProcessesOnly) {
  const pid_t child = ::fork();
  if (child == 0) ::_exit(0);
  ::waitpid(child, nullptr, 0);
  const std::string dead = "." + std::string("a.txt.") + std::to_string(child) + ".partial";
  const std::string alive = ".a.txt." + std::to_string(::getppid()) + ".partial";
  for (const std::string& n : {dead, alive, std::string(".mine.partial"), std::string("x.1.partial")}) {
    std::ofstream(folder_ + "/" + n) << "x";
  }
  remove_partial_files(folder_);
  EXPECT_EQ(names(folder_), (std::set<std::string>{alive, ".mine.partial", "x.1.partial"}));
}

void fill(const std::string& folder, int version) {
  fs::create_directory(folder + "/tables");
  for (int i = 0; i < 6; ++i) {
    std::ofstream(folder + (i % 2 ? "/tables/" : "/") + std::to_string(i) + ".txt") << std::string(2000, static_cast<char>('a' + version % 26));
  }
}

// Empty when the folder holds one version whole, else what is wrong.
std::string fault_in(const std::string& folder) {
  std::set<std::string> contents;
  for (int i = 0; i < 6; ++i) contents.insert(content(folder + (i % 2 ? "/tables/" : "/") + std::to_string(i) + ".txt"));
  if (contents.size() != 1) return "versions are mixed";
  if (contents.begin()->size() != 2000) return "a file is cut";
  return "";
}

TEST_F(AtomicFilesTest, ExchangesAFolderAndRemovesTheOldOne) {
  for (const bool pair : {false, true}) {
    for (int version = 0; version < 3; ++version) {
      OutputDirectory out(folder_ + "/out/");
      if (pair) out.use_rename_pair_only();
      fill(out.path(), version);
      out.commit();
      EXPECT_EQ(fault_in(folder_ + "/out"), "");
      EXPECT_EQ(content(folder_ + "/out/0.txt")[0], 'a' + version);
      EXPECT_EQ(names(folder_), (std::set<std::string>{"out"}));
    }
  }
}

TEST_F(AtomicFilesTest, WithoutCommitTheOldFolderStays) {
  {
    OutputDirectory out(folder_ + "/out");
    fill(out.path(), 1);
    out.commit();
  }
  {
    OutputDirectory out(folder_ + "/out");
    std::ofstream(out.path() + "/half") << "x";
  }
  EXPECT_EQ(fault_in(folder_ + "/out"), "");
  EXPECT_EQ(names(folder_), (std::set<std::string>{"out"}));
}

// A child builds and commits over and over and is killed at a random moment; whatever the moment,
// the folder holds one version whole once the next run has started.
TEST_F(AtomicFilesTest, AKillAtAnyMomentLeavesOldOrNewWhole) {
  std::mt19937 random(11);
  const std::string target = folder_ + "/out";
  int recovered_pairs = 0;
  for (int round = 0; round < 120; ++round) {
    const bool pair = round % 2 == 1;
    const pid_t child = ::fork();
    if (child == 0) {
      for (int version = 0;; ++version) {
        try {
          OutputDirectory out(target);
          if (pair) out.use_rename_pair_only();
          fill(out.path(), version);
          out.commit();
        } catch (...) {
          ::_exit(3);
        }
      }
    }
    std::this_thread::sleep_for(std::chrono::microseconds(500 + random() % 30000));
    ::kill(child, SIGKILL);
    int status = 0;
    ::waitpid(child, &status, 0);
    ASSERT_TRUE(WIFSIGNALED(status)) << "the child ended by itself with " << WEXITSTATUS(status);
    const bool there = fs::exists(target);
    if (!pair && there) {
      ASSERT_EQ(fault_in(target), "") << "before recovery, round " << round;
    }
    const bool had_one = there || fs::exists(folder_ + "/.out.ready") || fs::exists(folder_ + "/.out.old");
    if (!there && had_one) ++recovered_pairs;
    OutputDirectory::recover(target);
    ASSERT_EQ(fs::exists(target), had_one) << "round " << round;
    if (had_one) {
      ASSERT_EQ(fault_in(target), "") << "round " << round;
      ASSERT_EQ(names(folder_), (std::set<std::string>{"out"})) << "round " << round;
    }
  }
  RecordProperty("recovered_between_renames", recovered_pairs);
}

// Every place between the steps of the second way, made by hand.
TEST_F(AtomicFilesTest, RecoversFromEveryStepOfTheRenamePair) {
  const auto make = [&](const std::string& name, int version) {
    fs::create_directory(folder_ + "/" + name);
    fill(folder_ + "/" + name, version);
  };
  const auto check = [&](char letter) {
    OutputDirectory::recover(folder_ + "/out");
    EXPECT_EQ(fault_in(folder_ + "/out"), "");
    EXPECT_EQ(content(folder_ + "/out/0.txt")[0], letter);
    EXPECT_EQ(names(folder_), (std::set<std::string>{"out"}));
    fs::remove_all(folder_ + "/out");
  };
  make("out", 0), make(".out.building", 1), check('a');
  make("out", 0), make(".out.ready", 1), check('a');
  make(".out.old", 0), make(".out.ready", 1), check('b');
  make("out", 1), make(".out.old", 0), check('b');
  make(".out.old", 0), check('a');
}

// As an unprivileged user: root may write anywhere.
TEST_F(AtomicFilesTest, AReadOnlyFolderIsNamedInASentence) {
  const std::string closed = folder_ + "/closed";
  fs::create_directory(closed);
  write_file(closed + "/a", "old");
  ::chmod(closed.c_str(), 0555);
  const pid_t child = ::fork();
  if (child == 0) {
    if (::geteuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) ::_exit(9);
    const std::string said = what_is_thrown([&] { write_file(closed + "/a", "new"); });
    const std::string also = what_is_thrown([&] { OutputDirectory out(closed + "/out"); });
    const bool good = said == "cannot write " + closed + "/a: permission is denied; give yourself the right to write there or use another folder" &&
                      also.find("permission is denied") != std::string::npos;
    ::_exit(good ? 0 : 1);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0) << WEXITSTATUS(status);
  ::chmod(closed.c_str(), 0755);
  EXPECT_EQ(content(closed + "/a"), "old");
}

TEST_F(AtomicFilesTest, AFullDiskLeavesTheOldContentAndSaysSo) {
  const std::string disk = folder_ + "/disk";
  fs::create_directory(disk);
  if (::mount("tmpfs", disk.c_str(), "tmpfs", 0, "size=256k") != 0) {
    GTEST_SKIP() << "needs the right to mount a small tmpfs: " << std::strerror(errno);
  }
  write_file(disk + "/a", "old");
  const std::string said = what_is_thrown([&] { write_file(disk + "/a", std::string(1u << 20, 'x')); });
  EXPECT_EQ(said, "cannot write " + disk + "/a: the disk is full; free some space and run again");
  EXPECT_EQ(content(disk + "/a"), "old");
  EXPECT_EQ(names(disk), (std::set<std::string>{"a"}));
  ::mount("tmpfs", disk.c_str(), "tmpfs", MS_REMOUNT | MS_RDONLY, "size=256k");
  EXPECT_NE(what_is_thrown([&] { write_file(disk + "/a", "x"); }).find("the disk is read-only"), std::string::npos);
  ::umount(disk.c_str());
}

}  // namespace
}  // namespace hardpan::io
