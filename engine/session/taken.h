// After the outing: the scene as its light really was, from what was really used.
//
// The sky (and the sun, with what leaves scatter of it) is scaled, a lamp that stood elsewhere is moved along
// its own axis, and a set shutter is brought to the new light; all else stays, [taken] too, whose difference
// from the corrected plan is then none. Assumes that the picture came out as bright as planned
// (measure/taken.h).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/measure/taken.h"
#include "engine/scene/load.h"
#include "engine/session/session.h"

namespace undercap {

struct TakenRow {
  std::string what, planned, taken, difference;
};

struct CorrectedScene {
  SceneFile file;
  TakenLight light{};
  double day_factor = 1;       // on sky and sun
  std::vector<TakenRow> rows;  // the plan against what was taken, for people
};

// 'session' is of the file's scene and surveyed; its lamp may stand elsewhere afterwards. Nothing when
// stopped. Refuses a [taken] that is not complete, and one that the lamps alone would have given.
std::optional<CorrectedScene> corrected_by_taken(Session& session, const SceneFile& file, Quality quality,
                                                 const Progress& progress);

// "corrected by what was taken on 2026-11-02".
std::string corrected_words(const Taken& taken);

}  // namespace undercap
