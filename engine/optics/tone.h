// From linear exposure to the display's linear light, 0..1; the sRGB curve comes after and is colour's.
//
// The input is relative exposure with mid-grey (H = 10 / S) at .18. Both tones leave .18 at .18, so switching
// between them changes highlights and shadows and never the exposure.
#pragma once

namespace undercap {

enum class Tone {
  srgb,     // nothing but a clip at 0 and 1: what a number says
  reinhard  // L / (1 + L), a soft shoulder that never clips
};

// One value of luminance. A colour keeps its ratios when its channels are multiplied by display / linear.
double display_linear(Tone tone, double linear);

}  // namespace undercap
