// The window opens, on screens of several sizes, and shows its panes.
#include <algorithm>
#include <set>

#include "engine/core/files.h"
#include "tests/window/set_up.h"

namespace undercap {
namespace {

// How many colours a part of the screen has: one when nothing is drawn there.
std::size_t colours(const Picture8& screen, const Area& part) {
  std::set<unsigned> seen;
  for (int y = static_cast<int>(part.top); y < static_cast<int>(part.bottom); ++y)
    for (int x = static_cast<int>(part.left); x < static_cast<int>(part.right); ++x) {
      const auto* rgb = &screen.rgb.at(static_cast<std::size_t>((y * screen.width + x) * 3));
      seen.insert(rgb[0] * 65536u + rgb[1] * 256u + rgb[2]);
    }
  return seen.size();
}

bool overlap(const Area& a, const Area& b) {
  return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
}

TEST_F(Window, ShowsTheSceneAndEveryPane) {
  open();
  window().wait_for_picture(4);
  EXPECT_EQ(window().said()["file"], file.string());
  EXPECT_EQ(window().said()["unsaved"], false);
  EXPECT_EQ(window().said()["undo"], "");
  window().wait("a whole picture", [](const auto& now) { return now["full"] == true; });
  show("window");
  const Picture8 screen = display().screen();
  for (const char* name : {"plan", "elevation", "from the source", "picture", "camera", "readings", "sources",
                           "ground", "variants"}) {
    const Area pane = window().area(std::string("pane ") + name);
    EXPECT_GT(colours(screen, pane), 20u) << name;
    show(std::string("pane_") + name, pane);
  }
  // The ball is lit from the left: its left side is brighter than its right, and both than the sky behind.
  const double left = brightness(in_picture(ball_m + glm::dvec3(-0.012, 0, 0)), 4),
               right = brightness(in_picture(ball_m + glm::dvec3(0.014, 0, 0)), 4);
  EXPECT_GT(left, right + 20);
}

// Three hints come one after the other, and never again once they are sent away.
TEST_F(Window, HintsAreSentAwayForGood) {
  open();
  window().click("hint");
  show("hint");
  window().click("hint");
  window().click("hint");
  window().wait("no hint", [](const auto& now) { return !now["things"].contains("hint"); });
  EXPECT_EQ(quit(), 0);
  open();
  window().wait_for_picture();
  EXPECT_FALSE(window().has("hint"));
}

TEST_F(Window, FirstStartOpensTheDemoAndThenTheLastScene) {
  open_with({});
  EXPECT_TRUE(window().said()["file"].get<std::string>().ends_with("umber_parasol.toml"));
  EXPECT_EQ(quit(), 0);
  open();
  EXPECT_EQ(quit(), 0);
  open_with({});
  EXPECT_EQ(window().said()["file"], file.string());
}

TEST_F(Window, KeyList) {
  open();
  window().key("F1");
  const Spot corner = window().area("key list").middle();
  show("keys");
  // Its words fill the list, as wide as 44 times the height of its type.
  EXPECT_GT(colours(display().screen(), {corner.x + 350, corner.y + 40, corner.x + 680, corner.y + 400}),
            20u);
  window().key("Escape");
  EXPECT_FALSE(window().has("key list"));
}

// A key that is let go before the next frame is drawn counts, and so do the keys that were held with it.
TEST_F(Window, ShortPressesCount) {
  open();
  window().wait_for_picture();
  for (const bool raw : {true, false, true, false, true}) {
    window().key("r");
    EXPECT_EQ(window().said()["raw"], raw);
  }
  set_iso("250");
  window().key("ctrl+z");
  EXPECT_EQ(window().said()["undo"], "");
  window().key("ctrl+shift+z");
  EXPECT_EQ(window().said()["undo"], "ISO");
}

TEST_F(Window, SmallScreen) {
  open(640, 480);
  window().wait_for_picture();
  const Area all = display().all(), picture = window().area("picture");
  EXPECT_TRUE(window().area("picture pane").holds(picture));
  EXPECT_TRUE(all.holds(window().area("picture pane")));
  EXPECT_GT(picture.right - picture.left, 200);
  EXPECT_GT(colours(display().screen(), picture), 50u);
  for (const auto& [tab, thing] :
       {std::pair("Readings", "heading 2  Depth"), std::pair("Light", "add torch"),
        std::pair("Camera", "exposure.iso"), std::pair("Ground", "prop.pebble.visible"),
        std::pair("Variants", "keep variant"), std::pair("Side", "elevation source:torch")}) {
    window().click(std::string("tab ") + tab);
    EXPECT_TRUE(all.holds(window().area(std::string("tab ") + tab))) << tab;
    EXPECT_TRUE(all.holds(window().area(thing).middle())) << thing;
    show(std::string("small_") + tab);
  }
}

TEST_F(Window, LargeScreen) {
  open(3840, 2160);
  window().wait_for_picture();
  const Area all = display().all(), picture = window().area("picture");
  EXPECT_TRUE(window().area("picture pane").holds(picture));
  EXPECT_GT(picture.right - picture.left, 1000);
  std::vector<Area> panes;
  for (const char* name : {"plan", "elevation", "from the source", "picture", "camera", "readings", "sources",
                           "ground", "variants"}) {
    const Area pane = window().area(std::string("pane ") + name);
    EXPECT_TRUE(all.holds(pane)) << name;
    EXPECT_GT(pane.right - pane.left, 300) << name;
    EXPECT_GT(pane.bottom - pane.top, 100) << name;
    for (const Area& other : panes) EXPECT_FALSE(overlap(pane, other)) << name;
    panes.push_back(pane);
  }
  EXPECT_GT(colours(display().screen(), picture), 50u);
  show("large");
}

}  // namespace
}  // namespace undercap
