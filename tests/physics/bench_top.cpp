#include "tests/physics/bench_top.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <numbers>
#include <utility>

#include "engine/core/files.h"
#include "engine/gl/context.h"
#include "engine/render/embedded_shaders.h"
#include "engine/scene/load.h"

namespace undercap {

const ShaderLibrary& test_shaders() {
  // A folder of altered shaders shows whether these tests would notice; another device runs them sooner.
  const char* device = std::getenv("UNDERCAP_DEVICE");
  static const HeadlessContext context(device ? device : "software");
  const char* folder = std::getenv("UNDERCAP_SHADER_DIR");
  static const ShaderLibrary library(embedded_shaders(), folder ? folder : "");
  return library;
}

ShaderSource shader_of_tests(const std::string& name, const std::string& defines) {
  const std::string own = read_file(std::filesystem::path(UNDERCAP_SOURCE_DIR "/tests/physics") / name);
  std::map<std::string, std::string> altered;
  std::map<std::string, std::string_view> files = embedded_shaders();
  if (const char* folder = std::getenv("UNDERCAP_SHADER_DIR"))
    for (auto& [file, text] : files) text = altered[file] = read_file(std::filesystem::path(folder) / file);
  files[name] = own;
  return ShaderLibrary(files).source(name, defines);
}

std::string test_folder() {
  static const std::string folder = [] {
    const auto path = std::filesystem::temp_directory_path() / fmt::format("undercap_physics_{}", getpid());
    std::filesystem::create_directories(path);
    return path.string();
  }();
  return folder;
}

World world_of(const std::string& text) {
  test_shaders();
  return build_world(SceneFile::from_text("undercap = 1\n" + text, test_folder() + "/test.toml").scene());
}

Estimate meter_reading(const World& world, const std::string& name, unsigned passes) {
  Tracer tracer(test_shaders(), world);
  for (const Meter& meter : world.scene.meters)
    if (meter.name == name)
      return mean_luminance(take_meter(tracer, world, meter, passes), mix_of(world))
          .value_or(Estimate{-1, 0});
  ADD_FAILURE() << "no meter " << name;
  return {};
}

RegionSums receive(Tracer& tracer, const World& world, const std::vector<Receiver>& receivers,
                   unsigned passes) {
  RegionSums mean(world.groups.size());
  for (const Receiver& receiver : receivers) {
    const Meter meter{.name = {}, .position_m = receiver.at, .normal = receiver.normal};
    const RegionSums one = take_meter(tracer, world, meter, passes);
    for (unsigned batch = 0; batch < batch_count; ++batch) {
      if (&receiver == &receivers.front()) mean.count(batch, one.count_of(batch));
      for (std::size_t g = 0; g < one.groups(); ++g)
        mean.add(batch, g, one.luminance_of(batch, g) * receiver.share, 1);
    }
  }
  return mean;
}

Estimate illuminance(Tracer& tracer, const World& world, const std::vector<Receiver>& receivers,
                     unsigned passes) {
  return mean_luminance(receive(tracer, world, receivers, passes), mix_of(world)).value_or(Estimate{-1, 0});
}

// Newton on the Legendre polynomial from the usual first guess of its roots.
std::vector<GaussNode> gauss_nodes(int count) {
  std::vector<GaussNode> nodes;
  for (int i = 0; i < count; ++i) {
    double x = std::cos(std::numbers::pi * (i + 0.75) / (count + 0.5)), slope = 1;
    for (int turn = 0; turn < 20; ++turn) {
      double before = 1, now = x;
      for (int k = 2; k <= count; ++k)
        before = std::exchange(now, ((2 * k - 1) * x * now - (k - 1) * before) / k);
      slope = count * (x * now - before) / (x * x - 1);
      x -= now / slope;
    }
    nodes.push_back({(x + 1) / 2, 1 / ((1 - x * x) * slope * slope)});
  }
  return nodes;
}

testing::AssertionResult agrees(const Estimate& measured, double exact, double further_relative) {
  const double allowed = 4 * measured.se + (1e-4 + further_relative) * std::abs(exact);
  const std::string numbers =
      fmt::format("measured {:.7g}, exact {:.7g}, off by {:.3g}; SE {:.3g}, allowed {:.3g}", measured.value,
                  exact, measured.value - exact, measured.se, allowed);
  if (std::abs(measured.value - exact) > allowed) return testing::AssertionFailure() << numbers;
  if (measured.se > 0.005 * std::abs(exact))
    return testing::AssertionFailure() << "too noisy to say: " << numbers;
  return testing::AssertionSuccess();
}

}  // namespace undercap
