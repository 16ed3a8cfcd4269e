#include "engine/colour/spaces.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <glm/matrix.hpp>

#include "engine/core/errors.h"

namespace undercap {

namespace {

// Primaries of IEC 61966-2-1:1999 (the same as ITU-R BT.709). The columns of the matrix are the primaries'
// XYZ, each scaled by s so that the three add up to the white:  M = [R G B] diag(s),  s = [R G B]^-1 W.
glm::dmat3 matrix_from_primaries() {
  const glm::dmat3 primaries(xyz_with_unit_luminance({0.64, 0.33}), xyz_with_unit_luminance({0.30, 0.60}),
                             xyz_with_unit_luminance({0.15, 0.06}));
  const glm::dvec3 scale = glm::inverse(primaries) * xyz_with_unit_luminance(srgb_white);
  return glm::dmat3(primaries[0] * scale.x, primaries[1] * scale.y, primaries[2] * scale.z);
}

}  // namespace

const glm::dmat3& xyz_from_rgb_matrix() {
  static const glm::dmat3 matrix = matrix_from_primaries();
  return matrix;
}

const glm::dmat3& rgb_from_xyz_matrix() {
  static const glm::dmat3 matrix = glm::inverse(xyz_from_rgb_matrix());
  return matrix;
}

glm::dvec3 xyz_from_rgb(const glm::dvec3& rgb) { return xyz_from_rgb_matrix() * rgb; }

glm::dvec3 rgb_from_xyz(const glm::dvec3& xyz) { return rgb_from_xyz_matrix() * xyz; }

double luminance_y(const glm::dvec3& rgb) { return xyz_from_rgb(rgb).y; }

Chromaticity chromaticity_from_xyz(const glm::dvec3& xyz) {
  const double sum = xyz.x + xyz.y + xyz.z;
  UNDERCAP_CHECK(sum > 0,
                 fmt::format("only a colour with X + Y + Z above 0 has a chromaticity, got {}", sum));
  return {xyz.x / sum, xyz.y / sum};
}

glm::dvec3 xyz_with_unit_luminance(Chromaticity chromaticity) {
  const auto [x, y] = chromaticity;
  UNDERCAP_CHECK(y > 0, fmt::format("a chromaticity with a luminance has y above 0, got ({}, {})", x, y));
  return {x / y, 1.0, (1.0 - x - y) / y};
}

glm::dvec3 rgb_with_unit_luminance(Chromaticity chromaticity) {
  const glm::dvec3 inside = glm::max(rgb_from_xyz(xyz_with_unit_luminance(chromaticity)), glm::dvec3(0));
  return inside / luminance_y(inside);
}

// IEC 61966-2-1:1999: a straight line near black, a power of 2.4 with an offset above.
double srgb_encode(double linear) {
  return linear <= 0.0031308 ? 12.92 * linear : 1.055 * std::pow(linear, 1.0 / 2.4) - 0.055;
}

double srgb_decode(double encoded) {
  return encoded <= 0.04045 ? encoded / 12.92 : std::pow((encoded + 0.055) / 1.055, 2.4);
}

int srgb_code(double linear) {
  return static_cast<int>(std::lround(255.0 * std::clamp(srgb_encode(linear), 0.0, 1.0)));
}

double linear_from_srgb_code(int code) {
  UNDERCAP_CHECK(code >= 0 && code <= 255, fmt::format("an eight-bit code is 0 to 255, got {}", code));
  return srgb_decode(code / 255.0);
}

}  // namespace undercap
