// The picture of a scene in which things sway: moments of the exposure, each with its share of the samples.
#pragma once

#include "engine/session/session.h"

namespace undercap {

// As Session::picture, after the survey, of what is at rest in it: readings and exposure do not see the
// movement. Samples by their number alone, unfiltered: refuses a noise or a time to reach, and a filter,
// which would sharpen what is smeared.
PictureResult render_moving_picture(const ShaderLibrary& shaders, Session& session,
                                    const PictureRequest& request, const Progress& progress);

}  // namespace undercap
