#include "engine/light/general_sky.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/colour/temperature.h"
#include "engine/colour/whites.h"
#include "engine/core/errors.h"

namespace undercap {

namespace {

constexpr double pi = std::numbers::pi;

struct Row {
  GeneralSky sky;
  double blueness;  // of general_sky_colour
};

// CIE S 011/E:2003, table 1.
constexpr Row rows[] = {
    {{4, -.70, 0, -1, 0}, 0},       {{4, -.70, 2, -1.5, .15}, 0},  {{1.1, -.80, 0, -1, 0}, 0},
    {{1.1, -.80, 2, -1.5, .15}, 0}, {{0, -1, 0, -1, 0}, 0},        {{0, -1, 2, -1.5, .15}, .2},
    {{0, -1, 5, -2.5, .30}, .3},    {{0, -1, 10, -3, .45}, .4},    {{-1, -.55, 2, -1.5, .15}, .4},
    {{-1, -.55, 5, -2.5, .30}, .6}, {{-1, -.55, 10, -3, .45}, .8}, {{-1, -.32, 10, -3, .45}, 1},
    {{-1, -.32, 16, -3, .30}, .7},  {{-1, -.15, 16, -3, .30}, .7}, {{-1, -.15, 24, -2.8, .15}, .6}};

const Row& row_of(int type) {
  if (type < 1 || type > 15)
    throw Refusal(
        fmt::format("sky type {}: allowed are the CIE types 1 (overcast) to 15; 12 is clear", type));
  return rows[type - 1];
}

double gradation(const GeneralSky& sky, double cosine) {
  return cosine > 0 ? 1 + sky.a * std::exp(sky.b / cosine) : 1;
}

double indicatrix(const GeneralSky& sky, double cosine) {
  const double chi = std::acos(std::clamp(cosine, -1.0, 1.0));
  return 1 + sky.c * (std::exp(sky.d * chi) - std::exp(sky.d * pi / 2)) + sky.e * cosine * cosine;
}

double ratio(const GeneralSky& sky, double up, double towards_sun, double sun_up) {
  if (up < 0) return 0;
  return indicatrix(sky, towards_sun) * gradation(sky, up) / (indicatrix(sky, sun_up) * gradation(sky, 1));
}

// A rule of ours (common practice, no source): level ground's light from 6500 K under cloud to 12000 K under
// the clear sky (both from memory), in even steps of reciprocal temperature; and 25 mired to a stop in the
// clear sky, which takes its darkest part to some 25000 K and the surroundings of the sun to some 6500 K.
// Patches of real clear skies reach from 3800 K to beyond all (J. Hernandez-Andres, J. Romero & R. Lee, J.
// Opt. Soc. Am. A 18:412, 2001).
constexpr double cloud_mired = 1e6 / 6500, clear_mired = 1e6 / 12000, mired_per_stop = 25;

}  // namespace

GeneralSky general_sky(int type) { return row_of(type).sky; }

double general_sky_ratio(int type, Angle zenith_distance, Angle azimuth_from_sun, Angle sun_zenith_distance) {
  const double z = zenith_distance.value(), sun_z = sun_zenith_distance.value();
  const double towards_sun =
      std::cos(sun_z) * std::cos(z) + std::sin(sun_z) * std::sin(z) * std::cos(azimuth_from_sun.value());
  return ratio(general_sky(type), std::cos(z), towards_sun, std::cos(sun_z));
}

double general_sky_ratio(int type, const glm::dvec3& place, const glm::dvec3& sun) {
  return ratio(general_sky(type), place.z, glm::dot(place, sun), sun.z);
}

// Midpoint sum over cells of equal solid angle; the peak around the sun is the sharpest thing there is, with
// a slope of 70 per radian at most.
double general_sky_tilted(int type, Angle sun_zenith_distance, Angle tilt, Angle azimuth_from_sun) {
  constexpr int rings = 160, sectors = 320;
  const GeneralSky sky = general_sky(type);
  const double sun_z = sun_zenith_distance.value(), lean = tilt.value();
  const glm::dvec3 sun(std::sin(sun_z), 0, std::cos(sun_z));
  const glm::dvec3 normal(std::sin(lean) * std::cos(azimuth_from_sun.value()),
                          std::sin(lean) * std::sin(azimuth_from_sun.value()), std::cos(lean));
  double sum = 0;
  for (int i = 0; i < rings; ++i) {
    const double up = (i + .5) / rings, level = std::sqrt(1 - up * up);
    const double graded = gradation(sky, up);
    for (int j = 0; j < sectors; ++j) {
      const double azimuth = 2 * pi * (j + .5) / sectors;
      const glm::dvec3 place(level * std::cos(azimuth), level * std::sin(azimuth), up);
      const double facing = glm::dot(place, normal);
      if (facing > 0) sum += facing * graded * indicatrix(sky, glm::dot(place, sun));
    }
  }
  const double zenith = indicatrix(sky, sun.z) * gradation(sky, 1);
  return sum * 2 * pi / rings / sectors / zenith;
}

double general_sky_horizontal(int type, Angle sun_zenith_distance) {
  return general_sky_tilted(type, sun_zenith_distance, 0_deg, 0_deg);
}

ColourTemperature general_sky_temperature(int type) {
  return ColourTemperature(1e6 / (cloud_mired + row_of(type).blueness * (clear_mired - cloud_mired)));
}

glm::dvec3 general_sky_colour(int type, double luminance_over_mean, ColourTemperature mean) {
  UNDERCAP_CHECK(luminance_over_mean >= 0,
                 fmt::format("a luminance is 0 or more, got {}", luminance_over_mean));
  // Black has no colour; beyond twenty stops the clamp has long decided.
  const double stops = std::log2(std::max(luminance_over_mean, 1e-6));
  const double shift = mired_per_stop * row_of(type).blueness * stops;
  const double here = std::clamp(mired(mean) + shift, 1e6 / 25000, 1e6 / 4000);
  return rgb_with_unit_luminance(daylight_xy(ColourTemperature(std::clamp(1e6 / here, 4000., 25000.))));
}

}  // namespace undercap
