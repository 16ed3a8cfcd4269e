// Small sources in absolute units: from what a lamp's box says to candela, and from candela to lux.
//
// A beam is I(a) = I0 cos^n(a) about its axis, described by its full angle at half the intensity ('beam
// angle').
#pragma once

#include "engine/core/quantities.h"

namespace undercap {

// The exponent n of a beam whose intensity has fallen to half at beam/2: n = ln .5 / ln cos(beam/2). 120
// degrees is n = 1, a Lambertian disc. Refuses what is not above 0 and below 180 degrees.
double beam_exponent(Angle beam);

// I(a) / I0 at an angle from the axis; 0 behind the source.
double beam_falloff(Angle beam, Angle off_axis);

// Peak intensity of a beam that carries this flux, and back: I0 = Phi (n + 1) / (2 pi).
Intensity peak_intensity(Flux flux, Angle beam);
Flux flux_from_peak_intensity(Intensity peak, Angle beam);

// ANSI/PLATO FL 1: the beam distance is where a torch still gives .25 lx, as the moon does; I = d^2 / 4.
Intensity intensity_from_beam_distance(Length distance);
Length beam_distance(Intensity intensity);

// E = I / d^2 on a surface facing a source that is small against the distance.
Illuminance inverse_square(Intensity intensity, Length distance);

// Luminance of a disc along its axis when its intensity there is known: L = I / (pi R^2).
Luminance disc_luminance(Intensity on_axis, Length radius);

// On the axis of a disc of even luminance, facing it, at any distance: E = pi L R^2 / (R^2 + d^2).
Illuminance disc_illuminance(Luminance luminance, Length radius, Length distance);

// The same for a rectangle of even luminance, its middle on the axis; and its luminance when it is Lambertian
// and its intensity along the axis is known: L = I / (w h). Exposures (lx s from cd s) follow the same laws.
Luminance rectangle_luminance(Intensity on_axis, Length width, Length height);
Illuminance rectangle_illuminance(Luminance luminance, Length width, Length height, Length distance);

}  // namespace undercap
