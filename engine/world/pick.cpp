#include "engine/world/pick.h"

#include <glm/geometric.hpp>
#include <limits>

namespace undercap {
namespace {

// Moeller and Trumbore 1997. In single precision: a click is no measurement.
float hit_distance(const glm::vec3& a, const glm::vec3& ab, const glm::vec3& ac, const glm::vec3& from,
                   const glm::vec3& d) {
  const glm::vec3 p = glm::cross(d, ac);
  const float det = glm::dot(ab, p);
  if (det == 0) return -1;
  const float inverse = 1 / det;
  const glm::vec3 s = from - a;
  const float u = glm::dot(s, p) * inverse;
  if (u < 0 || u > 1) return -1;
  const glm::vec3 q = glm::cross(s, ab);
  const float v = glm::dot(d, q) * inverse;
  return v < 0 || u + v > 1 ? -1 : glm::dot(ac, q) * inverse;
}

}  // namespace

glm::dvec3 frame_direction(const CameraRig& camera, const glm::dvec2& in_frame) {
  const double across = (in_frame.x - 0.5) * (camera.width / camera.image_distance),
               up = (0.5 - in_frame.y) * (camera.height / camera.image_distance);
  return glm::normalize(camera.forward + across * camera.right + up * camera.up);
}

std::optional<glm::dvec2> frame_place(const CameraRig& camera, const glm::dvec3& place_m) {
  const glm::dvec3 line = place_m - camera.pupil_m;
  const double ahead = glm::dot(line, camera.forward);
  if (ahead <= 1e-4) return std::nullopt;
  const double across = glm::dot(line, camera.right) / ahead / (camera.width / camera.image_distance),
               up = glm::dot(line, camera.up) / ahead / (camera.height / camera.image_distance);
  return glm::dvec2(0.5 + across, 0.5 - up);
}

std::optional<Picked> pick(const World& world, const glm::dvec2& in_frame) {
  const glm::dvec3 direction = frame_direction(world.camera, in_frame);
  // Rays begin past the barrel's front.
  const double skipped = world.camera.clear_ahead.value() / glm::dot(direction, world.camera.forward);
  const glm::vec3 from(world.camera.pupil_m + skipped * direction), d(direction);
  float nearest = std::numeric_limits<float>::infinity();
  std::uint32_t part = 0;
  for (const WorldTriangle& t : world.triangle) {
    const glm::vec3& a = world.position[t.a];
    const float at = hit_distance(a, world.position[t.b] - a, world.position[t.c] - a, from, d);
    if (at > 1e-6f && at < nearest && !world.parts[t.part].prop.empty()) {
      nearest = at;
      part = t.part;
    }
  }
  if (nearest == std::numeric_limits<float>::infinity()) return std::nullopt;
  return Picked{glm::dvec3(from + nearest * d), part};
}

}  // namespace undercap
