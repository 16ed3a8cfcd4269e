// Layers that scatter and absorb: from thickness to reflectance and transmittance, and back; one channel.
//
// Two diffuse streams, one down and one up. On its way of one millimetre each loses the share K to absorption
// and the share S to the other. Source: Kubelka & Munk 1931; solutions for a layer: Kubelka 1948 (J. Opt.
// Soc. Am. 38:448), from memory.
#pragma once

#include "engine/core/quantities.h"
#include "engine/surface/sheet.h"

namespace undercap {

struct KubelkaMunk {
  double absorption_per_mm = 0;  // K
  double scattering_per_mm = 0;  // S
};

// Reflectance over black, and transmittance. No thickness, no layer: 0 and 1.
SheetAlbedo kubelka_munk(const KubelkaMunk& flesh, Length thickness);

// Reflectance of a layer so thick that nothing comes through. S above 0.
double reflectance_at_infinity(const KubelkaMunk& flesh);

// K and S from what a layer of known thickness above 0 sends back and lets through. Throws Refusal unless
// 0 <= R, 0 < T and R + T <= 1: an opaque layer tells only the ratio of K and S.
KubelkaMunk kubelka_munk_from(const SheetAlbedo& layer, Length thickness);

}  // namespace undercap
