// Where the props of a scene stand, lean and grow: on the ground, or on a prop further up in the file.
//
// A prop's own space is the kit's: metres, base at the origin, z up, front towards -y.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "engine/world/assemble.h"
#include "engine/world/host_surface.h"

namespace undercap {

// One individual, or one cluster, ready to be built.
struct Stand {
  const Prop* prop = nullptr;
  std::shared_ptr<const HostSurface> host{};  // null: the ground
  KeyValues values{};                         // the prop's, with a seed of its own where it is scattered
  Placement placement{};
  glm::dvec3 start{0, 0, 1};  // where it first grows to, in its own space, unit
  // Whether it keeps to what is below it; a prop with a height of its own and no host stands free.
  bool free = false;
};

// Where a prop stands, or the many places where it is scattered. Refuses a place that its host does not
// reach; 'notes' gets what found no room.
std::vector<Stand> stands_of(const Scene& scene, const Prop& prop, std::shared_ptr<const HostSurface> host,
                             std::vector<std::string>& notes);

// What the kind is told. The stand and the scene must outlive it.
Setting setting_of(const Scene& scene, const Stand& stand, const View& view);

// Fits a built mesh to its host: bent where it grows out of a flank, and sunk until no rim stands off.
void settle(Mesh& mesh, Stand& stand);

}  // namespace undercap
