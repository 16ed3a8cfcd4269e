#include "engine/optics/tone.h"

#include <gtest/gtest.h>

namespace undercap {
namespace {

TEST(Tone, PlainClipsAndChangesNothingElse) {
  for (double linear : {0., .01, .18, .5, 1.}) EXPECT_EQ(display_linear(Tone::srgb, linear), linear);
  EXPECT_EQ(display_linear(Tone::srgb, -.1), 0);
  EXPECT_EQ(display_linear(Tone::srgb, 7), 1);
}

// L / (1 + L) to five decimals at L = .045, .18, .36, 1, 4, 8; the gain before it is .21951 / .18 to five
// digits.
TEST(Tone, ReinhardCurve) {
  const double table[][2] = {{.045, .04306}, {.18, .15254}, {.36, .26471}, {1, .5}, {4, .8}, {8, .88889}};
  const double gain = .21951 / .18;
  for (const auto& [scaled, display] : table)
    EXPECT_NEAR(display_linear(Tone::reinhard, scaled / gain), display, 1e-5) << scaled;
}

TEST(Tone, BothKeepMidGrey) {
  EXPECT_NEAR(display_linear(Tone::srgb, .18), .18, 1e-15);
  EXPECT_NEAR(display_linear(Tone::reinhard, .18), .18, 1e-15);
}

TEST(Tone, ReinhardRisesAndStaysBelowWhite) {
  double last = -1;
  for (double linear = 0; linear < 1000; linear = 1.1 * linear + .01) {
    const double display = display_linear(Tone::reinhard, linear);
    EXPECT_GT(display, last);
    EXPECT_LT(display, 1);
    last = display;
  }
  EXPECT_EQ(display_linear(Tone::reinhard, -1), 0);
}

}  // namespace
}  // namespace undercap
