#include "app/cli/common.h"
#include "app/window/main_window.h"

namespace undercap {

int run_window(const SharedOptions& options) {
  WindowOptions window{.scene = options.scene,
                       .variant = options.variant,
                       .shaders = options.shader_dir,
                       .bundled = bundled_scene_folder(),
                       .watch = options.watch};
  if (!options.size.empty()) {
    const Size size = picture_size(options, {}, 1280);
    window.width = size.width;
    window.height = size.height;
  }
  return run_window(window);
}

}  // namespace undercap
