// Ten small sets, each with one hard thing in it. Scene texts without their first line; the files that they
// name lie in the tests' folder.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "engine/world/world.h"

namespace undercap::reference {

struct NamedScene {
  std::string name, text;
  std::function<void(World&)> alter = {};  // what no text says
  double most_left_out = 0.25;             // share of the comparisons that may be too skewed to judge
};
const std::vector<NamedScene>& scenes();
std::vector<NamedScene> wood_scenes();  // three of them
std::vector<NamedScene> kit_scenes();   // and the last two

// stone.obj: an octahedron with the normals of a ball, so that faces and normals differ by up to 55 degrees.
void write_stone(const std::string& folder);

}  // namespace undercap::reference
