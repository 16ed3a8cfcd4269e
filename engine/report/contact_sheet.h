// A contact sheet: pictures in a grid with a name and a few rows under each, and how it is laid out.
#pragma once

#include <glm/vec4.hpp>
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
  // A part of it that is shown again below, at full size: left, top, width and height in 0..1 of the picture,
  // and how many pixels it has there. None: width 0.
  glm::vec4 box{0};
  int detail_width = 0, detail_height = 0;
};

// Landscape: A4 (ISO 216), or A3 where the pictures would come out under 55 mm wide; letter (ANSI/ASME Y14.1
// A and B likewise); a slide of 16 by 9 with letters of at least 1/25 of its height.
enum class SheetPaper { a4, letter, slide };

struct ContactSheet {
  std::string title;
  std::string under_title;       // one line
  std::vector<SheetCell> cells;  // 1 to most_cells
  double figure_aspect =
      0;  // height over width of one more picture, across the paper below the others; 0: none
  SheetPaper paper = SheetPaper::a4;
  bool upright = false;               // the paper stands
  int columns = 0;                    // of the grid; 0: as they fit best
  std::vector<std::string> spoken{};  // what a teacher says, in readable type above the small lines
  std::vector<std::string> small;     // lines at the foot
  std::string caution;                // the last of them, in bold
};

inline constexpr std::size_t most_cells = 36;

// Picture i of the page is that of cell i; after all of those come the details of the cells that have one, in
// order, and last the figure. All pictures are drawn at one scale: the largest at which they fit. A slide has
// no small lines but the caution, and refuses more pictures than its letters leave room for.
Page lay_out(const ContactSheet& sheet, const Typeface& typeface);

}  // namespace undercap
