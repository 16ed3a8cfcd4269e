// What the tests of the window begin with: a folder, a small scene in it, a display, the program.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "engine/world/world.h"
#include "tests/window/open_window.h"

namespace undercap {

class Window : public testing::Test {
 protected:
  Window();
  ~Window() override;
  void TearDown() override;  // a picture of the screen when the test has failed

  // Opens the program on the scene, on a new display unless there is one of this size.
  void open(int width = 1280, int height = 800) { open_with({file.string()}, width, height); }
  void open_with(const std::vector<std::string>& arguments, int width = 1280, int height = 800);
  OpenWindow& window() { return *window_; }
  const Display& display() const { return *display_; }

  // What several tests do.
  void save();                           // by its keys, until nothing is unsaved
  int quit();                            // by its keys, where nothing asks; the status
  void set_iso(const std::string& iso);  // typed into its box, until the readings say it
  std::string text() const;              // of the scene's file
  Scene scene() const;                   // that it says
  // Copies of unsaved work that are there.
  std::vector<std::filesystem::path> copies() const;

  // Where a place of the world is in the picture that is shown.
  Spot in_picture(const glm::dvec3& place_m);
  // Mean of the 8-bit codes of the screen in a square about a place.
  double brightness(const Spot& at, int radius) const;
  // The screen, or a part of it, as screens/NAME.png beside the program of these tests, once it shows what
  // the watch file says.
  void show(const std::string& name) const { show(name, display_->all()); }
  void show(const std::string& name, const Area& part) const;

  std::filesystem::path folder, file;

 private:
  void write_picture(const std::string& name, const Area& part) const;
  std::unique_ptr<Display> display_;
  std::unique_ptr<OpenWindow> window_;
};

// A ball of 40 mm that is the subject, a light pebble of 20 mm beside it, a card behind, a torch from the
// left.
std::string small_scene();
inline const glm::dvec3 ball_m{0, 0, 0.02}, pebble_m{0.036, 0.02, 0.01};
inline constexpr double pebble_radius_m = 0.01;
// The text with one piece of it replaced; the piece must be there.
std::string replaced(std::string text, const std::string& piece, const std::string& by);

}  // namespace undercap
