#include "app/window/native_window.h"

#include <algorithm>

#include "engine/core/errors.h"

namespace undercap::window {

std::string glfw_fault() {
  const char* words = nullptr;
  glfwGetError(&words);
  return words ? words : "no reason given";
}

namespace {

void hint_core_profile() {
  glfwDefaultWindowHints();
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 4);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 5);
  glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
}

}  // namespace

SideContext::SideContext() {
  hint_core_profile();
  glfwWindowHint(GLFW_VISIBLE, GLFW_FALSE);
  window_ = glfwCreateWindow(16, 16, "Undercap beside", nullptr, nullptr);
  if (!window_) throw Trouble("there is no second OpenGL context: " + glfw_fault());
}

SideContext::~SideContext() { glfwDestroyWindow(window_); }

NativeWindow::NativeWindow(int width, int height) {
  hint_core_profile();
  // A device that is reset says so instead of going on with nonsense.
  glfwWindowHint(GLFW_CONTEXT_ROBUSTNESS, GLFW_LOSE_CONTEXT_ON_RESET);
  glfwWindowHint(GLFW_SCALE_TO_MONITOR, GLFW_TRUE);
  window_ = glfwCreateWindow(width, height, "Undercap", nullptr, nullptr);
  if (!window_)
    throw Trouble("this display offers no OpenGL 4.5: " + glfw_fault() +
                  "; a newer driver may, or software OpenGL (Debian: libgl1-mesa-dri, with "
                  "LIBGL_ALWAYS_SOFTWARE=1 set)");
  glfwMakeContextCurrent(window_);
  if (gladLoadGL(reinterpret_cast<GLADloadfunc>(glfwGetProcAddress)) == 0)
    throw Trouble("the functions of OpenGL 4.5 cannot be loaded; update the graphics driver");
  glfwSwapInterval(1);
  glfwSetWindowSizeLimits(window_, 480, 360, GLFW_DONT_CARE, GLFW_DONT_CARE);
}

NativeWindow::~NativeWindow() { glfwDestroyWindow(window_); }

float NativeWindow::content_scale() const {
  float x = 1, y = 1;
  glfwGetWindowContentScale(window_, &x, &y);
  return std::clamp(x, 1.f, 4.f);
}

bool NativeWindow::was_reset() const {
  return glGetGraphicsResetStatus && glGetGraphicsResetStatus() != GL_NO_ERROR;
}

}  // namespace undercap::window
