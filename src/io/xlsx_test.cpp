// SPDX-License-Identifier: Apache-2.0
// Workbooks are read by Debian's python3 (zipfile, xml.etree): a reader that shares nothing with the writer.
#include "io/xlsx.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "base/problems.hpp"

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
import sys, zipfile, xml.etree.ElementTree as E
ns = {'m': 'http://schemas.openxmlformats.org/spreadsheetml/2006/main'}
z = zipfile.ZipFile(sys.argv[1])
assert z.testzip() is None
shared = [''.join(t.text or '' for t in si.iter('{%s}t' % ns['m'])) for si in E.fromstring(z.read('xl/sharedStrings.xml')).findall('m:si', ns)]
for i, sheet in enumerate(E.fromstring(z.read('xl/workbook.xml')).find('m:sheets', ns), 1):
    print('sheet', sheet.get('name'))
    for row in E.fromstring(z.read('xl/worksheets/sheet%d.xml' % i)).iter('{%s}row' % ns['m']):
        cells = []
        for c in row:
            assert c.find('m:f', ns) is None
            v = c.find('m:v', ns)
            if v is not None:
                cells.append(c.get('r') + '=' + (repr(shared[int(v.text)][:40]) if c.get('t') == 's' else v.text))
        print(' '.join(cells))
)PY";

class XlsxTest : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = (std::filesystem::temp_directory_path() / ("hardpan-xlsx-" + std::to_string(::getpid()))).string();
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }
  std::string folder_;
};

TEST_F(XlsxTest, HoldsNumbersAsNumbersAndTextAsText) {
  Table t{.name = "plate: A/B", .columns = {{"point", ""}, {"pressure", "kPa"}}};
  t.rows.push_back({std::string("=1+1"), 12.5});
  t.rows.push_back({std::string("A<2 \xC2\xB0\x01"), std::monostate{}});
  t.rows.push_back({std::monostate{}, std::nan("")});
  t.rows.push_back({std::string(40000, 'x'), 1e-7});
  const Table second{.name = "Plate- A-B", .columns = {{"x", ""}}};
  write_xlsx(folder_ + "/a.xlsx", {t, second}, {.title = "Tern Spit"});
  std::ofstream(folder_ + "/read.py") << kReader;
  EXPECT_EQ(run("/usr/bin/python3 " + folder_ + "/read.py " + folder_ + "/a.xlsx"),
            "sheet plate- A-B\nA1='point' B1='pressure [kPa]'\nA2='=1+1' B2=12.5\n"
            "A3='A<2 \xC2\xB0\xEF\xBF\xBD'\nB4='not finite'\nA5='" + std::string(40, 'x') + "' B5=1E-07\n"
            "sheet Plate- A-B (2)\nA1='x'\n");
}

TEST_F(XlsxTest, TheSameTablesGiveTheSameBytes) {
  Table t{.name = "a", .columns = {{"x", ""}}};
  t.rows.push_back({1.5});
  for (const std::int64_t created : {std::int64_t{0}, std::int64_t{1700000000}}) {
    write_xlsx(folder_ + "/1.xlsx", {t}, {.title = "t", .created_unix_s = created});
    write_xlsx(folder_ + "/2.xlsx", {t}, {.title = "t", .created_unix_s = created});
    EXPECT_FALSE(bytes_of(folder_ + "/1.xlsx").empty());
    EXPECT_EQ(bytes_of(folder_ + "/1.xlsx"), bytes_of(folder_ + "/2.xlsx"));
  }
}

TEST_F(XlsxTest, SaysWhenItCannotBeWrittenAndLeavesNothing) {
  const Table t{.name = "a", .columns = {{"x", ""}}};
  EXPECT_THROW(write_xlsx(folder_ + "/none/a.xlsx", {t}, {}), base::EnvironmentError);
  EXPECT_TRUE(std::filesystem::is_empty(folder_));
}

// The rules are those of the file format's best-known reader: 31 characters, []:*?/\ out, no
// apostrophe at the ends, "History" reserved, letter case does not part names.
TEST(SheetName, FollowsTheRulesOfSpreadsheets) {
  EXPECT_EQ(sheet_name("a[b]:c*d?e/f\\g", {}), "a-b--c-d-e-f-g");
  EXPECT_EQ(sheet_name("'quoted'", {}), "quoted");
  EXPECT_EQ(sheet_name("", {}), "Sheet");
  EXPECT_EQ(sheet_name("history", {}), "history-");
  EXPECT_EQ(sheet_name(std::string(40, 'x'), {}), std::string(31, 'x'));
  EXPECT_EQ(sheet_name("Points", {"points"}), "Points (2)");
  EXPECT_EQ(sheet_name("Points", {"points", "points (2)"}), "Points (3)");
  const std::string long_name(31, 'y');
  EXPECT_EQ(sheet_name(long_name, {long_name}), std::string(27, 'y') + " (2)");
  std::string umlauts;
  for (int i = 0; i < 40; ++i) umlauts += "\xC3\xBC";
  EXPECT_EQ(sheet_name(umlauts, {}).size(), 62u) << "31 characters, not bytes";
}

}  // namespace
}  // namespace hardpan::io
