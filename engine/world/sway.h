// Props that sway while the shutter is open: a world as it stands at one moment of the exposure.
//
// A prop leans about its foot, its top by sway_mm to either side, as a plant that is rooted does; what grows
// on it stays where it is. At the start of the exposure it passes its place of rest.
#pragma once

#include "engine/world/world.h"

namespace undercap {

bool anything_sways(const Scene& scene);

// 'world' with its swaying props as they are 'after' the shutter opened. Its triangles are others: what a
// renderer holds of them is to be made anew.
World swayed(const World& world, Duration after);

}  // namespace undercap
