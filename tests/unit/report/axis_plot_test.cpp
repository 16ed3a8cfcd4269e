#include "engine/report/axis_plot.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <glm/common.hpp>
#include <limits>
#include <set>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr double exact_mm = 1e-9;  // sums and products of a few numbers below 300
constexpr double nan_value = std::numeric_limits<double>::quiet_NaN();
constexpr double infinite = std::numeric_limits<double>::infinity();

// Two straight lines from x 0 to 10, y from 0 to 5 and to 2; the frame's edges are ticks.
AxisPlot two_lines() {
  return {.title = "Two lines",
          .x = {.label = "distance, mm"},
          .y = {.label = "blur, mm"},
          .lines = {{"steep", {{0, 0}, {10, 5}}}, {"flat", {{0, 0}, {10, 2}}}}};
}

std::vector<Text> texts_of(const Drawing& drawing) {
  std::vector<Text> texts;
  for (const Mark& mark : drawing.marks)
    if (const auto* text = std::get_if<Text>(&mark.shape)) texts.push_back(*text);
  return texts;
}

std::set<std::string> words_of(const Drawing& drawing) {
  std::set<std::string> words;
  for (const Text& text : texts_of(drawing)) words.insert(text.words);
  return words;
}

std::vector<Polyline> lines_of(const Drawing& drawing, Pen pen) {
  std::vector<Polyline> lines;
  for (const Mark& mark : drawing.marks)
    if (const auto* line = std::get_if<Polyline>(&mark.shape); line && mark.pen == pen)
      lines.push_back(*line);
  return lines;
}

// The one closed line.
Box frame_of(const Drawing& drawing) {
  for (const Polyline& line : lines_of(drawing, Pen::key))
    if (line.closed) return {line.points_mm[0], line.points_mm[2]};
  ADD_FAILURE() << "no frame";
  return {};
}

void expect_at(const glm::dvec2& place, const glm::dvec2& expected) {
  EXPECT_NEAR(place.x, expected.x, exact_mm);
  EXPECT_NEAR(place.y, expected.y, exact_mm);
}

// Everything lies on the paper, and no word on another.
void expect_tidy(const Drawing& drawing) {
  for (const Mark& mark : drawing.marks)
    if (const auto* line = std::get_if<Polyline>(&mark.shape))
      for (const glm::dvec2& point : line->points_mm) {
        EXPECT_TRUE(point.x >= 0 && point.x <= drawing.width_mm) << point.x;
        EXPECT_TRUE(point.y >= 0 && point.y <= drawing.height_mm) << point.y;
      }
  const std::vector<Text> texts = texts_of(drawing);
  for (std::size_t i = 0; i < texts.size(); ++i) {
    const Box box = box_of(texts[i]);
    EXPECT_TRUE(box.low.x >= 0 && box.high.x <= drawing.width_mm) << texts[i].words;
    EXPECT_TRUE(box.low.y >= 0 && box.high.y <= drawing.height_mm) << texts[i].words;
    for (std::size_t j = 0; j < i; ++j) {
      const Box other = box_of(texts[j]);
      const glm::dvec2 shared = glm::min(box.high, other.high) - glm::max(box.low, other.low);
      EXPECT_FALSE(shared.x > 0 && shared.y > 0) << texts[i].words << " on " << texts[j].words;
    }
  }
}

// A linear axis: (value - low) / (high - low) of the frame, y upward. The range 0..10 by 0..5 fills it.
TEST(AxisPlot, PlacesOnLinearAxes) {
  const Drawing drawing = plot_drawing(two_lines());
  const Box frame = frame_of(drawing);
  const auto steep = lines_of(drawing, Pen::curve_1).at(0).points_mm;
  expect_at(steep[0], {frame.low.x, frame.high.y});
  expect_at(steep[1], {frame.high.x, frame.low.y});
  const auto flat = lines_of(drawing, Pen::curve_2).at(0).points_mm;
  expect_at(flat[1], {frame.high.x, frame.high.y - 0.4 * (frame.high.y - frame.low.y)});
  expect_tidy(drawing);
  for (const char* words : {"Two lines", "distance, mm", "blur, mm", "steep", "flat", "0", "10", "5"})
    EXPECT_TRUE(words_of(drawing).count(words)) << words;
}

// log(value / low) / log(high / low): 10 lies half-way from 1 to 100, and 1000 at 3/4 from 1 to 10 000.
TEST(AxisPlot, PlacesOnLogarithmicAxes) {
  AxisPlot plot = two_lines();
  plot.x.logarithmic = plot.y.logarithmic = true;
  plot.lines = {{"line", {{1, 1}, {10, 1000}, {100, 10000}}}};
  const Drawing drawing = plot_drawing(plot);
  const Box frame = frame_of(drawing);
  const glm::dvec2 size = frame.high - frame.low;
  const auto line = lines_of(drawing, Pen::curve_1).at(0).points_mm;
  ASSERT_EQ(line.size(), 3U);
  expect_at(line[1], {frame.low.x + size.x / 2, frame.high.y - size.y * 3 / 4});
  expect_tidy(drawing);
}

// y = x / 2 in a frame that ends at y 2.5: it leaves at x 5, the middle. A peak above it gives two pieces.
TEST(AxisPlot, LinesAreCutAtTheFrame) {
  AxisPlot plot = two_lines();
  plot.y.high = 2.5;
  plot.lines.push_back({"peak", {{0, 0}, {5, 5}, {10, 0}}});
  const Drawing drawing = plot_drawing(plot);
  const Box frame = frame_of(drawing);
  const double middle = (frame.low.x + frame.high.x) / 2;
  expect_at(lines_of(drawing, Pen::curve_1).at(0).points_mm.back(), {middle, frame.low.y});
  ASSERT_GE(lines_of(drawing, Pen::curve_3).size(), 2U);
  const auto rise = lines_of(drawing, Pen::curve_3)[0].points_mm;
  const auto fall = lines_of(drawing, Pen::curve_3)[1].points_mm;
  expect_at(rise.back(), {(frame.low.x + middle) / 2, frame.low.y});
  expect_at(fall.front(), {(middle + frame.high.x) / 2, frame.low.y});
  EXPECT_TRUE(words_of(drawing).count("steep"));  // named where it leaves
  expect_tidy(drawing);
}

// A line is one stroke, so that its dashes run on, and a gap where it has no number.
TEST(AxisPlot, WhatIsNoNumberIsAGap) {
  AxisPlot plot = two_lines();
  plot.lines = {{"line", {}}, {"only gaps", {{nan_value, 1}, {1, infinite}}}};
  for (int i = 0; i <= 100; ++i) plot.lines[0].points.emplace_back(i, i == 60 ? infinite : std::sqrt(i));
  plot.x_marks = {{"here", 30}};
  const Drawing drawing = plot_drawing(plot);
  const std::vector<Polyline> pieces = lines_of(drawing, Pen::curve_1);
  ASSERT_EQ(pieces.size(), 3U);  // and the stroke to its name
  EXPECT_EQ(pieces[0].points_mm.size(), 60U);
  EXPECT_EQ(pieces[1].points_mm.size(), 40U);
  EXPECT_TRUE(lines_of(drawing, Pen::curve_2).empty());
  plot.x.logarithmic = true;  // x = 0 has no place there
  EXPECT_EQ(lines_of(plot_drawing(plot), Pen::curve_1)[0].points_mm.size(), 59U);
}

// Numbers from 12 to 34.2 begin at 0 and end at a tick; from 31 to 34 they do not begin at 0.
TEST(AxisPlot, YEndsAtRoundNumbers) {
  AxisPlot plot = two_lines();
  plot.lines = {{"line", {{1.5, 12}, {8.5, 34.2}}}};
  const Drawing from_zero = plot_drawing(plot);
  EXPECT_TRUE(words_of(from_zero).count("0"));
  EXPECT_TRUE(words_of(from_zero).count("35"));
  const Box frame = frame_of(from_zero);
  const auto line = lines_of(from_zero, Pen::curve_1).at(0).points_mm;
  EXPECT_NEAR(line[0].x, frame.low.x, exact_mm);  // x as far as the line reaches
  EXPECT_NEAR(line[1].y, frame.low.y + (1 - 34.2 / 35) * (frame.high.y - frame.low.y), exact_mm);
  plot.lines = {{"line", {{1.5, 31}, {8.5, 34}}}};
  EXPECT_FALSE(words_of(plot_drawing(plot)).count("0"));
}

TEST(AxisPlot, MarksStandAtTheirValuesWithTheirNames) {
  AxisPlot plot = two_lines();
  plot.x.high = 12;
  plot.x_marks = {{"near end", 3}, {"far end", 9}, {"outside", 13}};
  plot.y_marks = {{"circle of confusion", 1}};
  const Drawing drawing = plot_drawing(plot);
  const Box frame = frame_of(drawing);
  const std::vector<Polyline> marks = lines_of(drawing, Pen::mark);
  ASSERT_EQ(marks.size(), 4U);  // the last leads on to the name
  EXPECT_NEAR(marks[0].points_mm[0].x, frame.low.x + 9. / 12 * (frame.high.x - frame.low.x), exact_mm);
  EXPECT_NEAR(marks[1].points_mm[0].x, frame.low.x + 3. / 12 * (frame.high.x - frame.low.x), exact_mm);
  EXPECT_NEAR(marks[2].points_mm[0].y, frame.high.y - 1. / 5 * (frame.high.y - frame.low.y), exact_mm);
  for (const char* words : {"near end", "far end", "circle of confusion"})
    EXPECT_TRUE(words_of(drawing).count(words)) << words;
  EXPECT_FALSE(words_of(drawing).count("outside"));
  expect_tidy(drawing);
}

// Six lines that end together, marks side by side, long words, small paper, numbers of many digits.
TEST(AxisPlot, CrowdedWordsKeepClearOfEachOther) {
  AxisPlot plot = two_lines();
  plot.lines.clear();
  for (int i = 0; i < 6; ++i)
    plot.lines.push_back({fmt::format("f/{}", i), {{-8000, 1}, {12000.5, 100'000 + i}}});
  plot.x_marks = {
      {"cap, near rim", 100}, {"in focus", 150}, {"stem", 200}, {"a rather long name of a mark", 11900}};
  plot.y_marks = {{"c", 99'000}, {"a limit with a name that is much too long for this paper", 100'003}};
  for (const double width : {80., 180., 277.})
    for (const double height : {75., 110., 180.}) {
      plot.width_mm = width;
      plot.height_mm = height;
      SCOPED_TRACE(fmt::format("{} x {}", width, height));
      const Drawing drawing = plot_drawing(plot);
      for (int i = 0; i < 6; ++i) EXPECT_TRUE(words_of(drawing).count(fmt::format("f/{}", i)));
      expect_tidy(drawing);
    }
}

// Nine digits and a minus are wider than the usual way from one number to the next.
TEST(AxisPlot, NumbersStandSideBySide) {
  AxisPlot plot = two_lines();
  plot.lines = {{"line", {{-999'999'000, 1}, {-999'997'900, 2}}}};
  for (plot.width_mm = 80; plot.width_mm < 277; ++plot.width_mm) {
    SCOPED_TRACE(plot.width_mm);
    expect_tidy(plot_drawing(plot));
  }
  plot.x.logarithmic = true;
  plot.lines = {{"line", {{0.001, 1}, {90, 2}}}};
  expect_tidy(plot_drawing(plot));
}

TEST(AxisPlot, ALevelLineHasRoomOnBothSides) {
  AxisPlot plot = two_lines();
  plot.lines = {{"level", {{0, 4}, {10, 4}}}};
  const Drawing drawing = plot_drawing(plot);
  const Box frame = frame_of(drawing);
  const double y = lines_of(drawing, Pen::curve_1).at(0).points_mm[0].y;
  EXPECT_GT(y, frame.low.y + 5);
  EXPECT_LT(y, frame.high.y - 5);
}

TEST(AxisPlot, RefusesWhatCannotBeDrawn) {
  const auto refuses = [](const auto& change) {
    AxisPlot plot = two_lines();
    change(plot);
    EXPECT_THROW(plot_drawing(plot), Refusal);
  };
  refuses([](AxisPlot& plot) { plot.lines.clear(); });
  refuses([](AxisPlot& plot) { plot.lines = {{"none", {{nan_value, 1}, {2, -infinite}}}}; });
  refuses([](AxisPlot& plot) { plot.lines.resize(7, plot.lines[0]); });
  refuses([](AxisPlot& plot) { plot.x.low = 11; });
  refuses([](AxisPlot& plot) { plot.y.high = nan_value; });
  refuses([](AxisPlot& plot) {
    plot.x.logarithmic = true;
    plot.x.low = 0;
  });
  refuses([](AxisPlot& plot) { plot.x_marks = {{"nowhere", nan_value}}; });
  refuses([](AxisPlot& plot) {
    plot.y.logarithmic = true;
    plot.y_marks = {{"nowhere", -1}};
  });
  refuses([](AxisPlot& plot) { plot.x_marks.resize(30, {"at one place", 5}); });
  refuses([](AxisPlot& plot) { plot.y_marks.resize(40, {"at one place", 1}); });
  refuses([](AxisPlot& plot) { plot.lines[0].points[1].y = 2e9; });
  refuses([](AxisPlot& plot) { plot.lines = {{"line", {{1e8, 1}, {1e8 + 10, 2}}}}; });
}

TEST(AxisPlot, APageHoldsThePlotAndItsWords) {
  const DrawingSheet sheet = plot_sheet(two_lines(), {"First line.", "Second line."});
  EXPECT_EQ(sheet.title, "Two lines");
  ASSERT_EQ(sheet.drawings.size(), 1U);
  EXPECT_FALSE(words_of(sheet.drawings[0]).count("Two lines"));  // the page has it
  ASSERT_EQ(sheet.texts.size(), 3U);
  EXPECT_EQ(sheet.texts[0].words, "Two lines");
  const double below = sheet.place_mm[0].y + sheet.drawings[0].height_mm;
  EXPECT_LE(sheet.place_mm[0].x + sheet.drawings[0].width_mm, sheet_width_mm - 10);
  EXPECT_LT(box_of(sheet.texts[0]).high.y, sheet.place_mm[0].y);
  EXPECT_GT(box_of(sheet.texts[1]).low.y, below);
  EXPECT_GT(box_of(sheet.texts[2]).low.y, box_of(sheet.texts[1]).high.y);
  EXPECT_LT(box_of(sheet.texts[2]).high.y, sheet_height_mm);
}

}  // namespace
}  // namespace undercap
