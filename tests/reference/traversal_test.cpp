// The walk through the BVH, on the GLSL itself, against Embree's.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <glm/geometric.hpp>
#include <glm/vec4.hpp>
#include <numbers>

#include "engine/render/gpu_world.h"
#include "engine/render/tracer.h"
#include "tests/physics/bench_top.h"
#include "tests/reference/embree_scene.h"
#include "tests/reference/random.h"

namespace undercap::reference {
namespace {

// Thin things close together, large and small triangles, coincident edges everywhere.
constexpr const char* thicket = R"(
[camera]
look_at = "tuft"
[ground]
size_m = 0.8
[[prop]]
name = "tuft"
kind = "bonnet"
at_m = [0, 0]
count = 5
[[prop]]
name = "log"
kind = "log"
at_m = [0.05, 0.16]
length_mm = 300
[[prop]]
name = "leaves"
kind = "litter"
at_m = [0, 0]
radius_m = 0.3
)";

// What stands around lib/traverse.glsl: a ray a lane, nearest hit and any hit.
constexpr const char* before = R"(
layout(local_size_x = 8, local_size_y = 8) in;
layout(std430, binding = 1) readonly buffer RayBlock { vec4 ray_word[]; };     // origin, from | direction, to
layout(std430, binding = 2) writeonly buffer AnswerBlock { vec2 answer[]; };  // distance, < 0 = none; any: 1 or 0
layout(std430, binding = 3) buffer CounterBlock { uint counters[]; };
layout(binding = 0) uniform usamplerBuffer bvh_nodes;
layout(binding = 1) uniform samplerBuffer bvh_triangles;
uniform uint ray_count;
)";
constexpr const char* after = R"(
void main() {
  uint index = gl_GlobalInvocationID.y * (gl_NumWorkGroups.x * 8u) + gl_GlobalInvocationID.x;
  if (index >= ray_count) return;
  vec4 start = ray_word[2u * index], way = ray_word[2u * index + 1u];
  Hit nearest = Hit(far_away, 0u, vec2(0.0)), any_hit = Hit(way.w, 0u, vec2(0.0));
  bool found = trace(start.xyz, way.xyz, start.w, false, nearest);
  bool blocked = trace(start.xyz, way.xyz, start.w, true, any_hit);
  answer[index] = vec2(found ? nearest.t : -1.0, blocked ? 1.0 : 0.0);
}
)";

glm::dvec3 on_sphere(Random& random) {
  const double z = 2 * random() - 1, angle = 2 * std::numbers::pi * random(), level = std::sqrt(1 - z * z);
  return {level * std::cos(angle), level * std::sin(angle), z};
}

// Half the rays come from a sphere around the set and are aimed into it; half leave the surfaces, as shadow
// rays and bounces do.
std::vector<glm::vec4> random_rays(const World& world, std::size_t count) {
  Random random(20, 1);
  std::vector<glm::vec4> words;
  for (std::size_t i = 0; i < count; ++i) {
    glm::dvec3 origin, direction;
    if (i % 2 == 0) {
      origin = 0.7 * on_sphere(random);
      const glm::dvec3 target(0.5 * (random() - 0.5), 0.5 * (random() - 0.5), 0.12 * random());
      direction = glm::normalize(target - origin);
    } else {
      const auto pick = static_cast<std::size_t>(random() * static_cast<double>(world.triangle.size()));
      const WorldTriangle& t = world.triangle[std::min(pick, world.triangle.size() - 1)];
      const glm::dvec3 a(world.position[t.a]), b(world.position[t.b]), c(world.position[t.c]);
      const double root = std::sqrt(random()), v = random() * root;
      direction = on_sphere(random);
      origin = a + (1 - root) * (b - a) + v * (c - a) + 4e-6 * direction;
    }
    words.emplace_back(glm::vec3(origin), 0.f);
    words.emplace_back(glm::vec3(direction), static_cast<float>(0.3 * random()));
  }
  return words;
}

std::vector<glm::vec2> walked(const World& world, const std::vector<glm::vec4>& rays,
                              std::uint32_t& cut_short) {
  const GpuWorld gpu_world(world);
  ShaderSource source = test_shaders().source("lib/traverse.glsl", traversal_defines(gpu_world) + before);
  source.text += after;
  const ComputeProgram program(source.text, source.files);
  const std::size_t count = rays.size() / 2;
  const Buffer ray_buffer(std::as_bytes(std::span(rays))), answers(count * sizeof(glm::vec2)),
      counters(8 * 4);
  counters.clear();
  gpu_world.bind();
  program.use();
  program.set("ray_count", static_cast<unsigned>(count));
  ray_buffer.bind_storage(1);
  answers.bind_storage(2);
  counters.bind_storage(3);
  constexpr unsigned across = 128;
  dispatch(across, static_cast<unsigned>((count + across * 64 - 1) / (across * 64)));
  storage_barrier();
  std::vector<glm::vec2> result(count);
  answers.read(std::as_writable_bytes(std::span(result)));
  std::uint32_t values[8];
  counters.read(std::as_writable_bytes(std::span(values)));
  cut_short = values[2];
  return result;
}

// At most 0.02 % of 10^6 rays may differ. Two hits are the same when their distances differ by less than 2 um
// and 1e-5 of the distance: single precision at lengths of a metre is good to 0.1 um, and a ray that grazes a
// triangle stretches that. Which of two triangles is met that share an edge does not matter. Any-hit rays end
// 0 to 0.3 m ahead.
TEST(Traversal, AMillionRaysAgainstEmbree) {
  const World world = world_of(thicket);
  constexpr std::size_t count = 1'000'000;
  const std::vector<glm::vec4> rays = random_rays(world, count);
  std::uint32_t cut_short = 1;
  const std::vector<glm::vec2> ours = walked(world, rays, cut_short);
  EXPECT_EQ(cut_short, 0u);
  const EmbreeScene embree(world, true);
  std::size_t hits = 0, blocked = 0, one_misses = 0, elsewhere = 0, any_differs = 0;
  for (std::size_t i = 0; i < count; ++i) {
    Ray ray{glm::dvec3(rays[2 * i]), glm::dvec3(rays[2 * i + 1])};
    const auto hit = embree.nearest(ray);
    const auto t = static_cast<double>(ours[i].x);
    hits += hit.has_value();
    if (hit.has_value() != (t >= 0))
      ++one_misses;
    else if (hit && std::abs(hit->distance - t) > 2e-6 + 1e-5 * t)
      ++elsewhere;
    ray.to = static_cast<double>(rays[2 * i + 1].w);
    const bool stopped = embree.blocked(ray);
    blocked += stopped;
    any_differs += stopped != (ours[i].y > 0.5f);
  }
  fmt::print(
      "{} triangles, {} rays: {} hit, {} hit on one side only, {} elsewhere; {} blocked, {} on one side "
      "only\n",
      world.triangle.size(), count, hits, one_misses, elsewhere, blocked, any_differs);
  EXPECT_GT(hits, count / 2);
  EXPECT_GT(blocked, count / 5);
  EXPECT_LE(one_misses + elsewhere, count / 5000);
  EXPECT_LE(any_differs, count / 5000);
}

}  // namespace
}  // namespace undercap::reference
