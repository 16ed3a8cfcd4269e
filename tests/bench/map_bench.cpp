// How fast a map of lamp places is: 4,096 places by 64 points of a target, and its shadow rays a second
// beside the tracer's rays in the same run.
//
//   undercap_map_bench [--device D]
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <glm/geometric.hpp>
#include <string>
#include <vector>

#include "engine/gl/context.h"
#include "engine/measure/place_candidates.h"
#include "engine/measure/placement.h"
#include "engine/render/embedded_shaders.h"
#include "engine/scene/load.h"
#include "engine/world/update.h"
#include "tests/bench/bench_scene.h"

namespace {

using namespace undercap;
using Clock = std::chrono::steady_clock;

// The median of some runs, s, each to the end of the device's work.
template <class Work>
double median_s(const Work& work) {
  std::vector<double> times;
  for (int i = 0; i < 11; ++i) {
    const auto start = Clock::now();
    work();
    finish();
    times.push_back(std::chrono::duration<double>(Clock::now() - start).count());
  }
  std::nth_element(times.begin(), times.begin() + 5, times.end());
  return times[5];
}

double tracer_rays_a_second(Tracer& tracer) {
  View view{.width = 480, .height = 320, .count_rays = true};
  Film film = tracer.make_film(view);
  tracer.reset_counters();
  tracer.sample(view, film, {.count = 2});
  finish();
  const TraceCounters counted = tracer.counters();
  view.count_rays = false;
  const double seconds = median_s([&] { tracer.sample(view, film, {.count = 4}); });
  return 4.0 * 480 * 320 * counted.rays / counted.paths / seconds;
}

int run(const std::string& device) {
  const HeadlessContext context(device);
  const ShaderLibrary shaders(embedded_shaders(), "");
  const Scene scene = SceneFile::from_text(bench_scene, "bench.toml").scene();
  const World world = build_world(scene);
  Tracer tracer(shaders, world);
  const LightProbe probe(shaders, tracer);
  const Survey base = take_survey(tracer, world, 1, false, [](double) { return true; });
  const CarriedLamp carried = carried_lamp(scene, scene.sources[0]);
  const ProbeLamp lamp{.lamp = carried.lamp, .colour = carried.group.colour};
  PlaceWish wish;
  wish.target = world.subject;
  const Mix without = mix_with(world, Duration(1), world.groups.size() - 1, false);
  const Placement placement(probe, tracer, world, base, without, wish,
                            {.target = 64, .backdrop = 0, .foreground = 0});
  const std::vector<glm::dvec3> places = candidate_places(world, placement.target_middle(), {});
  std::vector<LampPlace> poses;
  for (const glm::dvec3& place : places)
    poses.push_back({place, glm::normalize(placement.target_middle() - place)});
  // As many pairs as keep a large device busy, for the rays a second. One sample of the lamp's front: a pair
  // sent a shadow ray where its light arrived or was stopped.
  std::vector<SeenPoint> many;
  for (int i = 0; i < 8; ++i) many.insert(many.end(), placement.points().begin(), placement.points().end());
  double rays = 0;
  for (const Received& one : probe.light(tracer, lamp, poses, many, 1))
    rays += one.share > 0 || one.penumbra_ratio >= 0 ? 1 : 0;
  const double light = median_s([&] { probe.light(tracer, lamp, poses, placement.points(), 1); }),
               busy = median_s([&] { probe.light(tracer, lamp, poses, many, 1); }),
               whole = median_s([&] { placement.fields(tracer, lamp, carried.group.power, places, 1); });
  const double tracing = tracer_rays_a_second(tracer);
  std::printf("%s, %zu triangles, %zu places x %zu points\n", context.renderer().c_str(),
              world.triangle.size(), places.size(), placement.points().size());
  std::printf("light of all places     %8.2f ms\n", light * 1e3);
  std::printf("the map, limits and all %8.2f ms\n", whole * 1e3);
  std::printf("shadow rays             %.3g a second, %.2f of the tracer's %.3g\n", rays / busy,
              rays / busy / tracing, tracing);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc > 2 && std::strcmp(argv[1], "--device") == 0 ? argv[2] : "");
  } catch (const std::exception& trouble) {
    std::fprintf(stderr, "%s\n", trouble.what());
    return 1;
  }
}
