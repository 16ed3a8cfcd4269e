// Skies that look the same all around: even, and overcast. Above a level horizon; below it is black.
//
//   L_z   luminance at the zenith     E_h   illuminance of level ground in the open
//   tilt  of a surface from facing the zenith: 0 level, 90 degrees a wall, 180 facing down
#pragma once

#include "engine/core/quantities.h"

namespace undercap {

enum class SkyShape {
  uniform,
  overcast  // three times as bright overhead as at the horizon: CIE 1955, after Moon & Spencer 1942
};

// L / L_z at an elevation; 0 below the horizon.
double sky_luminance_ratio(SkyShape shape, Angle elevation);

// L_z of a sky that gives this on level ground.
Luminance zenith_luminance(SkyShape shape, Illuminance horizontal);

// E / E_h of a tilted surface in the open, without light from the ground.
double tilted_illuminance_ratio(SkyShape shape, Angle tilt);

// Share of E_h that comes from within this angle of the zenith: what one round gap overhead lets in, or what
// a level ring of trees leaves whose tops stand at 90 degrees less that angle. 0 to 90 degrees.
double sky_share_within(SkyShape shape, Angle of_zenith);

}  // namespace undercap
