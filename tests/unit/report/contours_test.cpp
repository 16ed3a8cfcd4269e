// Contour lines of fields whose lines are known in closed form.
#include "engine/report/contours.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <functional>
#include <glm/geometric.hpp>
#include <limits>
#include <numbers>

namespace undercap {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
// Sums and quotients of numbers of the size of one.
constexpr double exact = 1e-12;

FieldGrid field_of(const glm::dvec2& low, const glm::dvec2& high, int across, int up,
                   const std::function<double(const glm::dvec2&)>& law) {
  FieldGrid field{.low = low, .high = high, .across = across, .up = up};
  for (int row = 0; row < up; ++row)
    for (int column = 0; column < across; ++column) field.value.push_back(law(field.place(column, row)));
  return field;
}

std::vector<ContourLine> lines_at(const FieldGrid& field, double level) {
  return contour_lines(field, std::array{level});
}

double signed_area_of(const std::vector<glm::dvec2>& ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const glm::dvec2 &a = ring[i], &b = ring[(i + 1) % ring.size()];
    twice += a.x * b.y - a.y * b.x;
  }
  return twice / 2;
}

// x^2 + y^2 = r^2 is a circle. A point is found on a side of length h, along which the field is t^2 and a
// constant, and its chord lies 0 to h^2 / 4 above it: so r^2 - h^2 / 4 <= |p|^2 <= r^2. The area lacks a rim
// of h^2 / (8 r) by that, and of a chord's rise, (h sqrt 2)^2 / (8 r), at the most: 3/4 pi h^2. What is above
// the level, the outside, is at the left hand, so the area is negative.
TEST(Contours, OfASquaredDistanceAreCircles) {
  const double h = 0.05;
  const FieldGrid field =
      field_of({-1, -1}, {1, 1}, 41, 41, [](const glm::dvec2& p) { return glm::dot(p, p); });
  for (const double r : {0.33, 0.5, 0.87}) {
    const auto lines = lines_at(field, r * r);
    ASSERT_EQ(lines.size(), 1U) << r;
    EXPECT_TRUE(lines[0].closed);
    EXPECT_EQ(lines[0].level, r * r);
    for (const glm::dvec2& p : lines[0].points) {
      EXPECT_LE(glm::dot(p, p), r * r + exact);
      EXPECT_GE(glm::dot(p, p), r * r - h * h / 4 - exact);
    }
    const double lack = std::numbers::pi * r * r + signed_area_of(lines[0].points);
    EXPECT_GT(lack, 0);
    EXPECT_LT(lack, 0.75 * std::numbers::pi * h * h);
  }
}

// A plane is its own interpolation: every point exactly on the line, from edge to edge, in order. The grid is
// not square, so rows and columns cannot be mistaken for one another.
TEST(Contours, OfAPlaneAreStraightAndOpen) {
  const FieldGrid field =
      field_of({-1, 0}, {2, 1}, 7, 5, [](const glm::dvec2& p) { return p.x + 0.2 * p.y; });
  const auto lines = lines_at(field, 0.3);
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_FALSE(lines[0].closed);
  for (const glm::dvec2& p : lines[0].points) EXPECT_NEAR(p.x + 0.2 * p.y, 0.3, exact);
  // Larger x is at the left hand: the line runs down.
  EXPECT_NEAR(lines[0].points.front().y, 1, exact);
  EXPECT_NEAR(lines[0].points.back().y, 0, exact);
  for (std::size_t i = 1; i < lines[0].points.size(); ++i)
    EXPECT_LT(lines[0].points[i].y, lines[0].points[i - 1].y);
}

// Corners 1 0 / 0 1: all four sides are crossed. At .4 the middle, .5, is above, so the two high corners are
// one area and the lines go around the low ones; at .6 the other way round. Each line's ends lie on the two
// sides of one corner.
TEST(Contours, ASaddleIsDecidedByItsMiddle) {
  const FieldGrid field{.low = {0, 0}, .high = {1, 1}, .across = 2, .up = 2, .value = {1, 0, 0, 1}};
  const auto corners = [&](double level) {
    std::vector<glm::dvec2> near;
    for (const ContourLine& line : lines_at(field, level)) {
      EXPECT_EQ(line.points.size(), 2U);
      EXPECT_FALSE(line.closed);
      const glm::dvec2 middle = (line.points.front() + line.points.back()) / 2.0;
      near.emplace_back(std::round(middle.x), std::round(middle.y));
    }
    return near;
  };
  const auto low = corners(0.4), high = corners(0.6);
  ASSERT_EQ(low.size(), 2U);
  ASSERT_EQ(high.size(), 2U);
  for (const glm::dvec2& corner : low) EXPECT_NE(corner.x, corner.y);
  for (const glm::dvec2& corner : high) EXPECT_EQ(corner.x, corner.y);
  EXPECT_NE(low[0], low[1]);
  EXPECT_NE(high[0], high[1]);
}

// One node in the way of a circle: the line is open and keeps out of the four cells around it.
TEST(Contours, NoLineNearANodeWithoutAValue) {
  const double h = 0.05;
  FieldGrid field = field_of({-1, -1}, {1, 1}, 41, 41, [](const glm::dvec2& p) { return glm::length(p); });
  field.value[field.index(30, 20)] = nothing;  // (.5, 0)
  const auto lines = lines_at(field, 0.51);
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_FALSE(lines[0].closed);
  EXPECT_GT(lines[0].points.size(), 40U);
  for (const glm::dvec2& p : lines[0].points)
    EXPECT_FALSE(std::abs(p.x - 0.5) < h - exact && std::abs(p.y) < h - exact) << p.x << ' ' << p.y;
  field.value.assign(field.value.size(), nothing);
  EXPECT_TRUE(lines_at(field, 0.51).empty());
}

// Levels through nodes: points where sides meet come once, and a peak that just reaches the level is no line.
TEST(Contours, ThroughNodesHaveEachPointOnce) {
  const FieldGrid plane = field_of({0, 0}, {4, 4}, 5, 5, [](const glm::dvec2& p) { return p.x + p.y; });
  const auto lines = lines_at(plane, 4);
  ASSERT_EQ(lines.size(), 1U);
  for (std::size_t i = 1; i < lines[0].points.size(); ++i)
    EXPECT_GT(glm::distance(lines[0].points[i], lines[0].points[i - 1]), 0.1);
  FieldGrid peak = field_of({0, 0}, {2, 2}, 3, 3, [](const glm::dvec2&) { return 0.0; });
  peak.value[4] = 1;
  EXPECT_TRUE(lines_at(peak, 1).empty());
  ASSERT_EQ(lines_at(peak, 0.5).size(), 1U);
  EXPECT_EQ(lines_at(peak, 0.5)[0].points.size(), 4U);
}

// One, two and five of each decade are common practice, no source.
TEST(RoundLevels, LieInTheRange) {
  const auto words = [](const std::vector<double>& values, int most) {
    std::string all;
    for (const Tick& tick : round_levels(values, most)) all += tick.words + " ";
    return all;
  };
  EXPECT_EQ(words({3, 90, nothing, 7}, 8), "5 10 20 50 ");
  EXPECT_EQ(words({0.3, 110, 0, -5}, 8), "0.5 1 2 5 10 20 50 100 ");
  EXPECT_EQ(words({0.03, 1100}, 8), "0.1 1 10 100 1000 ");
  EXPECT_EQ(words({std::numeric_limits<double>::infinity(), 3, 90}, 8), "5 10 20 50 ");
  EXPECT_EQ(words({7, 7, 7}, 8), "");
  EXPECT_EQ(words({0, -1, nothing}, 8), "");
}

}  // namespace
}  // namespace undercap
