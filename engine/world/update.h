// A world that follows its scene where the geometry stays: what costs no rebuild.
//
// Each leaves the world as build_world would make it from the new scene, but for its notes, which are those
// of the last build. The new scene has the same props and the same sources, and no source has a snoot, which
// is geometry.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

// Power, colour, on and off, time, exposure: no lamp moves and no sky changes its shape. Without 'daylight'
// sky and sun stay as they are, whose level takes a walk over the whole map: 30 ms.
void update_mix(World& world, const Scene& scene, bool daylight = true);

// Where the addresses are that lamps aim at, by their text: finding one asks every triangle, 20 to 60 ms for
// 1.4 million. Stays good while geometry and camera do.
using AimPoints = std::map<std::string, glm::dvec3>;

// The lamps of some sources move or change their beam.
void update_lamps(World& world, const Scene& scene, const std::vector<std::string>& sources,
                  AimPoints& known);

// Points a lamp somewhere, as a source with that roll stands in the hand.
void turn_lamp(Lamp& lamp, const glm::dvec3& toward, double roll_deg);

// A source in the hand: its lamp, placed nowhere yet, and its light group at the source's power.
struct CarriedLamp {
  Lamp lamp;
  LightGroup group;
};
CarriedLamp carried_lamp(const Scene& scene, const Source& source);

// Sky, sun and leaves, and with them all light.
void update_light(World& world, const Scene& scene);

// Lens, place, focus, subject. Barrel and photographer stay where they were: returns whether they are now out
// of place. Throws Refusal for what only geometry can tell, and leaves the world as it was.
bool update_camera(World& world, const Scene& scene);

// A visible card elsewhere: the new scene differs in its place and normal alone. What shines and what is seen
// stay as they were.
void move_card(World& world, const Scene& scene, const std::string& card);

// Whether the meshes of two scenes that differ in the camera alone are made for the same view.
bool same_view(const Scene& a, const Scene& b);

// Whether two worlds have the same triangles.
bool same_geometry(const World& a, const World& b);

// The first triangle of what is no prop and no ground: barrel, photographer, snoots.
std::size_t first_kit_triangle(const World& world);

}  // namespace undercap
