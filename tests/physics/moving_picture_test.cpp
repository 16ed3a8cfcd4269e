// Props that sway while the shutter is open, as pictures: where their light goes.
#include "engine/session/moving_picture.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "engine/core/errors.h"
#include "engine/scene/load.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

// Sixteen glowing strips of 2 x 60 mm that stand side by side, 90 mm apart, in a black world and sway to the
// left and right, each with a beat of its own. Seen from 10 m: 1440 x 90 mm, pixels of 3.75 mm, each strip in
// the middle of 24 of them. Their tops are the upper edge of row 4, their feet the lower one of row 19.
constexpr int bars = 16, across = 24, width = bars * across, height = 24, top_row = 4, foot_row = 19;
constexpr double pixel_mm = 3.75, bar_mm = 2, bar_height_mm = 60, emitted = 100;
constexpr unsigned samples = 64;
const Progress go_on = [](double) { return true; };

Scene swaying_bars(double sway_mm) {
  test_shaders();
  std::string text =
      "undercap = 1\n" + bare + no_sky +
      "[exposure]\niso = 100\nshutter_s = 100\nwhite_balance_k = 6500\nnoise = false\ndiffraction = false\n"
      "[camera]\nformat_mm = [72, 4.5]\nfocal_length_mm = 500\nf_number = 64\nbarrel_mm = 0\n"
      "magnification = 0.05\nposition_m = [0, -5, 0.03]\nlook_at = [0, 0, 0.03]\n";
  for (int i = 0; i < bars; ++i)
    text += fmt::format(
        "[[prop]]\nname = \"bar {}\"\nkind = \"card\"\nat_m = [{}, 0, 0.03]\nsize_mm = [{}, {}]\nsway_mm = "
        "{}\n"
        "sway_hz = {}\nmaterial.surface = {{ reflectance = 0, emission_cd_m2 = {} }}\n",
        i + 1, (i - (bars - 1) / 2.) * .09, bar_mm, bar_height_mm, sway_mm, 1.31 + .137 * i, emitted);
  return SceneFile::from_text(text, test_folder() + "/sway.toml").scene();
}

PictureResult picture_of(double sway_mm, PictureRequest request = {}, const Progress& progress = go_on) {
  Session session(test_shaders(), swaying_bars(sway_mm), Quality::draft);
  session.survey(Quality::draft, {}, go_on, Session::For::picture);
  request.width = width;
  request.height = height;
  request.samples = samples;
  request.keep_groups = true;
  return render_moving_picture(test_shaders(), session, request, progress);
}

double luminance_of(const Picture& picture, int x, int y) {
  const float* const rgb = &picture.rgb[pixel_index(picture, x, y)];
  return .2126390 * static_cast<double>(rgb[0]) + .7151687 * static_cast<double>(rgb[1]) +
         .0721923 * static_cast<double>(rgb[2]);
}

double light_of_row(const Picture& picture, int y) {
  double sum = 0;
  for (int x = 0; x < picture.width; ++x) sum += luminance_of(picture, x, y);
  return sum;
}

// Of a row's light, the share within so much of the strips' places of rest.
double share_within(const Picture& picture, int y, double mm) {
  double inner = 0;
  for (int x = 0; x < picture.width; ++x)
    if (std::abs((x % across + .5) * pixel_mm - .5 * across * pixel_mm) < mm)
      inner += luminance_of(picture, x, y);
  return inner / light_of_row(picture, y);
}

// In a time of 130 swings and more, a strip's offset x has the density 1 / (pi sqrt(A^2 - x^2)), so that it
// is within c for 2/pi asin(c / A) of the time; averaged over the row's heights, whose share of the sway is
// 15/16 to 1, and over the strip's width. Sixteen moments of each of sixteen strips: were they drawn at
// random, a share p would spread by sqrt(p (1 - p) / 256); four of those. An even smear would have .52 within
// 15 mm and .10 beyond 26.25, a prop at rest all and nothing.
TEST(MovingPicture, ALongExposureShowsTheArcsineDensity) {
  const double amplitude_mm = 30;
  const Picture picture = picture_of(amplitude_mm).mix;
  const auto expected = [&](double c) {
    double sum = 0;
    for (int i = 0; i < 100; ++i)
      for (int j = 0; j < 100; ++j) {
        const double a = amplitude_mm * (1 - (i + .5) / 100 / 16), off = ((j + .5) / 100 - .5) * bar_mm;
        const auto below = [&](double x) { return std::asin(std::clamp(x / a, -1., 1.)) / std::numbers::pi; };
        sum += (below(c - off) - below(-c - off)) / 1e4;
      }
    return sum;
  };
  for (const double within : {15., 26.25}) {
    const double share = expected(within);
    EXPECT_NEAR(share_within(picture, top_row, within), share, 4 * std::sqrt(share * (1 - share) / 256));
  }
  EXPECT_NEAR(expected(15), .345, .005);
  EXPECT_NEAR(1 - expected(26.25), .284, .01);
  // Nothing is beyond the amplitude and half a strip; the foot stays, to 30 mm / 16 and half a strip.
  EXPECT_NEAR(share_within(picture, top_row, 33.75), 1, 1e-6);
  EXPECT_NEAR(share_within(picture, foot_row, pixel_mm), 1, 1e-6);
}

// Light is kept: leaning is a shear, so a strip of luminance L covers as many pixels as at rest, and every
// row between foot and top has the same light, bars x width of a strip / pixel x L. A row gets a binomial
// count of hits, 16 x 2 / 3.75 x 64, which spreads by 4 % at most, all sixteen rows by 1 %.
TEST(MovingPicture, KeepsTheLight) {
  const double row_light = bars * bar_mm / pixel_mm * emitted;
  for (const double sway_mm : {0., 30.}) {
    const Picture picture = picture_of(sway_mm).mix;
    double all = 0;
    for (int y = 0; y < height; ++y) {
      const double light = light_of_row(picture, y);
      all += light;
      if (y < top_row || y > foot_row)
        EXPECT_EQ(light, 0) << y;
      else
        EXPECT_NEAR(light / row_light, 1, .16) << y;
    }
    EXPECT_NEAR(all / row_light / (foot_row - top_row + 1), 1, .04) << sway_mm;
  }
}

// At rest nothing smears: all within half a strip, though sampled the same way.
TEST(MovingPicture, WhatDoesNotSwayIsSharp) {
  EXPECT_NEAR(share_within(picture_of(0).mix, top_row, pixel_mm), 1, 1e-6);
}

TEST(MovingPicture, SameBytesTwiceAndComplete) {
  const PictureResult one = picture_of(30), other = picture_of(30);
  EXPECT_TRUE(one.complete);
  EXPECT_TRUE(one.whole);
  EXPECT_EQ(one.samples, samples);
  EXPECT_EQ(one.mix.rgb, other.mix.rgb);
  EXPECT_EQ(one.picture.rgb, other.picture.rgb);
  EXPECT_NE(one.mix.rgb, picture_of(0).mix.rgb);
}

TEST(MovingPicture, StopsWhenAsked) {
  const PictureResult stopped = picture_of(30, {}, [](double done) { return done < .5; });
  EXPECT_FALSE(stopped.complete);
  EXPECT_FALSE(stopped.whole);
}

// What sharpens a smear, or asks for a noise that moments do not know, is refused before a ray is followed.
TEST(MovingPicture, Refusals) {
  const Progress never = [](double) {
    ADD_FAILURE() << "it began";
    return false;
  };
  EXPECT_THROW(picture_of(30, {.noise_pct = 2}, never), Refusal);
  EXPECT_THROW(picture_of(30, {.seconds = 1}, never), Refusal);
  EXPECT_THROW(picture_of(30, {.filtered = true}, never), Refusal);
  EXPECT_THROW(picture_of(30, {.overlay = Overlay::Kind::clipping}, never), Refusal);
}

}  // namespace
}  // namespace undercap
