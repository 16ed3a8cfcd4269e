#include "engine/image/focus_merge.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// Numbers with mean 0 and variance 1 (the sum of four even ones), from a written-out generator (Numerical
// Recipes' ranqd1, from memory).
class Noise {
 public:
  double operator()() {
    double sum = 0;
    for (int i = 0; i < 4; ++i) {
      state_ = state_ * 1664525U + 1013904223U;
      sum += static_cast<double>(state_) / 4294967296.0 - 0.5;
    }
    return sum * std::sqrt(3.0);
  }

 private:
  std::uint32_t state_ = 1;
};

template <class Law>
Picture picture_of(int width, int height, const Law& law) {
  Picture picture = make_picture(width, height);
  for (int y = 0; y < height; ++y)
    for (int x = 0; x < width; ++x)
      for (std::size_t c = 0; c < 3; ++c)
        picture.rgb[pixel_index(picture, x, y) + c] =
            static_cast<float>(law(x, y) * (1 - 0.2 * static_cast<double>(c)));
  return picture;
}

double green(const Picture& picture, int x, int y) {
  return static_cast<double>(picture.rgb[pixel_index(picture, x, y) + 1]);
}

// A wave of bright and dark squares, blurred by a Gaussian of standard deviation 'blur' px: each sine of a
// square wave of period p, 4/pi sin((2n+1) w x) / (2n+1) with w = 2 pi / p, is damped by
// exp(-((2n+1) w blur)^2 / 2) along each axis.
constexpr double period_px = 12;
double wave(double x, double blur) {
  constexpr double pi = 3.14159265358979323846;
  double sum = 0;
  for (int n = 1; n < 6; n += 2) {
    const double w = n * 2 * pi / period_px;
    sum += 4 / pi * std::sin(w * (x + 0.25)) / n * std::exp(-w * w * blur * blur / 2);
  }
  return sum;
}
double board(double x, double y, double blur) { return 0.5 + 0.25 * wave(x, blur) * wave(y, blur); }

double rmse(const Picture& one, const Picture& other, int left, int right) {
  double sum = 0;
  int count = 0;
  for (int y = 0; y < one.height; ++y)
    for (int x = left; x < right; ++x, ++count) sum += std::pow(green(one, x, y) - green(other, x, y), 2);
  return std::sqrt(sum / count);
}

// One slice has all the weight, and a Laplacian pyramid gives back what it was made of: rounding of floats.
TEST(FocusMerge, OneSliceComesBackAsItIs) {
  for (const auto& [width, height] : {std::pair{1, 1}, {1, 7}, {16, 15}, {333, 127}}) {
    const Picture picture = picture_of(width, height, [](int x, int y) { return board(x, y, 1); });
    const MergedStack merged = merge_focus_stack(std::vector{StackSlice{picture}});
    ASSERT_EQ(merged.picture.rgb.size(), picture.rgb.size());
    for (std::size_t i = 0; i < picture.rgb.size(); ++i)
      ASSERT_NEAR(merged.picture.rgb[i], picture.rgb[i], 1e-5) << width << " x " << height;
    EXPECT_EQ(merged.slice_of, std::vector<std::uint16_t>(static_cast<std::size_t>(width * height), 0));
  }
}

// Weights sum to one, so what all slices agree about stays, at any size; and negative light is none.
TEST(FocusMerge, WhatAllSlicesAgreeAboutStays) {
  for (const double level : {0.0, 0.3, 5000.0, -1.0})
    for (const auto& [width, height] : {std::pair{1, 1}, {1, 7}, {333, 127}}) {
      const Picture flat = picture_of(width, height, [&](int, int) { return level; });
      const MergedStack merged = merge_focus_stack(std::vector<StackSlice>(3, {flat}));
      for (std::size_t i = 0; i < flat.rgb.size(); ++i)
        ASSERT_NEAR(merged.picture.rgb[i], std::max(0.f, flat.rgb[i]), 1e-5 * std::max(1.0, level));
    }
}

std::vector<StackSlice> two_halves() {
  const auto half_sharp = [](bool left) {
    return picture_of(333, 127, [&](int x, int y) { return board(x, y, (x < 166) == left ? 0 : 3); });
  };
  return {{half_sharp(true)}, {half_sharp(false)}};
}

// Each slice is sharp in one half. Blurred by 3 px, the board's first wave (period 12 px) is damped by
// exp(-(pi/2)^2/2) = .29 along each axis: .085 of the amplitude, .007 of the energy, whose fourth power
// leaves a weight of 3e-9. Further from the seam than the contrast's reach (twice 8 px) and the blend's
// (twice 8 px, coarser bands being even), the rest is floats' rounding and the 1e-4 allowed is wide; the
// blurred half differs by RMSE .17. In the band between, which the blurred pictures enter, RMSE .01 is
// allowed.
TEST(FocusMerge, TheSharpHalvesAreJoined) {
  const std::vector<StackSlice> slices = two_halves();
  const Picture sharp = picture_of(333, 127, [](int x, int y) { return board(x, y, 0); });
  ASSERT_GT(rmse(slices[0].picture, sharp, 198, 333), 0.15);
  const MergedStack merged = merge_focus_stack(slices);
  EXPECT_LT(rmse(merged.picture, sharp, 0, 134), 1e-4);
  EXPECT_LT(rmse(merged.picture, sharp, 198, 333), 1e-4);
  EXPECT_LT(rmse(merged.picture, sharp, 134, 198), 0.01);
  for (int y = 0; y < 127; ++y)
    for (int x = 0; x < 333; ++x)
      if (std::abs(x - 166) > 16) {
        ASSERT_EQ(merged.slice_of[static_cast<std::size_t>(y * 333 + x)], x < 166 ? 0 : 1) << x << ' ' << y;
      }
}

// A sum's terms may come in any order: floats' rounding.
TEST(FocusMerge, TheOrderOfTheSlicesDoesNotMatter) {
  std::vector<StackSlice> slices = two_halves();
  slices.push_back({picture_of(333, 127, [](int x, int y) { return board(x, y, 2); })});
  const MergedStack merged = merge_focus_stack(slices);
  std::rotate(slices.begin(), slices.begin() + 1, slices.end());
  const MergedStack again = merge_focus_stack(slices);
  for (std::size_t i = 0; i < merged.picture.rgb.size(); ++i)
    ASSERT_NEAR(again.picture.rgb[i], merged.picture.rgb[i], 1e-5);
  for (std::size_t i = 0; i < merged.slice_of.size(); ++i)
    ASSERT_EQ((again.slice_of[i] + 1) % 3, merged.slice_of[i]);
}

// A flat grey without detail, one slice five times as noisy as the two others: nothing to choose, so all
// three count alike, each channel with draws of its own; green is .8 of the law. A third of each has the
// variance (s1^2 + s2^2 + s3^2) / 9. 5 %: 32 000 pixels give the root of a variance to 0.4 %, and where noise
// looks like contrast a slice gains a little.
TEST(FocusMerge, NoiseIsNoContrast) {
  Noise noise;
  std::vector<StackSlice> slices;
  double variance = 0;
  for (const double sigma : {0.01, 0.05, 0.01}) {
    slices.push_back({picture_of(250, 130, [&](int, int) { return 0.5 + sigma * noise(); })});
    variance += sigma * sigma / 9;
  }
  const Picture flat = picture_of(250, 130, [](int, int) { return 0.5; });
  const double left = rmse(merge_focus_stack(slices).picture, flat, 0, 250);
  EXPECT_NEAR(left / (0.8 * std::sqrt(variance)), 1, 0.05);
}

// The same noise does not hide detail well above it: the sharp slice is taken all over.
TEST(FocusMerge, DetailIsFoundInNoise) {
  Noise noise;
  std::vector<StackSlice> slices;
  for (const double blur : {3.0, 0.0, 4.0})
    slices.push_back({picture_of(
        250, 130, [&](int x, int y) { return (x < 100 ? board(x, y, blur) : 0.5) + 0.03 * noise(); })});
  const MergedStack merged = merge_focus_stack(slices);
  int taken = 0;
  for (int y = 0; y < 130; ++y)
    for (int x = 0; x < 90; ++x) taken += merged.slice_of[static_cast<std::size_t>(y * 250 + x)] == 1;
  EXPECT_EQ(taken, 90 * 130);
}

// Where green crosses one half along a row, between two pixels.
double edge_px(const Picture& picture, int y) {
  for (int x = 1; x < picture.width; ++x) {
    const double before = green(picture, x - 1, y), after = green(picture, x, y);
    if (before < 0.4 && after >= 0.4) return x - 1 + (0.4 - before) / (after - before);
  }
  return std::numeric_limits<double>::quiet_NaN();
}

// A soft edge (a logistic step, 1.5 px wide) at 250.3 px of 301, so 100.3 px beside the middle at 150; a
// slice of scale s has it at 150 + 100.3 s. Brought to the reference and merged it is back at 250.3; cubic
// convolution keeps a smooth edge to some hundredths of a pixel, 0.1 is asked for.
TEST(FocusMerge, SlicesOfAnotherScaleFitTheReference) {
  const auto slice = [](double scale) {
    return StackSlice{picture_of(301, 41,
                                 [&](int x, int) {
                                   return 1 / (1 + std::exp(-(x - (150 + 100.3 * scale)) / (1.5 * scale)));
                                 }),
                      scale};
  };
  for (const double scale : {0.97, 1.03}) {
    EXPECT_GT(std::abs(edge_px(slice(scale).picture, 20) - 250.3), 2.9);
    for (int y : {0, 20, 40}) {
      EXPECT_NEAR(edge_px(at_reference_scale(slice(scale).picture, scale), y), 250.3, 0.1);
      EXPECT_NEAR(edge_px(merge_focus_stack(std::vector{slice(1), slice(scale)}).picture, y), 250.3, 0.1);
      EXPECT_NEAR(edge_px(merge_focus_stack(std::vector{slice(scale)}).picture, y), 250.3, 0.1);
    }
  }
}

// Keys 1981: with a = -1/2 cubic convolution reproduces any parabola. Away from the clamped edges, to the
// rounding of floats.
TEST(FocusMerge, ResamplingKeepsAParabola) {
  const double scale = 0.83;
  const auto law = [](double x, double y) {
    return 1 + 0.01 * x + 1e-4 * x * x - 2e-4 * y * y + 1e-4 * x * y;
  };
  const Picture scaled = at_reference_scale(picture_of(61, 40, law), scale);
  for (int y = 2; y < 38; ++y)
    for (int x = 2; x < 59; ++x)
      ASSERT_NEAR(green(scaled, x, y), 0.8 * law(30 + scale * (x - 30), 19.5 + scale * (y - 19.5)), 1e-6);
}

// --- trust: slices that are known to be worse than another somewhere

// Noise in the left half alone is not taken for the slice's noise (a quarter of it has none) but for detail,
// and drives out the even slice. Where it is not trusted the even slice is all there is, and comes back as it
// is: rounding of floats.
TEST(FocusMerge, ANoisySliceThatIsNotTrustedIsNotTaken) {
  Noise noise;
  const Picture even = picture_of(96, 64, [](int x, int) { return 0.5 + 0.001 * x; });
  const Picture noisy =
      picture_of(96, 64, [&](int x, int) { return 0.5 + 0.001 * x + (x < 48 ? 0.1 * noise() : 0); });
  std::vector<StackSlice> slices{{noisy}, {even}};
  const std::vector<std::uint16_t> before = merge_focus_stack(slices).slice_of;
  EXPECT_GT(std::count(before.begin(), before.end(), 0), 40 * 64);
  slices[0].trust.assign(96 * 64, 0.f);
  const MergedStack merged = merge_focus_stack(slices);
  EXPECT_EQ(merged.slice_of, std::vector<std::uint16_t>(96 * 64, 1));
  for (std::size_t i = 0; i < even.rgb.size(); ++i) ASSERT_NEAR(merged.picture.rgb[i], even.rgb[i], 1e-5);
}

// Nothing to go by is the same as no word about trust: bit for bit.
TEST(FocusMerge, WhereNoSliceIsTrustedAllAre) {
  std::vector<StackSlice> slices = two_halves();
  const MergedStack silent = merge_focus_stack(slices);
  for (StackSlice& slice : slices) slice.trust.assign(333 * 127, 0.f);
  const MergedStack distrusted = merge_focus_stack(slices);
  EXPECT_EQ(distrusted.picture.rgb, silent.picture.rgb);
  EXPECT_EQ(distrusted.slice_of, silent.slice_of);
}

// The noise of a slice is measured where it is trusted: five sixths of this one are under-sampled, with noise
// as strong as the board's contrast, and its board must be found in the rest, whose lower half is even. The
// other slice has the board blurred by 3 px, .7 % of the energy. 16 px off the board's end nothing else
// counts.
TEST(FocusMerge, NoiseWhereASliceIsNotTrustedDoesNotHideItsDetail) {
  Noise noise;
  const auto law = [](double blur) {
    return [blur](int x, int y) { return y < 48 ? board(x, y, blur) : 0.5; };
  };
  const auto half_sampled = [&](int x, int y) { return x < 200 ? 0.5 + 0.5 * noise() : law(0)(x, y); };
  std::vector<StackSlice> slices{{picture_of(240, 96, half_sampled)}, {picture_of(240, 96, law(3))}};
  slices[0].trust.assign(240 * 96, 0.f);
  for (std::size_t i = 0; i < slices[0].trust.size(); ++i) slices[0].trust[i] = i % 240 >= 200;
  const MergedStack merged = merge_focus_stack(slices);
  for (int y = 0; y < 32; ++y)
    for (int x = 0; x < 240; ++x)
      ASSERT_EQ(merged.slice_of[static_cast<std::size_t>(y * 240 + x)], x < 200 ? 1 : 0) << x << ' ' << y;
}

// Trust is said at the slice's own size: the middle 32 px of a slice that shows things twice as large are the
// middle 16 of the merge. One pixel each way is for the rounding to whole pixels.
TEST(FocusMerge, TrustIsAtTheSlicesOwnScale) {
  const Picture sharp = picture_of(64, 64, [](int x, int y) { return board(31.5 + 2 * (x - 31.5), y, 0); });
  std::vector<StackSlice> slices{{sharp, 2}, {picture_of(64, 64, [](int, int) { return 0.5; })}};
  for (int y = 0; y < 64; ++y)
    for (int x = 0; x < 64; ++x)
      slices[0].trust.push_back(std::abs(x - 31.5) < 16 && std::abs(y - 31.5) < 16 ? 1.f : 0.f);
  const MergedStack merged = merge_focus_stack(slices);
  for (int y = 0; y < 64; ++y)
    for (int x = 0; x < 64; ++x) {
      const double off = std::max(std::abs(x - 31.5), std::abs(y - 31.5));
      const int taken = merged.slice_of[static_cast<std::size_t>(y * 64 + x)];
      if (off > 9) {
        ASSERT_EQ(taken, 1) << x << ' ' << y;
      }
      if (off < 7) {
        ASSERT_EQ(taken, 0) << x << ' ' << y;
      }
    }
}

TEST(FocusMerge, RefusesWhatCannotBeMerged) {
  const Picture small = make_picture(8, 8);
  EXPECT_THROW(merge_focus_stack({}), Refusal);
  EXPECT_THROW(merge_focus_stack(std::vector<StackSlice>{{small}, {make_picture(8, 9)}}), Refusal);
  for (const double scale :
       {0.0, -1.0, std::numeric_limits<double>::infinity(), std::numeric_limits<double>::quiet_NaN()}) {
    EXPECT_THROW(merge_focus_stack(std::vector<StackSlice>{{small, scale}}), Refusal) << scale;
    EXPECT_THROW(at_reference_scale(small, scale), Refusal) << scale;
  }
  Picture broken = small;
  broken.rgb[7] = std::numeric_limits<float>::quiet_NaN();
  EXPECT_THROW(merge_focus_stack(std::vector<StackSlice>{{broken}}), Refusal);
}

}  // namespace
}  // namespace undercap
