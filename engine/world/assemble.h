// The steps of build_world, in their order. Private to the module.
#pragma once

#include <glm/mat3x3.hpp>
#include <map>
#include <set>

#include "engine/world/world.h"

namespace undercap {

// Props and ground, posed (build.cpp).
void add_props(World& world, const BuildOptions& options);

// Height of the ground at a place, m; 0 where the scene has none.
double floor_height_m(const Ground& ground, double x_m, double y_m);

// Where the camera stands and what it is focused on; needs the props (camera.cpp). Then the barrel and the
// photographer.
void set_camera(World& world);
void add_barrel(World& world);
void add_photographer(World& world);

double julian_date_of(const UtcTime& time);

// Light groups, sky maps, lamps; needs props for aims and emission (sky_light.cpp).
void add_lights(World& world);

// A light that people bring: its lamp and its light group (sources.cpp).
void add_source(World& world, const Source& source);
// The same source over again: its power and colour, and where its lamp moved also that, with what is known of
// its aim. Its snoot stays.
void update_source(World& world, const Source& source, std::map<std::string, glm::dvec3>* moved_by_aims);

// Power and colour of sky, sun and leaves anew, over the maps that the world has (sky_light.cpp).
void update_daylight(World& world);

// Where the camera is before the props are built, and how fine the picture is: what sets the detail of a
// prop.
struct View {
  glm::dvec3 eye_m{0};
  double pixel_per_m = 0;  // size of a pixel of the picture, per metre before the lens
  bool draft = false;      // the surroundings in coarse steps, so that a set has about half its triangles
  // Size of a pixel at a place, m, in steps of the square root of 2, so that a prop stays the same mesh while
  // the camera moves a little.
  double pixel_at(const glm::dvec3& place_m) const;
};
View nominal_view(const Scene& scene, bool draft);

// Where a mesh goes: the columns of 'turn' are the world's directions of its axes.
struct Placement {
  glm::dvec3 origin_m{0};
  glm::dmat3 turn{1};
  double scale = 1;
};

// Appends a posed mesh. 'material' gives the material of each of the mesh's parts, 'row' the row of the table
// of materials that it is; left out, none is of the table. Its individuals are numbered on from 'before'.
void append_mesh(World& world, const Mesh& mesh, const Placement& placement, const std::string& prop,
                 const std::vector<Material>& material, const std::vector<std::string>& row = {},
                 int before = 0);

// The one point that an address or a point means: the centroid of the individual nearest the camera, or a
// source's or a meter's place. Refuses what is hidden or not there; 'asker' names the key.
glm::dvec3 point_of(const World& world, const Target& target, const std::string& asker);

// First place where a ray from 'from' toward 'through' meets the given parts.
std::optional<glm::dvec3> first_hit(const World& world, const std::vector<std::uint32_t>& parts,
                                    const glm::dvec3& from, const glm::dvec3& through);

// The props that have a point inside: rays in five directions all cross such a surface an odd number of
// times, which no ray does that leaves through an open side.
std::set<std::string> closed_props_around(const World& world, const glm::dvec3& point);

// The parts of an address, of the individual nearest the camera when the address does not number it.
std::vector<std::uint32_t> nearest_parts(const World& world, const Address& address);

}  // namespace undercap
