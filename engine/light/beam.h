// How a lamp spreads its light, as a table of intensity over the intensity of its brightest direction.
//
// Planes lie at equal steps of azimuth about the axis, the first at 0; one plane means the same all around.
// Node i of a plane is at 90 deg (i / 511)^2 from the axis, so that narrow beams have many; between nodes the
// table is linear in i, between planes linear in azimuth. Nothing goes behind (above 90 degrees). 'Beam' is
// the full angle at half, 'field' at a tenth of the peak (from memory, the convention of IES and CIE).
#pragma once

#include <vector>

#include "engine/core/quantities.h"

namespace undercap {

inline constexpr int beam_table_nodes = 512;

Angle beam_node_angle(int node);

struct Beam {
  int planes = 1;
  std::vector<float> node;         // planes x beam_table_nodes, 0 to 1
  double flux_per_candela_lm = 0;  // of the peak: what the table sums to
};

// Fills flux_per_candela_lm by summing the table.
Beam beam_of(int planes, std::vector<float> node);

// I / I0 in a direction.
double beam_ratio(const Beam& beam, Angle off_axis, Angle azimuth = Angle(0));

// I0 cos^n through one half at beam / 2.
Beam cosine_beam(Angle beam);

// I0 exp(-ln 2 (angle / (beam / 2))^p) with the p that makes it a tenth at field / 2; field = 1.82262 beam is
// the Gaussian. Refuses a field that is not above the beam and below 180 degrees.
Beam field_beam(Angle beam, Angle field);

// Through a diffuser: this share of the flux leaves as a Lambertian surface sends it, the rest goes on as it
// came. The flux is kept; a transmission is the caller's. 0 to 1.
Beam diffused_beam(const Beam& beam, double share);

Intensity peak_intensity(Flux flux, const Beam& beam);
Flux flux_from_peak_intensity(Intensity peak, const Beam& beam);

}  // namespace undercap
