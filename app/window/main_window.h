// The window from open to close.
#pragma once

#include <string>

namespace undercap {

class ShaderLibrary;

struct WindowOptions {
  std::string scene;    // file or name; empty: the last one open, at the first start the demo
  std::string variant;  // to begin with
  std::string shaders;  // folder that shaders are read from; empty: those compiled in
  std::string bundled;  // folder of the bundled scenes
  std::string watch;    // file that gets what the window shows, as JSON, some times a second; empty: none
  int width = 1280, height = 800;
};

// Returns the exit status. Throws Trouble when there is no display or no OpenGL 4.5.
int run_window(const WindowOptions& options);

}  // namespace undercap
