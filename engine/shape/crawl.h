// A flat patch laid over a rough host: places of the plane carried along the host's surface, outwards from
// the middle, so that the patch neither gathers on ridges nor hangs off an edge. Lengths in mm.
#pragma once

#include <glm/vec2.hpp>
#include <vector>

#include "engine/shape/kinds.h"

namespace undercap {

class Crawl {
 public:
  // 'reach' is how far from the middle the patch goes. Without a host the ground is what it lies on.
  Crawl(const Setting& setting, double reach);

  // The place of the surface that belongs to a place of the plane, raised by so much.
  glm::dvec3 at(const glm::dvec2& flat, double off) const;

 private:
  struct Foot {
    glm::dvec3 place{}, normal{0, 0, 1};
  };
  void walk(glm::dvec3 ahead, const glm::dvec3& normal);
  const Foot& foot(int direction, int ring) const {
    return feet_[static_cast<std::size_t>(direction % directions) * (rings + 1) +
                 static_cast<std::size_t>(ring)];
  }

  static constexpr int directions = 40, rings = 16;
  const Setting& setting_;
  double reach_;
  std::vector<Foot> feet_;  // direction by direction from the middle
};

}  // namespace undercap
