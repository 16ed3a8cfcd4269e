#include "engine/render/bvh.h"

#include <embree3/rtcore.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <glm/common.hpp>
#include <limits>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr std::uint32_t no_child = 0xffffffffu;
constexpr std::uint32_t leaf_bit = 0x80000000u;

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
  explicit Packer(Bvh& bvh) : bvh_(bvh) {}

  // Returns the number of a node. 'above' is how many levels lie over it: each may leave one word on the
  // stack.
  std::uint32_t pack(const BuiltNode& built, int above) {
    const auto number = static_cast<std::uint32_t>(bvh_.node.size());
    bvh_.node.emplace_back();
    Box whole;
    for (std::uint32_t i = 0; i < built.count; ++i) {
      whole.low = glm::min(whole.low, built.box[i].low);
      whole.high = glm::max(whole.high, built.box[i].high);
    }
    bvh_.levels = std::max(bvh_.levels, above + 1);
    BvhNode node;
    for (std::size_t i = 0; i < 4; ++i) node.word[4 + i] = no_child;
    const std::array<std::size_t, 3> low_word{8, 9, 10}, high_word{11, 12, 13};
    for (int axis = 0; axis < 3; ++axis) {
      const Quantiser quantiser(whole.low[axis], whole.high[axis]);
      const auto a = static_cast<std::size_t>(axis);
      node.word[a] = std::bit_cast<std::uint32_t>(quantiser.origin);
      node.word[3] |= quantiser.exponent << (8 * axis);
      for (std::uint32_t i = 0; i < built.count; ++i) {
        node.word[low_word[a]] |= quantiser.below(built.box[i].low[axis]) << (8 * i);
        node.word[high_word[a]] |= quantiser.above(built.box[i].high[axis]) << (8 * i);
      }
    }
    for (std::uint32_t i = 0; i < built.count; ++i) node.word[4 + i] = child(*built.child[i], above + 1);
    bvh_.node[number] = node;
    return number;
  }

  std::uint32_t child(const BuiltNode& built, int above) {
    if (!built.leaf) return pack(built, above);
    const auto first = static_cast<std::uint32_t>(bvh_.order.size());
    for (std::uint32_t i = 0; i < built.count; ++i) bvh_.order.push_back(built.triangle[i]);
    return leaf_bit | (built.count - 1) << 29 | first;
  }

 private:
  Bvh& bvh_;
};

}  // namespace

Bvh build_bvh(std::span<const std::array<glm::vec3, 3>> triangle) {
  UNDERCAP_CHECK(triangle.size() < (1u << 29), "at most 2^29 triangles in one set");
  Bvh result;
  if (triangle.empty()) {
    BvhNode empty;
    for (std::size_t i = 0; i < 4; ++i) empty.word[4 + i] = no_child;
    result.node.push_back(empty);
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
    packer.pack(parent, 0);
  } else {
    packer.pack(*root, 0);
  }
  rtcReleaseBVH(builder);
  rtcReleaseDevice(device);
  return result;
}

}  // namespace undercap
