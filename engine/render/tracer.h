// Runs the kernel: one sample a pixel and dispatch, into a film per light group and half.
//
//   Tracer tracer(shaders, world);
//   View view{.width = 480, .height = 320};
//   Film film = tracer.make_film(view);
//   for (unsigned i = 0; i < 32; ++i) tracer.sample(view, film, {.index = i / 2, .half = i % 2, .seed = 1});
//
// A context must be current on the calling thread.
#pragma once

#include <compare>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "engine/gl/objects.h"
#include "engine/gl/shader_library.h"
#include "engine/render/gpu_world.h"
#include "engine/world/world.h"

namespace undercap {

struct View {
  enum class Mode { picture, spot, meter } mode = Mode::picture;
  int width = 0, height = 0;  // of the whole film, pixels
  int first_row = 0;          // of the band that the film object holds
  int rows = 0;               // 0 = all
  glm::vec4 window{0, 0, 1,
                   1};       // part of the frame, 0..1: left, top, width, height; a spot is the disc in it
  double hole = 0;           // share of the pupil's area, about its middle, that no ray goes through
  bool white_first = false;  // the first hit is a perfect white: its luminance x pi is the illuminance there
  bool first_hits = false;   // keep part and distance of each first hit
  bool count_rays = false;
  glm::dvec3 meter_position_m{0}, meter_normal{0, 0, 1};  // for Mode::meter: illuminance = pi x luminance

  int band_rows() const { return rows > 0 ? rows : height - first_row; }
  std::size_t pixels() const {
    return static_cast<std::size_t>(width) * static_cast<std::size_t>(band_rows());
  }
};

// Sums of samples; index ((half x groups + group) x pixels + pixel) x 3 + channel.
class Film {
 public:
  Film(const View& view, int groups);
  Film(const View& view, std::span<const float> sums);  // that holds these sums
  void clear() const { sums_.clear(); }
  void clear_group(int group) const;
  std::vector<float> read() const;
  void write(std::span<const float> sums) const;
  void bind(unsigned binding) const { sums_.bind_storage(binding); }
  static std::size_t bytes(const View& view, int groups);

  struct FirstHit {
    std::uint32_t part;
    float distance_m;
  };  // along the lens axis; no_part = nothing hit
  std::vector<FirstHit> read_first_hits() const;

  // Blocks of pixels, row by row, that take no more samples where their word is not 0.
  static constexpr int block_side = 16;
  static std::size_t blocks(const View& view);
  void leave_out(std::span<const std::uint32_t> enough) const;

 private:
  friend class Tracer;
  static constexpr unsigned left_out_binding = 6;
  std::size_t pixels_;
  int groups_;
  Buffer sums_;
  Buffer first_hits_;
  Buffer left_out_;
  bool has_first_hits_;
};

// How often the pixels of a film were sampled for a light group: whole passes, the even ones into half A and
// the odd ones into half B, and the rows that the pass under way has reached.
struct GroupCount {
  int passes = 0, rows = 0;
  auto operator<=>(const GroupCount&) const = default;
};
using FilmCounts = std::vector<GroupCount>;  // by light group

struct SampleId {
  std::uint32_t index = 0;  // first one, within the half
  std::uint32_t count = 1;  // in one dispatch; at most 8 on software OpenGL, which ends long loops in silence
  std::uint32_t half = 0;
  std::uint32_t seed = 1;
  int only_group = -1;  // the film of this light group alone; its samples are the same as with all groups
  int first_row = 0;    // of the film's rows, those that take the samples
  int rows = 0;         // 0 = all from there on
};

struct TraceCounters {
  std::uint32_t not_finite = 0;  // contributions thrown away
  std::uint32_t capped = 0;      // paths ended by the emergency cap
  std::uint32_t cut_short = 0;   // walks that the driver ended early
  std::uint32_t rays = 0;        // only when counted
  std::uint32_t paths = 0;
  // A sentence for the user when something is not 0.
  std::optional<std::string> warning() const;
};

// The lines of #define that lib/traverse.glsl needs for a world, in whatever program includes it.
std::string traversal_defines(const GpuWorld& world);

class Tracer {
 public:
  Tracer(const ShaderLibrary& shaders, const World& world);
  // Of a world that is on the device already, with the means of its patterns set. Takes the program of
  // another tracer where that would be compiled the same.
  Tracer(const ShaderLibrary& shaders, const World& world, GpuWorld gpu_world, const Tracer* like = nullptr);
  // Take the lamps, all light, or the camera of a world whose geometry is the same.
  void move_lamps(const World& world) { gpu_world_.move_lamps(world); }
  void relight(const World& world);
  void move_camera(const World& world) { gpu_world_.move_camera(world); }
  // Whether rays meet barrel, photographer and snoots.
  void show_kit(bool shown) { gpu_world_.show_kit(shown); }
  Film make_film(const View& view) const { return Film(view, groups_); }
  int groups() const { return groups_; }
  // Slices are whole multiples of so many rows, but for the last.
  int slice_rows() const { return static_cast<int>(group_height_); }
  void sample(const View& view, Film& film, SampleId id);
  TraceCounters counters() const;
  void reset_counters() const { counters_.clear(); }

  // For another program that follows camera rays: the defines it is compiled with, and what it reads: the
  // world's tables, the frame at uniform binding 0, the counters at storage binding 3.
  std::string walk_defines() const { return traversal_defines(gpu_world_); }
  void bind_walk(const View& view);

 private:
  void use(const View& view);
  GpuWorld gpu_world_;
  int groups_;
  unsigned group_height_;
  std::string defines_;
  std::shared_ptr<const ComputeProgram> program_;
  Buffer frame_, counters_;
  std::optional<gpu::Frame> frame_now_;
};

}  // namespace undercap
