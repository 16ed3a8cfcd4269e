#include "engine/surface/film.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "engine/surface/coat.h"

namespace undercap {
namespace {

// Diffuse reflectance of a smooth boundary, n 1.333: .06641 from outside, .47459 from within. The two are
// bound by R_int = 1 - (1 - R_ext) / n^2, since n^2 dOmega cos of a beam is the same on both sides of a
// boundary; their quadratures share no point.
TEST(Film, DiffuseFresnelOfWaterAndItsIdentity) {
  EXPECT_NEAR(diffuse_fresnel_external(water_index), .06641, 5e-6);
  EXPECT_NEAR(diffuse_fresnel_internal(water_index), .47459, 5e-6);
  for (const double n : {1.2, water_index, 1.5, 1.8})
    EXPECT_NEAR(diffuse_fresnel_internal(n), 1 - (1 - diffuse_fresnel_external(n)) / (n * n), 1e-7) << n;
}

// Walsh 1926, the closed form of the same integral, as Duntley 1942 prints it (from memory).
TEST(Film, ExternalIsWalsh) {
  for (const double n : {1.2, water_index, 1.5}) {
    const double n2 = n * n, n4 = n2 * n2;
    const double walsh = 0.5 + (n - 1) * (3 * n + 1) / (6 * (n + 1) * (n + 1)) +
                         n2 * (n2 - 1) * (n2 - 1) / std::pow(n2 + 1, 3) * std::log((n - 1) / (n + 1)) -
                         2 * n * n2 * (n2 + 2 * n - 1) / ((n2 + 1) * (n4 - 1)) +
                         8 * n4 * (n4 + 1) / ((n2 + 1) * (n4 - 1) * (n4 - 1)) * std::log(n);
    EXPECT_NEAR(diffuse_fresnel_external(n), walsh, 1e-7) << n;
  }
}

struct Wetting {
  double dry, normal, diffuse, angstrom;
};
// (1 - R1)(1 - R_int) rho / (1 - R_int rho) with R1 .02037 for light along the normal and .06641 for diffuse
// light, and rho / (n^2 (1 - rho) + rho); worked out by hand. Half a per cent is what the wet surface has to
// keep; the printed digits are finer.
constexpr std::array<Wetting, 7> rows{{{.05, .0264, .0251, .0288},
                                       {.10, .0540, .0515, .0589},
                                       {.18, .1013, .0965, .1100},
                                       {.30, .1800, .1716, .1943},
                                       {.50, .3374, .3216, .3601},
                                       {.70, .5395, .5142, .5677},
                                       {.90, .8086, .7706, .8351}}};

TEST(Film, WetRowsAlongTheNormal) {
  for (const Wetting& row : rows) EXPECT_NEAR(wet_albedo_normal(row.dry), row.normal, .005 * row.normal);
}

TEST(Film, WetRowsInDiffuseLight) {
  for (const Wetting& row : rows) EXPECT_NEAR(wet_albedo_diffuse(row.dry), row.diffuse, .005 * row.diffuse);
}

TEST(Film, AngstromsRows) {
  for (const Wetting& row : rows) EXPECT_NEAR(wet_albedo_angstrom(row.dry), row.angstrom, 5e-5 + 1e-9);
}

// A body that takes nothing gives everything back wet as dry: glint and body together are 1 in diffuse light.
TEST(Film, WhiteStaysWhite) {
  EXPECT_NEAR(diffuse_fresnel_external(water_index) + wet_albedo_diffuse(1), 1, 1e-7);
  const SheetAlbedo leaf = wet_body({.3, .7});
  EXPECT_NEAR(leaf.reflectance + leaf.transmittance, 1, 1e-12);
  EXPECT_NEAR(wet_body({0, .5}).transmittance / wet_body({0, .5}).reflectance,
              1 / (diffuse_fresnel_internal(water_index) * .5), 1e-9);
}

// The film that is drawn is a rough coat, not a mirror. Along the normal the body gets what it gets below a
// smooth one; of diffuse light it gets 0.4 % more, within the 0.5 % of the rows, since facets seen at a
// grazing angle face the viewer. E of the table at the film's roughness, linear between nodes.
TEST(Film, RoughnessKeepsTheRows) {
  const double row = wet_roughness * 31, share = row - std::floor(row);
  const auto first = static_cast<std::size_t>(row) * 32;
  const auto at = [&](std::size_t column) {
    const glm::vec2 low = water_table()[first + column], high = water_table()[first + 32 + column];
    return glm::dvec2(low) * (1 - share) + glm::dvec2(high) * share;
  };
  EXPECT_NEAR((1 - at(31).x) / (1 - fresnel_dielectric(1, water_index)), 1, 1e-4);
  EXPECT_NEAR((1 - at(31).y) / (1 - diffuse_fresnel_external(water_index)), 1, .005);
}

// Dark colours lose more than light ones, so that a wet colour is more saturated.
TEST(Film, WettingSaturates) {
  EXPECT_NEAR(wet_albedo_normal(.10) / .10, .540, .001);
  EXPECT_NEAR(wet_albedo_normal(.90) / .90, .898, .001);
}

}  // namespace
}  // namespace undercap
