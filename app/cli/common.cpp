#include "app/cli/common.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <sstream>

#include "engine/core/errors.h"
#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/render/embedded_shaders.h"
#include "engine/report/paint.h"
#include "engine/session/picture_file.h"

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

}  // namespace

SceneFile open_scene(const SharedOptions& options) {
  std::filesystem::path path = options.scene;
  std::error_code none;
  if (options.scene.find('/') == std::string::npos && !std::filesystem::exists(path, none)) {
    path = std::filesystem::path(bundled_scene_folder()) / (options.scene + ".toml");
    if (!std::filesystem::exists(path, none))
      throw Refusal(
          fmt::format("{}: no such file, and no bundled scene of this name; 'undercap scenes' lists those",
                      options.scene));
  }
  SceneFile file = SceneFile::open(path);
  if (!options.variant.empty()) file.use_variant(options.variant);
  for (const std::string& set : options.sets) {
    const std::size_t equals = set.find('=');
    if (equals == std::string::npos)
      throw Refusal(fmt::format("--set {}: write key=value, for example --set camera.f_number=8", set));
    file.set(set.substr(0, equals), set.substr(equals + 1), "--set");
  }
  if (options.seed) file.set("render.seed", std::to_string(*options.seed), "--seed");
  for (const std::string& note : file.notes()) tell(options, note);
  return file;
}

Size picture_size(const SharedOptions& options, const Scene& scene, int longer_side) {
  if (!options.size.empty()) {
    int width = 0, height = 0;
    const char* const end = options.size.data() + options.size.size();
    const auto across = std::from_chars(options.size.data(), end, width);
    const bool has_x = across.ec == std::errc{} && across.ptr != end && *across.ptr == 'x';
    const auto down = std::from_chars(has_x ? across.ptr + 1 : end, end, height);
    if (down.ec != std::errc{} || down.ptr != end || width < 16 || height < 16)
      throw Refusal(fmt::format("--size {}: write WxH in pixels, 16 or more each, for example --size 960x640",
                                options.size));
    try {
      check_picture_size(width, height);
    } catch (const Refusal& refusal) {
      throw Refusal(fmt::format("--size {}: {}", options.size, refusal.what()));
    }
    return {width, height};
  }
  const auto& [w, h] = scene.camera.format_mm;
  const double scale = longer_side / std::max(w, h);
  const auto even = [&](double side) {
    return std::max(16, 2 * static_cast<int>(std::lround(side * scale / 2)));
  };
  return {even(w), even(h)};
}

void check_outputs(const SharedOptions& options, const std::vector<std::string>& outputs) {
  namespace fs = std::filesystem;
  const auto real = [](const std::string& name) {
    std::error_code failed;
    const fs::path path = fs::weakly_canonical(fs::absolute(name, failed), failed);
    return failed ? fs::path(name) : path;
  };
  std::vector<fs::path> seen;
  for (const std::string& output : outputs) {
    std::error_code none;
    if (fs::equivalent(output, options.scene, none) && fs::is_regular_file(output, none))
      throw Refusal(fmt::format("-o {}: that is the scene itself; give the output another name", output));
    check_writable(output, options.force);
    const fs::path path = real(output);
    if (std::find(seen.begin(), seen.end(), path) != seen.end())
      throw Refusal(fmt::format("-o {}: the same file twice; give each output a name of its own", output));
    seen.push_back(path);
  }
}

std::string ending_of(const std::string& output, const std::string& special) {
  std::error_code none;
  const auto status = std::filesystem::status(output, none);
  std::string ending = std::filesystem::path(output).extension().string();
  if (ending.empty() && (std::filesystem::is_character_file(status) || std::filesystem::is_fifo(status)))
    return special;
  for (char& c : ending) c = static_cast<char>(c >= 'A' && c <= 'Z' ? c + 32 : c);
  return ending;
}

std::string format_of(const std::string& option, const std::string& output,
                      const std::vector<std::string>& allowed) {
  const std::string ending = ending_of(output, allowed.front());
  if (std::find(allowed.begin(), allowed.end(), ending) == allowed.end())
    throw Refusal(fmt::format("{} '{}': the ending says the format; allowed: {}", option, output,
                              fmt::join(allowed, ", ")));
  return ending;
}

std::vector<PictureText> sheet_texts(const std::string& scene_text) {
  return sheet_texts(UNDERCAP_VERSION, scene_text);
}

std::string answers_file(const std::string& output) {
  const std::filesystem::path path(output);
  return (path.parent_path() / (path.stem().string() + "-answers" + path.extension().string())).string();
}

void write_pages(const SharedOptions& options, const std::string& output, std::span<const Page> pages,
                 std::span<const Picture8> pictures, const Typeface& typeface,
                 const std::string& scene_text) {
  if (format_of("-o", output, {".png", ".pdf"}) == ".pdf") {
    write_file(output, pages_pdf(pages, pictures, typeface), options.force);
    return;
  }
  UNDERCAP_CHECK(pages.size() <= 2, "a second page is the answers to the first");
  for (std::size_t i = 0; i < pages.size(); ++i)
    write_file(i == 0 ? output : answers_file(output),
               encode_png(page_picture(pages[i], pictures, typeface), sheet_texts(scene_text)),
               options.force);
}

void write_page(const SharedOptions& options, const std::string& output, const Page& page,
                std::span<const Picture8> pictures, const Typeface& typeface, const std::string& scene_text) {
  write_pages(options, output, {&page, 1}, pictures, typeface, scene_text);
}

ShaderLibrary shader_library(const SharedOptions& options) {
  return ShaderLibrary(embedded_shaders(), options.shader_dir);
}

StopRule stop_rule(const SharedOptions& options) { return {options.noise_pct, options.seconds}; }

void tell(const SharedOptions& options, const std::string& line) {
  if (!options.quiet) std::fprintf(stderr, "%s\n", line.c_str());
}

void print_hanging(const std::string& opening, const std::string& text) {
  constexpr std::size_t line_width = 100, narrowest = 24;
  const std::size_t indent = std::min(opening.size(), line_width - narrowest);
  std::string line = opening;
  bool fresh = true;  // nothing of the text stands in this line yet
  std::istringstream words(text);
  const auto print = [&] { fmt::print("{}\n", line.substr(0, line.find_last_not_of(' ') + 1)); };
  for (std::string word; words >> word; fresh = false) {
    if (!fresh && line.size() + 1 + word.size() > line_width) {
      print();
      line = std::string(indent, ' ');
    } else if (!fresh) {
      line += ' ';
    }
    line += word;
  }
  print();
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
    std::fprintf(stderr, "\r%s [%s%s] %3.0f %%, %.0f s left\033[K", label_.c_str(),
                 std::string(static_cast<std::size_t>(full), '#').c_str(),
                 std::string(static_cast<std::size_t>(width - full), '.').c_str(), 100 * done, left);
  }
  return !interrupted();
}

}  // namespace undercap
