// A page before anything is painted: what stands where.
//
// Millimetres from the upper left corner, x to the right, y down. A text stands on its baseline and begins at
// x; its size is the type's body (1 pt = 0.353 mm).
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace undercap {

enum class Weight { regular, bold };

struct PageText {
  double x_mm = 0, baseline_mm = 0, size_mm = 0;
  Weight weight = Weight::regular;
  double ink = 1;  // 1 black, 0 the paper
  std::string text;
};

struct PagePicture {
  double x_mm = 0, y_mm = 0, width_mm = 0, height_mm = 0;
  std::size_t picture = 0;  // which one, of those that are given along with the page
};

struct PageRule {  // a level line
  double x_mm = 0, y_mm = 0, width_mm = 0;
};

struct PageBox {  // a thin outline that shows on light and on dark
  double x_mm = 0, y_mm = 0, width_mm = 0, height_mm = 0;
};

struct Page {
  double width_mm = 0, height_mm = 0;
  std::string title;  // in a file's own data
  std::vector<PageText> texts;
  std::vector<PagePicture> pictures;
  std::vector<PageRule> rules;
  std::vector<PageBox> boxes;
};

}  // namespace undercap
