// A world on the graphics device: BVH, triangles, materials and light tables as texture buffers.
#pragma once

#include "engine/gl/objects.h"
#include "engine/gl/shader_library.h"
#include "engine/render/packed_world.h"

namespace undercap {

class GpuWorld {
 public:
  // The means of patterns are found on the device and set later; until then patterns are not normalised.
  explicit GpuWorld(PackedWorld packed);
  explicit GpuWorld(const World& world) : GpuWorld(pack_world(world)) {}
  void bind() const;

  // What the device says of the places of the patterns. Compiles nothing where no part has a pattern.
  std::vector<PatternValue> read_patterns(const ShaderLibrary& shaders) const;
  const PatternPlaces& pattern_places() const { return pattern_places_; }
  void set_pattern_means(const std::vector<PatternMeans>& means);
  // Both at once. The world is the one that was packed.
  void find_pattern_means(const ShaderLibrary& shaders, const World& world);

  // Take the lamps, all light, or the camera of a world whose geometry is the same.
  void move_lamps(const World& world);
  void relight(const World& world);
  void move_camera(const World& world);

  // Whether rays meet barrel, photographer and snoots; they do at first.
  void show_kit(bool shown);

  // Triangles of the world in the order in which they stand on the device.
  const std::vector<std::uint32_t>& order() const { return order_; }
  bool patterned(std::uint32_t material) const { return patterns_.patterned[material]; }
  int stack_size() const { return stack_size_; }
  std::size_t bytes() const;
  // The parts of a frame that do not depend on the view.
  const gpu::Frame& frame() const { return frame_; }

 private:
  void upload_lamps(const PackedWorld& packed);
  void upload_lights(const PackedWorld& packed);
  void upload_camera(const PackedWorld& packed);
  TexelBuffer nodes_, triangles_, surfaces_, materials_, sky_nodes_, sky_tree_, lamps_, glow_, iris_, coat_,
      beams_, gaps_, places_, pattern_table_, pattern_layers_;
  PatternTables patterns_;
  PatternPlaces pattern_places_;
  // Texels of the kit's triangles, three each.
  std::vector<std::uint32_t> kit_;
  std::vector<glm::vec4> kit_triangles_;
  bool kit_shown_ = true;
  std::vector<std::uint32_t> order_;
  gpu::Frame frame_{};
  int stack_size_ = 0;
};

}  // namespace undercap
