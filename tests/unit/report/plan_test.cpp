// Where a set's things come on paper, against what tape, lens and lamp say.
#include "engine/report/plan.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "tests/unit/report/small_set.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
using Kind = DrawingView::Kind;

// Of a drawing's sums: products of a few numbers of the size of a metre.
constexpr double exact = 1e-9;

const std::string ball =
    "[[prop]]\nname = \"ball\"\nkind = \"sphere\"\ndiameter_mm = 60\nat_m = [0, 0, 0.05]\n";
const std::string torch =
    "[[source]]\nname = \"torch\"\nkind = \"torch\"\nposition_m = [-0.3, -0.4, 0.05]\naim = [0, 0, 0.05]\n"
    "intensity_cd = 100\nbeam_deg = 60\n";

Drawing drawn(const World& world, const DrawingView& view) {
  return set_drawing(world,
                     view.kind == Kind::plan ? plan_outlines(world, 2)
                                             : elevation_outlines(world, axes_of(world).forward, 2),
                     view);
}

std::vector<std::vector<glm::dvec2>> lines_of(const Drawing& drawing, Pen pen) {
  std::vector<std::vector<glm::dvec2>> lines;
  for (const Mark& mark : drawing.marks)
    if (const auto* line = std::get_if<Polyline>(&mark.shape); line && mark.pen == pen && line->outlined)
      lines.push_back(line->points_mm);
  return lines;
}

std::vector<Text> texts_of(const Drawing& drawing) {
  std::vector<Text> texts;
  for (const Mark& mark : drawing.marks)
    if (const auto* text = std::get_if<Text>(&mark.shape)) texts.push_back(*text);
  return texts;
}

// The text of a mark with a handle; of those with it the last, which lies on top.
std::string words_at(const Drawing& drawing, const std::string& handle) {
  std::string words = "nothing";
  for (const Mark& mark : drawing.marks)
    if (const auto* text = std::get_if<Text>(&mark.shape); text && mark.handle == handle) words = text->words;
  return words;
}

double angle_between(const glm::dvec2& a, const glm::dvec2& b) {
  return std::acos(glm::dot(glm::normalize(a), glm::normalize(b)));
}

TEST(Paper, ThereAndBack) {
  const DrawingView view{.kind = Kind::plan, .mm_per_m = 125, .centre_m = {0.3, -0.2}};
  for (const glm::dvec2& place : {glm::dvec2(0, 0), {0.3, -0.2}, {-1.5, 2.25}}) {
    const glm::dvec2 back = from_paper(view, to_paper(view, place));
    EXPECT_NEAR(back.x, place.x, exact);
    EXPECT_NEAR(back.y, place.y, exact);
  }
  // 1:8: 8 cm to the right are 10 mm, 8 cm ahead are 10 mm up the paper.
  const glm::dvec2 step = to_paper(view, {0.38, -0.12}) - to_paper(view, {0.3, -0.2});
  EXPECT_NEAR(step.x, 10, exact);
  EXPECT_NEAR(step.y, -10, exact);
}

// A camera that looks east: to its right is south, and a drag in either drawing moves what that shows alone.
TEST(Axes, AreTheCameras) {
  const World world = small_set(ball, "roll_deg = 20");
  EXPECT_NEAR(axes_of(world).right.x, 1, exact);
  EXPECT_NEAR(axes_of(world).forward.y, 1, exact);
  World east = world;
  east.camera.forward = glm::normalize(glm::dvec3(3, 0, -1));
  const DrawingAxes axes = axes_of(east);
  EXPECT_NEAR(axes.forward.x, 1, exact);
  EXPECT_NEAR(axes.right.y, -1, exact);
  const glm::dvec3 place(0.3, 0.5, 0.7);
  for (const Kind kind : {Kind::plan, Kind::elevation}) {
    const glm::dvec3 same = world_place(axes, kind, drawing_place(axes, kind, place), place);
    EXPECT_NEAR(glm::distance(same, place), 0, exact);
  }
  const glm::dvec3 moved = world_place(axes, Kind::elevation, {0.4, 0.1}, place);
  EXPECT_NEAR(glm::distance(moved, glm::dvec3(0.4, 0.5, 0.1)), 0, exact);
  east.camera.forward = {0, 0, -1};
  east.camera.up = {0, 1, 0};
  EXPECT_NEAR(axes_of(east).forward.y, 1, exact);
}

// The wedge's angle is 2 atan(w / 2 b), b = f (1 + m), m = f / (a - f) with a = 1 m; across the height in the
// elevation. A picture turned upright has its height across.
TEST(Camera, TheWedgeIsTheAngleOfView) {
  const double f = 0.09, b = f * (1 + f / (1 - f));
  const auto wedge = [&](const World& world, Kind kind) {
    const Drawing drawing = drawn(world, {.kind = kind, .width_mm = 300, .height_mm = 300, .mm_per_m = 125});
    const auto sides = lines_of(drawing, Pen::field);
    EXPECT_EQ(sides.size(), 2U);
    return angle_between(sides.at(0)[1] - sides.at(0)[0], sides.at(1)[1] - sides.at(1)[0]);
  };
  const double across = 2 * std::atan(0.0235 / (2 * b)), up = 2 * std::atan(0.0156 / (2 * b));
  const std::string lens = "focal_length_mm = 90\nformat_mm = [23.5, 15.6]\n";
  EXPECT_NEAR(wedge(small_set(ball, lens), Kind::plan), across, 1e-6);
  EXPECT_NEAR(wedge(small_set(ball, lens), Kind::elevation), up, 1e-6);
  EXPECT_NEAR(wedge(small_set(ball, lens + "roll_deg = 90\n"), Kind::plan), up, 1e-6);
}

// Focused 1 m ahead of the pupil, 1 m south of the origin: the plane in focus goes through the origin, and
// the sharp zone lies around it by near and far of the closed form with c as given,
//   near = c N a (a - f) / (f^2 + c N (a - f)),   far = c N a (a - f) / (f^2 - c N (a - f)).
TEST(Camera, ThePlaneInFocusAndTheSharpZone) {
  const World world =
      small_set(ball, "focal_length_mm = 90\nf_number = 16\ncircle_of_confusion_mm = 0.1\nbarrel_mm = 0\n");
  const DrawingView view{.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125};
  const Drawing drawing = drawn(world, view);
  const auto focus = lines_of(drawing, Pen::focus_plane), limits = lines_of(drawing, Pen::depth_limit);
  ASSERT_EQ(focus.size(), 1U);
  EXPECT_NEAR(from_paper(view, focus[0][0]).y, 0, exact);
  EXPECT_NEAR(from_paper(view, focus[0][1]).y, 0, exact);
  ASSERT_EQ(limits.size(), 2U);
  const double f = 0.09, a = 1, cn = 1e-4 * 16;
  EXPECT_NEAR(from_paper(view, limits[0][0]).y, -cn * a * (a - f) / (f * f + cn * (a - f)), 1e-9);
  EXPECT_NEAR(from_paper(view, limits[1][0]).y, cn * a * (a - f) / (f * f - cn * (a - f)), 1e-9);
}

// 100 cd at half a metre are 400 lx, and on the axis every line of E lux stands where E d^2 = I. Off it, the
// same with what cos^n through one half at 30 degrees leaves of I; 1e-3 for the table that the beam is.
TEST(Lamp, LinesOfEqualLux) {
  const World world = small_set(ball + torch);
  const DrawingView view{.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125};
  const Drawing drawing = drawn(world, view);
  const auto lines = lines_of(drawing, Pen::lux_line);
  ASSERT_EQ(lines.size(), 4U);
  const glm::dvec2 lamp(-0.3, -0.4), axis = glm::normalize(-lamp);
  const double n = std::log(0.5) / std::log(std::cos(pi / 6));
  const double values[4] = {1600, 800, 400, 200};
  for (std::size_t i = 0; i < 4; ++i) {
    bool on_axis = false;
    for (const glm::dvec2& mm : lines[i]) {
      const glm::dvec2 from_lamp = from_paper(view, mm) - lamp;
      const double angle = angle_between(from_lamp, axis), distance = glm::length(from_lamp);
      EXPECT_NEAR(values[i] * distance * distance, 100 * std::pow(std::cos(angle), n), 0.1 + 1e-3 * 100);
      on_axis |= angle < 1e-6 && std::abs(values[i] * distance * distance - 100) < 1e-6;
    }
    EXPECT_TRUE(on_axis) << values[i];
  }
  bool labelled = false;
  for (const Text& text : texts_of(drawing)) labelled |= text.words == "400 lx";
  EXPECT_TRUE(labelled);
}

// Two lamps have two lines each, so that their curves are told apart.
TEST(Lamp, TwoHaveFewerLines) {
  const std::string other =
      "[[source]]\nname = \"other\"\nkind = \"torch\"\nposition_m = [0.3, 0.4, 0.05]\naim = [0, 0, "
      "0.05]\nintensity_cd = 100\n";
  const World world = small_set(ball + torch + other);
  const Drawing drawing =
      drawn(world, {.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125});
  EXPECT_EQ(lines_of(drawing, Pen::lux_line).size(), 4U);
}

TEST(Lamp, ThatIsOffHasNoLight) {
  const World world = small_set(ball + torch + "on = false\n");
  const Drawing drawing =
      drawn(world, {.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125});
  EXPECT_TRUE(lines_of(drawing, Pen::lux_line).empty());
  EXPECT_TRUE(lines_of(drawing, Pen::beam).empty());
  EXPECT_FALSE(lines_of(drawing, Pen::hidden).empty());
}

// What a tape says: lamp (-.3, -.4) to the origin 50 cm; its height 5 cm; the lens axis 5 cm up; the front of
// the lens 3 cm before a pupil that is 1 m off.
TEST(Dimensions, AreWhatATapeSays) {
  const World world = small_set(ball + torch, "front_ahead_mm = 30\nbarrel_mm = 80\n");
  const Drawing plan = drawn(world, {.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125});
  EXPECT_EQ(words_at(plan, "dimension:distance:torch"), "50 cm");
  EXPECT_EQ(words_at(plan, "dimension:front_to_subject:"), "97 cm");
  const Drawing side = drawn(
      world,
      {.kind = Kind::elevation, .width_mm = 300, .height_mm = 200, .mm_per_m = 125, .centre_m = {-0.5, 0}});
  EXPECT_EQ(words_at(side, "dimension:height:torch"), "5.0 cm");
  EXPECT_EQ(words_at(side, "dimension:axis_height:"), "5.0 cm");
  EXPECT_EQ(words_at(side, "dimension:front_to_subject:"), "97 cm");
}

// Everything that can be dragged is found where it stands.
TEST(Handles, LieWhereTheThingsStand) {
  const World world = small_set(ball + torch +
                                    "[[meter]]\nname = \"card\"\nkind = \"incident\"\nposition_m = [0.2, 0, "
                                    "0.05]\nnormal = [0, -1, 0]\n",
                                "barrel_mm = 0\n");
  const DrawingView view{.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125};
  const Drawing drawing = drawn(world, view);
  const auto at = [&](double x, double y) { return handle_at(drawing, to_paper(view, {x, y}), 1.5); };
  EXPECT_EQ(at(0, -1.02), "camera");
  EXPECT_EQ(at(-0.3 - 0.03 * 0.6, -0.4 - 0.03 * 0.8), "source:torch");
  EXPECT_EQ(at(0.2, 0), "meter:card");
  EXPECT_EQ(at(0.06, 0), "focus");
  EXPECT_EQ(at(0, 0.029), "prop:ball");
  EXPECT_EQ(at(0.012, 0.02), "prop:ball");
  // The lens looks at the ball's middle, and so does the lamp, whose mark lies on top.
  EXPECT_EQ(at(0.0015, 0), "aim:torch");
}

// What a photographer must be able to do with a plan: read it. No two texts lie on one another.
TEST(Labels, DoNotPileUp) {
  std::string many = ball + torch;
  for (int i = 0; i < 6; ++i)
    many += fmt::format(
        "[[prop]]\nname = \"pebble {}\"\nkind = \"sphere\"\ndiameter_mm = 20\nat_m = [{}, 0.06]\n", i,
        0.03 * i);
  const World world = small_set(many);
  const Drawing drawing = drawn(world, fitted_view(world, Kind::plan, 128, 170));
  const std::vector<Text> texts = texts_of(drawing);
  EXPECT_GT(texts.size(), 20U);
  for (std::size_t i = 0; i < texts.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      const Box a = box_of(texts[i]), b = box_of(texts[j]);
      const glm::dvec2 shared = glm::min(a.high, b.high) - glm::max(a.low, b.low);
      EXPECT_FALSE(shared.x > 0.3 && shared.y > 0.3) << texts[i].words << " on " << texts[j].words;
    }
}

TEST(FittedView, HoldsSubjectCameraAndSources) {
  const World world = small_set(ball + torch);
  for (const Kind kind : {Kind::plan, Kind::elevation}) {
    const DrawingView view = fitted_view(world, kind, 128, 170);
    const DrawingAxes axes = axes_of(world);
    for (const glm::dvec3& place :
         {glm::dvec3(0, 0, 0.05), glm::dvec3(0, -1, 0.05), glm::dvec3(-0.3, -0.4, 0.05)}) {
      const glm::dvec2 mm = to_paper(view, drawing_place(axes, kind, place));
      EXPECT_GT(mm.x, 5);
      EXPECT_LT(mm.x, 123);
      EXPECT_GT(mm.y, 5);
      EXPECT_LT(mm.y, 165);
    }
    // A round scale: a whole number to one, or a half.
    EXPECT_NEAR(2000 / view.mm_per_m, std::round(2000 / view.mm_per_m), exact);
  }
  EXPECT_LE(fitted_view(world, Kind::plan, 128, 170, 40).mm_per_m, 40);
}

// The sun in the east, to the right of a camera that looks north: its sign is at the right edge, and there is
// none when it is off.
TEST(Sun, StandsWhereItsLightComesFrom) {
  const DrawingView view{.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125};
  const auto sign = [&](const std::string& on) {
    const World world = small_set(ball + "[sun]\non = " + on + "\nazimuth_deg = 90\nelevation_deg = 30\n");
    glm::dvec2 at(0);
    for (const Mark& mark : drawn(world, view).marks)
      if (const auto* circle = std::get_if<Circle>(&mark.shape); circle && mark.pen == Pen::sun)
        at = circle->centre_mm;
    return at;
  };
  EXPECT_GT(sign("true").x, 285);
  EXPECT_NEAR(sign("true").y, 150, 0.5);
  EXPECT_EQ(sign("false"), glm::dvec2(0));
}

TEST(Cards, AreTheirLetters) {
  const auto words = [](const std::string& material) {
    const World world = small_set(ball +
                                  "[[prop]]\nname = \"card\"\nkind = \"card\"\nsize_mm = [150, 100]\nnormal "
                                  "= [0.5, -1, 0]\nat_m = [0.2, "
                                  "0.1, 0.05]\n[prop.material.surface]\n" +
                                  material);
    return words_at(drawn(world, {.kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125}),
                    "prop:card");
  };
  EXPECT_EQ(words("reflectance = [0.9, 0.9, 0.9]\n"), "W card  h 10 cm");
  EXPECT_EQ(words("reflectance = [0.04, 0.04, 0.04]\n"), "B card  h 10 cm");
  EXPECT_EQ(words("mirror = [0.9, 0.9, 0.9]\n"), "S card  h 10 cm");
  EXPECT_EQ(words("reflectance = [0.3, 0.3, 0.3]\n"), "card  h 10 cm");
}

// The key explains what is drawn and nothing else.
TEST(Key, ExplainsWhatIsThere) {
  const auto words = [](const std::string& text) {
    const DrawingView view{
        .kind = Kind::plan, .width_mm = 300, .height_mm = 300, .mm_per_m = 125, .print_key = true};
    std::string all;
    for (const Text& one : texts_of(drawn(small_set(text), view))) all += one.words + "|";
    return all;
  };
  EXPECT_NE(words(ball).find("|plane in focus|"), std::string::npos);
  EXPECT_EQ(words(ball).find("lux"), std::string::npos);
  EXPECT_NE(words(ball + torch).find("lux"), std::string::npos);
}

// Seen from above with the camera at six: 45 degrees to the right of the way to the camera is half past four.
TEST(PlaceWords, ClockHandsAndDistance) {
  const World world = small_set(ball);
  const double z = 0.05;
  EXPECT_EQ(place_words(world, {0.2, -0.2, z + 0.0}),
            "4:30, 28 cm from the middle of the subject, 5.0 cm above the ground (half a hand)");
  EXPECT_EQ(place_words(world, {0, -0.3, 0.17}),
            "6 o'clock, 32 cm from the middle of the subject, 17 cm above the ground (2 hands)");
  EXPECT_EQ(place_words(world, {-0.2, 0, z}).substr(0, 10), "9 o'clock,");
  EXPECT_EQ(place_words(world, {0.001, 0.3, z}).substr(0, 11), "12 o'clock,");
  EXPECT_EQ(place_words(world, {0, 0, 0.5}).substr(0, 15), "straight above,");
}

}  // namespace
}  // namespace undercap
