#include "engine/shape/twig.h"

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/mesh_build.h"
#include "engine/shape/noise.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;
constexpr int knees = 6;        // corners of a twig's line
constexpr int rows_a_span = 3;  // rings between two of them

// Through the corners without overshoot (Catmull and Rom 1974).
glm::dvec3 on_line(const glm::dvec3 (&corner)[knees], double at) {
  const int span = std::min(static_cast<int>(at), knees - 2);
  const double t = at - span;
  const glm::dvec3 b = corner[span], c = corner[span + 1];
  const glm::dvec3 a = span > 0 ? corner[span - 1] : 2.0 * b - c;
  const glm::dvec3 d = span + 2 < knees ? corner[span + 2] : 2.0 * c - b;
  return 0.5 * (2.0 * b + (c - a) * t + (2.0 * a - 5.0 * b + 4.0 * c - d) * t * t +
                (3.0 * b - a - 3.0 * c + d) * t * t * t);
}

class TwigBuilder {
 public:
  TwigBuilder(Mesh& mesh, const TwigShape& shape)
      : mesh_(mesh), shape_(shape), random_(shape.seed), part_(mesh.part_index("twig")) {
    shade_ = random_.between(0.7, 1.25);
  }

  void grow(const glm::dvec3& start, double heading, double length, double radius, int order) {
    glm::dvec3 corner[knees];
    corner[0] = start;
    for (int i = 1; i < knees; ++i) {
      heading += random_.between(-0.33, 0.33);
      const glm::dvec3 along(std::cos(heading), std::sin(heading), random_.between(-0.10, 0.12));
      corner[i] = corner[i - 1] + length / (knees - 1) * random_.between(0.75, 1.25) * along;
      corner[i].z = std::max(corner[i].z, 0.4 * radius);
    }
    tube(corner, radius);
    if (order <= 1) return;
    const int children = 1 + static_cast<int>(3 * random_.unit());
    for (int i = 0; i < children; ++i) {
      const double side = random_.chance(0.5) ? 1.0 : -1.0;
      const double at = random_.between(0.8, knees - 1.6);
      grow(on_line(corner, at), heading + side * random_.between(0.45, 1.0),
           length * random_.between(0.3, 0.6), 0.62 * radius, order - 1);
    }
  }

 private:
  void tube(const glm::dvec3 (&corner)[knees], double radius) {
    const int rows = (knees - 1) * rows_a_span + 1;
    const int sides = shape_.sides;
    const auto first = static_cast<std::uint32_t>(mesh_.position.size());
    for (int row = 0; row < rows; ++row) {
      const double at = static_cast<double>(row) / rows_a_span;
      const glm::dvec3 middle = on_line(corner, at);
      const glm::dvec3 along = glm::normalize(on_line(corner, std::min(at + 0.05, knees - 1.0)) -
                                              on_line(corner, std::max(at - 0.05, 0.0)));
      const glm::dvec3 across = glm::normalize(glm::cross(glm::dvec3(0, 0, 1), along));
      const glm::dvec3 up = glm::cross(along, across);
      for (int side = 0; side < sides; ++side) {
        const double angle = 2 * pi * side / sides;
        const glm::dvec3 ring(std::cos(angle), std::sin(angle), at);
        const double bumps =
            1 + 0.22 * gradient_noise(1.7 * ring + glm::dvec3(shape_.seed % 97u), shape_.seed + 7);
        // Old buds and scars thicken it at its knees.
        const double knee = ramp(0.30, 0.0, std::abs(at - std::round(at)));
        const double thick = radius * (1 - 0.55 * at / (knees - 1)) * bumps * (1 + 0.22 * knee);
        mesh_.position.emplace_back(middle + thick * (std::cos(angle) * across + std::sin(angle) * up));
        const double speck =
            1 + 0.5 * gradient_noise(glm::dvec3(2.9 * ring.x, 2.9 * ring.y, 4 * at), shape_.seed + 8);
        mesh_.tint.emplace_back(shade_ * speck * glm::dvec3(0.13, 0.092, 0.064));
      }
    }
    add_grid_triangles(mesh_, {first, rows, sides, true}, part_);
    close(corner[0], first, true);
    close(corner[knees - 1], first + static_cast<std::uint32_t>((rows - 1) * sides), false);
  }

  void close(const glm::dvec3& end, std::uint32_t ring, bool reversed) {
    mesh_.position.emplace_back(end);
    mesh_.tint.emplace_back(shade_ * glm::dvec3(0.22, 0.16, 0.10));
    add_fan(mesh_, static_cast<std::uint32_t>(mesh_.position.size() - 1), ring, shape_.sides, part_,
            reversed);
  }

  Mesh& mesh_;
  TwigShape shape_;
  Random random_;
  std::uint32_t part_;
  double shade_ = 1;
};

}  // namespace

Mesh make_twig(const TwigShape& shape) {
  Mesh mesh;
  TwigBuilder builder(mesh, shape);
  mesh.parts[0].pattern = {
      .kind = PatternKind::twig, .seed = shape.seed, .size_mm = static_cast<float>(shape.radius)};
  builder.grow({-0.5 * shape.length, 0, 0.6 * shape.radius}, 0, shape.length, shape.radius, shape.orders);
  return mesh;
}

Mesh make_crumb(double size, double stretch, std::uint32_t seed) {
  Random random(seed);
  Mesh mesh;
  const std::uint32_t part = mesh.part_index("twig");
  const double kind = random.unit();
  const glm::dvec3 colour = (kind < 0.55   ? glm::dvec3(0.052, 0.036, 0.024)
                             : kind < 0.85 ? glm::dvec3(0.115, 0.075, 0.046)
                                           : glm::dvec3(0.24, 0.165, 0.10)) *
                            random.between(0.7, 1.3);
  for (const glm::dvec3& corner :
       {glm::dvec3(1, 0, 0), {0, 1, 0}, {-1, 0, 0}, {0, -1, 0}, {0, 0, 0.8}, {0, 0, -0.8}}) {
    const glm::dvec3 bent =
        corner + 0.35 * glm::dvec3(random.between(-1, 1), random.between(-1, 1), random.between(-1, 1));
    mesh.position.emplace_back(0.5 * size * glm::dvec3(stretch * bent.x, bent.y, bent.z));
    mesh.tint.emplace_back(colour * random.between(0.85, 1.15));
  }
  add_fan(mesh, 4, 0, 4, part);
  add_fan(mesh, 5, 0, 4, part, true);
  return mesh;
}

}  // namespace undercap
