// How the scenes of a sweep come about that no single key makes: weather, hour, a lamp's distance, the height
// of the lens axis, and cameras that hold framing, viewpoint or depth. Private to the module.
#pragma once

#include <string>

#include "engine/session/sweep_plan.h"

namespace undercap {

// "after rain, all wet", for "rain"; refuses another word.
std::string weather_words(const std::string& vary, const std::string& word);
std::vector<Edit> weather_edits(const Scene& scene, const std::string& word);

// Refuses a sun whose place is given by hand.
std::vector<Edit> hour_edits(const Scene& scene, double hour);

// The level of the sky then follows the sun's height and the kind of sky, which is what hour and weather are
// to change.
void free_sky_level(SceneFile& file);

// The source so far from its aim, on the line from there. 'world' is a scratch one of the scene.
std::vector<Edit> distance_edits(World& world, const std::string& source, double distance_m);

// The camera of 'base' as it stands, told by points and lengths alone, so that it stays where a lens changes.
// Its focus is the middle of the frame in the plane in focus.
struct HeldCamera {
  glm::dvec3 pupil_m{0}, forward{0, 1, 0}, middle_m{0};
  double magnification = 0;
  std::optional<Length> depth;  // of field; none: to infinity
};
HeldCamera held_camera(const World& base);

// Each changes 'scene', whose lens stays as it says. 'asker' opens a refusal.
void hold_framing(Scene& scene, const HeldCamera& held);
void hold_viewpoint(Scene& scene, const HeldCamera& held);
// The lens axis so high above the ground under the pupil, the subject as large and in the middle as before.
// 'world' is a scratch one of the same set.
void set_axis_height(Scene& scene, World& world, const HeldCamera& held, double height_m,
                     const std::string& asker);
// The f-number at which depth of field is that of 'held'; 'world' has the scene's camera.
void hold_depth(Scene& scene, const World& world, const HeldCamera& held, const std::string& asker);

}  // namespace undercap
