// The f-number that keeps a wanted depth sharpest: stopped down less, its ends blur by defocus; more, all of
// it by diffraction.
//
// The blur meant is the disc of equal contrast of diffraction.h, by Hopkins's contrast, not a root of
// squares, which makes it up to a third too large.
#pragma once

#include <optional>

#include "engine/core/quantities.h"
#include "engine/optics/lens.h"

namespace undercap {

// Where a lens of fixed place focuses so that both ends, at these distances from the entrance pupil, have
// equal discs: 2 / (1/near + 1/far).
Length balanced_focus(Length near, Length far);

struct BestAperture {
  double f_number = 0;            // marked
  double nearest_third_stop = 0;  // the exact value under the nearest label
  Length focus{};                 // from the entrance pupil
  double magnification = 0;       // there
  Length blur_at_ends{};          // at 'f_number'
  bool exceeds_circle = false;    // no f-number in the range will do: stack instead
};

// Between two marked f-numbers; the f-number of 'lens' itself does not count. None when the lens cannot focus
// there.
std::optional<BestAperture> best_aperture(const GaussianLens& lens, Length near, Length far, double lowest,
                                          double highest, Length circle_of_confusion);

struct DeepestFrame {
  Length depth{};
  double working_f_number = 0, f_number = 0;
};

// The largest depth that one frame holds within a circle at any f-number, and the one that does it. Close up:
// depth 2 N_w b / m^2, even about the focus.
DeepestFrame deepest_in_one_frame(double magnification, double pupil_magnification,
                                  Length circle_of_confusion);

}  // namespace undercap
