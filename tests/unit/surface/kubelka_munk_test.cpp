#include "engine/surface/kubelka_munk.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// R = sinh x / (a sinh x + b cosh x), T = b / (a sinh x + b cosh x), a = 1 + K/S, b = sqrt(a^2 - 1), x = b S
// d.
TEST(KubelkaMunk, ClosedForm) {
  const double k = .3, s = 2, d = .7, a = 1 + k / s, b = std::sqrt(a * a - 1), x = b * s * d;
  const SheetAlbedo layer = kubelka_munk({k, s}, 0.7_mm);
  const double below = a * std::sinh(x) + b * std::cosh(x);
  EXPECT_NEAR(layer.reflectance, std::sinh(x) / below, 1e-12);
  EXPECT_NEAR(layer.transmittance, b / below, 1e-12);
}

// Without absorption T = 1 / (1 + S d) and R + T = 1, and a trace of absorption changes but a trace; without
// scattering T = exp(-K d).
TEST(KubelkaMunk, Limits) {
  const SheetAlbedo white = kubelka_munk({0, 3}, 2_mm), nearly = kubelka_munk({1e-12, 3}, 2_mm);
  EXPECT_NEAR(white.transmittance, 1. / 7, 1e-15);
  EXPECT_NEAR(white.reflectance, 6. / 7, 1e-15);
  EXPECT_NEAR(nearly.transmittance, white.transmittance, 1e-9);
  EXPECT_NEAR(nearly.reflectance, white.reflectance, 1e-9);
  const SheetAlbedo glass = kubelka_munk({.5, 0}, 3_mm);
  EXPECT_NEAR(glass.transmittance, std::exp(-1.5), 1e-15);
  EXPECT_EQ(glass.reflectance, 0);
  const SheetAlbedo nothing = kubelka_munk({.5, 2}, 0_mm);
  EXPECT_NEAR(nothing.transmittance, 1, 1e-15);
  EXPECT_EQ(nothing.reflectance, 0);
}

// R at infinity solves K/S = (1 - R)^2 / (2 R); K/S = .25 gives R = .5. A metre of it is no different.
TEST(KubelkaMunk, InfiniteThickness) {
  EXPECT_NEAR(reflectance_at_infinity({.5, 2}), .5, 1e-15);
  EXPECT_EQ(reflectance_at_infinity({0, 2}), 1);
  const SheetAlbedo deep = kubelka_munk({.5, 2}, 1_m);
  EXPECT_NEAR(deep.reflectance, .5, 1e-12);
  EXPECT_NEAR(deep.transmittance, 0, 1e-300);
}

// Two layers on one another are a layer of twice the thickness.
TEST(KubelkaMunk, LayersAdd) {
  const KubelkaMunk flesh{.2, 1.5};
  const SheetAlbedo one = kubelka_munk(flesh, 0.4_mm), two = kubelka_munk(flesh, 0.8_mm);
  EXPECT_NEAR(stacked(one, one).reflectance, two.reflectance, 1e-12);
  EXPECT_NEAR(stacked(one, one).transmittance, two.transmittance, 1e-12);
}

TEST(KubelkaMunk, InversionReturnsWhatWasPutIn) {
  for (const KubelkaMunk flesh : {KubelkaMunk{.2, 1.5}, {4, .1}, {1e-4, 20}, {0, 2}, {.7, 0}}) {
    const KubelkaMunk found = kubelka_munk_from(kubelka_munk(flesh, 0.3_mm), 0.3_mm);
    EXPECT_NEAR(found.absorption_per_mm, flesh.absorption_per_mm, 1e-9 + 1e-6 * flesh.absorption_per_mm);
    EXPECT_NEAR(found.scattering_per_mm, flesh.scattering_per_mm, 1e-9 + 1e-6 * flesh.scattering_per_mm);
  }
}

TEST(KubelkaMunk, OpaqueOrGainingLayersTellNothing) {
  EXPECT_THROW(kubelka_munk_from({.5, 0}, 1_mm), Refusal);
  EXPECT_THROW(kubelka_munk_from({.7, .4}, 1_mm), Refusal);
  EXPECT_THROW(kubelka_munk_from({.5, .4}, 0_mm), Refusal);
}

}  // namespace
}  // namespace undercap
