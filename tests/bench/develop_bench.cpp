// How long mixing, exposing and developing a picture takes once its films are there, and what noise and
// diffraction add.
//
//   undercap_develop_bench [--device D] [--scene FILE] [--size WxH]
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <string>
#include <vector>

#include "engine/gl/context.h"
#include "engine/gl/shader_library.h"
#include "engine/optics/diffraction.h"
#include "engine/render/embedded_shaders.h"
#include "engine/scene/load.h"
#include "engine/session/session.h"

namespace {

using namespace undercap;
using Clock = std::chrono::steady_clock;

// The median of some runs, ms, each to the end of the device's work.
template <class Work>
double median_ms(const Work& work) {
  std::vector<double> times;
  for (int i = 0; i < 21; ++i) {
    const auto start = Clock::now();
    work();
    finish();
    times.push_back(std::chrono::duration<double>(Clock::now() - start).count() * 1e3);
  }
  std::nth_element(times.begin(), times.begin() + 10, times.end());
  return times[10];
}

int run(const std::string& device, const std::string& scene_file, int width, int height) {
  const HeadlessContext context(device);
  const ShaderLibrary shaders(embedded_shaders(), "");
  const Scene scene = SceneFile::open(scene_file).scene();
  Session session(shaders, scene, Quality::draft);
  session.survey(
      Quality::draft, {}, [](double) { return true; }, Session::For::picture);
  const World& world = session.world();
  const View view{.width = width, .height = height};
  Film film = session.tracer().make_film(view);
  for (std::uint32_t half = 0; half < 2; ++half) session.tracer().sample(view, film, {.half = half});
  finish();
  Development how = session.exposure().development;
  const auto weights = film_weights(mix_over(world, how.shutter), even_counts(world.groups.size(), 2));
  std::printf("%s, %d x %d, %zu light groups\n", context.renderer().c_str(), width, height,
              world.groups.size());
  const auto line = [&](const char* what) {
    std::printf("%-44s %8.2f ms\n", what,
                median_ms([&] { session.developer().codes(world, view, film, weights, how); }));
  };
  how.sensor.reset();
  how.diffraction = false;
  line("mixed, exposed, developed");
  how.sensor = sensor_of(world);
  line("the same with noise");
  how.diffraction = true;
  line("the same with noise and diffraction");
  std::printf("%-44s %8d px\n", "reach of the diffraction pattern",
              diffraction_kernel(world.camera.working_f_number, world.camera.width / width).radius);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  std::string device, scene = "scenes/umber_parasol.toml";
  int width = 960, height = 640;
  for (int i = 1; i + 1 < argc; i += 2) {
    if (!std::strcmp(argv[i], "--device")) device = argv[i + 1];
    if (!std::strcmp(argv[i], "--scene")) scene = argv[i + 1];
    if (!std::strcmp(argv[i], "--size")) std::sscanf(argv[i + 1], "%dx%d", &width, &height);
  }
  try {
    return run(device, scene, width, height);
  } catch (const std::exception& fault) {
    std::fprintf(stderr, "%s\n", fault.what());
    return 2;
  }
}
