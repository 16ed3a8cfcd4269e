// What every mesh of the kit must obey, as questions for the tests.
#pragma once

#include <set>
#include <string>

#include "engine/shape/kinds.h"

namespace undercap::testing {

// Empty when indices are valid, numbers finite, arrays complete, normals unit, and no triangle is without
// area.
std::string well_formed_fault(const Mesh& mesh);

// Only the triangles of one part, positions that coincide joined.
Mesh welded_part(const Mesh& mesh, const std::string& part);
Mesh welded(const Mesh& mesh);

// Edges of a body that do not lie between two triangles running through them in opposite directions; joins
// first. Triangles of the parts 'sheets' close a body, as the floor between gills does, and may hang on it,
// but need not be closed themselves.
std::size_t open_edges(const Mesh& mesh, const std::set<std::string>& sheets = {});

// Enclosed volume with sign, m3, by the divergence theorem: sum of det(a, b, c) / 6; above 0 when faces look
// outward.
double signed_volume(const Mesh& mesh);

// Share of the area whose vertex normals lie on the front side of their face.
double share_of_normals_in_front(const Mesh& mesh);

struct Extent {
  glm::dvec3 low{1e9}, high{-1e9};
};
Extent extent(const Mesh& mesh);

// Bytes of everything a mesh holds, to compare two builds.
std::string bytes_of(const Mesh& mesh);

// Built once and kept.
const Mesh& build_default(const std::string& kind, double seed = 1);
Mesh build_with(const std::string& kind, KeyValues changes, const Setting& setting = {});

}  // namespace undercap::testing
