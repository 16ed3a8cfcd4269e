// Tables: the formulas of depth.h evaluated to five digits by an independent program, and for P other than 1
// by a paraxial ray trace; each is held to its last printed digit (near_digits.h).
#include "engine/optics/depth.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

GaussianLens lens_of(double focal_length_mm, double f_number, double pupil_magnification = 1) {
  return {Length(focal_length_mm * 1e-3), f_number, pupil_magnification, 0_mm};
}

double mm(Length length) { return length / 1_mm; }

TEST(Depth, CaseTable) {
  const double c_m = *magnification_from_scale_distance(lens_of(12, 2.8), 200_mm);
  const double d2_m = *magnification_from_scale_distance(lens_of(210, 4), 1.5_m);
  struct {
    const char* name;
    GaussianLens lens;
    double m, coc_mm, near, far, total;
  } const table[] = {
      {"A", lens_of(60, 2.8), .5, .015, .25165, .25235, .50400},
      {"A'", lens_of(60, 2.8, .7), .5, .015, .28760, .28840, .57600},
      {"A8", lens_of(60, 8), .5, .015, .71713, .72289, 1.4400},
      {"B1", lens_of(100, 2.8), .5, .030, .50315, .50485, 1.0080},
      {"B2", lens_of(100, 2.8), 1, .030, .16786, .16814, .33600},
      {"C", lens_of(12, 2.8), c_m, .015, 9.0987, 10.079, 19.177},
      {"C2", lens_of(12, 2.8), 12. / 188, .015, 10.397, 11.603, 21.999},
      {"D", lens_of(210, 4), 210. / 1290, .015, 2.6280, 2.6373, 5.2653},
      {"D2", lens_of(210, 4), d2_m, .015, 1.7584, 1.7634, 3.5218},
      {"E", lens_of(60, 2.8), .05, .015, 17.396, 17.890, 35.287},
      {"F", lens_of(60, 2.8), 1, .015, .083941, .084059, .16800},
  };
  for (const auto& row : table) {
    const DepthOfField depth = depth_of_field(row.lens, row.m, Length(row.coc_mm * 1e-3));
    ASSERT_TRUE(depth.far) << row.name;
    expect_digits(mm(depth.near), row.near, 5, row.name);
    expect_digits(mm(*depth.far), row.far, 5, row.name);
    expect_digits(mm(*depth.total()), row.total, 5, row.name);
  }
}

// Closed form, exact for any Gaussian lens: 2 N c (1 + m/P) / (m^2 - (N c / f)^2).
TEST(Depth, TotalHasItsClosedForm) {
  for (double pupils : {.7, 1., 2.})
    for (double m : {.01, .1, 1.}) {
      const double f = 60, N = 5.6, c = .015;
      const double expected = 2 * N * c * (1 + m / pupils) / (m * m - std::pow(N * c / f, 2));
      EXPECT_NEAR(mm(*depth_of_field(lens_of(f, N, pupils), m, Length(c * 1e-3)).total()) / expected, 1,
                  1e-12);
    }
}

// At the limits the blur disc is the circle of confusion itself: a case of .015 mm at f/2.8, m = .5.
TEST(Depth, BlurAtTheLimitsIsTheCircleOfConfusion) {
  const GaussianLens lens = lens_of(60, 2.8);
  const Length a = pupil_distance(lens, .5);
  const DepthOfField depth = depth_of_field(lens, .5, 15_um);
  EXPECT_NEAR(blur_disc(lens, .5, a - depth.near) / 15_um, 1, 1e-10);
  EXPECT_NEAR(blur_disc(lens, .5, a + *depth.far) / 15_um, 1, 1e-10);
  // The offsets printed to five digits give .015000 mm within their last digit's worth, 2e-5.
  EXPECT_NEAR(blur_disc(lens, .5, a - Length(.25165e-3)) / 15_um, 1, 3e-5);
  EXPECT_NEAR(blur_disc(lens, .5, a + Length(.25235e-3)) / 15_um, 1, 3e-5);
}

// 60 mm f/8 at s = 2 m, c = .015: 1878.5 to 2138.3 mm, in all 259.75; the classical limits with the
// hyperfocal distance, s (H - f) / (H + s - 2f) and s (H - f) / (H - s) (Ray 2002, from memory), are the
// same.
TEST(Depth, ClassicalLimits) {
  const GaussianLens lens = lens_of(60, 8);
  const double m = 60. / 1940;
  const DepthOfField depth = depth_of_field(lens, m, 15_um);
  const double s = mm(object_distance(lens, m));
  expect_digits(s - mm(depth.near), 1878.5, 5);
  expect_digits(s + mm(*depth.far), 2138.3, 5);
  expect_digits(mm(*depth.total()), 259.75, 5);
  const double H = mm(hyperfocal_distance(lens, 15_um));
  EXPECT_NEAR(s - mm(depth.near), s * (H - 60) / (H + s - 120), 1e-9);
  EXPECT_NEAR(s + mm(*depth.far), s * (H - 60) / (H - s), 1e-9);
}

TEST(Depth, ReachesInfinityFromTheHyperfocalDistanceOn) {
  const GaussianLens lens = lens_of(12, 5.6);
  const double hyperfocal_m = 15_um / entrance_pupil_diameter(lens);
  EXPECT_TRUE(depth_of_field(lens, 1.001 * hyperfocal_m, 15_um).far);
  const DepthOfField depth = depth_of_field(lens, .999 * hyperfocal_m, 15_um);
  EXPECT_FALSE(depth.far);
  EXPECT_FALSE(depth.total());
  // Focused there, sharpness begins at half the distance from the entrance pupil.
  const Length a = pupil_distance(lens, hyperfocal_m);
  EXPECT_NEAR((a - depth_of_field(lens, hyperfocal_m, 15_um).near) / a, .5, 1e-12);
}

// Depth relative to a symmetrical lens, (1 + m/P) / (1 + m): P, m, ratio.
TEST(Depth, PupilMagnification) {
  const double table[][3] = {{.7, .05, 1.0204}, {.7, .1, 1.0390}, {.7, .5, 1.1429},
                             {1.5, .05, .9841}, {1.5, .1, .9697}, {1.5, .5, .8889},
                             {2, .05, .9762},   {2, .1, .9545},   {2, .5, .8333}};
  for (const auto& [pupils, m, ratio] : table)
    EXPECT_NEAR(*depth_of_field(lens_of(60, 2.8, pupils), m, 15_um).total() /
                    *depth_of_field(lens_of(60, 2.8), m, 15_um).total(),
                ratio, 5.1e-5);
}

// The same framing, m = .1 at f/5.6: the depth hardly depends on the focal length.
TEST(Depth, HardlyDependsOnFocalLength) {
  const std::pair<double, double> table[] = {{12, 18.571}, {60, 18.484}, {210, 18.480}};
  for (const auto& [f, total] : table)
    expect_digits(mm(*depth_of_field(lens_of(f, 5.6), .1, 15_um).total()), total, 5);
}

// Format, then diagonal in mm, c by diagonal / 1500 and by diagonal / 1442, as printed.
TEST(Depth, CircleOfConfusionByRule) {
  const double table[][5] = {{36, 24, 43.267, .02884, .0300},      {23.5, 15.6, 28.207, .01880, .01956},
                             {22.3, 14.9, 26.820, .01788, .01860}, {17.3, 13.0, 21.640, .01443, .01500},
                             {13.2, 8.8, 15.864, .01058, .01100},  {9.8, 7.3, 12.220, .00815, .00847},
                             {6.17, 4.55, 7.6663, .00511, .00532}, {43.8, 32.9, 54.780, .03652, .03798},
                             {56, 56, 79.196, .05280, .05491}};
  for (const auto& [width, height, diagonal, d1500, d1442] : table) {
    const SensorFormat format{Length(width * 1e-3), Length(height * 1e-3)};
    expect_digits(mm(format.diagonal()), diagonal, 5);
    // Printed to 1e-5 mm; a rule of 1442.2 or 1442.7 in its place moves the last column by less than 2e-5.
    EXPECT_NEAR(mm(circle_of_confusion(CircleOfConfusionRule::d1500, format, 3_um)), d1500, 5.1e-6);
    EXPECT_NEAR(mm(circle_of_confusion(CircleOfConfusionRule::d1442, format, 3_um)), d1442, 2e-5);
    EXPECT_DOUBLE_EQ(circle_of_confusion(CircleOfConfusionRule::two_pixels, format, 3_um).value(), 6e-6);
  }
}

// Pitches of square pixels in um, five digits: width, height, megapixels.
TEST(Depth, PixelPitch) {
  const double table[][4] = {{36, 24, 24, 6.0000},   {36, 24, 45, 4.3818},    {23.5, 15.6, 24, 3.9083},
                             {17.3, 13, 20, 3.3534}, {13.2, 8.8, 20, 2.4100}, {43.8, 32.9, 100, 3.7961}};
  for (const auto& [width, height, megapixels, pitch_um] : table)
    expect_digits(pixel_pitch({Length(width * 1e-3), Length(height * 1e-3)}, megapixels * 1e6) / 1_um,
                  pitch_um, 5);
}

// Formats compared: 60 mm f/8 on 17.3 x 13 (c .015) against 120 mm f/16 on 36 x 24 (c .030), same framed
// diagonal, and against the exact partner that keeps the entrance pupil's place and size. m, depth A, ratio,
// f and N of the partner.
TEST(Depth, EquivalentFormats) {
  const double table[][5] = {{.01, 2525.0, 1.0105, 118.79, 15.838}, {.05, 100.96, 1.0482, 114.51, 15.268},
                             {.10, 26.411, 1.0915, 109.97, 14.663}, {.25, 4.8003, 1.2006, 99.979, 13.331},
                             {.50, 1.4400, 1.3340, 89.986, 11.998}, {1.00, .48000, 1.5006, 79.992, 10.666}};
  const double crop = std::hypot(36, 24) / std::hypot(17.3, 13);
  for (const auto& [m, depth_a, ratio, f, N] : table) {
    const GaussianLens lens = lens_of(60, 8);
    const double total = mm(*depth_of_field(lens, m, 15_um).total());
    expect_digits(total, depth_a, 5);
    expect_digits(mm(*depth_of_field(lens_of(120, 16), crop * m, 30_um).total()) / total, ratio, 5);

    const double partner_f = 60 * crop * (1 + m) / (1 + crop * m), partner_N = partner_f / 60 * 8;
    expect_digits(partner_f, f, 5);
    expect_digits(partner_N, N, 5);
    const GaussianLens partner = lens_of(partner_f, partner_N);
    EXPECT_NEAR(pupil_distance(partner, crop * m) / pupil_distance(lens, m), 1, 1e-12);
    EXPECT_NEAR(mm(*depth_of_field(partner, crop * m, Length(.015e-3 * crop)).total()) / total, 1, 1e-10);
  }
}

// q = |D - a| m / N_w: cases with offsets behind the focus, in mm.
TEST(Depth, ObjectFieldDisc) {
  const double c_m = *magnification_from_scale_distance(lens_of(12, 2.8), 200_mm);
  struct {
    GaussianLens lens;
    double m, delta, q;
  } const table[] = {{lens_of(60, 2.8), .5, 50, 5.9524},           {lens_of(60, 2.8), .5, 200, 23.810},
                     {lens_of(60, 2.8), .5, 1000, 119.05},         {lens_of(60, 2.8, .7), .5, 50, 5.2083},
                     {lens_of(60, 2.8, .7), .5, 200, 20.833},      {lens_of(60, 2.8, .7), .5, 1000, 104.17},
                     {lens_of(100, 2.8), .5, 1000, 119.05},        {lens_of(12, 2.8), c_m, 100, 2.2896},
                     {lens_of(12, 2.8), c_m, 10000, 228.96},       {lens_of(210, 4), 210. / 1290, 500, 17.5},
                     {lens_of(210, 4), 210. / 1290, 10000, 350.00}};
  for (const auto& row : table) {
    const Length distance = pupil_distance(row.lens, row.m) + Length(row.delta * 1e-3);
    expect_digits(mm(object_field_disc(row.lens, row.m, distance)), row.q, 5);
  }
}

// At m = .1, f/4, backdrop 1 m behind: focal length, b in % of 13 mm, backdrop width in mm, and how many blur
// discs lie side by side in it. q is 22.727 for all, so that detail of 20 and of 100 mm keeps .0605 and .9376
// of its contrast whatever the focal length.
TEST(Depth, FocalLengthComparison) {
  const double table[][4] = {{12, 2.0386, 1483.6, 65.3},
                             {30, 4.3378, 697.24, 30.7},
                             {60, 6.9509, 435.12, 19.1},
                             {100, 9.1575, 330.27, 14.5},
                             {210, 12.201, 247.89, 10.9}};
  for (const auto& [f, blur_pct, width, cells] : table) {
    const GaussianLens lens = lens_of(f, 4);
    const Length distance = pupil_distance(lens, .1) + 1_m, disc = object_field_disc(lens, .1, distance);
    expect_digits(100 * mm(blur_disc(lens, .1, distance)) / 13, blur_pct, 5);
    expect_digits(mm(backdrop_width(lens, .1, distance, Length(.0173))), width, 5);
    expect_digits(Length(.0173) / blur_disc(lens, .1, distance), cells, 3);
    expect_digits(mm(disc), 22.727, 5);
    expect_digits(retained_contrast(disc, 20_mm), .0605, 3);
    expect_digits(retained_contrast(disc, 100_mm), .9376, 4);
  }
}

// |2 J1(pi q / x) / (pi q / x)|: first gone at x = q / 1.2197, and in its first reversed band .13228 at x = q
// / 1.6347 (zeros and extremes of J1: Abramowitz & Stegun 1964, table 9.5, from memory). Large detail keeps
// all.
TEST(Depth, RetainedContrast) {
  EXPECT_NEAR(retained_contrast(20_mm, 20_mm / 1.2197), 0, 1e-4);
  expect_digits(retained_contrast(20_mm, 20_mm / 1.6347), .13228, 5);
  EXPECT_NEAR(retained_contrast(1_mm, 100_m), 1, 1e-9);
}

}  // namespace
}  // namespace undercap
