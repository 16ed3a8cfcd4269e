#include "engine/colour/whites.h"

#include <gtest/gtest.h>

#include <string>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// 1e6 / T: a lamp of 2856 K is 350.14 mired, daylight of 5500 K 181.82; 168.3 mired between them.
TEST(Whites, Mired) {
  EXPECT_NEAR(mired(2856_K), 350.14, 5.1e-3);
  EXPECT_NEAR(mired(5500_K), 181.82, 5.1e-3);
  EXPECT_NEAR(mired_difference(2856_K, 5500_K), 168.32, .01);
  EXPECT_NEAR(mired_difference(5500_K, 2856_K), -168.32, .01);
}

// A gel is the same shift for every light: +159 mired take 5500 K to 2934 K, and back.
TEST(Whites, Gel) {
  EXPECT_NEAR(shifted_by_mired(5500_K, 159).value(), 2934, .51);
  EXPECT_NEAR(shifted_by_mired(shifted_by_mired(5500_K, 159), -159).value(), 5500, 1e-9);
  EXPECT_NEAR(shifted_by_mired(5500_K, 0).value(), 5500, 1e-9);
}

TEST(Whites, RefusesAShiftWithoutAnEnd) {
  for (double shift : {-40., -500., 900.}) {
    try {
      shifted_by_mired(25000_K, shift > 0 ? shift * 2 : shift);
      FAIL() << shift;
    } catch (const Refusal& refusal) {
      EXPECT_NE(std::string(refusal.what()).find("allowed is 10 to 1000"), std::string::npos)
          << refusal.what();
    }
  }
}

// Planck (0) and the D locus (.003) are neutral; the limits are ours, .004 and .010 beyond either.
TEST(Whites, TintWords) {
  const std::pair<double, const char*> table[] = {{0, "neutral"},
                                                  {.003, "neutral"},
                                                  {.0069, "neutral"},
                                                  {.0071, "a little green"},
                                                  {.0129, "a little green"},
                                                  {.0131, "green"},
                                                  {-.0039, "neutral"},
                                                  {-.0041, "a little pink"},
                                                  {-.0099, "a little pink"},
                                                  {-.0101, "pink"}};
  for (const auto& [duv, word] : table) EXPECT_EQ(tint_word(duv), word) << duv;
}

}  // namespace
}  // namespace undercap
