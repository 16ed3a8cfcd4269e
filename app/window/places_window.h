// 'Find places ...': asks, searches beside the window, lists what was found and puts the lamp there.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/window/dialogs.h"
#include "app/window/place_job.h"

namespace undercap::window {

class PlacesWindow {
 public:
  // Opens the question, with what the map asks.
  void ask(const Desk& desk, const View& view);
  void draw(Desk& desk, View& view, FileDialog& files, const ShaderLibrary& shaders, bool software);
  bool searching() const { return job_ != nullptr; }
  void stop();  // and waits for it

  // What is listed, in words.
  std::vector<std::string> offers() const;

 private:
  void draw_question(Desk& desk, const ShaderLibrary& shaders, bool software);
  void draw_progress();
  void draw_found(Desk& desk, View& view, FileDialog& files);
  void draw_offer(Desk& desk, View& view, const FoundPlace& offer);
  void start(const Desk& desk, const ShaderLibrary& shaders);
  void save_sheet(Desk& desk, FileDialog& files);

  bool open_ = false, appearing_ = false, asking_ = true;
  PlacesAsked asked_;
  int offers_ = 3;
  std::optional<bool> quick_;  // draft quality; none: as the device is
  std::unique_ptr<PlaceJob> job_;
  std::optional<FoundPlaces> found_;
};

}  // namespace undercap::window
