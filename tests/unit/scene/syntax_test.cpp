// What people are told whose file is no TOML: what stands there, and what to write.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "tests/unit/scene/scene_text.h"

namespace undercap {
namespace {

struct Case {
  const char* text;  // after 'undercap = 1' in line 1
  const char* told;
};

void expect_all(std::initializer_list<Case> cases) {
  for (const Case& one : cases)
    EXPECT_EQ(refusal_of(std::string("undercap = 1\n") + one.text), std::string("wood.toml:") + one.told)
        << one.text;
}

TEST(Syntax, Numbers) {
  expect_all({
      {"camera.f_number = 1,5\n", "2:20: '1,5': a decimal number is written with a point: 1.5"},
      {"camera.f_number = -0,25 # stops\n", "2:21: '-0,25': a decimal number is written with a point: -0.25"},
      {"camera.focal_length_mm = 90 mm\n",
       "2:29: '90 mm': the unit stands in the key's name; write the number alone: 90"},
      {"camera.focal_length_mm = 90.5mm\n",
       "2:30: '90.5mm': the unit stands in the key's name; write the number alone: 90.5"},
      {"a = 50%\n", "2:7: '50%': the unit stands in the key's name; write the number alone: 50"},
      {"a = 45\xc2\xb0\n",
       "2:7: '45\xc2\xb0': the unit stands in the key's name; write the number alone: 45"},
      {"a = 08\n", "2:7: '08': a number does not begin with a 0 before its other digits"},
      {"a = .8\n", "2:5: '.8': a digit stands on both sides of the point: 0.8"},
      {"a = 8.\n", "2:7: '8.': a digit stands on both sides of the point: 8.0"},
      {"a = 1e999\n", "2:10: '1e999': the number is too large or too small"},
      {"a = 99999999999999999999\n", "2:25: '99999999999999999999': the number is too large or too small"},
      {"a = 2026-13-01T12:00:00Z\n",
       "2:12: '2026-13-01T12:00:00Z': a moment is written like 2026-10-20T12:00:00Z"},
      {"a = 1 2\n",
       "2:7: '1 2': behind the number 1 stands something else; one key and one value make a line"},
  });
}

TEST(Syntax, Words) {
  expect_all({
      {"sky.model = overcast\n",
       "2:13: 'overcast': a value is a number, true, false, a list in [], or text in quotes: \"overcast\""},
      {"sun.on = True\n", "2:10: 'True': yes is written true"},
      {"sun.on = no\n", "2:11: 'no': no is written false (a word such as \"off\" stands in quotes)"},
      {"title = \"abc\n[camera]\n", "2:13: '\"abc': the text does not end; close it with \""},
      {"title = \"a \"b\" c\"\n",
       "2:13: '\"a \"b\" c\"': behind the closing quotes stands something else; a quote inside text in "
       "\"...\" "
       "is written \\\""},
      {"title = \"a \"\xc3\xa4\" c\"\n",
       "2:13: '\"a \"\xc3\xa4\" c\"': behind the closing quotes stands something else; a quote inside text "
       "in \"...\" "
       "is written \\\""},
      {"title = \"C:\\wood\"\n",
       "2:13: '\"C:\\wood\"': a backslash in text in \"...\" is written \\\\; in text in '...' it is plain"},
      {"title = \xe2\x80\x9cwood\xe2\x80\x9d\n",
       "2:9: '\xe2\x80\x9cwood\xe2\x80\x9d': text stands in straight quotes, \" or '"},
  });
}

TEST(Syntax, LinesAndTables) {
  expect_all({
      {"f_number 8\n", "2:10: 'f_number 8': a key and its value are written KEY = VALUE: f_number = 8"},
      {"f_number: 8\n", "2:9: 'f_number: 8': a key and its value are written KEY = VALUE: f_number = 8"},
      {"f_number:\n", "2:9: 'f_number:' is no line of a scene; write KEY = VALUE, [table] or # comment"},
      {"f_number =\n", "2:11: 'f_number' has no value; write one behind the ="},
      {"= 8\n", "2:1: '= 8': there is no key in front of the ="},
      {"focal length = 90\n", "2:7: 'focal length': a key with blanks stands in quotes"},
      {"<html>\n", "2:1: '<html>' is no line of a scene; write KEY = VALUE, [table] or # comment"},
      {"h\xc3\xb6he = 8\n", "2:2: 'h\xc3\xb6he = 8': letters other than a to z stand in quotes"},
      {"[k\xc3\xb6rper]\n", "2:3: '[k\xc3\xb6rper]': letters other than a to z stand in quotes"},
      // A mark above a letter that is not there: the TOML library goes astray over it.
      {"\xcc\x96x = 1\n", "2:1: '\xcc\x96x = 1': letters other than a to z stand in quotes"},
      {"[camera\nf_number = 8\n",
       "2:8: '[camera': a table begins with a line [name], a block of a list with a line [[name]]"},
      {"a = 1\na = 2\n", "3:5: 'a' stands there a second time; keep one of the two"},
      {"[camera]\n[camera]\n", "3:1: 'camera' stands there a second time; keep one of the two"},
      {"a = [1; 2]\n",
       "2:7: '[1; 2]': a list is written [1.5, 2, 3], with commas between its values, a point in decimal "
       "numbers and text in quotes"},
      {"a = [1, 2\n[sky]\n", "3:1: '[sky]': the list before this line does not end; close it with ]"},
      {"a = { b = 1, }\n",
       "2:14: '{ b = 1, }': a table within a line is written { key = value, key = value }, with no comma at "
       "its end"},
  });
}

// Bytes that are no text are told before anything is made of them.
TEST(Syntax, Bytes) {
  const auto told = [](const std::string& text) { return refusal_of(text); };
  EXPECT_EQ(told(std::string("\xff\xfeu\0n\0", 6)), "wood.toml:1:1: this is UTF-16; save the file as UTF-8");
  EXPECT_EQ(told(std::string("u\0n\0", 4)),
            "wood.toml:1:2: a zero byte, which no text holds; is this the right file, saved as UTF-8?");
  EXPECT_EQ(told("undercap = 1\ntitle = \"B\xe4r\"\n"),
            "wood.toml:2:11: the byte 0xE4 is not UTF-8; save the file as UTF-8");
  EXPECT_EQ(told("undercap = 1\ntitle = \"a\x1b[2J\"\n"),
            "wood.toml:2:11: the control character U+001B; take it out");
  EXPECT_EQ(told("# \xc3\xa4 \xc2\x9b\n"), "wood.toml:1:5: the control character U+009B; take it out");
  EXPECT_EQ(
      told("undercap = 1\r[camera]\r"),
      "wood.toml:1:13: a carriage return without a line feed; save the file with line ends LF or CR LF");
  EXPECT_EQ(told("\xef\xbb\xbfundercap = 1\r\n[camera]\r\nf_number = 99\r\n"),
            "wood.toml:3:12: camera.f_number is 99; allowed: a number from 0.7 to 64");
  EXPECT_EQ(told("\xef\xbb\xbf"),
            "wood.toml:1:1: the file says nothing; a scene begins with the line 'undercap = 1'");
}

// Values that would take the stack, the memory or the afternoon.
TEST(Syntax, HugeTextsAreRefusedWithTheLimit) {
  const auto many = [](const std::string& block, int count) {
    std::string text = "undercap = 1\n";
    for (int i = 0; i < count; ++i) text += block;
    return text;
  };
  EXPECT_EQ(refusal_of("undercap = 1\na = " + std::string(5000, '[') + std::string(5000, ']') + "\n"),
            "wood.toml:2:261: values are nested too deeply; a scene needs no such list");
  std::string nested = "undercap = 1\na = ";
  for (int i = 0; i < 5000; ++i) nested += "{ a = ";
  EXPECT_NE(refusal_of(nested).find("values are nested too deeply"), std::string::npos);
  EXPECT_EQ(refusal_of(many("[[prop]]\n", 200'000)),
            "wood.toml:4098:1: more than 4096 blocks [[prop]], which is the limit; take some out");
  EXPECT_EQ(refusal_of(many("[[source]]\n", 65)),
            "wood.toml:66:1: more than 64 blocks [[source]], which is the limit; take some out");
  EXPECT_EQ(refusal_of(many("[[meter]]\n", 257)),
            "wood.toml:258:1: more than 256 blocks [[meter]], which is the limit; take some out");
  // Faults beyond the hundredth are counted, not told.
  std::string wrong = "undercap = 1\n[camera]\n";
  for (int i = 0; i < 150; ++i) wrong += fmt::format("x{} = 1\n", i);
  const std::string said = refusal_of(wrong);
  EXPECT_EQ(std::count(said.begin(), said.end(), '\n'), 100);
  EXPECT_NE(said.find("\nwood.toml: and 50 more faults; mend these first"), std::string::npos);
  std::string variant = "undercap = 1\n[[variant]]\nname = \"v\"\nchange = { ";
  for (int i = 0; i < 300; ++i) variant += fmt::format("{}prop.p{}.turn_deg = 1", i == 0 ? "" : ", ", i);
  EXPECT_NE(refusal_of(variant + " }\n").find("more than 256 changes, which is the limit"),
            std::string::npos);
}

}  // namespace
}  // namespace undercap
