#include <gtest/gtest.h>

#include <glm/geometric.hpp>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_default;
using testing::build_with;
using Triple = std::array<double, 3>;
using Pair = std::array<double, 2>;

// Closed forms: areas of the circle, pi d^2 / 4, and of the sphere, pi d^2. Tolerance: single precision of
// positions.
TEST(Plain, DiscAndSphereHaveTheAreaOfTheTrueFigure) {
  const double d = 0.03;
  EXPECT_NEAR(surface_area(build_with("disc", {{"diameter_mm", 30.0}})) / (std::numbers::pi * d * d / 4), 1,
              1e-6);
  EXPECT_NEAR(surface_area(build_with("sphere", {{"diameter_mm", 30.0}})) / (std::numbers::pi * d * d), 1,
              1e-6);
}

TEST(Plain, SphereIsFineClosedAndRound) {
  const Mesh mesh = build_with("sphere", {{"diameter_mm", 30.0}});
  EXPECT_GE(mesh.triangle.size(), 20000u);
  EXPECT_EQ(testing::open_edges(mesh), 0u);
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    // The polyhedron's area falls short of the unit sphere's by well under 0.1 %, and so does the growth.
    EXPECT_NEAR(static_cast<double>(glm::length(mesh.position[i])), 0.015, 0.015 * 1e-3);
    EXPECT_GT(glm::dot(mesh.normal[i], glm::normalize(mesh.position[i])), 0.99999f);
  }
  EXPECT_NEAR(testing::signed_volume(mesh), std::numbers::pi / 6 * 0.03 * 0.03 * 0.03, 2e-3 * 1.414e-5);
}

TEST(Plain, BoxIsClosedFlatAndOfItsSize) {
  const Mesh mesh = build_with("box", {{"size_mm", Triple{100, 200, 300}}});
  EXPECT_EQ(testing::open_edges(mesh), 0u);
  EXPECT_TRUE(mesh.normal.empty());
  EXPECT_NEAR(testing::signed_volume(mesh), 0.1 * 0.2 * 0.3, 1e-8);
  EXPECT_NEAR(testing::extent(mesh).high.z, 0.15, 1e-7);
  EXPECT_NEAR(testing::extent(mesh).low.y, -0.1, 1e-7);
}

TEST(Plain, SheetsFaceTheirNormalAndHaveTheirSize) {
  for (const Triple& normal : {Triple{0, 0, 1}, Triple{0, 0, -1}, Triple{0, -1, 0}, Triple{.3, .4, -.2}}) {
    for (const char* kind : {"plane", "card", "disc"}) {
      const Mesh mesh = build_with(kind, {{"normal", normal}});
      const glm::dvec3 wanted = glm::normalize(glm::dvec3(normal[0], normal[1], normal[2]));
      for (const MeshTriangle& one : mesh.triangle) {
        const glm::dvec3 a(mesh.position[one.a]), b(mesh.position[one.b]), c(mesh.position[one.c]);
        EXPECT_GT(glm::dot(glm::normalize(glm::cross(b - a, c - a)), wanted), 0.9999);
      }
    }
  }
  EXPECT_NEAR(surface_area(build_with("plane", {{"size_m", Pair{2, 3}}})), 6, 1e-6);
  EXPECT_NEAR(surface_area(build_with("card", {{"size_mm", Pair{200, 300}}})), 0.06, 1e-8);
}

TEST(Plain, ACardStandsUprightWithItsWidthLevel) {
  const auto box = testing::extent(build_with("card", {{"size_mm", Pair{200, 300}}}));
  EXPECT_NEAR(box.high.x - box.low.x, 0.2, 1e-7);
  EXPECT_NEAR(box.high.z - box.low.z, 0.3, 1e-7);
  EXPECT_NEAR(box.high.y - box.low.y, 0, 1e-7);
}

TEST(Plain, ANormalWithoutLengthIsRefused) {
  try {
    build_with("card", {{"normal", Triple{0, 0, 0}}});
    FAIL();
  } catch (const Refusal& refusal) {
    EXPECT_NE(std::string(refusal.what()).find("normal = [0, 0, 0]"), std::string::npos) << refusal.what();
  }
}

}  // namespace
}  // namespace undercap
