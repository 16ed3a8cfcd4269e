#include "engine/shape/mesh_build.h"

#include <algorithm>
#include <cmath>
#include <glm/common.hpp>
#include <glm/geometric.hpp>
#include <limits>
#include <map>
#include <utility>

namespace undercap {

void add_grid_triangles(Mesh& mesh, const Grid& grid, std::uint32_t part) {
  const auto columns = static_cast<std::uint32_t>(grid.columns);
  const std::uint32_t spans = grid.closed_ring ? columns : columns - 1;
  for (std::uint32_t row = 0; row + 1 < static_cast<std::uint32_t>(grid.rows); ++row) {
    for (std::uint32_t column = 0; column < spans; ++column) {
      const std::uint32_t next = (column + 1) % columns;
      const std::uint32_t low = grid.first + row * columns;
      const std::uint32_t high = low + columns;
      // Alternate diagonals: a regular slant shows as a grain in the shading.
      if ((row + column) % 2 == 0) {
        mesh.triangle.push_back({low + column, low + next, high + next, part});
        mesh.triangle.push_back({low + column, high + next, high + column, part});
      } else {
        mesh.triangle.push_back({low + column, low + next, high + column, part});
        mesh.triangle.push_back({low + next, high + next, high + column, part});
      }
    }
  }
}

void add_fan(Mesh& mesh, std::uint32_t centre, std::uint32_t ring_first, int ring_count, std::uint32_t part,
             bool reversed) {
  const auto count = static_cast<std::uint32_t>(ring_count);
  for (std::uint32_t i = 0; i < count; ++i) {
    std::uint32_t here = ring_first + i, next = ring_first + (i + 1) % count;
    if (reversed) std::swap(here, next);
    mesh.triangle.push_back({centre, here, next, part});
  }
}

namespace {

// Each corner of a triangle has a position of its own.
Mesh with_creases(const Mesh& mesh, double crease) {
  const std::vector<std::uint32_t> place = welded_positions(mesh.position);
  std::vector<std::vector<std::uint32_t>> round(mesh.position.size());  // triangles at each place
  std::vector<glm::vec3> face;
  for (const MeshTriangle& one : mesh.triangle) {
    for (const std::uint32_t corner : {one.a, one.b, one.c})
      round[place[corner]].push_back(static_cast<std::uint32_t>(face.size()));
    face.push_back(
        glm::cross(mesh.position[one.b] - mesh.position[one.a], mesh.position[one.c] - mesh.position[one.a]));
  }
  Mesh result;
  result.parts = mesh.parts;
  const auto flattest = static_cast<float>(std::cos(crease));
  for (std::size_t i = 0; i < mesh.triangle.size(); ++i) {
    const MeshTriangle& one = mesh.triangle[i];
    const glm::vec3 own = glm::normalize(face[i]);
    const auto first = static_cast<std::uint32_t>(result.position.size());
    for (const std::uint32_t corner : {one.a, one.b, one.c}) {
      glm::vec3 sum = face[i];
      for (const std::uint32_t other : round[place[corner]])
        if (other != i && glm::dot(face[other], own) > flattest * glm::length(face[other]))
          sum += face[other];
      result.position.push_back(mesh.position[corner]);
      result.normal.push_back(glm::normalize(sum));
      if (!mesh.tint.empty()) result.tint.push_back(mesh.tint[corner]);
      if (!mesh.uv.empty()) result.uv.push_back(mesh.uv[corner]);
    }
    result.triangle.push_back({first, first + 1, first + 2, one.part});
  }
  return result;
}

// The triangles that the rule takes, and the positions that they use.
template <class Rule>
Mesh taken_out(const Mesh& mesh, const Rule& rule) {
  constexpr std::uint32_t unused = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> here(mesh.position.size(), unused);
  Mesh result;
  result.parts = mesh.parts;
  for (MeshTriangle one : mesh.triangle) {
    if (!rule(one)) continue;
    for (std::uint32_t* corner : {&one.a, &one.b, &one.c}) {
      const std::uint32_t original = *corner;
      if (here[original] == unused) {
        here[original] = static_cast<std::uint32_t>(result.position.size());
        result.position.push_back(mesh.position[original]);
        if (!mesh.tint.empty()) result.tint.push_back(mesh.tint[original]);
        if (!mesh.uv.empty()) result.uv.push_back(mesh.uv[original]);
      }
      *corner = here[original];
    }
    result.triangle.push_back(one);
  }
  return result;
}

}  // namespace

void sharpen_part(Mesh& mesh, std::uint32_t part, double crease) {
  Mesh smooth = taken_out(mesh, [&](const MeshTriangle& one) { return one.part != part; });
  smooth_normals(smooth);
  smooth.append(
      with_creases(taken_out(mesh, [&](const MeshTriangle& one) { return one.part == part; }), crease));
  mesh = std::move(smooth);
}

void split_shared_positions(Mesh& mesh) {
  constexpr std::uint32_t unused = std::numeric_limits<std::uint32_t>::max();
  std::vector<std::uint32_t> owner(mesh.position.size(), unused);
  std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> copies;
  for (MeshTriangle& triangle : mesh.triangle) {
    for (std::uint32_t* corner : {&triangle.a, &triangle.b, &triangle.c}) {
      const std::uint32_t original = *corner;
      if (owner[original] == unused) owner[original] = triangle.part;
      if (owner[original] == triangle.part) continue;
      const auto [copy, added] =
          copies.try_emplace({original, triangle.part}, static_cast<std::uint32_t>(mesh.position.size()));
      *corner = copy->second;
      if (!added) continue;
      mesh.position.push_back(glm::vec3(mesh.position[original]));
      if (!mesh.normal.empty()) mesh.normal.push_back(glm::vec3(mesh.normal[original]));
      if (!mesh.tint.empty()) mesh.tint.push_back(glm::vec3(mesh.tint[original]));
      if (!mesh.uv.empty()) mesh.uv.push_back(glm::vec2(mesh.uv[original]));
    }
  }
}

double triangle_area(const Mesh& mesh, const MeshTriangle& triangle) {
  const glm::dvec3 origin(mesh.position[triangle.a]);
  return 0.5 * glm::length(glm::cross(glm::dvec3(mesh.position[triangle.b]) - origin,
                                      glm::dvec3(mesh.position[triangle.c]) - origin));
}

double surface_area(const Mesh& mesh) {
  double area = 0;
  for (const MeshTriangle& triangle : mesh.triangle) area += triangle_area(mesh, triangle);
  return area;
}

glm::dvec3 mean_tint(const Mesh& mesh, std::string_view part_name) {
  glm::dvec3 sum(0);
  double area = 0;
  for (const MeshTriangle& triangle : mesh.triangle) {
    if (mesh.parts[triangle.part].name != part_name) continue;
    const double weight = triangle_area(mesh, triangle);
    // Tint is linear over a triangle, so its mean there is the mean of the corners.
    sum += weight / 3 * glm::dvec3(mesh.tint[triangle.a] + mesh.tint[triangle.b] + mesh.tint[triangle.c]);
    area += weight;
  }
  return area > 0 ? sum / area : glm::dvec3(1);
}

void balance_tint(Mesh& mesh, std::string_view part_name, float highest) {
  std::vector<bool> of_part(mesh.position.size(), false);
  for (const MeshTriangle& triangle : mesh.triangle) {
    if (mesh.parts[triangle.part].name != part_name) continue;
    for (const std::uint32_t corner : {triangle.a, triangle.b, triangle.c}) of_part[corner] = true;
  }
  // Cutting at the highest factor lowers the mean a little; a few rounds bring it back.
  for (int round = 0; round < 20; ++round) {
    const glm::dvec3 mean = mean_tint(mesh, part_name);
    if (glm::length(mean - 1.0) < 1e-3) break;
    const glm::vec3 factor(1.0 / glm::max(mean, glm::dvec3(1e-9)));
    for (std::size_t i = 0; i < mesh.position.size(); ++i) {
      if (of_part[i]) mesh.tint[i] = glm::clamp(mesh.tint[i] * factor, glm::vec3(0), glm::vec3(highest));
    }
  }
}

void scale_mesh(Mesh& mesh, float factor) {
  for (glm::vec3& place : mesh.position) place *= factor;
}

}  // namespace undercap
