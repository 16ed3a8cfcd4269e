// Tables: evaluated to the printed digits by an independent program, Hopkins's contrast from his series of
// Bessel functions and not from the integral that diffraction.cpp sums; lambda = .55 um.
#include "engine/optics/diffraction.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <numeric>

#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

double um(Length length) { return length / 1_um; }

// First dark ring at 2.4393 lambda N_w (Born & Wolf, 8.5.2), in um.
TEST(Diffraction, AiryDiameter) {
  const std::pair<double, double> table[] = {{2.8, 3.7566}, {4, 5.3665},  {5.6, 7.5132}, {8, 10.733},
                                             {11, 14.758},  {16, 21.466}, {22, 29.516},  {32, 42.932}};
  for (const auto& [working, diameter] : table) expect_digits(um(airy_diameter(working)), diameter, 5);
}

// (2/pi)(acos u - u sqrt(1 - u^2)) (Goodman, ch. 6).
TEST(Diffraction, ContrastOfAPerfectLens) {
  const std::pair<double, double> table[] = {{0, 1},       {.1, .87289},  {.25, .68504},
                                             {.5, .39100}, {.75, .14429}, {1, 0}};
  for (const auto& [u, contrast] : table) expect_digits(diffraction_contrast(u), contrast, 5);
  EXPECT_EQ(diffraction_contrast(1.5), 0);
  // Half of the contrast, in cycles per mm: .40397 / (lambda N_w).
  const std::pair<double, double> halves[] = {{2.8, 262.32}, {8, 91.812}, {16, 45.906}, {32, 22.953}};
  for (const auto& [working, frequency] : halves)
    EXPECT_NEAR(diffraction_contrast(frequency * .55e-3 * working), .5,
                2e-5);  // half a last digit, slope 1.2
}

// W20 / lambda; then u = .05, .1, .2, .4, each Hopkins and by rays. Half a last digit, and as much for the
// table's own rounding.
TEST(Diffraction, HopkinsTable) {
  const double frequencies[] = {.05, .1, .2, .4};
  const struct {
    double waves, hopkins[4], rays[4];
  } table[] = {
      {.25, {.92604, .83886, .65858, .37942}, {.98771, .95146, .81518, .39294}},
      {.5, {.89552, .74209, .43482, .12569}, {.95146, .81518, .39294, -.13148}},
      {1, {.78009, .42665, -.01441, -.03689}, {.81518, .39294, -.13148, .00600}},
      {2, {.41297, -.08396, .04500, -.01555}, {.39294, -.13148, .00600, .00833}},
      {4, {-.11129, .04649, .00737, -.00578}, {-.13148, .00600, .00833, .00617}},
  };
  for (const auto& row : table)
    for (std::size_t k = 0; k < 4; ++k) {
      const double u = frequencies[k];
      EXPECT_NEAR(defocused_contrast(u, row.waves), row.hopkins[k], 1e-5) << row.waves << ' ' << u;
      // W20 = b / (8 N_w), so that nu b = 8 u W20 / lambda.
      EXPECT_NEAR(geometric_contrast(8 * u * row.waves), row.rays[k], 1e-5) << row.waves << ' ' << u;
    }
}

// The integral with the root left in, summed by Simpson over 400000 strips, where the phase turns most. The
// root costs Simpson's rule h^1.5 = 4e-9.
TEST(Diffraction, StrongDefocusIsSummedFinely) {
  for (const auto& [u, waves] : {std::pair{.5, 40.}, {.03, 40.}, {.9, 40.}, {.35, -17.3}}) {
    const int strips = 400000;
    double sum = 0;
    for (int k = 0; k <= strips; ++k) {
      const double x = (1 - u) * k / strips, t = x + u;
      const double weight = k == 0 || k == strips ? 1 : k % 2 == 0 ? 2 : 4;
      sum += weight * std::sqrt(std::max(0., 1 - t * t)) * std::cos(8 * pi * waves * u * x);
    }
    EXPECT_NEAR(defocused_contrast(u, waves), 4 / pi * sum * (1 - u) / strips / 3, 2e-8) << u;
  }
}

TEST(Diffraction, NoDefocusLeavesThePerfectLens) {
  for (double u : {0., .01, .3, .7, .99, 1.}) {
    EXPECT_NEAR(defocused_contrast(u, 0), diffraction_contrast(u), 1e-9);
    EXPECT_EQ(defocused_contrast(u, 2), defocused_contrast(u, -2));
  }
  EXPECT_EQ(geometric_contrast(0), 1);
}

// c = 15 um at N_w = 12 is .284 waves, 100 um 1.9.
TEST(Diffraction, DefocusInWaves) {
  EXPECT_NEAR(defocus_waves(15_um, 12), .284, 5e-4);
  EXPECT_NEAR(defocus_waves(100_um, 12), 1.9, .01);
}

// Two blurs that halve the contrast at the same frequency nu. Diffraction: (2/pi)(acos u - u sqrt(1 - u^2))
// is .5 at u = nu lambda N_w (Goodman, Introduction to Fourier Optics, ch. 6). A disc of diameter b: 2
// J1(x)/x is .5 at x = pi b nu. So b / (lambda N_w) = x / (pi u) = 1.7454, of which three digits are used:
// half a last digit.
TEST(Diffraction, BlurIsTheDiscOfEqualContrast) {
  const auto where_half = [](double end, auto contrast) {
    double low = 1e-9, high = end;
    for (int i = 0; i < 60; ++i) (contrast(.5 * (low + high)) > .5 ? low : high) = .5 * (low + high);
    return low;
  };
  const double u =
      where_half(1, [&](double t) { return 2 / pi * (std::acos(t) - t * std::sqrt(1 - t * t)); });
  const double x = where_half(3, [](double t) { return 2 * std::cyl_bessel_j(1, t) / t; });
  expect_digits(u, .40397, 5);
  expect_digits(x / (pi * u), 1.7454, 5);
  EXPECT_NEAR(diffraction_blur(12) / 0.55_um / 12, x / (pi * u), 5e-3);
  EXPECT_NEAR(diffraction_blur(8) / 1_um, 7.7, 1e-12);
  EXPECT_NEAR(blur_with_diffraction(0_mm, 12) / 0.55_um / 12, x / (pi * u), 1e-6);  // seven digits of .70508
}

// Disc and disc with diffraction, in units of lambda N_w.
TEST(Diffraction, BlurWithDiffraction) {
  const std::pair<double, double> table[] = {
      {2, 2.3415}, {4, 3.9944}, {8, 7.8794}, {16, 15.839}, {40, 39.820}};
  const Length unit = 0.55_um * 11;
  for (const auto& [disc, together] : table)
    expect_digits(blur_with_diffraction(unit * disc, 11) / unit, together, 5);
  // A large disc comes out .19 lambda N_w smaller, whatever its size (the same program, at 40, 100 and 400).
  for (double disc : {100., 400., 4000.})
    EXPECT_NEAR(blur_with_diffraction(unit * disc, 11) / unit - disc, -.19, .005) << disc;
}

// The bisection looks for one crossing: from u = 0 to where it starts, the contrast falls all the way.
TEST(Diffraction, ContrastFallsUntilItIsHalved) {
  for (double disc = .125; disc < 60; disc *= 1.3) {
    const double end = std::min(.41, .8 / disc);
    double last = 1;
    for (int k = 1; k <= 100; ++k) {
      const double contrast = defocused_contrast(end * k / 100, disc / 8);
      EXPECT_LT(contrast, last) << disc;
      last = contrast;
    }
    EXPECT_LT(last, .5) << disc;
  }
}

// 4 lambda N_w^2 / m^2, in mm; 60 mm lenses with P = 1, so that N_w = N (1 + m).
TEST(Diffraction, QuarterWaveDepth) {
  const double table[][3] = {{.05, 5.6, 30.425}, {.1, 5.6, 8.3480}, {.25, 5.6, 1.7248}, {.5, 4, .31680},
                             {.5, 5.6, .62093},  {.5, 8, 1.2672},   {1, 5.6, .27597}};
  for (const auto& [m, f_number, depth] : table)
    expect_digits(quarter_wave_depth(f_number * (1 + m), m) / 1_mm, depth, 5);
  // At m = 1 on the sensor: twice 17.6 um at N_w = 4.
  expect_digits(um(quarter_wave_depth(4, 1)) / 2, 17.600, 5);
}

// What the kernel does to a pattern of vertical stripes, in cycles per pixel.
double contrast_of(const DiffractionKernel& kernel, double frequency) {
  const int side = 2 * kernel.radius + 1;
  double sum = 0;
  for (int row = 0; row < side; ++row)
    for (int column = 0; column < side; ++column)
      sum += static_cast<double>(kernel.weight[static_cast<std::size_t>(row * side + column)]) *
             std::cos(2 * pi * frequency * (column - kernel.radius));
  return sum;
}

// Poisson's summation: samples of a pattern without frequencies above half a cycle per pixel have exactly its
// transform. The kernel leaves out 3 % of the light and is scaled up: at most .03 / .97 twice, once for what
// is missing and once for the scale.
TEST(Diffraction, KernelHasTheContrastOfThePattern) {
  for (double unit_in_pixels : {2.5, 3., 4.5}) {
    const double working = 8;
    const DiffractionKernel kernel = diffraction_kernel(working, 0.55_um * (working / unit_in_pixels));
    for (double u = 0; u <= 1.1; u += .05)
      EXPECT_NEAR(contrast_of(kernel, u / unit_in_pixels), diffraction_contrast(u), .062)
          << u << ' ' << unit_in_pixels;
    EXPECT_NEAR(contrast_of(kernel, .404 / unit_in_pixels), .5,
                .02);  // the rings left out are finer or coarser
  }
}

// Encircled light (Rayleigh): 1 - J0^2 - J1^2 = .97 at v = 21.219, r = 6.7542 lambda N_w; a kernel of radius
// R reaches R + 1/2.
TEST(Diffraction, KernelHasAsManyPixelsAsItNeeds) {
  const auto radius = [](double unit_in_pixels) {
    return diffraction_kernel(8, 0.55_um * (8 / unit_in_pixels)).radius;
  };
  EXPECT_EQ(radius(1), 7);     // 6.25
  EXPECT_EQ(radius(3), 20);    // 19.76
  EXPECT_EQ(radius(4.5), 30);  // 29.89
  EXPECT_EQ(radius(12), 32);   // 80.6, the limit
  EXPECT_EQ(radius(.05), 1);   // a pixel holds 98 %, the next ones are not nothing
  EXPECT_EQ(radius(.002), 0);  // 99.92 %
  EXPECT_EQ(diffraction_kernel(8, 2.2_mm).weight, std::vector<float>{1});
}

TEST(Diffraction, KernelIsEvenAndKeepsTheLight) {
  for (double pixel_um : {1., 3.35, 6., 36.}) {
    const DiffractionKernel kernel = diffraction_kernel(16, Length(pixel_um * 1e-6));
    const std::size_t count = kernel.weight.size();
    ASSERT_EQ(count, static_cast<std::size_t>((2 * kernel.radius + 1) * (2 * kernel.radius + 1)));
    EXPECT_NEAR(std::accumulate(kernel.weight.begin(), kernel.weight.end(), 0.), 1, 1e-6);  // of floats
    for (std::size_t k = 0; k < count; ++k) {
      EXPECT_EQ(kernel.weight[k], kernel.weight[count - 1 - k]);
      EXPECT_LE(kernel.weight[k], kernel.weight[count / 2]);
    }
  }
}

// On coarse pixels the square holds what lies within it: of a pattern a tenth of a pixel wide, averaged over
// .95 pixel, the disc that touches the square holds 1 - 2 / (pi v) = 95.7 % (v = 14.9) and the pixel more.
TEST(Diffraction, CoarsePixelsKeepThePatternWithin) {
  const DiffractionKernel kernel = diffraction_kernel(8, 44_um);
  ASSERT_EQ(kernel.radius, 1);
  EXPECT_GT(kernel.weight[4], .957f);
  EXPECT_LT(kernel.weight[4], .99f);
}

}  // namespace
}  // namespace undercap
