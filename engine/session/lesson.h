// Ready comparisons to teach with: each a question, one thing varied in a bundled scene, and what to say.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "engine/report/sweep_sheet.h"
#include "engine/session/sweep_plan.h"

namespace undercap {

struct Lesson {
  const char* name = "";                // on the command line
  const char* title = "";               // of the page
  const char* scene = "";               // bundled
  std::vector<Edit> sets{};             // that the comparison needs
  std::vector<const char*> variants{};  // TOML of [[variant]] blocks of its own
  SweepWish wish{};                     // nothing varied: a focus stack of the subject
  std::optional<SweepRows> rows{};
  std::optional<std::array<double, 2>> box{};  // middle of the detail; none: what is in focus
  const char* question = "";
  const char* why = "";      // two sentences
  const char* kitchen = "";  // one thing to try at the table
};

std::span<const Lesson> lessons();
// Refuses a name that there is not.
const Lesson& lesson_of(const std::string& name);

// The lesson's scene from the text of its bundled one, with a variant under the values set for the lesson.
SceneFile lesson_scene(const Lesson& lesson, const SceneFile& bundled);

// Question, reason and what to try, as lines of a page.
std::vector<std::string> lesson_lines(const Lesson& lesson);

// That scene with each picture of the lesson as its variants, for the window; a stack's has its own.
SceneFile lesson_in_variants(const Lesson& lesson, const SceneFile& scene);

}  // namespace undercap
