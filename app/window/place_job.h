// The search for places (engine/session/place.h) beside the window: a thread and a context of its own.
#pragma once

#include <atomic>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "app/window/native_window.h"
#include "engine/gl/shader_library.h"
#include "engine/session/place_page.h"

namespace undercap::window {

struct FoundPlace {
  std::string letter;
  std::string words;               // where to hold the lamp
  std::string rise;                // predicted and rendered, spill
  std::vector<std::string> level;  // how to get the power
  glm::dvec3 place_m{0}, aim_m{0};
  double power_pct = 0;
};

// All in words, so that nobody needs the world that it is of.
struct FoundPlaces {
  std::string source, target, fault;  // fault: why there is nothing
  std::vector<FoundPlace> offers{};
  std::vector<std::string> instead{};  // where none is offered: what keeps them out, what to relax
  std::vector<std::string> notes{};
  std::optional<PlacePage> page{};
  std::string scene_text{};
};

class PlaceJob {
 public:
  // On the thread of the window. 'text' is the scene's, to be kept in the page's file.
  PlaceJob(Scene scene, std::string text, PlaceRequest request, ShaderLibrary shaders);
  ~PlaceJob();  // cancels, and waits for the step under way

  void cancel() { cancelled_ = true; }
  bool cancelled() const { return cancelled_; }
  double share_done() const { return share_; }
  bool over() const { return over_; }
  // When it is over; none when it was cancelled.
  std::optional<FoundPlaces> take();

 private:
  void run();
  FoundPlaces search();

  Scene scene_;
  std::string text_;
  PlaceRequest request_;
  ShaderLibrary shaders_;
  SideContext context_;
  std::atomic<bool> cancelled_{false}, over_{false};
  std::atomic<double> share_{0};
  std::mutex mutex_;
  std::optional<FoundPlaces> found_;
  std::jthread thread_;
};

}  // namespace undercap::window
