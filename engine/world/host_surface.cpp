#include "engine/world/host_surface.h"

#include <algorithm>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <limits>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr std::uint32_t leaf_size = 4;

glm::vec3 middle_of(const HostSurface::Corners& t) { return (t[0] + t[1] + t[2]) / 3.f; }

glm::dvec3 across(const HostSurface::Corners& t) {
  return glm::cross(glm::dvec3(t[1]) - glm::dvec3(t[0]), glm::dvec3(t[2]) - glm::dvec3(t[0]));
}

// Squared distance from a point to a box.
double distance_squared(const glm::dvec3& p, const glm::vec3& low, const glm::vec3& high) {
  const glm::dvec3 out = p - glm::clamp(p, glm::dvec3(low), glm::dvec3(high));
  return glm::dot(out, out);
}

// The point of a triangle nearest to p, by the regions of its corners, edges and inside (Ericson 2005,
// Real-Time Collision Detection, 5.1.5).
glm::dvec3 nearest_of(const HostSurface::Corners& t, const glm::dvec3& p) {
  const glm::dvec3 a(t[0]), b(t[1]), c(t[2]), ab = b - a, ac = c - a;
  const glm::dvec3 ap = p - a, bp = p - b, cp = p - c;
  const double d1 = glm::dot(ab, ap), d2 = glm::dot(ac, ap), d3 = glm::dot(ab, bp), d4 = glm::dot(ac, bp),
               d5 = glm::dot(ab, cp), d6 = glm::dot(ac, cp);
  if (d1 <= 0 && d2 <= 0) return a;
  if (d3 >= 0 && d4 <= d3) return b;
  const double vc = d1 * d4 - d3 * d2;
  if (vc <= 0 && d1 >= 0 && d3 <= 0) return a + ab * (d1 / (d1 - d3));
  if (d6 >= 0 && d5 <= d6) return c;
  const double vb = d5 * d2 - d1 * d6;
  if (vb <= 0 && d2 >= 0 && d6 <= 0) return a + ac * (d2 / (d2 - d6));
  const double va = d3 * d6 - d5 * d4;
  if (va <= 0 && d4 >= d3 && d5 >= d6) return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
  return a + ab * (vb / (va + vb + vc)) + ac * (vc / (va + vb + vc));
}

// Distance along a ray (Moeller & Trumbore 1997).
std::optional<double> hit(const HostSurface::Corners& t, const glm::dvec3& from, const glm::dvec3& d) {
  const glm::dvec3 a(t[0]), ab = glm::dvec3(t[1]) - a, ac = glm::dvec3(t[2]) - a, p = glm::cross(d, ac);
  const double determinant = glm::dot(ab, p);
  if (determinant == 0) return std::nullopt;
  const glm::dvec3 s = from - a, q = glm::cross(s, ab);
  const double u = glm::dot(s, p) / determinant, v = glm::dot(d, q) / determinant;
  if (u < 0 || v < 0 || u + v > 1) return std::nullopt;
  return glm::dot(ac, q) / determinant;
}

// Where a ray enters a box; infinity where it misses.
double entry(const glm::dvec3& from, const glm::dvec3& d, const glm::dvec3& low, const glm::dvec3& high) {
  double enter = 0, leave = std::numeric_limits<double>::infinity();
  for (int axis = 0; axis < 3; ++axis) {
    double a = (low[axis] - from[axis]) / d[axis], b = (high[axis] - from[axis]) / d[axis];
    if (d[axis] == 0) {
      if (from[axis] < low[axis] || from[axis] > high[axis]) return std::numeric_limits<double>::infinity();
      continue;
    }
    if (a > b) std::swap(a, b);
    enter = std::max(enter, a);
    leave = std::min(leave, b);
  }
  return enter <= leave ? enter : std::numeric_limits<double>::infinity();
}

}  // namespace

HostSurface::HostSurface(std::vector<Corners> triangles) : triangles_(std::move(triangles)) {
  std::erase_if(triangles_, [](const Corners& t) { return glm::length(across(t)) == 0; });
  UNDERCAP_CHECK(!triangles_.empty(), "a host has a surface");
  nodes_.reserve(triangles_.size());
  build(0, static_cast<std::uint32_t>(triangles_.size()));
}

std::uint32_t HostSurface::build(std::uint32_t first, std::uint32_t count) {
  const auto number = static_cast<std::uint32_t>(nodes_.size());
  glm::vec3 low(std::numeric_limits<float>::max()), high(-low), least = low, most = high;
  for (std::uint32_t i = first; i < first + count; ++i) {
    for (const glm::vec3& corner : triangles_[i]) low = glm::min(low, corner), high = glm::max(high, corner);
    least = glm::min(least, middle_of(triangles_[i]));
    most = glm::max(most, middle_of(triangles_[i]));
  }
  nodes_.push_back({low, high, first, count, 0});
  if (count <= leaf_size) return number;
  const glm::vec3 size = most - least;
  const int axis = size.x >= size.y && size.x >= size.z ? 0 : size.y >= size.z ? 1 : 2;
  const auto begin = triangles_.begin() + first;
  std::nth_element(begin, begin + count / 2, begin + count, [axis](const Corners& a, const Corners& b) {
    return middle_of(a)[axis] < middle_of(b)[axis];
  });
  nodes_[number].count = 0;
  build(first, count / 2);
  nodes_[number].far = build(first + count / 2, count - count / 2);
  return number;
}

HostPlace HostSurface::nearest(const glm::dvec3& point) const {
  HostPlace best;
  double least = std::numeric_limits<double>::infinity();
  std::vector<std::uint32_t> open{0};
  while (!open.empty()) {
    const Node& node = nodes_[open.back()];
    const std::uint32_t number = open.back();
    open.pop_back();
    if (distance_squared(point, node.low, node.high) >= least) continue;
    for (std::uint32_t i = node.first; i < node.first + node.count; ++i) {
      const glm::dvec3 place = nearest_of(triangles_[i], point), apart = place - point;
      if (glm::dot(apart, apart) >= least) continue;
      least = glm::dot(apart, apart);
      best = {place, glm::normalize(across(triangles_[i]))};
    }
    if (node.count > 0) continue;
    const Node &left = nodes_[number + 1], &right = nodes_[node.far];
    const bool left_first =
        distance_squared(point, left.low, left.high) <= distance_squared(point, right.low, right.high);
    open.push_back(left_first ? node.far : number + 1);
    open.push_back(left_first ? number + 1 : node.far);
  }
  return best;
}

std::optional<HostPlace> HostSurface::first_along(const glm::dvec3& from, const glm::dvec3& direction) const {
  double least = std::numeric_limits<double>::infinity();
  const Corners* struck = nullptr;
  std::vector<std::uint32_t> open{0};
  while (!open.empty()) {
    const std::uint32_t number = open.back();
    const Node& node = nodes_[number];
    open.pop_back();
    if (entry(from, direction, glm::dvec3(node.low), glm::dvec3(node.high)) >= least) continue;
    for (std::uint32_t i = node.first; i < node.first + node.count; ++i)
      if (const auto distance = hit(triangles_[i], from, direction);
          distance && *distance >= 0 && *distance < least)
        least = *distance, struck = &triangles_[i];
    if (node.count > 0) continue;
    open.push_back(node.far);
    open.push_back(number + 1);
  }
  if (!struck) return std::nullopt;
  return HostPlace{from + least * direction, glm::normalize(across(*struck))};
}

glm::dvec3 HostSurface::mean_normal(const HostPlace& place, double radius_m) const {
  glm::dvec3 sum = 1e-12 * place.normal;
  std::vector<std::uint32_t> open{0};
  while (!open.empty()) {
    const std::uint32_t number = open.back();
    const Node& node = nodes_[number];
    open.pop_back();
    if (distance_squared(place.point_m, node.low, node.high) > radius_m * radius_m) continue;
    for (std::uint32_t i = node.first; i < node.first + node.count; ++i)
      if (glm::distance(glm::dvec3(middle_of(triangles_[i])), place.point_m) <= radius_m)
        sum += across(triangles_[i]);
    if (node.count > 0) continue;
    open.push_back(node.far);
    open.push_back(number + 1);
  }
  return glm::normalize(sum);
}

}  // namespace undercap
