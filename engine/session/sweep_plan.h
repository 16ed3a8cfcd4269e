// What a sweep varies and what it holds: its words, and the scenes that they make.
//
//   variant=all | variant=base,half | KEY=VALUE,VALUE | KEY=FROM..TO[/STEP] in thirds of a stop
//   format=36x24,17.3x13 | same=f_number,pupil,best,rule | lens=35,60,90 | axis_height_cm=4,6,10
//   hour=8,10:30,14 | weather=overcast,rain,haze,sun | distance_cm.NAME=15,30
// Two of them make a grid; the longer list goes across.
#pragma once

#include <array>
#include <functional>
#include <string>
#include <vector>

#include "engine/scene/load.h"
#include "engine/session/partner.h"
#include "engine/session/sweep.h"

namespace undercap {

struct SweepAxis {
  enum class Of { variant, key, format, same, axis_height, hour, weather, distance } of = Of::variant;
  std::string key;                             // of a scene's key; of a distance the source
  std::vector<std::string> values;             // as written, or the variants' names
  std::vector<std::string> labels;             // by value, as a sheet says it
  std::vector<double> numbers;                 // by value, where it is one number: for plots
  std::vector<std::array<double, 2>> formats;  // by value
  std::vector<Same> sames;                     // by value
};

enum class Held {
  framing,     // the field at the plane in focus; the camera moves along its axis
  viewpoint,   // place and direction of the entrance pupil, and the plane in focus
  brightness,  // of the picture: each is metered
  depth        // of field in front of and behind the plane in focus together; the f-number follows
};

struct SweepWish {
  std::vector<std::string> vary{};  // one or two
  std::vector<Held> hold{};
  std::string same{}, match{};  // of formats; empty: f_number, diagonal
};

struct SweepPlan {
  std::vector<SweepAxis> axes;  // one or two
  std::vector<Held> hold;
  Same same = Same::f_number;  // where no axis says it
  Match match = Match::diagonal;
  std::size_t across() const;  // the axis whose values make the columns
  int columns() const;         // of a grid; 0: one axis, as it fits best
  std::size_t pictures() const;
  std::vector<std::size_t> places(std::size_t picture) const;  // on each axis, pictures counted row by row
  bool has(SweepAxis::Of of) const;
  bool holds(Held what) const;
  bool camera_alone() const;    // nothing but camera, sensor and exposure is varied
  bool wants(Same same) const;  // some picture
};

// A list of holds at commas: "framing,brightness".
std::vector<Held> holds_of(const std::string& words);

// Refuses what is not understood, what is held against what is varied, and a grid with more pictures than a
// sheet holds.
SweepPlan sweep_plan(const SweepWish& wish, const Scene& scene);

// The scene with a variant (empty: none) under whatever else is set for all pictures.
using OpenVariant = std::function<SceneFile(const std::string& variant)>;

// The pictures by rows, each 'longer_side' pixels. 'needed' is where the subject lies, for the best
// f-numbers. Sentences on what was done beyond what was asked for go to 'notes', each once.
std::vector<SweepEntry> sweep_entries(const OpenVariant& open, const SweepPlan& plan, int longer_side,
                                      const std::optional<DepthRange>& needed,
                                      std::vector<std::string>& notes);

// What the pictures differ in, and what is the same in all of them, as a sheet says it.
std::vector<std::string> changed_by(const SweepPlan& plan, const Scene& scene);
std::string kept_in(const SweepPlan& plan, const std::vector<SweepEntry>& entries,
                    const std::vector<CameraRig>& rigs);
// How far the rule of thumb is off for each format, where a picture goes by it.
std::vector<std::string> rule_errors(const SweepPlan& plan, const Scene& scene);

// What the keys of a change belong to, each once and in order: "sun.on" gives "sun", "prop.tuft.wet" "tuft",
// "camera.f_number" "camera.f_number".
std::vector<std::string> changed_things(const std::vector<Variant>& variants,
                                        const std::vector<std::string>& names);

}  // namespace undercap
