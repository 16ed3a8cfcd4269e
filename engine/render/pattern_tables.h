// The patterns of a world as shaders/lib/pattern.glsl reads them.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>
#include <glm/vec4.hpp>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

// What a part's pattern is measured against, found by pattern_means.h.
struct PatternMeans {
  glm::vec3 reflect{1}, transmit{1};            // mean factors before they are normalised
  float wet_above = 1e9f, glossy_above = 1e9f;  // of the pattern's damp
};

struct PatternTables {
  std::vector<glm::vec4> table;  // six a material of the world
  std::vector<glm::uvec4> layers;
  std::vector<bool> patterned;  // by material: it has layers
  bool any = false;

  void set(std::size_t material, const PatternMeans& means);
};

PatternTables pattern_tables(const World& world);

// Three words: the places of a triangle's corners on its pattern, 16 bits a coordinate.
glm::uvec4 pack_places(const glm::vec2& a, const glm::vec2& b, const glm::vec2& c);

}  // namespace undercap
