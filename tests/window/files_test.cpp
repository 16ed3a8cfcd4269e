// Scenes and their files: saving, quitting, recovering, what cannot be read.
#include "engine/core/files.h"

#include <signal.h>

#include "tests/window/set_up.h"

namespace undercap {
namespace {

using Said = OpenWindow::Said;

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines(1);
  for (const char c : text) {
    if (c == '\n')
      lines.emplace_back();
    else
      lines.back() += c;
  }
  return lines;
}

// What was edited differs, the comment behind it stays, and so does every other byte. Opened again, the scene
// reads as it did.
TEST_F(Window, SavesAndOpensAgain) {
  open();
  window().wait_for_picture();
  window().type_over("source.torch.distance", "20");
  set_iso("320");
  save();
  const auto before = lines_of(small_scene()), after = lines_of(text());
  ASSERT_EQ(after.size(), before.size());
  for (std::size_t i = 0; i < before.size(); ++i) {
    if (before[i].starts_with("position_m = [ -0.2")) {
      EXPECT_NE(after[i], before[i]);
      EXPECT_TRUE(after[i].starts_with("position_m = [")) << after[i];
      EXPECT_TRUE(after[i].ends_with("]   # within reach")) << after[i];
    } else {
      EXPECT_EQ(after[i], before[i] == "\tiso = 200 # as it is set\tout there"
                              ? "\tiso = 320 # as it is set\tout there"
                              : before[i]);
    }
  }
  window().wait("readings of the edited scene",
                [](const Said& now) { return now["readings_current"] == true; });
  // They are worked out some times a second.
  const unsigned count = window().said()["count"];
  window().wait("what they say", [&](const Said& now) { return now["count"] >= count + 6; });
  const Said told = window().said()["readings"];
  EXPECT_EQ(quit(), 0);
  open();
  window().wait_for_picture();
  const Said again = window().said()["readings"];
  int compared = 0;
  for (const auto& [name, value] : told.items()) {
    ASSERT_TRUE(again.contains(name)) << name;
    if (!value.is_number()) {
      EXPECT_EQ(again[name], value) << name;
      continue;
    }
    ++compared;
    // The first survey may be all there is yet: its errors are below these.
    const double x = value, tolerance = name.ends_with("_stops") ? 0.05
                                        : name.ends_with("_pct") ? 0.5
                                                                 : 0.02 * std::abs(x) + 1e-9;
    EXPECT_NEAR(again[name].get<double>(), x, tolerance) << name;
  }
  EXPECT_GT(compared, 30);
}

TEST_F(Window, AsksBeforeChangesAreLost) {
  open();
  window().wait_for_picture();
  set_iso("400");
  window().key("ctrl+q");
  window().area("unsaved drop");
  show("unsaved");
  window().key("Escape");
  EXPECT_FALSE(window().has("unsaved drop"));
  EXPECT_EQ(window().said()["unsaved"], true);
  window().key("ctrl+q");
  const Spot drop = window().area("unsaved drop").middle();
  window().point(drop);
  display().hand({"click", "1"});
  EXPECT_EQ(window().ended(), 0);
  EXPECT_EQ(text(), small_scene());
  EXPECT_TRUE(copies().empty());
}

TEST_F(Window, KilledWhileEditing) {
  open();
  window().wait_for_picture();
  set_iso("500");
  const std::string edited = replaced(small_scene(), "iso = 200", "iso = 500");
  window().wait("a copy of the unsaved text", [&](const Said&) {
    return copies().size() == 1 && read_file(copies().front()).ends_with(edited);
  });
  window().process().signal(SIGKILL);
  EXPECT_EQ(window().ended(), 1000 + SIGKILL);
  EXPECT_EQ(text(), small_scene());
  open();
  window().area("recover take");
  show("recover");
  window().click("recover take");
  EXPECT_EQ(window().said()["unsaved"], true);
  window().wait("the edited scene", [](const Said& now) { return now["readings"]["exposure.iso"] == 500; });
  save();
  EXPECT_EQ(text(), edited);
  EXPECT_EQ(quit(), 0);
  EXPECT_TRUE(copies().empty());
}

TEST_F(Window, BrokenSceneLeavesTheOldOne) {
  const std::filesystem::path broken = folder / "broken.toml";
  write_file(broken, "undercap = 1\n[camera]\n# too far\nf_number = 800\n", false);
  open();
  window().wait_for_picture();
  window().key("ctrl+o");
  window().area("file name");
  window().type(broken.string());
  show("open");
  window().key("Return");
  window().wait_for_message("broken.toml:4:");
  show("broken");
  EXPECT_EQ(window().said()["file"], file.string());
  const unsigned traced = window().said()["traced"];
  window().wait("more samples of the old scene", [&](const Said& now) { return now["traced"] > traced; });
  // What is whole opens by the same way.
  write_file(broken, replaced(small_scene(), "iso = 200", "iso = 640"), true);
  window().key("ctrl+o");
  window().area("file name");
  window().type(broken.string());
  window().key("Return");
  window().wait("the other scene", [&](const Said& now) {
    return now["file"] == broken.string() && now["ready"] == true && now["readings"]["exposure.iso"] == 640;
  });
}

}  // namespace
}  // namespace undercap
