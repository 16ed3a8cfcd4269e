// One native window with its OpenGL context. The device may be lost, and the window is then made anew.
#pragma once

#include <glad/gl.h>
// After it: GLFW brings no OpenGL header of its own then.
#include <GLFW/glfw3.h>

#include <string>

namespace undercap::window {

class NativeWindow {
 public:
  // Throws Trouble when the display offers no OpenGL 4.5 core.
  NativeWindow(int width, int height);
  ~NativeWindow();
  NativeWindow(const NativeWindow&) = delete;
  NativeWindow& operator=(const NativeWindow&) = delete;

  GLFWwindow* get() const { return window_; }
  float content_scale() const;  // of a dense display, 1 to 4
  // Whether the device was reset, so that nothing on it is left.
  bool was_reset() const;

 private:
  GLFWwindow* window_;
};

// A context with nothing to be seen, for work on a thread of its own. Made and given up on the thread of the
// window, whose context stays current there.
class SideContext {
 public:
  SideContext();
  ~SideContext();
  SideContext(const SideContext&) = delete;
  SideContext& operator=(const SideContext&) = delete;
  // Makes it current on the thread that calls, and lets go of it there.
  void take() { glfwMakeContextCurrent(window_); }
  void leave() { glfwMakeContextCurrent(nullptr); }

 private:
  GLFWwindow* window_;
};

std::string glfw_fault();  // the last one, in its own words

}  // namespace undercap::window
