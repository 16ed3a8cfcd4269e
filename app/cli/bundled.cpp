#include <filesystem>

#include "app/cli/common.h"

namespace undercap {

std::string bundled_scene_folder() {
  std::error_code none;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", none);
  const auto installed = program.parent_path().parent_path() / "share/undercap/scenes";
  return std::filesystem::is_directory(installed, none) ? installed.string() : std::string(UNDERCAP_SCENES);
}

}  // namespace undercap
