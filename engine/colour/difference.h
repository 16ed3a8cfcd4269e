// How different colours look: CIELAB and CIEDE2000, and what a change of white does to a colour.
//
// XYZ as in spaces.h, a white has Y = 1. L* 0 is black, 100 the white.
#pragma once

#include <glm/mat3x3.hpp>
#include <glm/vec3.hpp>

#include "engine/colour/spaces.h"

namespace undercap {

// What makes a colour seen by one white look alike by another, in XYZ: Bradford.
glm::dmat3 bradford_matrix(Chromaticity from_white, Chromaticity to_white);

// (L*, a*, b*) of an XYZ colour against a white, and of a linear RGB colour against that of sRGB.
glm::dvec3 lab_from_xyz(const glm::dvec3& xyz, Chromaticity white);
glm::dvec3 lab_from_rgb(const glm::dvec3& rgb);

// CIEDE2000 with all weights 1: about 1 is the least that an eye sees side by side. Symmetric.
double colour_difference(const glm::dvec3& lab_1, const glm::dvec3& lab_2);

}  // namespace undercap
