// SPDX-License-Identifier: Apache-2.0
#include "io/lock.hpp"

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <filesystem>
#include <optional>

#include "base/problems.hpp"

namespace hardpan::io {
namespace {

class LockTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = (std::filesystem::temp_directory_path() / ("hardpan-lock-" + std::to_string(::getpid()))).string();
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string folder_;
};

TEST_F(LockTest, RefusesASecondHolderAndNamesTheFirst) {
  const FolderLock first(folder_);
  try {
    const FolderLock second(folder_);
    FAIL() << "two runs hold the folder";
  } catch (const base::EnvironmentError& error) {
    EXPECT_EQ(std::string(error.what()), "the folder " + folder_ + " is in use by another run (process " +
                                             std::to_string(::getpid()) + "); wait until it has ended, then run again");
  }
}

TEST_F(LockTest, IsFreeAgainAfterItsHolder) {
  { const FolderLock first(folder_); }
  EXPECT_NO_THROW(FolderLock{folder_});
}

TEST_F(LockTest, IsFreeAgainAfterItsHolderWasKilled) {
  int ready[2];
  ASSERT_EQ(::pipe(ready), 0);
  const pid_t child = ::fork();
  if (child == 0) {
    try {
      const FolderLock lock(folder_);
      [[maybe_unused]] const auto n = ::write(ready[1], "x", 1);
      ::pause();
    } catch (...) {
    }
    ::_exit(1);
  }
  char byte = 0;
  ASSERT_EQ(::read(ready[0], &byte, 1), 1);
  EXPECT_THROW(FolderLock{folder_}, base::EnvironmentError);
  ::kill(child, SIGKILL);
  ::waitpid(child, nullptr, 0);
  EXPECT_NO_THROW(FolderLock{folder_});
  ::close(ready[0]);
  ::close(ready[1]);
}

TEST_F(LockTest, SaysWhenTheFolderIsMissing) {
  try {
    const FolderLock lock(folder_ + "/none");
    FAIL() << "locked a folder that is not there";
  } catch (const base::EnvironmentError& error) {
    EXPECT_NE(std::string(error.what()).find("the folder does not exist"), std::string::npos) << error.what();
  }
}

}  // namespace
}  // namespace hardpan::io
