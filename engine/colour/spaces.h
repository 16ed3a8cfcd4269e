// Colour spaces: linear RGB with the sRGB primaries and D65 white, CIE XYZ, CIE xy, the sRGB transfer curve.
//
// Linear RGB is the engine's only working space: (1, 1, 1) is white, Y = luminance_y(rgb) is the photometric
// part. XYZ is scaled so that white has Y = 1. Nothing here clips unless its comment says so.
#pragma once

#include <glm/mat3x3.hpp>
#include <glm/vec3.hpp>

namespace undercap {

// CIE 1931 2 degree chromaticity.
struct Chromaticity {
  double x = 0;
  double y = 0;
};

// The white of sRGB, D65 rounded to four digits (IEC 61966-2-1:1999).
inline constexpr Chromaticity srgb_white{0.3127, 0.3290};

// Matrices between linear sRGB and XYZ, derived from the primaries in full double precision.
const glm::dmat3& xyz_from_rgb_matrix();
const glm::dmat3& rgb_from_xyz_matrix();
glm::dvec3 xyz_from_rgb(const glm::dvec3& rgb);
glm::dvec3 rgb_from_xyz(const glm::dvec3& xyz);

// The luminance of a linear RGB colour, white = 1.
double luminance_y(const glm::dvec3& rgb);

// Chromaticity of an XYZ colour whose sum is above 0, and back at Y = 1 (y above 0).
Chromaticity chromaticity_from_xyz(const glm::dvec3& xyz);
glm::dvec3 xyz_with_unit_luminance(Chromaticity chromaticity);

// Linear RGB of this chromaticity at Y = 1. A chromaticity outside the triangle of the primaries has a
// negative channel there; it becomes 0 and the others are scaled so that Y = 1 again: the luminance is kept,
// the purity is not.
glm::dvec3 rgb_with_unit_luminance(Chromaticity chromaticity);

// The sRGB curve of one channel, 0..1 to 0..1. Outside 0..1 both go on along the same two branches.
double srgb_encode(double linear);
double srgb_decode(double encoded);

// Eight-bit code: the encoded value clipped to 0..1, times 255, rounded. And the linear value a code stands
// for.
int srgb_code(double linear);
double linear_from_srgb_code(int code);

}  // namespace undercap
