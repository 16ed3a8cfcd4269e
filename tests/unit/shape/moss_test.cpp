#include <gtest/gtest.h>

#include <cmath>

#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

TEST(Moss, HeapIsClosedAndLooksOutward) {
  for (const double seed : {1.0, 2.0}) {
    const Mesh heap = testing::welded_part(build_with("moss", {{"seed", seed}}), "base");
    EXPECT_EQ(testing::open_edges(heap), 0u);
    EXPECT_GT(testing::signed_volume(heap), 0);
  }
}

TEST(Moss, EachShootHasFortyTriangles) {
  const Mesh mesh = build_with("moss", {{"diameter_mm", 60.0}, {"shoots_per_cm2", 10.0}});
  std::size_t leaves = 0;
  for (const MeshTriangle& one : mesh.triangle) leaves += mesh.parts[one.part].name == "leaf";
  // pi / 4 x 6 cm x 6 cm x 10 = 283 shoots.
  EXPECT_EQ(leaves, 283u * 40u);
}

TEST(Moss, HasItsSizeAndFollowsTheGround) {
  const Setting slope{[](double x, double) { return 0.2 * x; }};
  const Mesh mesh = build_with("moss", {{"diameter_mm", 100.0}, {"height_mm", 10.0}}, slope);
  const auto box = testing::extent(mesh);
  // The outline is lobed by up to a third, and shoots lean out of it.
  EXPECT_NEAR(box.high.x - box.low.x, 0.10, 0.035);
  double tilt = 0, weight = 0;
  for (const glm::vec3& p : mesh.position) {
    tilt += static_cast<double>(p.x * p.z);
    weight += static_cast<double>(p.x * p.x);
  }
  EXPECT_NEAR(tilt / weight, 0.2, 0.06);
}

TEST(Moss, BendsOverALog) {
  const auto fall = [](double log_radius) {
    const Mesh heap =
        testing::welded_part(build_with("moss", {{"log_radius_mm", log_radius}, {"height_mm", 2.0}}), "base");
    return testing::extent(heap).low.z;
  };
  // At 45 mm off the top of a log of 60 mm radius the bark is 60 - sqrt(60^2 - 45^2) = 20.3 mm down; the
  // outline is lobed, so from 30 mm (8 mm down) to 56 mm.
  EXPECT_LT(fall(60), fall(0) - 0.008);
}

TEST(Moss, ExtremesOfTheRangesAreWellFormed) {
  for (const KeyValues& changes :
       {KeyValues{{"diameter_mm", 8.0}, {"height_mm", 0.0}, {"shoot_mm", 1.5}},
        KeyValues{{"diameter_mm", 200.0}, {"height_mm", 120.0}, {"log_radius_mm", 5.0}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("moss", changes)), "");
  }
}

}  // namespace
}  // namespace undercap
