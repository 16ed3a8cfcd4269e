// Where the nodes of a sky map stand, what it gives, and the sums over it.
//
// A square (u, v), each 0..1, is the equal-area image of the upper hemisphere: P. Shirley & K. Chiu, 'A Low
// Distortion Map Between Disk and Square', J. Graphics Tools 2(3), 1997, from the square to the unit disc;
// from there z = 1 - r^2. So each of side^2 cells has 2 pi / side^2 sr. x east, y north, z up.
#pragma once

#include <functional>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>

#include "engine/core/quantities.h"
#include "engine/world/world.h"

namespace undercap {

glm::dvec3 sky_direction(const glm::dvec2& place);
// The inverse; directions below the horizon are taken at it.
glm::dvec2 sky_place(const glm::dvec3& direction);

// Fills a map with a function of the direction (z >= 0). 'steps': each node takes the mean of steps x steps
// points of the cell around it, which keeps the sums of a map with sharp edges.
SkyMap sky_map(int side, int steps, const std::function<glm::dvec3(const glm::dvec3&)>& luminance);

glm::dvec3 sky_radiance(const SkyMap& map, const glm::dvec3& direction);

// Illuminance of a plane with this unit normal, in each channel: the map's own integral over its bilinear
// cells, four points a cell; the part of the map below the plane does not count.
glm::dvec3 sky_illuminance(const SkyMap& map, const glm::dvec3& normal = {0, 0, 1});

}  // namespace undercap
