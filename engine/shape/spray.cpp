#include "engine/shape/spray.h"

#include <cmath>
#include <glm/geometric.hpp>
#include <numbers>

#include "engine/shape/mesh_build.h"

namespace undercap {
namespace {

constexpr double pi = std::numbers::pi;

// A leaf's own frame: along the midrib, across it, and up from its upper face.
struct LeafPose {
  glm::dvec3 root{0}, along{0, 1, 0}, across{1, 0, 0};
};

glm::dvec3 any_across(const glm::dvec3& along) {
  const glm::dvec3 flat = glm::cross(along, glm::dvec3(0, 0, 1));
  return glm::length(flat) > 0.05 ? glm::normalize(flat) : glm::dvec3(1, 0, 0);
}

void add_leaf(Mesh& mesh, std::uint32_t part, const LeafPose& pose, double length, const glm::dvec3& colour,
              bool small, Random& random) {
  // Half the width at each row, as shares of the length; the blade is folded at the rib and bent downward.
  struct Row {
    double along, half;
  };
  static constexpr Row full[] = {{0, 0.02}, {0.28, 0.27}, {0.62, 0.29}, {1, 0.02}};
  static constexpr Row few[] = {{0, 0.02}, {0.48, 0.32}, {1, 0.02}};
  const int rows = small ? 3 : 4, columns = small ? 2 : 3;
  const double fold = random.between(0.05, 0.6), bend = random.between(-0.1, 0.9);
  const double narrow = random.between(0.75, 1.15), dark = random.between(0.7, 1.0);
  const glm::dvec3 up = glm::cross(pose.across, pose.along);
  const auto first = static_cast<std::uint32_t>(mesh.position.size());
  for (int row = 0; row < rows; ++row) {
    const Row& here = small ? few[row] : full[row];
    const double turned = bend * here.along;
    const glm::dvec3 middle =
        pose.root + length * here.along * (std::cos(0.5 * turned) * pose.along - std::sin(0.5 * turned) * up);
    for (int column = 0; column < columns; ++column) {
      const double v = 2.0 * column / (columns - 1) - 1;
      const double half = v * narrow * here.half * length;
      mesh.position.emplace_back(middle + half * std::cos(fold) * pose.across +
                                 std::abs(half) * std::sin(fold) * up);
      mesh.tint.emplace_back(colour * mix(1.0, dark, std::abs(v)));
      mesh.uv.emplace_back(here.along, 0.5 + 0.5 * v);
    }
  }
  add_grid_triangles(mesh, {first, rows, columns, false}, part);
}

}  // namespace

void add_rod(Mesh& mesh, std::uint32_t part, const std::vector<glm::dvec3>& points, double radius_first,
             double radius_last, int sides, const glm::vec3& tint) {
  const auto first = static_cast<std::uint32_t>(mesh.position.size());
  const int rings = static_cast<int>(points.size());
  // The frame of a ring is that of the ring before, turned as little as the rod bends: its sides do not
  // twist.
  glm::dvec3 across = any_across(glm::normalize(points[1] - points[0]));
  for (int ring = 0; ring < rings; ++ring) {
    const auto at = static_cast<std::size_t>(ring);
    const glm::dvec3 along =
        glm::normalize(points[std::min(at + 1, points.size() - 1)] - points[at > 0 ? at - 1 : 0]);
    across = glm::normalize(across - glm::dot(across, along) * along);
    const glm::dvec3 other = glm::cross(along, across);
    const double radius = mix(radius_first, radius_last, static_cast<double>(ring) / (rings - 1));
    for (int side = 0; side < sides; ++side) {
      const double angle = 2 * pi * side / sides;
      mesh.position.emplace_back(points[at] + radius * (std::cos(angle) * across + std::sin(angle) * other));
    }
  }
  add_grid_triangles(mesh, {first, rings, sides, true}, part);
  for (const bool foot : {true, false}) {
    mesh.position.emplace_back(foot ? points.front() : points.back());
    add_fan(mesh, static_cast<std::uint32_t>(mesh.position.size() - 1),
            first + static_cast<std::uint32_t>(foot ? 0 : (rings - 1) * sides), sides, part, foot);
  }
  mesh.tint.resize(mesh.position.size(), tint);
  mesh.uv.resize(mesh.position.size(), glm::vec2(0));
}

glm::dvec3 hanging_leaf_colour(Random& random, const LeafColours& shares) {
  const double drawn = random.unit(), place = random.unit();
  const double light = random.between(0.75, 1.15);
  if (drawn < shares.green)
    return light * mix(glm::dvec3(0.085, 0.130, 0.026), glm::dvec3(0.24, 0.24, 0.045), place);
  if (drawn < shares.green + shares.yellow)
    return light * mix(glm::dvec3(0.47, 0.33, 0.055), glm::dvec3(0.38, 0.20, 0.045), place * place);
  return light * mix(glm::dvec3(0.26, 0.14, 0.06), glm::dvec3(0.17, 0.10, 0.06), place);
}

void add_spray(Mesh& mesh, const SprayParts& parts, const Spray& spray, Random& random) {
  const double length = glm::length(spray.reach);
  const glm::dvec3 sideways = any_across(spray.reach / length);
  // The rod zigzags from node to node, more so where it is thin.
  const int nodes = std::max(2, spray.leaves);
  std::vector<glm::dvec3> line;
  for (int i = 0; i <= nodes; ++i) {
    const double s = static_cast<double>(i) / nodes;
    const double zigzag = (i % 2 == 0 ? 0.5 : -0.5) * 0.05 * length / std::sqrt(nodes) * s;
    line.push_back(spray.start + s * spray.reach - glm::dvec3(0, 0, spray.droop * s * s) +
                   (zigzag + 0.012 * length * random.spread() * s) * sideways);
  }
  const glm::vec3 shade(static_cast<float>(random.between(0.6, 1.4)));
  if (spray.small && line.size() > 4)
    add_rod(mesh, parts.twig, {line.front(), line[line.size() / 2], line.back()}, spray.radius,
            0.3 * spray.radius, 4, shade);
  else
    add_rod(mesh, parts.twig, line, spray.radius, 0.3 * spray.radius, 4, shade);

  for (int i = 0; i < spray.leaves; ++i) {
    const bool last = i + 1 == spray.leaves;
    const auto node = static_cast<std::size_t>(std::min(i + 1, nodes));
    const glm::dvec3 along = glm::normalize(line[node] - line[node - 1]);
    const glm::dvec3 flat = any_across(along) * (i % 2 == 0 ? 1.0 : -1.0);
    // Out at an angle to the shoot, the last one straight on; all hang, each a little its own way.
    const double off = last ? 0.1 : random.between(0.6, 1.15), hang = random.between(0.1, 1.0);
    const glm::dvec3 axis = glm::normalize(std::cos(off) * along + std::sin(off) * flat +
                                           glm::dvec3(0, 0, -hang) + 0.15 * random.spread() * flat);
    const double roll = 0.35 * random.spread();
    const glm::dvec3 level = any_across(axis), over = glm::cross(level, axis);
    const double size = spray.leaf_length * random.between(0.65, 1.2);
    const glm::dvec3 colour = hanging_leaf_colour(random, spray.colours);
    add_leaf(
        mesh, parts.leaf,
        {line[node] + 0.10 * spray.leaf_length * axis, axis, std::cos(roll) * level + std::sin(roll) * over},
        size, colour, spray.small, random);
  }
}

Pattern spray_leaf_pattern(double leaf_length, std::uint32_t seed) {
  return {.kind = PatternKind::leaf,
          .seed = hash_bits(seed, 0x1eafu),
          .size_mm = static_cast<float>(leaf_length),
          .strength = 0.7f,
          .lines = 7,
          .wear = 0.3f};
}

Pattern spray_twig_pattern(std::uint32_t seed) {
  return {.kind = PatternKind::twig, .seed = hash_bits(seed, 0x7716u), .size_mm = 2};
}

}  // namespace undercap
