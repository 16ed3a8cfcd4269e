// The steps of build_world, in their order. Private to the module.
#pragma once

#include <set>

#include "engine/world/world.h"

namespace undercap {

// Props and ground, posed (build.cpp).
void add_props(World& world);

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

// Appends a posed mesh. 'material' gives the material of each of the mesh's parts, 'row' the row of the table
// of materials that it is; left out, none is of the table.
struct Placement {
  glm::dvec3 origin_m{0};
  double turn_rad = 0, tilt_rad = 0, scale = 1;
};
void append_mesh(World& world, const Mesh& mesh, const Placement& placement, const std::string& prop,
                 const std::vector<Material>& material, const std::vector<std::string>& row = {});

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
