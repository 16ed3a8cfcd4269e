#include <gtest/gtest.h>

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/log_build.h"
#include "engine/shape/mesh_build.h"
#include "mesh_rules.h"

namespace undercap {
namespace {

using testing::build_with;

double part_area(const Mesh& mesh, const std::string& part) {
  return surface_area(testing::welded_part(mesh, part));
}

TEST(Log, IsClosedAndLooksOutward) {
  for (const char* ends : {"broken", "sawn"}) {
    const Mesh mesh = build_with("log", {{"ends", std::string(ends)}, {"length_mm", 300.0}});
    EXPECT_EQ(testing::open_edges(mesh), 0u) << ends;
    EXPECT_GT(testing::share_of_normals_in_front(mesh), 0.98) << ends;
    // A cylinder of the stated size, less the torn ends.
    const double cylinder = std::numbers::pi / 4 * 0.12 * 0.12 * 0.3;
    EXPECT_NEAR(testing::signed_volume(mesh) / cylinder, 0.92, 0.12) << ends;
  }
}

TEST(Log, HasTheStatedLengthAndMeanDiameter) {
  for (const double seed : {1.0, 2.0, 3.0}) {
    const Mesh bark = testing::welded_part(
        build_with("log", {{"seed", seed}, {"bend_mm", 0.0}, {"bark_loss", 0.0}, {"length_mm", 500.0}}),
        "bark");
    double low = 1, high = -1, sum = 0, area = 0;
    for (const MeshTriangle& one : bark.triangle) {
      const glm::dvec3 a(bark.position[one.a]);
      low = std::min(low, a.x);
      high = std::max(high, a.x);
      // The axis stands nine tenths of the radius above the ground.
      const double weight = triangle_area(bark, one);
      sum += weight * std::hypot(a.y, a.z - 0.054);
      area += weight;
    }
    EXPECT_NEAR(high - low, 0.5, 0.02 * 0.5) << seed;
    EXPECT_NEAR(2 * sum / area, 0.12, 0.03 * 0.12) << seed;
  }
}

TEST(Log, BarkIsLostOverTheShareAskedFor) {
  const auto share = [](double loss) {
    const Mesh mesh =
        build_with("log", {{"bark_loss", loss}, {"ends", std::string("sawn")}, {"length_mm", 400.0}});
    const double ends = 2 * std::numbers::pi / 4 * 0.12 * 0.12;
    const double bare = part_area(mesh, "wood") - ends;
    return bare / (bare + part_area(mesh, "bark"));
  };
  EXPECT_NEAR(share(0.0), 0.0, 0.01);
  // By rank over the grid, which is closer on top, and the bark's relief makes its own area larger.
  EXPECT_NEAR(share(0.3), 0.27, 0.07);
}

TEST(Log, LiesOnSlopingGround) {
  const Setting slope{[](double x, double) { return 0.1 * x + 0.02; }};
  const Mesh mesh = build_with("log", {{"bend_mm", 0.0}, {"taper", 0.0}}, slope);
  double left = 0, right = 0;
  int left_count = 0, right_count = 0;
  for (const glm::vec3& p : mesh.position) {
    if (p.x < -0.2f) left += static_cast<double>(p.z), ++left_count;
    if (p.x > 0.2f) right += static_cast<double>(p.z), ++right_count;
  }
  // The middles of the outer thirds are about 0.5 m apart: 0.1 of that is the rise.
  EXPECT_NEAR(right / right_count - left / left_count, 0.05, 0.012);
  EXPECT_NEAR(testing::extent(mesh).low.z, 0.02 - 0.006 - 0.03, 0.012);
}

TEST(Log, ExtremesOfTheRangesAreWellFormed) {
  for (const KeyValues& changes :
       {KeyValues{{"length_mm", 40.0}, {"diameter_mm", 15.0}, {"bark_relief_mm", 40.0}},
        KeyValues{{"length_mm", 5000.0}, {"diameter_mm", 15.0}, {"bend_mm", 500.0}, {"taper", 0.8}},
        KeyValues{{"length_mm", 100.0}, {"diameter_mm", 1500.0}, {"plate_mm", 100.0}, {"bark_loss", 0.9}}}) {
    EXPECT_EQ(testing::well_formed_fault(build_with("log", changes)), "");
  }
}

}  // namespace
}  // namespace undercap
