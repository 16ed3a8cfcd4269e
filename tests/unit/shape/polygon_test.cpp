// Polygons cut into triangles: as many as there must be, all turned one way, of the polygon's area together.
#include "engine/shape/polygon.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

namespace undercap {
namespace {

using Corners = std::vector<glm::dvec3>;

// Area along the direction that the polygon faces; triangles that are turned over count against it.
double area_of(const Corners& corner, const glm::dvec3& facing) {
  const auto cut = cut_polygon(corner);
  if (!cut) return -1;
  EXPECT_EQ(cut->size(), corner.size() - 2);
  double sum = 0;
  for (const auto& [a, b, c] : *cut) {
    const double area = glm::dot(glm::cross(corner[b] - corner[a], corner[c] - corner[a]), facing) / 2;
    EXPECT_GE(area, -1e-9);
    sum += area;
  }
  return sum;
}

// A star of 2 n corners on circles of radius 1 and 1/2: n kites of area sin(pi / n) x 1 x 1/2 each.
Corners star(int n, const glm::dvec3& middle, const glm::dvec3& u, const glm::dvec3& v) {
  Corners corner;
  for (int k = 0; k < 2 * n; ++k) {
    const double angle = std::numbers::pi * k / n, radius = k % 2 == 0 ? 1 : 0.5;
    corner.push_back(middle + radius * (std::cos(angle) * u + std::sin(angle) * v));
  }
  return corner;
}

TEST(Polygon, StarsKeepTheirAreaWhereverTheyStand) {
  const glm::dvec3 x(1, 0, 0), y(0, 1, 0), z(0, 0, 1), slanted = glm::normalize(glm::dvec3(1, 2, 3));
  const glm::dvec3 across = glm::normalize(glm::cross(slanted, x)), along = glm::cross(across, slanted);
  for (const int n : {3, 4, 7, 60})
    for (const glm::dvec3& middle : {glm::dvec3(0), glm::dvec3(5, -5, 2), glm::dvec3(-700, 300, 1)}) {
      const double area = n * std::sin(std::numbers::pi / n) / 2;
      EXPECT_NEAR(area_of(star(n, middle, x, y), z), area, 1e-9);
      EXPECT_NEAR(area_of(star(n, middle, y, x), -z), area, 1e-9);
      EXPECT_NEAR(area_of(star(n, middle, z, x), y), area, 1e-9);
      EXPECT_NEAR(area_of(star(n, middle, y, z), x), area, 1e-9);
      EXPECT_NEAR(area_of(star(n, middle, along, across), glm::cross(along, across)), area, 1e-9);
    }
}

// A quadrilateral with one corner turned in has one diagonal that lies inside: the one through that corner.
TEST(Polygon, AnArrowHeadIsCutThroughItsNotch) {
  const Corners head = {{0, 0, 0}, {2, -1, 0}, {0.5, 0, 0}, {2, 1, 0}};  // its notch is corner 2
  // The square of 2 x 2 / 2 less the notch: 2 - 1.5 x 2 / 2 = 0.5.
  EXPECT_NEAR(area_of(head, {0, 0, 1}), 0.5, 1e-12);
}

// A square of 3 x 3 with a hole of 1 x 1, written as one outline with a cut to the hole: area 8.
TEST(Polygon, ACutToAHoleIsFollowed) {
  const Corners ring = {{0, 0, 0}, {3, 0, 0}, {3, 3, 0}, {0, 3, 0}, {0, 0, 0},
                        {1, 1, 0}, {1, 2, 0}, {2, 2, 0}, {2, 1, 0}, {1, 1, 0}};
  EXPECT_NEAR(area_of(ring, {0, 0, 1}), 8, 1e-12);
}

TEST(Polygon, CornersOnALineAndTwiceTheSame) {
  EXPECT_NEAR(area_of({{0, 0, 0}, {1, 0, 0}, {2, 0, 0}, {2, 0, 0}, {2, 2, 0}, {0, 2, 0}}, {0, 0, 1}), 4,
              1e-12);
  EXPECT_NEAR(area_of({{1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}}, {0, 0, 1}), 0, 1e-12);
}

TEST(Polygon, AnOutlineThatCrossesItselfIsNotCut) {
  EXPECT_FALSE(cut_polygon({{0, 0, 0}, {2, 2, 0}, {2, 0, 0}, {0, 2.5, 0}}));
  EXPECT_FALSE(cut_polygon({{0, 0, 0}, {1, 0, 1}, {1, 0, 0}, {0, 0, 1}}));  // both halves alike
  EXPECT_FALSE(cut_polygon({{0, 0, 0}, {4, 0, 0}, {4, 4, 0}, {1, -2, 0}, {0, 4, 0}}));
}

}  // namespace
}  // namespace undercap
