// Speed and memory on one scene, fixed unless another is named: how long to load, build and compile, samples
// and rays a second, peak memory; then the same beside a native path tracer on the same cores, and how long
// either takes to a picture that is good enough.
//
//   undercap_bench [--device D] [--shader-dir FOLDER] [--scene FILE] [--alone] [--rmse-size WxH]
//   [--reference-samples N]
//                  [WxH] [samples]
//
// LP_NUM_THREADS sets the threads of both; without it both take every core. The reference picture takes every
// core.
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string>
#include <thread>

#include "engine/core/errors.h"
#include "engine/gl/context.h"
#include "engine/render/embedded_shaders.h"
#include "engine/render/filter.h"
#include "engine/scene/load.h"
#include "engine/session/session.h"
#include "tests/bench/bench_scene.h"
#include "tests/bench/contest.h"
#include "tests/reference/path_tracer.h"

using namespace undercap;

namespace {

using Clock = std::chrono::steady_clock;
double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

double peak_memory_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

struct Options {
  std::string device, shader_dir, scene;
  int width = 480, height = 320;
  unsigned samples = 16;
  bool alone = false;
  int rmse_width = 192, rmse_height = 128;
  unsigned reference_samples = 4096;
};

struct Speed {
  double rays_a_path = 0, paths_a_second = 0, paths_a_cpu_second = 0;
};

void print_speed(const Options& o, const Speed& speed) {
  const double pixels = static_cast<double>(o.width) * o.height;
  std::printf(
      "rays a path         %.2f\nsample a pixel      %.2f ms at %dx%d\npaths a second      %.3g\nrays a "
      "second       %.3g\n",
      speed.rays_a_path, 1e3 * pixels / speed.paths_a_second, o.width, o.height, speed.paths_a_second,
      speed.paths_a_second * speed.rays_a_path);
}

Speed our_speed(Tracer& tracer, const Options& o) {
  View view{.width = o.width, .height = o.height, .count_rays = true};
  Film film = tracer.make_film(view);
  tracer.reset_counters();
  tracer.sample(view, film, {.index = 0, .count = 2, .half = 0, .seed = 8});
  finish();
  const TraceCounters counted = tracer.counters();
  view.count_rays = false;
  const bench::StopWatch watch;
  for (unsigned i = 0; i < o.samples; i += 4)
    tracer.sample(view, film, {.index = i, .count = 4, .half = 0, .seed = 9});
  finish();
  const double paths = static_cast<double>(o.width) * o.height * o.samples;
  const bench::Times passed = watch.passed();
  return {static_cast<double>(counted.rays) / counted.paths, paths / passed.seconds,
          paths / passed.cpu_seconds};
}

// The kernel with every walk through the BVH done twice, the first time to no effect: what it takes longer is
// what walking takes. The second walk finds its nodes in the caches, so the share is a lower bound.
constexpr std::string_view one_walk = "bool trace(vec3 origin,", renamed = "bool walk(vec3 origin,";
constexpr std::string_view two_walks = R"(
bool trace(vec3 origin, vec3 direction, float t_min, bool any, inout Hit hit) {
  float nothing = frame.totals.w;  // 0, which no compiler knows
  Hit again = hit;
  bool twice = walk(origin + nothing, direction, t_min, any, again);
  return walk(origin, direction, t_min, any, hit) || (twice && nothing > 1.0);
}
)";

void print_walking_share(const World& world, const Options& o, const Speed& once) {
  auto files = embedded_shaders();
  std::string text(files.at("lib/traverse.glsl"));
  const std::size_t at = text.find(one_walk);
  UNDERCAP_CHECK(at != std::string::npos, "the bench knows the line that walks");
  text.replace(at, one_walk.size(), renamed);
  text += two_walks;
  files["lib/traverse.glsl"] = text;
  const ShaderLibrary shaders(files, {});
  Tracer tracer(shaders, world);
  const Speed doubled = our_speed(tracer, o);
  const double share = once.paths_a_second / doubled.paths_a_second - 1;
  std::printf("time outside walks  at most %.0f %%\n", 100 * (1 - share));
}

unsigned thread_count() {
  const char* text = std::getenv("LP_NUM_THREADS");
  const unsigned wanted = text ? static_cast<unsigned>(std::strtoul(text, nullptr, 10)) : 0;
  return wanted > 0 ? wanted : std::max(1u, std::thread::hardware_concurrency());
}

reference::Settings native_settings(int width, int height, unsigned samples, std::uint64_t seed) {
  return {.width = width,
          .height = height,
          .samples = samples,
          .seed = seed,
          .threads = thread_count(),
          .parts = false};
}

Speed native_speed(const reference::PathTracer& native, const Options& o) {
  const bench::StopWatch watch;
  const reference::Film film = native.render(native_settings(o.width, o.height, o.samples, 9));
  const auto paths = static_cast<double>(film.paths);
  const bench::Times passed = watch.passed();
  return {static_cast<double>(film.rays) / paths, paths / passed.seconds, paths / passed.cpu_seconds};
}

// The mix of sums a group and pixel, by the reference's own mixing.
bench::Mix mix_of_sums(const World& world, std::vector<reference::Light> group, double samples) {
  for (reference::Light& light : group)
    for (glm::dvec3& value : light) value /= samples;
  return reference::mixed(world, group);
}

bench::Contender native_contender(const World& world, const reference::PathTracer& native, const Options& o) {
  struct State {
    std::vector<reference::Light> sum;
    unsigned samples = 0;
  };
  const auto state = std::make_shared<State>();
  const auto add = [&native, o, state](unsigned samples) {
    const reference::Film film =
        native.render(native_settings(o.rmse_width, o.rmse_height, samples - state->samples, 100 + samples));
    if (state->sum.empty()) {
      state->sum = film.group;
    } else {
      for (std::size_t g = 0; g < film.group.size(); ++g)
        for (std::size_t i = 0; i < film.group[g].size(); ++i) state->sum[g][i] += film.group[g][i];
    }
    state->samples = samples;
  };
  return {"native", add, [&world, state] { return mix_of_sums(world, state->sum, state->samples); }};
}

// A film of ours that grows.
struct OurFilm {
  Tracer& tracer;
  View view;
  Film film;
  unsigned samples = 0;

  OurFilm(Tracer& with, const Options& o)
      : tracer(with), view{.width = o.rmse_width, .height = o.rmse_height}, film(tracer.make_film(view)) {}
  void add(unsigned wanted) {
    for (std::uint32_t half = 0; half < 2; ++half)
      for (unsigned i = samples / 2; i < wanted / 2;) {
        const unsigned count = std::min(4u, wanted / 2 - i);
        tracer.sample(view, film, {.index = i, .count = count, .half = half, .seed = 3});
        i += count;
      }
    finish();
    samples = wanted;
  }
};

reference::Light pixels_of(const std::vector<float>& rgb) {
  reference::Light light;
  for (std::size_t i = 0; i < rgb.size(); i += 3) light.emplace_back(rgb[i], rgb[i + 1], rgb[i + 2]);
  return light;
}

bench::Contender our_contender(const World& world, Tracer& tracer, const Options& o) {
  const auto ours = std::make_shared<OurFilm>(tracer, o);
  const auto mix = [&world, ours] {
    std::vector<reference::Light> group;
    const auto groups = static_cast<int>(world.groups.size());
    for (const auto& mean : group_means(ours->film.read(), ours->view.pixels(), groups, ours->samples))
      group.push_back(pixels_of(mean));
    return reference::mixed(world, group);
  };
  return {"ours", [ours](unsigned samples) { ours->add(samples); }, mix};
}

// The features are taken anew each time, so that what the filter costs is what one picture pays.
bench::Contender filtered_contender(const World& world, const ShaderLibrary& shaders, Tracer& tracer,
                                    const reference::Exposing& exposing, const Options& o) {
  const auto ours = std::make_shared<OurFilm>(tracer, o);
  const auto filter = std::make_shared<DisplayFilter>(shaders, tracer);
  const Development how{.shutter = Duration(exposing.shutter_s), .iso = exposing.iso};
  const auto mix = [&world, &tracer, ours, filter, how] {
    const TexelBuffer features = filter->features(tracer, world, ours->view, ours->samples);
    const Film film = filter->run(world, ours->view, ours->film, features, ours->samples, how);
    const std::vector<float> halves = film.read();
    const auto half = static_cast<std::ptrdiff_t>(halves.size() / 2);
    reference::Light a = pixels_of({halves.begin(), halves.begin() + half});
    const reference::Light b = pixels_of({halves.begin() + half, halves.end()});
    for (std::size_t i = 0; i < a.size(); ++i) a[i] = (a[i] + b[i]) / 2.0;
    return a;
  };
  return {"ours, filtered", [ours](unsigned samples) { ours->add(samples); }, mix, true};
}

void print_contest(const World& world, const ShaderLibrary& shaders, Tracer& tracer,
                   const reference::PathTracer& native, const Options& o) {
  const auto start = Clock::now();
  const auto half = [&](std::uint64_t seed) {
    const unsigned samples = std::max(1u, o.reference_samples / 2);
    reference::Settings settings = native_settings(o.rmse_width, o.rmse_height, samples, seed);
    settings.threads = std::max(1u, std::thread::hardware_concurrency());
    return mix_of_sums(world, native.render(settings).group, samples);
  };
  const bench::Judge judge(world, o.rmse_width, half(1), half(2));
  std::printf("\nreference           native, %u samples at %dx%d, %.0f s\n", o.reference_samples,
              o.rmse_width, o.rmse_height, seconds_since(start));
  constexpr double target = 3;  // of 255
  bench::Times first;
  for (const bench::Contender& contender :
       {native_contender(world, native, o), our_contender(world, tracer, o),
        filtered_contender(world, shaders, tracer, judge.exposing, o)}) {
    const auto arrival = bench::time_to(target, contender, judge, o.reference_samples / 2);
    if (!arrival) {
      std::printf("%-20sRMSE %g/255 not reached\n", contender.name.c_str(), target);
      continue;
    }
    if (first.seconds <= 0) first = arrival->times;
    std::printf(
        "%-20sRMSE %g/255 after %.1f samples, %.3f s = %.2f of native; %.3f s of CPU = %.2f of native\n",
        contender.name.c_str(), target, arrival->samples, arrival->times.seconds,
        arrival->times.seconds / first.seconds, arrival->times.cpu_seconds,
        arrival->times.cpu_seconds / first.cpu_seconds);
  }
}

void run(const Options& o) {
  const HeadlessContext context(o.device);
  std::printf("renderer            %s\n", context.renderer().c_str());
  auto start = Clock::now();
  const SceneFile file =
      o.scene.empty() ? SceneFile::from_text(bench_scene, "bench.toml") : SceneFile::open(o.scene);
  const Scene scene = file.scene();
  World world = build_world(scene);
  if (!o.alone) leave_patterns_out(world);  // the native tracer knows none
  std::printf("triangles           %zu\nload and pose       %.3f s\n", world.triangle.size(),
              seconds_since(start));
  start = Clock::now();
  const GpuWorld gpu_world(world);
  finish();
  std::printf("BVH and upload      %.3f s, %.1f MB\n", seconds_since(start),
              static_cast<double>(gpu_world.bytes()) / 1e6);
  start = Clock::now();
  const ShaderLibrary shaders(embedded_shaders(), o.shader_dir);
  Tracer tracer(shaders, world);
  const View view{.width = o.width, .height = o.height};
  Film film = tracer.make_film(view);
  tracer.sample(view, film, {.index = 0, .half = 0, .seed = 7});
  finish();
  std::printf("first sample        %.3f s (BVH again, shader, one dispatch)\n", seconds_since(start));
  const Speed ours = our_speed(tracer, o);
  print_speed(o, ours);
  if (const auto warning = tracer.counters().warning())
    std::printf("counters            %s\n", warning->c_str());
  if (o.shader_dir.empty()) print_walking_share(world, o, ours);
  std::printf("peak memory         %.0f MB\n", peak_memory_mb());
  if (o.alone) return;
  const reference::PathTracer native(world, false);
  std::printf("\nnative              Embree, single rays, %u threads\n", thread_count());
  const Speed theirs = native_speed(native, o);
  print_speed(o, theirs);
  std::printf("ours of native      %.3f in samples a second, %.3f in samples a second of CPU\n",
              ours.paths_a_second / theirs.paths_a_second,
              ours.paths_a_cpu_second / theirs.paths_a_cpu_second);
  print_contest(world, shaders, tracer, native, o);
}

}  // namespace

int main(int argc, char** argv) {
  Options o;
  const auto read_size = [](const std::string& text, int& width, int& height) {
    std::sscanf(text.c_str(), "%dx%d", &width, &height);
  };
  const auto number = [](const std::string& text) {
    return static_cast<unsigned>(std::strtoul(text.c_str(), nullptr, 10));
  };
  for (int i = 1; i < argc; ++i) {
    const std::string argument = argv[i];
    const bool more = i + 1 < argc;
    if (argument == "--device" && more)
      o.device = argv[++i];
    else if (argument == "--shader-dir" && more)
      o.shader_dir = argv[++i];
    else if (argument == "--scene" && more)
      o.scene = argv[++i];
    else if (argument == "--alone")
      o.alone = true;
    else if (argument == "--rmse-size" && more)
      read_size(argv[++i], o.rmse_width, o.rmse_height);
    else if (argument == "--reference-samples" && more)
      o.reference_samples = number(argv[++i]);
    else if (argument.find('x') != std::string::npos)
      read_size(argument, o.width, o.height);
    else if (const unsigned samples = number(argument); samples > 0)
      o.samples = samples;
    else {
      std::fprintf(stderr, "%s: neither an option, a size such as 480x320, nor a number of samples\n",
                   argument.c_str());
      return 1;
    }
  }
  std::setvbuf(stdout, nullptr, _IOLBF, 0);  // a run that is cut short has said what it knows
  try {
    run(o);
  } catch (const std::exception& trouble) {
    std::fprintf(stderr, "%s\n", trouble.what());
    return 1;
  }
  return 0;
}
