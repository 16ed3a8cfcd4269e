#include "engine/image/focus_merge.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "engine/core/errors.h"
#include "engine/image/pyramid.h"

namespace undercap {
namespace {

// Contrast is gathered over detail of 1, 2, 4 and 8 pixels: inside an even patch only the coarse levels know
// which slice has the sharp rim.
constexpr int contrast_levels = 4;

// Catmull-Rom weights of the samples -1, 0, 1, 2 at t = 0..1 between samples 0 and 1.
std::array<double, 4> cubic_weights(double t) {
  return {((-t + 2) * t - 1) * t / 2, ((3 * t - 5) * t * t + 2) / 2, ((-3 * t + 4) * t + 1) * t / 2,
          (t - 1) * t * t / 2};
}

// For each of n places of the result: the first of the four samples, and their weights.
struct Taps {
  int first = 0;
  std::array<double, 4> weight{};
};
std::vector<Taps> taps_along(int n, double scale) {
  std::vector<Taps> taps;
  const double centre = (n - 1) / 2.0;
  for (int i = 0; i < n; ++i) {
    const double at = std::clamp(centre + scale * (i - centre), -1.0, static_cast<double>(n));
    const double below = std::floor(at);
    taps.push_back({static_cast<int>(below) - 1, cubic_weights(at - below)});
  }
  return taps;
}

void check_scale(double scale) {
  if (!(scale > 0) || !std::isfinite(scale))
    throw Refusal(fmt::format("a slice of the stack has the scale {}; it must be above 0", scale));
}

void check_stack(std::span<const StackSlice> slices) {
  if (slices.empty() || slices.size() > most_slices)
    throw Refusal(
        fmt::format("a stack of {} slices cannot be merged; give 1 to {}", slices.size(), most_slices));
  const Picture& first = slices.front().picture;
  for (std::size_t i = 0; i < slices.size(); ++i) {
    const Picture& picture = slices[i].picture;
    UNDERCAP_CHECK(is_whole(picture), "a slice holds all its pixels");
    check_scale(slices[i].scale);
    if (picture.width != first.width || picture.height != first.height)
      throw Refusal(fmt::format(
          "slice {} has {} x {} pixels, the first one {} x {}; slices of a stack must have one size", i + 1,
          picture.width, picture.height, first.width, first.height));
    if (!std::all_of(picture.rgb.begin(), picture.rgb.end(), [](float c) { return std::isfinite(c); }))
      throw Refusal(fmt::format("slice {} has a pixel that is not a finite number; render it again", i + 1));
  }
}

// The square root of the luminance, below 0 taken for 0. The noise of counts is then equally large in light
// and dark (F. J. Anscombe, Biometrika 35:246-254, 1948, from memory), so that one figure of noise holds for
// a whole slice, and detail in the shade counts.
Plane even_noise_luminance(const Picture& picture) {
  Plane plane(picture.width, picture.height);
  for (std::size_t i = 0; i < plane.value.size(); ++i) {
    const float* const rgb = &picture.rgb[3 * i];
    plane.value[i] = std::sqrt(std::max(0.f, .2126390f * rgb[0] + .7151687f * rgb[1] + .0721923f * rgb[2]));
  }
  return plane;
}

// The variance of a band's noise. Detail is sparse, so a quarter of a slice at least is taken to have none:
// the lower quartile of |z| is .31864 for z normal with variance 1 (normal quantile at 5/8).
// Of the places that are trusted, where any is.
double noise_variance(const Plane& band, const Plane& trust) {
  std::vector<float> size;
  for (std::size_t i = 0; i < band.value.size(); ++i)
    if (trust.value[i] > .5f) size.push_back(std::abs(band.value[i]));
  if (size.empty())
    for (const float value : band.value) size.push_back(std::abs(value));
  const auto quartile = size.begin() + static_cast<std::ptrdiff_t>(size.size() / 4);
  std::nth_element(size.begin(), quartile, size.end());
  return std::pow(static_cast<double>(*quartile) / .31864, 2);
}

// The local mean square of the detail beyond noise. Each level's energy is averaged over some 25 of its
// pixels, which leaves the noise's own a spread of about a third; three times its mean is out of its reach. A
// coarser level counts a quarter of the finer: it decides only where there is no finer detail, since a
// blurred slice keeps the coarse.
Plane contrast_of(const Picture& picture, const Plane& trust) {
  const std::vector<Plane> trusts = gaussian_pyramid(trust, contrast_levels);
  const std::vector<Plane> bands = laplacian_pyramid(even_noise_luminance(picture), contrast_levels + 1);
  Plane contrast;
  for (int level = contrast_levels; level-- > 0;) {
    const Plane& band = bands[static_cast<std::size_t>(level)];
    Plane square(band.width, band.height);
    for (std::size_t i = 0; i < square.value.size(); ++i) square.value[i] = band.value[i] * band.value[i];
    Plane energy = smooth(smooth(square));
    const auto noise = static_cast<float>(3 * noise_variance(band, trusts[static_cast<std::size_t>(level)]));
    for (float& value : energy.value) value = std::max(0.f, value - noise);
    if (level + 1 < contrast_levels) {
      const Plane coarser = expand(contrast, band.width, band.height);
      for (std::size_t i = 0; i < energy.value.size(); ++i) energy.value[i] += coarser.value[i] / 4;
    }
    contrast = std::move(energy);
  }
  return contrast;
}

double mean_luminance(const Picture& picture) {
  double sum = 0;
  for (std::size_t i = 0; i < picture.rgb.size(); i += 3)
    sum += .2126390 * static_cast<double>(picture.rgb[i]) +
           .7151687 * static_cast<double>(picture.rgb[i + 1]) +
           .0721923 * static_cast<double>(picture.rgb[i + 2]);
  return sum * 3 / static_cast<double>(picture.rgb.size());
}

// The slice's trust where the merged picture has its pixels; 1 everywhere where it says nothing.
Plane trust_at_reference_scale(const StackSlice& slice) {
  const Picture& picture = slice.picture;
  Plane trust(picture.width, picture.height);
  const auto place = [&](int i, int n) {
    const double centre = (n - 1) / 2.0;
    return std::clamp(static_cast<int>(std::lround(centre + slice.scale * (i - centre))), 0, n - 1);
  };
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x)
      trust.at(x, y) =
          slice.trust.empty()
              ? 1
              : slice.trust[pixel_index(picture, place(x, picture.width), place(y, picture.height)) / 3];
  return trust;
}

// Energies become weights that sum to one at each pixel: their fourth power, so that a slice of half the
// contrast has 1/256 of the say. The floor, a thousandth of contrast, keeps all slices even where none has
// more.
std::vector<Plane> weights_of(std::span<const StackSlice> slices) {
  std::vector<Plane> weights, trust;
  double floor = 0;
  for (const StackSlice& slice : slices) {
    trust.push_back(trust_at_reference_scale(slice));
    weights.push_back(contrast_of(at_reference_scale(slice.picture, slice.scale), trust.back()));
    floor += 1e-6 * std::abs(mean_luminance(slice.picture)) / static_cast<double>(slices.size());
  }
  for (std::size_t i = 0; i < weights.front().value.size(); ++i) {
    double largest = 0, sum = 0;
    const bool any = std::any_of(trust.begin(), trust.end(), [&](const Plane& t) { return t.value[i] > 0; });
    for (std::size_t k = 0; k < weights.size(); ++k) {
      if (any) weights[k].value[i] *= trust[k].value[i];
      largest = std::max(largest, static_cast<double>(weights[k].value[i]));
    }
    const double unit = largest + floor;
    for (std::size_t k = 0; k < weights.size(); ++k) {
      Plane& weight = weights[k];
      const double share = unit > 0 ? (static_cast<double>(weight.value[i]) + floor) / unit : 1;
      weight.value[i] = any && trust[k].value[i] <= 0 ? 0.f : static_cast<float>(std::pow(share, 4));
      sum += static_cast<double>(weight.value[i]);
    }
    for (Plane& weight : weights)
      weight.value[i] = static_cast<float>(static_cast<double>(weight.value[i]) / sum);
  }
  return weights;
}

std::vector<std::uint16_t> largest_of(const std::vector<Plane>& weights) {
  std::vector<std::uint16_t> largest(weights.front().value.size());
  for (std::size_t k = 1; k < weights.size(); ++k)
    for (std::size_t i = 0; i < largest.size(); ++i)
      if (weights[k].value[i] > weights[largest[i]].value[i]) largest[i] = static_cast<std::uint16_t>(k);
  return largest;
}

// Until the shorter side has fewer than 8 pixels.
int blend_levels(const Picture& picture) {
  int levels = 1;
  for (int side = std::min(picture.width, picture.height); side >= 16; side = (side + 1) / 2) ++levels;
  return levels;
}

// Square roots, in which steps look about even: what a blend does beside a bright rim then stays as small
// there as it does beside a dark one.
Plane channel_of(const Picture& picture, std::size_t channel) {
  Plane plane(picture.width, picture.height);
  for (std::size_t i = 0; i < plane.value.size(); ++i)
    plane.value[i] = std::sqrt(std::max(0.f, picture.rgb[3 * i + channel]));
  return plane;
}

// Adds the slice's bands times its weight, smoothed as far as each band is coarse.
void blend_in(std::vector<Plane>& sum, const std::vector<Plane>& bands, const std::vector<Plane>& weight) {
  if (sum.empty())
    for (const Plane& band : bands) sum.emplace_back(band.width, band.height);
  for (std::size_t level = 0; level < bands.size(); ++level)
    for (std::size_t i = 0; i < bands[level].value.size(); ++i)
      sum[level].value[i] += bands[level].value[i] * weight[level].value[i];
}

}  // namespace

Picture at_reference_scale(const Picture& picture, double scale) {
  check_scale(scale);
  if (scale == 1) return picture;
  const std::vector<Taps> across = taps_along(picture.width, scale), down = taps_along(picture.height, scale);
  const auto resampled = [](const Picture& from, const Taps& taps, int last, const auto& index,
                            std::size_t c) {
    double sum = 0;
    for (int k = 0; k < 4; ++k)
      sum += taps.weight[static_cast<std::size_t>(k)] *
             static_cast<double>(from.rgb[index(std::clamp(taps.first + k, 0, last)) + c]);
    return static_cast<float>(sum);
  };
  Picture rows = make_picture(picture.width, picture.height), result = rows;
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x)
      for (std::size_t c = 0; c < 3; ++c)
        rows.rgb[pixel_index(rows, x, y) + c] = resampled(
            picture, across[static_cast<std::size_t>(x)], picture.width - 1,
            [&](int i) { return pixel_index(picture, i, y); }, c);
  for (int y = 0; y < picture.height; ++y)
    for (int x = 0; x < picture.width; ++x)
      for (std::size_t c = 0; c < 3; ++c)
        result.rgb[pixel_index(result, x, y) + c] = resampled(
            rows, down[static_cast<std::size_t>(y)], picture.height - 1,
            [&](int i) { return pixel_index(rows, x, i); }, c);
  return result;
}

MergedStack merge_focus_stack(std::span<const StackSlice> slices) {
  check_stack(slices);
  const Picture& first = slices.front().picture;
  std::vector<Plane> weights = weights_of(slices);
  MergedStack merged{make_picture(first.width, first.height), largest_of(weights)};
  const int levels = blend_levels(first);
  std::array<std::vector<Plane>, 3> bands;
  for (std::size_t k = 0; k < slices.size(); ++k) {
    const Picture slice = at_reference_scale(slices[k].picture, slices[k].scale);
    const std::vector<Plane> weight = gaussian_pyramid(std::move(weights[k]), levels);
    for (std::size_t c = 0; c < 3; ++c)
      blend_in(bands[c], laplacian_pyramid(channel_of(slice, c), levels), weight);
  }
  for (std::size_t c = 0; c < 3; ++c) {
    const Plane plane = collapse(std::move(bands[c]));
    for (std::size_t i = 0; i < plane.value.size(); ++i)
      merged.picture.rgb[3 * i + c] = plane.value[i] > 0 ? plane.value[i] * plane.value[i] : 0;
  }
  return merged;
}

}  // namespace undercap
