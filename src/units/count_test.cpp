// SPDX-License-Identifier: Apache-2.0
#include "units/count.hpp"

#include <gtest/gtest.h>

namespace hardpan::units {
namespace {

TEST(Count, OneTakesTheNounAsItIsAndEveryOtherCountThePlural) {
  EXPECT_EQ(print_count(0, "run"), "0 runs");
  EXPECT_EQ(print_count(1, "run"), "1 run");
  EXPECT_EQ(print_count(21, "run"), "21 runs");
}

TEST(Count, TakesAPluralThatIsNotTheNounAndAnS) {
  EXPECT_EQ(print_count(1, "push", "pushes"), "1 push");
  EXPECT_EQ(print_count(2, "push", "pushes"), "2 pushes");
}

}  // namespace
}  // namespace hardpan::units
