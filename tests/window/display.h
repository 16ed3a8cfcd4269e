// An X server of the test's own, without a window manager: what is on its screen, and its mouse and keys.
// Windows lie at its upper left, so that pixels of a window are pixels of the screen.
#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include "engine/image/picture.h"
#include "tests/window/process.h"

namespace undercap {

// Pixels of the screen.
struct Spot {
  double x = 0, y = 0;
};
struct Area {
  double left = 0, top = 0, right = 0, bottom = 0;
  Spot middle() const { return {(left + right) / 2, (top + bottom) / 2}; }
  bool holds(const Spot& at) const { return at.x >= left && at.x < right && at.y >= top && at.y < bottom; }
  bool holds(const Area& other) const {
    return other.left >= left && other.top >= top && other.right <= right && other.bottom <= bottom;
  }
};

class Display {
 public:
  // 'folder' takes the file that the server keeps its screen in.
  Display(int width, int height, const std::filesystem::path& folder);

  const std::string& name() const { return name_; }  // ":99"
  int width() const { return width_; }
  int height() const { return height_; }
  Area all() const { return {0, 0, static_cast<double>(width_), static_cast<double>(height_)}; }
  Picture8 screen() const;

  // xdotool with these words. Throws when it fails.
  void hand(const std::vector<std::string>& words) const;

 private:
  int width_, height_;
  std::filesystem::path folder_;
  std::unique_ptr<Process> server_;
  std::string name_;
};

}  // namespace undercap
