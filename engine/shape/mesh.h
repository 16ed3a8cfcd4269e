// A triangle mesh in its own space: metres, z up, base at the origin, the prop's front towards -y.
//
// Counter-clockwise triangles seen from the front (outward) side. Parts are named surfaces ('cap', 'gills');
// a cluster has the same part names once for each individual, numbered from 1.
#pragma once

#include <cstdint>
#include <glm/vec2.hpp>
#include <glm/vec3.hpp>
#include <optional>
#include <string>
#include <vector>

#include "engine/surface/pattern.h"

namespace undercap {

struct MeshPart {
  std::string name;
  int individual = 1;
  std::optional<glm::vec3> reflectance = {};  // linear RGB, where an imported file gives one
  Pattern pattern{};
};

struct MeshTriangle {
  std::uint32_t a = 0, b = 0, c = 0;  // into Mesh::position
  std::uint32_t part = 0;             // into Mesh::parts
};

struct Mesh {
  std::vector<glm::vec3> position;  // m
  std::vector<glm::vec3> normal;    // unit, outward, one a position; empty = faceted
  std::vector<glm::vec3> tint;  // factor on the part's reflectance and transmittance, 0..1.99, its area mean
                                // about 1 over a part; one a position; empty = 1
  std::vector<glm::vec2> uv;    // 0..1, as the part's pattern reads it; one a position; empty = 0
  std::vector<MeshTriangle> triangle;
  std::vector<MeshPart> parts;

  // The index of a part, added when new.
  std::uint32_t part_index(const std::string& name, int individual = 1);
  // Appends another mesh, its parts joined by name and individual.
  void append(const Mesh& other);
};

// For each position the first one that coincides with it.
std::vector<std::uint32_t> welded_positions(const std::vector<glm::vec3>& position);

// Area-weighted vertex normals, smooth over shared positions. Fills mesh.normal.
void smooth_normals(Mesh& mesh);

}  // namespace undercap
