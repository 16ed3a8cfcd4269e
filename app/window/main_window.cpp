#include "app/window/main_window.h"

#include "app/window/application.h"
#include "engine/core/errors.h"

namespace undercap {

int run_window(const WindowOptions& options) {
  if (!glfwInit())
    throw Trouble("there is no display to open a window on: " + window::glfw_fault() +
                  "; 'undercap render' and 'undercap measure' need none");
  struct Terminate {
    ~Terminate() { glfwTerminate(); }
  } terminate;
  window::Application application(options);
  return application.run();
}

}  // namespace undercap
