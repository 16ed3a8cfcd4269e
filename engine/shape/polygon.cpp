#include "engine/shape/polygon.h"

#include <cmath>
#include <glm/geometric.hpp>
#include <glm/vec2.hpp>
#include <numeric>

namespace undercap {
namespace {

using Triangles = std::vector<std::array<std::size_t, 3>>;

// Twice the signed area of a triangle.
double turn(const glm::dvec2& a, const glm::dvec2& b, const glm::dvec2& c) {
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

// The corners in the plane where the outline encloses its area, counter-clockwise: the vector area is the sum
// of the cross products around the outline (Newell). About the first corner, so that a far place costs no
// digits. Nothing where the halves of the outline cancel, as in a symmetric figure of eight.
std::optional<std::vector<glm::dvec2>> flattened(const std::vector<glm::dvec3>& corner) {
  glm::dvec3 area(0);
  double sum = 0;
  for (std::size_t i = 1; i + 1 < corner.size(); ++i) {
    const glm::dvec3 one = glm::cross(corner[i] - corner[0], corner[i + 1] - corner[0]);
    area += one;
    sum += glm::length(one);
  }
  if (glm::length(area) < 1e-9 * sum) return std::nullopt;
  const glm::dvec3 size = glm::abs(area);
  // Dropping the axis along which the area faces keeps the outline's order and whether it crosses itself.
  const int drop = size.x > size.y && size.x > size.z ? 0 : size.y > size.z ? 1 : 2;
  const int u = (drop + 1) % 3, v = (drop + 2) % 3;
  const double side = area[drop] < 0 ? -1 : 1;
  std::vector<glm::dvec2> flat;
  for (const glm::dvec3& p : corner) {
    const glm::dvec3 from_first = p - corner[0];
    flat.emplace_back(side * from_first[u], from_first[v]);
  }
  return flat;
}

class Cutter {
 public:
  explicit Cutter(std::vector<glm::dvec2> flat) : flat_(std::move(flat)), left_(flat_.size()) {
    std::iota(left_.begin(), left_.end(), std::size_t{0});
  }

  std::optional<Triangles> cut() {
    Triangles triangles;
    std::size_t at = 0, tried = 0;
    while (left_.size() > 3) {
      const std::size_t n = left_.size(), next = (at + 1) % n, last = (at + n - 1) % n;
      if (is_ear(left_[last], left_[at], left_[next])) {
        triangles.push_back({left_[last], left_[at], left_[next]});
        left_.erase(left_.begin() + static_cast<std::ptrdiff_t>(at));
        // Going on two corners further spreads the cuts around, which makes fewer thin triangles.
        at = (at + 1) % left_.size();
        tried = 0;
      } else {
        at = next;
        if (++tried == n) return std::nullopt;
      }
    }
    if (turn(flat_[left_[0]], flat_[left_[1]], flat_[left_[2]]) < 0) return std::nullopt;
    triangles.push_back({left_[0], left_[1], left_[2]});
    return triangles;
  }

 private:
  // Not turned inwards, and no other corner inside. Corners that coincide with those of the ear, as along a
  // cut to a hole, are not in its way.
  bool is_ear(std::size_t a, std::size_t b, std::size_t c) const {
    const glm::dvec2 &pa = flat_[a], &pb = flat_[b], &pc = flat_[c];
    const double area = turn(pa, pb, pc);
    if (area <= 0) return area == 0;
    for (const std::size_t other : left_) {
      if (other == a || other == b || other == c) continue;
      const glm::dvec2& p = flat_[other];
      if (turn(pa, pb, p) > 0 && turn(pb, pc, p) > 0 && turn(pc, pa, p) > 0) return false;
    }
    return true;
  }

  std::vector<glm::dvec2> flat_;
  std::vector<std::size_t> left_;
};

}  // namespace

std::optional<Triangles> cut_polygon(const std::vector<glm::dvec3>& corner) {
  if (corner.size() < 3) return std::nullopt;
  if (corner.size() == 3) return Triangles{{0, 1, 2}};
  auto flat = flattened(corner);
  if (!flat) return std::nullopt;
  if (corner.size() == 4) {
    // Of the diagonals that lie inside, the shorter one.
    const std::vector<glm::dvec2>& p = *flat;
    const bool across = turn(p[0], p[1], p[2]) >= 0 && turn(p[2], p[3], p[0]) >= 0;
    const bool down = turn(p[1], p[2], p[3]) >= 0 && turn(p[3], p[0], p[1]) >= 0;
    if (!across && !down) return std::nullopt;
    const bool shorter = glm::length(corner[2] - corner[0]) < glm::length(corner[3] - corner[1]);
    if (across && (shorter || !down)) return Triangles{{0, 1, 2}, {0, 2, 3}};
    return Triangles{{0, 1, 3}, {1, 2, 3}};
  }
  return Cutter(std::move(*flat)).cut();
}

}  // namespace undercap
