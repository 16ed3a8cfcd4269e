#include "engine/shape/wart.h"

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>
#include <vector>

#include "engine/shape/mesh_build.h"

namespace undercap {

void add_wart(Mesh& mesh, std::uint32_t part, const Wart& wart, Random& random) {
  const glm::dvec3 aside = std::abs(wart.up.z) < 0.9 ? glm::dvec3(0, 0, 1) : glm::dvec3(1, 0, 0);
  const glm::dvec3 x = glm::normalize(glm::cross(aside, wart.up)), y = glm::cross(wart.up, x);
  const auto first = static_cast<std::uint32_t>(mesh.position.size());
  const double turned = random.between(0, 6.28), step = 2 * std::numbers::pi / wart.corners;
  std::vector<double> reach, angle;
  for (int corner = 0; corner < wart.corners; ++corner) {
    reach.push_back(wart.size * random.between(0.74, 1.2));
    angle.push_back(turned + step * (corner + random.between(-0.25, 0.25)));
  }
  const auto add = [&](const glm::dvec3& place, double share) {
    mesh.position.emplace_back(place);
    mesh.tint.emplace_back(1.f);
    mesh.uv.emplace_back(0.f, static_cast<float>(share));
  };
  const auto add_ring = [&](double out, double height, double rough) {
    for (std::size_t i = 0; i < reach.size(); ++i) {
      const double high = height * (1 - rough * random.unit());
      add(wart.base + out * reach[i] * (std::cos(angle[i]) * x + std::sin(angle[i]) * y) + high * wart.up,
          std::max(high / wart.height, 0.0));
    }
  };
  const double sunk = 0.35 * wart.size;
  add_ring(1.0, -sunk, 0);
  add_ring(0.92, 0.32 * wart.height, 0.2);
  add_ring(wart.point, 0.9 * wart.height, 0.2);
  const auto top = static_cast<std::uint32_t>(mesh.position.size());
  add(wart.base + wart.height * wart.up + (0.15 * wart.point * wart.size) * x, 1);
  add(wart.base - sunk * wart.up, 0);
  add_grid_triangles(mesh, {first, 3, wart.corners, true}, part);
  add_fan(mesh, top, top - static_cast<std::uint32_t>(wart.corners), wart.corners, part);
  add_fan(mesh, top + 1, first, wart.corners, part, true);
}

}  // namespace undercap
