// What a part is made of, as a renderer needs it: numbers, no laws. Colours are linear RGB, 0..1.
#pragma once

#include <glm/vec3.hpp>

#include "engine/surface/pattern.h"

namespace undercap {

struct Material {
  glm::vec3 reflectance{0.18f};  // hemispherical, of the dry body under any coat
  // Hemispherical, through an open sheet; 0 on closed shapes. R + T <= 1 per channel.
  glm::vec3 transmittance{0.0f};
  // Of the coat, or of the mirror where there is one: GGX alpha = roughness^2. A dielectric coat has F0 0.04;
  // 1 = no coat, Lambert only.
  float roughness = 1.0f;
  float emission_cd_m2 = 0.0f;  // front side only
  // Reflectance at normal incidence of a rough metal, Schlick's Fresnel. Above 0 there is no body.
  glm::vec3 mirror{0.0f};
  float wet = 0.0f;  // share of the area under a film of water
  Pattern pattern{};
};

}  // namespace undercap
