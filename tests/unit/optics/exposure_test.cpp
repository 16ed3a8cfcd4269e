#include "engine/optics/exposure.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/optics/lens.h"
#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

// ISO 2720 with K = 12.5 and C = 250: L = .125 x 2^EV, E = 2.5 x 2^EV, all exact powers of two.
TEST(Exposure, ExposureValueTable) {
  const double table[][3] = {{-2, .03125, .625}, {-1, .0625, 1.25}, {0, .125, 2.5},    {1, .25, 5},
                             {2, .5, 10},        {3, 1, 20},        {4, 2, 40},        {5, 4, 80},
                             {6, 8, 160},        {7, 16, 320},      {8, 32, 640},      {9, 64, 1280},
                             {10, 128, 2560},    {11, 256, 5120},   {12, 512, 10240},  {13, 1024, 20480},
                             {14, 2048, 40960},  {15, 4096, 81920}, {16, 8192, 163840}};
  for (const auto& [ev, luminance, illuminance] : table) {
    EXPECT_DOUBLE_EQ(luminance_from_ev100(ev).value(), luminance);
    EXPECT_DOUBLE_EQ(illuminance_from_ev100(ev).value(), illuminance);
    EXPECT_NEAR(ev100_from_luminance(Luminance(luminance)), ev, 1e-14);
    EXPECT_NEAR(ev100_from_illuminance(Illuminance(illuminance)), ev, 1e-14);
  }
}

// f/16, t = 1/S. log2(25600) = 14.644, and the meter laws give 3200 cd/m2 and 64000 lx; the sensor gets
// .08125 lx s.
TEST(Exposure, SunnySixteen) {
  const ExposureSettings settings{.f_number = 16, .shutter = Duration(.01), .iso = 100};
  const double ev = ev100(settings);
  EXPECT_NEAR(ev, std::log2(25600.), 1e-12);
  EXPECT_NEAR(ev, 14.644, 5e-4);
  EXPECT_NEAR(luminance_from_ev100(ev).value(), 3200, 1e-9);
  EXPECT_NEAR(illuminance_from_ev100(ev).value(), 64000, 1e-8);
  EXPECT_NEAR(focal_plane_exposure(3200_cd_m2, 16, Duration(.01)).value(), .08125, 1e-14);
}

// 250 N^2 / (t S): f/8, 1/4 s, ISO 100 is 640 lx.
TEST(Exposure, GreyCard) {
  EXPECT_NEAR(grey_card_illuminance({.f_number = 8, .shutter = Duration(.25), .iso = 100}).value(), 640,
              1e-10);
  EXPECT_NEAR(grey_card_illuminance({.f_number = 8, .shutter = 8_s, .iso = 200}).value(), 10, 1e-12);
  EXPECT_NEAR(grey_card_illuminance({.f_number = 5, .shutter = 2_s, .iso = 400}).value(), 250. * 25 / 800,
              1e-12);
}

// 8 s, f/8, ISO 200: EV100 2, L .5, E 10, H .040625, clip at 4.8 cd/m2 and .10417 of the clip.
TEST(Exposure, DeepShade) {
  const ExposureSettings settings{.f_number = 8, .shutter = 8_s, .iso = 200};
  EXPECT_NEAR(ev100(settings), 2, 1e-14);
  const LuminousExposure exposure = focal_plane_exposure(luminance_from_ev100(2), 8, 8_s);
  EXPECT_NEAR(exposure.value(), .040625, 1e-15);
  EXPECT_NEAR(exposure / raw_clip_exposure(200), .10417, 5e-6);
  EXPECT_NEAR(saturation_luminance(8, 8_s, 200).value(), 4.8, 1e-12);
  // The same settings focused at m = .5 have N_w = 12: L 1.125, E 22.5, EV100 3.1699.
  const double close = ev100({.f_number = 12, .shutter = 8_s, .iso = 200});
  EXPECT_NEAR(close, 3.1699, 5e-5);
  EXPECT_NEAR(luminance_from_ev100(close).value(), 1.125, 1e-12);
  EXPECT_NEAR(illuminance_from_ev100(close).value(), 22.5, 1e-11);
}

// (78 / .65) N^2 / (S t) = 1.2 x 2^EV100, and a metered mean is 3.2630 stops below it.
TEST(Exposure, SaturationLuminance) {
  for (double iso : {100., 800.}) {
    const ExposureSettings settings{.f_number = 5.6, .shutter = Duration(1. / 30), .iso = iso};
    const Luminance clip = saturation_luminance(5.6, settings.shutter, iso);
    EXPECT_NEAR(clip.value() / std::exp2(ev100(settings)), 1.2, 1e-12);
    EXPECT_NEAR(std::log2(clip / luminance_from_ev100(ev100(settings))), 3.2630, 5e-5);
  }
}

// H S of the placements 8.125, 10 and 9.9278; stops below a clip at 78 are 3.2630, 2.9635, 2.9739.
TEST(Exposure, MidGreyAndRawClip) {
  for (double iso : {25., 100., 200., 6400.}) {
    EXPECT_DOUBLE_EQ(mid_grey_exposure(iso).value() * iso, 10);
    EXPECT_DOUBLE_EQ(raw_clip_exposure(iso).value() * iso, 78);
    EXPECT_NEAR(stops_above_mid_grey(raw_clip_exposure(iso), iso).value(), 2.9635, 5e-5);
    EXPECT_NEAR(stops_above_mid_grey(mid_grey_exposure(iso), iso).value(), 0, 1e-14);
    const double metered = stops_above_mid_grey(LuminousExposure(8.125 / iso), iso).value();
    EXPECT_NEAR(2.9635 - metered, 3.2630, 1e-4);
  }
  EXPECT_EQ(stops_above_mid_grey(0_lxs, 100).value(), -INFINITY);
}

// An 18 % card in 1000 lx, f/8, 1/60 s, m = .1, transmission .9: L 57.296, H .0087164, mid-grey at ISO
// 1147.3.
TEST(Exposure, GreyCardThroughALens) {
  const GaussianLens lens{60_mm, 8, 1, 0_mm};
  const Luminance card(.18 * 1000 / std::numbers::pi);
  expect_digits(card.value(), 57.296, 5);
  const LuminousExposure exposure =
      exposure_from_illuminance(image_illuminance(card, working_f_number(lens, .1), .9), Duration(1. / 60));
  expect_digits(exposure.value(), .0087164, 5);
  const double iso = 10 / exposure.value();
  expect_digits(iso, 1147.3, 5);
  EXPECT_NEAR(stops_above_mid_grey(exposure, iso).value(), 0, 1e-12);
}

TEST(Exposure, ShutterInvertsExposure) {
  const Duration shutter = shutter_for_exposure(mid_grey_exposure(200), Illuminance(.0125));
  EXPECT_NEAR(shutter.value(), 4, 1e-14);
  EXPECT_NEAR(exposure_from_illuminance(Illuminance(.0125), shutter).value(), .05, 1e-16);
}

// The standard's q: (pi/4) x .90 x .98 x cos^4(10 degrees) = .65157, quoted as .65.
TEST(Exposure, TheConstantOfTheStandard) {
  const GaussianLens lens{60_mm, 8, 1, 0_mm};
  const double cosine4 = chief_ray_weight(lens, 1e-12, 60_mm * std::tan(std::numbers::pi / 18));
  const double q = image_illuminance(1_cd_m2, 1, .90 * .98).value() * cosine4;
  EXPECT_NEAR(q, .65157, 5e-6);
  EXPECT_NEAR(focal_plane_exposure(1_cd_m2, 1, 1_s).value(), q, 2e-3);
}

// 60 mm, k = 2: m 0, .1, .5, 1 allow 1/120, 1/132, 1/180, 1/240 s; each stabiliser stop doubles.
TEST(Exposure, HandHeldLimit) {
  const std::pair<double, double> table[] = {{0, 120}, {.1, 132}, {.5, 180}, {1, 240}};
  for (const auto& [m, per_second] : table) {
    EXPECT_NEAR(1 / hand_held_limit(2, 60_mm, m, 0_stops).value(), per_second, 1e-10);
    EXPECT_NEAR(hand_held_limit(2, 60_mm, m, 3_stops).value() * per_second, 8, 1e-12);
  }
}

// 2.5 GN^2 cd s (ISO 2720 with C = 250): guide numbers 5, 8, 10, 12, 20, 36 m; GN 10 gives 2777.8 lx s at .30
// m, and N = GN / d meters as C N^2 / S by itself.
TEST(Exposure, Flash) {
  const double table[][2] = {{5, 62.5}, {8, 160}, {10, 250}, {12, 360}, {20, 1000}, {36, 3240}};
  for (const auto& [metres, candela_seconds] : table)
    EXPECT_NEAR(flash_candela_seconds(Length(metres)), candela_seconds, 1e-9);
  const LuminousExposure close = flash_exposure(flash_candela_seconds(10_m), Length(.30));
  EXPECT_NEAR(close.value(), 2777.8, .051);
  EXPECT_NEAR(close.value(), 250 * (10 / .30) * (10 / .30) / 100, 1e-9);
}

}  // namespace
}  // namespace undercap
