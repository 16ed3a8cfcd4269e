// A world on the graphics device: BVH, triangles, materials and light tables as texture buffers.
#pragma once

#include "engine/gl/objects.h"
#include "engine/gl/shader_library.h"
#include "engine/render/frame.h"
#include "engine/render/pattern_tables.h"
#include "engine/world/world.h"

namespace undercap {

class GpuWorld {
 public:
  explicit GpuWorld(const World& world);
  void bind() const;
  // Until then patterns are not normalised. The world is the constructor's.
  void find_pattern_means(const ShaderLibrary& shaders, const World& world);
  // Triangles of the world in the order in which they stand on the device.
  const std::vector<std::uint32_t>& order() const { return order_; }
  bool patterned(std::uint32_t material) const { return patterns_.patterned[material]; }
  int stack_size() const { return stack_size_; }
  std::size_t bytes() const;
  // The parts of a frame that do not depend on the view.
  const gpu::Frame& frame() const { return frame_; }

 private:
  void pack_triangles(const World& world);
  void pack_materials(const World& world);
  void pack_places(const World& world);
  void pack_glow(const World& world);
  void pack_lights(const World& world);
  void pack_skies(const World& world);
  void pack_gaps(const GapLayer& gaps);
  void pack_camera(const World& world);
  TexelBuffer nodes_, triangles_, surfaces_, materials_, sky_nodes_, sky_tree_, lamps_, glow_, iris_, coat_,
      beams_, gaps_, places_, pattern_table_, pattern_layers_;
  PatternTables patterns_;
  std::vector<std::uint32_t> order_;
  gpu::Frame frame_{};
  int stack_size_ = 0;
};

// Sums of luminance over a sky map as the kernel walks down them: for squares of half the side, a quarter and
// so on, the sums of their four quarters, by rows; a cell counts as the sum of its corners. The side is a
// power of two.
std::vector<glm::vec4> sky_tree(const SkyMap& sky);

}  // namespace undercap
