// Places to try for a lamp, in the order of their coordinates: a shell around the target, a level plane, a
// box.
#pragma once

#include <glm/vec3.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "engine/world/world.h"

namespace undercap {

// Level unit vectors: to the camera's right and ahead of it; for one that looks straight down its picture's
// top is ahead.
struct LevelAxes {
  glm::dvec3 right, ahead;
};
LevelAxes level_axes(const CameraRig& rig);

struct CandidateSpace {
  enum class Over { shell, plane, box } over = Over::shell;
  double near_m = 0.07, far_m = 0.6;   // shell: distances from the target; plane and box: far_m to every side
  double height_m = 0.1;               // plane: above the target's middle; may be negative
  double low_m = -0.06, high_m = 0.5;  // box: heights from the target's middle
};

// As far off as a lamp of this size is held: 7 to 60 cm for a torch; a large panel from three times its
// radius to five times its width, where the light still bends around the subject (common practice, no
// source).
CandidateSpace space_for(const Source& source);

// 4,096 places for a whole map, in the camera's directions, so that a set that is symmetric about the lens
// axis has symmetric places. Shell: 8 distances in equal ratios, 16 heights from 20 degrees below the target
// to 80 above, 32 directions all around. Plane: 64 x 64. Box: 16 x 16 x 16.
std::vector<glm::dvec3> candidate_places(const World& world, const glm::dvec3& target_m,
                                         const CandidateSpace& space);

}  // namespace undercap
