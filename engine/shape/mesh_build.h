// Small tools for the builders of the kit: grids of triangles, shared borders, and colours brought to their
// mean.
#pragma once

#include <cstdint>
#include <string_view>

#include "engine/shape/mesh.h"

namespace undercap {

// Positions already in the mesh, row after row from 'first'; seen from the front, columns run to the right
// and rows up.
struct Grid {
  std::uint32_t first = 0;
  int rows = 0, columns = 0;
  bool closed_ring = false;  // the last column joins the first
};
void add_grid_triangles(Mesh& mesh, const Grid& grid, std::uint32_t part);

// A fan from one position round a closed ring of them; counter-clockwise as the ring runs.
void add_fan(Mesh& mesh, std::uint32_t centre, std::uint32_t ring_first, int ring_count, std::uint32_t part,
             bool reversed = false);

// Fills the normals: smooth, but within the named part sharp over edges steeper than the crease, rad, and
// round it. Each corner of that part's triangles gets a position of its own.
void sharpen_part(Mesh& mesh, std::uint32_t part, double crease);

// Gives each part its own copy of positions that several parts use, so that a tint may step at the border.
void split_shared_positions(Mesh& mesh);

double triangle_area(const Mesh& mesh, const MeshTriangle& triangle);
double surface_area(const Mesh& mesh);

// Area means, m2-weighted, of a part's tint over all individuals.
glm::dvec3 mean_tint(const Mesh& mesh, std::string_view part_name);

// Turns colours held in mesh.tint into factors with area mean 1 over the named part (all individuals
// together) and no factor above 'highest'. The colours' own level does not matter, only their ratios. No two
// parts may share positions.
void balance_tint(Mesh& mesh, std::string_view part_name, float highest);

// The mesh with every length multiplied.
void scale_mesh(Mesh& mesh, float factor);

}  // namespace undercap
