// Five small sets, each with one hard thing in it. Scene texts without their first line; the files that they
// name lie in the tests' folder.
#pragma once

#include <string>
#include <vector>

namespace undercap::reference {

struct NamedScene {
  std::string name, text;
};
const std::vector<NamedScene>& scenes();

// stone.obj: an octahedron with the normals of a ball, so that faces and normals differ by up to 55 degrees.
void write_stone(const std::string& folder);

}  // namespace undercap::reference
