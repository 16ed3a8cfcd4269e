#include "engine/optics/tone.h"

#include <algorithm>

namespace undercap {

namespace {

// Reinhard, Stark, Shirley & Ferwerda, ACM Trans. Graphics 21(3):267, 2002, eq. 3 (from memory): L_d = L / (1
// + L). Mid-grey g stays if L = k g with k g / (1 + k g) = g, so k = 1 / (1 - g).
constexpr double mid_grey = 0.18;
constexpr double gain_that_keeps_mid_grey = 1 / (1 - mid_grey);

}  // namespace

double display_linear(Tone tone, double linear) {
  if (tone == Tone::srgb) return std::clamp(linear, 0.0, 1.0);
  const double scaled = gain_that_keeps_mid_grey * std::max(linear, 0.0);
  return scaled / (1 + scaled);
}

}  // namespace undercap
