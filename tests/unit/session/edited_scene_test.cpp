#include "engine/session/edited_scene.h"

#include <fmt/format.h>

#include "tests/unit/session/set_up.h"

namespace undercap {
namespace {

std::string replaced(std::string text, std::string_view old_part, std::string_view new_part) {
  const std::size_t at = text.find(old_part);
  EXPECT_NE(at, text.npos) << old_part;
  return text.replace(at, old_part.size(), new_part);
}

TEST(EditedScene, SetChangesOneValueAndWhatTheSceneSays) {
  EditedScene edited = small();
  edited.set("camera.f_number", "11", "Aperture");
  EXPECT_EQ(edited.text(), replaced(small_scene, "f_number = 8 #", "f_number = 11 #"));
  EXPECT_EQ(edited.scene().camera.f_number, 11);
  EXPECT_EQ(edited.document().text, edited.text());
}

TEST(EditedScene, UndoAndRedoGoThroughEveryStep) {
  EditedScene edited = small();
  EXPECT_FALSE(edited.undo());
  EXPECT_FALSE(edited.undo_name());
  edited.set("camera.f_number", "11", "Aperture");
  edited.set("camera.roll_deg", "3", "Roll");
  const std::string end = edited.text();
  EXPECT_EQ(edited.undo_name(), "Roll");
  EXPECT_FALSE(edited.redo_name());
  EXPECT_TRUE(edited.undo()->camera);
  EXPECT_EQ(edited.scene().camera.roll_deg, 0);
  EXPECT_EQ(edited.redo_name(), "Roll");
  EXPECT_EQ(edited.undo_name(), "Aperture");
  EXPECT_TRUE(edited.undo()->camera);
  EXPECT_EQ(edited.text(), small_scene);
  EXPECT_TRUE(edited.redo());
  EXPECT_TRUE(edited.redo());
  EXPECT_FALSE(edited.redo());
  EXPECT_EQ(edited.text(), end);
  EXPECT_EQ(edited.scene().camera.roll_deg, 3);
}

TEST(EditedScene, AnEditAfterUndoForgetsWhatWasUndone) {
  EditedScene edited = small();
  edited.set("camera.f_number", "11", "Aperture");
  edited.undo();
  edited.set("camera.f_number", "8", "Same");  // changes no byte
  EXPECT_EQ(edited.redo_name(), "Aperture");
  edited.set("camera.f_number", "16", "Other");
  EXPECT_FALSE(edited.redo());
}

TEST(EditedScene, ARefusedEditLeavesAllAsItWas) {
  EditedScene edited = small();
  edited.set("camera.f_number", "11", "Aperture");
  edited.undo();
  const auto refused = [&](const auto& edit, std::string_view because) {
    const std::string words = refusal_of(edit);
    EXPECT_TRUE(has(words, because)) << words;
    EXPECT_EQ(edited.text(), small_scene);
    EXPECT_EQ(edited.scene().camera.f_number, 8);
    EXPECT_FALSE(edited.undo_name());
    EXPECT_EQ(edited.redo_name(), "Aperture");
  };
  refused([&] { edited.set("camera.f_number", "0.1", "A"); }, "allowed: a number from 0.7 to 64");
  refused([&] { edited.set("camera.f_numbre", "8", "A"); }, "did you mean 'camera.f_number'?");
  refused(
      [&] {
        edited.change({{"camera.f_number", "4"}, {"camera.roll_deg", "999"}}, "A");
      },
      "camera.roll_deg");
  refused([&] { edited.use_variant("closed"); }, "there is no variant 'closed'");
  refused([&] { edited.unset("source.torch.position_m", "A"); }, "source.torch");
  refused([&] { edited.unset("prop.card.material.surface", "A"); }, "not complete");
  refused([&] { edited.remove_block("prop", "ball", "A"); }, "there is no prop \"ball\"");
  refused([&] { edited.replace_text("undercap = 1\n[camera]\nf_number = \"x\"\n", "A"); }, "f_number");
  refused([&] { edited.replace_text("not TOML", "A"); }, "small.toml:1");
}

TEST(EditedScene, ARefusalNamesTheStepAndItsKey) {
  EditedScene edited = small();
  EXPECT_TRUE(has(refusal_of([&] { edited.set("camera.f_number", "0.1", "Aperture"); }),
                  "Aperture camera.f_number=0.1: camera.f_number is 0.1"));
}

TEST(EditedScene, ExclusiveKeysGiveWayAndAreNamed) {
  EditedScene edited = small();
  edited.set("source.torch.intensity_cd", "50", "Strength");
  EXPECT_FALSE(has(edited.text(), "flux_lm"));
  ASSERT_EQ(edited.notes().size(), 1U);
  EXPECT_TRUE(has(edited.notes()[0], "took out source.torch.flux_lm = 120"));
  refusal_of([&] { edited.set("camera.f_number", "0.1", "Aperture"); });
  EXPECT_EQ(edited.notes().size(), 1U);  // a refused edit leaves them too
  edited.set("camera.f_number", "4", "Aperture");
  EXPECT_TRUE(edited.notes().empty());
  edited.undo();
  edited.undo();
  EXPECT_EQ(edited.text(), small_scene);
}

TEST(EditedScene, SeveralKeysAndVariantsAreOneStep) {
  EditedScene edited = small();
  edited.change({{"camera.f_number", "4"}, {"camera.roll_deg", "9"}}, "Both");
  EXPECT_EQ(edited.scene().camera.roll_deg, 9);
  EXPECT_TRUE(edited.undo());
  EXPECT_EQ(edited.text(), small_scene);
  edited.use_variant("open");
  EXPECT_EQ(edited.scene().sources[0].power_pct, 50);
  EXPECT_EQ(edited.undo_name(), "Variant open");
  EXPECT_TRUE(edited.undo());
  EXPECT_EQ(edited.text(), small_scene);
}

TEST(EditedScene, AGestureIsOneStep) {
  EditedScene edited = small();
  edited.begin_gesture("Move torch");
  for (int i = 0; i < 100; ++i) {
    const SceneChange change =
        edited.set("source.torch.position_m", fmt::format("[0.2, -0.1, {}]", 0.2 + i * 0.001), "Move torch");
    EXPECT_EQ(change.lamps, std::vector<std::string>{"torch"});
  }
  EXPECT_EQ(edited.undo_name(), "Move torch");
  edited.end_gesture();
  EXPECT_EQ(edited.undo()->lamps, std::vector<std::string>{"torch"});
  EXPECT_EQ(edited.text(), small_scene);
  EXPECT_FALSE(edited.undo());
  EXPECT_TRUE(edited.redo());
  EXPECT_NEAR(edited.scene().sources[0].position_m.z, 0.299, 1e-12);
}

TEST(EditedScene, AGestureThatEndsWhereItBeganIsNoStep) {
  EditedScene edited = small();
  edited.set("camera.f_number", "11", "Aperture");
  edited.undo();
  edited.begin_gesture("Move");
  edited.set("camera.roll_deg", "1", "Move");
  EXPECT_FALSE(edited.redo_name());
  edited.unset("camera.roll_deg", "Move");
  edited.end_gesture();
  EXPECT_EQ(edited.text(), small_scene);
  EXPECT_FALSE(edited.undo_name());
  EXPECT_EQ(edited.redo_name(), "Aperture");
}

TEST(EditedScene, AnOpenGestureEndsWithUndoOrTheNext) {
  EditedScene edited = small();
  edited.begin_gesture("One");
  edited.set("camera.roll_deg", "1", "One");
  edited.begin_gesture("Two");
  edited.set("camera.roll_deg", "2", "Two");
  edited.undo();
  EXPECT_EQ(edited.scene().camera.roll_deg, 1);
  edited.set("camera.f_number", "4", "Three");  // no part of a gesture
  EXPECT_EQ(edited.undo_name(), "Three");
  edited.undo();
  EXPECT_EQ(edited.undo_name(), "One");
}

TEST(EditedScene, NotesOfAGestureStayToItsEnd) {
  EditedScene edited = small();
  edited.begin_gesture("Strength");
  edited.set("source.torch.intensity_cd", "50", "Strength");
  edited.set("source.torch.intensity_cd", "51", "Strength");
  EXPECT_EQ(edited.notes().size(), 1U);
  edited.begin_gesture("Other");
  EXPECT_TRUE(edited.notes().empty());
}

TEST(EditedScene, TheOldestStepsAreDropped) {
  EditedScene edited = EditedScene::from_text("undercap = 1\ntitle = \"\"\n", "x.toml");
  for (int i = 0; i < 2010; ++i) edited.set("title", fmt::format("\"{}\"", i), "Title");
  int steps = 0;
  while (edited.undo()) ++steps;
  EXPECT_EQ(steps, 2000);
  EXPECT_EQ(edited.scene().title, "9");
  while (edited.redo()) --steps;
  EXPECT_EQ(steps, 0);
  EXPECT_EQ(edited.scene().title, "2009");
}

TEST(EditedScene, LineEndsAndCommentsStay) {
  std::string windows;
  for (const char c : small_scene) windows += c == '\n' ? std::string("\r\n") : std::string(1, c);
  EditedScene edited = EditedScene::from_text(windows, "w.toml");
  edited.set("camera.f_number", "11", "A");
  edited.set("camera.roll_deg", "2", "A");
  edited.add_block("[[prop]]\nname = \"new\"\nkind = \"sphere\"", "A");
  edited.set("canopy.gap_deg", "10", "A");
  edited.remove_block("source", "flash", "A");
  for (std::size_t at = 0; (at = edited.text().find('\n', at)) != std::string::npos; ++at)
    ASSERT_EQ(edited.text()[at - 1], '\r') << edited.text().substr(0, at);
  for (const char* comment : {"# About this file.", "# a dull day", "# as marked", "# The subject."})
    EXPECT_TRUE(has(edited.text(), comment)) << comment;
  while (edited.undo()) {
  }
  EXPECT_EQ(edited.text(), windows);
}

TEST(EditedScene, UnsetBringsTheDefaultBack) {
  EditedScene edited = small();
  edited.unset("camera.f_number", "Default");
  EXPECT_EQ(edited.text(), replaced(small_scene, "f_number = 8 # as marked\n", ""));
  EXPECT_EQ(edited.scene().camera.f_number, 5.6);
  edited.unset("camera.f_number", "Again");
  EXPECT_EQ(edited.undo_name(), "Default");
}

TEST(EditedScene, NextNameIsFree) {
  EditedScene edited = small();
  EXPECT_EQ(edited.next_name("prop", "moss"), "moss");
  EXPECT_EQ(edited.next_name("prop", "ball"), "ball 2");
  EXPECT_EQ(edited.next_name("source", "ball"), "ball");
  edited.add_block("[[prop]]\nname = \"ball 2\"\nkind = \"sphere\"\n", "Copy");
  EXPECT_EQ(edited.next_name("prop", "ball"), "ball 3");
  EXPECT_EQ(edited.next_name("prop", "ball 2"), "ball 3");
  EXPECT_EQ(edited.next_name("variant", "open"), "open 2");
}

}  // namespace
}  // namespace undercap
