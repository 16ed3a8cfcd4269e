#include "engine/draw/drawing.h"

#include <gtest/gtest.h>

#include <set>
#include <tuple>

namespace undercap {
namespace {

// No tolerance but that of doubles: every figure is a sum or product of a few small numbers.
constexpr double exact = 1e-12;

// A printer has one ink and a screen may be read by somebody who tells no hues apart.
TEST(Pens, NoTwoThatLieOnOneDrawingDifferByToneAlone) {
  std::set<std::tuple<double, std::vector<double>>> seen;
  // Marks told apart by their outline (boxes, circles, letters) may share a line: those that are bare lines
  // or curves may not.
  for (const Pen pen :
       {Pen::prop,        Pen::subject,     Pen::hidden,       Pen::field,       Pen::axis,
        Pen::focus_plane, Pen::depth_limit, Pen::beam,         Pen::lux_line,    Pen::card,
        Pen::flag,        Pen::clock,       Pen::dimension,    Pen::grid,        Pen::curve_1,
        Pen::curve_2,     Pen::curve_3,     Pen::curve_4,      Pen::curve_5,     Pen::curve_6,
        Pen::mark,        Pen::place_line,  Pen::place_barred, Pen::place_spill, Pen::place_dark})
    EXPECT_TRUE(seen.insert({style_of(pen).width_mm, style_of(pen).dash_mm}).second)
        << "pen " << static_cast<int>(pen);
  for (int pen = 0; pen < pens; ++pen) EXPECT_GT(style_of(static_cast<Pen>(pen)).width_mm, 0) << pen;
  EXPECT_GT(style_of(Pen::subject).width_mm, 2 * style_of(Pen::prop).width_mm);
}

TEST(Drawing, ALineIsCutAtTheEdgesOfThePaper) {
  Drawing drawing{.width_mm = 100, .height_mm = 50, .title = {}, .marks = {}};
  drawing.add_line(Pen::field, {-50, -25}, {150, 75});  // y = x / 2: from corner to corner
  drawing.add_line(Pen::field, {-1, 0}, {-1, 50});      // beside the paper
  ASSERT_EQ(drawing.marks.size(), 1U);
  const auto& cut = std::get<Polyline>(drawing.marks[0].shape).points_mm;
  EXPECT_NEAR(cut[0].x, 0, exact);
  EXPECT_NEAR(cut[0].y, 0, exact);
  EXPECT_NEAR(cut[1].x, 100, exact);
  EXPECT_NEAR(cut[1].y, 50, exact);
}

// A square of 20 mm about the corner (10, 10) of a paper of 10 x 10 mm: a quarter of its area lies on it, and
// of its outline two sides, each cut to 10 mm. What lies inside comes as it was, moved.
TEST(Drawing, ADrawingInAnotherIsCutAtItsOwnPaper) {
  Drawing part{.width_mm = 10, .height_mm = 10, .title = {}, .marks = {}};
  part.add(Pen::prop,
           Polyline{.points_mm = {{0, 0}, {20, 0}, {20, 20}, {0, 20}}, .closed = true, .fill = Fill::pale},
           "prop:square");
  part.add(Pen::field, Polyline{.points_mm = {{-5, 5}, {5, 5}, {5, 15}, {8, 15}, {8, 5}}});
  part.add(Pen::camera, Polyline{.points_mm = {{1, 1}, {9, 1}, {9, 9}}, .closed = true, .fill = Fill::paper});
  part.add(Pen::meter, Circle{.centre_mm = {5, 5}, .radius_mm = 1});
  part.add(Pen::meter, Circle{.centre_mm = {11, 5}, .radius_mm = 2});
  part.add(Pen::text, Text{.at_mm = {2, 3}, .words = "w"});
  Drawing whole{.width_mm = 200, .height_mm = 200, .title = {}, .marks = {}};
  const glm::dvec2 at(100, 50);
  whole.add_drawing(part, at);

  const auto points = [&](std::size_t i) {
    std::vector<glm::dvec2> moved = std::get<Polyline>(whole.marks.at(i).shape).points_mm;
    for (glm::dvec2& p : moved) p -= at;
    return moved;
  };
  using Points = std::vector<glm::dvec2>;
  ASSERT_EQ(whole.marks.size(), 8U);
  const auto& area = std::get<Polyline>(whole.marks[0].shape);
  EXPECT_EQ(area.fill, Fill::pale);
  EXPECT_FALSE(area.outlined);
  EXPECT_EQ(whole.marks[0].handle, "prop:square");
  const Points quarter = points(0);
  EXPECT_EQ(std::set<double>({quarter[0].x, quarter[1].x, quarter[2].x, quarter[3].x}),
            std::set<double>({0, 10}));
  EXPECT_EQ(quarter.size(), 4U);
  EXPECT_EQ(points(1), (Points{{0, 0}, {10, 0}}));
  EXPECT_EQ(points(2), (Points{{0, 10}, {0, 0}}));
  EXPECT_EQ(points(3), (Points{{0, 5}, {5, 5}, {5, 10}}));
  EXPECT_EQ(points(4), (Points{{8, 10}, {8, 5}}));
  const auto& inside = std::get<Polyline>(whole.marks[5].shape);
  EXPECT_TRUE(inside.closed);
  EXPECT_EQ(inside.fill, Fill::paper);
  EXPECT_EQ(inside.points_mm.size(), 3U);
  EXPECT_EQ(std::get<Circle>(whole.marks[6].shape).centre_mm, glm::dvec2(105, 55));
  EXPECT_EQ(std::get<Text>(whole.marks[7].shape).at_mm, glm::dvec2(102, 53));
}

TEST(Drawing, DistancesToMarks) {
  const Mark stroke{Pen::prop, Polyline{.points_mm = {{0, 0}, {10, 0}}}};
  EXPECT_NEAR(distance_mm(stroke, {5, 3}), 3, exact);
  EXPECT_NEAR(distance_mm(stroke, {13, 4}), 5, exact);
  Polyline square{.points_mm = {{0, 0}, {10, 0}, {10, 10}, {0, 10}}, .closed = true};
  EXPECT_NEAR(distance_mm({Pen::prop, square}, {3, 5}), 3, exact);
  square.fill = Fill::pale;
  EXPECT_NEAR(distance_mm({Pen::prop, square}, {3, 5}), 0, exact);
  EXPECT_NEAR(distance_mm({Pen::meter, Circle{.centre_mm = {0, 0}, .radius_mm = 2}}, {0.5, 0}), 1.5, exact);
}

TEST(Drawing, TheNearestHandleWithinReach) {
  Drawing drawing{.width_mm = 100, .height_mm = 100, .title = {}, .marks = {}};
  drawing.add(Pen::source, Circle{.centre_mm = {20, 20}, .radius_mm = 3, .fill = Fill::paper},
              "source:torch");
  drawing.add(Pen::camera, Circle{.centre_mm = {30, 20}, .radius_mm = 3, .fill = Fill::paper}, "camera");
  drawing.add(Pen::text, Circle{.centre_mm = {21, 20}, .radius_mm = 1, .fill = Fill::solid});
  EXPECT_EQ(handle_at(drawing, {24, 20}, 5), "source:torch");
  EXPECT_EQ(handle_at(drawing, {26, 20}, 5), "camera");
  EXPECT_EQ(handle_at(drawing, {60, 20}, 5), "");
}

// On a washed subject lies the mark of what a lamp is aimed at: near it, it is taken, elsewhere the subject.
TEST(Drawing, WhatStandsOnAWashIsTakenBeforeIt) {
  Drawing drawing{.width_mm = 100, .height_mm = 100};
  drawing.add(Pen::source, Circle{.centre_mm = {50, 50}, .radius_mm = 0.7}, "aim:torch");
  drawing.add(
      Pen::subject,
      Polyline{.points_mm = {{30, 30}, {70, 30}, {70, 70}, {30, 70}}, .closed = true, .fill = Fill::pale},
      "prop:cap");
  EXPECT_EQ(handle_at(drawing, {50, 50}, 2), "aim:torch");
  EXPECT_EQ(handle_at(drawing, {50, 60}, 2), "prop:cap");
  EXPECT_EQ(handle_at(drawing, {69, 50}, 2), "prop:cap");
  EXPECT_EQ(handle_at(drawing, {80, 50}, 2), "");
}

TEST(Drawing, ATextStandsOnItsBaselineWhereItSays) {
  const Text left{.at_mm = {10, 20}, .words = "18 cm", .size_mm = 3};
  Text right = left;
  right.across = Across::right;
  const Box a = box_of(left), b = box_of(right);
  EXPECT_NEAR(a.low.x, 10, exact);
  EXPECT_NEAR(b.high.x, 10, exact);
  EXPECT_NEAR(a.high.x - a.low.x, text_width_mm("18 cm", 3), exact);
  EXPECT_LT(a.low.y, 20);
  EXPECT_GT(a.high.y, 20);
  // Letters of two bytes take the room of one.
  EXPECT_NEAR(text_width_mm("\xc3\xbc", 3), text_width_mm("u", 3), exact);
}

}  // namespace
}  // namespace undercap
