// Measured beams: files of ANSI/IES LM-63 in the forms of 1995, 2002 and 2019 (the form from memory).
//
// Read are: TILT=NONE, photometric type C (vertical angles from the lamp's axis, horizontal ones about it),
// horizontal angles 0; 0 to 90; 0 to 180; 0 to 360, the rest by symmetry. Label lines are passed over,
// dimensions and watts not used. All else is refused with its line.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "engine/light/beam.h"

namespace undercap {

inline constexpr std::size_t lm63_limit_bytes = std::size_t{4} << 20;
inline constexpr int lm63_limit_vertical = 1801, lm63_limit_horizontal = 721;

struct MeasuredBeam {
  Beam beam;          // relative to the peak
  Intensity peak;     // of the brightest direction of the front half, with the file's factors
  Flux flux;          // of the front half
  double behind = 0;  // share of all flux that goes more than 90 degrees from the axis, and is not in 'beam'
};

// 'file' is the name in messages.
MeasuredBeam beam_from_lm63(std::string_view text, const std::string& file);

}  // namespace undercap
