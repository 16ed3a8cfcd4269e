// The pocket card: two sides of A5 upright, black on white, read lying down in the wood.
//
// Side one has what is needed while lying there: where everything is, where the lamp goes, what to check, the
// settings. Side two has what is set before and done after: the table of light and time, what to do when it
// does not fit, the order of work, what to put back, blanks for what was really used. Body 14 pt, numbers
// that are read in the wood 18 pt, nothing under 12 pt. Marks in mm from the upper left corner of a side. The
// edge of side one is a ruler, true when printed at full size.
#pragma once

#include <array>

#include "engine/draw/drawing.h"
#include "engine/image/picture.h"
#include "engine/report/pocket_words.h"
#include "engine/report/typeface.h"

namespace undercap {

inline constexpr double pocket_width_mm = 148, pocket_height_mm = 210;

// The rehearsed picture, and the same without lamps; alike when there is none.
struct PocketPictures {
  Picture8 with{}, without{};
};

std::array<Drawing, 2> pocket_card(const World& world, const PocketFacts& facts,
                                   const PocketPictures& pictures, const Typeface& typeface);

// Both sides beside each other on one sheet of A4, for a picture file.
Drawing pocket_sheet(const std::array<Drawing, 2>& sides);

}  // namespace undercap
