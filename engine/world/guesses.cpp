#include "engine/world/guesses.h"

#include <algorithm>
#include <numeric>

#include "engine/surface/materials.h"

namespace undercap {

std::vector<std::string> guessed_rows(const World& world, const std::vector<std::uint32_t>& parts) {
  std::vector<std::string> rows;
  for (const std::uint32_t part : parts) {
    const MaterialRow* row = find_material(world.parts[part].row);
    if (row && row->origin == MaterialRow::Origin::guess &&
        std::find(rows.begin(), rows.end(), row->name) == rows.end())
      rows.push_back(row->name);
  }
  return rows;
}

std::vector<std::string> guessed_rows(const World& world) {
  std::vector<std::uint32_t> all(world.parts.size());
  std::iota(all.begin(), all.end(), 0u);
  return guessed_rows(world, all);
}

}  // namespace undercap
