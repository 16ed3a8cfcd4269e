// Less light in the corners and odd discs of blur: what rims cut away, what obliquity costs, and the light
// within a disc.
//
//   rim      an edge of the barrel or front lens, centred on the axis, that clips oblique bundles
//   theta    angle of the chief ray in object space, through the centre of the entrance pupil
// Stopped down the pupil shrinks within the rim and the cutting ends; the loss by obliquity stays.
#pragma once

#include "engine/core/quantities.h"
#include "engine/optics/lens.h"

namespace undercap {

// The share of a disc's area that another disc covers, their centres this far apart. 0 to 1.
double disc_overlap(Length radius, Length other_radius, Length centres_apart);

// The share of the pupil that a rim leaves to an image point at 'image_height' from the axis, in the plane in
// focus. The rim sits 'rim_ahead' before the entrance pupil, at least 0 and nearer than the subject.
double rim_share(const GaussianLens& lens, double magnification, Length image_height, Length rim_ahead,
                 Length rim_diameter);

// cos^4 of which angle: of the chief ray before the lens, tan = h / (f (1 + m/P)), or behind it, tan = h / (f
// (m + P)). They agree for P = 1; no ideal lens of another P satisfies both. Real retrofocus lenses lie
// nearer the second (from memory).
enum class ObliquitySide { object, image };
double obliquity_weight(const GaussianLens& lens, double magnification, Length image_height,
                        ObliquitySide side);

// Light within a blur disc of a lens with spherical aberration, against that in its centre, at the place
// where rays through 'pupil_radius' (0 to 1) arrive. sigma = 2 W040 / W20 has opposite signs before and
// behind the focus: above 0 a bright centre and soft edge, below 0 a bright ring. Above -1/3; below, rays
// cross in a caustic.
double blur_profile(double pupil_radius, double sigma);
// That place, from the centre of the disc; 1 is the edge of the disc without aberration.
double blur_profile_place(double pupil_radius, double sigma);

}  // namespace undercap
