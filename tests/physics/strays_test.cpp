// The strays of a picture: what is spread is told by hand.
#include "engine/render/strays.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

namespace undercap {
namespace {

constexpr int side = 15;
constexpr std::size_t pixels = side * side, middle = 7 * side + 7;

// Two halves of a grey picture.
struct Halves {
  std::vector<float> values = std::vector<float>(6 * pixels, 1);
  void set(std::size_t pixel, float first, float second) {
    for (std::size_t c = 0; c < 3; ++c) {
      values[3 * pixel + c] = first;
      values[3 * (pixels + pixel) + c] = second;
    }
  }
  double total() const { return std::accumulate(values.begin(), values.end(), 0.0); }
};

// No noise but one pixel: it comes down to its other half, 1, and the 99 that it had over go in equal parts
// to the 49 pixels of its neighbourhood; nothing outside of it changes. 1e-5: single precision.
TEST(Strays, WhatIsOverGoesToTheNeighbourhood) {
  Halves picture;
  picture.set(middle, 100, 1);
  const std::vector<float> spread = spread_strays(picture.values, side);
  for (int y = 0; y < side; ++y)
    for (int x = 0; x < side; ++x) {
      const auto p = static_cast<std::size_t>(y * side + x);
      const bool near = std::abs(x - 7) <= 3 && std::abs(y - 7) <= 3;
      EXPECT_NEAR(spread[3 * p], near ? 1 + 99.0 / 49 : 1.0, 1e-5) << x << ", " << y;
      EXPECT_EQ(spread[3 * (pixels + p)], 1) << x << ", " << y;
    }
}

// Every pixel has 1.2 in one half and 0.8 in the other: a gap of 0.4 / sqrt(2). A stray over 0.8 may have
// three times that, (x - 0.8)^2 = (3 * 0.4)^2 / 2 (x + 0.8), and shares the rest with its neighbours.
TEST(Strays, NoiseAsUsualStays) {
  Halves picture;
  for (std::size_t p = 0; p < pixels; ++p) picture.set(p, p % 2 ? 1.2F : 0.8F, p % 2 ? 0.8F : 1.2F);
  EXPECT_EQ(spread_strays(picture.values, side), picture.values);
  picture.set(middle, 50, 0.8F);
  const double square = 0.72, x = 0.8 + (square + std::sqrt(square * square + 8 * square * 0.8)) / 2;
  EXPECT_NEAR(spread_strays(picture.values, side)[3 * middle], x + (50 - x) / 49, 1e-4);
}

// A lamp one pixel wide is bright in both halves.
TEST(Strays, WhatBothHalvesHaveStays) {
  Halves picture;
  picture.set(middle, 100, 100);
  EXPECT_EQ(spread_strays(picture.values, side), picture.values);
}

// Strays anywhere, at corners and side by side too, on a picture from dark to light: light is kept to single
// precision, and no value falls under its other half.
TEST(Strays, LightIsKept) {
  Halves picture;
  std::uint32_t bits = 1;
  const auto next = [&bits] {
    return static_cast<float>((bits = bits * 1664525U + 1013904223U) >> 8) / 16777216;
  };
  for (std::size_t p = 0; p < pixels; ++p) {
    const float light = 0.01F + static_cast<float>(p) / pixels;
    picture.set(p, light * (0.8F + 0.4F * next()), light * (0.8F + 0.4F * next()));
  }
  for (const std::size_t p : {std::size_t{0}, std::size_t{14}, middle, middle + 1, pixels - 1})
    picture.set(p, 0.5F, 40 * (1 + next()));
  const Halves after{spread_strays(picture.values, side)};
  EXPECT_NEAR(after.total(), picture.total(), 1e-6 * picture.total());
  EXPECT_LT(after.values[3 * (pixels + middle)], 20);
  for (std::size_t i = 0; i < after.values.size(); ++i)
    EXPECT_GE(after.values[i] * 1.0001F,
              std::min(picture.values[i], picture.values[(i + 3 * pixels) % (6 * pixels)]));
}

}  // namespace
}  // namespace undercap
