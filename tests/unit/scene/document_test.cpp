#include "engine/scene/document.h"

#include <gtest/gtest.h>

#include "engine/scene/layout.h"
#include "engine/scene/patch.h"

namespace undercap {
namespace {

std::string parse_fault(const std::string& text) {
  try {
    parse_document(text, "x.toml");
  } catch (const Refusal& refusal) {
    return refusal.what();
  }
  return {};
}

TEST(Document, SourceIsTheValueAsWritten) {
  const Document d =
      parse_document("a = 2.80 # open\nb = [ 1,\n 2 ]\nc = { d = 'x' }\n\"\xc3\xa9\" = \"\xc3\xa9\"\n", "x");
  EXPECT_EQ(d.source(*d.root.find("a")), "2.80");
  EXPECT_EQ(d.source(*d.root.find("b")), "[ 1,\n 2 ]");
  EXPECT_EQ(d.source(*d.root.find("c")), "{ d = 'x' }");
  EXPECT_EQ(d.source(*d.root.find("\xc3\xa9")), "\"\xc3\xa9\"");
  EXPECT_EQ(d.shown(*d.root.find("b")), "[ 1, 2 ]");
}

TEST(Document, KeepsTheOrderOfTheFile) {
  const Document d = parse_document("z = 1\nm = 2\na = 3\n", "x");
  ASSERT_EQ(d.root.entries.size(), 3u);
  EXPECT_EQ(d.root.entries[0].key, "z");
  EXPECT_EQ(d.root.entries[2].key, "a");
}

// Columns count code points: 'é' is one of them in two bytes, the mushroom one in four.
TEST(Document, ColumnsCountCodePoints) {
  const Document d = parse_document("a = [ \"\xc3\xa9\", \"\xf0\x9f\x8d\x84\", 7 ]\n", "x");
  const FileNode& seven = d.root.find("a")->items[2];
  EXPECT_EQ(seven.spot.line, 1);
  EXPECT_EQ(seven.spot.column, 17);
  EXPECT_EQ(d.source(seven), "7");
}

TEST(Document, ByteOrderMarkIsInNoColumn) {
  const Document d = parse_document(
      "\xef\xbb\xbf"
      "a = 7\nb = 8\n",
      "x");
  EXPECT_EQ(d.root.find("a")->spot.column, 5);
  EXPECT_EQ(d.source(*d.root.find("a")), "7");
  EXPECT_EQ(d.source(*d.root.find("b")), "8");
}

TEST(Document, SyntaxErrorHasItsPlace) {
  EXPECT_EQ(parse_fault("undercap = 1\n[camera\n").substr(0, 21), "x.toml:2:8: '[camera'");
  EXPECT_EQ(parse_fault("a = 1\na = 2\n").substr(0, 15), "x.toml:2:5: 'a'");
  EXPECT_EQ(parse_fault("a = \"\xff\"\n").substr(0, 25), "x.toml:1:6: the byte 0xFF");
  EXPECT_EQ(parse_fault("a = [1, 2").substr(0, 21), "x.toml:1:10: '[1, 2':");
}

// A hundred thousand steps would take the parser's stack.
TEST(Document, KeysWithoutEndAreRefused) {
  std::string deep = "# a.b\nnote = \"\"\"\n...\n\"\"\"\na";
  for (int i = 0; i < 100000; ++i) deep += ".a";
  EXPECT_EQ(parse_fault(deep + " = 1\n"),
            "x.toml:5:1: a key with more than 16 dots; a scene has no such key");
  EXPECT_EQ(parse_fault("note = '" + std::string(1000, '.') + "' # " + std::string(1000, '.') + "\n"), "");
  EXPECT_EQ(parse_fault("note = \"\\\"" + std::string(1000, '.') + "\"\n"), "");
  EXPECT_NE(parse_fault("a = " + std::string(100000, '[')), "");
}

TEST(Document, MomentsAreTurnedToUtc) {
  const Document d = parse_document(
      "a = 2026-01-01T00:30:15.5+02:00\nb = 2024-02-28T23:00:00-01:30\nc = 2026-01-01T00:30:00\n", "x");
  const UtcTime a = d.root.find("a")->moment;
  EXPECT_EQ(std::tuple(a.year, a.month, a.day, a.hour, a.minute, a.second),
            std::tuple(2025, 12, 31, 22, 30, 15.5));
  const UtcTime b = d.root.find("b")->moment;  // 2024 is a leap year
  EXPECT_EQ(std::tuple(b.year, b.month, b.day, b.hour, b.minute), std::tuple(2024, 2, 29, 0, 30));
  EXPECT_EQ(d.root.find("c")->type, FileNode::Type::local_time);
}

TEST(Document, QuotingRoundTrips) {
  const std::string hard = "say \"a\\b\"\n\t\x01 \xc3\xa9";
  const Document d = parse_document("a = " + toml_quoted(hard) + "\n", "x");
  EXPECT_EQ(d.root.find("a")->text, hard);
  EXPECT_EQ(written_key("f_number"), "f_number");
  EXPECT_EQ(written_key("mat.001"), "\"mat.001\"");
}

// The layout's own walk through the text must find the spans that the library finds.
TEST(Layout, AgreesWithTheParserOnEveryValue) {
  const std::string text =
      "\xef\xbb\xbf# top\r\nundercap = 1 # one\r\n title= 'it \"s' \r\n"
      "note = \"\"\"two\r\n \\\"\"\" lines\"\"\"\"\r\n"
      "a.\"b.c\" . d = [ [1, 2], # comment ] }\r\n  [3,4,], ]\r\n"
      "when = 1979-05-27 07:32:00Z\r\ninline = { x = 1, y.z = \"}\", w = { }, v = [ { q = 1 }, { q = "
      "'''\r\n]''' } ] }\r\n"
      "[t] # header ]\r\nk = 0x1F\r\n[[list]]\r\nname = 'one'\r\n[list.sub.'p q']\r\nk = "
      "+1e3\r\n[[list]]\r\nname=\"two\"\r\n"
      "sub.x.k = -inf";
  const Document d = parse_document(text, "x");
  const TextLayout layout = layout_of(text);
  EXPECT_EQ(layout.members.size(), 19u);
  for (const TextMember& member : layout.members) {
    const FileNode* node = d.find(member.path);
    ASSERT_NE(node, nullptr) << member.path.back();
    EXPECT_EQ(member.value_begin, node->begin) << member.path.back();
    EXPECT_EQ(member.value_end, node->end) << member.path.back();
  }
  EXPECT_EQ(layout.sections.size(), 5u);
  EXPECT_EQ(layout.members.back().path, (TextPath{"list", element_step(1), "sub", "x", "k"}));
}

TEST(LineNumbers, FollowAddedAndRemovedLines) {
  LineNumbers lines;
  std::string text = "a\nb\nc\n";
  const auto apply = [&](const Splice& splice) {
    lines.splice(text, splice);
    text = spliced(text, splice);
  };
  apply({2, 2, "new\n"});  // a new b c
  EXPECT_EQ(lines.in_file(2), 0);
  EXPECT_EQ(lines.in_file(3), 2);
  apply({0, 2, ""});  // new b c
  EXPECT_EQ(lines.in_file(1), 0);
  EXPECT_EQ(lines.in_file(2), 2);
  EXPECT_EQ(lines.in_file(3), 3);
  apply({4, 5, "longer"});  // new longer c
  EXPECT_EQ(lines.in_file(2), 2);
  EXPECT_EQ(text, "new\nlonger\nc\n");
}

}  // namespace
}  // namespace undercap
