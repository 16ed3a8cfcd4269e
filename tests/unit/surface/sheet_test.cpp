#include "engine/surface/sheet.h"

#include <gtest/gtest.h>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// Two equal sheets: R = r + t^2 r / (1 - r^2), T = t^2 / (1 - r^2). By hand: (.1, .1) -> .10101, .01010 and
// (.3, .27) -> .32403, .08011. Tolerance: the digits.
TEST(Sheet, TwoStacked) {
  const SheetAlbedo thin = stacked({.1, .1}, {.1, .1}), film = stacked({.3, .27}, {.3, .27});
  EXPECT_NEAR(thin.reflectance, .10101, 5e-6);
  EXPECT_NEAR(thin.transmittance, .01010, 5e-6);
  EXPECT_NEAR(film.reflectance, .32403, 5e-6);
  EXPECT_NEAR(film.transmittance, .08011, 5e-6);
}

// Stacking is associative, and a sheet over nothing is itself.
TEST(Sheet, PilesInAnyOrder) {
  const SheetAlbedo a{.2, .5}, b{.4, .3}, c{.1, .8};
  const SheetAlbedo left = stacked(stacked(a, a), a), right = stacked(a, stacked(a, a));
  EXPECT_NEAR(left.reflectance, right.reflectance, 1e-12);
  EXPECT_NEAR(left.transmittance, right.transmittance, 1e-12);
  EXPECT_DOUBLE_EQ(stacked(b, {0, 1}).reflectance, .4);
  EXPECT_DOUBLE_EQ(stacked(b, c).transmittance, stacked(c, b).transmittance);
}

// The two-sided boundary as it is usually written: D = (1 - k2 R)^2 - (k2 T)^2,
// R' = k1 + (1 - k1)(1 - k2)(R (1 - k2 R) + k2 T^2) / D, T' = (1 - k1)(1 - k2) T / D. Also a sum of bounces:
// for T = 0 Saunderson's k1 + (1 - k1)(1 - k2) R / (1 - k2 R).
TEST(Sheet, BoundaryIsSaunderson) {
  const double r = .45, t = .3, k1 = .06641, k2 = .47459;
  const double d = (1 - k2 * r) * (1 - k2 * r) - k2 * t * k2 * t;
  const SheetAlbedo seen = with_boundary({r, t}, k1, k2);
  EXPECT_NEAR(seen.reflectance, k1 + (1 - k1) * (1 - k2) * (r * (1 - k2 * r) + k2 * t * t) / d, 1e-12);
  EXPECT_NEAR(seen.transmittance, (1 - k1) * (1 - k2) * t / d, 1e-12);
  EXPECT_NEAR(with_boundary({r, 0}, k1, k2).reflectance, k1 + (1 - k1) * (1 - k2) * r / (1 - k2 * r), 1e-12);
}

TEST(Sheet, BoundaryKeepsEnergyAndComesOffAgain) {
  const SheetAlbedo white = with_boundary({.4, .6}, .09, .6);
  EXPECT_NEAR(white.reflectance + white.transmittance, 1, 1e-12);
  const SheetAlbedo back = without_boundary(with_boundary({.45, .3}, .09, .6), .09, .6);
  EXPECT_NEAR(back.reflectance, .45, 1e-12);
  EXPECT_NEAR(back.transmittance, .3, 1e-12);
  // Less is sent back than the boundary alone sends.
  EXPECT_THROW(without_boundary({.05, 0}, .09, .6), Refusal);
}

}  // namespace
}  // namespace undercap
