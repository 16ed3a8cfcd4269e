// The surface of a prop that others grow on: where it is nearest, where a line first meets it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "engine/shape/kinds.h"

namespace undercap {

// World metres. A tree of boxes over the triangles, split at the median: some 3 us a question on 50 000 of
// them.
class HostSurface {
 public:
  using Corners = std::array<glm::vec3, 3>;  // counter-clockwise from outside
  // At least one triangle.
  explicit HostSurface(std::vector<Corners> triangles);

  // Faces without area have no normal and are no one's nearest place.
  HostPlace nearest(const glm::dvec3& point_m) const;
  // The first place from a point along a direction (unit); its normal may look along it: then the point is
  // inside.
  std::optional<HostPlace> first_along(const glm::dvec3& from_m, const glm::dvec3& direction) const;
  // Mean normal, by area, of what lies within a radius of a place: the direction of growth over bark and
  // cracks.
  glm::dvec3 mean_normal(const HostPlace& place, double radius_m) const;

  glm::dvec3 low() const { return glm::dvec3(nodes_[0].low); }
  glm::dvec3 high() const { return glm::dvec3(nodes_[0].high); }

 private:
  struct Node {
    glm::vec3 low, high;
    std::uint32_t first = 0, count = 0;  // triangles of a leaf
    std::uint32_t far = 0;               // of a fork: its second child; the first one follows it
  };
  std::uint32_t build(std::uint32_t first, std::uint32_t count);

  std::vector<Corners> triangles_;
  std::vector<Node> nodes_;
};

}  // namespace undercap
