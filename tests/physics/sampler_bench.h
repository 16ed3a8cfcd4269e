// Runs the kernel's samplers on the device and brings back what they gave (samplers.comp).
#pragma once

#include <glm/vec3.hpp>
#include <glm/vec4.hpp>
#include <string>
#include <vector>

#include "engine/gl/objects.h"
#include "engine/render/gpu_world.h"
#include "engine/world/world.h"

namespace undercap {

struct Lobes {  // over the real surface (0, 0, 1)
  glm::vec3 normal{0, 0, 1}, view{0, 0, 1};
  float alpha = 0, reflects = 0.5f, transmits = 0, mirror = 0;
  bool wet = false;
};

class SamplerBench {
 public:
  enum class Wanted { next_direction, densities, sky, sun, lamp, glow, lens, points, camera, lamp_met };
  static constexpr std::size_t samples = 1 << 18;  // of a case, unless said otherwise
  struct Answer {
    glm::vec4 first, second;
  };

  explicit SamplerBench(const World& world);
  std::vector<Answer> run(Wanted wanted, std::size_t count, std::uint32_t seed = 1) const;
  std::vector<Answer> run(Wanted wanted, const std::vector<glm::vec4>& given, std::uint32_t seed = 1) const;

  Lobes lobes;
  glm::vec3 place{0};
  int map = 0;  // of the sky's light: 0 sky, 1 leaves

 private:
  GpuWorld gpu_world_;
  ComputeProgram program_;
  Buffer frame_, counters_;
};

// Counts that a map's light should give in quarters of its cells when directions are drawn in proportion to
// the red channel (which must be grey), and the quarter of a direction: (2 side)^2, row by row.
std::vector<double> expected_of_quarters(const SkyMap& map, double samples);
std::size_t quarter_of(const SkyMap& map, const glm::dvec3& direction);

using Wanted = SamplerBench::Wanted;

World plain_world(const std::string& lights);

}  // namespace undercap
