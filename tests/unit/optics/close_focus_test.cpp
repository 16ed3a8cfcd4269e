#include "engine/optics/close_focus.h"

#include <gtest/gtest.h>

#include <cmath>

namespace undercap {
namespace {

GaussianLens lens_of(double focal_length_mm, double separation_mm = 0, double pupils = 1) {
  return {Length(focal_length_mm * 1e-3), 4, pupils, Length(separation_mm * 1e-3)};
}

double mm(Length length) { return length / 1_mm; }

// Closed form (T - separation) / (2 + m + 1/m); at 1:1 a quarter of it.
TEST(CloseFocus, ClosestFocalLength) {
  EXPECT_NEAR(mm(closest_focal_length(lens_of(100), {300_mm, 1})), 75.000, 1e-9);
  EXPECT_NEAR(mm(closest_focal_length(lens_of(100, 20), {300_mm, 1})), 70.000, 1e-9);
  EXPECT_NEAR(mm(closest_focal_length(lens_of(60), {190_mm, 1})), 47.500, 1e-9);
  EXPECT_NEAR(mm(closest_focal_length(lens_of(100), {450_mm, .5})), 100, 1e-9);  // a thin lens as it is
}

// The assumption itself: a straight line in m from the marked length, f and N going along.
TEST(CloseFocus, FocalLengthFallsInProportion) {
  const CloseFocus close{300_mm, 1};
  EXPECT_NEAR(mm(focal_length_at(lens_of(100), close, 0)), 100, 1e-12);
  EXPECT_NEAR(mm(focal_length_at(lens_of(100), close, .2)), 95, 1e-12);
  const GaussianLens lens = focused_at(lens_of(100), close, 1);
  EXPECT_NEAR(mm(lens.focal_length), 75, 1e-12);
  EXPECT_NEAR(working_f_number(lens, 1), 8, 1e-12);
  EXPECT_NEAR(mm(entrance_pupil_diameter(lens)), 18.75, 1e-12);
  EXPECT_NEAR(mm(scale_distance(lens, 1)), 300, 1e-9);
}

// Sixty halvings of a range below 1 leave 1e-18; a distance of rounding 1e-16 at slope a / m leaves 1e-15 or
// so of m.
TEST(CloseFocus, DistancesInvert) {
  for (double pupils : {.7, 1., 1.6})
    for (const auto& [separation, close] : {std::pair{0., CloseFocus{300_mm, 1}},
                                            {15., CloseFocus{280_mm, 1.2}},
                                            {-10., CloseFocus{450_mm, .4}}})
      for (double share : {1e-5, .01, .3, .8, .99}) {
        const GaussianLens lens = lens_of(100, separation, pupils);
        const double m = share * close.largest_magnification;
        const GaussianLens there = focused_at(lens, close, m);
        const auto by_pupil = magnification_from_pupil_distance(lens, close, pupil_distance(there, m));
        const auto by_scale = magnification_from_scale_distance(lens, close, scale_distance(there, m));
        ASSERT_TRUE(by_pupil && by_scale) << m;
        EXPECT_NEAR(*by_pupil / m, 1, 1e-12);
        EXPECT_NEAR(*by_scale / m, 1, 1e-11);  // near 1:1 the distance hardly changes
      }
}

TEST(CloseFocus, NothingIsNearerThanTheNearest) {
  const GaussianLens lens = lens_of(100);
  const CloseFocus close{300_mm, 1};
  EXPECT_FALSE(magnification_from_scale_distance(lens, close, Length(.2999)));
  EXPECT_NEAR(*magnification_from_scale_distance(lens, close, Length(.3000001)), 1, 1e-5);
  EXPECT_FALSE(magnification_from_pupil_distance(lens, close, Length(.1499)));
  EXPECT_FALSE(magnification_from_scale_distance(lens, close, Length(std::nan(""))));
}

// A lens whose sheet says what the thin lens does is the thin lens.
TEST(CloseFocus, ThinLensStays) {
  const GaussianLens lens = lens_of(60, 5, 1.3);
  const CloseFocus close{scale_distance(lens, .5), .5};
  for (double T : {.3, .5, 2.})
    EXPECT_NEAR(*magnification_from_scale_distance(lens, close, Length(T)),
                *magnification_from_scale_distance(lens, Length(T)), 1e-12);
}

// Derived: behind the lens a converter cannot touch the cone from the subject to the entrance pupil; on the
// sensor everything is 'factor' times as large, the f-number of the cone too.
TEST(CloseFocus, ConverterKeepsWhatIsBeforeTheLens) {
  const GaussianLens bare = lens_of(100, 12, .8), with = with_converter(bare, 1.4);
  EXPECT_NEAR(mm(with.focal_length), 140, 1e-12);
  EXPECT_NEAR(with.f_number, 5.6, 1e-12);
  for (double m : {.01, .3, 1.}) {
    EXPECT_NEAR(mm(entrance_pupil_diameter(with)), mm(entrance_pupil_diameter(bare)), 1e-12);
    EXPECT_NEAR(pupil_distance(with, 1.4 * m) / pupil_distance(bare, m), 1, 1e-14);
    EXPECT_NEAR(working_f_number(with, 1.4 * m) / working_f_number(bare, m), 1.4, 1e-14);
    EXPECT_NEAR(blur_disc(with, 1.4 * m, 2_m) / blur_disc(bare, m, 2_m), 1.4, 1e-14);
  }
  const auto pupil_to_sensor = [](const GaussianLens& lens) {
    return mm(scale_distance(lens, 1e-9) - pupil_distance(lens, 1e-9));  // at infinity
  };
  EXPECT_NEAR(pupil_to_sensor(with), pupil_to_sensor(bare), 1e-3);  // 1e11 mm less 1e11 mm
}

TEST(CloseFocus, ConverterKeepsTheNearestDistance) {
  const GaussianLens bare = lens_of(100, 12, .8);
  const CloseFocus close{300_mm, 1};
  const ConvertedLens with = with_converter(bare, close, 2);
  EXPECT_EQ(with.close.largest_magnification, 2);
  EXPECT_EQ(with.close.nearest_scale_distance, 300_mm);
  for (double m : {.05, .5, 1.}) {
    const GaussianLens before = focused_at(bare, close, m), after = focused_at(with.lens, with.close, 2 * m);
    EXPECT_NEAR(after.focal_length / before.focal_length, 2, 1e-12);
    EXPECT_NEAR(pupil_distance(after, 2 * m) / pupil_distance(before, m), 1, 1e-12);
  }
  EXPECT_NEAR(mm(scale_distance(focused_at(with.lens, with.close, 2), 2)), 300, 1e-9);
}

}  // namespace
}  // namespace undercap
