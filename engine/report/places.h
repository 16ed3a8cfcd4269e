// Places of a set that its drawings speak of, m. Private to the module.
#pragma once

#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <optional>
#include <span>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

// Where the camera looks: as told, or the middle of what it is told to look at, or what is in focus.
glm::dvec3 look_at_place(const World& world);

// Area centroid of the subject; what is in focus where it has no surface.
glm::dvec3 subject_middle(const World& world);

// What a lamp is aimed at. Of several individuals the one that lies on its axis.
glm::dvec3 aim_place(const World& world, std::size_t lamp);

// Height of the ground's surface below places, without what lies on it; 0 where there is none.
std::vector<double> ground_below(const World& world, std::span<const glm::dvec2> places);

}  // namespace undercap
