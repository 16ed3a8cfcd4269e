#include "engine/render/gpu_world.h"

#include <algorithm>
#include <array>
#include <utility>

namespace undercap {

GpuWorld::GpuWorld(PackedWorld packed)
    : nodes_(TexelFormat::rgba32ui, packed.nodes),
      triangles_(TexelFormat::rgba32f, packed.triangles),
      surfaces_(TexelFormat::rgba32ui, packed.surfaces),
      materials_(TexelFormat::rgba32f, packed.materials),
      glow_(TexelFormat::rgba32f, packed.glow),
      coat_(TexelFormat::rg32f, packed.coats),
      places_(TexelFormat::rgba32ui, packed.places),
      pattern_table_(TexelFormat::rgba32f, packed.patterns.table),
      pattern_layers_(TexelFormat::rgba32ui, packed.patterns.layers),
      patterns_(std::move(packed.patterns)),
      pattern_places_(std::move(packed.pattern_places)),
      kit_(std::move(packed.kit)),
      order_(std::move(packed.order)),
      stack_size_(packed.stack_size) {
  upload_lights(packed);
  upload_camera(packed);
  frame_ = packed.frame;
  for (const std::uint32_t slot : kit_)
    for (std::size_t i = 0; i < 3; ++i) kit_triangles_.push_back(packed.triangles[3 * slot + i]);
}

// A triangle without area is met by no ray; the boxes of the BVH stay as they are.
void GpuWorld::show_kit(bool shown) {
  if (shown == kit_shown_) return;
  kit_shown_ = shown;
  for (std::size_t i = 0; i < kit_.size(); ++i) {
    std::array<glm::vec4, 3> triangle{kit_triangles_[3 * i], glm::vec4(0), glm::vec4(0)};
    if (shown) std::copy_n(&kit_triangles_[3 * i], 3, triangle.begin());
    triangles_.write(std::as_bytes(std::span(triangle)), kit_[i] * sizeof triangle);
  }
}

void GpuWorld::move_lamps(const World& world) {
  PackedWorld packed;
  packed.frame = frame_;
  pack_lamps(world, packed);
  upload_lamps(packed);
}

void GpuWorld::upload_lamps(const PackedWorld& packed) {
  lamps_ = TexelBuffer(TexelFormat::rgba32f, packed.lamps);
  beams_ = TexelBuffer(TexelFormat::r32f, packed.beams);
}

void GpuWorld::upload_lights(const PackedWorld& packed) {
  sky_nodes_ = TexelBuffer(TexelFormat::rgba32f, packed.sky_nodes);
  sky_tree_ = TexelBuffer(TexelFormat::rgba32f, packed.sky_tree);
  gaps_ = TexelBuffer(TexelFormat::rgba32ui, packed.gaps);
  upload_lamps(packed);
}

void GpuWorld::upload_camera(const PackedWorld& packed) {
  iris_ = TexelBuffer(TexelFormat::rg32f, packed.iris);
}

void GpuWorld::relight(const World& world) {
  PackedWorld packed;
  packed.frame = frame_;
  pack_lights(world, packed);
  upload_lights(packed);
  frame_ = packed.frame;
}

void GpuWorld::move_camera(const World& world) {
  PackedWorld packed;
  packed.frame = frame_;
  pack_camera(world, packed);
  upload_camera(packed);
  frame_ = packed.frame;
}

std::vector<PatternValue> GpuWorld::read_patterns(const ShaderLibrary& shaders) const {
  if (pattern_places_.spots.empty()) return {};
  bind();
  return read_pattern_values(shaders, pattern_places_);
}

void GpuWorld::set_pattern_means(const std::vector<PatternMeans>& means) {
  if (!patterns_.any) return;
  for (std::size_t i = 0; i < means.size(); ++i) patterns_.set(i, means[i]);
  pattern_table_ = TexelBuffer(TexelFormat::rgba32f, patterns_.table);
}

void GpuWorld::find_pattern_means(const ShaderLibrary& shaders, const World& world) {
  if (patterns_.any) set_pattern_means(pattern_means(world, pattern_places_, read_patterns(shaders)));
}

void GpuWorld::bind() const {
  const TexelBuffer* buffers[] = {&nodes_,    &triangles_, &surfaces_, &materials_,     &sky_nodes_,
                                  &sky_tree_, &lamps_,     &glow_,     &iris_,          &coat_,
                                  &beams_,    &gaps_,      &places_,   &pattern_table_, &pattern_layers_};
  for (unsigned unit = 0; unit < std::size(buffers); ++unit) buffers[unit]->bind(unit);
}

std::size_t GpuWorld::bytes() const {
  return nodes_.size() + triangles_.size() + surfaces_.size() + places_.size();
}

}  // namespace undercap
