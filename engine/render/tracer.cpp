#include "engine/render/tracer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr unsigned group_width = 8;  // lanes
enum Binding : unsigned { frame_binding, film_binding, first_hit_binding, counter_binding };
enum Flag { white_first = 1, first_hit = 2, count_rays = 4 };

// The traversal stack as registers that shift: w0 is the top, pushing moves every word one further
// (traverse.glsl).
std::string register_stack(int size) {
  std::string start = "#define STACK_START uint ", push = "#define STACK_PUSH(word, wanted) { ",
              pop = "#define STACK_POP(word, wanted) { word = wanted ? w0 : word; ";
  for (int i = 0; i < size; ++i) start += fmt::format("{}w{} = none_waiting", i ? ", " : "", i);
  for (int i = size - 1; i > 0; --i) push += fmt::format("w{} = wanted ? w{} : w{}; ", i, i - 1, i);
  for (int i = 0; i + 1 < size; ++i) pop += fmt::format("w{} = wanted ? w{} : w{}; ", i, i + 1, i);
  return start + "\n" + push + "w0 = wanted ? word : w0; }\n" + pop + "}\n";
}

// Rows of lanes in a work group. A large group makes a driver hold registers down, which leaves room for more
// lanes at once: with 64 rows a large GPU was a quarter faster than with 8. The group's stacks share what
// there is.
unsigned choose_group_height(const GpuWorld& world) {
  if (software_renderer()) return 8;
  const std::size_t row_bytes =
      sizeof(std::uint32_t) * group_width * static_cast<std::size_t>(world.stack_size());
  return std::clamp(static_cast<unsigned>(shared_memory() / row_bytes) / 4 * 4, 4u, 64u);
}

}  // namespace

std::string traversal_defines(const GpuWorld& world) {
  return software_renderer() ? register_stack(world.stack_size())
                             : fmt::format("#define STACK_SIZE {}\n", world.stack_size());
}

Film::Film(const View& view, int groups)
    : pixels_(view.pixels()),
      groups_(groups),
      sums_(bytes(view, groups)),
      first_hits_(view.first_hits ? pixels_ * sizeof(FirstHit) : 16),
      left_out_(blocks(view) * sizeof(std::uint32_t)),
      has_first_hits_(view.first_hits) {
  clear();
  left_out_.clear();
}

Film::Film(const View& view, std::span<const float> sums)
    : pixels_(view.pixels()),
      groups_(static_cast<int>(sums.size_bytes() / bytes(view, 1))),
      sums_(std::as_bytes(sums)),
      first_hits_(16),
      left_out_(blocks(view) * sizeof(std::uint32_t)),
      has_first_hits_(false) {
  UNDERCAP_CHECK(sums.size_bytes() % bytes(view, 1) == 0, "a film has two halves of whole groups");
  left_out_.clear();
}

std::size_t Film::blocks(const View& view) {
  return static_cast<std::size_t>((view.width + block_side - 1) / block_side) *
         static_cast<std::size_t>((view.band_rows() + block_side - 1) / block_side);
}

void Film::leave_out(std::span<const std::uint32_t> enough) const {
  UNDERCAP_CHECK(enough.size_bytes() == left_out_.size(), "a film has one word for each of its blocks");
  left_out_.write(std::as_bytes(enough));
}

void Film::write(std::span<const float> sums) const {
  UNDERCAP_CHECK(sums.size_bytes() == sums_.size(), "a film is replaced by one of its own size");
  storage_barrier();
  sums_.write(std::as_bytes(sums));
}

void Film::clear_group(int group) const {
  const std::size_t size = pixels_ * 3 * sizeof(float);
  for (int half = 0; half < 2; ++half)
    sums_.clear(static_cast<std::size_t>(half * groups_ + group) * size, size);
}

std::size_t Film::bytes(const View& view, int groups) {
  return view.pixels() * static_cast<std::size_t>(groups) * 2 * 3 * sizeof(float);
}

std::vector<float> Film::read() const {
  std::vector<float> sums(sums_.size() / sizeof(float));
  storage_barrier();
  sums_.read(std::as_writable_bytes(std::span(sums)));
  return sums;
}

std::vector<Film::FirstHit> Film::read_first_hits() const {
  UNDERCAP_CHECK(has_first_hits_, "first hits are read only from a film that keeps them");
  std::vector<FirstHit> hits(pixels_);
  storage_barrier();
  first_hits_.read(std::as_writable_bytes(std::span(hits)));
  return hits;
}

std::optional<std::string> TraceCounters::warning() const {
  if (not_finite + capped + cut_short == 0) return std::nullopt;
  return fmt::format(
      "{} contributions were not finite and left out, {} paths met the emergency cap, {} walks were cut "
      "short",
      not_finite, capped, cut_short);
}

namespace {

GpuWorld whole_gpu_world(const ShaderLibrary& shaders, const World& world) {
  GpuWorld gpu_world(world);
  gpu_world.find_pattern_means(shaders, world);
  return gpu_world;
}

}  // namespace

Tracer::Tracer(const ShaderLibrary& shaders, const World& world)
    : Tracer(shaders, world, whole_gpu_world(shaders, world)) {}

Tracer::Tracer(const ShaderLibrary& shaders, const World& world, GpuWorld gpu_world, const Tracer* like)
    : gpu_world_(std::move(gpu_world)),
      groups_(static_cast<int>(world.groups.size())),
      group_height_(choose_group_height(gpu_world_)),
      defines_(fmt::format("#define GROUP_WIDTH {}\n#define GROUP_HEIGHT {}\n", group_width, group_height_) +
               traversal_defines(gpu_world_)),
      frame_(sizeof(gpu::Frame)),
      counters_(8 * 4) {
  UNDERCAP_CHECK(groups_ > 0, "a world has at least one light group");
  if (like && like->defines_ == defines_) {
    program_ = like->program_;
  } else {
    const ShaderSource source = shaders.source("trace.comp", defines_);
    program_ = std::make_shared<ComputeProgram>(source.text, source.files);
  }
  counters_.clear();
}

void Tracer::relight(const World& world) {
  gpu_world_.relight(world);
  groups_ = static_cast<int>(world.groups.size());
}

void Tracer::use(const View& view) {
  gpu::Frame frame = gpu_world_.frame();
  frame.window = view.window;
  frame.totals.w = static_cast<float>(view.hole);
  frame.meter = {glm::vec3(view.meter_position_m), 0};
  frame.meter_normal = {glm::vec3(view.meter_normal), 0};
  frame.size = {view.width, view.height, view.first_row, view.band_rows()};
  frame.sky.z = static_cast<int>(view.mode);
  frame.sky.w = (view.white_first ? white_first : 0) | (view.first_hits ? first_hit : 0) |
                (view.count_rays ? count_rays : 0);
  if (frame_now_ && std::memcmp(&*frame_now_, &frame, sizeof frame) == 0) return;
  frame_.write(std::as_bytes(std::span(&frame, 1)));
  frame_now_ = frame;
}

void Tracer::bind_walk(const View& view) {
  use(view);
  gpu_world_.bind();
  frame_.bind_uniform(frame_binding);
  counters_.bind_storage(counter_binding);
}

void Tracer::sample(const View& view, Film& film, SampleId id) {
  UNDERCAP_CHECK(id.count >= 1 && id.count <= 8, "one dispatch takes 1 to 8 samples a pixel");
  bind_walk(view);
  program_->use();
  film.sums_.bind_storage(film_binding);
  film.first_hits_.bind_storage(first_hit_binding);
  film.left_out_.bind_storage(Film::left_out_binding);
  program_->set("sample_index", id.index);
  program_->set("sample_count", id.count);
  program_->set("sample_half", id.half);
  program_->set("sample_seed", id.seed);
  program_->set("only_group", id.only_group);
  const int end = id.rows > 0 ? std::min(id.first_row + id.rows, view.band_rows()) : view.band_rows();
  program_->set("slice_row", id.first_row);
  program_->set("slice_end", end);
  dispatch((static_cast<unsigned>(view.width) + group_width - 1) / group_width,
           (static_cast<unsigned>(end - id.first_row) + group_height_ - 1) / group_height_);
  storage_barrier();
}

TraceCounters Tracer::counters() const {
  std::uint32_t values[8];
  storage_barrier();
  counters_.read(std::as_writable_bytes(std::span(values)));
  return {values[0], values[1], values[2], values[3], values[4]};
}

}  // namespace undercap
