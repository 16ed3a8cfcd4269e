#include "engine/light/canopy.h"

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>
#include <glm/exponential.hpp>
#include <numbers>

#include "engine/light/sun.h"

namespace undercap {

namespace {

constexpr double crossed_share = 0.5;  // G of leaves turned every way: a sphere's outline over its surface

struct Leaf {
  glm::dvec3 reflectance, transmittance;
  glm::dvec3 crown;  // sigma that gives what the same law gives summed over the leaf's spectrum
};

// Computed with PROSPECT-D (J.-B. Feret et al., Remote Sens. Environ. 193:204, 2017) and summed under D65;
// its inputs are plausible, not measured: layers, chlorophyll and carotenoid (ug/cm2), brown pigment, water
// and dry matter (g/cm2), anthocyanin (ug/cm2). A transmittance a little below 0 in a channel is 0.
// The crown's sigma solves the law of canopy_transmission for the sum over spectra under an overcast sky at
// LAI 2 (yellow: between 2 and 4), and holds from 1 to 4. Orange rests on an S-shaped spectrum through its
// three channels and the means of its three bands of 100 nm, a way that finds yellow and brown again to .02.
Leaf leaf_of(LeafColour colour) {
  switch (colour) {
    case LeafColour::green:  // 1.5, 40, 8, 0, .01, .009, 0
      return {{.065, .126, .033}, {.057, .122, 0}, {.124, .253, .022}};
    case LeafColour::yellow_green:  // 1.6, 8, 6, .05, .008, .006, 0
      return {{.286, .255, .034}, {.278, .233, 0}, {.556, .507, .006}};
    case LeafColour::yellow:  // 1.7, 1.5, 7, .1, .006, .005, 0
      return {{.486, .293, .035}, {.443, .247, 0}, {.830, .598, 0}};
    case LeafColour::orange:  // 1.7, 2, 5, .1, .006, .005, 8
      return {{.336, .113, .051}, {.301, .078, .014}, {.605, .190, .058}};
    case LeafColour::brown:  // 2, .5, 2, .8, .003, .006, 1
      return {{.320, .198, .102}, {.220, .111, .037}, {.528, .311, .135}};
    case LeafColour::none:
      break;
  }
  return {glm::dvec3(0), glm::dvec3(0), glm::dvec3(0)};
}

double path(double leaf_area_index, double clumping, double sine_elevation) {
  const double overhead = crossed_share * clumping * leaf_area_index;
  if (overhead <= 0) return 0;
  return sine_elevation > 0 ? overhead / sine_elevation : double(INFINITY);
}

// J. Goudriaan 1977 (from memory): leaves that scatter a share sigma thin the light as if there were only
// sqrt(1 - sigma) of them.
glm::dvec3 swallowed(LeafColour leaf) { return glm::sqrt(1.0 - crown_scattering(leaf)); }

// Integral over the sky of its luminance times passed(mu) mu, over the same without leaves; mu = sine of the
// elevation. Simpson's rule: passed() is smooth, and flat at 0 when there are leaves.
template <class Passed>
auto share_of_sky(SkyShape sky, Passed passed) {
  constexpr int steps = 512;
  decltype(passed(1.0)) below(0);
  double above = 0;
  for (int i = 0; i <= steps; ++i) {
    const double mu = static_cast<double>(i) / steps;
    const double simpson = i == 0 || i == steps ? 1 : i % 2 == 1 ? 4 : 2;
    const double weight = simpson * mu * sky_luminance_ratio(sky, Angle(std::asin(mu)));
    above += weight;
    if (weight > 0) below += weight * passed(mu);
  }
  return below / above;
}

}  // namespace

glm::dvec3 leaf_reflectance(LeafColour leaf) { return leaf_of(leaf).reflectance; }

glm::dvec3 leaf_transmittance(LeafColour leaf) { return leaf_of(leaf).transmittance; }

glm::dvec3 leaf_scattering(LeafColour leaf) { return leaf_reflectance(leaf) + leaf_transmittance(leaf); }

glm::dvec3 crown_scattering(LeafColour leaf) { return leaf_of(leaf).crown; }

double gap_fraction(double leaf_area_index, double clumping, double sine_elevation) {
  return std::exp(-path(leaf_area_index, clumping, sine_elevation));
}

glm::dvec3 canopy_transmission(LeafColour leaf, double leaf_area_index, double clumping,
                               double sine_elevation) {
  return glm::exp(-swallowed(leaf) * path(leaf_area_index, clumping, sine_elevation));
}

double diffuse_gap_fraction(SkyShape sky, double leaf_area_index, double clumping) {
  return share_of_sky(sky, [&](double mu) { return gap_fraction(leaf_area_index, clumping, mu); });
}

glm::dvec3 diffuse_canopy_transmission(SkyShape sky, LeafColour leaf, double leaf_area_index,
                                       double clumping) {
  return share_of_sky(sky,
                      [&](double mu) { return canopy_transmission(leaf, leaf_area_index, clumping, mu); });
}

Angle sun_half_width(double distance_au) {
  return Angle(std::asin(std::sin(sun_angular_radius.value()) / distance_au));
}

// The seen part is a segment of the unit disc of area acos u - u sqrt(1 - u^2), over pi.
double sun_share_past_edge(double offset_in_radii) {
  const double u = std::clamp(offset_in_radii, -1.0, 1.0);
  return (std::acos(u) - u * std::sqrt(1 - u * u)) / std::numbers::pi;
}

Length sun_image_width(Length distance, double distance_au) {
  return distance * (2 * std::tan(sun_half_width(distance_au).value()));
}

// A gap at height h lights the place h cot(elevation) away from the sun.
std::optional<glm::dvec2> fleck_drift_m_per_min(double julian_date_utc, Angle latitude, Angle longitude,
                                                Length gap_height) {
  constexpr double half_minute = 0.5 / 1440;  // days
  glm::dvec2 place[2];
  for (int i = 0; i < 2; ++i) {
    const double date = julian_date_utc + (i == 0 ? -half_minute : half_minute);
    const SunPosition sun = sun_position(date, latitude, longitude);
    if (!(sun.apparent_elevation > 0_deg)) return std::nullopt;
    const glm::dvec3 towards = direction_towards(sun.azimuth, sun.apparent_elevation);
    place[i] = -gap_height.value() / towards.z * glm::dvec2(towards);
  }
  return place[1] - place[0];
}

}  // namespace undercap
