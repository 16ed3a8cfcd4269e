#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

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
  const Mesh mesh = build_with("moss", {{"diameter_mm", 60.0}, {"shoots_per_cm2", 10.0}, {"broken", 0.0}});
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

TEST(Moss, BrokenCoverHasFewerShoots) {
  const auto leaves = [](double broken) { return build_with("moss", {{"broken", broken}}).triangle.size(); };
  EXPECT_LT(leaves(0.8), 0.8 * static_cast<double>(leaves(0)));
  EXPECT_GT(leaves(0.8), 0.1 * static_cast<double>(leaves(0)));
}

TEST(Moss, AMatLiesFlatterThanACushion) {
  const auto top = [](const char* habit) {
    return testing::extent(build_with("moss", {{"habit", std::string(habit)}, {"height_mm", 0.0}})).high.z;
  };
  EXPECT_LT(top("mat"), top("cushion"));
}

// On a flank shoots grow where the surface looks up.
TEST(Moss, KeepsToTheTopOfAHost) {
  constexpr double radius = 0.04;
  Setting log;
  log.nearest_on_host = [](const glm::dvec3& p) {
    const glm::dvec3 normal = glm::normalize(glm::dvec3(0, p.y, p.z + radius));
    return HostPlace{glm::dvec3(p.x, 0, -radius) + radius * normal, normal};
  };
  const Mesh mesh = build_with("moss", {{"diameter_mm", 160.0}, {"height_mm", 3.0}}, log);
  EXPECT_EQ(testing::well_formed_fault(mesh), "");
  double lowest = 0;
  for (const MeshTriangle& one : mesh.triangle)
    if (mesh.parts[one.part].name == "leaf")
      lowest = std::min(lowest, static_cast<double>(mesh.position[one.a].z));
  EXPECT_GT(lowest, -1.6 * radius);
  EXPECT_LT(lowest, -0.3 * radius);
}

TEST(Moss, ExtremesOfTheRangesAreWellFormed) {
  for (const KeyValues& changes :
       {KeyValues{{"habit", std::string("mat")}, {"broken", 0.5}, {"diameter_mm", 20.0}},
        KeyValues{{"diameter_mm", 8.0}, {"height_mm", 0.0}, {"shoot_mm", 1.5}},
        KeyValues{{"diameter_mm", 200.0}, {"height_mm", 120.0}, {"log_radius_mm", 5.0}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("moss", changes)), "");
  }
}

}  // namespace
}  // namespace undercap
