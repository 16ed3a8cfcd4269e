// What an edit of a scene costs: which films it makes worthless, and whether the set must be built again.
//
// Light is linear, and each film is kept at unit power and unit white, so that many edits need no ray at all.
// One table (edit_cost.cpp) gives every key of keys.h its class; a key without one fails a test.
//
//   const SceneChange change = change_between(before, after);
//   if (change.set) ... else if (change.every_film()) ... else for (name of change.lamps) ...; then mix
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/scene/document.h"

namespace undercap {

// In the order of what they cost. Each means its own work only; whoever obeys 'set' has obeyed all but
// 'readings'.
enum class EditClass {
  nothing,   // words for people
  readings,  // the picture stays; what is measured, or how it is worked out, does not
  mix,       // the films stay and are mixed or exposed anew
  lamp,      // the film of this one source begins anew
  camera,    // every film begins anew; the set stays, the barrel and the photographer move
  sky,       // every film begins anew; the set and the camera stay
  set        // the set is built anew
};

// Of a key by the table of its row and its name: ("source", "beam_deg"). What a table holds by parts counts
// as that table. Nothing: the table of classes has forgotten it.
std::optional<EditClass> edit_class(std::string_view table, std::string_view name);

struct SceneChange {
  bool mix = false, camera = false, sky = false, set = false;
  bool readings = false;           // true with each of the others
  std::vector<std::string> lamps;  // names of sources, in the order of the file after the edit
  std::vector<std::string> keys;   // that differ: "camera.f_number", "source.torch.power_pct", "prop.tuft"

  bool every_film() const { return camera || sky || set; }
  bool any_film() const { return every_film() || !lamps.empty(); }
  bool nothing() const { return !mix && !any_film() && !readings; }
};

// Both documents must be of valid scenes. Values are compared, not how they are written: 1.0 is 1, and a key
// that says its default is a key that is not there. Blocks of a list are matched by name.
SceneChange change_between(const Document& before, const Document& after);

}  // namespace undercap
