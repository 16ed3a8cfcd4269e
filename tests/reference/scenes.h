// Five small sets, each with one hard thing in it. Scene texts without their first line.
#pragma once

#include <string>
#include <vector>

namespace undercap::reference {

struct NamedScene {
  std::string name, text;
};
const std::vector<NamedScene>& scenes();

}  // namespace undercap::reference
