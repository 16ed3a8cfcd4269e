// No table is published for Hopkins's contrast; what is found is held against trying everything.
#include "engine/optics/best_aperture.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/optics/diffraction.h"

namespace undercap {
namespace {

double mm(Length length) { return length / 1_mm; }

GaussianLens lens_of(double focal_length_mm, double pupils = 1) {
  return {Length(focal_length_mm * 1e-3), 8, pupils, 0_mm};
}

// Closed form: the harmonic mean; discs of the two ends agree.
TEST(BestAperture, BalancedFocus) {
  const Length focus = balanced_focus(200_mm, 300_mm);
  EXPECT_NEAR(mm(focus), 240, 1e-12);
  const GaussianLens lens = lens_of(60, .8);
  const double m = *magnification_from_pupil_distance(lens, focus);
  EXPECT_NEAR(blur_disc(lens, m, 200_mm) / blur_disc(lens, m, 300_mm), 1, 1e-13);
}

// Every f-number from 1 to 90 in steps of a hundredth of a stop, the disc written out: b = m (f/N) |far - a|
// / far. The place is found to one step, the blur to what the bottom of the valley gives away in one.
TEST(BestAperture, NoOtherFNumberIsBetter) {
  for (double pupils : {1., 1.5})
    for (const auto& [f, near, far] :
         {std::tuple{60., 178., 183.}, {60., 175., 190.}, {60., 600., 700.}, {100., 200., 202.}}) {
      const auto found =
          best_aperture(lens_of(f, pupils), Length(near * 1e-3), Length(far * 1e-3), 1, 90, 15_um);
      ASSERT_TRUE(found);
      const double a = 2 / (1 / near + 1 / far), m = 1 / (a / f - 1 / pupils);
      EXPECT_NEAR(found->magnification, m, 1e-12);
      double best = 1e9, where = 0;
      for (double N = 1; N < 90; N *= std::exp2(.005)) {
        const double disc_mm = m * f / N * (far - a) / far;
        const double blur = mm(blur_with_diffraction(Length(disc_mm * 1e-3), N * (1 + m / pupils)));
        if (blur < best) best = blur, where = N;
      }
      EXPECT_NEAR(2 * std::log2(found->f_number / where), 0, .011) << f << ' ' << far;
      EXPECT_LE(mm(found->blur_at_ends), best);
      EXPECT_NEAR(mm(found->blur_at_ends) / best, 1, 1e-4);
      EXPECT_NEAR(2 * std::log2(found->nearest_third_stop / found->f_number), 0, 1. / 6 + 1e-9);
      EXPECT_EQ(found->exceeds_circle, best > .015);
    }
}

// P. Hansma, Photo Techniques, March 1996: N_w = sqrt(375 dv), dv the spread of focus on the image's side in
// mm (546 nm; 2.44 lambda N_w as the blur of diffraction, added as squares). It rates diffraction higher than
// Hopkins's contrast does and so opens up more: by less than a stop, more than a fifth of one.
TEST(BestAperture, StopsDownFurtherThanTheOlderRule) {
  for (double depth : {2., 5., 15.}) {
    const double near = 180 - depth / 2, far = 180 + depth / 2;
    const auto found = best_aperture(lens_of(60), Length(near * 1e-3), Length(far * 1e-3), 1, 90, 15_um);
    const double m = found->magnification, working = found->f_number * (1 + m);
    const double stops = 2 * std::log2(working / std::sqrt(375 * m * m * depth));
    EXPECT_GT(stops, .2) << depth;
    EXPECT_LT(stops, 1) << depth;
  }
}

// A valley outside of what the lens has: the end nearer to it.
TEST(BestAperture, StaysInTheRange) {
  EXPECT_NEAR(best_aperture(lens_of(60), 178_mm, 183_mm, 2.8, 8, 15_um)->f_number, 8, 1e-6);
  EXPECT_NEAR(best_aperture(lens_of(60), 178_mm, 183_mm, 32, 45, 15_um)->f_number, 32, 1e-6);
  EXPECT_FALSE(best_aperture(lens_of(60), 50_mm, 55_mm, 2.8, 22, 15_um));
}

// By trying: each N_w from 1 to where diffraction alone fills the circle, and at each the largest disc of
// defocus that stays within it. Steps of .5 % of N_w about a flat top.
TEST(BestAperture, DeepestFrame) {
  for (const auto& [m, circle_mm] : {std::pair{.5, .015}, {.1, .015}, {1., .03}}) {
    double deepest = 0, where = 0;
    for (double working = 1; 1.7454 * .55e-3 * working < circle_mm; working *= 1.005) {
      double low = 0, high = circle_mm;
      for (int i = 0; i < 24; ++i) {
        const double middle = .5 * (low + high);
        (mm(blur_with_diffraction(Length(middle * 1e-3), working)) < circle_mm ? low : high) = middle;
      }
      const double depth = 2 * working * low / (m * m);
      if (depth > deepest) deepest = depth, where = working;
    }
    const DeepestFrame found = deepest_in_one_frame(m, 1.3, Length(circle_mm * 1e-3));
    EXPECT_NEAR(mm(found.depth) / deepest, 1, 1e-4) << m;
    EXPECT_NEAR(found.working_f_number / where, 1, .01) << m;
    EXPECT_NEAR(found.f_number * (1 + m / 1.3), found.working_f_number, 1e-12);
  }
}

// The two answers are one: asked for the deepest frame's depth, the best aperture just fills the circle.
// Close up the disc is even about the focus only to depth / a, .7 % here.
TEST(BestAperture, DeepestFrameFillsTheCircle) {
  const double m = .5;
  const DeepestFrame deepest = deepest_in_one_frame(m, 1, 15_um);
  const Length half = deepest.depth / 2, focus = pupil_distance(lens_of(60), m);
  const auto best = best_aperture(lens_of(60), focus - half, focus + half, 1, 90, 15_um);
  EXPECT_NEAR(best->blur_at_ends / 15_um, 1, .01);
  EXPECT_NEAR(best->f_number / deepest.f_number, 1, .01);
}

}  // namespace
}  // namespace undercap
