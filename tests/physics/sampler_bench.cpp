#include "tests/physics/sampler_bench.h"

#include <algorithm>
#include <span>

#include "engine/render/tracer.h"
#include "engine/world/sky_map.h"
#include "tests/physics/bench_top.h"

namespace undercap {
namespace {

constexpr unsigned row = 1024;  // samples of one row of invocations

}  // namespace

SamplerBench::SamplerBench(const World& world)
    : gpu_world_(world), frame_(sizeof(gpu::Frame)), counters_(8 * 4) {
  test_shaders();
  const ShaderSource source = shader_of_tests(
      "samplers.comp", "#define GROUP_WIDTH 8\n#define GROUP_HEIGHT 8\n" + traversal_defines(gpu_world_));
  program_ = ComputeProgram(source.text, source.files);
  const gpu::Frame& frame = gpu_world_.frame();
  frame_.write(std::as_bytes(std::span(&frame, 1)));
  counters_.clear();
}

std::vector<SamplerBench::Answer> SamplerBench::run(Wanted wanted, std::size_t count,
                                                    std::uint32_t seed) const {
  return run(wanted, std::vector<glm::vec4>(count), seed);
}

std::vector<SamplerBench::Answer> SamplerBench::run(Wanted wanted, const std::vector<glm::vec4>& given,
                                                    std::uint32_t seed) const {
  const auto count = static_cast<unsigned>(given.size());
  const Buffer given_buffer(std::as_bytes(std::span(given))), answers(count * sizeof(Answer));
  gpu_world_.bind();
  program_.use();
  frame_.bind_uniform(0);
  counters_.bind_storage(3);
  given_buffer.bind_storage(4);
  answers.bind_storage(5);
  program_.set("wanted", static_cast<int>(wanted));
  program_.set("total", static_cast<int>(count));
  program_.set("seed", seed);
  program_.set3("normal", lobes.normal.x, lobes.normal.y, lobes.normal.z);
  program_.set3("view", lobes.view.x, lobes.view.y, lobes.view.z);
  program_.set3("place", place.x, place.y, place.z);
  program_.set("map", map);
  program_.set("alpha", lobes.alpha);
  program_.set("reflects", lobes.reflects);
  program_.set("transmits", lobes.transmits);
  program_.set("mirror", lobes.mirror);
  program_.set("wet", lobes.wet ? 1 : 0);
  dispatch(row / 8, (count + row * 8 - 1) / (row * 8));
  storage_barrier();
  std::vector<Answer> result(count);
  answers.read(std::as_writable_bytes(std::span(result)));
  check_gl("running the samplers");
  return result;
}

// A bilinear function's mean over a rectangle is its value in the middle.
std::vector<double> expected_of_quarters(const SkyMap& map, double samples) {
  std::vector<double> expected;
  double total = 0;
  for (int row = 0; row < 2 * map.side; ++row)
    for (int column = 0; column < 2 * map.side; ++column) {
      const double x = row % 2 ? .75 : .25, y = column % 2 ? .75 : .25;
      const auto node = [&](int down, int right) {
        return static_cast<double>(
            map.node[static_cast<std::size_t>((row / 2 + down) * (map.side + 1) + column / 2 + right)].x);
      };
      expected.push_back((1 - x) * ((1 - y) * node(0, 0) + y * node(0, 1)) +
                         x * ((1 - y) * node(1, 0) + y * node(1, 1)));
      total += expected.back();
    }
  for (double& bin : expected) bin *= samples / total;
  return expected;
}

std::size_t quarter_of(const SkyMap& map, const glm::dvec3& direction) {
  const glm::dvec2 place = sky_place(direction) * (2. * map.side);
  const int last = 2 * map.side - 1;
  return static_cast<std::size_t>(std::min(static_cast<int>(place.y), last) * 2 * map.side +
                                  std::min(static_cast<int>(place.x), last));
}

World plain_world(const std::string& lights) { return world_of(bare + plain_camera + lights); }

}  // namespace undercap
