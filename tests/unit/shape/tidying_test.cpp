// Single leaves of a litter: hidden, moved, brought back.
#include <gtest/gtest.h>

#include <cstring>
#include <glm/geometric.hpp>
#include <map>

#include "engine/core/errors.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

// What each part of each individual consists of, byte for byte, wherever in the mesh it stands.
std::map<std::string, std::string> bytes_by_part(const Mesh& mesh) {
  std::map<std::string, std::string> found;
  for (const MeshTriangle& one : mesh.triangle) {
    const MeshPart& part = mesh.parts[one.part];
    std::string& bytes = found[part.name + "." + std::to_string(part.individual)];
    for (const std::uint32_t corner : {one.a, one.b, one.c}) {
      const auto add = [&](const auto& value) {
        char raw[sizeof value];
        std::memcpy(raw, &value, sizeof value);
        bytes.append(raw, sizeof value);
      };
      add(mesh.position[corner]);
      add(mesh.normal[corner]);
      add(mesh.tint[corner]);
      add(mesh.uv[corner]);
    }
  }
  return found;
}

KeyValues small_litter(Rows hidden = {}, Rows moved = {}) {
  return {
      {"radius_m", 0.25}, {"twigs_per_m2", 30.0}, {"hidden", std::move(hidden)}, {"moved", std::move(moved)}};
}

int first_leaf(const Mesh& mesh) {
  for (const MeshPart& part : mesh.parts)
    if (part.name == "leaf") return part.individual;
  return 0;
}

glm::dvec3 middle_of(const Mesh& mesh, int leaf) {
  glm::dvec3 low(1e9), high(-1e9);
  for (const MeshTriangle& one : mesh.triangle)
    if (mesh.parts[one.part].name == "leaf" && mesh.parts[one.part].individual == leaf) {
      low = glm::min(low, glm::dvec3(mesh.position[one.a]));
      high = glm::max(high, glm::dvec3(mesh.position[one.a]));
    }
  return 0.5 * (low + high);
}

TEST(Tidying, EveryLeafIsAnIndividual) {
  const auto parts = bytes_by_part(build_with("litter", small_litter()));
  std::size_t leaves = 0;
  for (const auto& [name, bytes] : parts) leaves += name.starts_with("leaf.");
  // 850 a m2 on 0.196 m2 are 167, some of them thinned out in the cleared way and in thin patches.
  EXPECT_GT(leaves, 90u);
  EXPECT_LT(leaves, 171u);
}

TEST(Tidying, HidingALeafTakesOutThatLeafAndNothingElse) {
  const Mesh whole = build_with("litter", small_litter());
  const int leaf = first_leaf(whole);
  auto expected = bytes_by_part(whole);
  EXPECT_EQ(expected.erase("leaf." + std::to_string(leaf)), 1u);
  EXPECT_EQ(bytes_by_part(build_with("litter", small_litter({{static_cast<double>(leaf)}}))), expected);
}

TEST(Tidying, AMovedLeafLiesAtItsPlaceAndTheOthersStay) {
  const Mesh whole = build_with("litter", small_litter());
  const int leaf = first_leaf(whole);
  const auto number = static_cast<double>(leaf);
  const Mesh moved = build_with("litter", small_litter({}, {{number, 0.4, -0.1, 90.0}}));
  auto before = bytes_by_part(whole), after = bytes_by_part(moved);
  const std::string name = "leaf." + std::to_string(leaf);
  EXPECT_NE(before[name], after[name]);
  before.erase(name);
  after.erase(name);
  EXPECT_EQ(before, after);
  const glm::dvec3 middle = middle_of(moved, leaf);
  // The middle of the turned box is not the box of the turned leaf: a fifth of a leaf.
  EXPECT_NEAR(middle.x, 0.4, 0.012);
  EXPECT_NEAR(middle.y, -0.1, 0.012);
  EXPECT_LT(middle.z, 0.06);
}

TEST(Tidying, ALeafThatDoesNotExistIsRefused) {
  const auto refusal = [](const KeyValues& values) {
    try {
      build_with("litter", values);
    } catch (const Refusal& refused) {
      return refused.faults()[0].message;
    }
    return std::string();
  };
  EXPECT_EQ(refusal(small_litter({{171}})), "hidden names leaf 171; this litter has leaves 1 to 170");
  EXPECT_EQ(refusal(small_litter({}, {{5, 0, 0, 0}, {5, 1, 0, 0}})), "moved has leaf 5 twice; keep one");
}

// Leaves rest on each other and on the ground: a tenth of each may push in, more of those on edge.
TEST(Tidying, LeavesLieOnTheGroundNotInIt) {
  const Mesh mesh = build_with("litter", small_litter());
  std::size_t beneath = 0, all = 0;
  for (const MeshTriangle& one : mesh.triangle) {
    if (mesh.parts[one.part].name != "leaf") continue;
    ++all;
    beneath += mesh.position[one.a].z < 0;
  }
  EXPECT_LT(static_cast<double>(beneath), 0.09 * static_cast<double>(all));
}

TEST(Tidying, PolygonsKeepLeavesOut) {
  const Setting setting{.allowed = [](double x, double) { return x > 0; }};
  const Mesh mesh = build_with("litter", small_litter(), setting);
  double farthest = 0;
  for (const glm::vec3& p : mesh.position) farthest = std::min(farthest, static_cast<double>(p.x));
  EXPECT_GT(farthest, -0.12);  // a leaf or a twig may lap over the border by half its length
}

}  // namespace
}  // namespace undercap
