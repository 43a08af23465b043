// SPDX-License-Identifier: Apache-2.0
#include "base/problems.hpp"

#include <gtest/gtest.h>

namespace hardpan::base {
namespace {

TEST(Problems, TellsPlaceValueBoundAndRemedyInOneLine) {
  const Problem p{.place = {.file = "records/a.csv", .line = 12, .column = 3}, .what = "load is negative",
                  .value = "-4 N", .bound = "0 N or more", .remedy = "check the sign in instruments.toml"};
  EXPECT_EQ(p.text(), "records/a.csv:12:3: load is negative (found \"-4 N\"); accepted: 0 N or more; "
                      "check the sign in instruments.toml");
}

TEST(Problems, ARemarkAloneDoesNotRefuse) {
  Problems problems;
  problems.remark({.what = "gap of 3 s"});
  EXPECT_FALSE(problems.refused());
  EXPECT_NO_THROW(problems.throw_if_refused());
}

TEST(Problems, OneErrorCarriesAllRefusals) {
  Problems problems;
  problems.refuse({.place = {.file = "a", .line = 1}, .what = "first"});
  problems.remark({.what = "between"});
  problems.refuse({.place = {.file = "campaign.toml", .key = "record[1].kind"}, .what = "second"});
  try {
    problems.throw_if_refused();
    FAIL() << "no error thrown";
  } catch (const InputError& error) {
    EXPECT_STREQ(error.what(), "a:1: first\ncampaign.toml: record[1].kind: second");
    EXPECT_EQ(error.problems().list().size(), 3u);
  }
}

TEST(Problems, AlikeRefusalsOfOneFileAreToldOnceWithTheirNumber) {
  Problems problems;
  for (const std::size_t line : {3, 4, 7}) problems.refuse({.place = {.file = "a.csv", .line = line}, .what = "no point of this name", .value = "A9"});
  problems.refuse({.place = {.file = "a.csv", .line = 8}, .what = "no point of this name", .value = "A8"});
  problems.refuse({.place = {.file = "b.csv", .line = 3}, .what = "no point of this name", .value = "A9"});
  problems.remark({.place = {.file = "a.csv", .line = 3}, .what = "gap"});
  problems.remark({.place = {.file = "a.csv", .line = 4}, .what = "gap"});
  problems.merge_alike();
  ASSERT_EQ(problems.list().size(), 5u);  // remarks carry their own counts
  EXPECT_EQ(problems.list().front().place.line, 3u);
  EXPECT_EQ(problems.list().front().count, 3u);
  EXPECT_EQ(problems.list()[1].value, "A8");
  EXPECT_EQ(problems.list()[2].place.file, "b.csv");
}

}  // namespace
}  // namespace hardpan::base
