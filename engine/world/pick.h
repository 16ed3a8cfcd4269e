// What stands at a place of the picture, and where in the picture a place of the world is.
#pragma once

#include <optional>

#include "engine/world/world.h"

namespace undercap {

// The picture's places run from 0 to 1, from the upper left.
struct Picked {
  glm::dvec3 place_m{0};
  std::uint32_t part = 0;
};

// The first surface on the ray through the middle of the pupil. Every triangle is asked: some 20 ms for 1.4
// million.
std::optional<Picked> pick(const World& world, const glm::dvec2& in_frame);

// In front of the pupil only. May lie outside the frame.
std::optional<glm::dvec2> frame_place(const CameraRig& camera, const glm::dvec3& place_m);

// Unit, from the pupil through a place of the frame.
glm::dvec3 frame_direction(const CameraRig& camera, const glm::dvec2& in_frame);

}  // namespace undercap
