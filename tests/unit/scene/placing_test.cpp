// What a scene may say about where its props stand: hosts, areas, scatters.
#include <gtest/gtest.h>

#include "tests/unit/scene/scene_text.h"

namespace undercap {
namespace {

std::string prop(const std::string& name, const std::string& rest) {
  return "[[prop]]\nname = \"" + name + "\"\nkind = \"sphere\"\n" + rest + "\n";
}

const std::string top = "undercap = 1\n";

TEST(Placing, AHostStandsFurtherUp) {
  EXPECT_EQ(scene_of(top + prop("log", "") + prop("ball", "on = \"log\"")).props[1].on, "log");
  EXPECT_EQ(
      refusal_of(top + prop("ball", "on = \"log\"") + prop("log", "")),
      "wood.toml:5:6: prop.ball.on is \"log\", which stands further down; move its block above this one");
  EXPECT_EQ(refusal_of(top + prop("ball", "on = \"ball\"")),
            "wood.toml:5:6: prop.ball.on is \"ball\", a prop cannot grow on itself");
  EXPECT_EQ(refusal_of(top + prop("stump", "") + prop("ball", "on = \"stumb\"")),
            "wood.toml:9:6: prop.ball.on is \"stumb\", and there is no such prop; did you mean \"stump\"?");
  EXPECT_EQ(
      refusal_of(top + prop("ball", "on = \"stump\"")),
      "wood.toml:5:6: prop.ball.on is \"stump\", and there is no such prop; props above this one: none");
}

TEST(Placing, WhatGrowsOnAHiddenPropIsHidden) {
  const Scene scene = scene_of(top + prop("log", "visible = false") + prop("ball", "on = \"log\"") +
                               prop("mite", "on = \"ball\"") + prop("free", ""));
  EXPECT_FALSE(scene.props[1].visible);
  EXPECT_FALSE(scene.props[2].visible);
  EXPECT_TRUE(scene.props[3].visible);
}

TEST(Placing, AMaskNeedsSomethingThatSpreads) {
  const std::string mask = "within = [[0, 0], [1, 0], [1, 1]]\n";
  EXPECT_EQ(refusal_of(top + prop("ball", mask)),
            "wood.toml:5:10: prop.ball.within masks what is spread over an area; a sphere needs 'scatter' "
            "beside it");
  const Scene scene = scene_of(top + prop("ball", mask + "scatter = { count = 3, radius_m = 1 }"));
  ASSERT_EQ(scene.props[0].within.size(), 3u);
  EXPECT_EQ(scene.props[0].within[2], (std::vector<double>{1, 1}));
  const std::string two = refusal_of(top + prop("ball", "within = [[0, 0], [1, 0]]"));
  EXPECT_NE(two.find("3 at least"), two.npos) << two;
}

TEST(Placing, AScatterHasOneAmountAndALimit) {
  EXPECT_EQ(refusal_of(top + prop("ball", "scatter = { radius_m = 1 }")),
            "wood.toml:5:11: prop.ball.scatter needs exactly one of count, per_m2");
  EXPECT_EQ(
      refusal_of(top + prop("ball", "scatter = { per_m2 = 5000, radius_m = 1 }")),
      "wood.toml:5:22: prop.ball.scatter: 5000 on a square metre within 1 m are 15708; allowed: 4000 at "
      "most");
  SceneFile file =
      SceneFile::from_text(top + prop("ball", "scatter = { count = 3, radius_m = 1 }"), "wood.toml");
  file.set("prop.ball.scatter.per_m2", "7", "test");
  EXPECT_FALSE(file.scene().props[0].scatter->count);
  EXPECT_EQ(file.scene().props[0].scatter->per_m2, 7);
}

TEST(Placing, AScatterHasAsManyIndividuals) {
  const std::string ball = prop("ball", "scatter = { count = 3, radius_m = 1 }");
  EXPECT_EQ(refusal_of(top + ball + "[subject]\nparts = [\"ball.3\"]\n"), "");
  EXPECT_EQ(refusal_of(top + ball + "[subject]\nparts = [\"ball.4\"]\n"),
            "wood.toml:7:10: subject.parts is \"ball.4\": \"ball\" has 3 individuals");
}

}  // namespace
}  // namespace undercap
