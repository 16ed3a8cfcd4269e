// A smooth dielectric boundary under diffuse light, and what a film of water does to the body below it.
//
// The film lies close: light that the body sends up meets the film's upper side from within, where most of it
// is beyond the critical angle or close to it and returns to the body. So a wet body is darker, and the more
// so the darker it is dry.
#pragma once

#include "engine/surface/sheet.h"

namespace undercap {

// Shares of diffuse (Lambertian) light that a smooth boundary of a dielectric of some index > 1 sends back:
// light from outside, and light from within. Quadrature of Fresnel's equations, error below 1e-7.
double diffuse_fresnel_external(double index);
double diffuse_fresnel_internal(double index);

// The body under a film of water as a share of the light that has entered the film: the boundary's own
// reflection is not in it. For a sheet the film is on both sides. Source: Lekner & Dorf 1988 (Appl. Opt.
// 27:1278), their first step, extended to a layer that transmits.
SheetAlbedo wet_body(const SheetAlbedo& dry);

// Of the light that falls on an opaque wet body, what its body sends back (without the glint), the light
// coming along the normal or diffusely.
double wet_albedo_normal(double dry_reflectance);
double wet_albedo_diffuse(double dry_reflectance);

// Angstrom's older form, which takes the boundary's inner reflection for 1 - 1/n^2 and leaves the glint out:
// R / (n^2 (1 - R) + R). Source: Angstrom 1925 as given by Lekner & Dorf 1988.
double wet_albedo_angstrom(double dry_reflectance);

}  // namespace undercap
