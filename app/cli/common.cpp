#include "app/cli/common.h"

#include <unistd.h>

#include <CLI/CLI.hpp>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <filesystem>

#include <fmt/format.h>

#include "engine/core/errors.h"
#include "engine/image/picture.h"
#include "engine/render/embedded_shaders.h"

namespace undercap {
namespace {

volatile std::sig_atomic_t interrupt_count = 0;

void on_signal(int) {
  interrupt_count = interrupt_count + 1;
  if (interrupt_count > 1) _exit(exit_interrupted);
}

double now_s() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

const std::map<std::string, Quality> quality_names{{"draft", Quality::draft}, {"good", Quality::good}, {"fine", Quality::fine}};

}  // namespace

void add_shared_options(CLI::App& command, SharedOptions& options, bool renders) {
  command.add_option("scene", options.scene, "scene file (TOML), or the name of a bundled scene")->required();
  command.add_option("--set", options.sets, "key=value: change one value of the scene, a TOML value; may be repeated")->allow_extra_args(false);
  command.add_option("--variant", options.variant, "apply a variant of the scene");
  command.add_flag("--json", options.json, "print JSON on standard output");
  command.add_flag("--quiet", options.quiet, "no messages but faults");
  command.add_flag("--verbose", options.verbose, "more messages: times, triangles, samples");
  if (!renders) return;
  command.add_option("-o,--output", options.outputs, "file to write; the ending says the format; may be repeated")->allow_extra_args(false);
  command.add_option("--quality", options.quality, "draft, good or fine: 16, 64 or 256 samples a pixel")
      ->transform(CLI::CheckedTransformer(quality_names));
  auto* noise = command.add_option("--noise", options.noise_pct, "stop at this RMS relative standard error of 16x16-pixel tiles, per cent");
  noise->check(CLI::Range(0.05, 100.0));
  auto* seconds = command.add_option("--seconds", options.seconds, "stop after this many seconds of sampling");
  seconds->check(CLI::Range(0.05, 1e6));
  command.add_option("--size", options.size, "picture size WxH in pixels");
  command.add_option("--seed", options.seed, "seed of the samples, in place of render.seed")->check(CLI::Range(0, 1 << 30));
  command.add_option("--device", options.device, "EGL device: a number, 'software', or a part of the renderer's name");
  command.add_option("--shader-dir", options.shader_dir, "read the shaders from this folder")->check(CLI::ExistingDirectory);
  command.add_flag("--force", options.force, "replace existing files");
}

SceneFile open_scene(const SharedOptions& options) {
  std::filesystem::path path = options.scene;
  const std::filesystem::path bundled = std::filesystem::path(bundled_scene_folder()) / (options.scene + ".toml");
  if (!std::filesystem::exists(path) && options.scene.find('/') == std::string::npos && std::filesystem::exists(bundled)) path = bundled;
  SceneFile file = SceneFile::open(path);
  if (!options.variant.empty()) file.use_variant(options.variant);
  for (const std::string& set : options.sets) {
    const std::size_t equals = set.find('=');
    if (equals == std::string::npos) throw Refusal(fmt::format("--set {}: write key=value, for example --set camera.f_number=8", set));
    file.set(set.substr(0, equals), set.substr(equals + 1), "--set");
  }
  if (options.seed) file.set("render.seed", std::to_string(*options.seed), "--seed");
  for (const std::string& note : file.notes()) tell(options, note);
  return file;
}

Size picture_size(const SharedOptions& options, const Scene& scene, int longer_side) {
  if (!options.size.empty()) {
    int width = 0, height = 0;
    char rest = 0;
    if (std::sscanf(options.size.c_str(), "%dx%d%c", &width, &height, &rest) != 2 || width < 16 || height < 16)
      throw Refusal(fmt::format("--size {}: write WxH in pixels, 16 or more each, for example --size 960x640", options.size));
    check_picture_size(width, height);
    return {width, height};
  }
  const auto& [w, h] = scene.camera.format_mm;
  const double scale = longer_side / std::max(w, h);
  const auto even = [&](double side) { return std::max(16, 2 * static_cast<int>(std::lround(side * scale / 2))); };
  return {even(w), even(h)};
}

ShaderLibrary shader_library(const SharedOptions& options) { return ShaderLibrary(embedded_shaders(), options.shader_dir); }

StopRule stop_rule(const SharedOptions& options) { return {options.noise_pct, options.seconds}; }

void tell(const SharedOptions& options, const std::string& line) {
  if (!options.quiet) std::fprintf(stderr, "%s\n", line.c_str());
}

bool interrupted() { return interrupt_count > 0; }

void watch_interrupts() {
  std::signal(SIGINT, on_signal);
  std::signal(SIGTERM, on_signal);
}

ProgressBar::ProgressBar(const SharedOptions& options, std::string label)
    : label_(std::move(label)), visible_(!options.quiet && isatty(STDERR_FILENO) == 1), start_s_(now_s()) {}

ProgressBar::~ProgressBar() {
  if (drawn_) std::fprintf(stderr, "\r\033[K");
}

Progress ProgressBar::callback() {
  return [this](double done) { return show(done); };
}

bool ProgressBar::show(double done) {
  const double now = now_s();
  if (visible_ && now - last_s_ > 0.1) {
    last_s_ = now;
    drawn_ = true;
    constexpr int width = 30;
    const int full = static_cast<int>(std::lround(width * std::min(1.0, done)));
    const double spent = now - start_s_, left = done > 0.01 ? spent * (1 - done) / done : 0;
    std::fprintf(stderr, "\r%s [%s%s] %3.0f %%, %.0f s left\033[K", label_.c_str(), std::string(static_cast<std::size_t>(full), '#').c_str(),
                 std::string(static_cast<std::size_t>(width - full), '.').c_str(), 100 * done, left);
  }
  return !interrupted();
}

}  // namespace undercap
