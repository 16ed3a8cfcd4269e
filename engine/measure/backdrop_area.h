// Figures of the backdrop's area as a whole: what shines out of it, and how busy it is against the subject.
#pragma once

#include <optional>

#include "engine/measure/separation.h"

namespace undercap {

// Backdrop whose luminance lies more than 1 stop above the median luminance of the subject, and backdrop
// where a channel of the display is clipped, both in per cent of the frame. By cells of 1/64 of the frame's
// height, so that the noise of single pixels is no spot; a cell counts with its pixels of the backdrop.
// Nothing where no subject is seen, or its median is black.
std::optional<Figure> hot_spots_pct(const SeparationPicture& picture);
Figure clipped_pct(const SeparationPicture& picture, const Display& display);

// Mean squared gradient of log2 luminance, (stops / frame height)^2: how much goes on within a region. The
// luminance is first averaged over squares of 5 pixels side at 256 rows, since the logarithm of a few noisy
// samples tends downward, which hides what is finer than some 50 cycles per frame height; the square is the
// product of two independent halves of the samples, so that noise adds nothing on the average. Pixels less
// than 4 from the region's edge do not count: a step there is the rim's. Nothing where so small a region is
// left, or where over a hundredth of it is black in its samples.
struct GradientEnergy {
  std::optional<Figure> subject, backdrop;
  std::optional<Figure> ratio;  // subject over backdrop; none: the backdrop's is under 5 standard errors
};
GradientEnergy gradient_energy(const SeparationPicture& picture);

}  // namespace undercap
