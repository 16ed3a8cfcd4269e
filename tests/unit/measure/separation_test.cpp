// The film's mix and halves, hot spots and gradients, from pictures whose figures are known.
#include "engine/measure/separation.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/measure/backdrop_area.h"
#include "engine/optics/exposure.h"
#include "tests/unit/measure/separation_pictures.h"

namespace undercap {
namespace {

// luminance_y(1, 1, 1) is 1 to 1e-7.
constexpr double tolerance = 1e-6;

// Three pixels, two groups, 3 passes: 24 samples a pixel. 13 of them are most, 12 are not, 21 nearly all.
// Sums over passes times the mix: 6 / 3 x 2 + 9 / 3 x .5 = 5.5.
TEST(Separation, MixAndMajority) {
  SeparationFilm film{.width = 3,
                      .height = 1,
                      .passes = 3,
                      .sum = {},
                      .subject_hits = {13, 12, 21},
                      .backdrop_hits = {11, 12, 3},
                      .backdrop_m = {}};
  for (auto& eighth : film.sum)
    eighth = {{glm::vec3(6), glm::vec3(0), glm::vec3(0)}, {glm::vec3(9), glm::vec3(3), glm::vec3(0)}};
  const SeparationPicture picture = mixed_separation(film, {glm::dvec3(2), glm::dvec3(.5)});
  EXPECT_EQ(picture.subject, (std::vector<std::uint8_t>{most, no_share, nearly_all}));
  EXPECT_EQ(picture.backdrop, (std::vector<std::uint8_t>{no_share, no_share, no_share}));
  Use one{};
  one[5] = true;
  EXPECT_NEAR(mean_luminance(picture, one)[0], 5.5, tolerance);
  EXPECT_NEAR(mean_luminance(picture, one)[1], .5, tolerance);
}

// All eighths in use are in one half or the other, as many in each.
TEST(Separation, Halves) {
  const Use some{true, false, true, true, false, false, true, false};
  const auto [half, rest] = halves_of(some);
  for (std::size_t i = 0; i < eighths; ++i) EXPECT_EQ(half[i] + rest[i], some[i]);
  EXPECT_EQ(std::count(half.begin(), half.end(), true), 2);
}

Display display_of_grey(double luminance) {
  Display display{.how = {.shutter = 1_s, .iso = 100}, .exposure_per_luminance = {}};
  display.exposure_per_luminance.assign(picture_width * picture_height,
                                        mid_grey_exposure(100).value() / luminance);
  return display;
}

// A subject of 10 cd/m2 in the median, though parts of it are far lighter; of the backdrop, 64 x 40 pixels
// have 21 cd/m2 and 128 x 32 have 19: the first is 100 x 2560 / 98304 = 2.6042 % of the frame. Edges lie on
// cells of 4 pixels. With mid-grey at 3.7 cd/m2 white is at 3.7 / .18 = 20.6.
TEST(HotSpots, AKnownArea) {
  const Region region = [](int x, int y) { return x < 96 ? 's' : x < 100 ? '-' : y < 248 ? 'b' : '-'; };
  const SeparationPicture picture = picture_of(region, [](int x, int y) {
    if (x < 96) return y < 200 ? 10 : 500;
    if (x >= 200 && x < 264 && y >= 40 && y < 80) return 21;
    return x >= 200 && x < 328 && y >= 100 && y < 132 ? 19 : x < 100 || y >= 248 ? 1000 : 2;
  });
  EXPECT_NEAR(hot_spots_pct(picture)->estimate.value, 100 * 2560. / 98304, 1e-9);
  EXPECT_NEAR(hot_spots_pct(picture)->estimate.se, 0, 1e-9);
  EXPECT_NEAR(clipped_pct(picture, display_of_grey(3.7)).estimate.value, 100 * 2560. / 98304, 1e-9);
  EXPECT_NEAR(clipped_pct(picture, display_of_grey(18)).estimate.value, 0, 1e-9);
  EXPECT_NEAR(clipped_pct(picture, display_of_grey(3)).estimate.value, 100 * 6656. / 98304, 1e-9);
}

// Noise of 60 % a pixel and eighth, 21 % of a pixel's mean: of a backdrop .3 stop under the limit a seventh
// of the pixels would be over it, of its cells (5 % each) none. 4 standard errors of cells that are far off:
// 0.
TEST(HotSpots, NoiseOfPixelsIsNoSpot) {
  const SeparationPicture picture = picture_of(
      disc_before_backdrop, [](int x, int y) { return disc_before_backdrop(x, y) == 's' ? 10 : 16.2; }, .6);
  EXPECT_LT(hot_spots_pct(picture)->estimate.value, .05);
  const SeparationPicture alone = picture_of(backdrop_alone, [](int, int) { return 1; });
  EXPECT_FALSE(hot_spots_pct(alone));
}

// Ramps of log2 luminance: 8 stops over the height in the subject, 2 in the backdrop, in other directions.
// Mean squared gradients 64 and 4, the ratio 16, whatever the step at the outline. The mean over a square of
// pixels keeps a ramp's slope.
Region halves() {
  return [](int x, int) { return x < 192 ? 's' : 'b'; };
}
double ramps(int x, int y) { return x < 192 ? std::exp2(8 * y / 256.) : 50 * std::exp2(2 * x / 256.); }
TEST(GradientEnergy, Ramps) {
  const GradientEnergy energy = gradient_energy(picture_of(halves(), ramps));
  EXPECT_NEAR(energy.subject->estimate.value, 64, 64 * tolerance);
  EXPECT_NEAR(energy.backdrop->estimate.value, 4, 4 * tolerance);
  EXPECT_NEAR(energy.ratio->estimate.value, 16, 16 * tolerance);
}

// With noise of 20 % a pixel and eighth the gradients' squares would be dominated by it: in a square of 25
// pixels of 8 eighths the noise is .2 / sqrt 200 = 1.4 %, .02 stop, and neighbours two pixels apart share 15
// of 25, so that its squared gradient is .0004 x 2 x .4 x 2 / 4 x 256^2 = 10. From independent halves the
// energies stay within 4 standard errors.
TEST(GradientEnergy, NoiseAddsNothing) {
  const GradientEnergy energy = gradient_energy(picture_of(halves(), ramps, .2));
  EXPECT_NEAR(energy.subject->estimate.value, 64, 4 * energy.subject->estimate.se);
  EXPECT_NEAR(energy.backdrop->estimate.value, 4, 4 * energy.backdrop->estimate.se);
  EXPECT_LT(energy.backdrop->estimate.se, 1);
  EXPECT_GT(energy.backdrop->estimate.se, .001);
}

// An even backdrop has no gradient to divide by, and a stem of 6 pixels has no inside.
TEST(GradientEnergy, NoRatioWithoutABase) {
  const GradientEnergy even = gradient_energy(picture_of(
      halves(), [](int x, int y) { return x < 192 ? ramps(x, y) : 5; }, .05));
  EXPECT_NEAR(even.backdrop->estimate.value, 0, 4 * even.backdrop->estimate.se);
  EXPECT_FALSE(even.ratio);
  const Region stem = [](int x, int) { return x >= 100 && x < 106 ? 's' : 'b'; };
  EXPECT_FALSE(gradient_energy(picture_of(stem, ramps)).subject);
}

}  // namespace
}  // namespace undercap
