// Where the lamp may be held: the map on the drawings, the lamp put there by a click, the search for places.
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/files.h"
#include "tests/window/set_up.h"

namespace undercap {
namespace {

using Said = OpenWindow::Said;

void show_map(const OpenWindow& window) {
  window.wait_for_picture();
  window.key("m");
  window.wait("a map",
              [](const Said& now) { return now["map"]["on"] == true && now["map"]["current"] == true; });
}

TEST_F(Window, PutsTheLampWhereTheMapIsClicked) {
  open();
  show_map(window());
  EXPECT_NE(window().said()["map"]["here"].get<std::string>().find("of its power for +1.0 stop"),
            std::string::npos);
  window().reach("map key", "sources");
  const Spot torch = window().area("plan source:torch").middle(),
             aim = window().area("plan aim:torch").middle();
  // On the other side of the ball, half as far again as the torch, by the drawing's own scale.
  const Spot to{aim.x + 1.5 * (aim.x - torch.x), aim.y + 1.5 * (torch.y - aim.y)};
  window().point(to);
  window().wait("words on the place", [](const Said& now) {
    const std::string there = now["map"]["there"];
    return there.find("4 o'clock") != std::string::npos || there.find("4:30") != std::string::npos;
  });
  show("map");
  window().click(to);
  window().wait("a step", [](const Said& now) { return now["undo"] == "Place torch"; });
  save();
  const Source moved = scene().sources.front();
  // Within what two pixels of the drawing are; the height is that of before.
  const double pixel_m = 0.2 / std::abs(torch.x - aim.x);
  EXPECT_NEAR(moved.position_m.x, 1.5 * 0.2, 2 * pixel_m);
  EXPECT_NEAR(moved.position_m.y, 1.5 * -0.15, 2 * pixel_m);
  EXPECT_EQ(moved.position_m.z, 0.15);
  // At the middle of what the camera sees of the ball: on the side of the camera, within the ball.
  ASSERT_TRUE(std::holds_alternative<glm::dvec3>(moved.aim));
  const glm::dvec3 at = std::get<glm::dvec3>(moved.aim);
  EXPECT_LT(glm::distance(at, ball_m), 0.02);
  EXPECT_LT(at.y, ball_m.y);
  window().key("ctrl+z");
  EXPECT_EQ(window().said()["undo"], "");
  save();
  EXPECT_EQ(text(), small_scene());
}

TEST_F(Window, NoLampIsPutIntoTheGround) {
  open();
  show_map(window());
  const Spot torch = window().area("elevation source:torch").middle(),
             aim = window().area("elevation aim:torch").middle();
  window().click(Spot{torch.x, aim.y + 0.5 * (aim.y - torch.y)});
  window().wait_for_message("No lamp there");
  EXPECT_EQ(window().said()["undo"], "");
}

TEST_F(Window, FindsPlacesAndTakesOne) {
  open();
  window().wait_for_picture();
  window().key("ctrl+f");
  // The ground before so small a ball gets nearly as much as the ball.
  window().type_over("find.spill", "0.8");
  window().click("find start");
  window().area("find cancel");
  window().wait(
      "places", [](const Said& now) { return !now["places"]["offers"].empty(); }, 300);
  EXPECT_LE(window().said()["places"]["offers"].size(), 3u);
  show("places");
  window().click("take A");
  window().wait("a step", [](const Said& now) { return now["undo"] == "Place torch"; });
  save();
  const Source taken = scene().sources.front();
  EXPECT_NE(taken.position_m, glm::dvec3(-0.2, -0.15, 0.15));
  EXPECT_LT(taken.power_pct, 100);
  // What was offered for +1 stop and rendered: the window's own reading of the rise on the subject says it,
  // within the errors of a quick search (16 samples a pixel and batch) and of half the triangles.
  window().wait("the rise", [](const Said& now) {
    return now["readings_current"] == true &&
           std::abs(now["readings"]["rise.torch.ball/surface_stops"].get<double>() - 1) < 0.15;
  });
  window().click("find save");
  window().area("file name");
  window().type((folder / "light.png").string());
  window().key("Return");
  window().wait_for_message("Wrote");
  EXPECT_GT(std::filesystem::file_size(folder / "light.png"), 50000u);
  window().key("ctrl+z");
  save();
  EXPECT_EQ(text(), small_scene());
}

}  // namespace
}  // namespace undercap
