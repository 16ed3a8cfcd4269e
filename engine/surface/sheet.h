// What a diffusing layer sends back and lets through, as shares of the light that falls on it; one channel.
#pragma once

namespace undercap {

struct SheetAlbedo {
  double reflectance = 0, transmittance = 0;
};

// One sheet above another, seen from above, with all bounces between them. Source: Stokes 1862 (pile of
// plates), from memory.
SheetAlbedo stacked(const SheetAlbedo& upper, const SheetAlbedo& lower);

// A layer with a smooth boundary on each side, both alike: 'outer' is what the boundary sends back of diffuse
// light from outside, 'inner' of diffuse light from within. Source: Saunderson 1942 (J. Opt. Soc. Am.
// 32:727), for a layer that transmits.
SheetAlbedo with_boundary(const SheetAlbedo& layer, double outer, double inner);

// The inverse: the layer within, from what is seen outside. Throws Refusal when no layer without gain gives
// it.
SheetAlbedo without_boundary(const SheetAlbedo& seen, double outer, double inner);

}  // namespace undercap
