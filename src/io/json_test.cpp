// SPDX-License-Identifier: Apache-2.0
#include "io/json.hpp"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <random>

namespace hardpan::io {
namespace {

TEST(Json, KeepsTheOrderAndPrintsStably) {
  Json j;
  j.set("zeta", 1).set("alpha", Json::array({1.5, -0.25, nullptr})).set("empty", Json::object()).set("none", Json::array());
  j.set("deep", Json::array({Json::object().set("id", "A1"), Json::object().set("ok", true)}));
  EXPECT_EQ(j.dump(),
            "{\n  \"zeta\": 1,\n  \"alpha\": [1.5, -0.25, null],\n  \"empty\": {},\n  \"none\": [],\n"
            "  \"deep\": [\n    {\n      \"id\": \"A1\"\n    },\n    {\n      \"ok\": true\n    }\n  ]\n}\n");
  EXPECT_EQ(j.dump(0), "{\"zeta\":1,\"alpha\":[1.5,-0.25,null],\"empty\":{},\"none\":[],\"deep\":[{\"id\":\"A1\"},{\"ok\":true}]}");
}

TEST(Json, WritesNumbersThatAreNotFiniteAsNull) {
  EXPECT_EQ(Json(std::nan("")).dump(0), "null");
  EXPECT_EQ(Json(HUGE_VAL).dump(0), "null");
  EXPECT_EQ(Json(std::optional<double>{}).dump(0), "null");
  EXPECT_EQ(Json(std::vector<double>{1, 2.5}).dump(0), "[1,2.5]");
}

TEST(Json, WritesIntegersOfAnySizeExactly) {
  EXPECT_EQ(Json(std::numeric_limits<std::uint64_t>::max()).dump(0), "18446744073709551615");
  EXPECT_EQ(Json(std::numeric_limits<std::int64_t>::min()).dump(0), "-9223372036854775808");
  EXPECT_EQ(Json(100000.0).dump(0), "100000");
  EXPECT_EQ(Json(1e22).dump(0), "1e+22");
  EXPECT_EQ(Json(-0.0).dump(0), "-0.0");
}

// strtod is the independent reader.
TEST(Json, EveryDoubleReadsBackToTheSameBits) {
  std::mt19937_64 random(7);
  base::Problems problems;
  for (int i = 0; i < 100000; ++i) {
    const double v = std::bit_cast<double>(random());
    if (!std::isfinite(v)) continue;
    const std::string text = json_number(v);
    ASSERT_EQ(std::bit_cast<std::uint64_t>(std::strtod(text.c_str(), nullptr)), std::bit_cast<std::uint64_t>(v)) << text;
    if (i % 50 == 0) {
      const auto back = parse_json(text, "x", problems);
      ASSERT_TRUE(back);
      ASSERT_EQ(std::bit_cast<std::uint64_t>(*back->number()), std::bit_cast<std::uint64_t>(v)) << text;
    }
  }
}

TEST(Json, EscapesWhatJsonCannotHold) {
  EXPECT_EQ(json_text("a\"b\\c\n\t\x01"), "\"a\\\"b\\\\c\\n\\t\\u0001\"");
  EXPECT_EQ(json_text("\xC2\xB0 \xFF"), "\"\xC2\xB0 \xEF\xBF\xBD\"");
}

TEST(Json, ReadsBackWhatItWrote) {
  const std::string text = "{\"a\":[1,2.5,\"x\\u00b0\",null,true],\"b\":{\"c\":-7,\"d\":18446744073709551615}}";
  base::Problems problems;
  const auto j = parse_json(text, "x", problems);
  ASSERT_TRUE(j);
  EXPECT_EQ(j->find_path("b/c")->integer(), -7);
  EXPECT_EQ(j->find_path("a/2")->text(), "x\xC2\xB0");
  EXPECT_EQ(j->find_path("a/9"), nullptr);
  EXPECT_EQ(j->find_path("b/none/x"), nullptr);
  EXPECT_FALSE(j->find_path("b/d")->integer()) << "beyond a signed 64-bit integer";
  const auto again = parse_json(j->dump(), "x", problems);
  ASSERT_TRUE(again);
  EXPECT_EQ(again->dump(), j->dump());
}

TEST(Json, RefusesBrokenTextWithLineAndColumn) {
  const auto said = [](std::string_view text) {
    base::Problems problems;
    EXPECT_FALSE(parse_json(text, "r.json", problems)) << text;
    return std::string(base::InputError(problems).what());
  };
  EXPECT_EQ(said("{\n \"a\": 1,\n \"b\" 2\n}").substr(0, 12), "r.json:3:6: ");
  EXPECT_NE(said("{\"a\":1,\"a\":2}").find("the key \"a\" is given twice"), std::string::npos);
  EXPECT_NE(said(std::string(500, '[')).find("200 deep"), std::string::npos);
  EXPECT_NE(said("").find("r.json"), std::string::npos);
  EXPECT_NE(said("[1,2").find("r.json:1"), std::string::npos);
  EXPECT_NE(said("1e999").find("r.json"), std::string::npos);
}

}  // namespace
}  // namespace hardpan::io
