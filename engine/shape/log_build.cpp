#include "engine/shape/log_build.h"

#include "engine/shape/kit.h"
#include "engine/shape/mesh_build.h"

namespace undercap {

Mesh build_log(const LogShape& shape) {
  LogTube tube = build_log_tube(shape);
  Mesh mesh = std::move(tube.mesh);
  add_log_ends(mesh, tube, shape);
  scale_mesh(mesh, 1e-3f);
  constexpr double crease = 0.7;  // rad; shards of a break are sharp, and so is the rim
  sharpen_part(mesh, mesh.part_index("wood"), crease);
  mesh.parts[mesh.part_index("bark")].pattern = bark_pattern(shape);
  mesh.parts[mesh.part_index("wood")].pattern = wood_pattern(shape);
  return mesh;
}

std::vector<KindPart> log_parts() {
  return {part_of("bark", "log_bark", false), part_of("wood", "log_wood", false)};
}

}  // namespace undercap
