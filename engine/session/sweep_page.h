// The pages of a sweep: pictures, details, readings and the plot; as a question where that is wanted.
#pragma once

#include <string>
#include <vector>

#include "engine/report/sweep_sheet.h"
#include "engine/report/typeface.h"
#include "engine/session/sweep_plan.h"

namespace undercap {

struct SweepPageWish {
  std::string title, scene_name, made_by;
  SheetPaper paper = SheetPaper::a4;
  std::optional<unsigned> quiz{};       // its seed
  std::optional<SweepRows> rows{};      // none: by what is varied
  std::vector<std::string> question{};  // lines in front of the small ones
  std::vector<std::string> remarks{};   // and behind what the sheet says of itself
  bool filtered = false;
};

struct SweepPages {
  std::vector<Page> pages;
  std::vector<Picture8> pictures;
};

SweepPages sweep_pages(const SweepPlan& plan, const Scene& base, const std::vector<SweepEntry>& entries,
                       const SweepResult& result, const SweepPageWish& wish, const Typeface& typeface);

}  // namespace undercap
