// A sheet of triangles cut along a line that does not follow them: torn edges, gaps and holes.
#pragma once

#include <vector>

#include "engine/shape/mesh.h"

namespace undercap {

// What remains of a sheet where 'kept', one number a position and linear over each triangle, is above 0.
// Edges that cross 0 get a position there, shared by both sides; tint and uv are those of the place. Normals
// are not carried over.
Mesh cut_sheet(const Mesh& sheet, const std::vector<double>& kept);

}  // namespace undercap
