// Rules of the trade for close-up work, held against the lens's own laws: where they are right, where they
// break.
//
// A rule is common practice, no source. The numbers beside it were computed apart from this program, by the
// formula named, and are held to their printed digits (near_digits.h). Everywhere:
//   W     width in frame of the subject's plane, mm; m = width of the sensor / W, formats compared by width
//   c     .030 mm on 36 mm of width and in proportion on 17.3 mm, .01442 mm: W / 1200 on the subject
// and a thin symmetrical lens, so that N_w = N (1 + m).
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/optics/best_aperture.h"
#include "engine/optics/depth.h"
#include "engine/optics/diffraction.h"
#include "engine/optics/equivalence.h"
#include "engine/optics/exposure.h"
#include "engine/optics/focus_stack.h"
#include "engine/optics/motion.h"
#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

constexpr SensorFormat large{36_mm, 24_mm}, small{17.3_mm, 13_mm};
constexpr Length large_circle = 30_um, small_circle = large_circle * (17.3 / 36);

GaussianLens lens_of(double focal_length_mm, double f_number) {
  return {Length(focal_length_mm * 1e-3), f_number, 1, 0_mm};
}

double mm(Length length) { return length / 1_mm; }

double scale(const SensorFormat& format, double framed_mm) { return mm(format.width) / framed_mm; }

double depth_mm(const GaussianLens& lens, double magnification, Length circle) {
  return mm(*depth_of_field(lens, magnification, circle).total());
}

// --- exposure

// '8 to 10 s at f/16 and ISO 100 in deep shade.' EV = log2(N^2 / t), 2.5 x 2^EV lux on a grey card (C = 250),
// and (1 + m)^2 as much close up: EV, lx, lx at m = .25.
TEST(Practice, EightToTenSecondsInDeepShade) {
  const double table[][4] = {{8, 5.0, 80, 125}, {10, 4.7, 64, 100}};
  for (const auto& [seconds, ev, lux, close_lux] : table) {
    const ExposureSettings far{16, Duration(seconds), 100};
    const ExposureSettings close{working_f_number(lens_of(100, 16), .25), Duration(seconds), 100};
    expect_digits(ev100(far), ev, 2);
    expect_digits(grey_card_illuminance(far).value(), lux, 2);
    expect_digits(grey_card_illuminance(close).value(), close_lux, 3);
  }
}

// It breaks with the light and with the f-number. Deep shade is 50 to 500 lx (common practice, no source):
// there f/16 at m = .25 asks for 20 to 2 s, t = 250 N_w^2 / (E S), and f/8 for a quarter of that.
TEST(Practice, DeepShadeIsATenfoldOfLight) {
  const auto seconds = [](double f_number, double lux) {
    const double per_second =
        grey_card_illuminance({working_f_number(lens_of(100, f_number), .25), 1_s, 100}).value();
    return per_second / lux;
  };
  expect_digits(seconds(16, 50), 20, 2);
  expect_digits(seconds(16, 500), 2.0, 2);
  EXPECT_NEAR(seconds(8, 125), 2, 1e-12);
}

// Settings that photographers noted in woods: N, t in s, ISO; EV100; lx.
TEST(Practice, LightMetInWoods) {
  const struct {
    double f_number, seconds, iso, ev, lux;
    int ev_digits, lux_digits;
  } table[] = {
      {2.8, .4, 200, 3.3, 24, 2, 2}, {14, 1. / 30, 280, 11, 5200, 2, 2}, {18, .8, 100, 8.7, 1000, 2, 2}};
  for (const auto& row : table) {
    const ExposureSettings settings{row.f_number, Duration(row.seconds), row.iso};
    expect_digits(ev100(settings), row.ev, row.ev_digits);
    expect_digits(grey_card_illuminance(settings).value(), row.lux, row.lux_digits);
  }
  const ExposureSettings close{working_f_number(lens_of(100, 18), .25), .8_s, 100};
  expect_digits(grey_card_illuminance(close).value(), 1600, 2);
}

// '1:1 costs two stops.' 2 log2(1 + m): exact there, .64 stop at a quarter of life size; f/16 acts as f/32.
TEST(Practice, LifeSizeCostsTwoStops) {
  EXPECT_NEAR(close_up_loss(lens_of(100, 16), 1).value(), 2, 1e-14);
  expect_digits(close_up_loss(lens_of(100, 16), .25).value(), .64, 2);
  EXPECT_NEAR(working_f_number(lens_of(100, 16), 1), 32, 1e-12);
}

// 'White fungi two stops over.' Reflectance .85 against mid-grey's .18 is +2.24; the raw clip, 78 / 10 after
// ISO 12232 (from memory), lies .7 stop above it. Dark litter of .08 metered as mid-grey puts the cap at
// +3.4: clipped by .45, which is why -2/3 is dialled in.
TEST(Practice, WhiteCaps) {
  const auto cap_over = [](double metered) {
    return stops_above_mid_grey(mid_grey_exposure(100) * (.85 / metered), 100).value();
  };
  const double clip = stops_above_mid_grey(raw_clip_exposure(100), 100).value();
  expect_digits(cap_over(.18), 2.24, 3);
  expect_digits(clip, 2.96, 3);
  expect_digits(clip - cap_over(.18), .7, 1);
  expect_digits(cap_over(.08), 3.4, 2);
  expect_digits(cap_over(.08) - clip, .45, 2);
}

// 'Twice as far is two stops less, 1.4 times one, 1.12 times a third', of a lamp small against its distance:
// the inverse square. 1.41 and 1.12 are rounded, by 1e-3 and 4e-3 of a stop each way. And a torch of 2500 cd
// gives 10,000 lx at half a metre: 'a beam of 100 m' is far too strong bare.
TEST(Practice, TwiceAsFarIsTwoStops) {
  const auto loss = [](double times) {
    return std::log2(flash_exposure(1000, 300_mm) / flash_exposure(1000, 300_mm * times));
  };
  EXPECT_NEAR(loss(2), 2, 1e-14);
  EXPECT_NEAR(loss(1.41), 1, .01);
  EXPECT_NEAR(loss(1.12), 1. / 3, .01);
  EXPECT_NEAR(flash_exposure(2500, 500_mm).value(), 10'000, 1e-9);  // in each second
}

// --- depth and formats

// 'f/8 on a small format is f/16 on 36 x 24 mm', where 'twice' is 2.08 by width. N of the same depth: the
// exact partner's, k (1 + m) / (1 + k m) N. W in mm, N.
TEST(Practice, EightIsSixteenOnlyFarOff) {
  const double k = crop_factor(small, large, Match::width);
  const double table[][2] = {{1000, 16.3}, {288, 15.7}, {144, 14.9}, {72, 13.8}, {36, 12.3}};
  for (const auto& [framed, f_number] : table) {
    const double m = scale(small, framed);
    const Partner partner = exact_partner(lens_of(60, 8), m, k);
    expect_digits(partner.lens.f_number, f_number, 3);
    // That it is of the same depth; far limits cancel digits.
    EXPECT_NEAR(depth_mm(partner.lens, scale(large, framed), large_circle) /
                    depth_mm(lens_of(60, 8), m, small_circle),
                1, 1e-9);
  }
  // In stops by which N times k is then too much: 'a third' at W = 144, '.9' at 36.
  const auto too_far = [&](double framed) {
    const double f_number = exact_partner(lens_of(60, 8), scale(small, framed), k).lens.f_number;
    return 2 * std::log2(8 * k / f_number);
  };
  EXPECT_NEAR(too_far(144), 1. / 3, .02);
  expect_digits(too_far(36), .9, 1);
}

// The same rule by diagonals, f and N times k at the same framing: its depth is larger by (1 + k m) / (1 +
// m), 5 % at 1:20, a third at 1:2, half at 1:1, for the larger camera stands further off. 'k = 2' for 1.9994
// and the words' rounding leave half a per cent.
TEST(Practice, TheRuleIsAThirdOffAtHalfLifeSize) {
  const double k = crop_factor(small, large, Match::diagonal);
  EXPECT_NEAR(rule_depth_ratio(1. / 20, 1, k), 1.05, .005);
  EXPECT_NEAR(rule_depth_ratio(.5, 1, k), 4. / 3, .005);
  EXPECT_NEAR(rule_depth_ratio(1, 1, k), 1.5, .005);
}

// 'At one f-number a small format has twice the depth.' k (1 + m) / (1 + k m); one focal length for both
// leaves out what depth knows of it. W in mm, ratio.
TEST(Practice, SmallFormatsHaveTwiceTheDepthOnlyFarOff) {
  const double table[][2] = {{1000, 2.04}, {144, 1.86}, {72, 1.72}, {36, 1.54}};
  for (const auto& [framed, ratio] : table)
    expect_digits(depth_mm(lens_of(100, 8), scale(small, framed), small_circle) /
                      depth_mm(lens_of(100, 8), scale(large, framed), large_circle),
                  ratio, 3);
}

// But at one magnification, with circles in proportion to the formats, half of it: 17.3 / 36.
TEST(Practice, AtOneMagnificationSmallFormatsHaveHalfTheDepth) {
  expect_digits(depth_mm(lens_of(100, 8), .25, small_circle) / depth_mm(lens_of(100, 8), .25, large_circle),
                .48, 2);
}

// 'A third of the depth lies before the subject, two thirds behind.' True at one distance, where m d = 3 c;
// nearer it goes to halves: near over far is (m d - c) / (m d + c), at 1:1 and f/8 of 100 mm 1 - .0048.
TEST(Practice, AThirdBeforeTwoThirdsBehindIsFalseCloseUp) {
  const auto near_over_far = [](double magnification) {
    const DepthOfField depth = depth_of_field(lens_of(100, 8), magnification, large_circle);
    return depth.near / *depth.far;
  };
  EXPECT_NEAR(near_over_far(3 * .030 / 12.5), .5, 1e-12);
  EXPECT_NEAR(near_over_far(1), .9952, 5e-5);
  EXPECT_GT(near_over_far(.25), .98);
}

// 'Long lens, less depth.' At one W and N the total is 2 N_w c / m^2 / (1 - x^2), x = N c / (m f): from 24 to
// 180 mm it changes by x^2, 8e-4, at W = 144; at W = 1800 the wide lens has a seventh more.
TEST(Practice, LongLensesHaveNoLessDepthCloseUp) {
  const auto wide_over_long = [](double framed) {
    const double m = scale(large, framed);
    return depth_mm(lens_of(24, 5.6), m, large_circle) / depth_mm(lens_of(180, 5.6), m, large_circle);
  };
  EXPECT_NEAR(wide_over_long(144), 1 + 7.7e-4, 2e-5);
  EXPECT_NEAR(wide_over_long(1800), 1.14, .005);
}

// --- diffraction

// 'f/11 is sharpest, f/22 ruins', of 36 mm of width: the pattern's first dark ring, 2.44 lambda N_w at .55 um
// and m = .25, in um, against 30 um of circle. By the disc of equal contrast, Hopkins's, f/22 is not lost.
TEST(Practice, ElevenIsSharpestTwentyTwoRuins) {
  const double table[][2] = {{11, 18}, {16, 27}, {22, 37}};
  for (const auto& [f_number, airy_um] : table)
    expect_digits(airy_diameter(working_f_number(lens_of(100, f_number), .25)) / 1_um, airy_um, 2);
  EXPECT_LT(airy_diameter(working_f_number(lens_of(100, 16), .25)), large_circle);
  EXPECT_GT(airy_diameter(working_f_number(lens_of(100, 22), .25)), large_circle);
  EXPECT_LT(diffraction_blur(working_f_number(lens_of(100, 22), .25)), large_circle);
}

// By trying: at each N_w, 1 to where diffraction alone fills the circle, the largest disc that stays in it.
double deepest_by_trying_mm(double magnification, Length circle) {
  double deepest = 0;
  for (double working = 1; diffraction_blur(working) < circle; working *= 1.005) {
    Length low{}, high = circle;
    for (int i = 0; i < 24; ++i) {
      const Length middle = (low + high) / 2;
      (blur_with_diffraction(middle, working) < circle ? low : high) = middle;
    }
    deepest = std::max(deepest, 2 * working * mm(low) / (magnification * magnification));
  }
  return deepest;
}

// 'Stop down until it is all sharp' has an end: a depth that no f-number exceeds, for any format and any
// lens, as W^2, and a quarter of it where half the blur is allowed. Adding 2.44 lambda N_w as a square (P.
// Hansma, Photo Techniques, March 1996) sets it at .00052 W^2 mm, 10.8 mm at W = 144; Hopkins's contrast,
// which counts here, lies higher. Steps of .5 % about a flat top leave 1e-4.
TEST(Practice, StoppingDownEndsAtADepthOfItsOwn) {
  EXPECT_NEAR(mm(deepest_in_one_frame(.25, 1, large_circle).depth) / deepest_by_trying_mm(.25, large_circle),
              1, 1e-4);
  for (const double framed : {144., 72., 36.}) {
    const double m = scale(large, framed), deepest = mm(deepest_in_one_frame(m, 1, large_circle).depth);
    EXPECT_NEAR(mm(deepest_in_one_frame(scale(small, framed), 1, small_circle).depth) / deepest, 1, 1e-12);
    EXPECT_NEAR(mm(deepest_in_one_frame(m, 1.6, large_circle).depth) / deepest, 1, 1e-12);
    EXPECT_NEAR(mm(deepest_in_one_frame(m, 1, large_circle / 2).depth) / deepest, .25, 1e-12);
    EXPECT_NEAR(mm(deepest_in_one_frame(m / 2, 1, large_circle).depth) / deepest, 4, 1e-12);
    EXPECT_GT(deepest, .00052 * framed * framed);
  }
}

// --- stacks

// 'Depth over .7 of one frame's': 30 mm at W = 72 and f/5.6 22 frames, 12 mm at W = 36 26. The last frame's
// own depth need not be stepped over, so that the exact count, 1 + (X - depth) / step, may be one less.
TEST(Practice, FramesOfAStack) {
  const struct {
    double framed, whole_mm;
    int by_the_rule, exact;
  } table[] = {{72, 30, 22, 21}, {36, 12, 26, 26}};
  for (const auto& row : table) {
    const double m = scale(large, row.framed);
    // 2 N_w c / m^2; the lens is long enough that nothing else counts.
    const double one = depth_mm(lens_of(1000, 5.6), m, large_circle);
    EXPECT_EQ(std::ceil(row.whole_mm / (.7 * one)), row.by_the_rule);
    EXPECT_EQ(frames_at_constant_magnification(Length(row.whole_mm * 1e-3), Length(one * 1e-3), .3),
              row.exact);
  }
}

// --- backdrop

// 'A long lens has the cleaner backdrop', W = 144, N = 5.6, half a metre behind: true, for there is less of
// it (its width in mm), and its blur is drawn larger (% of the frame's width and of its height). But what is
// lost in it is the same for all, the disc on the backdrop B m / N_w: 17.9 mm, and four times that at 2 m.
TEST(Practice, BackdropByFocalLength) {
  const double m = scale(large, 144);
  const struct {
    double focal_length, width, of_width, of_height;
    int height_digits;
  } table[] = {{24, 744, 2.4, 3.6, 2},
               {35, 555, 3.2, 4.8, 2},
               {60, 384, 4.7, 7.0, 2},
               {100, 288, 6.2, 9.3, 2},
               {180, 224, 8.0, 12.0, 3}};
  for (const auto& row : table) {
    const GaussianLens lens = lens_of(row.focal_length, 5.6);
    const Length focus = pupil_distance(lens, m), wood = focus + 500_mm;
    expect_digits(mm(backdrop_width(lens, m, wood, large.width)), row.width, 3);
    expect_digits(100 * (blur_disc(lens, m, wood) / large.width), row.of_width, 2);
    expect_digits(100 * (blur_disc(lens, m, wood) / large.height), row.of_height, row.height_digits);
    const Length disc = object_field_disc(lens, m, wood);
    expect_digits(mm(disc), 17.9, 3);
    expect_digits(mm(object_field_disc(lens, m, focus + 2_m)), 71, 2);
    // 'Twice the distance to the backdrop': the disc on it doubles, exactly.
    EXPECT_NEAR(object_field_disc(lens, m, focus + 1_m) / disc, 2, 1e-12);
  }
}

// 'A tripod of 10 cm is low.' 100 mm, W = 144, level ground, aimed at a point 40 mm high and half a metre
// off: the frame's upper edge meets the ground at 4.2 m from 10 cm of axis and at 1.2 m from 15 cm; from 6 cm
// it looks 3 degrees above the horizon. The last centimetres change the kind of backdrop.
TEST(Practice, TheLastCentimetresOfTheAxis) {
  const GaussianLens lens = lens_of(100, 5.6);
  const double m = scale(large, 144);
  const double half_view = angle_of_view(lens, m, large.height).value() / 2;
  const auto upper_edge = [&](double axis_mm) {
    return half_view - std::atan((axis_mm - 40) / mm(pupil_distance(lens, m)));
  };
  const auto meets_ground_m = [&](double axis_mm) { return axis_mm * 1e-3 / std::tan(-upper_edge(axis_mm)); };
  expect_digits(meets_ground_m(100), 4.2, 2);
  expect_digits(meets_ground_m(150), 1.2, 2);
  expect_digits(upper_edge(60) * 180 / std::numbers::pi, 3, 1);
}

// 'Wide lenses focus a few centimetres in front of the glass.' f (1 + 1/m) is 224 mm for 24 mm at m = .12 and
// 120 at .25; with the front 5 to 10 cm ahead of the pupil (from memory) 7 to 2 cm are left there. It breaks
// with the focal length: 100 mm at the same scale leaves 40 cm at least, and 8 mm does not get out of itself.
TEST(Practice, WideLensesFocusCloseToTheGlass) {
  EXPECT_NEAR(mm(object_distance(lens_of(24, 8), .12)), 224, 1e-9);
  EXPECT_NEAR(mm(object_distance(lens_of(24, 8), .25)), 120, 1e-9);
  EXPECT_NEAR(mm(front_to_subject(lens_of(24, 8), .25, 50_mm)), 70, 1e-9);
  EXPECT_NEAR(mm(front_to_subject(lens_of(24, 8), .25, 100_mm)), 20, 1e-9);
  EXPECT_GE(mm(front_to_subject(lens_of(100, 8), .25, 100_mm)), 400);
  EXPECT_LT(mm(front_to_subject(lens_of(8, 8), .25, 50_mm)), 0);
}

// --- movement

// A subject that sways over 1 mm, half of it to each side, smears 250 um at m = .25: 8 times the circle.
TEST(Practice, AMillimetreOfSway) {
  const Length smear = sway_blur(.25, {500_um, 1}, 10_s);
  EXPECT_NEAR(smear / 1_um, 250, 1e-9);
  expect_digits(smear / large_circle, 8, 1);
  EXPECT_NEAR(motion_blur(.25, 1e-3, 1_s) / smear, 1, 1e-12);
}

// 'Hand-held at half a second' with a wide lens. By 1 / f it takes log2(24 / 2) = 3.6 stops of a stabiliser
// at 24 mm, 4.6 for those who say 1 / (2 f), and .3 more at m = .25.
TEST(Practice, HalfASecondInTheHand) {
  const auto stops = [](double hand_rule, double magnification) {
    return std::log2(.5 / hand_held_limit(hand_rule, 24_mm, magnification, 0_stops).value());
  };
  expect_digits(stops(1, 0), 3.6, 2);
  expect_digits(stops(2, 0), 4.6, 2);
  expect_digits(stops(1, .25) - stops(1, 0), .3, 1);
  EXPECT_NEAR(hand_held_limit(1, 24_mm, 0, Stops(stops(1, 0))).value(), .5, 1e-12);
}

// Where it breaks: those stops are rated for turns (ISO 20954-1:2019, from an extract), up to 63 um on 36 x
// 24 mm. The shift that does as much is 3 mm at 1:50 and 63 um at 1:1. A hand that turns about the wrist, r =
// 10 cm behind the pupil, shifts the lens as well: as far as the turn from m r = f (1 + m) on, m = 24 / 76.
TEST(Practice, NoStabiliserRatesTheShiftsNearLifeSize) {
  const Length rated = stabiliser_rating_blur(large);
  EXPECT_NEAR(shift_for_blur(1. / 50, rated) / 1_mm, 3.15, 1e-9);
  EXPECT_NEAR(shift_for_blur(1, rated) / 1_um, 63, 1e-9);
  const auto shift_over_turn = [&](double m) {
    const Length shift = 100_mm * turn_for_blur(lens_of(24, 8), m, rated).value();
    return shift / shift_for_blur(m, rated);
  };
  EXPECT_NEAR(shift_over_turn(24. / 76), 1, 1e-12);
  EXPECT_LT(shift_over_turn(1. / 50), .1);
  EXPECT_GT(shift_over_turn(1), 2);
}

}  // namespace
}  // namespace undercap
