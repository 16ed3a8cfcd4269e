// The means of patterns over their parts: what makes a pattern's colour a factor of mean 1. The device reads
// the patterns at places spread evenly by area, with the code that renders them. The parts of a prop that
// have one name and one kind of pattern share their means.
//
// Three steps, of which only the second needs a context.
#pragma once

#include <glm/vec3.hpp>
#include <vector>

#include "engine/gl/shader_library.h"
#include "engine/render/pattern_tables.h"
#include "engine/world/world.h"

namespace undercap {

struct PatternPlaces {
  struct Group {
    std::vector<std::uint32_t> materials, triangles;
    std::size_t first_place = 0;
  };
  struct Spot {
    std::uint32_t triangle = 0, slot = 0;  // of the world, and where it stands on the device
    float b = 0, c = 0;
  };
  std::vector<Group> groups;
  std::vector<Spot> spots;
};

// 'order': triangles of the world as they stand on the device.
PatternPlaces spread_pattern_places(const World& world, const PatternTables& patterns,
                                    const std::vector<std::uint32_t>& order);

// What the device says of a place.
struct PatternValue {
  glm::vec3 colour;
  float through;
  float damp, unused[3];
};

// The tables of the world are bound.
std::vector<PatternValue> read_pattern_values(const ShaderLibrary& shaders, const PatternPlaces& places);

// One for each material of the world.
std::vector<PatternMeans> pattern_means(const World& world, const PatternPlaces& places,
                                        const std::vector<PatternValue>& values);

}  // namespace undercap
