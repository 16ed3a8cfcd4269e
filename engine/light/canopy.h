// Light below leaves: what they let through, by direction and colour, and what the sun's width makes of a
// gap.
//
// The leaves are small, many and turned every way, so a ray meets half the leaf area there is over level
// ground for each 1 / sine of its elevation (G = .5, Monsi & Saeki 1953, from memory); 'clumping' (Nilson
// 1971, from memory) takes from it what leaves hide behind leaves of their own twig: 1 = spread at random,
// forests .6 to .9. Leaf area index: m2 of leaf, one side, over a m2 of ground. Colours are linear RGB, 1 =
// all light.
#pragma once

#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <optional>

#include "engine/core/quantities.h"
#include "engine/light/sky.h"

namespace undercap {

enum class LeafColour { green, yellow_green, yellow, orange, brown, none };

// Of one leaf in diffuse light, and both together: the light that it does not swallow. 'none' is black.
glm::dvec3 leaf_reflectance(LeafColour leaf);
glm::dvec3 leaf_transmittance(LeafColour leaf);
glm::dvec3 leaf_scattering(LeafColour leaf);

// Share of a direction that is open: exp(-.5 clumping LAI / sine). 0 at and below the horizon when there are
// leaves.
double gap_fraction(double leaf_area_index, double clumping, double sine_elevation);

// sigma for the light that has gone by many leaves. A channel is a broad band: of each leaf's light some
// wavelengths go on and others do not, so that a crown of yellow leaves gives back less red than one leaf.
glm::dvec3 crown_scattering(LeafColour leaf);

// The gap fraction with the light that leaves pass on downwards: exp(-.5 sqrt(1 - sigma) clumping LAI / sine)
// with the crown's sigma. An upper bound of how much leaves tint, since every leaf counts as lit alike.
glm::dvec3 canopy_transmission(LeafColour leaf, double leaf_area_index, double clumping,
                               double sine_elevation);

// Illuminance of level ground below the leaves over the one above, under a sky alone.
double diffuse_gap_fraction(SkyShape sky, double leaf_area_index, double clumping);
glm::dvec3 diffuse_canopy_transmission(SkyShape sky, LeafColour leaf, double leaf_area_index,
                                       double clumping);

// Half the width of the sun: .2666 degree at the mean distance.
Angle sun_half_width(double distance_au = 1);

// Share of the sun's disc that is seen past a straight edge, which lies this many radii of the sun beyond the
// disc's centre: 1 at -1 and below, half at 0, none from 1 on.
double sun_share_past_edge(double offset_in_radii);

// Across: what a gap much smaller than this throws on a surface that faces the sun at this distance, and the
// width over which the shadow of an edge fades.
Length sun_image_width(Length distance, double distance_au = 1);

// How fast a fleck of light of a gap at this height goes over level ground, east and north, in m per minute.
// None while the sun is down.
std::optional<glm::dvec2> fleck_drift_m_per_min(double julian_date_utc, Angle latitude, Angle longitude,
                                                Length gap_height);

}  // namespace undercap
