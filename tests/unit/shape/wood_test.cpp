// Standing trunks and saplings.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

TEST(Trunk, IsClosedAndLooksOutward) {
  for (const double seed : {1.0, 2.0}) {
    const Mesh mesh = build_with("trunk", {{"seed", seed}});
    EXPECT_EQ(testing::open_edges(mesh), 0u);
    EXPECT_GT(testing::signed_volume(mesh), 0);
  }
}

TEST(Trunk, HasTheStatedHeightAndDiameter) {
  const Mesh mesh = build_with(
      "trunk", {{"height_m", 2.0}, {"diameter_mm", 200.0}, {"lean_deg", 0.0}, {"bark_relief_mm", 2.0}});
  const auto box = testing::extent(mesh);
  EXPECT_NEAR(box.high.z, 2.0, 1e-6);
  // Its foot reaches 60 mm into the ground.
  EXPECT_NEAR(box.low.z, -0.06, 1e-6);
  // At half height the flare of the roots is gone (e^-13); the trunk's own undulation and the mean height of
  // the bark leave a tenth.
  double sum = 0;
  int count = 0;
  for (const glm::vec3& p : mesh.position) {
    if (p.z < 0.9f || p.z > 1.1f) continue;
    sum += static_cast<double>(std::hypot(p.x, p.y));
    ++count;
  }
  ASSERT_GT(count, 100);
  EXPECT_NEAR(2 * sum / count, 0.2, 0.2 * 0.10);
}

TEST(Trunk, AStandHasOneStemInEachStripOfItsWidth) {
  constexpr int count = 5;
  const Mesh mesh = build_with("trunk", {{"count", double(count)},
                                         {"stand_width_m", 10.0},
                                         {"diameter_mm", 100.0},
                                         {"lean_deg", 0.0},
                                         {"height_m", 1.0}});
  std::vector<int> found(count, 0);
  for (const glm::vec3& p : mesh.position) {
    // A stem stands at least a tenth of a strip (0.2 m) inside it and is thinner than that above its roots.
    if (p.z > 0.5f) ++found.at(static_cast<std::size_t>((static_cast<double>(p.x) + 5.0) / 2.0));
  }
  for (const int positions : found) EXPECT_GT(positions, 0);
}

TEST(Thicket, HasTheLeavesAskedFor) {
  const Mesh mesh = build_with("thicket", {{"stems", 4.0}, {"leaves_per_stem", 25.0}});
  std::size_t leaves = 0;
  for (const MeshTriangle& one : mesh.triangle) leaves += mesh.parts[one.part].name == "leaf";
  EXPECT_EQ(leaves, 4u * 25u * 12u);
}

TEST(Thicket, TwigsAreClosed) {
  const Mesh twigs = testing::welded_part(build_with("thicket", {{"stems", 3.0}}), "twig");
  EXPECT_EQ(testing::open_edges(twigs), 0u);
  EXPECT_GT(testing::signed_volume(twigs), 0);
}

TEST(Wood, ExtremesOfTheRangesAreWellFormed) {
  EXPECT_EQ(
      testing::well_formed_fault(build_with(
          "trunk", {{"height_m", 0.2}, {"diameter_mm", 2000.0}, {"root_flare", 2.0}, {"lean_deg", 45.0}})),
      "");
  EXPECT_EQ(testing::well_formed_fault(
                build_with("trunk", {{"height_m", 40.0}, {"diameter_mm", 15.0}, {"bark_relief_mm", 60.0}})),
            "");
  EXPECT_EQ(testing::well_formed_fault(
                build_with("thicket", {{"height_m", 0.05}, {"stems", 1.0}, {"leaves_per_stem", 1.0}})),
            "");
}

}  // namespace
}  // namespace undercap
