// What a sweep varies: its words on the command line, and the scenes that they make.
//
//   --vary variant=all | variant=base,half | KEY=VALUE,VALUE | format=36x24,17.3x13 |
//   same=f_number,pupil,best,rule
// Two of them make a grid; the longer list goes across.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "app/cli/common.h"
#include "engine/session/partner.h"
#include "engine/session/sweep.h"

namespace undercap {

struct SweepAxis {
  enum class Of { variant, key, format, same } of = Of::variant;
  std::string key;                             // of a scene's key
  std::vector<std::string> values;             // as written, or the variants' names
  std::vector<std::array<double, 2>> formats;  // by value
  std::vector<Same> sames;                     // by value
};

struct SweepPlan {
  std::vector<SweepAxis> axes;  // one or two
  Same same = Same::f_number;   // where no axis says it
  Match match = Match::diagonal;
  std::size_t across() const;  // the axis whose values make the columns
  int columns() const;         // of a grid; 0: one axis, as it fits best
  bool has_formats() const;
  bool camera_alone() const;    // nothing but camera, sensor and exposure is varied
  bool wants(Same same) const;  // some picture
};

// Refuses what is not understood, and a grid with more pictures than a sheet holds.
SweepPlan sweep_plan(const SharedOptions& options, const Scene& scene);

// The pictures by rows. 'needed' is where the subject lies, for the best f-numbers. 'base' has told its
// notes; a variant tells only what it adds.
std::vector<SweepEntry> sweep_entries(const SharedOptions& options, const SceneFile& base,
                                      const SweepPlan& plan, const std::optional<DepthRange>& needed);

// What the pictures differ in, and what is held, as a sheet says it.
std::vector<std::string> changed_by(const SweepPlan& plan, const Scene& scene);
std::string kept_in(const SweepPlan& plan);
// How far the rule of thumb is off for each format, where a picture goes by it.
std::vector<std::string> rule_errors(const SweepPlan& plan, const Scene& scene);

}  // namespace undercap
