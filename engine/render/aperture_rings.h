// Pictures at several f-numbers from one set of samples: a pupil is the next narrower one and a ring around
// it, and light that goes through both adds up.
//
//   film of the wider pupil = share x film of the ring + (1 - share) x film of the narrower pupil,
//   share = 1 - (N_wide / N_narrow)^2, the ring's part of the wider pupil's area (N the f-numbers, one lens).
//
// The iris keeps its shape. A lens whose rays depend on the pupil's size, by spherical aberration in waves at
// its edge, or whose corners a rim cuts, has no such rings.
#pragma once

#include "engine/render/picture_job.h"

namespace undercap {

bool has_aperture_rings(const Camera& camera);

// The ring's part of the wider pupil's area; above 0, below 1.
double ring_share(double wide_f_number, double narrow_f_number);

// How many samples a pixel the ring takes, even and at least 2, so that the wider film has no more variance
// than the narrower one of so many samples, if a sample through the ring has the variance v of one through
// the middle: share^2 v / n + (1 - share)^2 v / samples = v / samples gives
// n = samples x share / (2 - share).
unsigned ring_samples(double share, unsigned samples);

// The wider film from that of the ring (View::hole = 1 - share) and the narrower one; it counts as many
// samples as the narrower. Both have the same view otherwise, and independent seeds.
SampledPicture with_ring(const SampledPicture& narrower, const SampledPicture& ring, double share);

}  // namespace undercap
