// Variants beside each other: the grid of pictures, their readings in columns, one zoom for all; and lessons.
#include "engine/core/files.h"
#include "tests/window/set_up.h"

namespace undercap {
namespace {

using Said = OpenWindow::Said;

// Three variants, so that there are four pictures; the last one stops down and thereby differs in depth.
constexpr const char* three_variants = R"(
[[variant]]
name = "half the lamp"
change = { "source.torch.power_pct" = 50 }

[[variant]]
name = "lamp off"
change = { "source.torch.on" = false }

[[variant]]
name = "stopped down"
change = { "camera.f_number" = 16, "exposure.shutter_s" = 0.5 }
)";

bool all_are_there(const Said& now, std::size_t count) {
  const Said& pictures = now["side_by_side"]["pictures"];
  if (pictures.size() != count) return false;
  for (const Said& picture : pictures)
    if (picture["samples"] < 2 || picture["current"] != true || picture["rows"].empty()) return false;
  return true;
}

class SideBySideWindow : public Window {
 protected:
  void open_grid() {
    write_file(file, small_scene() + three_variants, true);
    open();
    window().wait_for_picture();
    for (int hint = 0; hint < 3; ++hint) window().click("hint");  // they lie over the variants
    window().key("v");
    window().wait(
        "four pictures with their readings", [](const Said& now) { return all_are_there(now, 4); }, 120);
  }
  Said pictures() { return window().said()["side_by_side"]["pictures"]; }
};

TEST_F(SideBySideWindow, FourPicturesWithTheirReadingsInColumns) {
  open_grid();
  const Said told = pictures();
  EXPECT_EQ(told[0]["name"], "as it is");
  EXPECT_EQ(told[1]["differs"], Said({"torch power 50 %, not 100 %"}));
  EXPECT_EQ(told[3]["name"], "stopped down");
  // As the scenes set them: 1/8 s at f/8, 1/2 s at f/16, ISO 200; two digits of a shutter.
  EXPECT_EQ(told[0]["rows"]["exposure"], "1/8.0 s at f/8, ISO 200");
  EXPECT_EQ(told[3]["rows"]["exposure"], "0.5 s at f/16, ISO 200");
  // Light does not depend on the camera, and more of it comes with the lamp.
  const auto lux = [&](std::size_t i) {
    return std::stod(told[i]["rows"]["light on subject"].get<std::string>());
  };
  EXPECT_NEAR(lux(3), lux(0), 0.05 * lux(0));
  EXPECT_GT(lux(0), lux(1));
  EXPECT_GT(lux(1), lux(2));
  // Two by two, of one size, none over another or over the table.
  const Area first = window().area("side by side 1"), second = window().area("side by side 2"),
             third = window().area("side by side 3"), fourth = window().area("side by side 4");
  EXPECT_EQ(first.top, second.top);
  EXPECT_EQ(first.left, third.left);
  EXPECT_LE(first.right, second.left);
  EXPECT_LE(first.bottom, third.top);
  EXPECT_EQ(second.left, fourth.left);
  EXPECT_GT(first.right - first.left, 250);
  const Area table = window().area("side by side table");
  EXPECT_LE(second.right, table.left);
  // A column stands under its name, right of the one before.
  const Area one = window().area("side by side 1 exposure"), two = window().area("side by side 2 exposure");
  EXPECT_TRUE(table.holds(one.middle()));
  EXPECT_LT(one.left, two.left);
  EXPECT_EQ(one.top, two.top);
  // The same ball, without the lamp: darker on the screen.
  const auto ball = [](const Area& picture) { return picture.middle(); };
  EXPECT_GT(brightness(ball(first), 6), brightness(ball(third), 6) + 10);
  show("side_by_side");
}

TEST_F(SideBySideWindow, OneZoomAndOnePlaceForAll) {
  open_grid();
  const Area second = window().area("side by side 2");
  // What is under the mouse stays there: a quarter from the left is 0.25 of the frame before and after.
  const Spot at{second.left + 0.25 * (second.right - second.left), second.middle().y};
  window().scroll(at, 4);  // half a factor of two a notch
  const Said zoomed = window().said()["side_by_side"];
  EXPECT_DOUBLE_EQ(zoomed["zoom"].get<double>(), 4);
  // middle = place - (share - 1/2) / zoom, to the whole pixels of the mouse.
  EXPECT_NEAR(zoomed["middle"][0].get<double>(), 0.25 + 0.25 / 4, 0.01);
  window().wait(
      "the pictures anew", [](const Said& now) { return all_are_there(now, 4); }, 120);
  show("side_by_side_zoomed");
  // Where each shows the same: the ball's edge is away from the quarter, the backdrop is seen in all.
  window().drag(second.middle(), {second.middle().x - 0.5 * (second.right - second.left), second.middle().y});
  EXPECT_NEAR(window().said()["side_by_side"]["middle"][0].get<double>(), 0.25 + 0.25 / 4 + 0.5 / 4, 0.01);
  window().key("Home");
  EXPECT_EQ(window().said()["side_by_side"]["zoom"], 1);
  EXPECT_EQ(window().said()["side_by_side"]["middle"], Said({0.5, 0.5}));
}

TEST_F(SideBySideWindow, FollowsEditsAndEndsWithEscape) {
  open_grid();
  // Two of them go; what is left stands side by side.
  window().reach("choose lamp off", "variants");
  window().click("choose lamp off");
  window().reach("choose stopped down", "variants");
  window().click("choose stopped down");
  window().wait("two pictures", [](const Said& now) { return all_are_there(now, 2); });
  show("side_by_side_two");
  // An edit of the scene is one of every picture.
  window().key("bracketright");
  window().wait("the edit in both", [](const Said& now) {
    return all_are_there(now, 2) &&
           now["side_by_side"]["pictures"][0]["rows"]["exposure"] == "1/8.0 s at f/9, ISO 200" &&
           now["side_by_side"]["pictures"][1]["rows"]["exposure"] == "1/8.0 s at f/9, ISO 200";
  });
  EXPECT_EQ(window().said()["undo"], "Aperture");
  window().key("Escape");
  window().wait("the panes", [](const Said& now) {
    return now["side_by_side"]["on"] == false && now["side_by_side"]["pictures"].empty() &&
           now["things"].contains("pane picture") && !now["things"].contains("side by side 1");
  });
  EXPECT_EQ(window().said()["undo"], "Aperture");
  window().reach("side by side", "variants");
  window().click("side by side");
  window().wait("again", [](const Said& now) { return now["side_by_side"]["pictures"].size() == 2; });
  window().key("v");
  EXPECT_EQ(window().said()["side_by_side"]["on"], false);
}

TEST_F(Window, NothingToSetBeside) {
  open();
  window().wait_for_picture();
  window().key("v");
  window().wait_for_message("no variant yet");
  EXPECT_EQ(window().said()["side_by_side"]["on"], false);
}

// A text that no file holds: it is unsaved, has nothing to undo, and its pictures are its variants.
TEST_F(Window, ALessonOpensWithItsVariants) {
  open();
  window().wait_for_picture();
  window().click("menu Lessons");
  window().click("lesson litter");
  window().wait_for_message("Preparing the lesson");
  window().wait_for_message("Why are the gills black");
  const Said now = window().said();
  EXPECT_TRUE(now["file"].get<std::string>().ends_with("lesson_litter.toml"));
  EXPECT_EQ(now["unsaved"], true);
  EXPECT_EQ(now["undo"], "");
  for (const char* name : {"dark litter", "brown litter", "pale litter"})
    window().reach(std::string("choose ") + name, "variants");
  window().wait_for_picture();
  show("lesson");
}

}  // namespace
}  // namespace undercap
