// A world packed as the device reads it: BVH, triangles, materials and light tables. Needs no context, so
// that any thread can make it.
#pragma once

#include <glm/vec2.hpp>
#include <glm/vec4.hpp>
#include <vector>

#include "engine/render/bvh.h"
#include "engine/render/frame.h"
#include "engine/render/pattern_means.h"
#include "engine/render/pattern_tables.h"
#include "engine/world/world.h"

namespace undercap {

struct PackedWorld {
  using Texel = glm::uvec4;
  std::vector<BvhNode> nodes;
  std::vector<glm::vec4> triangles, materials, glow;
  std::vector<Texel> surfaces, places;
  std::vector<std::uint32_t> order;  // triangles of the world in the order in which they stand on the device
  int stack_size = 0;
  std::vector<std::uint32_t>
      kit;  // where the triangles of barrel, photographer and snoots stand on the device
  std::vector<glm::vec4> sky_nodes, sky_tree, lamps;
  std::vector<float> beams;
  std::vector<Texel> gaps;
  std::vector<glm::vec2> iris, coats;
  PatternTables patterns;
  PatternPlaces pattern_places;
  gpu::Frame frame{};  // the parts that do not depend on the view
};

PackedWorld pack_world(const World& world);

// These alone, anew: the lamps, all light, the camera.
void pack_lamps(const World& world, PackedWorld& to);
void pack_lights(const World& world, PackedWorld& to);
void pack_camera(const World& world, PackedWorld& to);

// A lamp as the kernel reads it, its beam's table beginning at a node (shaders/lib/light.glsl).
void add_lamp_texels(const Lamp& lamp, std::size_t first_node, std::vector<glm::vec4>& to);

// Sums of luminance over a sky map as the kernel walks down them: for squares of half the side, a quarter and
// so on, the sums of their four quarters, by rows; a cell counts as the sum of its corners. The side is a
// power of two.
std::vector<glm::vec4> sky_tree(const SkyMap& sky);

}  // namespace undercap
