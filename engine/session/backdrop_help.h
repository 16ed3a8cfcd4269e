// What would help most to separate the subject from its backdrop here: things that one can do in the wood,
// each tried by a render.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/session/session.h"

namespace undercap {

struct BackdropHelp {
  std::string words;                               // what was done: "dark wood 30 x 20 cm, 25 cm behind"
  std::optional<Estimate> rim_stops, texture_pct;  // backdrop.rim_step_stops, backdrop.texture_8_32_pct
};

struct BackdropHelps {
  BackdropHelp as_set;
  std::vector<BackdropHelp> tried;  // the largest gain in the size of the rim step first
};

// Tries a dark piece of wood behind, twice the distance to the backdrop, another height of the lens axis, a
// stop wider, half as long a lens again at the same framing, and the lamp turned away from the backdrop; what
// a scene does not have is left out. A draft render each, whatever the quality of the rest. Nothing when
// stopped.
std::optional<BackdropHelps> what_helps_most(const ShaderLibrary& shaders, const Scene& scene,
                                             const Progress& progress);

// A sentence each, gains with their errors.
std::vector<std::string> help_words(const BackdropHelps& helps);

}  // namespace undercap
