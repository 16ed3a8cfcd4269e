// The rim, from pictures whose steps are known.
#include "engine/measure/rim.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "engine/measure/readings.h"
#include "engine/optics/exposure.h"
#include "tests/unit/measure/separation_pictures.h"

namespace undercap {
namespace {

// luminance_y(1, 1, 1) is 1 to 1e-7.
constexpr double tolerance = 1e-6;
Use all_samples() {
  Use all;
  all.fill(true);
  return all;
}

// log2(20 / 5) = +2 stops, and -2 the other way round, at every point of the outline; without noise there is
// no error. Beyond 2 % of the height (5.12 pixels) anything may be: here a hundred times as light.
TEST(Rim, AKnownStep) {
  const auto step = [](double subject, double backdrop) {
    const SeparationPicture picture = picture_of(disc_before_backdrop, [&](int x, int y) {
      const double radius = std::hypot(x - 191.5, y - 127.5);
      return radius < 32 - 7 || radius > 32 + 7  ? 1000
             : disc_before_backdrop(x, y) == 's' ? subject
                                                 : backdrop;
    });
    const Rim rim(picture);
    // The staircase around a disc of radius r, corners included, has 8 r pixels.
    EXPECT_NEAR(static_cast<double>(rim.points()), 8 * 32, 8);
    EXPECT_NEAR(rim_step(rim)->estimate.se, 0, tolerance);
    EXPECT_NEAR(rim_step_low(rim)->estimate.value, std::abs(std::log2(subject / backdrop)), tolerance);
    return rim_step(rim)->estimate.value;
  };
  EXPECT_NEAR(step(20, 5), 2, tolerance);
  EXPECT_NEAR(step(5, 20), -2, tolerance);
}

// What belongs to neither has no say: a black line of two pixels between the disc's left half and the
// backdrop leaves the right half alone to be the outline.
TEST(Rim, NeitherSideHasNoSay) {
  const Region line = [](int x, int y) {
    const double radius = std::hypot(x - 191.5, y - 127.5);
    return x < 192 && radius >= 32 && radius < 35 ? '-' : disc_before_backdrop(x, y);
  };
  const SeparationPicture picture = picture_of(line, [&](int x, int y) {
    return line(x, y) == 's' ? 8 : line(x, y) == 'b' ? 1 : 0;
  });
  const SeparationPicture open = picture_of(disc_before_backdrop, [](int, int) { return 1; });
  const Rim rim(picture);
  EXPECT_NEAR(static_cast<double>(rim.points()) / static_cast<double>(Rim(open).points()), .5, .03);
  EXPECT_NEAR(rim_step(rim)->estimate.value, 3, tolerance);
}

// A backdrop of 2 stops less above the disc's middle and 2 stops more below, but the disc's own luminance
// within 45 degrees of the horizon: half the outline melts away. The signed steps are -2, 0, +2 at a quarter,
// a half and a quarter of it: their tenth percentile is -2, that of the magnitude 0, where the rim is lost.
// Points within 7 pixels of where the backdrop changes lie between.
TEST(Rim, WhereItIsLostHasNoSign) {
  const SeparationPicture picture = picture_of(disc_before_backdrop, [](int x, int y) {
    const double u = std::abs(x - 191.5), v = y - 127.5;
    return disc_before_backdrop(x, y) == 's' || u > std::abs(v) ? 4 : v < 0 ? 1 : 16;
  });
  const Rim rim(picture);
  EXPECT_NEAR(rim_step_low(rim)->estimate.value, 0, tolerance);
  EXPECT_NEAR(rim_step(rim)->estimate.value, 0, tolerance);
  EXPECT_NEAR(percentile(rim.steps_stops(all_samples()), 10), -2, .05);
  EXPECT_NEAR(percentile(rim.steps_stops(all_samples()), 90), 2, .05);
}

// Pixels along the outline that mix both sides have no say: 32 cd/m2 against 2 are 4 stops, whatever lies
// between. Where an outline out of focus has no others, they have it: 8 against 4 is 1 stop.
TEST(Rim, MixedPixels) {
  const Region edged = [](int x, int) { return x < 191 ? 's' : x < 192 ? 'S' : x < 193 ? 'B' : 'b'; };
  EXPECT_NEAR(rim_step(Rim(picture_of(
                           edged, [](int x, int) { return x < 191   ? 32.
                                                          : x < 192 ? 24
                                                          : x < 193 ? 9
                                                                    : 2; })))
                  ->estimate.value,
              4, tolerance);
  const Region soft = [](int x, int) { return x < 192 ? 'S' : 'B'; };
  EXPECT_NEAR(rim_step(Rim(picture_of(soft, [](int x, int) { return x < 192 ? 8 : 4; })))->estimate.value, 1,
              tolerance);
}

// A black backdrop is endlessly darker: no number. A picture without an outline has none either.
TEST(Rim, NoNumberWithoutLightOrOutline) {
  const SeparationPicture dark = picture_of(
      disc_before_backdrop, [](int x, int y) { return disc_before_backdrop(x, y) == 's' ? 1 : 0; });
  EXPECT_FALSE(rim_step(Rim(dark)));
  EXPECT_EQ(Rim(dark).steps_stops(all_samples()).front(), std::numeric_limits<double>::infinity());
  const SeparationPicture alone = picture_of(backdrop_alone, [](int, int) { return 1; });
  EXPECT_FALSE(rim_step(Rim(alone)));
  EXPECT_FALSE(rim_colour(Rim(alone), Display{}));
}

// With relative noise of 30 % a pixel and eighth the median stays within 4 standard errors of 1 stop, and the
// error is that of some 40 pixels x 8 eighths a side (11 % / sqrt(40) / ln 2 = .024 stop) or less, since the
// outline has many of them.
TEST(Rim, Noise) {
  const SeparationPicture picture = picture_of(
      disc_before_backdrop, [](int x, int y) { return disc_before_backdrop(x, y) == 's' ? 6 : 3; }, .3);
  const auto step = rim_step(Rim(picture));
  EXPECT_NEAR(step->estimate.value, 1, 4 * step->estimate.se);
  EXPECT_LT(step->estimate.se, .024);
  EXPECT_GT(step->estimate.se, .0005);
}

// Neutral 18 % against the same darker by .1, 1/3, 1/2, 1 and 2 stops, white at 1: CIEDE2000 1.4884, 4.7406,
// 6.8630, 12.365, 20.566 (Sharma, Wu & Dalal, Color Res. Appl. 30:21, 2005, worked out from its equations).
// All of it is lightness. Half of the last digit.
TEST(Rim, ColourStepsOfTheDisplay) {
  const struct {
    double stops, delta_e, digit;
  } table[] = {
      {.1, 1.4884, 1e-4}, {1. / 3, 4.7406, 1e-4}, {.5, 6.8630, 1e-4}, {1, 12.365, 1e-3}, {2, 20.566, 1e-3}};
  // 1 cd/m2 is mid-grey: 10 / S lx s.
  Display display{.how = {.shutter = 1_s, .iso = 200}, .exposure_per_luminance = {}};
  display.exposure_per_luminance.assign(picture_width * picture_height, mid_grey_exposure(200).value());
  for (const auto& row : table) {
    const SeparationPicture picture = picture_of(disc_before_backdrop, [&](int x, int y) {
      return disc_before_backdrop(x, y) == 's' ? 1 : std::exp2(-row.stops);
    });
    const auto colour = rim_colour(Rim(picture), display);
    EXPECT_NEAR(colour->delta_e.estimate.value, row.delta_e, .55 * row.digit) << row.stops;
    EXPECT_NEAR(colour->chroma, 0, 1e-3);
    // L* = 116 Y^(1/3) - 16.
    EXPECT_NEAR(colour->lightness, 116 * (std::cbrt(.18) - std::cbrt(.18 * std::exp2(-row.stops))), 1e-3);
  }
}

// Where both sides are above the display's white (1 / .18 = 5.6 times mid-grey) it shows no step of a stop.
TEST(Rim, NoColourStepAboveWhite) {
  const SeparationPicture picture = picture_of(
      disc_before_backdrop, [](int x, int y) { return disc_before_backdrop(x, y) == 's' ? 2 : 1; });
  Display display{.how = {.shutter = 1_s, .iso = 200}, .exposure_per_luminance = {}};
  display.exposure_per_luminance.assign(picture_width * picture_height, 6 * mid_grey_exposure(200).value());
  EXPECT_NEAR(rim_colour(Rim(picture), display)->delta_e.estimate.value, 0, 1e-9);
}

}  // namespace
}  // namespace undercap
