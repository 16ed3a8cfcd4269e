#include "engine/session/edit_cost.h"

#include <fmt/format.h>

#include "engine/scene/keys.h"
#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

std::string words(const SceneChange& change) {
  std::string text;
  const auto add = [&](bool is, const std::string& word) {
    if (is) text += (text.empty() ? "" : " ") + word;
  };
  add(change.readings, "readings");
  add(change.mix, "mix");
  for (const std::string& lamp : change.lamps) add(true, "lamp:" + lamp);
  add(change.camera, "camera");
  add(change.sky, "sky");
  add(change.set, "set");
  return text;
}

std::string cost_of_set(const std::string& key, const std::string& value) {
  EditedScene edited = small();
  return words(edited.set(key, value, "test"));
}

TEST(EditCost, EveryKeyHasAClass) {
  for (const KeyRow& row : key_rows())
    EXPECT_TRUE(edit_class(row.table, row.name))
        << row.table << "." << row.name << ": give it a row in engine/session/edit_cost.cpp";
  for (const Kind& kind : kinds())
    for (const KeyRow& row : of_kind(kind)) EXPECT_EQ(edit_class(row.table, row.name), EditClass::set);
  EXPECT_FALSE(edit_class("camera.made_up", "f_number"));
  EXPECT_FALSE(edit_class("sun", "made_up"));
}

TEST(EditCost, EachClassSetsItsOwn) {
  EXPECT_EQ(cost_of_set("title", "\"Other\""), "");
  EXPECT_EQ(cost_of_set("subject.parts", "[\"card\"]"), "readings set");  // its meshes are the finest
  EXPECT_EQ(cost_of_set("exposure.hand_rule", "1"), "readings");
  EXPECT_EQ(cost_of_set("camera.coc_rule", "\"two_pixels\""), "readings");
  EXPECT_EQ(cost_of_set("meter.foot.position_m", "[0, 0, 0.04]"), "readings");
  EXPECT_EQ(cost_of_set("exposure.iso", "400"), "readings mix");
  EXPECT_EQ(cost_of_set("camera.transmission", "0.5"), "readings mix");
  EXPECT_EQ(cost_of_set("source.torch.power_pct", "50"), "readings mix");
  EXPECT_EQ(cost_of_set("source.torch.position_m", "[0.3, 0, 0.1]"), "readings lamp:torch");
  EXPECT_EQ(cost_of_set("source.flash.size_mm", "[50, 40]"), "readings lamp:flash");
  EXPECT_EQ(cost_of_set("camera.f_number", "11"), "readings camera");
  EXPECT_EQ(cost_of_set("sun.on", "true"), "readings sky");
  EXPECT_EQ(cost_of_set("prop.ball.diameter_mm", "41"), "readings set");
  EXPECT_EQ(cost_of_set("prop.card.material.surface.reflectance", "0.5"), "readings set");
  EXPECT_EQ(cost_of_set("source.torch.snoot_mm", "30"), "readings set");
}

TEST(EditCost, ColourOfAGeneralSkyIsItsMap) {
  EXPECT_EQ(cost_of_set("sky.cct_k", "7000"), "readings mix");
  EditedScene edited = small();
  edited.set("sky.model", "\"general\"", "model");
  EXPECT_EQ(words(edited.set("sky.cct_k", "7000", "colour")), "readings sky");
}

TEST(EditCost, SnoottedLampsMoveTheSet) {
  EditedScene edited = small();
  edited.set("source.torch.snoot_mm", "30", "snoot");
  EXPECT_EQ(words(edited.set("source.torch.beam_deg", "40", "beam")), "readings set");
  EXPECT_EQ(words(edited.set("source.torch.power_pct", "40", "power")), "readings mix");
  EXPECT_EQ(words(edited.set("source.flash.beam_deg", "40", "beam")), "readings lamp:flash");
}

TEST(EditCost, WhatLooksAtAThingThatMovesTurns) {
  EditedScene edited = small();
  edited.set("source.flash.aim", "\"source:torch\"", "aim");
  EXPECT_EQ(words(edited.set("source.torch.position_m", "[0.3, 0, 0.1]", "move")),
            "readings lamp:torch lamp:flash");
  edited.set("camera.look_at", "\"meter:foot\"", "look");
  EXPECT_EQ(words(edited.set("meter.foot.position_m", "[0, 0, 0.05]", "move")), "readings camera");
  edited.set("exposure.meter_on", "\"meter:middle\"", "meter");
  EXPECT_EQ(words(edited.set("meter.middle.at", "[0.4, 0.5]", "spot")), "readings mix");
}

TEST(EditCost, HowAValueIsWrittenIsNoChange) {
  EXPECT_EQ(cost_of_set("camera.f_number", "8.0"), "");
  EXPECT_EQ(cost_of_set("camera.roll_deg", "0"), "");  // says its default
  EXPECT_EQ(cost_of_set("source.torch.on", "true"), "");
  EditedScene edited = small();
  edited.set("camera.roll_deg", "10", "roll");
  EXPECT_EQ(words(edited.unset("camera.roll_deg", "no roll")), "readings camera");
}

TEST(EditCost, BlocksThatComeAndGo) {
  EditedScene edited = small();
  EXPECT_EQ(words(edited.add_block("[[meter]]\nname = \"m\"\nkind = \"spot\"\n", "add")), "readings");
  EXPECT_EQ(words(edited.remove_block("variant", "open", "remove")), "");
  EXPECT_EQ(words(edited.remove_block("source", "flash", "remove")), "readings set");
  EXPECT_EQ(words(edited.remove_block("prop", "card", "remove")), "readings set");
}

TEST(EditCost, KeysAreNamed) {
  EditedScene edited = small();
  const SceneChange change = edited.use_variant("open");
  EXPECT_EQ(change.keys, (std::vector<std::string>{"camera.f_number", "source.torch.power_pct"}));
  EXPECT_EQ(words(change), "readings mix camera");
}

}  // namespace
}  // namespace undercap
