// What the blur leaves of the backdrop's texture: RMS contrast, standard deviation over mean luminance (E.
// Peli, J. Opt. Soc. Am. A 7:2032, 1990, from memory), by bands of cycles per frame height.
//
// The backdrop's pixels count by a weight that rises from 0 at the backdrop's edge, at that of the frame too,
// over 5 % of the frame's height, so that an outline is no texture. The plane that fits the luminance best
// under these weights is taken off, its mean with it: a backdrop that only grows lighter upward has a
// gradient, no texture. Of what is left the discrete Fourier transform gives the power by frequency; divided
// by the energy of the weights it is the variance (Parseval). The power is the product of two independent
// halves of the samples, so that noise adds nothing to it on the average.
//
// The weights blur the spectrum by about one cycle over the backdrop's extent, and its foot goes further: a
// pattern of 4 cycles shows in the next band with a seventh of its contrast. So a band under a fifth of its
// neighbour says no more than that there is little in it.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "engine/measure/separation.h"

namespace undercap {

struct TextureBand {
  double from = 0, to = 0;  // cycles per frame height, the upper end left out
};
inline constexpr std::array<TextureBand, 3> texture_bands{{{2, 8}, {8, 32}, {32, 128}}};

// 0..1 a pixel.
std::vector<double> texture_weights(const SeparationPicture& picture);

// Variance over squared mean in each band. Within its noise it may come out under 0. Nothing where the
// weights add up to less than a hundredth of the frame, where the backdrop is black, or where the picture has
// too few rows for the band.
std::array<std::optional<Figure>, texture_bands.size()> backdrop_texture(const SeparationPicture& picture);

// The RMS contrast of such a variance, per cent, never under 0, with the error that one standard error of the
// variance upward makes.
Figure rms_contrast_pct(const Figure& variance);

}  // namespace undercap
