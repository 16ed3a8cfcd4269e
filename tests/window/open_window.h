// The program with its window open: what its watch file says, and a hand on mouse and keys.
//
// After every press the window has drawn a frame that knows of it. Things go by the names of the watch file.
// What waits in vain throws, and tells what the window said last.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "tests/window/display.h"

namespace undercap {

class OpenWindow {
 public:
  using Said = nlohmann::json;
  static constexpr double patience_s = 60;  // software OpenGL on busy cores

  // 'folder' takes the user's folders, the watch file and what the program says. As large as the screen.
  OpenWindow(const Display& display, const std::filesystem::path& folder,
             const std::vector<std::string>& arguments);

  Said said() const;  // the newest
  void wait(const std::string& what, const std::function<bool(const Said&)>& holds,
            double seconds = patience_s) const;
  // Until the scene is built, its first readings stand and its picture has so many samples.
  void wait_for_picture(unsigned samples = 2) const;
  void wait_for_message(const std::string& part) const;
  double reading(const std::string& name) const;

  bool has(const std::string& thing) const { return said()["things"].contains(thing); }
  Area area(const std::string& thing) const;  // waits until it is there
  // Scrolls a pane until the middle of the thing can be pressed.
  void reach(const std::string& thing, const std::string& pane) const;

  void point(const Spot& at) const;
  void click(const Spot& at) const;
  void click(const std::string& thing) const;
  void drag(const Spot& from, const Spot& to) const;
  void scroll(const Spot& at, int notches) const;  // up is positive
  void key(const std::string& keys) const;         // "Return", "ctrl+shift+s"; down for a few milliseconds
  void type(const std::string& text) const;        // into the box that has the keys
  void settle(unsigned frames = 1) const;          // until so many frames know what was pressed before
  void type_over(const std::string& box, const std::string& text) const;  // click, text, Return

  Process& process() { return *process_; }
  int ended() const;  // the status, when the program has come to its end

 private:
  void press() const;  // the left button, where the mouse is
  std::string last_words() const;
  const Display& display_;
  std::filesystem::path folder_;
  std::unique_ptr<Process> process_;
};

}  // namespace undercap
