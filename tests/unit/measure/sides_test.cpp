// Lit side and shadow side, from made-up surveys whose thirds are known.
#include "engine/measure/sides.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

#include "tests/unit/measure/normal.h"

namespace undercap {
namespace {

constexpr int columns = 30, rows = 20;
const Mix once{glm::dvec3(1), glm::dvec3(1)};

// A white survey of two groups, day and lamp. Each cell's light is a function of its column, lx; each eighth
// knows it with some noise of its own, relative to the light.
struct Lit {
  std::function<double(int column)> day, lamp;
  double noise = 0;
};
Survey survey_of(const Lit& lit, std::uint64_t seed = 1, unsigned passes = 3) {
  Normal normal(seed);
  Survey survey;
  survey.width = columns;
  survey.height = rows;
  survey.white_first = true;
  survey.passes = passes;
  survey.subject_hits.assign(columns * rows, passes * batch_count);
  survey.subject = RegionSums(2);
  survey.subject.count(0);
  const double samples = static_cast<double>(passes) * batch_count / eighths;
  for (auto& eighth : survey.cell)
    for (const auto& of : {lit.day, lit.lamp}) {
      auto& cells = eighth.emplace_back();
      for (int i = 0; i < columns * rows; ++i)
        cells.emplace_back(samples * of(i % columns) / std::numbers::pi * (1 + lit.noise * normal()));
    }
  return survey;
}

double dark(int) { return 0; }
double even(int) { return 200; }
// 120, 128, ... lx from left to right: columns 20 to 29 have a mean of 316, 0 to 9 of 156, all of 236.
double ramp(int column) { return 120 + 8 * column; }

// luminance_y(1, 1, 1) is 1 to 1e-7.
constexpr double tolerance = 1e-6;

// By hand from the ramp: 316 : 156 lx, log2(316 / 156) stops; without noise there is no error.
TEST(Sides, ThirdsOfARamp) {
  const auto sides = sides_of(survey_of({dark, ramp}), once);
  ASSERT_TRUE(sides && sides->stops);
  EXPECT_NEAR(sides->lit_lx.estimate.value, 316, 316 * tolerance);
  EXPECT_NEAR(sides->shadow_lx.estimate.value, 156, 156 * tolerance);
  EXPECT_NEAR(sides->stops->estimate.value, std::log2(316. / 156), tolerance);
  EXPECT_NEAR(sides->lit_lx.estimate.se, 0, 316 * tolerance);
  EXPECT_EQ(sides->lit_lx.estimate.freedom, 7);
}

// The same samples under other powers: even daylight of 200 lx and k times the lamp give 200 + 316 k over 200
// + 156 k. Against a day that falls the other way, 352 - 8 column (mean 156 on the right, 316 on the left),
// the sides change places as soon as the lamp is the weaker one.
TEST(Sides, OtherPowersOfTheSameSamples) {
  const Survey survey = survey_of({even, ramp});
  for (const double k : {0., .25, 1., 2., 8.}) {
    const auto sides = sides_of(survey, {glm::dvec3(1), glm::dvec3(k)});
    ASSERT_TRUE(sides && sides->stops);
    EXPECT_NEAR(sides->lit_lx.estimate.value / (200 + 316 * k), 1, tolerance) << k;
    EXPECT_NEAR(sides->stops->estimate.value, std::log2((200 + 316 * k) / (200 + 156 * k)), tolerance) << k;
  }
  const Survey opposed = survey_of({[](int column) { return ramp(columns - 1 - column); }, ramp});
  EXPECT_NEAR(sides_of(opposed, {glm::dvec3(1), glm::dvec3(.5)})->lit_lx.estimate.value, 316 + .5 * 156,
              .001);
  EXPECT_NEAR(sides_of(opposed, {glm::dvec3(1), glm::dvec3(2)})->lit_lx.estimate.value, 156 + 2 * 316, .001);
  EXPECT_NEAR(sides_of(opposed, once)->stops->estimate.value, 0, tolerance);
}

// An evenly lit subject, known to 30 % in every eighth. Thirds chosen and measured by the same samples would
// differ: the mean of the upper third of normal numbers is 1.091 standard deviations, here .3 / sqrt(8) =
// .106, so the two sides would be log2(1.116 / .884) = .33 stop apart. The truth is 0, and the errors are
// right: their squares' mean over 400 surveys, of 7 degrees of freedom each, is within a fifth of the square
// of what the value really strays (whose own standard error is sqrt(2 / 400) = 7 %, that of the mean square
// less).
TEST(Sides, NoiseMakesNoSides) {
  double sum = 0, squares = 0, claimed = 0;
  constexpr int repeats = 400;
  for (int seed = 1; seed <= repeats; ++seed) {
    const auto sides = sides_of(survey_of({dark, even, .3}, static_cast<std::uint64_t>(seed)), once);
    ASSERT_TRUE(sides && sides->stops);
    const Estimate& stops = sides->stops->estimate;
    sum += stops.value;
    squares += stops.value * stops.value;
    claimed += stops.se * stops.se;
  }
  const double mean = sum / repeats, spread = std::sqrt(squares / repeats);
  EXPECT_LT(std::abs(mean), 4 * spread / std::sqrt(repeats));
  EXPECT_LT(spread, .05);
  EXPECT_NEAR(claimed / squares, 1, .2);
}

// The noise that is left in the choice mixes the thirds: the ramp's log2(316 / 156) = 1.018 stops, known to
// 30 % in every eighth, come out a little smaller on the average, by under a twentieth of a stop, and never
// larger. Four standard errors of the mean of 100.
TEST(Sides, NoiseLeavesTheSides) {
  double sum = 0, squares = 0;
  constexpr int repeats = 100;
  for (int seed = 1; seed <= repeats; ++seed) {
    const double stops =
        sides_of(survey_of({dark, ramp, .3}, static_cast<std::uint64_t>(seed)), once)->stops->estimate.value -
        std::log2(316. / 156);
    sum += stops;
    squares += stops * stops;
  }
  const double mean = sum / repeats, se = std::sqrt((squares / repeats - mean * mean) / repeats);
  EXPECT_LT(mean, 4 * se);
  EXPECT_GT(mean, -.05 - 4 * se);
}

// Bright cells around the subject are not its lit side: it is the middle ten columns alone, 200 to 272 lx, of
// which 2 x 3 columns and a rest of four: thirds of 200 cells are 66, three columns and a third of the next.
TEST(Sides, OnlyTheSubject) {
  Survey survey = survey_of({dark, ramp});
  for (std::size_t i = 0; i < survey.subject_hits.size(); ++i)
    if (i % columns < 10 || i % columns > 19) survey.subject_hits[i] = survey.passes * batch_count / 2;
  EXPECT_EQ(subject_cells(survey), 200U);
  const auto sides = sides_of(survey, once);
  EXPECT_NEAR(sides->lit_lx.estimate.value, (20 * (272 + 264 + 256) + 6 * 248) / 66., .001);
  EXPECT_NEAR(sides->shadow_lx.estimate.value, (20 * (200 + 208 + 216) + 6 * 224) / 66., .001);
}

// Eight cells are too few; a black shadow side has lux and no stops.
TEST(Sides, WhereThereAreNone) {
  Survey survey = survey_of({dark, [](int column) { return column < 15 ? 0. : 90.; }});
  const auto sides = sides_of(survey, once);
  EXPECT_NEAR(sides->lit_lx.estimate.value, 90, 90 * tolerance);
  EXPECT_EQ(sides->shadow_lx.estimate.value, 0);
  EXPECT_FALSE(sides->stops);
  std::fill(survey.subject_hits.begin() + 9, survey.subject_hits.end(), 0U);
  EXPECT_TRUE(sides_of(survey, once));
  survey.subject_hits[0] = 0;
  EXPECT_FALSE(sides_of(survey, once));
}

}  // namespace
}  // namespace undercap
