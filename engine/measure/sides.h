// The lit side and the shadow side of the subject, as the camera sees it.
//
// Of the cells of a survey with every first hit a perfect white where most samples meet the subject, the lit
// side is the mean illuminance (lx) of the brightest third, the shadow side that of the darkest; the stops
// are log2 of one over the other. Both in lux beside the stops, since a bare ratio has two meanings in print:
// main light to fill, and main light with fill to fill alone (common practice, no source).
//
// Thirds that are chosen by the very samples that then measure them would differ by the noise alone. So each
// eighth of the samples measures the thirds that the other eighths choose, by a cell's light with that of its
// neighbours: an evenly lit subject has no sides. What noise is left in the choice mixes the thirds; it
// brings the sides nearer to one another, never apart, and falls with the samples (Figure::noise_bias).
//
// A cell at the subject's edge counts whole, with up to half of what lies beside it; where the subject is a
// stem a cell or two wide, that is part of its figure.
#pragma once

#include <optional>

#include "engine/measure/survey.h"

namespace undercap {

struct Sides {
  Figure lit_lx, shadow_lx;
  std::optional<Figure> stops;  // none: the shadow side is under five standard errors, or black
};

// Fewer cells of the subject than these have no sides.
inline constexpr std::size_t least_side_cells = 9;

// Cells of a survey where most samples meet the subject.
std::size_t subject_cells(const Survey& survey);

// The sides under a mix, from the survey's own samples: another mix costs no ray. Illuminances are means over
// what the mix is a mean over. None where fewer than 'least_side_cells' cells are the subject's.
std::optional<Sides> sides_of(const Survey& white, const Mix& mix);

}  // namespace undercap
