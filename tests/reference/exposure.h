// From luminance to what a screen shows, written from the standards alone: exposure of the sensor, clip,
// white balance, tone, sRGB.
#pragma once

#include <glm/vec3.hpp>
#include <vector>

#include "engine/world/world.h"

namespace undercap::reference {

struct Exposing {
  double shutter_s = 1, iso = 100;
  glm::dvec3 gains{1};    // white balance
  bool reinhard = false;  // else the plain clip
};

// The mix of the groups' means (cd/m2 at unit power and white), a pixel each, at the world's powers.
std::vector<glm::dvec3> mixed(const World& world, const std::vector<std::vector<glm::dvec3>>& group);

// Display values, 0..255, not rounded. 'mix' is a whole picture of luminance, row 0 on top.
std::vector<glm::dvec3> displayed(const World& world, const std::vector<glm::dvec3>& mix, int width,
                                  const Exposing& how);

}  // namespace undercap::reference
