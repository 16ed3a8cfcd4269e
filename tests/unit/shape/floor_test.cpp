// Leaf, stone, grass, frond, lichen and twig: their sizes, and how they meet what they stand on.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>

#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

// The longest way from the stalk's end of the blade to its tip cannot exceed the flat length.
TEST(Leaf, EveryOutlineIsOfItsLengthAndLiesOnTheGround) {
  for (const char* form : {"elliptic", "lobed", "toothed", "palmate", "narrow"}) {
    for (const double seed : {1.0, 2.0, 3.0}) {
      SCOPED_TRACE(form + std::to_string(seed));
      const Mesh mesh = build_with(
          "leaf", {{"form", std::string(form)}, {"length_mm", 80.0}, {"curl", 0.0}, {"seed", seed}});
      EXPECT_EQ(testing::well_formed_fault(mesh), "");
      float longest = 0, least = 1;
      for (std::size_t i = 0; i < mesh.position.size(); ++i) {
        least = std::min(least, mesh.position[i].z);
        if (mesh.uv[i] == glm::vec2(0.02f, 0.5f)) continue;  // the stalk
        for (std::size_t j = 0; j < i; j += 7)
          if (mesh.uv[j] != glm::vec2(0.02f, 0.5f))
            longest = std::max(longest, glm::length(mesh.position[i] - mesh.position[j]));
      }
      // A palmate blade is wider than long; its flat lobes span some 1.6 lengths.
      EXPECT_GT(longest, 0.072f);
      EXPECT_LT(longest, std::string(form) == "palmate" ? 0.14f : 0.084f);
      EXPECT_GT(least, -0.012f);
      EXPECT_LT(least, 0.001f);
    }
  }
}

TEST(Leaf, DryOnesCurlAndFlatOnesDoNot) {
  const auto thick = [](double curl) {
    double sum = 0;
    for (const double seed : {1.0, 2.0, 3.0, 4.0, 5.0}) {
      const auto box = testing::extent(build_with("leaf", {{"curl", curl}, {"seed", seed}}));
      sum += (box.high.z - box.low.z) / 5;
    }
    return sum;
  };
  EXPECT_LT(thick(0), 0.014);
  EXPECT_GT(thick(1.5), 1.6 * thick(0));
}

TEST(Stone, IsClosedAndOfItsSize) {
  for (const double roundness : {0.0, 0.5, 1.0}) {
    const Mesh mesh =
        build_with("stone", {{"width_mm", 120.0}, {"height_mm", 50.0}, {"roundness", roundness}});
    EXPECT_EQ(testing::well_formed_fault(mesh), "");
    EXPECT_EQ(testing::open_edges(mesh), 0u);
    EXPECT_GT(testing::signed_volume(mesh), 0);
    const auto box = testing::extent(mesh);
    EXPECT_NEAR(box.high.x - box.low.x, 0.120, 1e-6);
    EXPECT_NEAR(box.high.z, 0.050, 1e-6);
    EXPECT_LT(box.low.z, -0.003);  // its foot is in the ground
  }
}

TEST(Grass, BladesStandInTheGroundAndKeepTheirLength) {
  const Setting slope{[](double x, double) { return 0.3 * x; }};
  const Mesh mesh = build_with("grass", {{"length_mm", 100.0}, {"splay", 0.0}, {"base_mm", 60.0}}, slope);
  EXPECT_EQ(testing::well_formed_fault(mesh), "");
  const auto box = testing::extent(mesh);
  EXPECT_LT(box.high.z, 0.100 + 0.009);  // the highest root is 0.3 x 30 mm up
  EXPECT_GT(box.high.z, 0.070);
  for (std::size_t i = 0; i < mesh.position.size(); ++i)
    if (mesh.uv[i].y == 0.0f) {
      EXPECT_LT(static_cast<double>(mesh.position[i].z), 0.3 * static_cast<double>(mesh.position[i].x));
    }
}

TEST(Frond, HasItsLengthAndItsPairs) {
  const auto triangles = [](double pairs) { return build_with("frond", {{"pairs", pairs}}).triangle.size(); };
  EXPECT_GT(triangles(30), triangles(12) * 3 / 2);
  const Mesh mesh = build_with("frond", {{"length_mm", 800.0}, {"arch_deg", 0.0}, {"droop", 0.0}});
  const auto box = testing::extent(mesh);
  // The tip still nods a little, and the topmost pinnae reach on past it.
  EXPECT_NEAR(box.high.z, 0.80, 0.05);
  EXPECT_EQ(testing::open_edges(testing::welded_part(mesh, "stalk")), 0u);
  EXPECT_GT(testing::signed_volume(testing::welded_part(mesh, "stalk")), 0);
  EXPECT_LT(mesh.triangle.size(), 12000u);
}

TEST(Lichen, HugsWhatItGrowsOn) {
  // A round log along x with its top at the base's height: the nearest place is on the line to its axis.
  constexpr double radius = 0.06;
  Setting log;
  log.nearest_on_host = [](const glm::dvec3& p) {
    const glm::dvec3 normal = glm::normalize(glm::dvec3(0, p.y, p.z + radius));
    return HostPlace{glm::dvec3(p.x, 0, -radius) + radius * normal, normal};
  };
  for (const char* form : {"crust", "leafy"}) {
    const Mesh mesh =
        build_with("lichen", {{"form", std::string(form)}, {"diameter_mm", 60.0}, {"broken", 0.0}}, log);
    EXPECT_EQ(testing::well_formed_fault(mesh), "");
    for (const glm::vec3& p : mesh.position) {
      const double off = std::hypot(static_cast<double>(p.y), static_cast<double>(p.z) + radius) - radius;
      EXPECT_GT(off, -0.0015) << form;
      EXPECT_LT(off, 0.005) << form;
    }
    // As wide along the log as round it, where the way round is its arc: neither gathered nor drawn out.
    double along = 0, round = 0;
    for (const glm::vec3& p : mesh.position) {
      along = std::max(along, std::abs(static_cast<double>(p.x)));
      round = std::max(
          round, radius * std::abs(std::atan2(static_cast<double>(p.y), static_cast<double>(p.z) + radius)));
    }
    EXPECT_NEAR(round / along, 1, 0.3) << form;
  }
}

TEST(Twig, IsClosedAndOfItsSize) {
  for (const double seed : {1.0, 2.0, 3.0}) {
    const Mesh mesh = build_with("twig", {{"length_mm", 200.0}, {"orders", 1.0}, {"seed", seed}});
    EXPECT_EQ(testing::open_edges(mesh), 0u);
    EXPECT_GT(testing::signed_volume(mesh), 0);
    const auto box = testing::extent(mesh);
    // The spans between knees vary by a quarter each.
    EXPECT_NEAR(box.high.x - box.low.x, 0.200, 0.04);
  }
}

TEST(Floor, SeenSmallThereAreFewTriangles) {
  for (const char* kind : {"leaf", "stone", "grass", "frond", "lichen", "twig", "moss", "litter"}) {
    Setting far;
    far.pixel_m = 0.01;
    EXPECT_LT(build_with(kind, {}, far).triangle.size() * 3, testing::build_default(kind).triangle.size() * 2)
        << kind;
  }
}

}  // namespace
}  // namespace undercap
