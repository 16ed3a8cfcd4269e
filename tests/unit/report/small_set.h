// Small sets for the tests of drawings: a level or bare ground, a lens whose lengths are round numbers.
#pragma once

#include <fmt/format.h>

#include <string>

#include "engine/scene/load.h"
#include "engine/world/world.h"

namespace undercap {

// On bare ground and without a sky. The camera stands 1 m south of the origin, 5 cm up, and looks level to
// the north, focused 1 m ahead: b = f (1 + m), m = f / (a - f).
inline World small_set(const std::string& text, const std::string& camera = "") {
  const std::string scene = fmt::format(
      "undercap = 1\n[ground]\nkind = \"none\"\n[sky]\nmodel = \"off\"\n[camera]\nposition_m = [0, -1, "
      "0.05]\nlook_at = [0, 0, 0.05]\nfocus = [0, 0, 0.05]\n{}\n{}",
      camera, text);
  return build_world(SceneFile::from_text(scene, "test.toml").scene());
}

}  // namespace undercap
