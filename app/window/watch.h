// What the window shows, written to a file as JSON some times a second: for automation and tests, which find
// things by name and press the real mouse and keys.
#pragma once

#include <chrono>
#include <filesystem>

#include "app/window/desk.h"
#include "app/window/places_window.h"
#include "app/window/side_by_side.h"
#include "app/window/view.h"

namespace undercap::window {

// Of the last frame, and the longest one.
struct Times {
  double interface_ms = 0, drawn_ms = 0, frame_ms = 0, worst_ms = 0;
};

class Watch {
 public:
  explicit Watch(std::filesystem::path file) : file_(std::move(file)) {}
  void write(const Desk& desk, const View& view, const PlacesWindow& places,
             const SideBySidePane& side_by_side, const Times& times);

 private:
  std::filesystem::path file_;
  std::chrono::steady_clock::time_point last_{};
  std::uint64_t count_ = 0;
};

}  // namespace undercap::window
