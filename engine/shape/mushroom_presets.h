// Presets of the kinds with caps, by outward form alone. All values and colours are plausible, unmeasured.
#pragma once

#include "engine/shape/kinds.h"

namespace undercap {

std::vector<KindPreset> mushroom_presets();
std::vector<KindPreset> bonnet_presets();
std::vector<KindPreset> tuft_presets();

}  // namespace undercap
