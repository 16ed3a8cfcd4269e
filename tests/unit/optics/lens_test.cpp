// The tables of this file are the formulas of lens.h evaluated to five digits by an independent program and,
// for the lenses with P other than 1, by a paraxial ray trace through two thin elements with a stop between
// them; each is held to its last printed digit (near_digits.h).
#include "engine/optics/lens.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

GaussianLens lens_of(double focal_length_mm, double f_number, double pupil_magnification = 1) {
  return {Length(focal_length_mm * 1e-3), f_number, pupil_magnification, 0_mm};
}

double mm(Length length) { return length / 1_mm; }

struct Row {
  const char* name;
  double f, N, P, m, s, v, T, working, width, frame_width, frame_height, height, blur_infinity,
      blur_infinity_pct;
};

const std::vector<Row> rows{
    {"A", 60, 2.8, 1, .5, 180, 90, 270, 4.2, 17.3, 34.6, 26, 13, 10.714, 82.418},
    {"A'", 60, 2.8, .7, .5, 180, 90, 270, 4.8, 17.3, 34.6, 26, 13, 10.714, 82.418},
    {"A8", 60, 8, 1, .5, 180, 90, 270, 12, 17.3, 34.6, 26, 13, 3.75, 28.846},
    {"B1", 100, 2.8, 1, .5, 300, 150, 450, 4.2, 36, 72, 48, 24, 17.857, 74.405},
    {"B2", 100, 2.8, 1, 1, 200, 200, 400, 5.6, 36, 36, 24, 24, 35.714, 148.81},
    {"C", 12, 2.8, 1, .068502, 187.18, 12.822, 200, 2.9918, 17.3, 252.55, 189.78, 13, .29358, 2.2583},
    {"C2", 12, 2.8, 1, 12. / 188, 200, 12.766, 212.77, 2.9787, 17.3, 271.03, 203.67, 13, .27356, 2.1043},
    {"D", 210, 4, 1, 210. / 1290, 1500, 244.19, 1744.2, 4.6512, 17.3, 106.27, 79.857, 13, 8.5465, 65.742},
    {"D2", 210, 4, 1, .20241, 1247.5, 252.51, 1500, 4.8096, 17.3, 85.470, 64.226, 13, 10.627, 81.743},
    {"E", 60, 2.8, 1, .05, 1260, 63, 1323, 2.94, 17.3, 346, 260, 13, 1.0714, 8.2418},
    {"F", 60, 2.8, 1, 1, 120, 120, 240, 5.6, 17.3, 17.3, 13, 13, 21.429, 164.84},
};

// C and D2 are given by T; their printed m has five digits, so the exact one is solved from T.
double magnification_of(const Row& row) {
  const std::string name = row.name;
  if (name != "C" && name != "D2") return row.m;
  return *magnification_from_scale_distance(lens_of(row.f, row.N), Length(row.T * 1e-3));
}

TEST(Lens, CaseTable) {
  for (const Row& row : rows) {
    const GaussianLens lens = lens_of(row.f, row.N, row.P);
    const double m = magnification_of(row);
    expect_digits(m, row.m, 5, row.name);
    expect_digits(mm(object_distance(lens, m)), row.s, 5, row.name);
    expect_digits(mm(image_distance(lens, m)), row.v, 5, row.name);
    expect_digits(mm(scale_distance(lens, m)), row.T, 5, row.name);
    expect_digits(working_f_number(lens, m), row.working, 5, row.name);
    const Length a = pupil_distance(lens, m);
    expect_digits(mm(backdrop_width(lens, m, a, Length(row.width * 1e-3))), row.frame_width, 5, row.name);
    expect_digits(row.height / backdrop_magnification(lens, m, a), row.frame_height, 5, row.name);
    expect_digits(mm(blur_disc_at_infinity(lens, m)), row.blur_infinity, 5, row.name);
    expect_digits(100 * mm(blur_disc_at_infinity(lens, m)) / row.height, row.blur_infinity_pct, 5, row.name);
  }
}

// Case A with P = .7: a = 205.71 mm, equivalent image distance 102.86 mm.
TEST(Lens, PupilMagnificationMovesThePupil) {
  const GaussianLens lens = lens_of(60, 2.8, .7);
  expect_digits(mm(pupil_distance(lens, .5)), 205.71, 5);
  expect_digits(mm(equivalent_image_distance(lens, .5)), 102.86, 5);
}

struct BlurRow {
  const char* name;
  GaussianLens lens;
  double m, width, height, delta_mm, blur, blur_pct, backdrop_width;
};

TEST(Lens, BlurTable) {
  const double c_m = *magnification_from_scale_distance(lens_of(12, 2.8), 200_mm);
  const double d_m = 210. / 1290;
  const BlurRow table[] = {
      {"A", lens_of(60, 2.8), .5, 17.3, 13, 50, 2.3292, 17.917, 44.211},
      {"A", lens_of(60, 2.8), .5, 17.3, 13, 200, 5.6391, 43.378, 73.044},
      {"A", lens_of(60, 2.8), .5, 17.3, 13, 1000, 9.0799, 69.845, 226.82},
      {"A'", lens_of(60, 2.8, .7), .5, 17.3, 13, 50, 2.0950, 16.115, 43.010},
      {"A'", lens_of(60, 2.8, .7), .5, 17.3, 13, 200, 5.2817, 40.628, 68.239},
      {"A'", lens_of(60, 2.8, .7), .5, 17.3, 13, 1000, 8.8863, 68.356, 202.79},
      {"B1", lens_of(100, 2.8), .5, 36, 24, 50, 2.5510, 10.629, 84},
      {"B1", lens_of(100, 2.8), .5, 36, 24, 200, 7.1429, 29.762, 120},
      {"B1", lens_of(100, 2.8), .5, 36, 24, 1000, 13.736, 57.234, 312},
      {"C", lens_of(12, 2.8), c_m, 17.3, 13, 100, .10223, .78638, 387.47},
      {"C", lens_of(12, 2.8), c_m, 17.3, 13, 1000, .24729, 1.9022, 1601.8},
      {"C", lens_of(12, 2.8), c_m, 17.3, 13, 10000, .28818, 2.2168, 13745},
      {"D", lens_of(210, 4), d_m, 17.3, 13, 500, 2.1366, 16.436, 141.70},
      {"D", lens_of(210, 4), d_m, 17.3, 13, 2000, 4.8837, 37.567, 247.97},
      {"D", lens_of(210, 4), d_m, 17.3, 13, 10000, 7.4317, 57.167, 814.75},
  };
  for (const BlurRow& row : table) {
    const Length distance = pupil_distance(row.lens, row.m) + Length(row.delta_mm * 1e-3);
    const double blur = mm(blur_disc(row.lens, row.m, distance));
    expect_digits(blur, row.blur, 5, row.name);
    expect_digits(100 * blur / row.height, row.blur_pct, 5, row.name);
    expect_digits(mm(backdrop_width(row.lens, row.m, distance, Length(row.width * 1e-3))), row.backdrop_width,
                  5, row.name);
  }
  // 60 mm f/2.8 at m = .5, a point 1 m from the lens itself.
  expect_digits(mm(blur_disc(lens_of(60, 2.8), .5, 1_m)), 8.7857, 5);
}

// Through the focus at m = .5, 17.3 mm wide = 5184 pixels: disc diameters in pixels, negative offsets nearer.
TEST(Lens, BlurThroughTheFocus) {
  const std::pair<double, double> table[] = {{-20, 401.32}, {-5, 91.731},  {-1, 17.936}, {-.25, 4.4653},
                                             {0, 0},        {.25, 4.4529}, {1, 17.738},  {5, 86.772},
                                             {20, 321.06},  {50, 697.95},  {100, 1146.6}};
  const GaussianLens lens = lens_of(60, 2.8);
  for (const auto& [delta, pixels] : table) {
    const Length distance = pupil_distance(lens, .5) + Length(delta * 1e-3);
    expect_digits(mm(blur_disc(lens, .5, distance)) * 5184 / 17.3, pixels, 5);
  }
}

// The disc shrinks as 1/N: 60 mm, m = .5, 50 mm behind the focus.
TEST(Lens, BlurAgainstAperture) {
  const std::pair<double, double> table[] = {{2.8, 2.3292}, {4, 1.6304},  {5.6, 1.1646},
                                             {8, .81522},   {11, .59289}, {16, .40761}};
  for (const auto& [f_number, blur] : table) {
    const GaussianLens lens = lens_of(60, f_number);
    expect_digits(mm(blur_disc(lens, .5, pupil_distance(lens, .5) + 50_mm)), blur, 5);
  }
}

// Closed form: at infinity b = m d whatever P; a very far point comes to it as a/D.
TEST(Lens, BlurAtInfinityDoesNotDependOnThePupils) {
  for (double pupils : {.5, .7, 1., 1.5, 2.}) {
    const GaussianLens lens = lens_of(60, 2.8, pupils);
    EXPECT_DOUBLE_EQ(blur_disc_at_infinity(lens, .5).value(), .5 * .06 / 2.8);
    EXPECT_NEAR(blur_disc(lens, .5, Length(1e9)) / blur_disc_at_infinity(lens, .5), 1, 1e-9);
  }
}

// The same '1.5 m' read on the scale and from the front principal plane: 210 mm gives .20241 and .16279.
TEST(Lens, ScaleDistanceIsNotObjectDistance) {
  const GaussianLens lens = lens_of(210, 4);
  expect_digits(*magnification_from_scale_distance(lens, 1.5_m), .20241, 5);
  expect_digits(mm(object_distance(lens, 210. / 1290)), 1500, 5);
}

TEST(Lens, ScaleDistanceInverts) {
  GaussianLens lens = lens_of(100, 2.8, 1.3);
  for (double separation_mm : {-30., 0., 25.})
    for (double m : {1e-6, .001, .1, .5, .9, 1.}) {
      lens.principal_separation = Length(separation_mm * 1e-3);
      const auto found = magnification_from_scale_distance(lens, scale_distance(lens, m));
      ASSERT_TRUE(found) << m;
      // dT/dm is 0 at m = 1, so the square root of the rounding is left there.
      EXPECT_NEAR(*found / m, 1, m > .95 ? 1e-6 : 1e-9) << m;
    }
}

// T = 4 f + separation is 1:1 and the shortest; a hair below there is no image. A hair above, T - separation
// = 4.002 f and m + 1/m = 2.002, so m = 1.001 - sqrt(1.001^2 - 1) = .956267.
TEST(Lens, NoMagnificationBelowFourFocalLengths) {
  GaussianLens lens = lens_of(50, 4);
  lens.principal_separation = 10_mm;
  EXPECT_NEAR(*magnification_from_scale_distance(lens, Length(.2101)), .956267, 1e-6);
  EXPECT_FALSE(magnification_from_scale_distance(lens, Length(.2099)));
  EXPECT_FALSE(magnification_from_scale_distance(lens, Length(std::nan(""))));
}

TEST(Lens, PupilDistanceInverts) {
  for (double pupils : {.5, 1., 2.})
    for (double m : {.001, .5, 1., 5.}) {
      const GaussianLens lens = lens_of(60, 2.8, pupils);
      EXPECT_NEAR(*magnification_from_pupil_distance(lens, pupil_distance(lens, m)) / m, 1, 1e-12);
    }
  EXPECT_FALSE(magnification_from_pupil_distance(lens_of(60, 2.8, .5), 120_mm));
}

// 2 log2(1 + m/P) in stops, four decimals.
TEST(Lens, CloseUpLoss) {
  const std::pair<double, double> symmetrical[] = {{.05, .1408},  {.1, .2750}, {.25, .6439}, {.5, 1.1699},
                                                   {.75, 1.6147}, {1, 2},      {2, 3.1699}};
  for (const auto& [m, stops] : symmetrical)
    EXPECT_NEAR(close_up_loss(lens_of(60, 8), m).value(), stops, 5.1e-5);
  EXPECT_NEAR(close_up_loss(lens_of(60, 8, .7), .5).value(), 1.5552, 5.1e-5);
  EXPECT_NEAR(close_up_loss(lens_of(60, 8, .7), 1).value(), 2.5602, 5.1e-5);
  EXPECT_NEAR(close_up_loss(lens_of(60, 8, 1.5), .5).value(), .8301, 5.1e-5);
  EXPECT_NEAR(close_up_loss(lens_of(60, 8, 1.5), 1).value(), 1.4739, 5.1e-5);
}

// H = f^2/(N c) + f: f, N, c and H in mm.
TEST(Lens, Hyperfocal) {
  const double table[][4] = {{12, 2.8, .015, 3440.6}, {12, 5.6, .015, 1726.3}, {12, 8, .015, 1212.0},
                             {24, 8, .030, 2424.0},   {60, 8, .015, 30060},    {100, 8, .030, 41767},
                             {210, 4, .015, 735210}};
  for (const auto& [f, N, c, H] : table)
    expect_digits(mm(hyperfocal_distance(lens_of(f, N), Length(c * 1e-3))), H, 5);
}

// The corner of 17.3 x 13 mm at infinity, object side: 42.040 degrees for 12 mm, hence 84.080 across the
// diagonal.
TEST(Lens, AngleOfView) {
  const Length diagonal(std::hypot(.0173, .013));
  EXPECT_NEAR(angle_of_view(lens_of(12, 2.8), 1e-12, diagonal) / 1_deg, 84.080, 1.1e-3);
  // Closed form: a sensor twice as wide as the equivalent image distance sees 90 degrees.
  const GaussianLens lens = lens_of(60, 2.8, .7);
  EXPECT_NEAR(angle_of_view(lens, .5, equivalent_image_distance(lens, .5) * 2) / 1_deg, 90, 1e-12);
}

TEST(Lens, FrontToSubject) {
  EXPECT_NEAR(mm(front_to_subject(lens_of(60, 2.8), .5, 30_mm)), 150, 1e-12);
  EXPECT_LT(front_to_subject(lens_of(10, 2.8), 1, 30_mm).value(), 0);
}

// Corner against centre: focal length, magnification, width and height in mm, cos^4 to five digits.
TEST(Lens, ChiefRayWeightInTheCorner) {
  const double table[][5] = {{12, 1e-12, 17.3, 13, .30423},
                             {60, 1e-12, 17.3, 13, .93800},
                             {60, .5, 17.3, 13, .97171},
                             {100, 1e-12, 36, 24, .91258},
                             {210, 1e-12, 17.3, 13, .99471}};
  for (const auto& [f, m, width, height, weight] : table)
    expect_digits(chief_ray_weight(lens_of(f, 4), m, Length(.5e-3 * std::hypot(width, height))), weight, 5);
}

// cos^4 of round angles, five decimals.
TEST(Lens, ChiefRayWeightIsTheFourthPowerOfTheCosine) {
  const std::pair<double, double> table[] = {{5, .98487},  {10, .94060}, {15, .87051},
                                             {20, .77973}, {25, .67469}, {30, .56250},
                                             {35, .45025}, {40, .34436}, {45, .25000}};
  const GaussianLens lens = lens_of(100, 4, 1.7);
  for (const auto& [degrees, weight] : table) {
    const Length height = equivalent_image_distance(lens, .3) * std::tan(degrees * std::numbers::pi / 180);
    EXPECT_NEAR(chief_ray_weight(lens, .3, height), weight, 5.1e-6);
  }
}

// A grey card on the axis: E / L = pi / (4 N_w^2).
TEST(Lens, ImageIlluminanceOnTheAxis) {
  const std::pair<double, double> table[] = {{4.2, .044524}, {2.94, .090865}, {1.47, .36346}};
  for (const auto& [working, ratio] : table)
    expect_digits(image_illuminance(1_cd_m2, working, 1).value(), ratio, 5);
  EXPECT_NEAR(image_illuminance(100_cd_m2, 8, .9) / image_illuminance(100_cd_m2, 8, 1), .9, 1e-15);
}

}  // namespace
}  // namespace undercap
