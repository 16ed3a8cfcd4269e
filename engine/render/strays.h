// Stray samples in a picture for the eye: rare light, such as the sun on a shiny leaf that throws it under a
// dull one, comes in few and strong samples, and leaves single pixels far too bright until very many samples
// are there.
//
// The two halves of a picture show which pixels those are: one half has far more than the other. What is over
// goes to the pixels around, in proportion to what they have, so that the light of a neighbourhood stays what
// it was. Films, readings, EXR files and stop rules never see it, and in a converged picture there is nothing
// to do.
//
// Ours, no source. The noise of a mean of n samples goes about as the root of its value, so (A - B) / sqrt(A
// + B) has about the same spread all over a neighbourhood, light or dark; its mean there says what is usual.
#pragma once

#include <cstddef>
#include <vector>

#include "engine/world/mix.h"

namespace undercap {

// The mix of a film's sums as a film of one group, for Developer::develop_mixed: two halves of means, RGB a
// pixel, cd/m2. 'samples': of both halves together.
std::vector<float> mixed_halves(const Mix& mix, const std::vector<float>& sums, std::size_t pixels,
                                unsigned samples);

// How many rows away a picture's values still bear on a pixel: what it takes from a pixel three away depends
// on the shares around that one, and those on what lies around them.
constexpr int stray_rows = 9;

// Spreads the strays of such halves, of a picture of 'width' pixels a row.
std::vector<float> spread_strays(std::vector<float> halves, int width);

}  // namespace undercap
