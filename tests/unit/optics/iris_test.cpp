#include "engine/optics/iris.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

double triangle_area(const std::vector<glm::dvec2>& outline, std::size_t k) {
  const glm::dvec2 from = outline[k], to = outline[(k + 1) % outline.size()];
  return .5 * (from.x * to.y - from.y * to.x);
}

double total_area(const std::vector<glm::dvec2>& outline) {
  double area = 0;
  for (std::size_t k = 0; k < outline.size(); ++k) area += triangle_area(outline, k);
  return area;
}

// Definition of the outline: equal triangles, and together pi (d/2)^2. Bisection and 32 steps leave rounding
// only.
TEST(Iris, TrianglesAreEqualAndMakeUpTheDisc) {
  const Length diameter = 11.3_mm;
  const double disc = pi * std::pow(diameter.value() / 2, 2);
  for (int blades : {0, 3, 4, 5, 6, 7, 8, 9, 15, 20})
    for (double curvature : {0., .25, .5, .99, 1.}) {
      const auto outline = iris_outline({blades, curvature, 17_deg}, diameter);
      ASSERT_EQ(outline.size(), blades == 0 ? 256u : 32u * static_cast<unsigned>(blades));
      EXPECT_NEAR(total_area(outline) / disc, 1, 1e-13) << blades << " " << curvature;
      const double each = disc / static_cast<double>(outline.size());
      for (std::size_t k = 0; k < outline.size(); ++k)
        ASSERT_NEAR(triangle_area(outline, k) / each, 1, 1e-11) << blades << " " << curvature << " " << k;
    }
}

// Regular polygon: (n/2) R^2 sin(2 pi/n) over the circumcircle, k_R = R/(d/2) for equal area, the flat's
// distance cos(pi/n) and the second moment (2 + cos(2 pi/n))/6, five decimals. A fan triangle (0, A, B) has
// E[r^2] = (A.A + B.B + A.B)/6.
TEST(Iris, StraightBladesMakeTheRegularPolygon) {
  const double table[][5] = {{5, .75683, 1.14948, .80902, .38484},
                             {6, .82699, 1.09964, .86603, .41667},
                             {7, .87103, 1.07148, .90097, .43725},
                             {8, .90032, 1.05391, .92388, .45118},
                             {9, .92073, 1.04216, .93969, .46101}};
  for (const auto& [blades, area, k_R, flat, moment] : table) {
    const auto outline = iris_outline({static_cast<int>(blades), 0, 0_deg}, 2_m);
    const double radius = glm::length(outline[0]);
    double nearest = radius, second = 0;
    for (std::size_t k = 0; k < outline.size(); ++k) {
      const glm::dvec2 from = outline[k], to = outline[(k + 1) % outline.size()];
      nearest = std::min(nearest, glm::length(from));
      second += (glm::dot(from, from) + glm::dot(to, to) + glm::dot(from, to)) / 6 /
                static_cast<double>(outline.size());
    }
    EXPECT_NEAR(1 / (radius * radius), area, 5.1e-6) << blades;
    EXPECT_NEAR(radius, k_R, 5.1e-6) << blades;
    // The middle of the 32 equal edges of a blade is a vertex.
    EXPECT_NEAR(nearest / radius, flat, 5.1e-6) << blades;
    EXPECT_NEAR(second / (radius * radius), moment, 5.1e-6) << blades;
  }
}

// Area over the circumcircle for curvatures 0, .25, .5, .75, 1. The outline is a polygon inscribed in the
// curve: its edges cut off up to (2 pi / 32 n)^2 / 6 of the area, 1.3e-4 for 7 blades.
TEST(Iris, CurvedBladesLieBetweenPolygonAndCircle) {
  const double table[][6] = {{7, .87103, .90226, .93417, .96675, 1}, {9, .92073, .94017, .95987, .97981, 1}};
  for (const auto& row : table)
    for (int i = 0; i <= 4; ++i) {
      const int blades = static_cast<int>(row[0]);
      const auto outline = iris_outline({blades, .25 * i, 0_deg}, 2_m);
      const double ratio = 1 / glm::dot(outline[0], outline[0]);
      const double cut_off = std::pow(2 * pi / (32 * blades), 2) / 6;
      EXPECT_LT(ratio, row[i + 1] + 1e-5) << blades << " " << i;
      EXPECT_GT(ratio, row[i + 1] - cut_off - 1e-5) << blades << " " << i;
    }
}

TEST(Iris, CornersAreVerticesAndTurn) {
  const auto outline = iris_outline({6, .3, 20_deg}, 10_mm);
  for (std::size_t b = 0; b < 6; ++b) {
    const glm::dvec2 corner = outline[32 * b];
    const double expected = 20 + 60 * static_cast<double>(b);
    EXPECT_NEAR(std::remainder(std::atan2(corner.y, corner.x) * 180 / pi - expected, 360), 0, 1e-10);
    EXPECT_NEAR(glm::length(corner), glm::length(outline[0]), 1e-15);
    EXPECT_GT(glm::length(corner), glm::length(outline[32 * b + 1]));
  }
  // A blade is its own mirror image.
  for (std::size_t k = 1; k < 16; ++k)
    EXPECT_NEAR(glm::length(outline[k]), glm::length(outline[32 - k]), 1e-14);
}

// The circle of 256 edges is round to 1 - cos(pi/256) = 8e-5.
TEST(Iris, NoBladesMakeACircle) {
  for (const glm::dvec2& vertex : iris_outline({}, 20_mm)) EXPECT_NEAR(glm::length(vertex) / .01, 1, 8e-5);
}

TEST(Iris, RefusesWhatIsNotAnIris) {
  for (int blades : {-1, 1, 2, 21}) EXPECT_THROW(iris_outline({blades, 0, 0_deg}, 10_mm), Refusal) << blades;
  for (double curvature : {-.1, 1.1, double(NAN)})
    EXPECT_THROW(iris_outline({7, curvature, 0_deg}, 10_mm), Refusal) << curvature;
}

}  // namespace
}  // namespace undercap
