#include "tests/window/set_up.h"

#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <stdexcept>

#include "engine/core/files.h"
#include "engine/image/png.h"
#include "engine/scene/load.h"
#include "engine/world/pick.h"

namespace undercap {
namespace fs = std::filesystem;

Window::Window() {
  std::string made = (fs::temp_directory_path() / "undercap_window_XXXXXX").string();
  if (!::mkdtemp(made.data())) throw std::runtime_error("no temporary folder");
  folder = made;
  file = folder / "ball.toml";
  write_file(file, small_scene(), false);
}

Window::~Window() {
  window_.reset();
  display_.reset();
  std::error_code ignored;
  fs::remove_all(folder, ignored);
}

void Window::TearDown() {
  if (!HasFailure() || !display_) return;
  write_picture(std::string("failed_") + testing::UnitTest::GetInstance()->current_test_info()->name(),
                display_->all());
}

void Window::open_with(const std::vector<std::string>& arguments, int width, int height) {
  window_.reset();
  if (!display_ || display_->width() != width || display_->height() != height) {
    display_.reset();
    display_ = std::make_unique<Display>(width, height, folder);
  }
  window_ = std::make_unique<OpenWindow>(*display_, folder, arguments);
}

void Window::save() {
  window_->key("ctrl+s");
  window_->wait("a saved scene", [](const auto& now) { return now["unsaved"] == false; });
}

int Window::quit() {
  display_->hand({"key", "ctrl+q"});
  return window_->ended();
}

void Window::set_iso(const std::string& iso) {
  window_->reach("exposure.iso", "camera");
  window_->type_over("exposure.iso", iso);
  window_->wait("ISO " + iso,
                [&](const auto& now) { return now["readings"]["exposure.iso"] == std::stod(iso); });
}

std::string Window::text() const { return read_file(file); }

Scene Window::scene() const { return SceneFile::open(file).scene(); }

std::vector<fs::path> Window::copies() const {
  std::vector<fs::path> found;
  const fs::path recovery = folder / "state" / "undercap" / "recovery";
  if (!fs::exists(recovery)) return found;
  for (const auto& entry : fs::directory_iterator(recovery)) found.push_back(entry.path());
  return found;
}

Spot Window::in_picture(const glm::dvec3& place_m) {
  const auto place = frame_place(build_world(scene()).camera, place_m);
  if (!place) throw std::runtime_error("a place behind the camera is not in the picture");
  const Area picture = window_->area("picture");
  return {picture.left + place->x * (picture.right - picture.left),
          picture.top + place->y * (picture.bottom - picture.top)};
}

double Window::brightness(const Spot& at, int radius) const {
  const Picture8 screen = display_->screen();
  double sum = 0, count = 0;
  const int x = static_cast<int>(at.x), y = static_cast<int>(at.y);
  for (int row = std::max(0, y - radius); row <= std::min(screen.height - 1, y + radius); ++row)
    for (int column = std::max(0, x - radius); column <= std::min(screen.width - 1, x + radius); ++column)
      for (int channel = 0; channel < 3; ++channel, ++count)
        sum += screen.rgb[static_cast<std::size_t>((row * screen.width + column) * 3 + channel)];
  return sum / count;
}

void Window::show(const std::string& name, const Area& part) const {
  window_->settle();
  write_picture(name, part);
}

void Window::write_picture(const std::string& name, const Area& part) const {
  const Picture8 screen = display_->screen();
  const int left = std::clamp(static_cast<int>(part.left), 0, screen.width - 1),
            top = std::clamp(static_cast<int>(part.top), 0, screen.height - 1);
  Picture8 cut{.width = std::clamp(static_cast<int>(part.right), left + 1, screen.width) - left,
               .height = std::clamp(static_cast<int>(part.bottom), top + 1, screen.height) - top,
               .rgb = {}};
  for (int y = top; y < top + cut.height; ++y) {
    const auto row = screen.rgb.begin() + (y * screen.width + left) * 3;
    cut.rgb.insert(cut.rgb.end(), row, row + cut.width * 3);
  }
  const fs::path shots = fs::path(UNDERCAP_WINDOW_FOLDER) / "screens";
  fs::create_directories(shots);
  write_file(shots / (name + ".png"), encode_png(cut, {}), true);
}

std::string small_scene() {
  return R"(# A scene of the tests of the window: small, so that it is built in a moment.
undercap = 1
title = "A ball by the path"   # told in the menu

[ground]
size_m = 2
relief_mm = 0
reflectance = 0.1

# Thin light from above, so that the torch shows.
[sky]
model = "uniform"
horizontal_lx = 200

[camera]
position_m = [0.0, -0.5, 0.1]
look_at = [0.0, 0.0, 0.02]
focus = "ball"
barrel_mm = 0
f_number = 8 # deep enough

[exposure]
shutter_s = 0.125
	iso = 200 # as it is set	out there

[subject]
parts = ["ball"]

[[prop]]
name = "ball"
kind = "sphere"
at_m = [0.0, 0.0, 0.02]
diameter_mm = 40
# Matt.
material.surface = { reflectance = 0.5, roughness = 1 }

[[prop]]
name = "pebble"
kind = "sphere"
at_m = [0.036, 0.02, 0.01]
diameter_mm = 20
material.surface = { reflectance = 0.8, roughness = 1 }

[[prop]]
name = "card"
kind = "card"
at_m = [-0.07, 0.1, 0.06]
size_mm = [100, 100]
turn_deg = 40

[[source]]
name = "torch"
kind = "torch"
position_m = [ -0.2, -0.15, 0.15 ]   # within reach
aim = "ball"
flux_lm = 60
# The end.
)";
}

std::string replaced(std::string text, const std::string& piece, const std::string& by) {
  const std::size_t at = text.find(piece);
  if (at == std::string::npos) throw std::runtime_error("no such piece: " + piece);
  return text.replace(at, piece.size(), by);
}

}  // namespace undercap
