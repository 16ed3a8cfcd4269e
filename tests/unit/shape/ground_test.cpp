#include "engine/shape/ground.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

TEST(Ground, FlatGroundIsTwoTrianglesAtZero) {
  const GroundShape flat{.size_m = 10, .relief_mm = 0, .seed = 3};
  const Mesh mesh = build_ground(flat);
  EXPECT_EQ(mesh.triangle.size(), 2u);
  EXPECT_TRUE(mesh.tint.empty());
  EXPECT_EQ(testing::well_formed_fault(mesh), "");
  EXPECT_NEAR(surface_area(mesh), 100, 1e-4);
  EXPECT_EQ(ground_height_m(flat, 1.7, -0.3), 0);
}

// The octaves' sizes sum to 2, so the bound is twice the relief; a relief that is never used would be a fault
// too.
TEST(Ground, HeightStaysWithinTwiceTheReliefAndUsesAGoodPartOfIt) {
  for (const std::uint32_t seed : {1u, 2u, 9u}) {
    const GroundShape ground{.size_m = 24, .relief_mm = 8, .seed = seed};
    double least = 0, most = 0;
    for (int i = 0; i < 20000; ++i) {
      const double height = ground_height_m(ground, 0.0137 * (i % 151) - 1, 0.0711 * (i / 151.0) - 5);
      least = std::min(least, height);
      most = std::max(most, height);
    }
    EXPECT_LE(most, 0.016);
    EXPECT_GE(least, -0.016);
    EXPECT_GT(most - least, 0.008);
  }
}

TEST(Ground, HeightIsProportionalToTheReliefAndSmooth) {
  const GroundShape low{.size_m = 24, .relief_mm = 4, .seed = 5},
      high{.size_m = 24, .relief_mm = 12, .seed = 5};
  for (int i = 0; i < 200; ++i) {
    const double x = 0.031 * i - 2, y = 0.017 * i;
    EXPECT_NEAR(ground_height_m(high, x, y), 3 * ground_height_m(low, x, y), 1e-12);
    // Slope: the steepest octave rises 0.1 relief in a quarter of 60 mm; a step would be far above this.
    EXPECT_LT(std::abs(ground_height_m(low, x + 1e-5, y) - ground_height_m(low, x, y)), 1e-5);
  }
}

TEST(Ground, MeshFollowsTheHeightIsFineNearTheOriginAndLooksUp) {
  const GroundShape ground{};
  const Mesh mesh = build_ground(ground);
  EXPECT_EQ(testing::well_formed_fault(mesh), "");
  EXPECT_LT(mesh.triangle.size(), 300000u);
  std::size_t near = 0;
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    const auto& p = mesh.position[i];
    ASSERT_NEAR(static_cast<double>(p.z),
                ground_height_m(ground, static_cast<double>(p.x), static_cast<double>(p.y)), 1e-6);
    EXPECT_GT(mesh.normal[i].z, 0.5f);
    near += std::abs(p.x) <= 0.2f && std::abs(p.y) <= 0.2f;
  }
  EXPECT_GE(near, 100u * 100u);  // a 4 mm grid over 0.4 m
  EXPECT_DOUBLE_EQ(testing::share_of_normals_in_front(mesh), 1);
  const glm::dvec3 mean = mean_tint(mesh, "surface");
  for (int channel = 0; channel < 3; ++channel) EXPECT_NEAR(mean[channel], 1, 0.02);
}

TEST(Ground, SeedsDifferAndRepeat) {
  const GroundShape one{.size_m = 6, .relief_mm = 8, .seed = 1}, two{.size_m = 6, .relief_mm = 8, .seed = 2};
  EXPECT_EQ(testing::bytes_of(build_ground(one)), testing::bytes_of(build_ground(one)));
  EXPECT_NE(testing::bytes_of(build_ground(one)), testing::bytes_of(build_ground(two)));
}

}  // namespace
}  // namespace undercap
