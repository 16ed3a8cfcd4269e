// Where may I hold the light? The search as a job: a map of places by direct light, the few that are offered,
// each rendered, with the power that its own unit film asks for.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/measure/place_candidates.h"
#include "engine/measure/place_choice.h"
#include "engine/measure/place_levels.h"
#include "engine/session/session.h"

namespace undercap {

struct PlaceRequest {
  std::string source;  // of the scene
  // None: the darkest part of the subject that the camera sees well; the whole subject where sides are
  // wished.
  std::optional<Address> target{};
  bool whole_subject = false;  // without a target: not a part of the subject, all of it
  PlaceWish wish{};            // its target is filled in
  bool aim_as_set = false;     // the lamp keeps the scene's aim, in place of the target's middle
  CandidateSpace space{};
  PlaceColumn sort = PlaceColumn::evenness;
  std::size_t offers = 3;
  double least_power_pct = 10;  // that the lamp can be set to
  Quality quality = Quality::good;
  int width = 480, height = 320;  // of each picture
  bool filtered = false;
};

inline constexpr std::size_t most_offers = 12;

struct PlaceResult {
  std::string target_words;  // "tuft/stem"
  glm::dvec3 target_m{0};
  std::vector<PlaceFields> places;  // the map, in the order of candidate_places
  std::vector<PlaceFields> unbeaten;
  std::vector<OfferedPlace> offers;
  std::vector<Picture8> pictures;            // of each offer, lit by it
  std::optional<Relaxing> relaxing;          // when no place does: then offers are what it lets in
  std::vector<PlaceFields> plan, elevation;  // slices through the first place, slice_side^2, see slice_places
  Picture8 without;
  bool flash = false;
  double shutter_s = 0;
  double map_s = 0;  // of the map alone
  std::vector<std::string> notes;
};

// A level slice at a height, and an upright one along the camera's axis so far to its right, around the
// target: slice_side^2 places, row by row, from low to high in the drawing's axes.
inline constexpr int slice_side = 48;
struct SliceSpace {
  bool level = true;
  double half_m = 0.6;                // plan: to every side; elevation: ahead and back
  double low_m = -0.1, high_m = 0.6;  // elevation: heights from the target
  glm::dvec3 through_m{0};
};
std::vector<glm::dvec3> slice_places(const World& world, const glm::dvec3& target_m, const SliceSpace& space);

// A source of the scene. Refuses a name that is not there.
const Source& source_of(const Scene& scene, const std::string& name);

// "tuft/stem": what can be a target. And the parts of one, sorted; none: the subject. Refuses what has no
// surface.
std::vector<std::string> target_names(const World& world);
std::vector<std::uint32_t> target_parts(const World& world, const std::optional<Address>& target);

// The scene to search in: the lamp at full power but off, and without its snoot, which is a thing that
// stands. Refuses a source that is not there.
Scene scene_to_place_in(const Scene& scene, const std::string& source);

// 'session' is of scene_to_place_in(scene, ...), and has the lamp off again afterwards. Nothing when stopped.
// Refuses a target that is not seen.
std::optional<PlaceResult> run_place(const ShaderLibrary& shaders, Session& session, const Scene& scene,
                                     const PlaceRequest& request, const Progress& progress);

}  // namespace undercap
