// Speed and memory on one fixed scene: how long to load, build and compile, samples and rays a second, peak
// memory.
//
//   undercap_bench [--device D] [--shader-dir FOLDER] [WxH] [samples]
#include <sys/resource.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "engine/gl/context.h"
#include "engine/render/embedded_shaders.h"
#include "engine/scene/load.h"
#include "engine/session/session.h"

namespace {

// Twelve small mushrooms by a log in litter, more than 200,000 triangles; sky, sun and a torch.
constexpr const char* bench_scene = R"(undercap = 1
[ground]
relief_mm = 0
[sun]
on = true
azimuth_deg = 120
elevation_deg = 30
[camera]
position_m = [0, -0.5, 0.12]
look_at = "tuft"
focal_length_mm = 60
f_number = 8
[[prop]]
name = "tuft"
kind = "bonnet"
at_m = [0, 0]
count = 12
[[prop]]
name = "log"
kind = "log"
at_m = [0.05, 0.16]
[[prop]]
name = "leaves"
kind = "litter"
at_m = [0, 0]
radius_m = 0.3
[[source]]
name = "torch"
kind = "torch"
position_m = [-0.2, -0.2, 0.05]
aim = "tuft"
flux_lm = 60
)";

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

double peak_memory_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

void run(const std::string& device, const std::string& shader_dir, int width, int height, unsigned samples) {
  using namespace undercap;
  const HeadlessContext context(device);
  std::printf("renderer            %s\n", context.renderer().c_str());
  auto start = Clock::now();
  const Scene scene = SceneFile::from_text(bench_scene, "bench.toml").scene();
  const World world = build_world(scene);
  std::printf("triangles           %zu\nload and pose       %.3f s\n", world.triangle.size(),
              seconds_since(start));
  start = Clock::now();
  const GpuWorld alone(world);
  finish();
  std::printf("BVH and upload      %.3f s, %.1f MB\n", seconds_since(start),
              static_cast<double>(alone.bytes()) / 1e6);
  start = Clock::now();
  const ShaderLibrary shaders(embedded_shaders(), shader_dir);
  Tracer tracer(shaders, world);
  View view{.width = width, .height = height, .count_rays = true};
  Film film = tracer.make_film(view);
  tracer.sample(view, film, {.index = 0, .half = 0, .seed = 7});
  finish();
  std::printf("first sample        %.3f s (BVH again, shader, one dispatch)\n", seconds_since(start));
  tracer.reset_counters();
  tracer.sample(view, film, {.index = 0, .count = 2, .half = 0, .seed = 8});
  finish();
  const TraceCounters counted = tracer.counters();
  const double rays_a_path = static_cast<double>(counted.rays) / counted.paths;
  view.count_rays = false;
  start = Clock::now();
  for (unsigned i = 0; i < samples; i += 4)
    tracer.sample(view, film, {.index = i, .count = 4, .half = 0, .seed = 9});
  finish();
  const double seconds = seconds_since(start);
  const double paths = static_cast<double>(width) * height * samples;
  std::printf(
      "rays a path         %.2f\nsample a pixel      %.2f ms at %dx%d\npaths a second      %.3g\nrays a "
      "second       %.3g\n",
      rays_a_path, 1e3 * seconds / samples, width, height, paths / seconds, paths * rays_a_path / seconds);
  if (const auto warning = tracer.counters().warning())
    std::printf("counters            %s\n", warning->c_str());
  std::printf("peak memory         %.0f MB\n", peak_memory_mb());
}

}  // namespace

int main(int argc, char** argv) {
  std::string device, shader_dir;
  int width = 480, height = 320;
  unsigned samples = 16;
  for (int i = 1; i < argc; ++i) {
    const std::string argument = argv[i];
    if (argument == "--device" && i + 1 < argc)
      device = argv[++i];
    else if (argument == "--shader-dir" && i + 1 < argc)
      shader_dir = argv[++i];
    else if (argument.find('x') != std::string::npos)
      std::sscanf(argument.c_str(), "%dx%d", &width, &height);
    else
      samples = static_cast<unsigned>(std::strtoul(argument.c_str(), nullptr, 10));
  }
  try {
    run(device, shader_dir, width, height, samples);
  } catch (const std::exception& trouble) {
    std::fprintf(stderr, "%s\n", trouble.what());
    return 1;
  }
  return 0;
}
