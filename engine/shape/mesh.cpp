#include "engine/shape/mesh.h"

#include <algorithm>
#include <bit>
#include <glm/geometric.hpp>
#include <limits>

namespace undercap {
namespace {

std::size_t position_hash(const glm::vec3& position) {
  std::uint64_t hash = 0x9e3779b97f4a7c15u;
  for (int axis = 0; axis < 3; ++axis) {
    // Adding zero makes -0 and +0, which compare equal, hash equally.
    hash = (hash ^ std::bit_cast<std::uint32_t>(position[axis] + 0.0f)) * 0xff51afd7ed558ccdu;
    hash ^= hash >> 32;
  }
  return static_cast<std::size_t>(hash);
}

// Gives every triangle its own three positions with the face's normal: the indexed form of a faceted mesh.
Mesh with_face_normals(const Mesh& faceted) {
  Mesh mesh;
  mesh.parts = faceted.parts;
  for (const MeshTriangle& triangle : faceted.triangle) {
    const std::uint32_t corners[3] = {triangle.a, triangle.b, triangle.c};
    const glm::vec3 across = glm::cross(faceted.position[triangle.b] - faceted.position[triangle.a],
                                        faceted.position[triangle.c] - faceted.position[triangle.a]);
    const float length = glm::length(across);
    const auto first = static_cast<std::uint32_t>(mesh.position.size());
    for (const std::uint32_t corner : corners) {
      mesh.position.push_back(faceted.position[corner]);
      mesh.normal.push_back(length > 0 ? across / length : glm::vec3(0, 0, 1));
      if (!faceted.tint.empty()) mesh.tint.push_back(faceted.tint[corner]);
      if (!faceted.uv.empty()) mesh.uv.push_back(faceted.uv[corner]);
    }
    mesh.triangle.push_back({first, first + 1, first + 2, triangle.part});
  }
  return mesh;
}

}  // namespace

// An open table, since meshes have a million positions.
std::vector<std::uint32_t> welded_positions(const std::vector<glm::vec3>& position) {
  constexpr std::uint32_t vacant = std::numeric_limits<std::uint32_t>::max();
  const std::size_t mask = std::bit_ceil(2 * position.size() + 1) - 1;
  std::vector<std::uint32_t> table(mask + 1, vacant);
  std::vector<std::uint32_t> ids;
  ids.reserve(position.size());
  for (const glm::vec3& place : position) {
    std::size_t slot = position_hash(place) & mask;
    while (table[slot] != vacant && position[table[slot]] != place) slot = (slot + 1) & mask;
    if (table[slot] == vacant) table[slot] = static_cast<std::uint32_t>(ids.size());
    ids.push_back(table[slot]);
  }
  return ids;
}

std::uint32_t Mesh::part_index(const std::string& name, int individual) {
  const auto found = std::find_if(parts.begin(), parts.end(), [&](const MeshPart& part) {
    return part.name == name && part.individual == individual;
  });
  if (found != parts.end()) return static_cast<std::uint32_t>(found - parts.begin());
  parts.push_back({name, individual});
  return static_cast<std::uint32_t>(parts.size() - 1);
}

void Mesh::append(const Mesh& other) {
  // One mesh has normals everywhere or nowhere, so a faceted half is rewritten when the other half is smooth.
  if (!position.empty() && !other.position.empty()) {
    if (normal.empty() && !other.normal.empty()) *this = with_face_normals(*this);
    if (!normal.empty() && other.normal.empty()) return append(with_face_normals(other));
    if (tint.empty() && !other.tint.empty()) tint.assign(position.size(), glm::vec3(1));
  }
  const auto first = static_cast<std::uint32_t>(position.size());
  position.insert(position.end(), other.position.begin(), other.position.end());
  normal.insert(normal.end(), other.normal.begin(), other.normal.end());
  tint.insert(tint.end(), other.tint.begin(), other.tint.end());
  if (!tint.empty()) tint.resize(position.size(), glm::vec3(1));
  if (!uv.empty() || !other.uv.empty()) uv.resize(first, glm::vec2(0));
  uv.insert(uv.end(), other.uv.begin(), other.uv.end());
  if (!uv.empty()) uv.resize(position.size(), glm::vec2(0));
  std::vector<std::uint32_t> part_here;
  for (const MeshPart& part : other.parts) {
    part_here.push_back(part_index(part.name, part.individual));
    parts[part_here.back()].reflectance = part.reflectance;
    parts[part_here.back()].pattern = part.pattern;
  }
  triangle.reserve(triangle.size() + other.triangle.size());
  for (const MeshTriangle& one : other.triangle) {
    triangle.push_back({first + one.a, first + one.b, first + one.c, part_here[one.part]});
  }
}

void smooth_normals(Mesh& mesh) {
  const std::vector<std::uint32_t> ids = welded_positions(mesh.position);
  std::vector<glm::dvec3> sums(mesh.position.size(), glm::dvec3(0));
  for (const MeshTriangle& triangle : mesh.triangle) {
    const glm::dvec3 origin(mesh.position[triangle.a]);
    // The cross product is twice the area long: the weight comes with it.
    const glm::dvec3 across = glm::cross(glm::dvec3(mesh.position[triangle.b]) - origin,
                                         glm::dvec3(mesh.position[triangle.c]) - origin);
    for (const std::uint32_t corner : {triangle.a, triangle.b, triangle.c}) sums[ids[corner]] += across;
  }
  mesh.normal.resize(mesh.position.size());
  for (std::size_t i = 0; i < mesh.position.size(); ++i) {
    const double length = glm::length(sums[ids[i]]);
    mesh.normal[i] = length > 0 ? glm::vec3(sums[ids[i]] / length) : glm::vec3(0, 0, 1);
  }
}

}  // namespace undercap
