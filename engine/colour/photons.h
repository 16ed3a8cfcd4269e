// How many photons a lux is: it depends on the colour of the light, and noise depends on it.
//
// A spectrum is power by wavelength in any unit; the standard observer weighs it into lux, h c / lambda
// counts it. Sums go over the rows of observer_1931(), 5 nm apart.
#pragma once

#include <functional>

#include "engine/core/quantities.h"

namespace undercap {

using Spectrum = std::function<double(Length)>;

// CIE daylight of a temperature (4000 to 25000 K, else refused), 100 at 560 nm; 360 to 800 nm, beyond which
// it stays as at the end. D65 is 6504 K on the scale of temperature.h.
Spectrum daylight_spectrum(ColourTemperature temperature);

// A black body, in relative units.
Spectrum planckian_spectrum(ColourTemperature temperature);

// Photons on a square micrometre, with wavelengths between these two, per lux second of the whole spectrum.
// 'from' and 'to' are rows of the observer, multiples of 5 nm from 360 to 800 nm.
double photons_per_um2_lxs(const Spectrum& spectrum, Length from, Length to);

// Of one wavelength alone.
double photons_per_um2_lxs(Length wavelength);

}  // namespace undercap
