// The triangles of a world in Embree, one ray at a time. Metres.
#pragma once

#include <cstdint>
#include <glm/vec3.hpp>
#include <memory>
#include <optional>

#include "engine/world/world.h"

namespace undercap::reference {

struct Ray {
  glm::dvec3 origin{0}, direction{0, 0, 1};  // unit
  double from = 0, to = 1e30;                // along the direction, m
};

struct RayHit {
  double distance = 0;
  std::uint32_t triangle = 0;  // into World::triangle
  double u = 0, v = 0;         // weights of the second and the third corner
};

class EmbreeScene {
 public:
  // 'watertight' lets no ray slip through a shared edge; without it Embree is a tenth faster.
  EmbreeScene(const World& world, bool watertight);
  std::optional<RayHit> nearest(const Ray& ray) const;
  bool blocked(const Ray& ray) const;

 private:
  struct Release {
    void operator()(void* scene) const;
  };
  std::unique_ptr<void, Release> scene_;
};

}  // namespace undercap::reference
