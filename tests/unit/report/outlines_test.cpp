// Silhouettes against bodies whose shadows are known.
#include "engine/report/outlines.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "tests/unit/report/small_set.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

double area_of(const std::vector<glm::dvec2>& ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const glm::dvec2 &a = ring[i], &b = ring[(i + 1) % ring.size()];
    twice += a.x * b.y - a.y * b.x;
  }
  return std::abs(twice) / 2;
}

// How far out of a box with the given turn a ring reaches, and how far short of its corners it stays.
double furthest_from(const std::vector<glm::dvec2>& ring, const std::vector<glm::dvec2>& corners) {
  double worst = 0;
  for (const glm::dvec2& corner : corners) {
    double nearest = 1e9;
    for (const glm::dvec2& place : ring) nearest = std::min(nearest, glm::distance(place, corner));
    worst = std::max(worst, nearest);
  }
  return worst;
}

// A ball of 10 cm is a circle of 5 cm around its middle from wherever it is seen. The raster has 185 cells
// across it, of 0.53 mm: each corner of the ring lies within one of the circle, and as the mesh is a
// polyhedron of the ball's area, within what its corners stick out, which is what its faces dip in.
TEST(Outlines, ABallIsACircle) {
  const World world =
      small_set("[[prop]]\nname = \"ball\"\nkind = \"sphere\"\ndiameter_mm = 100\nat_m = [0.1, 0.2, 0.05]\n");
  const glm::dvec3 middle(0.1, 0.2, 0.05);
  double corners_out = 0;
  for (const WorldTriangle& t : world.triangle)
    if (world.parts[t.part].prop == "ball")
      corners_out = std::max(corners_out, glm::distance(glm::dvec3(world.position[t.a]), middle) - 0.05);
  EXPECT_LT(corners_out, 5e-4);
  const double near = 0.1 / 185 + corners_out;
  const auto plan = plan_outlines(world, 1);
  ASSERT_EQ(plan.size(), 1U);
  EXPECT_EQ(plan[0].prop, "ball");
  EXPECT_TRUE(plan[0].subject);
  ASSERT_EQ(plan[0].rings_m.size(), 1U);
  EXPECT_GT(plan[0].rings_m[0].size(), 20U);
  for (const glm::dvec2& place : plan[0].rings_m[0])
    EXPECT_NEAR(glm::distance(place, glm::dvec2(0.1, 0.2)), 0.05, near);
  EXPECT_NEAR(plan[0].low_m, 0, corners_out);
  EXPECT_NEAR(plan[0].high_m, 0.1, corners_out);
  const auto side = elevation_outlines(world, {1, 0}, 1);
  ASSERT_EQ(side.at(0).rings_m.size(), 1U);
  for (const glm::dvec2& place : side[0].rings_m[0])
    EXPECT_NEAR(glm::distance(place, glm::dvec2(0.1, 0.05)), 0.05, near);
}

// A box of 20 x 10 x 30 cm, turned by 30 degrees about the upright, seen from above: its own rectangle, with
// an area of 200 cm2 and its corners within two cells, one of the raster and one that smoothing takes off a
// right angle. The silhouette is 22.3 cm across its widest, so a cell is 1.2 mm.
TEST(Outlines, ABoxFromAboveIsItsRectangle) {
  const World world = small_set(
      "[[prop]]\nname = \"box\"\nkind = \"box\"\nsize_mm = [200, 100, 300]\nat_m = [0, 0]\nturn_deg = 30\n");
  const auto plan = plan_outlines(world, 1);
  ASSERT_EQ(plan.at(0).rings_m.size(), 1U);
  const double turn = pi / 6, cell = 0.2232 / 185;
  std::vector<glm::dvec2> corners;
  for (const double x : {-0.1, 0.1})
    for (const double y : {-0.05, 0.05}) {
      // Positive turns are one way or the other: the rectangle's four corners are the same but for their
      // order.
      corners.emplace_back(x * std::cos(turn) - y * std::sin(turn), x * std::sin(turn) + y * std::cos(turn));
    }
  const auto& ring = plan[0].rings_m[0];
  EXPECT_LT(furthest_from(ring, corners), 2 * cell);
  // One cell along its whole edge of 60 cm at the most.
  EXPECT_NEAR(area_of(ring), 0.02, 0.6 * cell);
}

// A box turned by 20 degrees about its own x, the east, leans to the south: toward a camera that looks north,
// at the left of the elevation. Two cells: one of the raster, and one that smoothing takes off a right angle.
TEST(Outlines, ALeaningBoxLeansInTheElevation) {
  const World world = small_set(
      "[[prop]]\nname = \"box\"\nkind = \"box\"\nsize_mm = [100, 100, 300]\nat_m = [0, 0, 0.3]\ntilt_deg = "
      "20\n");
  const auto side = elevation_outlines(world, {0, 1}, 1);
  ASSERT_EQ(side.at(0).rings_m.size(), 1U);
  const auto& ring = side[0].rings_m[0];
  const glm::dvec2 up(-std::sin(pi / 9), std::cos(pi / 9)), across(up.y, -up.x);
  double low = 1e9, high = -1e9, left = 1e9, right = -1e9;
  for (const glm::dvec2& place : ring) {
    low = std::min(low, glm::dot(place, up));
    high = std::max(high, glm::dot(place, up));
    left = std::min(left, glm::dot(place, across));
    right = std::max(right, glm::dot(place, across));
  }
  const double cell = 0.32 / 185;  // its extent is .3 cos 20 + .1 sin 20
  EXPECT_NEAR(high - low, 0.3, 2 * cell);
  EXPECT_NEAR(right - left, 0.1, 2 * cell);
}

// A card seen along its face is a line, and keeps its length to the bit of a float.
TEST(Outlines, ACardOnEdgeIsALine) {
  const World world = small_set(
      "[[prop]]\nname = \"card\"\nkind = \"card\"\nsize_mm = [200, 100]\nnormal = [0, -1, 0]\nat_m = [0, 0, "
      "0.1]\n");
  const auto plan = plan_outlines(world, 1);
  ASSERT_EQ(plan.at(0).rings_m.size(), 1U);
  double low = 1e9, high = -1e9;
  for (const glm::dvec2& place : plan[0].rings_m[0]) {
    EXPECT_NEAR(place.y, 0, 1e-6);
    low = std::min(low, place.x);
    high = std::max(high, place.x);
  }
  EXPECT_NEAR(high - low, 0.2, 1e-6);
}

// A rod thinner than a cell, askew to the raster, stays one line of its own length: no cell's middle need lie
// in it. 50 cm at 30 degrees; a cell is 2.3 mm, and at either end the ring may stop one short or go one
// further.
TEST(Outlines, AThinRodIsOneLine) {
  const World world = small_set(
      "[[prop]]\nname = \"rod\"\nkind = \"box\"\nsize_mm = [500, 0.6, 0.6]\nat_m = [0, 0]\nturn_deg = 30\n");
  const auto plan = plan_outlines(world, 1);
  ASSERT_EQ(plan.at(0).rings_m.size(), 1U);
  double longest = 0;
  for (const glm::dvec2& a : plan[0].rings_m[0])
    for (const glm::dvec2& b : plan[0].rings_m[0]) longest = std::max(longest, glm::distance(a, b));
  EXPECT_NEAR(longest, 0.5, 2 * 0.4333 / 185);
}

TEST(Outlines, WhatIsFarOrHiddenOrLitterHasNone) {
  const World world = small_set(
      "[[prop]]\nname = \"near\"\nkind = \"box\"\nat_m = [0, 0]\n"
      "[[prop]]\nname = \"far\"\nkind = \"box\"\nat_m = [0, 5]\n"
      "[[prop]]\nname = \"hidden\"\nkind = \"box\"\nat_m = [0.3, 0]\nvisible = false\n"
      "[[prop]]\nname = \"leaves\"\nkind = \"litter\"\nat_m = [0, 0]\nradius_m = 0.3\n");
  const auto plan = plan_outlines(world, 1);
  ASSERT_EQ(plan.size(), 1U);
  EXPECT_EQ(plan[0].prop, "near");
}

// Two balls of one prop a hand apart are one prop with two rings.
TEST(Outlines, RingsOfSeveralIndividuals) {
  const World world = small_set(
      "[[prop]]\nname = \"balls\"\nkind = \"sphere\"\ndiameter_mm = 20\nat_m = [0, 0]\nscatter = { count = "
      "5, "
      "radius_m = 0.6, spacing_mm = 200, size_spread = 0 }\n");
  const auto plan = plan_outlines(world, 1);
  ASSERT_EQ(plan.size(), 1U);
  EXPECT_EQ(plan[0].rings_m.size(), 5U);
  // Each has a raster of its own, finer than a tenth of a millimetre would be: held at 0.25 mm.
  for (const auto& ring : plan[0].rings_m) EXPECT_NEAR(area_of(ring), pi * 1e-4, 2 * pi * 0.01 * 2.5e-4);
}

}  // namespace
}  // namespace undercap
