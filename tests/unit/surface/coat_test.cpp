#include "engine/surface/coat.h"

#include <gtest/gtest.h>

#include <cmath>

namespace undercap {
namespace {

// Fresnel's equations at normal incidence: ((n - 1) / (n + 1))^2 = 0.04 for n 1.5. For water, n 1.333, the
// published rows are 0 deg .02037, 45 deg .02790, 60 deg .05969, 75 deg .21238; and for glass n 1.52, 0 deg
// .04258, 60 deg .09248. Tolerance: the five digits printed.
TEST(Fresnel, KnownRows) {
  const auto at = [](double degrees, double index) {
    return fresnel_dielectric(std::cos(degrees * M_PI / 180), index);
  };
  EXPECT_NEAR(at(0, 1.5), 0.04, 1e-12);
  EXPECT_NEAR(at(0, 1.333), .02037, 5e-6);
  EXPECT_NEAR(at(45, 1.333), .02790, 5e-6);
  EXPECT_NEAR(at(60, 1.333), .05969, 5e-6);
  EXPECT_NEAR(at(75, 1.333), .21238, 5e-6);
  EXPECT_NEAR(at(0, 1.52), .04258, 5e-6);
  EXPECT_NEAR(at(60, 1.52), .09248, 5e-6);
}

// A nearly smooth coat is a mirror: its albedo is the Fresnel reflectance of the angle. 1e-3: alpha 0.01
// still spreads.
TEST(Coat, SmoothLimitIsFresnel) {
  for (const double cosine : {1.0, 0.8, 0.5, 0.3})
    EXPECT_NEAR(coat_albedo(cosine, 0.01), fresnel_dielectric(cosine, coat_index), 1e-3);
}

// A single-scattering coat never gives back more than it gets, and its mean over the hemisphere of a smooth
// dielectric of index 1.5 is the diffuse external reflectance 0.0918 (Duntley 1942, from memory). 3e-4: 32
// nodes.
TEST(Coat, TableIsBoundedAndItsMeanIsDiffuseFresnel) {
  for (const glm::vec2& row : coat_table()) {
    EXPECT_GE(row.x, 0.f);
    EXPECT_LE(row.x, 1.f);
  }
  EXPECT_NEAR(coat_table().front().y, 0.0918f, 3e-4f);
}

// The film of water has a table of its own: at roughness 0 it is Fresnel's, .02037 along the normal, and its
// mean the diffuse external reflectance of water, .06641. 3e-4: 32 nodes.
TEST(Coat, WaterTable) {
  EXPECT_NEAR(water_table()[31].x, .02037f, 2e-5f);
  EXPECT_NEAR(water_table().front().y, .06641f, 3e-4f);
  EXPECT_NEAR(coat_albedo(0.5, 0.01, water_index), fresnel_dielectric(0.5, water_index), 1e-3);
}

}  // namespace
}  // namespace undercap
