// A contact sheet: pictures in a grid with a name and a few rows under each, and how it is laid out.
#pragma once

#include <string>
#include <vector>

#include "engine/report/page.h"
#include "engine/report/typeface.h"

namespace undercap {

struct SheetRow {
  std::string label, value;
};

struct SheetCell {
  std::string name;
  std::vector<SheetRow> rows;
  int width = 3, height = 2;  // of its picture, pixels
};

struct ContactSheet {
  std::string title;
  std::string under_title;       // one line
  std::vector<SheetCell> cells;  // 1 to most_cells
  double figure_aspect =
      0;                 // height over width of one more picture, across the paper below the others; 0: none
  bool upright = false;  // the paper stands
  int columns = 0;       // of the grid; 0: as they fit best
  std::vector<std::string> small;  // lines at the foot
  std::string caution;             // the last of them, in bold
};

inline constexpr std::size_t most_cells = 24;

// A4 landscape, or A3 where the pictures would come out under 55 mm wide. Picture i of the page is that of
// cell i. All pictures are drawn at one scale: the largest at which they fit.
Page lay_out(const ContactSheet& sheet, const Typeface& typeface);

}  // namespace undercap
