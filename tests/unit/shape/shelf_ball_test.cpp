// Brackets on wood and round fruit bodies.
#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <map>

#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;
using namespace std::string_literals;

TEST(Shelf, IsClosedLooksOutwardAndHasItsSize) {
  for (const std::string& form : {"bracket"s, "fan"s, "hoof"s}) {
    for (const double seed : {1.0, 2.0, 3.0, 4.0}) {
      SCOPED_TRACE(form + std::to_string(seed));
      const Mesh mesh = build_with("shelf", {{"form", form},
                                             {"seed", seed},
                                             {"width_mm", 60.0},
                                             {"depth_mm", 40.0},
                                             {"thickness_mm", 8.0},
                                             {"droop_deg", 0.0}});
      EXPECT_EQ(testing::well_formed_fault(mesh), "");
      EXPECT_EQ(testing::open_edges(mesh), 0u);
      EXPECT_GT(testing::signed_volume(mesh), 0);
      EXPECT_GT(testing::share_of_normals_in_front(mesh), 0.97);
      const auto box = testing::extent(mesh);
      // A lone shelf rolls by 6 deg and droops by 5 at most: the cosines take half a per cent, what the sides
      // rise takes or gives up to sin 6 deg of the thickness.
      EXPECT_NEAR(box.high.x - box.low.x, 0.060, 0.0012);
      EXPECT_NEAR(-box.low.y, 0.040, 0.001);
      // Its back ends in the host, all of its outline.
      EXPECT_GT(box.high.y, 0.002);
    }
  }
}

TEST(Shelf, PoresLookDownAndTheTopUp) {
  const Mesh& mesh = testing::build_default("shelf");
  glm::dvec3 top(0), pores(0);
  for (const MeshTriangle& one : mesh.triangle) {
    const glm::dvec3 a(mesh.position[one.a]);
    const glm::dvec3 across =
        glm::cross(glm::dvec3(mesh.position[one.b]) - a, glm::dvec3(mesh.position[one.c]) - a);
    (mesh.parts[one.part].name == "top" ? top : pores) += across;
  }
  EXPECT_GT(glm::normalize(top).z, 0.8);
  EXPECT_LT(glm::normalize(pores).z, -0.8);
}

// On a round trunk every shelf turns its front away from the axis and its back reaches into the wood.
TEST(Shelf, TiersTurnOutOfTheirHost) {
  const glm::dvec3 axis(0, 0.15, 0);
  Setting trunk;
  trunk.nearest_on_host = [&](const glm::dvec3& point) {
    const glm::dvec3 out = glm::normalize(glm::dvec3(point.x, point.y, 0) - axis);
    return HostPlace{axis + 0.15 * out + glm::dvec3(0, 0, point.z), out};
  };
  const Mesh mesh = build_with("shelf", {{"count", 8.0}, {"spread_mm", 140.0}, {"width_mm", 40.0}}, trunk);
  std::map<int, double> nearest, farthest;
  for (const MeshTriangle& one : mesh.triangle) {
    const int individual = mesh.parts[one.part].individual;
    const glm::dvec3 off = glm::dvec3(mesh.position[one.a]) - axis;
    const double distance = std::hypot(off.x, off.y);
    nearest.try_emplace(individual, distance);
    nearest[individual] = std::min(nearest[individual], distance);
    farthest[individual] = std::max(farthest[individual], distance);
  }
  EXPECT_EQ(nearest.size(), 8u);
  for (const auto& [individual, distance] : nearest) {
    EXPECT_LT(distance, 0.15) << individual;
    EXPECT_GT(farthest[individual], 0.16) << individual;
  }
}

TEST(Ball, IsClosedStandsInTheGroundAndHasItsSize) {
  for (const double taper : {0.0, 0.3, 1.0}) {
    for (const double seed : {1.0, 2.0, 3.0}) {
      const Mesh mesh = build_with("ball", {{"taper", taper},
                                            {"seed", seed},
                                            {"diameter_mm", 50.0},
                                            {"height_mm", 46.0},
                                            {"skin", "smooth"s},
                                            {"dent", 0.0}});
      EXPECT_EQ(testing::well_formed_fault(mesh), "");
      EXPECT_EQ(testing::open_edges(mesh), 0u);
      EXPECT_GT(testing::signed_volume(mesh), 0);
      const auto box = testing::extent(mesh);
      // It leans by up to 0.13 of its height; only its waist is as wide as it says.
      EXPECT_NEAR(box.high.x - box.low.x, 0.050, 0.0025);
      EXPECT_NEAR(box.high.z, 0.046, 0.0012);  // the crown is sunk by two per cent
      EXPECT_LT(box.low.z, -0.001);
    }
  }
}

TEST(Ball, ConesFallWithAge) {
  const auto triangles = [](double age) {
    return build_with("ball", {{"skin", "cones"s}, {"age", age}}).triangle.size();
  };
  EXPECT_GT(triangles(0), triangles(0.5));
  EXPECT_GT(triangles(0.5), triangles(1));
}

TEST(ShelfAndBall, PresetsBuildAndDetailFollowsThePixel) {
  for (const char* name : {"shelf", "ball"}) {
    const Kind& kind = *find_kind(name);
    for (const KindPreset& preset : kind.presets) {
      const KeyValues values = default_values(kind, preset.name);
      const Mesh near_mesh = kind.build(values, {});
      EXPECT_EQ(testing::well_formed_fault(near_mesh), "") << preset.name;
      Setting far;
      far.pixel_m = 0.003;
      const Mesh far_mesh = kind.build(values, far);
      EXPECT_EQ(testing::well_formed_fault(far_mesh), "") << preset.name;
      EXPECT_LT(3 * far_mesh.triangle.size(), near_mesh.triangle.size()) << preset.name;
    }
  }
}

TEST(ShelfAndBall, ExtremesOfTheRangesAreWellFormed) {
  for (const char* name : {"shelf", "ball"}) {
    for (const KindKey& key : find_kind(name)->keys) {
      if (key.type != KeyType::number && key.name != "count") continue;
      for (const double value : {key.low, key.high})
        EXPECT_EQ(testing::well_formed_fault(build_with(name, {{key.name, value}})), "") << key.name << value;
    }
  }
}

}  // namespace
}  // namespace undercap
