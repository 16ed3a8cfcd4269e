#include "tests/physics/bench_top.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>

#include "engine/gl/context.h"
#include "engine/render/embedded_shaders.h"
#include "engine/scene/load.h"

namespace undercap {

const ShaderLibrary& test_shaders() {
  static const HeadlessContext context("software");
  // A folder of altered shaders shows whether these tests would notice.
  const char* folder = std::getenv("UNDERCAP_SHADER_DIR");
  static const ShaderLibrary library(embedded_shaders(), folder ? folder : "");
  return library;
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
