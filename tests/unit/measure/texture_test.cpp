// Texture of the backdrop, from gratings of known contrast.
#include "engine/measure/texture.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "tests/unit/measure/separation_pictures.h"

namespace undercap {
namespace {

// A cosine of this amplitude has an RMS contrast of amplitude / sqrt 2.
struct Grating {
  double cycles = 0, amplitude = 0, turn_deg = 0;
};
double wave(const Grating& grating, int x, int y) {
  const double turn = grating.turn_deg * std::numbers::pi / 180;
  const double along = ((x - 191.5) * std::cos(turn) + (y - 127.5) * std::sin(turn)) / picture_height;
  return grating.amplitude * std::cos(2 * std::numbers::pi * grating.cycles * along);
}
double rms_pct(double amplitude) { return 100 * amplitude / std::numbers::sqrt2; }

std::array<double, 3> bands_of(const SeparationPicture& picture) {
  const auto texture = backdrop_texture(picture);
  std::array<double, 3> values{};
  for (std::size_t i = 0; i < 3; ++i) values[i] = rms_contrast_pct(*texture[i]).estimate.value;
  return values;
}

const Grating gratings[] = {{4, .2, 0},       {4.5, .1, 90}, {16, .2, 30},
                            {11.3, .05, 120}, {60, .2, 75},  {100, .1, 45}};
std::size_t band_of(double cycles) { return cycles < 8 ? 0 : cycles < 32 ? 1 : 2; }

// RMS contrast, standard deviation over mean (Peli 1990): each grating is in its own band with amplitude /
// sqrt 2, whatever the mean luminance, and little in the others: 3 % and 16 %, since the frame's edge and the
// weights blur the spectrum by a cycle and its foot goes further. 16 % of the amplitude is 2.6 % of the
// power.
TEST(Texture, GratingsInTheirBands) {
  for (const Grating& grating : gratings) {
    const auto bands =
        bands_of(picture_of(backdrop_alone, [&](int x, int y) { return 40 * (1 + wave(grating, x, y)); }));
    for (std::size_t i = 0; i < 3; ++i)
      EXPECT_NEAR(bands[i], i == band_of(grating.cycles) ? rms_pct(grating.amplitude) : 0,
                  (i == band_of(grating.cycles) ? .03 : .16) * rms_pct(grating.amplitude))
          << grating.cycles << " cycles, band " << i;
  }
}

// Three gratings at once add in no band.
TEST(Texture, BandsAreIndependent) {
  const auto bands = bands_of(picture_of(backdrop_alone, [](int x, int y) {
    return 3 * (1 + wave({5, .1, 20}, x, y) + wave({18, .2, 0}, x, y) + wave({70, .05, 60}, x, y));
  }));
  EXPECT_NEAR(bands[0], rms_pct(.1), .03 * rms_pct(.1));
  EXPECT_NEAR(bands[1], rms_pct(.2), .02 * rms_pct(.2));
  EXPECT_NEAR(bands[2], rms_pct(.05), .03 * rms_pct(.05));
}

// A subject thirty times as light stands before a fifth of it: none of its own light or of its outline comes
// in, and the gratings keep their contrast. 6 % and 20 %: the hole blurs the spectrum.
TEST(Texture, BehindASubject) {
  const Region column = [](int x, int y) { return x > 150 && x < 230 && y > 40 ? 's' : 'b'; };
  for (const Grating& grating : gratings) {
    const auto bands = bands_of(picture_of(
        column, [&](int x, int y) { return column(x, y) == 's' ? 1200 : 40 * (1 + wave(grating, x, y)); }));
    const std::size_t own = band_of(grating.cycles);
    for (std::size_t i = 0; i < 3; ++i)
      EXPECT_NEAR(bands[i], i == own ? rms_pct(grating.amplitude) : 0,
                  (i == own ? .06 : .20) * rms_pct(grating.amplitude))
          << grating.cycles << " cycles, band " << i;
  }
}

// Noise of 40 % a pixel and eighth is 14 % of the whole: as a texture it would be .4 / sqrt 8 in all, spread
// by area of the plane of frequencies, so that the finest band alone would read 12 %. From independent halves
// it reads 0 within its errors, and a grating of 2 % beneath it keeps its own.
TEST(Texture, NoiseIsNone) {
  const auto even = backdrop_texture(picture_of(
      backdrop_alone, [](int, int) { return 5; }, .4));
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(even[i]->estimate.value, 0, 4 * even[i]->estimate.se) << i;
    EXPECT_LT(rms_contrast_pct(*even[i]).estimate.value, 1.5) << i;
    EXPECT_GT(even[i]->estimate.se, 0) << i;
  }
  const auto beneath = backdrop_texture(picture_of(
      backdrop_alone,
      [](int x, int y) {
        return 5 * (1 + wave({16, .02, 10}, x, y));
      },
      .4));
  const Figure rms = rms_contrast_pct(*beneath[1]);
  EXPECT_NEAR(rms.estimate.value, rms_pct(.02), 4 * rms.estimate.se + .02 * rms_pct(.02));
}

// A backdrop that grows three times as light upward and half as light again to the side has a gradient and no
// texture: the plane is taken off.
TEST(Texture, APlaneIsNone) {
  const auto bands = bands_of(picture_of(disc_before_backdrop, [](int x, int y) {
    return disc_before_backdrop(x, y) == 's' ? 0 : 30 - 20 * y / 256. + 5 * x / 384.;
  }));
  for (const double band : bands) EXPECT_NEAR(band, 0, 1e-4);
}

// Between the bands of a patch: 8 cycles belong to the second band, 7.9 lie in the first, less what the
// weights blur across (one cycle of half-width).
TEST(Texture, TheUpperEndIsLeftOut) {
  const auto at = bands_of(picture_of(backdrop_alone, [](int x, int y) {
    return 1 + wave({9.5, .2, 0}, x, y);
  }));
  EXPECT_NEAR(at[1], rms_pct(.2), .03 * rms_pct(.2));
  const auto below = bands_of(picture_of(backdrop_alone, [](int x, int y) {
    return 1 + wave({6.5, .2, 0}, x, y);
  }));
  EXPECT_NEAR(below[0], rms_pct(.2), .03 * rms_pct(.2));
}

// A hundredth of the frame is the least; a black backdrop has no contrast.
TEST(Texture, NothingOfTooLittle) {
  const Region corner = [](int x, int y) { return x < 30 && y < 30 ? 'b' : 's'; };
  EXPECT_FALSE(backdrop_texture(picture_of(corner, [](int, int) { return 1; }))[0]);
  EXPECT_FALSE(backdrop_texture(picture_of(backdrop_alone, [](int, int) { return 0; }))[0]);
}

// 4 % +- .3 %^2 of variance: sqrt, and one standard error up from there; a negative variance is 0 with the
// error's root.
TEST(Texture, RootOfAVariance) {
  const Figure some =
      rms_contrast_pct({.estimate = {.value = .0016, .se = .0009, .freedom = 7}, .noise_bias = 1});
  EXPECT_NEAR(some.estimate.value, 4, 1e-12);
  EXPECT_NEAR(some.estimate.se, 1, 1e-12);
  EXPECT_EQ(some.estimate.freedom, 7);
  const Figure none = rms_contrast_pct({.estimate = {.value = -.0001, .se = .0004, .freedom = 7}});
  EXPECT_EQ(none.estimate.value, 0);
  EXPECT_NEAR(none.estimate.se, 2, 1e-12);
}

}  // namespace
}  // namespace undercap
