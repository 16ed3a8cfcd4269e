// Blocks that are added and removed, byte by byte.
#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

EditedScene of(const std::string& text) { return EditedScene::from_text(text, "x.toml"); }

const std::string two_props = R"(undercap = 1

# First.
# Two lines.
[[prop]]
name = "a" # mine
kind = "card"
[prop.material.surface]
# inside
reflectance = 0.3

[[prop]]
name = "b"
kind = "sphere"
# at the end
)";

TEST(Blocks, AreAddedBehindTheirList) {
  EditedScene edited =
      of("undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"card\"\n\n[camera]\nf_number = 8\n");
  edited.add_block("[[prop]]\nname = \"b\"\nkind = \"card\"\n[prop.material.surface]\nwet = 1\n", "Add");
  EXPECT_EQ(edited.text(),
            "undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"card\"\n\n[[prop]]\nname = \"b\"\nkind = "
            "\"card\"\n[prop.material.surface]\nwet = 1\n\n[camera]\nf_number = 8\n");
  ASSERT_EQ(edited.scene().props.size(), 2U);
  EXPECT_EQ(edited.scene().props[1].materials.at("surface").wet, 1);
}

TEST(Blocks, AreAddedAtAnEndWithoutLineEnd) {
  EditedScene edited = of("undercap = 1");
  edited.add_block("# new\n[[meter]]\nname = \"m\"\nkind = \"spot\"", "Add");
  EXPECT_EQ(edited.text(), "undercap = 1\n\n# new\n[[meter]]\nname = \"m\"\nkind = \"spot\"\n");
  edited.undo();
  EXPECT_EQ(edited.text(), "undercap = 1");
}

TEST(Blocks, OnlyOneBlockOfAListIsAdded) {
  EditedScene edited = of(two_props);
  const auto refusal = [&](const std::string& block) {
    return refusal_of([&] { edited.add_block(block, "Add"); });
  };
  const std::string c = "[[prop]]\nname = \"c\"\nkind = \"card\"\n", wanted = "Add: allowed: one block";
  for (const std::string& block :
       {c + "[[prop]]\nname = \"d\"\nkind = \"card\"\n", c + "[camera]\nf_number = 8\n",
        "title = \"t\"\n" + c, std::string("[[taken]]\niso = 2\n"),
        std::string("prop = [{ name = \"c\", kind = \"card\" }]\n"), std::string()})
    EXPECT_TRUE(has(refusal(block), wanted)) << block << " " << refusal(block);
  EXPECT_TRUE(has(refusal("[[prop]\n"), "Add: ")) << refusal("[[prop]\n");
  EXPECT_TRUE(has(refusal("[[prop]]\nname = \"a\"\nkind = \"card\"\n"), "another prop is named \"a\""));
  EXPECT_EQ(edited.text(), two_props);
}

TEST(Blocks, GoWithTheCommentAboveThem) {
  EditedScene edited = of(two_props);
  edited.remove_block("prop", "a", "Remove");
  EXPECT_EQ(edited.text(), "undercap = 1\n\n[[prop]]\nname = \"b\"\nkind = \"sphere\"\n# at the end\n");
  edited.undo();
  edited.remove_block("prop", "b", "Remove");
  EXPECT_EQ(edited.text(),
            two_props.substr(0, two_props.find("\n\n[[prop]]\nname = \"b\"") + 1) + "# at the end\n");
}

TEST(Blocks, GoFromWhereTheyAreScattered) {
  const std::string apart =
      "undercap = 1\n[[prop]]\nname = \"a\"\nkind = \"card\"\n\n[camera]\nf_number = 8\n\n"
      "[prop.material.surface]\nwet = 1\n\n[exposure]\niso = 100\n";
  EditedScene edited = of(apart);
  ASSERT_EQ(edited.scene().props[0].materials.size(), 1U);
  edited.remove_block("prop", "a", "Remove");
  EXPECT_EQ(edited.text(), "undercap = 1\n\n[camera]\nf_number = 8\n\n[exposure]\niso = 100\n");
  edited.undo();
  EXPECT_EQ(edited.text(), apart);
}

TEST(Blocks, GoFromALineOfTheirOwn) {
  const std::string inside =
      "undercap = 1\nprop = [{ name = \"a\", kind = \"card\" }, { name = \"b\", kind = \"card\" }]\n";
  EditedScene edited = of(inside);
  edited.remove_block("prop", "b", "Remove");
  EXPECT_EQ(edited.text(), "undercap = 1\nprop = [{ name = \"a\", kind = \"card\" }]\n");
  EXPECT_TRUE(has(refusal_of([&] { edited.add_block("[[prop]]\nname = \"c\"\nkind = \"card\"\n", "Add"); }),
                  "write it as [[prop]] blocks first"));
}

TEST(Blocks, WhatIsNamedElsewhereStays) {
  EditedScene edited = small();
  EXPECT_TRUE(has(refusal_of([&] { edited.remove_block("source", "torch", "Remove"); }), "source.torch"));
  EXPECT_TRUE(has(refusal_of([&] { edited.remove_block("source", "tor", "Remove"); }),
                  "there is no source named \"tor\""));
  EXPECT_TRUE(has(refusal_of([&] { edited.remove_block("camera", "x", "Remove"); }), "no camera named"));
  EXPECT_EQ(edited.text(), small_scene);
}

}  // namespace
}  // namespace undercap
