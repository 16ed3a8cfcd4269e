// The flat 4-wide BVH with quantised child boxes that the kernel walks (shaders/lib/traverse.glsl has the
// layout).
#pragma once

#include <array>
#include <cstdint>
#include <glm/vec3.hpp>
#include <span>
#include <vector>

namespace undercap {

struct BvhNode {
  std::array<std::uint32_t, 12> word{};  // three RGBA32UI texels
};

struct Bvh {
  std::vector<BvhNode> node;         // the first is the root
  std::vector<std::uint32_t> order;  // triangles in the order of the leaves: indices into the input
  int levels = 1;                    // of inner nodes, the root's included
};

// The three corners of each triangle, m. Built with Embree's builder. An empty set gives one empty node.
// Throws Trouble when memory is short; at most 2^29 triangles.
Bvh build_bvh(std::span<const std::array<glm::vec3, 3>> triangle);

}  // namespace undercap
