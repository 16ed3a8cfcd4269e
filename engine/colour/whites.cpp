#include "engine/colour/whites.h"

#include <fmt/format.h>

#include <cmath>

#include "engine/core/errors.h"

namespace undercap {

namespace {

constexpr double daylight_duv = 0.003;  // of the D locus, .0027 to .0033
// Common practice, no source: what a studio light may be off, and what a picture plainly shows.
constexpr double seen_duv = 0.004, strong_duv = 0.010;

}  // namespace

double mired(ColourTemperature temperature) { return 1e6 / temperature.value(); }

ColourTemperature shifted_by_mired(ColourTemperature temperature, double shift) {
  const double shifted = mired(temperature) + shift;
  if (!(shifted >= 1e6 / hottest_planckian_k && shifted <= 1e6 / coolest_planckian_k))
    throw Refusal(
        fmt::format("a light of {:g} K shifted by {:g} mired is at {:g} mired: allowed is {:g} to {:g}, "
                    "which is {:g} to {:g} K; choose a smaller shift",
                    temperature.value(), shift, shifted, 1e6 / hottest_planckian_k, 1e6 / coolest_planckian_k,
                    hottest_planckian_k, coolest_planckian_k));
  return ColourTemperature(1e6 / shifted);
}

double mired_difference(ColourTemperature light, ColourTemperature reference) {
  return mired(light) - mired(reference);
}

std::string tint_word(double duv) {
  const double beyond = duv > daylight_duv ? duv - daylight_duv : duv < 0 ? duv : 0;
  const double size = std::abs(beyond);
  if (size <= seen_duv) return "neutral";
  const char* const colour = beyond > 0 ? "green" : "pink";
  return size <= strong_duv ? fmt::format("a little {}", colour) : colour;
}

}  // namespace undercap
