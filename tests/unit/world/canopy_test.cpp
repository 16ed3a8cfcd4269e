// The wood that one looks into below 20 degrees: its law over many seeds, and that it stands upright.
#include "engine/world/canopy.h"

#include <gtest/gtest.h>

#include <cmath>
#include <glm/trigonometric.hpp>

namespace undercap {
namespace {

glm::dvec3 towards(double azimuth_deg, double elevation_deg) {
  const double a = glm::radians(azimuth_deg), e = glm::radians(elevation_deg);
  return {std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e)};
}

// Over all seeds a direction is open with the gap fraction of its elevation, and gap and leaves together pass
// on the canopy's transmission (engine/light/canopy.h). 6000 seeds: within 4 standard errors, 0.5 of the
// spread at most.
TEST(Canopy, KeepsItsLawBelowTwentyDegrees) {
  constexpr int seeds = 6000;
  for (const double elevation : {3., 8., 14., 19.}) {
    for (const double area_index : {0.3, 1.2}) {
      const Canopy canopy{.leaf_area_index = area_index, .clumping = .7};
      const double sine = std::sin(glm::radians(elevation));
      double open = 0, passed = 0;
      for (int seed = 1; seed <= seeds; ++seed) {
        Canopy one = canopy;
        one.seed = seed;
        const auto leaves = LeafLayer::of(one);
        const glm::dvec3 d = towards(37 + seed % 7, elevation);
        const bool gap = leaves->open(d);
        open += gap;
        passed += gap ? 1 : leaves->passed_on(d).y;
      }
      const double se = 0.5 / std::sqrt(seeds);
      EXPECT_NEAR(open / seeds, gap_fraction(area_index, .7, sine), 4 * se) << elevation;
      EXPECT_NEAR(passed / seeds, canopy_transmission(canopy.leaf, area_index, .7, sine).y, 4 * se)
          << elevation;
    }
  }
}

// What is a stem at 4 degrees is one at 9: the darker of two values, at the same bearings; and stems take up
// a fifth of the round.
TEST(Canopy, StemsStandUpright) {
  const auto leaves = LeafLayer::of({.leaf_area_index = 2, .clumping = .7, .seed = 5});
  const auto stem = [&](double azimuth, double elevation) {
    const glm::dvec3 here = leaves->passed_on(towards(azimuth, elevation));
    double brightest = 0;
    for (double a = 0; a < 10; a += 0.25)
      brightest = std::max(brightest, leaves->passed_on(towards(a, elevation)).y);
    return here.y < 0.5 * brightest;
  };
  int stems = 0;
  constexpr int bearings = 720;
  for (int i = 0; i < bearings; ++i) {
    stems += stem(0.5 * i, 4);
    EXPECT_EQ(stem(0.5 * i, 4), stem(0.5 * i, 9)) << i;
  }
  // 86 stems whose widths spread by a third of their mean: 4 % of the sum.
  EXPECT_NEAR(stems / double{bearings}, 0.2, 4 * 0.04 * 0.2 + 0.02);
}

}  // namespace
}  // namespace undercap
