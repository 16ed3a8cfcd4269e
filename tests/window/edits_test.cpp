// What a hand does to the light, the camera and the set, and how it is undone.
#include <cmath>
#include <glm/geometric.hpp>

#include "engine/core/files.h"
#include "tests/window/set_up.h"

namespace undercap {
namespace {

using Said = OpenWindow::Said;

// Until something holds, and meanwhile no sample is lost: the count of samples never falls and the picture
// stays at its size.
void wait_without_restart(const OpenWindow& window, const std::string& what,
                          const std::function<bool(const Said&)>& holds) {
  Said last = window.said();
  window.wait(what, [&](const Said& now) {
    EXPECT_GE(now["traced"], last["traced"]);
    EXPECT_EQ(now["width"], last["width"]);
    EXPECT_EQ(now["height"], last["height"]);
    last = now;
    return holds(now);
  });
}

void wait_for_whole_picture(const OpenWindow& window) {
  window.wait_for_picture();
  window.wait("a whole picture", [](const Said& now) { return now["full"] == true && now["traced"] >= 2; });
}

TEST_F(Window, ClickFocuses) {
  open();
  window().wait_for_picture();
  const Spot pebble = in_picture(pebble_m);
  window().click(pebble);
  window().wait("a step", [](const Said& now) { return now["undo"] == "Focus"; });
  save();
  // On the pebble's surface, on the side of the camera: to the rounding of the file and the flats of its
  // mesh.
  const Camera camera = scene().camera;
  ASSERT_TRUE(camera.focus && std::holds_alternative<glm::dvec3>(*camera.focus));
  const glm::dvec3 focus = std::get<glm::dvec3>(*camera.focus);
  EXPECT_NEAR(glm::distance(focus, pebble_m), pebble_radius_m, 3e-4);
  EXPECT_LT(focus.y, pebble_m.y);
  // The mark is there. Not quite where the click was: what is in focus farther away is drawn a little
  // smaller.
  const Spot mark = window().area("picture focus").middle(), expected = in_picture(focus);
  EXPECT_NEAR(mark.x, expected.x, 1);
  EXPECT_NEAR(mark.y, expected.y, 1);
}

TEST_F(Window, DraggedTorchRaisesMore) {
  open();
  window().wait_for_picture();
  const std::string rise = "rise.torch.ball/surface_stops";
  const double before = window().reading(rise);
  const Spot torch = window().area("plan source:torch").middle(),
             aim = window().area("plan aim:torch").middle();
  window().drag(torch, {torch.x + 0.4 * (aim.x - torch.x), torch.y + 0.4 * (aim.y - torch.y)});
  EXPECT_EQ(window().said()["undo"], "Move torch");
  // From 28 to 20 cm: two thirds of a stop and more of the torch's own light.
  window().wait("a greater rise", [&](const Said& now) {
    return now["readings_current"] == true && now["readings"][rise] > before + 0.4;
  });
  show("dragged");
  save();
  const glm::dvec3 moved = scene().sources.front().position_m;
  // Within what two pixels of the drawing are.
  const double pixel_m = glm::distance(glm::dvec2(-0.2, -0.15), glm::dvec2(ball_m)) /
                         std::hypot(torch.x - aim.x, torch.y - aim.y);
  EXPECT_NEAR(moved.x, 0.6 * -0.2, 2 * pixel_m);
  EXPECT_NEAR(moved.y, 0.6 * -0.15, 2 * pixel_m);
  EXPECT_EQ(moved.z, 0.15);
  // The whole drag is one step.
  window().key("ctrl+z");
  EXPECT_EQ(window().said()["undo"], "");
  save();
  EXPECT_EQ(text(), small_scene());
}

TEST_F(Window, TypedDistances) {
  open();
  window().wait_for_picture();
  const auto far = [&] { return glm::distance(scene().sources.front().position_m, ball_m); };
  ASSERT_NEAR(far(), 0.28178, 1e-4);
  window().click("plan dimension:distance:torch");
  window().area("dimension box");
  show("dimension");
  window().type("15");
  window().key("Return");
  EXPECT_EQ(window().said()["undo"], "Move torch");
  save();
  // The file has tenths of millimetres, three of them.
  EXPECT_NEAR(far(), 0.15, 1.5e-4);
  window().type_over("source.torch.distance", "22,5");
  save();
  EXPECT_NEAR(far(), 0.225, 1.5e-4);
  // Escape leaves it as it was.
  window().click("source.torch.distance");
  window().type("40");
  window().key("Escape");
  EXPECT_EQ(window().said()["unsaved"], false);
}

TEST_F(Window, IsoNeedsNoNewRay) {
  open(960, 600);
  wait_for_whole_picture(window());
  const Spot ball = in_picture(ball_m);
  const double before = brightness(ball, 10);
  const unsigned traced = window().said()["traced"];
  window().reach("exposure.iso", "camera");
  window().type_over("exposure.iso", "400");
  wait_without_restart(window(), "the new exposure", [&](const Said& now) {
    return now["readings"]["exposure.iso"] == 400 && now["traced"] > traced;
  });
  EXPECT_EQ(window().said()["undo"], "ISO");
  window().wait("a brighter picture", [&](const Said&) { return brightness(ball, 10) > before + 15; });
}

TEST_F(Window, ScrollingOverTheTorchTurnsItDown) {
  open(960, 600);
  wait_for_whole_picture(window());
  const unsigned traced = window().said()["traced"];
  const auto power = [&] {
    save();
    return scene().sources.front().power_pct;
  };
  // A third of a stop a notch; the file has hundredths of a per cent.
  window().scroll(window().area("plan source:torch").middle(), -1);
  wait_without_restart(window(), "a step", [](const Said& now) { return now["undo"] == "Power of torch"; });
  EXPECT_NEAR(power(), 100 * std::exp2(-1 / 3.), 0.006);
  window().scroll(window().area("picture source:torch").middle(), -2);
  EXPECT_NEAR(power(), 50, 0.02);
  window().key("equal");
  EXPECT_NEAR(power(), 50 * std::exp2(1 / 3.), 0.03);
  wait_without_restart(window(), "more samples", [&](const Said& now) { return now["traced"] > traced; });
}

TEST_F(Window, SpotMeterIsDraggedInThePicture) {
  const std::string with_meter =
      small_scene() + "[[meter]]\nname = \"spot\"\nkind = \"spot\"\nat = [0.4, 0.6]\n";
  write_file(file, with_meter, true);
  open();
  window().wait_for_picture();
  const Spot from = window().area("picture meter:spot").middle(), by{90, -40};
  const Area picture = window().area("picture");
  window().drag(from, {from.x + by.x, from.y + by.y});
  EXPECT_EQ(window().said()["undo"], "Move spot");
  save();
  // To a pixel.
  const auto at = scene().meters.front().at;
  EXPECT_NEAR(at[0], 0.4 + by.x / (picture.right - picture.left), 1.5 / (picture.right - picture.left));
  EXPECT_NEAR(at[1], 0.6 + by.y / (picture.bottom - picture.top), 1.5 / (picture.bottom - picture.top));
}

TEST_F(Window, HidesUndoesAndDoesAgain) {
  open();
  window().wait_for_picture();
  const Spot pebble = in_picture(pebble_m);
  set_iso("210");
  const double with = brightness(pebble, 5);
  window().click("prop.pebble.visible");
  EXPECT_EQ(window().said()["undo"], "Hide pebble");
  window().wait("the ground behind the pebble",
                [&](const Said&) { return std::abs(brightness(pebble, 5) - with) > 12; });
  show("hidden");
  window().key("ctrl+z");
  EXPECT_EQ(window().said()["undo"], "ISO");
  EXPECT_EQ(window().said()["redo"], "Hide pebble");
  window().key("ctrl+z");
  EXPECT_EQ(window().said()["undo"], "");
  EXPECT_EQ(window().said()["redo"], "ISO");
  EXPECT_EQ(window().said()["unsaved"], false);
  window().key("ctrl+y");
  EXPECT_EQ(window().said()["undo"], "ISO");
  EXPECT_EQ(window().said()["redo"], "Hide pebble");
  window().wait("the pebble again", [&](const Said&) { return std::abs(brightness(pebble, 5) - with) < 8; });
  save();
  EXPECT_EQ(text(), replaced(small_scene(), "iso = 200", "iso = 210"));
}

TEST_F(Window, KeepsAndRestoresAVariant) {
  open();
  window().wait_for_picture();
  window().key("ctrl+k");
  window().wait_for_message("Nothing differs");
  window().key("Escape");
  set_iso("400");
  window().key("ctrl+k");
  window().wait_for_message("Kept as variant 'my light'");
  window().area("variant my light");
  set_iso("100");
  window().key("ctrl+1");
  EXPECT_EQ(window().said()["undo"], "Variant my light");
  window().wait("the values of the variant",
                [](const Said& now) { return now["readings"]["exposure.iso"] == 400; });
  show("variant");
  save();
  ASSERT_EQ(scene().variants.size(), 1u);
  EXPECT_EQ(scene().exposure.iso, 400);
}

}  // namespace
}  // namespace undercap
