// SPDX-License-Identifier: Apache-2.0
#include "io/store.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "base/problems.hpp"

namespace hardpan::io {
namespace {

class StoreTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::temp_directory_path() / ("hardpan-store-" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
    path_ = (folder_ / "ledger.sqlite").string();
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::filesystem::path folder_;
  std::string path_;
};

TEST_F(StoreTest, GivesBackWhatWasBound) {
  {
    Database db(path_);
    db.exec("create table run(id text primary key, pull real, n integer, bits blob, remark text)");
    Statement put = db.prepare("insert into run values (?, ?, ?, ?, ?)");
    const std::string bits("\0\x01\xff", 3);
    put.bind(1, "r1").bind(2, 0.1).bind(3, std::int64_t{1} << 40).bind_blob(4, bits).bind_null(5).run();
    put.bind(1, "r2").bind(2, std::nan("")).bind(3, -1).bind_blob(4, "").bind(5, "").run();
  }
  Database db(path_, Database::Mode::read_only);
  Statement get = db.prepare("select * from run order by id");
  ASSERT_TRUE(get.step());
  EXPECT_EQ(get.text(0), "r1");
  EXPECT_EQ(get.number(1), 0.1);
  EXPECT_EQ(get.integer(2), std::int64_t{1} << 40);
  EXPECT_EQ(get.blob(3), std::string("\0\x01\xff", 3));
  EXPECT_TRUE(get.is_null(4));
  ASSERT_TRUE(get.step());
  EXPECT_TRUE(get.is_null(1)) << "NaN is stored as null";
  EXPECT_FALSE(get.is_null(4)) << "an empty text is not null";
  EXPECT_FALSE(get.step());
}

TEST_F(StoreTest, ATransactionLeavesAllOrNothing) {
  Database db(path_);
  db.exec("create table t(x)");
  {
    Transaction all(db);
    db.exec("insert into t values (1)");
  }
  {
    Transaction all(db);
    db.exec("insert into t values (2)");
    all.commit();
  }
  Statement get = db.prepare("select x from t");
  ASSERT_TRUE(get.step());
  EXPECT_EQ(get.integer(0), 2);
  EXPECT_FALSE(get.step());
}

TEST_F(StoreTest, LeavesNoFilesBesideItself) {
  {
    Database db(path_);
    db.exec("create table t(x); insert into t values (1)");
  }
  std::size_t files = 0;
  for ([[maybe_unused]] const auto& e : std::filesystem::directory_iterator(folder_)) ++files;
  EXPECT_EQ(files, 1u);
}

TEST_F(StoreTest, SaysWhenAnotherProgramHoldsIt) {
  Database first(path_);
  first.exec("create table t(x)");
  Transaction hold(first);
  Database second(path_, Database::Mode::read_write_create, 10);
  try {
    Transaction also(second);
    FAIL() << "two writers at once";
  } catch (const base::EnvironmentError& error) {
    EXPECT_EQ(std::string(error.what()), "cannot use " + path_ + ": another program is using it; wait until it has ended, then run again");
  }
}

TEST_F(StoreTest, RefusesADamagedFile) {
  std::ofstream(path_) << std::string(4096, 'x');
  EXPECT_THROW(Database{path_}, base::InputError);
}

TEST_F(StoreTest, RefusesAFileDamagedInTheMiddle) {
  {
    Database db(path_);
    db.exec("create table t(x); insert into t values (1)");
  }
  std::fstream file(path_, std::ios::in | std::ios::out | std::ios::binary);
  file.seekp(100);
  file << std::string(1000, '\xff');
  file.close();
  EXPECT_THROW(Database{path_}, base::InputError);
}

TEST_F(StoreTest, SaysWhenTheFolderIsMissing) {
  EXPECT_THROW(Database{(folder_ / "none" / "l.sqlite").string()}, base::EnvironmentError);
  EXPECT_THROW(Database(path_, Database::Mode::read_only), base::EnvironmentError) << "read-only makes no file";
}

TEST_F(StoreTest, WrongSqlIsAMistakeOfOurs) {
  Database db(path_);
  EXPECT_THROW(db.exec("selekt 1"), std::logic_error);
  EXPECT_THROW((void)db.prepare("select * from none"), std::logic_error);
}

}  // namespace
}  // namespace hardpan::io
