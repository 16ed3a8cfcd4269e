#include <gtest/gtest.h>

#include <glm/geometric.hpp>

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

Mesh one_triangle(const std::string& part) {
  Mesh mesh;
  mesh.position = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
  mesh.triangle = {{0, 1, 2, mesh.part_index(part)}};
  return mesh;
}

TEST(Mesh, PartIndexAddsOnceAndKeepsIndividualsApart) {
  Mesh mesh;
  EXPECT_EQ(mesh.part_index("cap"), 0u);
  EXPECT_EQ(mesh.part_index("stem"), 1u);
  EXPECT_EQ(mesh.part_index("cap"), 0u);
  EXPECT_EQ(mesh.part_index("cap", 2), 2u);
  EXPECT_EQ(mesh.parts.size(), 3u);
}

TEST(Mesh, AppendJoinsPartsAndShiftsIndices) {
  Mesh mesh = one_triangle("cap");
  Mesh other = one_triangle("stem");
  other.append(one_triangle("cap"));
  mesh.append(other);
  ASSERT_EQ(mesh.triangle.size(), 3u);
  EXPECT_EQ(mesh.triangle[1].a, 3u);
  EXPECT_EQ(mesh.parts[mesh.triangle[1].part].name, "stem");
  EXPECT_EQ(mesh.triangle[2].part, mesh.triangle[0].part);
}

TEST(Mesh, AppendMakesTheArraysOfBothHalvesComplete) {
  Mesh smooth = one_triangle("cap");
  smooth_normals(smooth);
  smooth.tint.assign(3, glm::vec3(0.5f));
  for (const bool smooth_first : {true, false}) {
    Mesh mesh = smooth_first ? smooth : one_triangle("cap");
    mesh.append(smooth_first ? one_triangle("cap") : smooth);
    EXPECT_EQ(testing::well_formed_fault(mesh), "");
    EXPECT_EQ(mesh.normal.size(), 6u);
    EXPECT_EQ(mesh.tint.size(), 6u);
    EXPECT_EQ(mesh.tint[smooth_first ? 3 : 0], glm::vec3(1));
  }
}

// Two faces of areas 1/2 and 1 along x and z meet at an edge: the area-weighted normal there is (1, 0, 2) /
// sqrt 5, also where the edge's positions are stored twice.
TEST(Mesh, SmoothNormalsWeighByAreaAcrossPositionsThatCoincide) {
  Mesh mesh;
  mesh.position = {{0, 0, 0}, {0, 1, 0}, {0, 0, 1}, {0, 0, 0}, {2, 0, 0}, {0, 1, 0}};
  mesh.triangle = {{0, 1, 2, mesh.part_index("surface")}, {3, 4, 5, 0}};
  smooth_normals(mesh);
  const glm::vec3 expected = glm::normalize(glm::vec3(1, 0, 2));
  for (const std::size_t shared : {0u, 1u, 3u, 5u})
    EXPECT_LT(glm::length(mesh.normal[shared] - expected), 1e-6f);
  EXPECT_LT(glm::length(mesh.normal[2] - glm::vec3(1, 0, 0)), 1e-6f);
}

TEST(Mesh, BalancedTintsHaveAreaMeanOneInEveryPart) {
  Mesh mesh = one_triangle("cap");
  mesh.position.push_back({1, 1, 0});
  mesh.triangle.push_back({1, 3, 2, mesh.part_index("stem")});
  mesh.tint = {{.1, .2, .3}, {.2, .2, .2}, {.3, .1, .1}, {.4, .1, .9}};
  balance_tints(mesh, {{"cap", {}, false}, {"stem", {}, false}});
  EXPECT_EQ(testing::well_formed_fault(mesh), "");
  for (const char* part : {"cap", "stem"})
    EXPECT_LT(glm::length(mean_tint(mesh, part) - glm::dvec3(1)), 0.01);
}

TEST(Noise, StaysInItsRangeAndVariesAboutZero) {
  double sum = 0, squares = 0;
  constexpr int count = 20000;
  for (int i = 0; i < count; ++i) {
    const glm::dvec3 place(i * 0.137, i * 0.071 - 300, i * 0.0391 + 7);
    const double noise = gradient_noise(place, 5);
    ASSERT_LE(std::abs(noise), 1);
    ASSERT_LE(std::abs(fbm(place, 6, 5)), 2);  // 1 + 1/2 + 1/4 ... < 2
    sum += noise;
    squares += noise * noise;
  }
  EXPECT_NEAR(sum / count, 0, 0.02);
  EXPECT_NEAR(std::sqrt(squares / count), 0.27, 0.04);
}

TEST(Noise, IsZeroAtWholeCoordinatesAndSmoothAcrossThem) {
  for (int i = -3; i < 4; ++i) {
    EXPECT_EQ(gradient_noise(glm::dvec3(i, 2, -i), 9), 0);
    const double left = gradient_noise(glm::dvec2(i - 1e-7, .3), 9),
                 right = gradient_noise(glm::dvec2(i + 1e-7, .3), 9);
    EXPECT_NEAR(left, right, 1e-6);
  }
}

// One hash value written down: a change of the hash changes every shape of every saved scene.
TEST(Noise, HashesAreTheSameOnEveryMachine) {
  EXPECT_EQ(hash_bits(0u), 0u);
  EXPECT_EQ(hash_bits(1u), 0x688990c0u);
}

TEST(Noise, NearestCellIsNearerThanTheSecond) {
  for (int i = 0; i < 500; ++i) {
    const Cell cell = cells(glm::dvec2(i * .37, -i * .21), 3);
    EXPECT_LE(cell.nearest, cell.second);
    EXPECT_LT(cell.nearest, 1.5);  // a point lies in this very cell: at most its diagonal, sqrt 2, away
  }
}

}  // namespace
}  // namespace undercap
