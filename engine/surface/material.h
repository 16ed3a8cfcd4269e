// What a part is made of, as a renderer needs it: numbers, no laws.
#pragma once

#include <glm/vec3.hpp>

namespace undercap {

struct Material {
  glm::vec3 reflectance{0.18f};  // hemispherical, of the body under any coat; linear RGB, 0..1
  glm::vec3 transmittance{
      0.0f};  // hemispherical through an open sheet; 0 on closed shapes. R + T <= 1 per channel
  float roughness =
      1.0f;  // of a dielectric coat (F0 0.04); GGX alpha = roughness^2. 1 = no coat, Lambert only
  float emission_cd_m2 = 0.0f;  // front side only
};

}  // namespace undercap
