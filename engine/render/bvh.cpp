#include "engine/render/bvh.h"

#include <embree3/rtcore.h>
#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <glm/common.hpp>
#include <limits>

#include "engine/core/errors.h"

namespace undercap {
namespace {

// The kernel's stack keeps the number of a node in 24 bits.
constexpr std::size_t most_nodes = std::size_t{1} << 24;

struct Box {
  glm::vec3 low{std::numeric_limits<float>::infinity()}, high{-std::numeric_limits<float>::infinity()};
};

// What Embree's builder makes through our callbacks: inner nodes with up to four children, leaves with up to
// four triangles.
struct BuiltNode {
  std::array<Box, 4> box;
  std::array<BuiltNode*, 4> child{};
  std::array<std::uint32_t, 4> triangle{};
  std::uint32_t count = 0;
  bool leaf = false;
};

void* create_node(RTCThreadLocalAllocator allocator, unsigned count, void*) {
  auto* node = new (rtcThreadLocalAlloc(allocator, sizeof(BuiltNode), 16)) BuiltNode;
  node->count = count;
  return node;
}

void set_children(void* node, void** children, unsigned count, void*) {
  for (unsigned i = 0; i < count; ++i)
    static_cast<BuiltNode*>(node)->child[i] = static_cast<BuiltNode*>(children[i]);
}

void set_bounds(void* node, const RTCBounds** bounds, unsigned count, void*) {
  for (unsigned i = 0; i < count; ++i) {
    const RTCBounds& b = *bounds[i];
    static_cast<BuiltNode*>(node)->box[i] = {{b.lower_x, b.lower_y, b.lower_z},
                                             {b.upper_x, b.upper_y, b.upper_z}};
  }
}

void* create_leaf(RTCThreadLocalAllocator allocator, const RTCBuildPrimitive* primitives, std::size_t count,
                  void*) {
  auto* node = new (rtcThreadLocalAlloc(allocator, sizeof(BuiltNode), 16)) BuiltNode;
  node->leaf = true;
  node->count = static_cast<std::uint32_t>(count);
  for (std::size_t i = 0; i < count; ++i) node->triangle[i] = primitives[i].primID;
  return node;
}

// One byte a child on each axis, in steps of a power of two from the node's low corner. Rounded outwards, and
// checked with the arithmetic that the kernel uses.
struct Quantiser {
  float origin = 0, step = 1;
  std::uint32_t exponent = 127;  // biased, as in a float

  Quantiser(float low, float high) : origin(low) {
    const float extent = std::max(high - low, 1e-30f);
    int power = static_cast<int>(std::ceil(std::log2(static_cast<double>(extent) / 255.0)));
    power = std::clamp(power, -100, 100);
    while (std::ldexp(1.0, power) * 255.0 < static_cast<double>(extent) * (1 + 1e-6)) ++power;
    exponent = static_cast<std::uint32_t>(power + 127);
    step = std::bit_cast<float>(exponent << 23);
  }
  std::uint32_t below(float value) const {
    auto q = static_cast<std::int32_t>(std::clamp(std::floor((value - origin) / step), 0.f, 255.f));
    while (q > 0 && origin + static_cast<float>(q) * step > value) --q;
    return static_cast<std::uint32_t>(q);
  }
  std::uint32_t above(float value) const {
    auto q = static_cast<std::int32_t>(std::clamp(std::ceil((value - origin) / step), 0.f, 255.f));
    while (q < 255 && origin + static_cast<float>(q) * step < value) ++q;
    return static_cast<std::uint32_t>(q);
  }
};

class Packer {
 public:
  explicit Packer(Bvh& bvh) : bvh_(bvh) { bvh_.node.emplace_back(); }

  // Fills the node with this number. 'above' is how many levels lie over it: each may leave one word on the
  // stack.
  void pack(const BuiltNode& built, std::uint32_t number, int above) {
    bvh_.levels = std::max(bvh_.levels, above + 1);
    // Inner children first, so that a child's kind and place follow from its slot.
    std::array<std::uint32_t, 4> slot{};
    std::uint32_t inner = 0;
    for (std::uint32_t i = 0; i < built.count; ++i)
      if (!built.child[i]->leaf) slot[inner++] = i;
    std::uint32_t filled = inner;
    for (std::uint32_t i = 0; i < built.count; ++i)
      if (built.child[i]->leaf) slot[filled++] = i;

    BvhNode node;
    const auto first_inner = static_cast<std::uint32_t>(bvh_.node.size());
    node.word[1] = inner << 29 | first_inner;
    node.word[2] = static_cast<std::uint32_t>(bvh_.order.size());
    for (std::uint32_t k = inner; k < filled; ++k) {
      const BuiltNode& leaf = *built.child[slot[k]];
      node.word[0] |= (leaf.count - 1) << (24 + 2 * k);
      for (std::uint32_t i = 0; i < leaf.count; ++i) bvh_.order.push_back(leaf.triangle[i]);
    }
    pack_boxes(built, slot, node);
    bvh_.node.resize(bvh_.node.size() + inner);
    bvh_.node[number] = node;
    for (std::uint32_t k = 0; k < inner; ++k) pack(*built.child[slot[k]], first_inner + k, above + 1);
  }

 private:
  // A free slot gets a box that is inside out, which no ray meets.
  static void pack_boxes(const BuiltNode& built, const std::array<std::uint32_t, 4>& slot, BvhNode& node) {
    constexpr std::array<std::size_t, 3> origin_word{3, 4, 5}, low_word{6, 8, 10}, high_word{7, 9, 11};
    Box whole;
    for (std::uint32_t i = 0; i < built.count; ++i) {
      whole.low = glm::min(whole.low, built.box[i].low);
      whole.high = glm::max(whole.high, built.box[i].high);
    }
    if (built.count == 0) whole = {glm::vec3(0), glm::vec3(0)};
    for (int axis = 0; axis < 3; ++axis) {
      const Quantiser quantiser(whole.low[axis], whole.high[axis]);
      const auto a = static_cast<std::size_t>(axis);
      node.word[origin_word[a]] = std::bit_cast<std::uint32_t>(quantiser.origin);
      node.word[0] |= quantiser.exponent << (8 * axis);
      for (std::uint32_t k = 0; k < 4; ++k) {
        const bool full = k < built.count;
        const std::uint32_t low = full ? quantiser.below(built.box[slot[k]].low[axis]) : 255;
        const std::uint32_t high = full ? quantiser.above(built.box[slot[k]].high[axis]) : 0;
        node.word[low_word[a]] |= low << (8 * k);
        node.word[high_word[a]] |= high << (8 * k);
      }
    }
  }

  Bvh& bvh_;
};

}  // namespace

Bvh build_bvh(std::span<const std::array<glm::vec3, 3>> triangle) {
  UNDERCAP_CHECK(triangle.size() < (1u << 29), "at most 2^29 triangles in one set");
  Bvh result;
  if (triangle.empty()) {
    Packer(result).pack(BuiltNode{}, 0, 0);
    return result;
  }
  std::vector<RTCBuildPrimitive> primitives(triangle.size());
  for (std::size_t i = 0; i < triangle.size(); ++i) {
    const auto& [a, b, c] = triangle[i];
    const glm::vec3 low = glm::min(a, glm::min(b, c)), high = glm::max(a, glm::max(b, c));
    primitives[i] = {low.x, low.y, low.z, 0, high.x, high.y, high.z, static_cast<unsigned>(i)};
  }
  const RTCDevice device = rtcNewDevice(nullptr);
  if (!device) throw Trouble("the BVH builder cannot start: Embree gives no device");
  const RTCBVH builder = rtcNewBVH(device);
  RTCBuildArguments arguments = rtcDefaultBuildArguments();
  arguments.buildQuality = RTC_BUILD_QUALITY_MEDIUM;
  arguments.maxBranchingFactor = 4;
  arguments.maxDepth = 40;
  arguments.sahBlockSize = 1;
  arguments.minLeafSize = 1;
  arguments.maxLeafSize = 4;
  arguments.bvh = builder;
  arguments.primitives = primitives.data();
  arguments.primitiveCount = primitives.size();
  arguments.primitiveArrayCapacity = primitives.size();
  arguments.createNode = create_node;
  arguments.setNodeChildren = set_children;
  arguments.setNodeBounds = set_bounds;
  arguments.createLeaf = create_leaf;
  const auto* root = static_cast<const BuiltNode*>(rtcBuildBVH(&arguments));
  if (!root) {
    rtcReleaseBVH(builder);
    rtcReleaseDevice(device);
    throw Trouble("the BVH of this scene cannot be built: memory is short");
  }
  result.order.reserve(triangle.size());
  result.node.reserve(triangle.size() / 3 + 4);
  Packer packer(result);
  if (root->leaf) {
    // A walk starts at an inner node, so a lone leaf gets a parent.
    BuiltNode parent;
    parent.count = 1;
    parent.child[0] = const_cast<BuiltNode*>(root);
    for (std::uint32_t i = 0; i < root->count; ++i)
      for (const glm::vec3& corner : triangle[root->triangle[i]])
        parent.box[0] = {glm::min(parent.box[0].low, corner), glm::max(parent.box[0].high, corner)};
    packer.pack(parent, 0, 0);
  } else {
    packer.pack(*root, 0, 0);
  }
  rtcReleaseBVH(builder);
  rtcReleaseDevice(device);
  if (result.node.size() > most_nodes)
    throw Trouble(
        fmt::format("{} triangles need {} nodes of a BVH, which has {} at most; use fewer triangles",
                    triangle.size(), result.node.size(), most_nodes));
  return result;
}

}  // namespace undercap
