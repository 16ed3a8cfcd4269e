#include "engine/image/pyramid.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>
#include <utility>

namespace undercap {
namespace {

constexpr std::pair<int, int> sizes[] = {{1, 1}, {1, 7}, {2, 2}, {5, 1}, {64, 32}, {333, 127}};

Plane uneven(int width, int height) {
  Plane plane(width, height);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      plane.at(x, y) = static_cast<float>(std::sin(1.7 * x + 0.3 * y * y) + 0.01 * x);
  return plane;
}

// A band is what the next level expanded lacks, so their sum is the plane itself (Burt & Adelson 1983): four
// additions of numbers below 5, each rounded to 2^-24 of itself.
TEST(Pyramid, CollapsesToWhatItWasMadeOf) {
  for (const auto& [width, height] : sizes) {
    const Plane plane = uneven(width, height);
    const Plane again = collapse(laplacian_pyramid(plane, 5));
    ASSERT_EQ(again.value.size(), plane.value.size());
    for (std::size_t i = 0; i < plane.value.size(); ++i)
      ASSERT_NEAR(again.value[i], plane.value[i], 2e-6) << width << " x " << height << " at " << i;
  }
}

// The taps sum to one, borders included: 1e-6 is rounding.
TEST(Pyramid, AConstantStaysOneAtEveryStep) {
  for (const auto& [width, height] : sizes) {
    Plane plane(width, height);
    for (float& value : plane.value) value = 0.7f;
    const Plane half = reduce(plane), again = expand(half, width, height), smoothed = smooth(plane);
    EXPECT_EQ(half.width, (width + 1) / 2);
    EXPECT_EQ(half.height, (height + 1) / 2);
    for (const Plane* each : {&half, &again, &smoothed})
      for (const float value : each->value) ASSERT_NEAR(value, 0.7, 1e-6) << width << " x " << height;
  }
}

// One sample of 1 becomes the binomial 1 4 6 4 1 over 16 along each axis; every second of it is 1 6 1, over
// 16; expanded, a sample is spread by the same five taps, doubled: 1 4 6 4 1 over 8. Dyadic, so exact.
TEST(Pyramid, TheTapsAreBinomial) {
  Plane plane(9, 1);
  plane.at(4, 0) = 16;
  EXPECT_EQ(smooth(plane).value, (std::vector<float>{0, 0, 1, 4, 6, 4, 1, 0, 0}));
  EXPECT_EQ(reduce(plane).value, (std::vector<float>{0, 1, 6, 1, 0}));
  Plane half(5, 1);
  half.at(2, 0) = 8;
  EXPECT_EQ(expand(half, 9, 1).value, (std::vector<float>{0, 0, 1, 4, 6, 4, 1, 0, 0}));
}

// Mirrored about its last sample: beside a first sample of 16 stand samples 1, 2 and their mirror images.
TEST(Pyramid, BordersAreMirrored) {
  Plane plane(5, 1);
  plane.at(1, 0) = 16;
  EXPECT_EQ(smooth(plane).value[0], 8);  // 4 + 4
  EXPECT_EQ(smooth(plane).value[1], 7);  // 6 + 1, the image at -1 being two samples off
}

// A straight slope keeps its place away from the borders: samples of the half stand at 0, 2, 4 ...
TEST(Pyramid, ASlopeStaysWhereItIs) {
  Plane plane(65, 1);
  std::iota(plane.value.begin(), plane.value.end(), 0.f);
  const Plane half = reduce(plane), again = expand(half, 65, 1);
  for (int x = 4; x < 60; ++x) EXPECT_NEAR(again.at(x, 0), x, 1e-5);
  EXPECT_NEAR(half.at(7, 0), 14, 1e-5);
}

}  // namespace
}  // namespace undercap
