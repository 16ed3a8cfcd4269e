// Tables: evaluated by an independent program to the printed digits.
#include "engine/optics/equivalence.h"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <string>

#include "tests/unit/optics/near_digits.h"

namespace undercap {
namespace {

constexpr SensorFormat full_frame{36_mm, 24_mm}, four_thirds{17.3_mm, 13_mm};

double mm(Length length) { return length / 1_mm; }

GaussianLens lens_of(double focal_length_mm, double f_number, double pupils = 1) {
  return {Length(focal_length_mm * 1e-3), f_number, pupils, 0_mm};
}

// Width, height, diagonal in mm; crop to 36 x 24 mm by diagonal, width, height; light in stops.
TEST(Equivalence, Formats) {
  const struct {
    double width, height, diagonal, crop, crop_width, crop_height, light;
    int digits;
  } table[] = {{36, 24, 43.267, 1, 1, 1, 0, 4},
               {23.5, 15.6, 28.207, 1.534, 1.532, 1.538, -1.237, 4},
               {22.3, 14.9, 26.820, 1.613, 1.614, 1.611, -1.379, 4},
               {17.3, 13.0, 21.640, 1.9994, 2.0809, 1.8462, -1.942, 5},
               {13.2, 8.8, 15.864, 2.727, 2.727, 2.727, -2.895, 4},
               {9.8, 7.3, 12.220, 3.541, 3.673, 3.288, -3.594, 4},
               {6.17, 4.55, 7.6663, 5.644, 5.835, 5.275, -4.944, 4},
               {43.8, 32.9, 54.780, .7898, .8219, .7295, .738, 4},
               {53.4, 40.0, 66.720, .6485, .6742, .6000, 1.306, 4},
               {56, 56, 79.196, .5463, .6429, .4286, 1.860, 4},
               {120, 96, 153.67, .2815, .3000, .2500, 3.737, 4}};
  EXPECT_EQ(common_formats().size(), std::size(table));
  for (const auto& row : table) {
    const SensorFormat format{Length(row.width * 1e-3), Length(row.height * 1e-3)};
    const std::string name = nickname(format);
    EXPECT_EQ(name.find(','), name.rfind(',')) << name;
    EXPECT_NE(name.find(','), std::string::npos) << name << " is no common format";
    expect_digits(mm(format.diagonal()), row.diagonal, 5, name.c_str());
    expect_digits(crop_factor(format, full_frame, Match::diagonal), row.crop, row.digits, name.c_str());
    expect_digits(crop_factor(format, full_frame, Match::width), row.crop_width, row.digits, name.c_str());
    expect_digits(crop_factor(format, full_frame, Match::height), row.crop_height, row.digits, name.c_str());
    EXPECT_NEAR(std::log2(light_ratio(full_frame, format, 1)), row.light, 5.05e-4) << name;
  }
}

TEST(Equivalence, Nicknames) {
  EXPECT_EQ(nickname(full_frame), "36 x 24 mm, full frame");
  EXPECT_EQ(nickname({24_mm, 35.9_mm}), "36 x 24 mm, full frame");
  EXPECT_EQ(nickname({17_mm, 11_mm}), "17 x 11 mm");
  std::set<std::string> names;
  for (const NamedFormat& format : common_formats()) {
    names.insert(format.nickname);
    EXPECT_EQ(nickname(format.size), format.nickname);
  }
  EXPECT_EQ(names.size(), common_formats().size());
}

// 60 mm f/8 on 17.3 x 13 mm (c = .015 mm) and 120 mm f/16 on 36 x 24 mm (c = .030 mm) at the same framing:
// the depth of the first in mm; by how much the second's is larger, framed by diagonal, width, height; and
// the exact partner's f in mm and N.
TEST(Equivalence, RuleAndExactPartner) {
  const double table[][7] = {{.01, 2525.0, 1.0105, .93066, 1.1921, 118.79, 15.838},
                             {.05, 100.96, 1.0482, .97116, 1.2212, 114.51, 15.268},
                             {.10, 26.411, 1.0915, 1.0145, 1.2640, 109.97, 14.663},
                             {.25, 4.8003, 1.2006, 1.1234, 1.3722, 99.979, 13.331},
                             {.50, 1.4400, 1.3340, 1.2566, 1.5046, 89.986, 11.998},
                             {1.00, .48000, 1.5006, 1.4230, 1.6701, 79.992, 10.666}};
  const GaussianLens lens = lens_of(60, 8);
  for (const auto& [m, depth, by_diagonal, by_width, by_height, f, N] : table) {
    const double first = mm(*depth_of_field(lens, m, 15_um).total());
    expect_digits(first, depth, 5);
    const std::pair<Match, double> ratios[] = {
        {Match::diagonal, by_diagonal}, {Match::width, by_width}, {Match::height, by_height}};
    for (const auto& [match, ratio] : ratios) {
      const double k = crop_factor(four_thirds, full_frame, match);
      expect_digits(mm(*depth_of_field(lens_of(120, 16), k * m, 30_um).total()) / first, ratio, 5);
    }
    const double k = crop_factor(four_thirds, full_frame, Match::diagonal);
    const Partner partner = exact_partner(lens, m, k);
    expect_digits(mm(partner.lens.focal_length), f, 5);
    expect_digits(partner.lens.f_number, N, 5);
  }
}

// Derived: place and diameter of the pupil and the field are kept, so is everything else in units of the
// sensor; the working f-number is k times as high.
TEST(Equivalence, ExactPartnerTakesTheSamePicture) {
  for (double k : {.4, 1., 2.0809})
    for (double pupils : {.7, 1., 1.6})
      for (double m : {.01, .3, 1.2}) {
        const GaussianLens lens = lens_of(60, 5.6, pupils);
        const Partner partner = exact_partner(lens, m, k);
        const double other = partner.magnification;
        EXPECT_NEAR(other / m, k, 1e-14);
        EXPECT_NEAR(partner.iso_factor, k * k, 1e-14);
        EXPECT_NEAR(pupil_distance(partner.lens, other) / pupil_distance(lens, m), 1, 1e-13);
        EXPECT_NEAR(entrance_pupil_diameter(partner.lens) / entrance_pupil_diameter(lens), 1, 1e-13);
        EXPECT_NEAR(working_f_number(partner.lens, other) / working_f_number(lens, m), k, 1e-13);
        EXPECT_NEAR(blur_disc(partner.lens, other, 3_m) / blur_disc(lens, m, 3_m), k, 1e-12);
        EXPECT_NEAR(mm(*depth_of_field(partner.lens, other, 15_um * k).total()) /
                        mm(*depth_of_field(lens, m, 15_um).total()),
                    1, 1e-9);  // the far limit cancels digits
      }
}

// Closed form (1 + k m/P) / (1 + m/P), for depth and distance.
TEST(Equivalence, RulePartnerStandsFurtherAway) {
  for (double pupils : {.7, 1., 1.6})
    for (double m : {.01, .3, 1.2}) {
      const GaussianLens lens = lens_of(60, 5.6, pupils);
      const Partner partner = rule_partner(lens, m, 2);
      const double expected = (1 + 2 * m / pupils) / (1 + m / pupils);
      EXPECT_EQ(partner.lens.f_number, 11.2);
      EXPECT_NEAR(rule_depth_ratio(m, pupils, 2), expected, 1e-14);
      EXPECT_NEAR(pupil_distance(partner.lens, partner.magnification) / pupil_distance(lens, m), expected,
                  1e-13);
      EXPECT_NEAR(mm(*depth_of_field(partner.lens, partner.magnification, 30_um).total()) /
                      mm(*depth_of_field(lens, m, 15_um).total()),
                  expected, 1e-9);
    }
}

// f/8 on 17.3 x 13 mm and f/16 on 36 x 24 mm: .96043, -.058 stop, for the areas are 3.8417 : 1 and not 4 : 1.
TEST(Equivalence, LightOfTheRule) {
  const double ratio = light_ratio(four_thirds, full_frame, 2);
  expect_digits(ratio, .96043, 5);
  EXPECT_NEAR(std::log2(ratio), -.058, 5e-4);
}

}  // namespace
}  // namespace undercap
