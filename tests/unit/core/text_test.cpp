#include "engine/core/text.h"

#include <gtest/gtest.h>

#include "engine/core/errors.h"

namespace undercap {
namespace {

TEST(Text, WhatATerminalShowsIsPrintable) {
  EXPECT_TRUE(is_printable(""));
  EXPECT_TRUE(is_printable("plain ~"));
  EXPECT_TRUE(is_printable("\xc3\xa4 \xe8\x8c\xb8 \xf0\x9f\x8d\x84"));  // 2, 3 and 4 bytes
}

// RFC 3629, 3 and 4: no overlong forms, no surrogates, nothing above U+10FFFF, no lone bytes.
TEST(Text, BrokenUtf8IsNotPrintable) {
  for (const char* text :
       {"\x80", "\xc3", "\xc3(", "\xc0\xaf", "\xc1\xbf", "\xe0\x80\xaf", "\xe8\x8c", "\xed\xa0\x80",
        "\xf0\x80\x80\xaf", "\xf4\x90\x80\x80", "\xf5\x80\x80\x80", "\xff"})
    EXPECT_FALSE(is_printable(text)) << printable(text);
  EXPECT_TRUE(is_printable("\xed\x9f\xbf"));      // U+D7FF, the last before the surrogates
  EXPECT_TRUE(is_printable("\xf4\x8f\xbf\xbf"));  // U+10FFFF
}

TEST(Text, ControlsAreNotPrintable) {
  for (const char* text : {"\n", "\t", "\x1b[2J", "\x7f", "\xc2\x9b"}) EXPECT_FALSE(is_printable(text));
  EXPECT_FALSE(is_printable(std::string_view("\0", 1)));
  EXPECT_TRUE(is_printable("\xc2\xa0"));
}

TEST(Text, EveryOtherByteIsShownByItsNumber) {
  EXPECT_EQ(printable("a\x1b[2J\xff\xc3\xa4\n"), "a\\x1b[2J\\xff\xc3\xa4\\x0a");
}

TEST(Text, RefusalsArePrintable) {
  const Refusal refusal(SourcePlace{"\x1b.toml", 1, 2}, "is \xff\n");
  EXPECT_STREQ(refusal.what(), "\\x1b.toml:1:2: is \\xff\\x0a");
  EXPECT_EQ(refusal.faults()[0].text(), refusal.what());
}

// Ten letters a line: as many words as fit, and one that is longer by itself. Nothing is one empty line.
TEST(Text, BreaksAtBlanks) {
  const auto ten = [](const std::string& line) { return line.size() <= 10; };
  using Lines = std::vector<std::string>;
  EXPECT_EQ(broken_lines("moss and a log", ten), (Lines{"moss and a", "log"}));
  EXPECT_EQ(broken_lines("a chanterelle-like cap", ten), (Lines{"a", "chanterelle-like", "cap"}));
  EXPECT_EQ(broken_lines("", ten), (Lines{""}));
}

}  // namespace
}  // namespace undercap
